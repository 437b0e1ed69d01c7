"""Two openings of two jobs, *own* and *other*, with a record of every kind on each; one person in every role.

The lead and the installer are on the crew of *own*; for customer service *own* is the one that was called back.
"""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

from django.utils import timezone
from rest_framework.test import APIClient

from inspections.models import (
    Acceptance,
    Adjustment,
    BuilderLink,
    Callback,
    Check,
    Confirmation,
    CorrectionReport,
    Countersignature,
    HoldPoint,
    Inspection,
    Joint,
    Message,
    Photo,
    PunchItem,
    Reminder,
    ReturnTrip,
    SetAsidePart,
    Settlement,
    WallAgreement,
)
from jobs.acts import Act
from jobs.models import (
    AccessCode,
    Change,
    CrewMember,
    Custody,
    DayOff,
    Delivery,
    Equipment,
    Event,
    Opening,
    OutOfUse,
    StageChange,
    TimeReport,
    User,
    Wait,
)
from jobs.roles import Role
from jobs.services.tokens import make_token
from tests.factories import give_work, make_crew, make_job, make_opening, make_party, make_unit, make_user
from tests.site import floor
from units.models import PanelChange, Part, PartArrival

SIDES = ("own", "other")
CODE = "4711#"


class World:
    def __init__(self) -> None:
        self.now = timezone.now()
        self.people: dict[str, User] = {role.value: make_user(role.value) for role in Role}
        self.ids: dict[str, dict[str, Any]] = {side: {} for side in SIDES}
        self.openings: dict[str, Opening] = {}
        self.equipment = Equipment.objects.create(name=f"Cart {Equipment.objects.count() + 1}", kind="panel cart")
        for side in SIDES:
            self._fill(side, self.ids[side])
        Opening.objects.filter(pk=self.openings["own"].pk).update(called_back=True)

    def client(self, role: str | None) -> APIClient:
        client = APIClient()
        if role is not None:
            client.force_authenticate(self.people[role])
        return client

    def id(self, side: str, name: str) -> Any:
        return self.ids[side][name]

    def _fill(self, side: str, ids: dict[str, Any]) -> None:
        mine = side == "own"
        self._office_records(side, ids, mine)
        self._history(ids)
        self._site_records(ids, mine)
        self._afterwards(ids)

    def _office_records(self, side: str, ids: dict[str, Any], mine: bool) -> None:
        builder = make_party("builder", name=f"Builder of {side}", phone="555-0101", email="b@builder.example")
        job = make_job(builder=builder, contract_cents=123_456_00, access_notes="by the side gate",
                       address="1 Invented Way", latitude=34.0, longitude=-118.0)
        self.opening = self.openings[side] = make_opening(job=job, tag=f"{side}-1")
        unit = make_unit(self.opening)
        members = [self.people["lead"], self.people["installer"]] if mine else [make_user("lead")]
        self.member = members[0]
        crew = make_crew(*members)
        today, day = self.now.date(), dt.timedelta(days=1)
        work = give_work(self.opening, crew, start_day=today - day, end_day=today + day)
        delivery = Delivery.objects.create(job=job, what="sill and head", supplier=builder)
        delivery.openings.add(self.opening)
        token, _ = make_token(Act.of(members[0], self.now), name="telephone")
        self.panel = unit.panels.first()
        ids.update({
            "parties": builder.pk, "people": members[0].pk, "tokens": token.public_id, "jobs": job.pk,
            "openings": self.opening.pk, "crews": crew.pk, "assignments": work.pk, "work-steps": work.work_step_id,
            "crew-members": CrewMember.objects.filter(crew=crew).first().pk,
            "days-off": DayOff.objects.create(crew=crew, from_day=today, to_day=today, reason="a private reason").pk,
            "out-of-use": OutOfUse.objects.create(equipment=self.equipment, from_day=today, to_day=today).pk,
            "equipment": self.equipment.pk, "deliveries": delivery.pk, "door-systems": unit.system_id,
            "units": unit.pk, "panels": self.panel.pk,
            "parts": Part.objects.create(unit=unit, kind="sill", name="Sill", delivery=delivery).pk,
            "checks": Check.objects.create(code="size", job=job, limits={}).pk,
            "access-codes": AccessCode.objects.create(job=job, what="gate", code=CODE).pk,
        })

    def _made(self) -> dict[str, Any]:
        return {"by": self.member, "taken_at": self.now}

    def _wall_read(self) -> Inspection:
        finding = {"quantity": "longest_fastener", "value_mm": "44.45", "limit_mm": "47.975"}
        return Inspection.objects.create(opening=self.opening, kind="fastener", result="pass", given={
            "unit": "in", "board": "5/8", "stud": "1 1/2", "longest": "1 3/4"}, verdict={"findings": [finding]},
            **self._made())

    def _history(self, ids: dict[str, Any]) -> None:
        step = {"opening": self.opening, "from_stage": "to be measured", "to_stage": "opening verified"}
        passed = StageChange.objects.create(**step, kind="pass-over", reason="the builder asked", advanced=True,
                                            **self._made())
        kept = StageChange.objects.create(**step, advanced=False, reasons=[{"reason": "waiting"}], **self._made())
        settled = StageChange.objects.create(**step, advanced=False, **self._made())
        change = Change.objects.create(position=10**6 + Change.objects.count(), at=self.now, what="opening advanced",
                                       record="stage-changes", record_id=str(passed.pk), opening=self.opening,
                                       job=self.opening.job, by=self.member)
        ids.update({
            "stage-changes": passed.pk, "kept": kept.pk, "changes": change.pk,
            "panel-changes": PanelChange.objects.create(panel=self.panel, act="receive", from_state="expected",
                                                        to_state="received", advanced=True, **self._made()).pk,
            "countersignatures": Countersignature.objects.create(change=passed, owed_since=self.now).pk,
            "settlements": Settlement.objects.create(stage_change=settled, how="stands", note="as it is",
                                                     by=self.member, at=self.now).pk,
            "hold-points": HoldPoint.objects.create(opening=self.opening, **self._made()).pk,
            "acceptances": Acceptance.objects.create(opening=self.opening, change=passed, accepted_by="The owner",
                                                     how="on site", warranty_from=self.now.date(), **self._made()).pk,
        })

    def _site_records(self, ids: dict[str, Any], mine: bool) -> None:
        on = {"opening": self.opening, **self._made()}
        owner = self.people["installer"] if mine else self.member
        item = PunchItem.objects.create(number=1, what="scratch", owner=owner, due_day=self.now.date(), **on)
        link = BuilderLink.objects.create(expires_at=self.now + dt.timedelta(days=9), **on)
        message = Message.objects.create(user=self.member, day=self.now.date(), not_before=self.now,
                                         message_id=f"<{uuid.uuid4()}@sillbook.example>")
        ids.update({
            "waits": Wait.objects.create(what_for="the floor", owed_by_kind="builder", **on).pk,
            "inspections": Inspection.objects.create(kind="floor-profile", given=floor(), result="pass", verdict={},
                                                      **on).pk,
            "confirmations": Confirmation.objects.create(check_code="header-in", answer="yes", **on).pk,
            "joints": Joint.objects.create(place="sill", rule="seal", **on).pk,
            "set-aside-parts": SetAsidePart.objects.create(what="track cover", **on).pk,
            "punch-items": item.pk,
            "reminders": Reminder.objects.create(item=item, user=self.member, owner=owner, due_day=item.due_day,
                                                 number=1, message=message).pk,
            "photos": Photo.objects.create(sha256="0" * 64, width=1, height=1, size=1, **on).pk,
            "part-arrivals": PartArrival.objects.create(part_id=ids["parts"], short=1, **self._made()).pk,
            "builder-links": link.pk,
            "correction-reports": CorrectionReport.objects.create(link=link, note="Ground it.", at=self.now).pk,
            "wall-agreements": WallAgreement.objects.create(
                inspection=self._wall_read(), name="Pat Lund", trade="drywall", figures={}, figures_sha256="0" * 64,
                **on).pk,
            "custody": Custody.objects.create(holder="builder", condition="Swept.", **on).pk,
            "events": Event.objects.create(kind="re-pour", **on).pk,
            "time-reports": TimeReport.objects.create(work_step_id=ids["work-steps"], day=self.now.date(), minutes=60,
                                                      **self._made()).pk,
        })

    def _afterwards(self, ids: dict[str, Any]) -> None:
        callback = Callback.objects.create(number=f"C-{self.opening.pk}", opening=self.opening, called_at=self.now,
                                           taken_by=self.people["customer-service"], caller="The owner",
                                           severity="drags", symptom="it drags at noon")
        ids.update({
            "callbacks": callback.pk,
            "return-trips": ReturnTrip.objects.create(callback=callback, day=self.now.date(), arrival="at nine").pk,
            "adjustments": Adjustment.objects.create(opening=self.opening, what="rollers", **self._made()).pk,
        })
