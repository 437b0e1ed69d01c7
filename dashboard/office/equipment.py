"""Lifters and carts as their pages show them: what is left of a rating and why, what is still to be asked of a manual,
and where each goes when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.forms.kinds import plain
from dashboard.measures import POUND, Reader
from jobs.calc.rating import Equipment as Rated
from jobs.models import Assignment, Equipment, Opening, OutOfUse
from jobs.services.equipment import rated, unknown_of

NO_SOURCE = "no source given"


@dataclass(frozen=True, slots=True)
class Goes:
    """Days on which it is given to somebody, or goes nowhere. `against`: why that cannot be so."""

    first: dt.date
    last: dt.date
    days: str
    crew: str = ""
    opening: Opening | None = None
    work: str = ""
    heaviest: str = ""
    out: OutOfUse | None = None
    against: tuple[str, ...] = ()


@dataclass(frozen=True)
class EquipmentShown:
    one: Equipment
    reader: Reader
    today: dt.date
    given: Sequence[Assignment] = ()
    out: Sequence[OutOfUse] = ()

    @cached_property
    def rated(self) -> Rated:
        return rated(self.one)

    # ---- what is left -----------------------------------------------------------------------------------

    @property
    def capacity(self) -> str:
        """What the plate says."""
        return _("not entered") if self.rated.capacity is None else self._mass(self.rated.capacity)

    @property
    def left(self) -> str:
        """What it can be trusted with; until all is known, that it cannot."""
        return "" if self.rated.holds is None else self._mass(self.rated.holds)

    @property
    def at_most(self) -> str:
        """No more than this, whatever is still to be asked."""
        known = None if self.rated.holds is not None else self.rated.holds_at_best
        return "" if known is None else self._mass(known)

    def _mass(self, kg: Fraction) -> str:
        """Of what is left: never more than there is, but for the half gram at which pounds are kept. In kilograms
        besides, as ratings are given."""
        said = _("%d kg") % floor(kg)
        pounds = floor((kg * 1000 + Fraction(1, 2)) / Fraction(str(POUND)))
        return f"{pounds} lb ({said})" if self.reader.in_inches else said

    @property
    def asked(self) -> tuple[str, ...]:
        """What its maker's manual must still be asked."""
        return words.unique(self._lack(lack) for lack in unknown_of(self.rated))

    def _lack(self, lack: Mapping[str, Any]) -> str:
        if lack["what"] == "reduction":
            return _("what it says of: %s") % self._of(lack["why"])
        if lack["what"] == "rating_includes":
            return _("whether the rating has its design factor in it already")
        return str(phrases.RATING_LACKS[lack["what"]])

    def _of(self, why: str) -> str:
        said = str(phrases.RATING_LINES.get(why, why.replace("_", " ")))
        return said[:1].lower() + said[1:]

    @property
    def steps(self) -> Iterator[tuple[str, str, str]]:
        """From the plate to what is left: what, how much, and where that stands."""
        known = self.rated
        yield _("Rated"), self.capacity, known.source if self.one.rating_source else ""
        for why in sorted(known.includes or ()):
            yield self._of(why).capitalize(), _("in the rating already"), ""
        for one in known.reductions:
            part = _("to be looked up") if one.factor is None else _("%s of it stays") % plain(float(one.factor))
            yield self._of(one.why).capitalize(), part, one.source if one.source != NO_SOURCE else ""
        if known.vacuum and known.stays_with_one_lost is not None:
            yield _("One circuit lost"), _("%s of it stays") % self._lost(known.stays_with_one_lost), ""

    @staticmethod
    def _lost(part: Fraction) -> str:
        return plain(float(part)) if part.denominator in (1, 2, 4, 5, 10, 20, 100) else str(part)

    # ---- its days ---------------------------------------------------------------------------------------

    @property
    def stop_wind(self) -> str:
        wind = self.one.stop_wind_m_per_s
        return "" if wind is None else f"{plain(wind)} m/s"

    @property
    def inspected(self) -> str:
        return self.reader.whole_day(self.one.inspected_until)

    @property
    def inspection_over(self) -> bool:
        return self.one.inspected_until is not None and self.one.inspected_until < self.today

    @property
    def out_today(self) -> OutOfUse | None:
        return next((out for out in self.out if out.from_day <= self.today <= out.to_day), None)

    @cached_property
    def goes(self) -> list[Goes]:
        """From today on, the next first."""
        rows = [self._work(given) for given in self.given] + [self._away(out) for out in self.out]
        return sorted(rows, key=lambda row: (row.first, row.last))

    @property
    def next(self) -> Goes | None:
        return self.goes[0] if self.goes else None

    @property
    def later(self) -> int:
        return max(len(self.goes) - 1, 0)

    def _days(self, first: dt.date, last: dt.date) -> str:
        if first == last:
            return self.reader.day(first)
        return _("%(first)s to %(last)s") % {"first": self.reader.day(first), "last": self.reader.day(last)}

    def _away(self, out: OutOfUse) -> Goes:
        return Goes(out.from_day, out.to_day, self._days(out.from_day, out.to_day), out=out)

    def _work(self, given: Assignment) -> Goes:
        grams = given.work_step.lifting_grams
        work = _("%(stage)s, %(firmness)s") % {
            "stage": words.stage(given.work_step.stage), "firmness": phrases.FIRMNESS[given.firmness]}
        return Goes(given.start_day, given.end_day, self._days(given.start_day, given.end_day), given.crew.name,
                    given.opening, work, "" if grams is None else self.reader.weight_up(grams / 1000),
                    against=tuple(self._against(given)))

    def _against(self, given: Assignment) -> Iterator[str]:
        for out in self.out:
            if out.from_day <= given.end_day and given.start_day <= out.to_day:
                yield _("out of use then")
        for other in self.given:
            meets = other.start_day <= given.end_day and given.start_day <= other.end_day
            if other.opening_id != given.opening_id and meets:
                yield _("given to %s too") % other.opening
        if self.one.inspected_until is not None and self.one.inspected_until < given.end_day:
            yield _("its inspection is over by then")
        most, grams = self.rated.holds_at_best, given.work_step.lifting_grams
        if most is not None and grams is not None and most * 1000 < grams:
            yield _("holds too little for the heaviest panel")


def shown(found: Iterable[Equipment], reader: Reader, today: dt.date, openings: Any) -> list[EquipmentShown]:
    """With what each is given to among these openings, from today on: read once for all of them."""
    equipment = list(found)
    given = _given([one.pk for one in equipment], today, openings)
    out: dict[int, list[OutOfUse]] = {}
    for away in OutOfUse.objects.filter(equipment__in=equipment, to_day__gte=today):
        out.setdefault(away.equipment_id, []).append(away)
    return [EquipmentShown(one, reader, today, given.get(one.pk, ()), out.get(one.pk, ())) for one in equipment]


def _given(ids: Sequence[int], today: dt.date, openings: Any) -> dict[int, list[Assignment]]:
    through = Assignment.equipment.through.objects.filter(equipment__in=ids, assignment__end_day__gte=today)
    if openings is not None:
        through = through.filter(assignment__opening__in=openings)
    rows = through.select_related("assignment__crew", "assignment__work_step", "assignment__opening__job")
    found: dict[int, list[Assignment]] = {}
    for row in rows.order_by("assignment__start_day", "assignment"):
        found.setdefault(row.equipment_id, []).append(row.assignment)
    return found
