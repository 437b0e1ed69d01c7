"""What a door system's maker allows at the site: its own limits of checks, each with where it stands and with the
default it stands in the place of. Part of the door system's form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.forms import kinds
from dashboard.forms.kinds import Kind
from dashboard.forms.sheets import Field
from dashboard.measures import Reader
from inspections.calc.gate import Asked as AskedCheck
from inspections.calc.kinds import KINDS
from inspections.models import Check
from inspections.services.checks import STANDS_ON, read_limits, shipped_checks
from jobs.calc.verdict import BadInput
from units.models import DoorSystem

OF_UNIT = {"mm": kinds.LENGTH, "c_apart": kinds.WARMER, "pct": kinds.PERCENT, "n": kinds.FORCE}
LONGEST_SOURCE = 200
# What the unit and its rollers say themselves: nothing is entered twice.
FROM_THE_UNIT = ("depth_least", "thickness_least", "roller_travel")


@dataclass(frozen=True, slots=True)
class SiteLimit:
    name: str
    value: Field
    where: Field
    default: str  # what stands where this one is empty
    unset: bool  # nothing does: the gate does not pass


@dataclass(frozen=True, slots=True)
class SiteCheck:
    code: str
    title: str
    stage: str
    version: Field
    limits: tuple[SiteLimit, ...]

    @property
    def at_fault(self) -> bool:
        return any(one.value.error or one.where.error for one in self.limits)

    @property
    def own(self) -> int:
        return sum(bool(one.value.value) for one in self.limits)

    @property
    def unset(self) -> int:
        return sum(one.unset and not one.value.value for one in self.limits)


@dataclass
class SiteLimits:
    """`system`: whose limits stand in it to begin with; None: nobody's yet. `typed`: what was sent."""

    system: DoorSystem | None
    reader: Reader
    typed: Mapping[str, str] | None = None
    errors: dict[str, str] = field(default_factory=dict)

    @cached_property
    def own(self) -> dict[str, Check]:
        rows = () if self.system is None or self.system.pk is None else Check.objects.filter(system=self.system)
        return {row.code: row for row in rows}

    @cached_property
    def asked(self) -> list[AskedCheck]:
        return [one for one in shipped_checks() if _known(one)]

    # ---- what stands in the fields ----------------------------------------------------------------------

    @property
    def checks(self) -> list[SiteCheck]:
        return [self._check(one) for one in self.asked]

    def _check(self, asked: AskedCheck) -> SiteCheck:
        row = self.own.get(asked.code)
        version = Field(f"site.{asked.code}.version", "", str(row.version) if row is not None else "")
        return SiteCheck(asked.code, asked.title, words.stage(asked.stage), version,
                         tuple(self._limit(asked, name) for name in _known(asked)))

    def _limit(self, asked: AskedCheck, name: str) -> SiteLimit:
        at, (value, source) = f"site.{asked.code}.{name}", self._kept(asked.code, name)
        stands = asked.limits.get(name) or {}
        unset = stands.get("value") is None and "must be set" in str(stands.get("source"))
        return SiteLimit(name, Field(at, words.limit(name), self._text(at, self._shown(asked, name, value)), "",
                                     self.errors.get(at, "")),
                         Field(f"{at}.source", _("Where it stands"), self._text(f"{at}.source", source), "",
                               self.errors.get(f"{at}.source", "")),
                         _("nothing: it must be set") if unset else self._default(asked, name, stands), unset)

    def _kept(self, code: str, name: str) -> tuple[Any, str]:
        kept = self.own[code].limits.get(name) if code in self.own else None
        return (kept.get("value"), str(kept.get("source") or "")) if isinstance(kept, Mapping) else (None, "")

    def _shown(self, asked: AskedCheck, name: str, value: Any) -> str:
        return "" if value is None else _kind(asked, name).shown(value, self.reader)

    def _default(self, asked: AskedCheck, name: str, stands: Mapping[str, Any]) -> str:
        value = self._shown(asked, name, stands.get("value"))
        source = words.source(str(stands.get("source") or ""))
        return f"{value}. {source}" if value else source or _("none")

    def _text(self, name: str, shown: str) -> str:
        return shown if self.typed is None else self.typed.get(name, "").replace("\x00", "").strip()[:1000]

    # ---- what was typed ---------------------------------------------------------------------------------

    def wanted(self) -> dict[str, dict[str, Any]] | None:
        """By check the limits it is to have; None where something cannot be right, which `errors` says."""
        if not any(name.startswith("site.") for name in self.typed or ()):
            return {}
        read = {one.code: self._read(one) for one in self.asked}
        self._pairs(read)
        return None if self.errors else read

    def _pairs(self, read: Mapping[str, Mapping[str, Any]]) -> None:
        """A least above its most, by what this system says or by the default beside it."""
        for asked in self.asked:
            for name in _known(asked):
                at, most = f"site.{asked.code}.{name}", f"{name.removesuffix('_least')}_most"
                if at in self.errors or not name.endswith("_least") or most not in _known(asked):
                    continue
                low, high = (self._exactly(asked, one, read[asked.code]) for one in (name, most))
                if None not in (low, high) and low > high:
                    self.errors[at] = _("not above the most")

    def _exactly(self, asked: AskedCheck, name: str, own: Mapping[str, Any]) -> Any:
        given = own.get(name) or asked.limits.get(name)
        try:
            return read_limits(_judged(asked), {name: given})[name].value
        except BadInput:
            return None

    def _read(self, asked: AskedCheck) -> dict[str, Any]:
        kept = dict(self.own[asked.code].limits) if asked.code in self.own else {}
        for name in _known(asked):
            value = self._limit_read(asked, name)
            kept.pop(name, None)
            if value is not None:
                kept[name] = value
        return kept

    def _limit_read(self, asked: AskedCheck, name: str) -> Any:
        at, (value, source) = f"site.{asked.code}.{name}", self._kept(asked.code, name)
        shown = self._shown(asked, name, value)
        typed, where = self._text(at, shown), self._text(f"{at}.source", source)
        if (typed, where) == (shown, source):
            return None if value is None else {"value": value, "source": source}
        if not typed:
            if where and where != source:
                self.errors[at] = _("this is needed")
            return None
        if not where or len(where) > LONGEST_SOURCE:
            self.errors[f"{at}.source"] = _("where it stands, at most 200 characters")
        return {"value": value if typed == shown else self._typed(asked, at, name, typed), "source": where}

    def _typed(self, asked: AskedCheck, at: str, name: str, text: str) -> Any:
        try:
            return _kind(asked, name).read(text, at, self.reader)
        except BadInput as why:
            self.errors[at] = words.right(why.right, self.reader)
            return None

    @property
    def versions(self) -> dict[str, int]:
        """Of the rows it had when this was shown."""
        typed = self.typed or {}
        found = {code: typed.get(f"site.{code}.version", "") for code in self.own}
        return {code: int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
                for code, text in found.items()}

    def refused(self, fields: Mapping[str, str]) -> None:
        for name, right in fields.items():
            limit = name.removeprefix("limits.").removesuffix(".source")
            for asked in self.asked:
                if limit in _known(asked) and self._text(f"site.{asked.code}.{limit}", ""):
                    self.errors.setdefault(f"site.{asked.code}.{limit}", _(right))

    @property
    def fresh_fields(self) -> Iterator[tuple[str, Field]]:
        """Every field with where one finds it, for what two people wrote at once."""
        for check in self.checks:
            for one in check.limits:
                said = ": ".join(dict.fromkeys((check.title, one.value.label)))
                yield said, one.value
                yield f"{said}: {one.where.label}", one.where


def _known(asked: AskedCheck) -> tuple[str, ...]:
    """The limits a check is judged by, as far as its row names them."""
    units = _units(asked)
    return tuple(name for name in asked.limits if name in units and name not in FROM_THE_UNIT)


def _judged(asked: AskedCheck) -> str:
    return STANDS_ON.get(asked.judged_by, asked.judged_by)


def _units(asked: AskedCheck) -> Mapping[str, str]:
    kind = KINDS.get(_judged(asked))
    return {} if kind is None else kind.limits


def _kind(asked: AskedCheck, name: str) -> Kind:
    return OF_UNIT.get(_units(asked)[name], kinds.NUMBER)
