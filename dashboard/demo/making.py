"""Makes the demo, whole or not at all."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from dashboard.demo import alder, birch, cedar, contracts, goods
from dashboard.demo.company import SignIn, found_company
from dashboard.demo.diary import Calendar, Diary
from dashboard.demo.story import Story

FOUNDED = -45


def make_demo(now: dt.datetime, seed: int = 1) -> list[SignIn]:
    """Fills an empty database with about eight weeks up to `now`; the sign-ins, one for each role."""
    calendar = Calendar(now)
    diary = Diary(calendar, seed)
    with transaction.atomic():
        company = found_company(calendar, calendar.at(FOUNDED, "07:00"))
        story = Story(company, diary)
        contracts.taken_on(story)
        for crew in (alder, birch, cedar):
            crew.told(story)
        goods.told(story)
        diary.carry_out()
    return company.sign_ins
