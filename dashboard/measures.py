"""How one reader reads: lengths, masses and temperatures in their units, times in the time zone of the job."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import wraps
from math import ceil
from typing import ParamSpec

from django.utils.html import escape
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from dashboard import written
from dashboard.written import decimal
from inspections.services.readers import clock_of, zone_of
from jobs.calc.lengths import FOOT, INCH, MM, format_inches, format_mm, from_mm, half_away
from jobs.models import OfficeSettings, User

Said = ParamSpec("Said")
FINEST = 64  # marks to the inch; finer than that nobody reads a tape
POUND_FORCE = 4.4482216152605  # N
POUND = 453.59237  # g
SQUARE_FOOT = 0.09290304  # m2


class Figure(str):
    """An amount with its unit. On a page it is never broken in two; everywhere else it is the text it is."""

    def __html__(self) -> str:
        return SafeString(escape(str.__str__(self)).replace(" ", "\N{NO-BREAK SPACE}"))


def _figure(said: Callable[Said, str]) -> Callable[Said, str]:
    @wraps(said)
    def figure(*given: Said.args, **how: Said.kwargs) -> str:
        return Figure(said(*given, **how))
    return figure


@dataclass(frozen=True, slots=True)
class Reader:
    units: str = "in"
    zone: dt.tzinfo = dt.UTC
    year: int | None = None  # this year: a day of another one is said with its year

    @classmethod
    def of(cls, user: User, now: dt.datetime | None = None, office: OfficeSettings | None = None) -> Reader:
        """By their own clock; where they have set none, by the company's."""
        own = office is None or user.time_zone not in ("", "UTC")
        zone = zone_of(user.time_zone) if own else clock_of(user, office)
        return cls(user.units, zone, None if now is None else now.astimezone(zone).year)

    def at(self, time_zone: str) -> Reader:
        """The same reader, at a job with its own clock."""
        return replace(self, zone=zone_of(time_zone))

    @property
    def in_inches(self) -> bool:
        return self.units == "in"

    # ---- lengths ----------------------------------------------------------------------------------------

    @_figure
    def length(self, nm: int | Fraction) -> str:
        """`3/32"` or `2.4 mm`: a reading, as fine as it is."""
        return self.taped(nm) if self.in_inches else decimal(self.taped(nm))

    def taped(self, nm: int | Fraction) -> str:
        """The same as it is put into a record: whoever reads it later, it is written with a point."""
        return format_inches(nm, _marks(nm)) if self.in_inches else format_mm(nm)

    def printed(self, mm: str | None) -> str:
        """A length as a verdict prints it: decimal millimetres."""
        return "" if mm is None else self.length(from_mm(mm))

    @_figure
    def place(self, nm: int | Fraction) -> str:
        """Where along a member: `12' 0"` or `3658 mm`."""
        if not self.in_inches:
            return f"{round(Fraction(nm) / MM)} mm"
        return format_inches(nm, 16, feet=True) if abs(nm) >= FOOT else format_inches(nm, 16)

    def size(self, nm: int | Fraction | None) -> str:
        """A width or a height: `20' 1"`."""
        return "–" if nm is None else self.place(nm)

    def needed(self, nm: int | None) -> str:
        """A size that must be there, let up to a mark: what is said must never be too little itself."""
        mark = Fraction(INCH, 16) if self.in_inches else Fraction(MM)
        return self.size(None if nm is None else ceil(nm / mark) * mark)

    def beyond(self, value: int | Fraction, limit: int | Fraction) -> str:
        """A value that lies beyond its limit: it never reads as equal to it."""
        said = self.length(value)
        if said != self.length(limit) or value == limit:
            return said
        return (_("just over %s") if value > limit else _("just under %s")) % said

    def difference(self, nm: int | Fraction) -> str:
        """By how much: a difference too small for a tape is said to be one."""
        if nm and not self.in_inches and abs(nm) < MM // 20:
            return _("less than 0.1 mm")
        if nm and self.in_inches and abs(nm) < INCH // (2 * FINEST):
            return _('less than 1/64"')
        return self.length(abs(nm))

    def between(self, one: int, other: int) -> str:
        """How far apart two lengths are that are said side by side: the three agree, as they are read."""
        apart = abs(self._as_read(one) - self._as_read(other))
        if apart or one == other:
            return self.length(apart)
        return _('less than 1/64"') if self.in_inches else _("less than 0.1 mm")

    def _as_read(self, nm: int) -> int:
        """To the mark that `length` says."""
        mark = INCH // FINEST if self.in_inches else MM // 10
        return half_away(Fraction(nm, mark)) * mark

    def along(self, nm: int) -> str:
        """What is typed into a form for a place along the sill."""
        return format_inches(nm, _marks(nm), feet=True) if self.in_inches else f"{float(Fraction(nm, MM)):g}"

    def typed(self, nm: int | None) -> str:
        """What is typed into a form for a length."""
        if nm is None:
            return ""
        return format_inches(nm, _marks(nm)) if self.in_inches else f"{float(Fraction(nm, MM)):g}"

    def exactly(self, nm: int) -> str:
        """What is typed into a form for a reading that must stay what it was: in millimetres where no mark shows it."""
        on_a_mark = (Fraction(nm) * FINEST / INCH).denominator == 1
        return self.typed(nm) if not self.in_inches or on_a_mark else f"{float(Fraction(nm, MM)):g} mm"

    @_figure
    def slope(self, mm_per_m: str) -> str:
        """How much it falls over a length one thinks in: `0.024 in/ft`, `2 mm/m`."""
        value, unit = (float(mm_per_m) * 12 / 1000, "in/ft") if self.in_inches else (float(mm_per_m), "mm/m")
        said = f"{value:.3f}" if self.in_inches else f"{value:.2f}"
        return f"{decimal(said.rstrip('0').rstrip('.'))} {unit}"

    # ---- other amounts ----------------------------------------------------------------------------------

    @_figure
    def temperature(self, celsius: str) -> str:
        value = float(celsius)
        return decimal(f"{value * 9 / 5 + 32:.1f} °F" if self.in_inches else f"{value:.1f} °C")

    @_figure
    def warmer(self, degrees: str) -> str:
        """A difference of temperatures."""
        value = float(degrees)
        return decimal(f"{value * 9 / 5:.1f} °F" if self.in_inches else f"{value:.1f} °C")

    @_figure
    def force(self, newtons: str) -> str:
        value = float(newtons)
        return decimal(f"{value / POUND_FORCE:.1f} lbf ({value:.0f} N)" if self.in_inches else f"{value:.1f} N")

    @_figure
    def mass(self, grams: int | None) -> str:
        if grams is None:
            return "–"
        return f"{grams / POUND:.0f} lb" if self.in_inches else f"{grams / 1000:.0f} kg"

    def weight_up(self, kg: float) -> str:
        """Of what somebody must lift: whole, never lower than it is; in kilograms besides, as ratings are given."""
        said = _("%d kg") % ceil(kg)
        return f"{ceil(kg * 1000 / POUND)} lb ({said})" if self.in_inches else said

    @_figure
    def weight(self, kg: str | float | Fraction) -> str:
        """A mass to the tenth, as it is judged."""
        value = float(kg)
        said = f"{value * 1000 / POUND:.1f} lb" if self.in_inches else f"{value:.1f} kg"
        return decimal(said.replace(".0 ", " "))

    @_figure
    def area(self, m2: str | float) -> str:
        value = float(m2)
        return decimal(f"{value / SQUARE_FOOT:.1f}") + " sq ft" if self.in_inches else decimal(f"{value:.2f}") + " m²"

    # ---- times ------------------------------------------------------------------------------------------

    def moment(self, at: dt.datetime | str | None) -> str:
        """`Wed 25 Nov, 10:42`, on the clock of the job, as the reader's browser writes it."""
        if at is None:
            return ""
        local = _moment(at).astimezone(self.zone)
        return f"{self._said(local.date())}, {written.clock(local)}"

    def day(self, at: dt.datetime | dt.date | str | None) -> str:
        if at is None:
            return ""
        day = _moment(at).astimezone(self.zone).date() if _is_moment(at) else _day(at)
        return self._said(day)

    def _said(self, day: dt.date) -> str:
        """Without its year, where the year is plain."""
        return written.date(day, written.DAY if self.year in (None, day.year) else written.DAY_AND_YEAR)

    def days(self, first: dt.date, last: dt.date) -> str:
        return self.day(first) if first == last else f"{self.day(first)} – {self.day(last)}"

    def whole_day(self, day: dt.date | None) -> str:
        return "" if day is None else written.date(day, written.WHOLE)

    def short(self, day: dt.date) -> str:
        """`25 Nov`: under the axis of a plot."""
        return written.date(day, written.SHORT)


def typed_hours(minutes: int) -> str:
    """What is typed into a form for hours, as fine as comes back to the same minutes."""
    return f"{minutes / 60:.2f}".rstrip("0").rstrip(".")


def hours(minutes: int) -> str:
    """`61`, `12.5`: hours, as a tape is marked."""
    return decimal(f"{minutes / 60:.1f}".removesuffix(".0"))


def _marks(nm: int | Fraction) -> int:
    """The coarsest marks that show this length exactly, sixteenths at least; else the finest there are."""
    return next((parts for parts in (16, 32, FINEST) if (Fraction(nm) * parts / INCH).denominator == 1), FINEST)


def _is_moment(at: dt.datetime | dt.date | str) -> bool:
    return isinstance(at, dt.datetime) or (isinstance(at, str) and "T" in at)


def _moment(at: dt.datetime | dt.date | str) -> dt.datetime:
    return dt.datetime.fromisoformat(at) if isinstance(at, str) else at


def _day(at: dt.date | str) -> dt.date:
    return dt.date.fromisoformat(at) if isinstance(at, str) else at
