"""What somebody on the telephone has of a record, and how it is spelled: words, their spellings, and how near two are.

One wrong, missing, added or swapped character is forgiven by comparing what is left of both words with one character
taken out (a deletion neighbourhood): two words one such slip apart always share a key. Nothing here is a measured
quantity; the orders of merit below are our own choice, held by the two hundred scraps of the tests.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import phonenumbers

LONGEST = 40  # characters of a word; more of them tells nobody anything
MOST_PIECES = 12  # of one scrap
STEM = 6  # of a longer word its beginning too may be typed with a slip
TELEPHONE = 7  # digits, of a number that somebody would say whole
LAST = 4  # digits by which people name a number for short

EXACT, SUFFIX, BEGINNING, SLIP, SLIP_IN_BEGINNING = 1.0, 0.9, 0.8, 0.7, 0.5

# Written either way on letters and said either way on the telephone.
SHORT = {
    "street": "st", "road": "rd", "avenue": "ave", "lane": "ln", "drive": "dr", "court": "ct", "place": "pl",
    "boulevard": "blvd", "highway": "hwy", "terrace": "ter", "square": "sq", "north": "n", "south": "s", "east": "e",
    "west": "w", "saint": "st", "mount": "mt",
}
LONG = {short: long for long, short in SHORT.items() if long != "saint"}
# Said before a number, and no part of it.
_BEFORE_A_NUMBER = re.compile(r"\b(?:tel|phone|telephone|cell|mobile)\b[.:\s]*(?=[+(\d])")
_RUN_TOGETHER = re.compile(r"(?<=\d{3})(?=[a-z])")  # a job's number and a tag, in one
_PIECE = re.compile(r"[^\W_]+")
_NUMBERS = re.compile(r"\+?\(?\d[\d\s()./\-]{5,}\d(?:\s*(?:x|ext)\.?\s*\d{1,5})?", re.IGNORECASE)


# ---- words -----------------------------------------------------------------------------------------------


def plain(text: str) -> str:
    """Small letters without accents; what stands between letters as an apostrophe is not there."""
    apart = unicodedata.normalize("NFKD", text.casefold().replace("\u2019", "'"))
    return "".join(char for char in apart if not unicodedata.combining(char) and char != "'")


def pieces(text: str) -> list[str]:
    return [piece[:LONGEST] for piece in _PIECE.findall(plain(text))]


def words_of(*texts: str) -> set[str]:
    """The words of names and addresses, also as they would be written shorter, longer, or two of them as one."""
    found: set[str] = set()
    for text in texts:
        row = pieces(text)
        found.update(row)
        found.update(other for piece in row for other in (SHORT.get(piece), LONG.get(piece)) if other)
        found.update(_pairs(row))
    return found


def words_of_code(*codes: str) -> set[str]:
    """The words of a number or a tag: its parts, and all of it as one, with and without noughts in front."""
    found: set[str] = set()
    for code in codes:
        row = [part for piece in pieces(code) for part in re.findall(r"\d+|\D+", piece)]
        bare = [part.lstrip("0") or part for part in row]
        found.update(pieces(code), row, bare, _pairs(row), {"".join(row)[:LONGEST], "".join(bare)[:LONGEST]} - {""})
    return found


def words_of_telephone(number: str, region: str = "") -> set[str]:
    """The digits of the number as it is called from its own country."""
    digits = national(number, region)
    return {digits} if len(digits) >= LAST else set()


def national(number: str, region: str = "") -> str:
    try:
        read = phonenumbers.parse(number, region or "US")
    except phonenumbers.NumberParseException:
        return re.sub(r"\D", "", number)[:LONGEST]
    return phonenumbers.national_significant_number(read)


def _pairs(row: list[str]) -> Iterator[str]:
    for one, other in zip(row, row[1:], strict=False):
        if len(one + other) <= LONGEST:
            yield one + other


# ---- spellings -------------------------------------------------------------------------------------------


def spellings(word: str) -> dict[str, int]:
    """Every key a word is found by, and how far off the word that is."""
    if word.isdecimal() and len(word) >= TELEPHONE:  # said whole, or by its end
        far = {word[n:]: n for n in range(1, len(word) - LAST + 1)}
        return {**far, **dict.fromkeys(_one_out(word[-TELEPHONE:]) | _one_out(word), 1), word: 0}
    far = {word[:n]: len(word) - n for n in range(3, len(word))}
    if len(word) > STEM:
        far |= dict.fromkeys(_one_out(word[:STEM]), len(word) - STEM)
    return {**far, **dict.fromkeys(_one_out(word), 1), word: 0}


def _one_out(word: str) -> set[str]:
    return {word[:n] + word[n + 1:] for n in range(len(word))} if len(word) >= 3 else set()


def _asked_by(typed: str) -> set[str]:
    """The keys that what was typed is looked up by."""
    keys = {typed, *_one_out(typed)}
    if len(typed) > STEM and not typed.isdecimal():
        keys.update(_one_out(typed[:STEM]))
    if len(typed) > TELEPHONE and typed.isdecimal():
        keys.update({typed[-TELEPHONE:]}, _one_out(typed[-TELEPHONE:]))
    return keys


def nearness(typed: str, word: str) -> float:
    """How well the word answers what was typed; 0: not at all."""
    if typed == word:
        return EXACT
    if word.isdecimal() and len(word) >= TELEPHONE:
        return _nearness_of_numbers(typed, word)
    if len(typed) < 3:
        return 0.0
    if word.startswith(typed):
        return BEGINNING
    if one_slip(typed, word):
        return SLIP
    beginnings = range(len(typed) - 1, min(len(typed) + 2, len(word))) if len(typed) >= STEM else ()
    return SLIP_IN_BEGINNING if any(one_slip(typed, word[:n]) for n in beginnings) else 0.0


def _nearness_of_numbers(typed: str, word: str) -> float:
    """A telephone is said whole, without its area, or by its last four."""
    if not typed.isdecimal() or len(typed) < LAST:
        return 0.0
    if word.endswith(typed) or (len(typed) >= TELEPHONE and typed.endswith(word)):
        return SUFFIX
    if len(typed) < TELEPHONE - 1:
        return 0.0
    if one_slip(typed, word):
        return SLIP
    return SLIP_IN_BEGINNING if one_slip(typed[-TELEPHONE:], word[-TELEPHONE:]) else 0.0


def one_slip(one: str, other: str) -> bool:
    """Whether one wrong, missing, added or swapped character makes one of the other."""
    if one == other:
        return True
    if abs(len(one) - len(other)) > 1:
        return False
    n = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    wrong = one[n + 1:] == other[n + 1:]
    missing = one[n:] == other[n + 1:] or one[n + 1:] == other[n:]
    swapped = one[n:n + 2] == other[n:n + 2][::-1] and one[n + 2:] == other[n + 2:]
    return wrong or missing or swapped


# ---- what was typed --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Typed:
    """One way to read a part of what was typed, and which of its pieces it takes up."""

    text: str
    places: frozenset[int]

    @property
    def keys(self) -> set[str]:
        return _asked_by(self.text)


@dataclass(frozen=True, slots=True)
class Scrap:
    size: int  # pieces
    ways: tuple[Typed, ...]

    @property
    def keys(self) -> set[str]:
        return {key for way in self.ways for key in way.keys}


def scrap_of(typed: str, region: str = "") -> Scrap:
    """Everything that what was typed may mean: each piece, two written apart, two written as one, a telephone."""
    typed = _RUN_TOGETHER.sub(" ", _BEFORE_A_NUMBER.sub("", plain(typed)))
    row = pieces(typed)[:MOST_PIECES]
    ways = [Typed(piece, frozenset({n})) for n, piece in enumerate(row)]
    ways += [Typed(pair, frozenset({n, n + 1})) for n, pair in enumerate(_pairs(row))]
    whole = "".join(row)
    if len(row) > 2 and len(whole) <= 12:
        ways.append(Typed(whole, frozenset(range(len(row)))))
    ways += _telephones(typed, row, region)
    return Scrap(len(row), tuple(ways))


def _telephones(typed: str, row: list[str], region: str) -> Iterator[Typed]:
    for found in _NUMBERS.finditer(plain(typed)):
        digits = national(found[0], region)
        if len(digits) < TELEPHONE - 1:
            continue
        before = len(pieces(typed[:found.start()]))
        yield Typed(digits, frozenset(range(before, min(before + len(pieces(found[0])), len(row)))))


def answered(scrap: Scrap, words: Iterable[tuple[str, str]]) -> dict[str, list[tuple[Typed, float]]]:
    """Of words, found by any key: which part of the scrap each answers, and how well."""
    by_key: dict[str, set[str]] = {}
    for key, word in words:
        by_key.setdefault(key, set()).add(word)
    found: dict[str, list[tuple[Typed, float]]] = {}
    for way in scrap.ways:
        for word in {word for key in way.keys for word in by_key.get(key, ())}:
            near = nearness(way.text, word)
            if near:
                found.setdefault(word, []).append((way, near))
    return found
