"""All that one person's telephone has with it for the day."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from dashboard.opening.sheet import OpeningSheet
from dashboard.site.opening import opening_told
from dashboard.site.round import round_of
from jobs.acts import Act
from jobs.roles import LABELS, Role

# What the page and the office say to each other. A page with a smaller number is older than the office wants: it keeps
# what it has, and tells whoever holds it to load the new one. Raise it when entries of an older page could not be read.
FORM_LEAST = 1


def day_told(request: HttpRequest) -> dict[str, Any]:
    act: Act = request.act
    user = act.user
    stops = round_of(act)
    return {
        "form_least": FORM_LEAST, "at": act.now.isoformat(),
        "person": {"id": user.pk, "name": user.name, "role": act.role, "role_said": str(LABELS[Role(act.role)]),
                   "units": request.reader.units},
        "today": request.reader.day(act.now),
        "openings": [opening_told(OpeningSheet.of(request, stop.opening), stop) for stop in stops],
    }
