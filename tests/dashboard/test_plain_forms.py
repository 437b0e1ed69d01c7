"""What a field says that cannot be right."""

import pytest
from django import forms

from dashboard.forms.acts import choice, day, line, number_choice, number_of_hours, several_lines
from dashboard.forms.plain import PlainForm


class Asked(PlainForm):
    words = several_lines("Words", most=10)
    short = line("Short", most=10)
    which = choice("Which", [("a", "A")])
    number = number_choice("Number", required=True)
    on = day("On")
    hours = number_of_hours("Hours")
    photo = forms.FileField()
    own = forms.CharField(error_messages={"required": "Say what was ground."})


def told(**sent):
    return {name: " ".join(errors) for name, errors in Asked(sent, {}).errors.items()}


def test_an_empty_field_says_what_it_waits_for():
    write = "Write it here: it may not stay empty."
    assert told() == {
        "words": write, "short": write, "which": "Choose one of them.", "number": "Choose one of them.",
        "on": "Give a day.", "hours": write, "photo": "Choose a file.", "own": "Say what was ground."}


def test_too_much_is_told_with_how_much_is_taken():
    said = told(words="x" * 13, short="y" * 11)
    assert said["words"] == "At most 10 characters; these are 13."
    assert said["short"] == "At most 10 characters; these are 11."


@pytest.mark.parametrize("name", ["words", "short"])
def test_nothing_is_cut_off_by_the_browser(name):
    assert "maxlength" not in str(Asked()[name])


def test_what_is_no_day_and_no_number_is_told_by_an_example():
    said = told(on="soon", hours="two")
    assert (said["on"], said["hours"]) == ("A day, such as 2026-12-01.", "A number, such as 1.5.")
