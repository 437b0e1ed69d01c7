"""Lifters and carts as the office types them. What a rating already includes is asked line by line: each either is in
it, or is taken off besides, or nobody has asked the maker's manual yet."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases, words
from dashboard.forms import kinds
from dashboard.forms.kinds import Kind, plain
from dashboard.forms.records import DAY, NEEDED, Ask, Choices, Column, Part, RecordForm
from dashboard.measures import Reader
from jobs.calc import reading
from jobs.calc.amounts import MOST_CAPACITY, POUND, carried_mass, count
from jobs.calc.rating import ASKED_OF_VACUUM, CIRCUIT_LOST, SAFETY_FACTOR
from jobs.calc.rating_sent import named
from jobs.calc.verdict import BadInput
from jobs.models import Equipment
from jobs.serializers import EquipmentSerializer, OutOfUseSerializer
from jobs.services.equipment import kilograms

ASKED = (SAFETY_FACTOR, *ASKED_OF_VACUUM, CIRCUIT_LOST)
PLACE = re.compile(r"^\[\d+\][.\w]*: ")  # of a list in the API: here it has lines
OTHERS, MOST_OTHERS = re.compile(r"other\.(\d{1,2})\.what"), 20
NOT_ASKED, INCLUDED, TAKEN_OFF = "", "in", "off"
ANSWERS = ((NOT_ASKED, gettext_lazy("the manual is still to be asked")),
           (INCLUDED, gettext_lazy("yes: the rating has it in it")),
           (TAKEN_OFF, gettext_lazy("no: it is taken off besides")))
OF_A_CIRCUIT = ((NOT_ASKED, gettext_lazy("no: it holds less, as above")), ANSWERS[1])
KINDS = (("vacuum lifter", gettext_lazy("vacuum lifter")), ("lifter", gettext_lazy("lifter, held otherwise")),
         ("hoist", gettext_lazy("hoist")), ("panel cart", gettext_lazy("panel cart: rolls, lifts nothing")))


def written(why: str) -> str:
    """As a person would write it."""
    return "design factor" if why == SAFETY_FACTOR else why.replace("_", " ")


def _grams(text: str, name: str, reader: Reader) -> int:
    return round(carried_mass(text, name, MOST_CAPACITY) * 1000)


def _few(text: str, name: str, reader: Reader) -> int:
    return count(text, name, 1, 20)


def _part(text: str, name: str, reader: Reader) -> float:
    return reading.number(text, name, least=0, most=1)


def _mass(grams: int, reader: Reader) -> str:
    """Pounds where whole ones were typed by whoever works in them: read again they are the same grams."""
    pounds = round(grams / (1000 * POUND))
    if reader.in_inches and round(pounds * POUND * 1000) == grams:
        return f"{pounds} lb"
    said = kilograms(grams) or ""
    return f"{said.rstrip('0').rstrip('.')} kg"


MASS = Kind(_mass, _grams)
FEW = Kind(lambda many, reader: str(many), _few)
PART = Kind(lambda part, reader: plain(part), _part)


@dataclass(frozen=True, slots=True)
class Line:
    """What the manual says of one thing that may take from a rating."""

    why: str
    title: str
    what: Ask | None  # its name, where the office gives it one
    answer: Ask
    factor: Ask
    source: Ask

    @property
    def fields(self) -> tuple[Ask, ...]:
        return tuple(one for one in (self.what, self.answer, self.factor, self.source) if one is not None)


class EquipmentForm(RecordForm):
    serializer = EquipmentSerializer
    parts = (
        Part(gettext_lazy("Which"), (
            Column("name", gettext_lazy("Name"), needed=True), Column("kind", gettext_lazy("Kind"), needed=True),
            Column("inspected_until", gettext_lazy("Inspected until"), DAY, input="day", empty=None,
                   hint=gettext_lazy("the last day its inspection holds")),
            Column("notes", gettext_lazy("Notes"), input="lines"))),
        Part(gettext_lazy("With it"), (
            Column("people_to_steer", gettext_lazy("People to steer it"), FEW, empty=None),
            Column("stop_wind_m_per_s", gettext_lazy("Wind that stops it"), kinds.WIND, empty=None,
                   hint=gettext_lazy("such as 20 mph, or 9 m/s")),
            Column("own_grams", gettext_lazy("Weighs itself"), MASS, empty=None,
                   hint=gettext_lazy("kilograms, or such as 190 lb")),
            Column("carries_at", gettext_lazy("A panel stands on it at"), kinds.SIZE, empty=None,
                   hint=gettext_lazy("above the ground, of a cart")),
            Column("width_loaded", gettext_lazy("Width with a panel on it"), kinds.SIZE, empty=None,
                   hint=gettext_lazy("of a cart, for the way in")))),
        Part(gettext_lazy("Its rating"), (
            Column("rated_grams", gettext_lazy("Rated capacity"), MASS, empty=None,
                   hint=gettext_lazy("kilograms, or such as 1540 lb")),
            Column("rating_source", gettext_lazy("Where that stands"),
                   hint=gettext_lazy("nameplate, page of its manual")),
            Column("circuits", gettext_lazy("Vacuum circuits"), FEW, empty=None,
                   hint=gettext_lazy("each holding by itself")),
            Column("left_with_one_circuit_lost", gettext_lazy("Still holds with one lost"), PART, empty=None,
                   hint=gettext_lazy("the part, 0 to 1, by its manual; empty: by its circuits")))),
    )

    base: Equipment

    def choices(self, name: str) -> Choices:
        return KINDS if name == "kind" else ()

    # ---- what the rating includes -----------------------------------------------------------------------

    @cached_property
    def _includes(self) -> dict[str, str]:
        """By its code, as it was written."""
        kept = self.base.rating_includes
        return {named(one, ""): one for one in kept} if isinstance(kept, list) else {}

    @cached_property
    def _reductions(self) -> dict[str, Mapping[str, Any]]:
        return {named(one["why"], ""): one for one in self.base.reductions}

    @property
    def lines(self) -> list[Line]:
        asked = [self._line(why, why, str(phrases.RATING_LINES[why])) for why in ASKED]
        return asked + [self._line(f"other.{n}", why, _("Something else")) for n, why in enumerate(self._others)]

    @property
    def _others(self) -> list[str]:
        """What the manual names besides; a blank line for one more."""
        if self.typed is not None:
            numbers = [int(found[1]) for name in self.typed if (found := OTHERS.fullmatch(name))]
            return [""] * min(max(numbers, default=-1) + 1, MOST_OTHERS)
        return [*(why for why in {**self._includes, **self._reductions} if why not in ASKED), ""]

    def _line(self, at: str, why: str, title: str) -> Line:
        off, other = self._reductions.get(why), at != why
        stands = TAKEN_OFF if off else INCLUDED if why in self._includes else NOT_ASKED
        factor = "" if off is None or off.get("factor") is None else plain(off["factor"])
        name = (off or {}).get("why") or self._includes.get(why, "")
        offered = OF_A_CIRCUIT if why == CIRCUIT_LOST else ANSWERS
        return Line(at, title, self._cell(f"{at}.what", title, name) if other else None,
                    self._cell(f"{at}.answer", _("%s: in the rating already?") % title, stands, offered),
                    self._cell(f"{at}.factor", _("%s: the part that stays") % title, factor),
                    self._cell(f"{at}.source", _("%s: where that stands") % title, str((off or {}).get("source", ""))))

    def _cell(self, name: str, label: str, shown: str, offered: Choices = ()) -> Ask:
        return Ask(name, label, self.text(name, shown), "", self.errors.get(name, ""),
                   tuple((value, str(said)) for value, said in offered))

    def own_fields(self) -> list[str]:
        return [one.name for line in self.lines for one in line.fields]

    @property
    def fields(self) -> Iterator[tuple[str, str]]:
        yield from super().fields
        for line in self.lines:
            for one in line.fields:
                yield one.label, self.said(one)

    # ---- what was typed ---------------------------------------------------------------------------------

    def more(self) -> dict[str, Any]:
        """As the API takes it: nobody has asked anything yet, or what is in it and what is taken off."""
        includes: list[str] = []
        reductions: list[dict[str, Any]] = []
        answered = [line for line in self.lines if line.answer.value in (INCLUDED, TAKEN_OFF)]
        for line in answered:
            self._read_line(line, includes, reductions)
        unasked = None if self.base.rated_grams is None and not self.text("rated_grams").strip() else "unknown"
        sent = {"rating_includes": includes if answered else unasked, "reductions": reductions}
        return {name: value for name, value in sent.items() if not self._says_the_same(name, value)}

    def _read_line(self, line: Line, includes: list[str], reductions: list[dict[str, Any]]) -> None:
        text = line.why if line.what is None else line.what.value.strip()
        try:
            why = named(text, line.why) if text else ""
        except BadInput as wrong:
            self.errors[line.fields[0].name] = words.right(wrong.right, self.reader)
            return
        if not why:
            self.errors[f"{line.why}.what"] = str(NEEDED)
        elif line.what is not None and why in self._answered(includes, reductions):
            self.errors[line.what.name] = _("answered in another line already: leave it out of one of the two")
        elif line.answer.value == INCLUDED:
            includes.append(self._includes.get(why, written(text)))
        elif why == CIRCUIT_LOST:
            self.errors[line.answer.name] = _("say how much still holds with one lost, above")
        else:
            reductions.append(self._taken_off(line, why, text))

    @staticmethod
    def _answered(includes: Iterable[str], reductions: Iterable[Mapping[str, Any]]) -> set[str]:
        return {named(one, "") for one in (*includes, *(one["why"] for one in reductions))}

    def _taken_off(self, line: Line, why: str, text: str) -> dict[str, Any]:
        kept = self._reductions.get(why, {"why": written(text)})
        factor, typed = kept.get("factor"), line.factor.value.strip()
        if typed != ("" if factor is None else plain(factor)):
            factor = self._factor(line) if typed else None
        source = line.source.value.strip()
        return {**kept, "factor": factor, "source": source}

    def _factor(self, line: Line) -> float | None:
        try:
            value = reading.number(line.factor.value.strip(), line.factor.name, least=0)
        except BadInput as wrong:
            self.errors[line.factor.name] = words.right(wrong.right, self.reader)
            return None
        if value > 1:
            self.errors[line.factor.name] = _("the part that stays, 0 to 1: a factor of 2 to 1 leaves 0.5")
            return None
        return value

    def _says_the_same(self, name: str, value: Any) -> bool:
        """Whether it stands so already, in whatever order; then it stays as it was written."""
        if not self.base.pk:
            return False
        kept = getattr(self.base, name)
        if name == "rating_includes":
            both = [value, kept]
            return (all(isinstance(one, list) for one in both) and set(value) == set(kept)) or value == kept
        bare = [{**one, "source": one.get("source", ""), "factor": one.get("factor")} for one in kept]
        return sorted(bare, key=lambda one: str(one["why"])) == sorted(value, key=lambda one: str(one["why"]))

    def take(self, name: str, why: Any) -> None:
        """What is said of the whole is said at the first line: the design factor."""
        if name in ("rating_includes", "reductions"):
            said = " ".join(map(str, why)) if isinstance(why, list) else str(why)
            name, why = f"{SAFETY_FACTOR}.answer", PLACE.sub("", said)
        super().take(name, why)


class OutOfUseForm(RecordForm):
    serializer = OutOfUseSerializer
    parts = (Part("", (
        Column("from_day", gettext_lazy("From"), DAY, input="day", needed=True, empty=None),
        Column("to_day", gettext_lazy("To"), DAY, input="day", needed=True, empty=None,
               hint=gettext_lazy("the last day it is away")),
        Column("reason", gettext_lazy("Why"), input="wide", hint=gettext_lazy("yearly inspection, repair, lent")))),)

    def more(self) -> dict[str, Any]:
        return {} if self.base.pk else {"equipment": self.base.equipment_id}
