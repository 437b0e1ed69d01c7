"""What is sent when something is done: one small serializer an act. They read; the services decide."""

from __future__ import annotations

from rest_framework import serializers

from inspections.models import Callback, Confirmation, Joint, Photo, PunchItem, Settlement
from inspections.services.parts import MOST
from jobs.models import Custody, Event, Party
from jobs.rest.fields import Id, plain_object, plain_objects
from jobs.rest.resources import Entry
from jobs.stages import Stage

STAGES = [stage.value for stage in Stage]


def words(most: int, *, needed: bool = False, **how: object) -> serializers.CharField:
    return serializers.CharField(max_length=most, **({} if needed else {"required": False, "allow_blank": True}), **how)


class AdvanceIn(Entry):
    to = serializers.ChoiceField(STAGES, required=False, help_text="The next stage, when left out.")
    done_on_site = serializers.BooleanField(required=False, default=False,
                                            help_text="It is done: keep it, if need be as recorded and not advanced.")


class PassOverIn(Entry):
    reason = words(2000, needed=True)
    to = serializers.ChoiceField(STAGES, required=False)


class StepBackIn(Entry):
    to = serializers.ChoiceField(STAGES)
    reason = words(2000, needed=True)


class ReleaseIn(Entry):
    """*The pocket closes*: all that will be hidden has been seen."""

    done_on_site = serializers.BooleanField(required=False, default=False,
                                            help_text="It is closed: keep it, if need be as recorded and not advanced.")


class HoldPointIn(ReleaseIn):
    opening = Id(source="opening_id")


class AcceptIn(Entry):
    accepted_by = words(160, needed=True)
    how = words(160, needed=True, help_text="Signed on site, by letter.")
    subject_to = serializers.ListField(child=serializers.UUIDField(), required=False, max_length=500,
                                       help_text="Punch items that stay open.")
    done_on_site = serializers.BooleanField(required=False, default=False)


class PanelActIn(Entry):
    reason = words(2000, help_text="Needed when a panel is taken out or damaged.")
    done_on_site = serializers.BooleanField(required=False, default=False)


class InspectionIn(Entry):
    opening = Id(source="opening_id")
    kind = words(20, needed=True)
    given = serializers.JSONField(validators=[plain_object], help_text="The readings, as the calculation takes them.")
    occasion = words(20)
    place = words(20)
    panel = Id(source="panel_id", required=False, allow_null=True)
    device_verdict = serializers.JSONField(required=False, allow_null=True, validators=[plain_object])
    note = words(240)


class ConfirmationIn(Entry):
    opening = Id(source="opening_id")
    check_code = words(60, needed=True)
    answer = serializers.ChoiceField(Confirmation.ANSWERS)
    looked_at = words(400)
    stands_at = words(200)
    place = words(20)
    panel = Id(source="panel_id", required=False, allow_null=True)


class JointIn(Entry):
    opening = Id(source="opening_id")
    place = words(60, needed=True)
    side = words(20)
    rule = serializers.ChoiceField(Joint.RULES)
    product = words(120)
    conditions = serializers.UUIDField(source="conditions_id", required=False, allow_null=True)
    done = serializers.BooleanField(required=False, default=True)
    note = words(240)


class SetAsideIn(Entry):
    opening = Id(source="opening_id")
    what = words(160, needed=True)
    where_kept = words(160)


class PutBackIn(serializers.Serializer):
    note = words(160)


class PunchItemIn(Entry):
    opening = Id(source="opening_id")
    what = words(240, needed=True)
    owner = Id(source="owner_id")
    due_day = serializers.DateField()
    panel = Id(source="panel_id", required=False, allow_null=True)
    place = words(60)
    cause = serializers.ChoiceField(PunchItem.CAUSES, required=False, allow_blank=True)


class PunchItemChange(serializers.Serializer):
    what = words(240, needed=True)
    owner = Id(source="owner_id")
    due_day = serializers.DateField()
    place = words(60)
    cause = serializers.ChoiceField(PunchItem.CAUSES, required=False, allow_blank=True)


class HowIn(serializers.Serializer):
    how = words(240, needed=True, help_text="How it was put right.")


class WaitIn(Entry):
    opening = Id(source="opening_id")
    what_for = words(240, needed=True)
    owed_by_kind = serializers.ChoiceField(Party.KINDS, required=False, help_text=(
        "Left out with `inspection`: whoever must put it right."))
    owed_by = Id(source="owed_by_id", required=False, allow_null=True)
    expected_day = serializers.DateField(required=False, allow_null=True)
    inspection = serializers.UUIDField(source="inspection_id", required=False, allow_null=True,
                                       help_text="The failed verdict it comes from; its correction goes with it.")


class ClearWaitIn(serializers.Serializer):
    how = words(240, needed=True)
    standby_minutes = serializers.IntegerField(required=False, min_value=0, max_value=1_000_000, default=0)


class EventIn(Entry):
    opening = Id(source="opening_id")
    kind = serializers.ChoiceField(Event.KINDS)
    note = words(240)


class HoursIn(Entry):
    work_step = Id(source="work_step_id")
    day = serializers.DateField()
    minutes = serializers.IntegerField(min_value=1, max_value=100_000)
    note = words(240)


class CameIn(Entry):
    """What came of one part. One or more of the three counts."""

    whole = serializers.IntegerField(required=False, default=0, min_value=0, max_value=MOST)
    short = serializers.IntegerField(required=False, default=0, min_value=0, max_value=MOST,
                                     help_text="Should have come and did not.")
    damaged = serializers.IntegerField(required=False, default=0, min_value=0, max_value=MOST)
    note = words(240)
    more_came = serializers.BooleanField(required=False, default=False, help_text=(
        "More than is lacking is refused as a slip of the pen, until this says that it is so."))


class PartCameIn(CameIn):
    delivery = Id(source="delivery_id", required=False, allow_null=True,
                  help_text="Left out: the one that was to bring it.")


class CameOfPart(CameIn):
    part = Id(source="part_id")
    taken_at = None


class ReceiveIn(serializers.Serializer):
    condition = words(240, help_text="Complete, short, damaged: as it came.")
    parts = CameOfPart(many=True, required=False, max_length=500, help_text="What came of each part looked at.")


class CustodyIn(Entry):
    opening = Id(source="opening_id")
    holder = serializers.ChoiceField(Custody.HOLDERS)
    condition = words(400, needed=True)
    who = words(160)
    crew = Id(source="crew_id", required=False, allow_null=True)


class WallAgreementIn(Entry):
    opening = Id(source="opening_id")
    name = words(160, needed=True)
    trade = words(160, needed=True)
    photo = serializers.UUIDField(source="photo_id", required=False, allow_null=True,
                                  help_text="Of the signed paper: a photo of this opening.")
    seen = serializers.CharField(required=False, allow_blank=True, max_length=64,
                                 help_text="`figures_sha256` of the figures they were shown: when these are others by "
                                           "now, it is refused.")


class BuilderLinkIn(Entry):
    opening = Id(source="opening_id")
    until = serializers.DateField(required=False, allow_null=True,
                                  help_text="The last day it holds, on the job's clock; in two weeks when left out.")


class AddressOut(serializers.Serializer):
    address = serializers.URLField()


class CallbackIn(serializers.Serializer):
    opening = Id(source="opening_id")
    severity = serializers.ChoiceField(Callback.SEVERITIES)
    symptom = words(400, needed=True)
    caller = words(120)
    best_time = words(120)
    panel = Id(source="panel_id", required=False, allow_null=True)


class CloseCallbackIn(serializers.Serializer):
    finding = words(400, needed=True)
    whose = serializers.ChoiceField([w for w in Callback.WHOSE if w[0]])


class ReturnTripIn(serializers.Serializer):
    callback = Id(source="callback_id")
    day = serializers.DateField()
    crew = Id(source="crew_id", required=False, allow_null=True)
    arrival = words(60)
    bring = words(240)


class ChangeTripIn(serializers.Serializer):
    day = serializers.DateField()
    crew = Id(source="crew_id", allow_null=True)
    arrival = words(60)
    bring = words(240)


class FinishTripIn(serializers.Serializer):
    outcome = words(240, needed=True)


class AdjustmentIn(Entry):
    opening = Id(source="opening_id")
    what = words(240, needed=True)
    turns = serializers.JSONField(required=False, validators=[plain_objects])
    before = serializers.JSONField(required=False, validators=[plain_object])
    after = serializers.JSONField(required=False, validators=[plain_object])
    note = words(400)
    panel = Id(source="panel_id", required=False, allow_null=True)
    callback = Id(source="callback_id", required=False, allow_null=True)
    trip = Id(source="trip_id", required=False, allow_null=True)


class PhotoIn(Entry):
    opening = Id(source="opening_id")
    photo = serializers.FileField(help_text="JPEG, PNG, WebP, AVIF or HEIC.")
    about = serializers.ChoiceField(Photo.ABOUT, required=False, allow_blank=True)
    about_id = words(40)
    check_code = words(60)
    caption = words(240)


class SayIn(serializers.Serializer):
    reason = words(2000, help_text="Needed when it is refused.")


class SettleIn(serializers.Serializer):
    stage_change = serializers.UUIDField(source="stage_change_id", required=False, allow_null=True)
    panel_change = serializers.UUIDField(source="panel_change_id", required=False, allow_null=True)
    hold_point = serializers.UUIDField(source="hold_point_id", required=False, allow_null=True)
    how = serializers.ChoiceField(Settlement.HOW)
    note = words(2000, needed=True)
