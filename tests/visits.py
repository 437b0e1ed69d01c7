"""Somebody at a page: signed in, on a site whose clock stands a few hours before now."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.models import Assignment, CrewMember, User
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import make_user
from tests.site import Site


def site_today(stage: Stage = Stage.TO_BE_MEASURED, panels: str = "AB", **opening: Any) -> Site:
    """An opening brought to `stage` in the last hours, so that what was read still counts on the page."""
    site = Site(panels, **opening)
    # On the hour: what was brought to a stage once can then stand there again for the next test.
    site.now = timezone.now().replace(minute=0, second=0, microsecond=0) - dt.timedelta(hours=5)
    today = site_day(site)
    Assignment.objects.filter(opening=site.opening).update(start_day=today, end_day=today + dt.timedelta(days=2))
    return site.bring_to(stage)


def site_day(site: Site) -> dt.date:
    """Today where the job is."""
    return timezone.now().astimezone(ZoneInfo(site.opening.job.time_zone)).date()


def on_the_crew(site: Site, role: str) -> User:
    person = make_user(role)
    CrewMember.objects.create(crew=site.crew, user=person, from_day=dt.date(2020, 1, 1))
    return person


def as_role(site: Site, role: str) -> User:
    """Somebody of that role who has to do with the opening; leads and installers are on its crew."""
    people = {"office": site.office, "lead": site.lead}
    if role in people:
        return people[role]
    return on_the_crew(site, role) if role == "installer" else make_user(role)


def at(site: Site, name: str = "opening", *more: Any) -> str:
    return reverse(name, args=[site.opening.pk, *more])


def post(client: Client, person: User, url: str, **data: Any) -> Any:
    """A plain form post, with the id its form had when it was shown."""
    client.force_login(person)
    return client.post(url, {"entry": str(new_id()), **data})


def text(response: Any) -> str:
    """What the page says, entities read and white space as one blank."""
    words = response.content.decode()
    for entity, char in (("&#x27;", "'"), ("&quot;", '"'), ("&amp;", "&"), ("&#8243;", "″")):
        words = words.replace(entity, char)
    return " ".join(words.split())


def queries(client: Client, url: str) -> int:
    client.get(url)  # whatever is looked up once a process has been
    with CaptureQueriesContext(connection) as seen:
        assert client.get(url).status_code == 200
    return len(seen)
