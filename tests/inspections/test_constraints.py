"""What no reading, item or signature can be, whoever writes it."""

import datetime as dt
import uuid

import pytest

from inspections.models import (
    Acceptance,
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
    Reading,
    Reminder,
    SetAsidePart,
    Settlement,
    WallAgreement,
)
from jobs.models import StageChange
from tests.constraints import Breaks, again, names_of, put, refuses
from tests.factories import NOW, make_job, make_opening, make_system, make_unit, make_user
from units.models import PanelChange

pytestmark = [pytest.mark.django_db, pytest.mark.database]
BEFORE = NOW - dt.timedelta(seconds=1)


def site(**values):
    return {"opening": make_opening(), "by": make_user(), "taken_at": NOW, **values}


def a_callback():
    return Callback.objects.create(number="CB-1", opening=make_opening(), called_at=NOW, taken_by=make_user(),
                                   severity="water", symptom="Water on the floor")


def a_check(**scope):
    return Check.objects.create(code="of-this-test", **scope)


def a_part():
    return SetAsidePart.objects.create(what="Track cover", **site())


def a_link():
    return BuilderLink.objects.create(expires_at=NOW + dt.timedelta(days=1), **site())


def a_correction(**over):
    return CorrectionReport.objects.create(**{"link": a_link(), "note": "Ground it.", "at": NOW, **over})


def a_photo():
    return Photo.objects.create(sha256="0" * 64, width=1, height=1, size=1, **site())


def an_item():
    return PunchItem.objects.create(number=1, what="Scratch", owner=make_user(), due_day=NOW.date(), **site())


def a_message(**values):
    return Message.objects.create(**{"user": make_user(), "day": NOW.date(), "not_before": NOW, "state": "due",
                                     "message_id": f"<{uuid.uuid4()}@marrow.example>", **values})


def a_wall_agreement():
    on = site()
    read = Inspection.objects.create(kind="fastener", given={}, result="pass", verdict={}, **on)
    return WallAgreement.objects.create(inspection=read, name="Pat Lund", trade="drywall", figures={},
                                        figures_sha256="0" * 64, **on)


def a_reminder():
    item = an_item()
    values = {"item": item, "user": item.owner, "owner": item.owner, "due_day": item.due_day, "number": 1}
    known = {field.name for field in Reminder._meta.fields}
    return Reminder.objects.create(message=a_message(user=item.owner),
                                   **{name: value for name, value in values.items() if name in known})


def a_reading():
    inspection = Inspection.objects.create(kind="floor-profile", given={}, result="pass", verdict={}, **site())
    return Reading.objects.create(inspection=inspection, quantity="height", length=-1)


def a_confirmation():
    return Confirmation.objects.create(check_code="header-in", answer="yes", **site())


def a_joint():
    return Joint.objects.create(place="sill", rule="seal", **site())


def a_hold_point():
    return HoldPoint.objects.create(**site())


def a_change():
    return StageChange.objects.create(from_stage="to be measured", to_stage="opening verified", advanced=True, **site())


def a_panel_change():
    panel = make_unit(make_opening()).panels.first()
    return PanelChange.objects.create(panel=panel, act="hang", from_state="received", to_state="hung", advanced=False,
                                      by=make_user(), taken_at=NOW)


def an_acceptance():
    change = a_change()
    return Acceptance.objects.create(opening=change.opening, change=change, accepted_by="The owner", how="signed",
                                     warranty_from=NOW.date(), by=change.by, taken_at=NOW)


def a_countersignature():
    return Countersignature.objects.create(change=a_change(), owed_since=NOW)


def a_settlement(**of):
    return Settlement.objects.create(how="stands", note="Seen on site", by=make_user(), at=NOW,
                                     **(of or {"stage_change": a_change()}))


BREAKS: Breaks = {
    "wallagreement_says_who": lambda: put(a_wall_agreement(), trade=""),
    "wallagreement_on_figures": lambda: put(a_wall_agreement(), figures_sha256=""),
    "builderlink_ends_after_its_start": lambda: put(a_link(), expires_at=NOW),
    "builderlink_has_its_salt": lambda: put(a_link(), salt=""),
    "builderlink_revoked_by_somebody": lambda: put(a_link(), revoked_at=NOW),
    "correction_says_what_was_done": lambda: put(a_correction(), note=""),
    "correction_seen_by_somebody": lambda: put(a_correction(), seen_at=NOW),
    "inspections_correctionreport.photo_id": lambda: again(a_correction(photo=a_photo())),
    "inspections_callback.number": lambda: again(a_callback()),
    "callback_closed_with_finding": lambda: put(a_callback(), closed_at=NOW, closed_by=make_user()),
    "check_shipped_once": lambda: again(a_check()),
    "check_once_a_system": lambda: again(a_check(system=make_system())),
    "check_once_a_job": lambda: again(a_check(job=make_job())),
    "check_system_or_job": lambda: put(a_check(job=make_job()), system=make_system()),
    "check_stage_exists": lambda: put(a_check(), stage="nearly done"),
    "setaside_back_by_somebody": lambda: put(a_part(), back_at=NOW),
    "setaside_back_after": lambda: put(a_part(), back_at=BEFORE, back_by=make_user()),
    "punchitem_number_unique": lambda: again(an_item()),
    "punchitem_closed_by_somebody": lambda: put(an_item(), closed_at=NOW),
    "punchitem_closed_after": lambda: put(an_item(), closed_at=BEFORE, closed_by=make_user()),
    "inspections_acceptance.change_id": lambda: again(an_acceptance()),
    "message_one_a_day": lambda: again(a_message(), state="dropped", message_id="<other@marrow.example>"),
    "message_one_open": lambda: again(a_message(), day=dt.date(2026, 1, 1), message_id="<other@marrow.example>"),
    "message_id_unique": lambda: again(a_message(), user=make_user()),
    "message_state_exists": lambda: put(a_message(), state="lost"),
    "message_sent_when": lambda: put(a_message(), state="sent"),
    "message_claimed_by": lambda: put(a_message(), state="claimed"),
    "reminder_once": lambda: again(a_reminder(), message=a_message()),
    "reminder_once_a_message": lambda: again(a_reminder(), number=2),
    "reading_length_or_number": lambda: put(a_reading(), number=1.5),
    "confirmation_says_where": lambda: put(a_confirmation(), answer="maker-forbids"),
    "joint_rule": lambda: put(a_joint(), rule="paint"),
    "holdpoint_released_once": lambda: again(a_hold_point()),
    "inspections_countersignature.change_id": lambda: again(a_countersignature()),
    "countersignature_by_somebody": lambda: put(a_countersignature(), state="given"),
    "countersignature_says_why": lambda: put(a_countersignature(), state="refused", by=make_user(), at=NOW),
    "inspections_settlement.stage_change_id": lambda: again(a_settlement()),
    "inspections_settlement.panel_change_id": lambda: again(a_settlement(panel_change=a_panel_change())),
    "inspections_settlement.hold_point_id": lambda: again(a_settlement(hold_point=a_hold_point())),
    "settlement_of_one": lambda: put(a_settlement(), panel_change=a_panel_change()),
    "settlement_says_how": lambda: put(a_settlement(), note=""),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_database_refuses(name):
    refuses(name, BREAKS[name])


def test_every_rule_of_these_tables_is_broken_above():
    assert set(BREAKS) == names_of("inspections")


def test_a_closed_punch_item_has_a_closer_and_a_time():
    refuses("punchitem_closed_by_somebody", lambda: put(an_item(), closed_by=make_user()))
    put(an_item(), closed_at=NOW, closed_by=make_user())


def test_a_reading_keeps_its_sign_and_has_one_value():
    assert a_reading().length == -1
    refuses("reading_length_or_number", lambda: put(a_reading(), length=None))


def test_a_hold_point_that_was_undone_may_be_released_again():
    first = a_hold_point()
    put(first, undone_at=NOW)
    again(first, undone_at=None)
    assert HoldPoint.objects.count() == 2


def test_the_same_check_may_stand_once_for_each_system_and_each_job():
    for scope in ({}, {"system": make_system()}, {"system": make_system()}, {"job": make_job()}, {"job": make_job()}):
        a_check(**scope)
    assert Check.objects.filter(code="of-this-test").count() == 5
