"""What lies in the set of sheets: the pages one goes to from anywhere, and who goes there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.roles import reach


@dataclass(frozen=True, slots=True)
class Sheet:
    page: str  # its name among the addresses
    title: str
    here: str  # what the pages that belong to it call themselves
    may: str = "read"


EVERY_DAY = (
    Sheet("crew-progress", _("Crew progress"), "crews"),
    Sheet("needs-somebody", _("What needs somebody"), "needs", "read contacts"),
    Sheet("crews-weeks", _("Crews' weeks"), "weeks", "read crews' weeks"),
    Sheet("jobs", _("Jobs"), "jobs"),
    Sheet("punch-items", _("Punch items"), "items"),
    Sheet("callbacks", _("Callbacks"), "callbacks"),
    Sheet("site", _("Site page"), "site", "record readings"),
)
NOW_AND_THEN = (
    Sheet("reports", _("Reports"), "reports"),
    Sheet("reminders", _("Reminders"), "reminders", "read reminders"),
    Sheet("door-systems", _("Door systems"), "systems"),
    Sheet("equipment", _("Equipment"), "equipment"),
    Sheet("crews", _("Crews"), "crew-records", "keep office records"),
    Sheet("people", _("People"), "people", "keep people"),
    Sheet("settings", _("Settings"), "settings", "keep office records"),
)


@dataclass(frozen=True, slots=True)
class Line:
    title: str
    url: str
    here: str


def lines(sheets: Iterable[Sheet], role: str) -> tuple[Line, ...]:
    """Those this role may open."""
    return tuple(Line(str(s.title), reverse(s.page), s.here) for s in sheets if reach(role, s.may) is not None)
