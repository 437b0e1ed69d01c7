"""What came with a delivery, part by part, as somebody beside the truck says it. Part after part in one sheet: how it
came where one piece is lacking, how many where several are; what is left over did not come.

The sheet only reads what was typed. An obvious slip, more than is lacking, is asked back at its field before it stands.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from dashboard.forms.sheets import Field
from dashboard.measures import Reader
from dashboard.opening.material import came_words, part_size
from inspections.services.parts import MOST
from jobs.models.base import new_id
from units.models import Part, PartArrival

MOST_PARTS, LONGEST = 200, 240
WHOLE, DAMAGED, NONE = "whole", "damaged", "none"
COUNT = re.compile(r"[0-9]{1,7}", re.ASCII)
SEEN = re.compile(r"([0-9]{1,7}):([0-9]{1,7})", re.ASCII)


@dataclass(frozen=True, slots=True)
class CameRow:
    part: Part
    size: str
    said: tuple[str, ...]  # what was said of it before
    fields: tuple[Field, ...]  # how it came, or how many
    more: tuple[Field, ...]  # in the fold: note, and how many where more came than one
    photo: Field
    seen: str  # the version of the part that this person looks at, and how many it lacked then
    asked_back: str  # more than is lacking: how many too many
    sure: bool

    @property
    def at_fault(self) -> bool:
        return any(f.error for f in (*self.more, self.photo)) or any(f.value for f in self.more)


@dataclass
class ReceivingSheet:
    """`parts`: those this person may speak of and that lack something, or were spoken of in what was sent."""

    parts: Sequence[Part]
    reader: Reader
    arrivals: Mapping[int, Sequence[PartArrival]]
    typed: Mapping[str, str] | None = None
    files: Mapping[str, UploadedFile] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)
    too_many: dict[int, int] = field(default_factory=dict)
    entry: uuid.UUID = field(default_factory=new_id)
    version: int = 0

    # ---- what stands in the fields ----------------------------------------------------------------------

    def text(self, name: str, shown: str = "") -> str:
        if self.typed is None:
            return shown
        return self.typed.get(name, "").replace("\x00", "").strip()[:LONGEST]

    def field(self, name: str, label: str, hint: str = "", choices: Sequence[tuple[str, str]] = ()) -> Field:
        return Field(name, label, self.text(name), hint, self.errors.get(name, ""), tuple(choices))

    @property
    def rows(self) -> list[tuple[str, list[CameRow]]]:
        """By opening."""
        found: dict[str, list[CameRow]] = {}
        for part in self.parts:
            opening = part.unit.opening
            place = f"{opening.tag}, {opening.location}" if opening.location else opening.tag
            found.setdefault(place, []).append(self._row(part))
        return list(found.items())

    def _row(self, part: Part) -> CameRow:
        key, said = part.pk, tuple(came_words(one, self.reader) for one in self.arrivals.get(part.pk, ()))
        note = self.field(f"note.{key}", _("Note"), _("what is broken, what the slip says"))
        photo = self.field(f"photo.{key}", _("Photo"))
        more = self.too_many.get(key)
        return CameRow(part, part_size(part, self.reader), said, self._asked(part), (*self._also(part), note), photo,
                       f"{part.version}:{part.missing}", "" if more is None else self._asks_back(part, more),
                       self.text(f"more.{key}") == "1")

    def _asked(self, part: Part) -> tuple[Field, ...]:
        key = part.pk
        if part.missing <= 1:
            return (self.field(f"how.{key}", part.name, choices=[
                ("", "–"), (WHOLE, _("whole")), (DAMAGED, _("damaged")), (NONE, _("did not come"))]),)
        return (self.field(f"whole.{key}", _("Came whole"), _("of %d; what is left over did not come") % part.missing),
                self.field(f"damaged.{key}", _("Damaged")))

    def _also(self, part: Part) -> tuple[Field, ...]:
        """Where one is lacking and several came all the same."""
        if part.missing > 1:
            return ()
        return (self.field(f"whole.{part.pk}", _("How many whole, if more came")),)

    def _asks_back(self, part: Part, more: int) -> str:
        return _("%(lacking)d lacking of %(wanted)d wanted: that would be %(more)d too many.") % {
            "lacking": part.missing, "wanted": part.wanted, "more": more}

    # ---- what was typed ---------------------------------------------------------------------------------

    def came(self) -> list[dict[str, Any]] | None:
        """As the service takes it; None where something cannot be right, which `errors` says at its field."""
        if len(self.text("condition")) >= LONGEST and len(self.typed.get("condition", "").strip()) > LONGEST:
            self.errors["condition"] = _("at most %d letters") % LONGEST
        read = [one for part in self.parts if (one := self._came(part)) is not None]
        return None if self.errors or self.too_many else read

    def _came(self, part: Part) -> dict[str, Any] | None:
        key = part.pk
        version, lacks = self._seen(part)
        whole, short, damaged = self._counts(part, lacks)
        if not whole + short + damaged:
            if self.text(f"note.{key}") or f"photo.{key}" in self.files:
                self.errors.setdefault(f"how.{key}" if part.missing <= 1 else f"whole.{key}", _("say how it came"))
            return None
        more, sure = whole + damaged - lacks, self.text(f"more.{key}") == "1"
        if more > 0 and lacks and not sure:
            self.too_many[key] = more
        return {"part_id": key, "whole": whole, "short": short, "damaged": damaged, "note": self.text(f"note.{key}"),
                "more_came": sure, "version": version, "entry_id": self.entry_of(part)}

    def _counts(self, part: Part, lacks: int) -> tuple[int, int, int]:
        """Whole, short, damaged."""
        key, how = part.pk, self.text(f"how.{part.pk}")
        typed = {name: self._count(f"{name}.{key}") for name in (WHOLE, DAMAGED)}
        if typed[WHOLE] is None and typed[DAMAGED] is None:
            how = how or (self.rest if lacks else "")
            lacks = lacks or int(bool(how))
            return (lacks * (how == WHOLE), lacks * (how == NONE), lacks * (how == DAMAGED))
        damaged = typed[DAMAGED] if typed[DAMAGED] is not None else int(how == DAMAGED)
        whole = typed[WHOLE] or 0
        return whole, max(lacks - whole - damaged, 0), damaged

    def _count(self, name: str) -> int | None:
        text = self.text(name)
        if not text:
            return None
        if not COUNT.fullmatch(text) or int(text) > MOST:
            self.errors[name] = _("a whole number, 0 to %d") % MOST
            return None
        return int(text)

    def _seen(self, part: Part) -> tuple[int, int]:
        """As it stood when this was shown: sent again after it was taken in, it says the same."""
        found = SEEN.fullmatch(self.text(f"seen.{part.pk}"))
        return (part.version, part.missing) if found is None else (int(found[1]), min(int(found[2]), MOST))

    @property
    def rest(self) -> str:
        """How the parts came of which nothing is said."""
        text = WHOLE if self.text("all") else self.text("rest")
        return text if text in (WHOLE, NONE) else ""

    @property
    def condition(self) -> Field:
        return self.field("condition", _("In what condition"), _("the crates, the bands, wet or dry"))

    def entry_of(self, part: Part) -> uuid.UUID:
        """The same every time this sheet is sent."""
        return uuid.uuid5(self.entry, str(part.pk))

    @property
    def photos(self) -> list[tuple[Part, UploadedFile]]:
        return [(part, self.files[name]) for part in self.parts if (name := f"photo.{part.pk}") in self.files]
