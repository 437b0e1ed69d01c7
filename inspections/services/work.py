"""Hours reported, events noted; deliveries received, work given."""

from __future__ import annotations

import datetime as dt
import uuid

from inspections.services.deliveries import receive_delivery
from inspections.services.inspecting import when
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, carry_out
from jobs.errors import Invalid, NotThere
from jobs.models import Event, TimeReport, WorkStep
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.planning import assign, change_assignment, take_back, tell
from jobs.services.stages import crew_of

MINUTES_MOST = 60 * 24 * 20  # twenty people round the clock: more is a slip of the finger
EVENTS = [kind for kind, _ in Event.KINDS]


def report_hours(act: Act, work_step_id: int, *, day: dt.date, minutes: int, note: str = "",
                 entry_id: uuid.UUID | None = None) -> TimeReport:
    """Person-minutes used on a work step, on a day."""
    mark = fingerprint("time-report", work_step_id, day, minutes, note)
    with carry_out(act) as done:
        step = WorkStep.objects.filter(pk=work_step_id).first()
        if step is None:
            raise NotThere("There is no such work step.")
        opening = locked(step.opening_id)
        require(act, "report hours", opening)
        had = had_already(TimeReport, entry_id, mark)
        if had is not None:
            return had
        if day > act.today(opening.job.time_zone):
            raise Invalid("Hours are reported once they are worked.", fields={"day": "today at the job, or before"})
        if not 0 < minutes <= MINUTES_MOST:
            raise Invalid("That many minutes cannot be right.", fields={"minutes": f"1 to {MINUTES_MOST}"})
        report = TimeReport.objects.create(id=entry_id or new_id(), work_step=step, crew=crew_of(act, opening),
                                           day=day, minutes=minutes, note=note, **when(act), fingerprint=mark)
        done.note(act, "hours reported", "time-reports", report.pk, opening=opening, minutes=minutes)
    return report


def note_event(act: Act, opening_id: int, kind: str, *, note: str = "", entry_id: uuid.UUID | None = None) -> Event:
    """A re-pour, work on the structure, other trades in the opening: ends what was verified for a time."""
    mark = fingerprint("event", opening_id, kind, note)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "note an event", opening)
        had = had_already(Event, entry_id, mark)
        if had is not None:
            return had
        if kind not in EVENTS:
            raise Invalid("There is no such event.", fields={"kind": "one of: " + ", ".join(EVENTS)})
        event = Event.objects.create(id=entry_id or new_id(), opening=opening, kind=kind, note=note, **when(act),
                                     fingerprint=mark)
        done.note(act, "event noted", "events", event.pk, opening=opening, kind=kind)
        refresh_at_end(act, done, opening)
    return event


__all__ = ["assign", "change_assignment", "note_event", "receive_delivery", "report_hours", "take_back", "tell"]
