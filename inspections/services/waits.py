"""Waits: raised, from a failed verdict with its correction where there is one, and cleared."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import F, Q, QuerySet

from inspections.models import Inspection
from inspections.services.checks import checks_for
from inspections.services.inspecting import when
from inspections.services.judging import correction_of, judged_again, limits_at
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, carry_out
from jobs.calc.days import is_a_slip
from jobs.calc.verdict import PASS
from jobs.errors import RIGHT_DAY, Invalid, NotThere, SomeoneWasFaster
from jobs.models import Delivery, Opening, Party, Wait
from jobs.models.base import new_id
from jobs.roles import Reach, reach
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already

KINDS = [kind for kind, _ in Party.KINDS]
# Floor, wall, pocket and header are the builder's to put right; the rest, our own crew's.
BUILDERS_READINGS = frozenset({"rough-opening", "floor-profile", "pocket"})
REPORT_THE_HEAD = "do_not_hang"
BUILDERS_CHECKS = frozenset({"pocket-open", "floor-sound", "header-in", "studs-clear"})


def who_owes(kind: str, findings: Sequence[Mapping[str, Any]]) -> str:
    """Who must put right what these readings failed on, unless whoever raises the wait knows better."""
    if kind in BUILDERS_READINGS:
        return "builder"
    reported = any((f.get("remedy") or {}).get("code") == REPORT_THE_HEAD for f in findings if f["within"] is False)
    return "builder" if reported else "office"


def who_owes_what_was_seen(check: str) -> str:
    """The same, where somebody looked and it was not so."""
    return "builder" if check in BUILDERS_CHECKS else "office"


def raise_wait(act: Act, opening_id: int, *, what_for: str, owed_by_kind: str = "", owed_by_id: int | None = None,
               expected_day: dt.date | None = None, inspection_id: uuid.UUID | None = None,
               entry_id: uuid.UUID | None = None) -> Wait:
    """Waiting since now: what for, who owes it. While it is open the opening does not advance. Raised from readings
    that fail, it is owed by whoever must put them right, where nobody else is named."""
    mark = fingerprint("wait", opening_id, what_for, owed_by_kind, owed_by_id, expected_day, inspection_id)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "raise a wait", opening)
        had = had_already(Wait, entry_id, mark)
        if had is not None:
            return had
        if expected_day is not None and is_a_slip(expected_day):
            raise Invalid("Nothing is expected on such a day.", fields={"expected_day": RIGHT_DAY})
        because = _because(opening, inspection_id)
        if because and not owed_by_kind:
            owed_by_kind = who_owes(because["kind"], because["findings"])
        if not what_for.strip() or owed_by_kind not in KINDS:
            raise Invalid("A wait says what for, and who owes it.",
                          fields={"what_for": "what is waited for", "owed_by_kind": "one of: " + ", ".join(KINDS)})
        wait = Wait.objects.create(
            id=entry_id or new_id(), opening=opening, what_for=what_for.strip(), owed_by_kind=owed_by_kind,
            owed_by=_party(act, opening, owed_by_kind, owed_by_id), expected_day=expected_day,
            because=because, **when(act), fingerprint=mark)
        done.note(act, "wait raised", "waits", wait.pk, opening=opening, owed_by=owed_by_kind,
                  what_for=wait.what_for)
        refresh_at_end(act, done, opening)
    return wait


def clear_wait(act: Act, wait_id: uuid.UUID, *, how: str, standby_minutes: int = 0,
               version: int | None = None) -> Wait:
    """Over, and how. The same said twice is no change; said otherwise of one that was read open (`version`), somebody
    else was faster, and what they said stays."""
    with carry_out(act) as done:
        opening_id = Wait.objects.filter(pk=wait_id).values_list("opening", flat=True).first()
        if opening_id is None:
            raise NotThere("There is no such wait.")
        opening = locked(opening_id)
        require(act, "clear a wait", opening)
        wait = Wait.objects.get(pk=wait_id)
        if wait.cleared_at is not None:
            said = (wait.cleared_how, wait.standby_minutes)
            if version is not None and said != (how.strip(), standby_minutes):
                raise SomeoneWasFaster(f"This wait was cleared already: {wait.cleared_how}")
            return wait
        if not how.strip() or standby_minutes < 0:
            raise Invalid("Say how it was cleared.", fields={"how": "what came", "standby_minutes": "0 or more"})
        cleared = Wait.objects.filter(pk=wait.pk, version=wait.version if version is None else version).update(
            cleared_at=max(act.taken_at, wait.taken_at), cleared_by=act.user, cleared_how=how.strip(),
            standby_minutes=standby_minutes, version=F("version") + 1)
        if not cleared:
            raise SomeoneWasFaster("This wait was changed by somebody else. Read it again.")
        wait.refresh_from_db()
        done.note(act, "wait cleared", "waits", wait.pk, opening=opening, what_for=wait.what_for)
        refresh_at_end(act, done, opening)
    return wait


def _party(act: Act, opening: Opening, kind: str, party_id: int | None) -> Party | None:
    if party_id is not None:
        party = _parties(act, opening).filter(pk=party_id).first()
        if party is None:
            raise Invalid("There is no such party.", fields={"owed_by": "the id of a party of this job"})
        return party
    return {"builder": opening.job.builder, "owner": opening.job.owner}.get(kind)


def _parties(act: Act, opening: Opening) -> QuerySet[Party]:
    """Who may be named: by those who read all, anybody; by a crew, who has to do with the job already. Naming
    somebody shows how to reach them."""
    if reach(act.role, "read") is Reach.ALL:
        return Party.objects.all()
    job = opening.job
    return Party.objects.filter(Q(pk__in=[job.builder_id, job.owner_id])
                                | Q(pk__in=Delivery.objects.filter(job=job).values("supplier"))
                                | Q(pk__in=Wait.objects.filter(opening__job=job).values("owed_by")))


def _because(opening: Opening, inspection_id: uuid.UUID | None) -> dict[str, Any]:
    """The verdict that fails, as the gate judges it now, with the plan that puts the floor right."""
    if inspection_id is None:
        return {}
    inspection = Inspection.objects.select_related("opening").filter(pk=inspection_id, opening=opening).first()
    if inspection is None:
        raise Invalid("There is no such inspection of this opening.", fields={"inspection": "its id"})
    limits = limits_at(inspection.kind, opening, checks_for(opening), occasion=inspection.occasion)
    verdict = judged_again(inspection, limits).as_dict()
    if verdict["result"] == PASS:
        raise Invalid("These readings pass: nobody owes anything for them.",
                      fields={"inspection": "readings that fail, or fall short"})
    failing = [f for f in verdict["findings"] if f["within"] is False]
    return {"inspection": str(inspection.pk), "kind": inspection.kind, "taken_at": inspection.taken_at.isoformat(),
            "findings": failing, "correction": correction_of(inspection)}
