"""Rows to measure with: made in SQL, so that a million of them are there in seconds."""

from __future__ import annotations

import datetime as dt

from django.db import connection

from jobs.models import Crew, CrewMember, Job, User
from jobs.stages import WORKED, Stage

COUNT = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %s) "


def office() -> User:
    return User.objects.get_or_create(username="bench", defaults={"name": "Bench", "role": "office"})[0]


def job() -> Job:
    return Job.objects.get_or_create(number="B-0001", defaults={"title": "Bench"})[0]


def openings(count: int, stage: Stage, prefix: str) -> None:
    """So many openings at one stage, with nothing recorded on them."""
    sql = COUNT + (  # noqa: S608 - nothing in it comes from outside
        "INSERT INTO jobs_opening (job_id, tag, location, rough_width, rough_height, substrate, pocket_side, "
        "benchmark, stage, stage_since, called_back, version, created_at) SELECT %s, %s || i, 'ground floor', "
        "6121400000, 2768600000, 'concrete', 'left', '', %s, %s, %s, 1, %s FROM n")
    now = dt.datetime.now(dt.UTC)
    with connection.cursor() as cursor:
        cursor.execute(sql, [count, job().pk, prefix, stage.value, now, False, now])
        cursor.execute("ANALYZE")


def give_all_active_to_crews(crews: int, today: dt.date) -> None:
    """Every active opening a work step a stage and an assignment, shared out over so many crews."""
    made = [Crew.objects.get_or_create(name=f"Bench {n}")[0] for n in range(crews)]
    for crew in made:
        CrewMember.objects.get_or_create(crew=crew, user=office(), from_day=today)
    now = dt.datetime.now(dt.UTC)
    active = "FROM jobs_opening o WHERE o.stage <> %s"
    with connection.cursor() as cursor:
        for stage in WORKED:
            cursor.execute(
                "INSERT INTO jobs_workstep (opening_id, stage, planned_minutes, skills, hands, wait_after_minutes, "
                "ready, not_ready, to_bring_in, version, created_at) "
                f"SELECT o.id, %s, 600, '[]', 2, 0, %s, '[]', '{{}}', 1, %s {active}",
                [stage.value, True, now, Stage.ACCEPTED.value])
        cursor.execute(
            "INSERT INTO jobs_assignment (opening_id, work_step_id, crew_id, start_day, end_day, planned_minutes, "
            "firmness, against, told_whom, version, created_at) "
            "SELECT w.opening_id, w.id, %s + (w.opening_id %% %s), %s, %s, 600, 'pencilled', '[]', '', 1, %s "
            "FROM jobs_workstep w WHERE w.stage = %s",
            [made[0].pk, crews, today, today + dt.timedelta(days=2), now, WORKED[0].value])
        cursor.execute("ANALYZE")


def give_all_past_to_crews(crews: int, today: dt.date) -> None:
    """What was accepted was done by somebody, a year ago."""
    first = Crew.objects.order_by("pk").first()
    then, now = today - dt.timedelta(days=365), dt.datetime.now(dt.UTC)
    past = ("FROM jobs_opening o WHERE o.stage = %s AND NOT EXISTS (SELECT 1 FROM jobs_workstep w "
            "WHERE w.opening_id = o.id)")
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO jobs_workstep (opening_id, stage, planned_minutes, skills, hands, wait_after_minutes, ready, "
            "not_ready, to_bring_in, version, created_at) "
            f"SELECT o.id, %s, 600, '[]', 2, 0, %s, '[]', '{{}}', 1, %s {past}",
            [WORKED[0].value, False, now, Stage.ACCEPTED.value])
        cursor.execute(
            "INSERT INTO jobs_assignment (opening_id, work_step_id, crew_id, start_day, end_day, planned_minutes, "
            "firmness, against, told_whom, version, created_at) "
            "SELECT w.opening_id, w.id, %s + (w.opening_id %% %s), %s, %s, 600, 'inked', '[]', '', 1, %s "
            "FROM jobs_workstep w WHERE NOT EXISTS (SELECT 1 FROM jobs_assignment a WHERE a.work_step_id = w.id) "
            "AND w.stage = %s", [first.pk, crews, then, then + dt.timedelta(days=2), now, WORKED[0].value])
        cursor.execute("ANALYZE")
