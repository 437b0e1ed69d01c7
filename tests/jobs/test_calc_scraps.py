"""Words, their spellings, and what a scrap may mean."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc import scraps
from jobs.calc.scraps import nearness, one_slip, scrap_of, spellings, words_of, words_of_code, words_of_telephone

WORDS = st.text("abcdefgh", min_size=4, max_size=12)
LETTER = st.sampled_from("abcdefgh")


@st.composite
def a_slip(draw):
    """A word, and the same with one character wrong, missing, added or swapped."""
    word, letter = draw(WORDS), draw(LETTER)
    at = draw(st.integers(0, len(word) - 2))
    return word, draw(st.sampled_from([
        word[:at] + letter + word[at + 1:], word[:at] + word[at + 1:], word[:at] + letter + word[at:],
        word[:at] + word[at + 1] + word[at] + word[at + 2:]]))


@given(slip=a_slip())
def test_a_word_and_what_was_typed_for_it_with_one_slip_share_a_key_and_are_near(slip):
    word, typed = slip
    assert spellings(word).keys() & scrap_of(typed).keys
    assert one_slip(word, typed) and one_slip(typed, word)
    assert nearness(typed, word) >= scraps.SLIP


@given(slip=a_slip(), more=st.text("abcdefgh", min_size=3, max_size=6))
def test_a_beginning_of_six_letters_may_have_a_slip_in_it_too(slip, more):
    beginning, typed = slip
    if len(beginning) < 7 or len(typed) < 7:
        return
    assert spellings(beginning + more).keys() & scrap_of(typed).keys
    assert nearness(typed, beginning + more) >= scraps.SLIP_IN_BEGINNING


@given(one=WORDS, other=WORDS)
def test_one_slip_is_the_same_both_ways_and_no_two_lengths_apart(one, other):
    assert one_slip(one, other) == one_slip(other, one)
    assert abs(len(one) - len(other)) < 2 or not one_slip(one, other)


@pytest.mark.parametrize(("one", "other"), [("harbor", "horbar"), ("abcd", "badc"), ("lane", "line st"), ("a", "abc")])
def test_two_slips_are_one_too_many(one, other):
    assert not one_slip(one, other)


@pytest.mark.parametrize(("text", "words"), [
    ("14 Harbor Street", {"14", "harbor", "street", "st", "14harbor", "harborstreet"}),
    ("Dilys O'Fernbank", {"dilys", "ofernbank", "dilysofernbank"}),
    ("Renée", {"renee"}), ("", set()), ("·—/", set()),
])
def test_names_and_addresses_are_words_without_accents_and_also_two_as_one(text, words):
    assert words_of(text) == words


@pytest.mark.parametrize("typed", ["C-0003", "c3", "C 3", "0003", "c0003", "3"])
def test_a_callback_is_found_by_its_number_with_and_without_noughts(typed):
    words = words_of_code("C-0003")
    assert any(nearness(way.text, word) == scraps.EXACT for way in scrap_of(typed).ways for word in words)


@pytest.mark.parametrize("typed", [
    "(212) 555-0187", "212.555.0187", "+1 212 555 0187", "1-212-555-0187", "2125550187", "0187", "555-0187",
    "ring 212/555-0187 tonight", "212 555 0187 x4"])
def test_a_telephone_is_found_however_it_is_written(typed):
    number, = words_of_telephone("+1 (212) 555-0187", "US")
    assert max(nearness(way.text, number) for way in scrap_of(typed, "US").ways) >= scraps.SUFFIX


def test_a_number_kept_without_its_area_is_found_by_one_who_has_it():
    number, = words_of_telephone("555-0123")
    assert number == "5550123"
    assert nearness("2125550123", number) == scraps.SUFFIX


@pytest.mark.parametrize(("typed", "word", "near"), [
    ("ansel", "ansel", scraps.EXACT), ("ans", "ansel", scraps.BEGINNING), ("an", "ansel", 0),
    ("ansle", "ansel", scraps.SLIP), ("0187", "2125550187", scraps.SUFFIX), ("212", "2125550187", 0),
    ("ansel", "umber", 0)])
def test_the_nearer_the_better(typed, word, near):
    assert nearness(typed, word) == near


@given(typed=st.text(max_size=200))
def test_whatever_is_typed_can_be_looked_up(typed):
    found = scrap_of(typed)
    assert len(found.ways) <= 3 * scraps.MOST_PIECES + 10
    assert all(len(key) <= scraps.LONGEST for key in found.keys if not key.isdecimal())
