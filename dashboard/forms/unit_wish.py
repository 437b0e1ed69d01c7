"""A unit as somebody wonders whether it might be: what is asked, and what was typed of it. Nothing is kept here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.forms import kinds
from dashboard.forms.sheets import Field
from dashboard.measures import Reader
from jobs.calc import reading
from jobs.calc.lengths import MM, Length
from jobs.calc.verdict import BadInput
from jobs.errors import Invalid
from jobs.models import Opening
from units.calc import read
from units.calc.layout import BOTH, LEFT, MOST_PANELS, ONE_WAY, RIGHT, TWO_WAY
from units.models import DoorSystem, Unit
from units.services.explaining import Wish, wish_of
from units.services.systems import refuse_withdrawn

NAMES = ("system", "width", "height", "panels", "way", "more_on", "glass")
# Kept with it; nothing that is worked out here follows from them.
BESIDES = ("order_number", "sill_length", "roller_spacing", "pocket_depth_needed", "pocket_thickness_needed")
WIND = "wind"  # as it blows today; kept nowhere, and no panel is another for it
OF_FIELD = {"system": "system", "width": "frame_width", "height": "frame_height", "panels": "panels", "way": "ways",
            "more_on": "more_on", "glass": "glass"}
AT_FIELD = {**{asked: name for name, asked in OF_FIELD.items()}, **{name: name for name in BESIDES},
            "pocket_side": "way", "panel_count": "panels", WIND: WIND}
LARGEST = 100_000 * MM  # larger than any house
LONGEST, LONGEST_ORDER = 240, 60


@dataclass
class Trial:
    """What was typed, read one by one; what stays as it stands is not read again, so that nothing is rounded."""

    unit: Unit
    opening: Opening
    reader: Reader
    pocket: Mapping[str, int]
    typed: Mapping[str, str]
    today: dt.date
    errors: dict[str, str] = field(default_factory=dict)
    wind: float | None = field(init=False)  # metres a second; None where nobody typed it, or it cannot be read

    def __post_init__(self) -> None:
        self.wind = self._read(WIND) if self.value(WIND).strip() else None

    # ---- what is asked ----------------------------------------------------------------------------------

    @cached_property
    def stands(self) -> dict[str, str]:
        """What is in each field to begin with."""
        unit = self.unit
        besides = {name: self._said(getattr(unit, name)) for name in BESIDES[1:]}
        return {**besides, "order_number": unit.order_number, "system": str(unit.system_id or ""),
                "width": self._said(unit.frame_width), "height": self._said(unit.frame_height), "way": self._way,
                "more_on": unit.more_on, WIND: "", "panels": "" if unit.panel_count is None else str(unit.panel_count),
                "glass": unit.glass}

    def _said(self, nm: int | None) -> str:
        return "" if nm is None else self.reader.exactly(nm)

    @property
    def _way(self) -> str:
        """A door one way runs into one pocket, two ways into both; what does not go together has to be chosen."""
        ways, side = self.unit.ways, self.opening.pocket_side
        if ways == ONE_WAY and side in (LEFT, RIGHT):
            return side
        return TWO_WAY if (ways, side) == (TWO_WAY, BOTH) else ""

    def value(self, name: str) -> str:
        return self.typed.get(name, self.stands[name]).replace("\x00", "")[:LONGEST]

    @property
    def is_other(self) -> bool:
        """Whether it is tried otherwise than it stands."""
        return any(self._is_other(name) for name in NAMES)

    def _is_other(self, name: str) -> bool:
        return self.value(name).strip() != self.stands[name]

    @property
    def is_new(self) -> bool:
        return self.unit.pk is None

    @property
    def fields(self) -> tuple[Field, ...]:
        sides = [(LEFT, _("left")), (RIGHT, _("right"))]
        ways = [(LEFT, _("one way, pocket left")), (RIGHT, _("one way, pocket right")),
                (TWO_WAY, _("two ways, a pocket on each side"))]
        return (
            self._field("system", _("Door system"), choices=self._system_choices),
            self._field("width", _("Frame width"), _("outside of the frame, without the pocket")),
            self._field("height", _("Frame height")),
            self._field("way", _("Opens"), choices=ways),
            self._field("panels", _("Number of panels")),
            self._field("more_on", _("More panels on the"), _("of an odd number two ways"), sides),
            self._field("glass", _("Glass"), choices=self._glass_choices),
        )

    @property
    def besides(self) -> tuple[Field, ...]:
        as_laid_out = _("written anew when the panels are laid out, where it can be worked out")
        return (
            self._field("order_number", _("Order number")),
            self._field("sill_length", _("Sill"), _("with its run into the pocket")),
            self._field("roller_spacing", _("Rollers apart"), _("the two of one panel")),
            self._field("pocket_depth_needed", _("Pocket depth it needs"), as_laid_out),
            self._field("pocket_thickness_needed", _("Pocket thickness it needs"), as_laid_out),
        )

    @property
    def wind_field(self) -> Field:
        return self._field(WIND, _("Wind today"), _("such as 20 mph, or 9 m/s; for lifting, and kept nowhere"))

    @cached_property
    def _offered(self) -> dict[str, str]:
        """The editions that are made today, and the unit's own, which it keeps."""
        rows = DoorSystem.objects.made_on(self.today).order_by("name", "-pk").values_list("pk", "name", "edition")
        offered = {str(pk): _("%(name)s, edition %(edition)s") % {"name": name, "edition": edition}
                   for pk, name, edition in rows}
        own = self.unit.system
        return offered if own is None else {str(own.pk): system_words(own), **{
            pk: said for pk, said in offered.items() if pk != str(own.pk)}}

    @property
    def _system_choices(self) -> list[tuple[str, str]]:
        return list(self._offered.items())

    @cached_property
    def system(self) -> DoorSystem | None:
        """The one that is tried; where that is none of ours, the one it has."""
        return self._chosen or (self.unit.system if self.value("system").strip() else None)

    @cached_property
    def _chosen(self) -> DoorSystem | None:
        text = self.value("system").strip()
        if text == self.stands["system"]:
            return self.unit.system
        pk = int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
        return DoorSystem.objects.filter(pk=pk).first() if pk else None

    @property
    def _glasses(self) -> list[str]:
        return [] if self.system is None else [glass["name"] for glass in self.system.glasses]

    @property
    def _glass_choices(self) -> list[tuple[str, str]]:
        names = self._glasses
        only = [("", _("%s, the only one") % names[0])] if len(names) == 1 else []
        return [*only, *((name, name) for name in names)]

    def _field(self, name: str, label: str, hint: str = "", choices: list[tuple[str, str]] | None = None) -> Field:
        value = self.value(name)
        offered: tuple[tuple[str, str], ...] = ()
        if choices is not None:  # what was sent and is not offered stays to be seen
            offered = tuple(dict([("", "–"), *choices, *([] if value in dict(choices) else [(value, value or "–")])])
                            .items())
        return Field(name, label, value, hint, self.errors.get(name, ""), offered)

    @property
    def glass_field(self) -> Field:
        return next(one for one in self.fields if one.name == "glass")

    @property
    def can_be_read(self) -> bool:
        return None not in (self.wish, self.kept_besides)

    @property
    def is_as_it_stands(self) -> bool:
        """What was typed is what the unit says already; what was left empty may have been worked out since."""
        return all(getattr(self.unit, name) == value for name, value in self.values(self.wish).items()
                   if value not in (None, ""))

    @property
    def wrong(self) -> list[Field]:
        if self.can_be_read and not self.errors:
            return []
        return [one for one in (*self.fields, self.wind_field, *self.besides) if one.error]

    @property
    def sent(self) -> list[tuple[str, str]]:
        return [(name, self.value(name)) for name in (*NAMES, WIND, *BESIDES)]

    # ---- what was typed ---------------------------------------------------------------------------------

    @cached_property
    def wish(self) -> Wish | None:
        """None where something typed cannot be read; `errors` says at which field what would be right."""
        asked = wish_of(self.unit, self.pocket)
        other = {name: self._read(name) for name in NAMES if self._is_other(name)}
        if self.errors.keys() & set(NAMES):
            return None
        ways, side = other.pop("way", None) or (asked.ways, asked.pocket_side)
        pocket = asked.pocket if side == asked.pocket_side else {}  # measured on one side, nothing known of another
        weighed = {} if self.is_other else asked.weighed  # other panels than those that were weighed
        return replace(asked, ways=ways, pocket_side=side, pocket=pocket, weighed=weighed,
                       **{OF_FIELD[name]: value for name, value in other.items()})

    @cached_property
    def kept_besides(self) -> dict[str, Any] | None:
        """None where something of it cannot be read."""
        found = {name: self._read(name) if self._is_other(name) else getattr(self.unit, name) for name in BESIDES}
        return None if self.errors.keys() & set(BESIDES) else found

    def _read(self, name: str) -> Any:
        text = self.value(name).strip()
        try:
            if name == "system":
                return self._read_system(text)
            return READERS[name](text, OF_FIELD.get(name, name), self.reader)
        except BadInput as why:
            self.take(why)
            return None

    def _read_system(self, text: str) -> DoorSystem | None:
        found = self._chosen
        if text and found is None:
            raise BadInput("system", text, "one of those offered")
        try:
            if found is not None:
                refuse_withdrawn(found, self.today)
        except Invalid as why:
            raise BadInput("system", text, why.fields["system"]) from why
        return found

    def take(self, why: BadInput) -> bool:
        """Said at its field; whether there is such a field."""
        name = AT_FIELD.get(why.field)
        if why.field == "pocket_side":
            self.errors[name] = _("say how it opens: this does not go with the pocket that the opening has")
        elif name is not None:
            self.errors[name] = words.right(why.right, self.reader)
        return name is not None

    def values(self, wish: Wish) -> dict[str, Any]:
        """The same as a unit keeps it."""
        def size(nm: int | None) -> Length | None:
            return None if nm is None else Length(nm)

        return {"system": wish.system, "frame_width": size(wish.frame_width), "frame_height": size(wish.frame_height),
                "panel_count": wish.panels, "ways": wish.ways, "more_on": wish.more_on, "glass": wish.glass,
                **(self.kept_besides or {})}


def system_words(system: DoorSystem) -> str:
    said = _("%(name)s, edition %(edition)s") % {"name": system.name, "edition": system.edition}
    return said if system.withdrawn_on is None else _("%s, made no more") % said


def _size(text: str, asked: str, reader: Reader) -> int | None:
    if not text:
        return None
    nm = reading.length(text, asked, unit=reader.units)
    if nm == 0:
        raise BadInput(asked, text, "more than nothing")
    if nm > LARGEST:
        raise BadInput(asked, text, f"at most {LARGEST // MM} mm")
    return nm


def _length(text: str, asked: str, reader: Reader) -> Length | None:
    nm = _size(text, asked, reader)
    return None if nm is None else Length(nm)


def _order(text: str, asked: str, reader: Reader) -> str:
    if len(text) > LONGEST_ORDER:
        raise BadInput(asked, text, f"at most {LONGEST_ORDER} letters")
    return text


def _count(text: str, asked: str, reader: Reader) -> int | None:
    return read.count(text, asked, 1, MOST_PANELS) if text else None


def _opens(text: str, asked: str, reader: Reader) -> tuple[str, str] | None:
    if text and text not in (LEFT, RIGHT, TWO_WAY):
        raise BadInput(asked, text, "one of those offered")
    return None if not text else (TWO_WAY, BOTH) if text == TWO_WAY else (ONE_WAY, text)


def _side(text: str, asked: str, reader: Reader) -> str:
    if text not in ("", LEFT, RIGHT):
        raise BadInput(asked, text, "one of those offered")
    return text


def _as_typed(text: str, asked: str, reader: Reader) -> str:
    return text


READERS = {"width": _size, "height": _size, "panels": _count, "way": _opens, "more_on": _side, "glass": _as_typed,
           "order_number": _order, WIND: kinds.WIND.read, **dict.fromkeys(BESIDES[1:], _length)}
