"""What inspections, and all that closes an opening, look like in the API."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

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
    Photo,
    PunchItem,
    Reminder,
    ReturnTrip,
    SetAsidePart,
    Settlement,
    WallAgreement,
)
from jobs.models import StageChange
from jobs.rest.fields import Computed, RecordSerializer, Whole, Words, plain_object, short_words
from jobs.serializers import OFFICE, SITE, DeliverySerializer, StageChangeShortSerializer

ON_OPENING = [*SITE, "opening", "opening_tag", "job"]


class OnOpening(RecordSerializer):
    """What every record on an opening says of it."""

    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    by_name = Words(["by__name"])


class SettledStageChangeShort(StageChangeShortSerializer):
    countersignature = Words(["countersignature__state"])
    settled = Words(["settlement__how"])

    class Meta:
        model = StageChange
        fields = [*StageChangeShortSerializer.Meta.fields, "countersignature", "settled"]
        read_only_fields = fields


class SettledStageChange(SettledStageChangeShort):
    """With what it stood on: verdicts, limits and sources of that day."""

    class Meta(SettledStageChangeShort.Meta):
        fields = [*SettledStageChangeShort.Meta.fields, "gate"]
        read_only_fields = fields


class CheckSerializer(RecordSerializer):
    class Meta:
        model = Check
        fields = [*OFFICE, "code", "system", "job", "title", "stage", "judged_by", "findings", "places", "occasion",
                  "photo", "maker_may_forbid", "by_office", "limits", "source", "guards", "fresh_days", "asked",
                  "order"]
        extra_kwargs = {
            "limits": {"validators": [plain_object]},
            "findings": {"validators": [short_words]},
            "places": {"validators": [short_words]},
        }


class InspectionShortSerializer(OnOpening):
    class Meta:
        model = Inspection
        fields = [*ON_OPENING, "kind", "occasion", "panel", "place", "crew", "result", "quantities", "differs",
                  "clock_doubtful", "note"]
        read_only_fields = fields


class InspectionSerializer(InspectionShortSerializer):
    """With the readings as sent, the limits as they stood, and the verdict of that day."""

    class Meta(InspectionShortSerializer.Meta):
        fields = [*InspectionShortSerializer.Meta.fields, "given", "asked_of", "limits", "verdict", "device_verdict"]
        read_only_fields = fields


class ConfirmationSerializer(OnOpening):
    class Meta:
        model = Confirmation
        fields = [*ON_OPENING, "check_code", "panel", "place", "answer", "looked_at", "stands_at", "crew"]
        read_only_fields = fields


class JointSerializer(OnOpening):
    class Meta:
        model = Joint
        fields = [*ON_OPENING, "place", "side", "rule", "product", "conditions", "done", "note", "crew"]
        read_only_fields = fields


class SetAsidePartSerializer(OnOpening):
    class Meta:
        model = SetAsidePart
        fields = [*ON_OPENING, "version", "what", "where_kept", "back_at", "back_by", "back_note"]
        read_only_fields = fields


class PunchItemSerializer(OnOpening):
    owner_name = Words(["owner__name"])

    class Meta:
        model = PunchItem
        fields = [*ON_OPENING, "version", "number", "what", "panel", "place", "cause", "owner", "owner_name", "due_day",
                  "closed_at", "closed_by", "closed_how"]
        read_only_fields = fields


@extend_schema_field({"type": "boolean"})
class Truth(Computed):
    """Yes or no, from another table."""


class AcceptanceSerializer(OnOpening):
    advanced = Truth(["change__advanced"], help_text="False while the gate says no and nobody has settled it.")

    class Meta:
        model = Acceptance
        fields = [*ON_OPENING, "change", "advanced", "accepted_by", "how", "subject_to", "warranty_from"]
        read_only_fields = fields


class HoldPointSerializer(OnOpening):
    """Released, on what; or closed on site all the same, and kept with the reasons."""

    settled = Words(["settlement__how"])

    class Meta:
        model = HoldPoint
        fields = [*ON_OPENING, "name", "advanced", "reasons", "settled", "gate", "undone_at", "undone_by"]
        read_only_fields = fields


class CountersignatureSerializer(RecordSerializer):
    opening = Whole(["change__opening_id"])
    opening_tag = Words(["change__opening__tag"])
    passed_over_by = Words(["change__by__name"])
    passed_over_because = Words(["change__reason"])
    to_stage = Words(["change__to_stage"])

    class Meta:
        model = Countersignature
        fields = ["id", "version", "change", "opening", "opening_tag", "to_stage", "passed_over_by",
                  "passed_over_because", "state", "owed_since", "by", "at", "reason", "put_back"]
        read_only_fields = fields


class SettlementSerializer(RecordSerializer):
    opening = Whole(["stage_change__opening_id", "panel_change__panel__unit__opening_id", "hold_point__opening_id"],
                    lambda *openings: next(filter(None, openings), None))
    by_name = Words(["by__name"])

    class Meta:
        model = Settlement
        fields = ["id", "stage_change", "panel_change", "hold_point", "opening", "how", "note", "by", "by_name", "at"]
        read_only_fields = fields


class CallbackSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])

    class Meta:
        model = Callback
        fields = [*OFFICE, "number", "opening", "opening_tag", "job", "panel", "called_at", "taken_by", "caller",
                  "best_time", "severity", "symptom", "closed_at", "closed_by", "finding", "whose"]
        read_only_fields = fields


class ReturnTripSerializer(RecordSerializer):
    callback_number = Words(["callback__number"])
    opening = Whole(["callback__opening_id"])

    class Meta:
        model = ReturnTrip
        fields = [*OFFICE, "callback", "callback_number", "opening", "crew", "day", "arrival", "bring", "done_at",
                  "outcome"]
        read_only_fields = fields


class AdjustmentSerializer(OnOpening):
    class Meta:
        model = Adjustment
        fields = [*ON_OPENING, "callback", "trip", "panel", "what", "turns", "before", "after", "note"]
        read_only_fields = fields


class PhotoSerializer(OnOpening):
    class Meta:
        model = Photo
        fields = [*ON_OPENING, "about", "about_id", "check_code", "caption", "sha256", "width", "height", "size",
                  "thumbnail_at"]
        read_only_fields = fields


class BuilderLinkSerializer(OnOpening):
    class Meta:
        model = BuilderLink
        fields = [*ON_OPENING, "expires_at", "revoked_at", "revoked_by", "last_opened_at"]
        read_only_fields = fields


class CorrectionReportSerializer(RecordSerializer):
    opening = Whole(["link__opening_id"])
    opening_tag = Words(["link__opening__tag"])
    job = Whole(["link__opening__job_id"])
    seen_by_name = Words(["seen_by__name"])

    class Meta:
        model = CorrectionReport
        fields = ["id", "link", "opening", "opening_tag", "job", "note", "photo", "at", "seen_by", "seen_by_name",
                  "seen_at"]
        read_only_fields = fields


class ReminderShort(RecordSerializer):
    opening = Whole(["item__opening_id"])
    item_number = Whole(["item__number"])
    what = Words(["item__what"])
    day = serializers.DateField(source="message.day", read_only=True)
    state = serializers.CharField(source="message.state", read_only=True)
    sent_at = serializers.DateTimeField(source="message.sent_at", read_only=True, allow_null=True)
    message_id = serializers.CharField(source="message.message_id", read_only=True)

    class Meta:
        model = Reminder
        fields = ["id", "item", "item_number", "what", "opening", "user", "number", "to_office", "day", "state",
                  "sent_at", "message_id"]
        read_only_fields = fields


class ReminderSerializer(ReminderShort):
    """With the message as it went out, whether by mail or into the folder."""

    subject = serializers.CharField(source="message.subject", read_only=True)
    text = serializers.CharField(source="message.text", read_only=True)

    class Meta(ReminderShort.Meta):
        fields = [*ReminderShort.Meta.fields, "subject", "text"]
        read_only_fields = fields


@extend_schema_field({"type": "array", "items": {"type": "object"}})
class Stopped(Computed):
    """Openings that lack what a delivery brings: each part, how many, and the work steps that cannot begin for it."""


@extend_schema_field({"type": "boolean"})
class Flag(Computed):
    """Yes or no, found out beside the row."""


class StoppingDeliverySerializer(DeliverySerializer):
    stops = Stopped(["pk"], lambda _: [], help_text="Openings that lack what it brings, and the work that waits.")

    class Meta(DeliverySerializer.Meta):
        fields = [*DeliverySerializer.Meta.fields, "stops"]


class WallAgreementSerializer(OnOpening):
    """Who of the builder's side saw how deep anything may be fixed into the wall that hides the panels."""

    counts = Flag(["pk"], lambda _: False, help_text="The figures are still those that were seen.")

    class Meta:
        model = WallAgreement
        fields = [*ON_OPENING, "inspection", "name", "trade", "figures", "figures_sha256", "photo", "counts"]
        read_only_fields = fields


class GateSerializer(serializers.Serializer):
    """What stands between an opening and a stage: every check with its outcome, and what else blocks."""

    from_stage = serializers.CharField()
    to_stage = serializers.CharField()
    passes = serializers.BooleanField()
    can_be_passed_over = serializers.BooleanField()
    blocks = serializers.ListField(child=serializers.DictField())
    checks = serializers.ListField(child=serializers.DictField())
