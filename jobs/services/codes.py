"""Gate and alarm codes: for the office, and for the assigned crew on the day. Nobody else learns that there are any."""

from __future__ import annotations

from django.db.models import QuerySet

from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.models import AccessCode, Assignment, Job, Visit
from jobs.models.crews import of_a_crew_of
from jobs.roles import LABELS, Reach, Role, reach


def codes_of(act: Act, job: Job) -> QuerySet[AccessCode]:
    """The job's codes, for one who needs them today; the day is the job's own."""
    how_far = reach(act.role, "read access codes")
    if how_far is None:
        raise NotAllowed(f"{LABELS[Role(act.role)]} may not read access codes.")
    if how_far is not Reach.ALL and not _is_here_today(act, job):
        raise NotAllowed("Access codes are for the assigned crew, on the day.")
    return AccessCode.objects.filter(job=job)


def _is_here_today(act: Act, job: Job) -> bool:
    today = act.today(job.time_zone)
    theirs = of_a_crew_of(act.user, today)
    return Assignment.objects.filter(theirs, opening__job=job, start_day__lte=today, end_day__gte=today).exists() \
        or Visit.objects.filter(theirs, opening__job=job, day=today).exists()
