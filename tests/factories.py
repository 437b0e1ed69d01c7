"""A small fixed cast, made with the models themselves. Keyword arguments override."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

from jobs.acts import Act
from jobs.models import Assignment, Crew, CrewMember, Job, Opening, Party, User, WorkStep
from jobs.stages import WORKED
from units.models import DoorSystem, Panel, Unit

NOW = dt.datetime(2026, 3, 10, 15, 0, tzinfo=dt.UTC)
_count = itertools.count(1)
MM = 1_000_000
# An invented system: W = 6000 - 60 - 40 = 5900; three panels: (5900 + 2 * 50 + 40 + 20) / 3 = 2020.
MADE = {"lock_jamb": 60 * MM, "interlock": 40 * MM, "head": 70 * MM, "sill": 30 * MM, "height_deduction": 10 * MM,
        "meeting_lap": 50 * MM, "middle_lap": 0, "interlock_lap": 40 * MM, "jamb_engagement": 20 * MM,
        "increment": MM, "panel_thickness": 55 * MM, "track_pitch": 65 * MM, "covers": 30 * MM, "pull": 50 * MM,
        "stop": 20 * MM, "pocket_clearance": 10 * MM, "stile_face": 60 * MM, "rail_face": 60 * MM,
        "glass_inset": 40 * MM, "stile_grams_per_m": 3000, "rail_grams_per_m": 4000,
        "hardware": [{"what": "rollers", "kg": 1.5, "count": 2}],
        "glasses": [{"name": "8 and 8", "layers": [{"kind": "pane", "nominal": 8}, {"kind": "pane", "nominal": 8}]}],
        "limits": {"panels": {"panel_width_most": {"value": "2100 mm", "source": "an invented system"}}}}


def count_from_one() -> None:
    global _count
    _count = itertools.count(1)


def make_user(role: str = "office", **over: Any) -> User:
    n = next(_count)
    values = {"username": f"{role}-{n}", "name": f"{role.title()} {n}", "role": role,
              "email": f"{role}{n}@marrow.example"}
    user = User(**{**values, **over})
    user.set_password("a long enough password")
    user.save()
    return user


def make_party(kind: str = "builder", **over: Any) -> Party:
    return Party.objects.create(**{"kind": kind, "name": f"{kind.title()} {next(_count)}", **over})


def make_job(**over: Any) -> Job:
    n = next(_count)
    values = {"number": f"J-{n:04}", "title": f"House {n}", "time_zone": "America/Los_Angeles"}
    return Job.objects.create(**{**values, **over})


def make_opening(job: Job | None = None, **over: Any) -> Opening:
    values = {"tag": f"A{next(_count)}", "rough_width": 6_121_400_000, "rough_height": 2_768_600_000}
    opening = Opening.objects.create(job=job or make_job(), **{**values, **over})
    for stage in WORKED:
        WorkStep.objects.create(opening=opening, stage=stage.value, planned_minutes=600, hands=2)
    return opening


def make_system(**over: Any) -> DoorSystem:
    n = next(_count)
    return DoorSystem.objects.create(**{"code": f"system-{n}", "name": f"System {n}", **over})


def make_unit(opening: Opening, panels: str = "ABCD", **over: Any) -> Unit:
    unit = Unit.objects.create(opening=opening, **{"system": make_system(), "frame_width": 6_096_000_000,
                                                   "frame_height": 2_743_200_000, **over})
    for order, letter in enumerate(panels, start=1):
        position = "lead" if order == 1 else "pocket" if order == len(panels) else "intermediate"
        Panel.objects.create(unit=unit, letter=letter, position=position, track=order, hanging_order=order,
                             computed_grams=180_000 + order * 1000)
    return unit


def make_crew(*users: User, **over: Any) -> Crew:
    crew = Crew.objects.create(**{"name": f"Crew {next(_count)}", **over})
    for user in users:
        CrewMember.objects.create(crew=crew, user=user, leads=user.role == "lead", from_day=dt.date(2020, 1, 1))
    return crew


def give_work(opening: Opening, crew: Crew, stage: str | None = None, **over: Any) -> Assignment:
    steps = opening.work_steps.all()
    step = steps.get(stage=stage) if stage else steps[0]
    day = NOW.date()
    values = {"start_day": day, "end_day": day + dt.timedelta(days=2), "planned_minutes": step.planned_minutes}
    return Assignment.objects.create(opening=opening, work_step=step, crew=crew, **{**values, **over})


def act_for(user: User | str = "office", now: dt.datetime = NOW, **over: Any) -> Act:
    person = make_user(user) if isinstance(user, str) else user
    return Act(user=person, role=over.pop("role", person.role), now=now, **over)
