"""People who sign in: what they may, on which crew they are, and a first password that is read out once."""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from dashboard.measures import Reader
from dashboard.office.crews import said_days
from jobs.models import AccessToken, CrewMember, DayOff, User
from jobs.roles import LABELS, Role

# Letters and digits nobody takes for another when they are read out on the telephone.
CONSONANTS, VOWELS, DIGITS = "bdfghjkmnprstvz", "aeiou", "23456789"


def first_password() -> str:
    """`tivo-mare-kudo-47`: some 49 bits by chance, which takes longer to guess than anybody is let try."""
    words = ["".join(secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _n in range(2)) for _w in range(3)]
    return "-".join([*words, secrets.choice(DIGITS) + secrets.choice(DIGITS)])


@dataclass(frozen=True)
class PersonShown:
    person: User
    reader: Reader
    today: dt.date
    memberships: Sequence[CrewMember] = ()
    off: Sequence[DayOff] = ()
    tokens: Sequence[AccessToken] = ()

    @property
    def role(self) -> str:
        return LABELS[Role(self.person.role)]

    @property
    def on(self) -> list[CrewMember]:
        """Crews they are on today."""
        return [one for one in self.memberships
                if one.from_day <= self.today and (one.to_day is None or self.today <= one.to_day)]

    @property
    def crews(self) -> Iterator[tuple[CrewMember, str, str]]:
        for one in self.memberships:
            since, until = self.reader.whole_day(one.from_day), self.reader.whole_day(one.to_day)
            days = _("%(first)s to %(last)s") % {"first": since, "last": until} if until else (
                _("since %s") if one.from_day <= self.today else _("from %s")) % since
            yield one, days, ", ".join(one.skills)

    @property
    def away(self) -> Iterator[tuple[DayOff, str]]:
        for one in self.off:
            yield one, said_days(one.from_day, one.to_day, self.reader)

    @property
    def open_tokens(self) -> Iterator[tuple[AccessToken, str]]:
        """Those that open something, and until when."""
        for one in self.tokens:
            yield one, _("until %s") % self.reader.day(one.expiry) if one.expiry else _("without an end")

    @property
    def off_today(self) -> DayOff | None:
        return next((one for one in self.off if one.from_day <= self.today), None)

    @property
    def seen(self) -> str:
        """When they signed in last."""
        if self.person.last_login is None:
            return _("never signed in")
        return _("signed in %s") % self.reader.day(self.person.last_login)

    @property
    def told(self) -> Iterator[str]:
        """What cannot stay so."""
        if not self.person.is_active:
            for one in self.on:
                yield _("still counted as a hand of crew %s") % one.crew
        elif self.person.role in (Role.LEAD, Role.INSTALLER) and not self.on:
            yield _("on no crew: sees no opening")


def shown_people(found: Iterable[User], reader: Reader, today: dt.date, *, past: bool = False) -> list[PersonShown]:
    """With crews and days off from today on, read once for all; `past`: with the crews they were on too."""
    people = list(found)
    rows = CrewMember.objects.filter(user__in=people)
    if not past:
        rows = rows.filter(Q(to_day=None) | Q(to_day__gte=today))
    crews: dict[int, list[CrewMember]] = {}
    for one in rows.select_related("crew").order_by("-from_day", "pk"):
        crews.setdefault(one.user_id, []).append(one)
    off: dict[int, list[DayOff]] = {}
    for day in DayOff.objects.filter(user__in=people, to_day__gte=today):
        off.setdefault(day.user_id, []).append(day)
    tokens = _open_tokens(people) if past else {}
    return [PersonShown(one, reader, today, crews.get(one.pk, ()), off.get(one.pk, ()), tokens.get(one.pk, ()))
            for one in people]


def _open_tokens(people: Sequence[User]) -> dict[int, list[AccessToken]]:
    found: dict[int, list[AccessToken]] = {}
    rows = AccessToken.objects.filter(Q(expiry=None) | Q(expiry__gt=timezone.now()), user__in=people, revoked_at=None)
    for one in rows.order_by("-created"):
        found.setdefault(one.user_id, []).append(one)
    return found
