"""What the records of this floor look like in the API."""

from __future__ import annotations

from typing import Any

from django.core.validators import RegexValidator
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from jobs.calc import reading
from jobs.calc.amounts import MOST_CAPACITY, MOST_WIND
from jobs.calc.legs import read_legs
from jobs.calc.verdict import BadInput
from jobs.models import (
    AccessCode,
    AccessToken,
    Assignment,
    Change,
    Crew,
    CrewMember,
    Custody,
    DayOff,
    Delivery,
    Equipment,
    Event,
    Job,
    OfficeSettings,
    Opening,
    OutOfUse,
    Party,
    StageChange,
    TimeReport,
    User,
    Wait,
    WorkStep,
)
from jobs.models.people import ROLE_CHOICES
from jobs.rest.fields import (
    Computed,
    FiniteFloat,
    HolidayRegion,
    RecordSerializer,
    Whole,
    Words,
    more_than_nothing,
    short_words,
)
from jobs.services.equipment import rated
from jobs.services.tokens import LONGEST

THICKEST_SHIM = 50_000_000  # nm

OFFICE = ["id", "version", "created_at"]
SITE = ["id", "by", "by_name", "taken_at", "device_time", "server_time"]
RATING = frozenset({"name", "kind", "rated_grams", "rating_includes", "rating_source", "reductions", "circuits",
                    "left_with_one_circuit_lost", "people_to_steer", "stop_wind_m_per_s"})
SKILLS = {"validators": [short_words]}


class PartySerializer(RecordSerializer):
    class Meta:
        model = Party
        fields = [*OFFICE, "kind", "name", "contact", "phone", "email", "address", "may_be_told"]


@extend_schema_field({"type": "object", "additionalProperties": {"type": "integer"}})
class Counts(Computed):
    """How many, by name."""


def legs_of_a_way(value: Any) -> None:
    """Said to whoever types it, leg by leg."""
    try:
        read_legs(value, "mm", "way_in")
    except BadInput as why:
        raise serializers.ValidationError(f"{why.field}: {why.right}") from why


class JobSerializer(RecordSerializer):
    builder_name = Words(["builder__name"])
    owner_name = Words(["owner__name"])
    openings_by_stage = Counts(["pk"], lambda _: {})
    latitude = FiniteFloat(required=False, allow_null=True, min_value=-90, max_value=90)
    longitude = FiniteFloat(required=False, allow_null=True, min_value=-180, max_value=180)
    holiday_region = HolidayRegion(required=False)

    class Meta:
        model = Job
        fields = [*OFFICE, "number", "title", "builder", "builder_name", "owner", "owner_name", "address", "latitude",
                  "longitude", "time_zone", "holiday_region", "promised_date", "contract_cents", "access_notes",
                  "way_in", "openings_by_stage"]
        extra_kwargs = {"way_in": {"validators": [legs_of_a_way], "help_text": (
            "Leg by leg from the street to the opening: `[{name, kind, sizes}]`, as `route` reads them; a bare "
            "number is millimetres, text may be in any unit.")}}


class AccessCodeSerializer(RecordSerializer):
    class Meta:
        model = AccessCode
        fields = ["id", "version", "what", "code"]


class AccessCodeNameSerializer(RecordSerializer):
    """That there is one, and what it opens; the code itself is read one at a time."""

    class Meta:
        model = AccessCode
        fields = ["id", "version", "what"]


class OpeningSerializer(RecordSerializer):
    job_number = Words(["job__number"])
    job_title = Words(["job__title"])

    class Meta:
        model = Opening
        fields = [*OFFICE, "job", "job_number", "job_title", "tag", "location", "rough_width_mm", "rough_height_mm",
                  "substrate", "pocket_side", "recess_mm", "benchmark", "pocket_depth_needed_mm",
                  "pocket_thickness_needed_mm", "deflection_allowed_mm", "stage", "stage_since", "passed_over",
                  "called_back"]


class StageChangeShortSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    crew_name = Words(["crew__name"])
    by_name = Words(["by__name"])

    class Meta:
        model = StageChange
        fields = [*SITE, "opening", "opening_tag", "job", "kind", "from_stage", "to_stage", "advanced", "crew",
                  "crew_name", "reason", "reasons"]
        read_only_fields = fields


class StageChangeSerializer(StageChangeShortSerializer):
    """With what it stood on: verdicts, limits and sources of that day."""

    class Meta(StageChangeShortSerializer.Meta):
        fields = [*StageChangeShortSerializer.Meta.fields, "gate"]
        read_only_fields = fields


class WorkingDays(serializers.CharField):
    """Monday to Sunday, 1 for a day that is worked: "1111100"."""

    def __init__(self, **how: Any) -> None:
        right = "Seven letters, Monday to Sunday: 1 for a day they work, 0 for one they do not."
        super().__init__(**{"required": False, "validators": [RegexValidator(r"\A[01]{7}\Z", right)], **how})


def thicknesses(value: Any) -> None:
    """Of shims: `1/16"`, `1.5 mm`; text without a unit is millimetres."""
    short_words(value)
    for n, sent in enumerate(value):
        try:
            if not 0 < reading.length(sent, f"[{n}]", unit="mm") <= THICKEST_SHIM:
                raise BadInput(f"[{n}]", sent, "more than nothing, at most 50 mm")
        except BadInput as why:
            raise serializers.ValidationError(f"{why.field}: {why.right}") from why


class OfficeSettingsSerializer(RecordSerializer):
    working_days = WorkingDays(help_text="Of those who are on no crew.")
    reminder_interval_days = serializers.IntegerField(
        required=False, min_value=1, max_value=60, help_text="Days until an open punch item is recalled.")
    holiday_region = HolidayRegion(required=False, help_text="Holds where a crew names none.")

    class Meta:
        model = OfficeSettings
        fields = ["version", "company", "time_zone", "holiday_region", "working_days", "reminder_interval_days",
                  "reply_address", "site_address", "shims"]
        extra_kwargs = {"shims": {"validators": [thicknesses]}}


class CrewSerializer(RecordSerializer):
    working_days = WorkingDays()
    holiday_region = HolidayRegion(required=False)
    latitude = FiniteFloat(required=False, allow_null=True, min_value=-90, max_value=90)
    longitude = FiniteFloat(required=False, allow_null=True, min_value=-180, max_value=180)

    class Meta:
        model = Crew
        fields = [*OFFICE, "name", "base", "latitude", "longitude", "time_zone", "holiday_region", "working_days",
                  "minutes_a_day", "active"]


class CrewMemberSerializer(RecordSerializer):
    crew_name = Words(["crew__name"])
    user_name = Words(["user__name"])

    class Meta:
        model = CrewMember
        fields = [*OFFICE, "crew", "crew_name", "user", "user_name", "leads", "skills", "from_day", "to_day"]
        extra_kwargs = {"skills": SKILLS}


class DayOffSerializer(RecordSerializer):
    crew_name = Words(["crew__name"])
    user_name = Words(["user__name"])

    class Meta:
        model = DayOff
        fields = [*OFFICE, "crew", "crew_name", "user", "user_name", "from_day", "to_day", "reason"]


class OutOfUseSerializer(RecordSerializer):
    equipment_name = Words(["equipment__name"])

    class Meta:
        model = OutOfUse
        fields = [*OFFICE, "equipment", "equipment_name", "from_day", "to_day", "reason"]


INCLUDES = ("What its rating already allows for, as its maker's manual says: such as design factor, angle, one circuit "
            "lost; an empty list where it says nothing, \"unknown\" until somebody has asked.")
AS_READ = {"capacity": "rated_grams", "includes": "rating_includes", "stop_wind": "stop_wind_m_per_s"}


class EquipmentSerializer(RecordSerializer):
    rated_grams = serializers.IntegerField(required=False, allow_null=True, min_value=1,
                                           max_value=MOST_CAPACITY * 1000)
    own_grams = serializers.IntegerField(required=False, allow_null=True, min_value=1, max_value=MOST_CAPACITY * 1000)
    rating_includes = serializers.JSONField(required=False, allow_null=True, help_text=INCLUDES)
    left_with_one_circuit_lost = FiniteFloat(required=False, allow_null=True, min_value=0, max_value=1,
                                             help_text="The part that still holds; left out: by its circuits.")
    stop_wind_m_per_s = FiniteFloat(required=False, allow_null=True, min_value=0, max_value=MOST_WIND)

    class Meta:
        model = Equipment
        fields = [*OFFICE, "name", "kind", "rated_grams", "rating_includes", "rating_source", "reductions", "circuits",
                  "left_with_one_circuit_lost", "people_to_steer", "stop_wind_m_per_s", "own_grams", "carries_at_mm",
                  "width_loaded_mm", "inspected_until", "notes"]
        extra_kwargs = {
            "reductions": {"help_text": "What its manual takes off besides: `[{why, factor, source}]`; `factor` is the "
                                        "part that stays."},
            "carries_at_mm": {"help_text": "How high above the ground a panel stands on it."},
            "width_loaded_mm": {"help_text": "Of a cart and the panel on it.", "validators": [more_than_nothing]},
        }

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """As the sum about lifting will read it; a rating is entered together with what it already allows for."""
        stands = self.instance or Equipment()
        would_be = Equipment(**{name: attrs.get(name, getattr(stands, name)) for name in RATING})
        if would_be.rated_grams is not None and would_be.rating_includes is None and attrs.keys() & RATING:
            raise serializers.ValidationError({"rating_includes": (
                "A rating may already include its design factor. Write what this one includes, as its manual says: "
                '["design factor", "angle"]; [] where it says that nothing is; "unknown" until you have asked.')})
        try:
            rated(would_be)
        except BadInput as why:
            name, _, rest = why.field.partition("[")
            at = f"[{rest}: " if rest else ""
            raise serializers.ValidationError({AS_READ.get(name, name): f"{at}{why.right}"}) from why
        return attrs


class WorkStepSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])

    class Meta:
        model = WorkStep
        fields = [*OFFICE, "opening", "opening_tag", "job", "stage", "planned_minutes", "skills", "hands",
                  "lifting_grams", "wait_after_minutes", "earliest_day", "ready", "not_ready"]
        extra_kwargs = {"skills": SKILLS}
        read_only_fields = ["ready", "not_ready"]


@extend_schema_field({"type": ["array", "null"], "items": {"type": "object"}})
class Objections(Computed):
    """What stands against an assignment, as codes with their values; null when it is over."""


class AssignmentSerializer(RecordSerializer):
    """`against` is what stood against it when it was last saved."""

    against_now = Objections(["pk"], lambda _: None, help_text="What stands against it now.")
    new_since = Objections(["pk"], lambda _: None, help_text="Of these, what was not so when it was last saved.")
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    crew_name = Words(["crew__name"])
    stage = Words(["work_step__stage"])

    class Meta:
        model = Assignment
        fields = [*OFFICE, "opening", "opening_tag", "job", "work_step", "stage", "crew", "crew_name", "equipment",
                  "start_day", "end_day", "planned_minutes", "firmness", "against", "against_now",
                  "new_since", "told_at", "told_by", "told_whom"]
        read_only_fields = ["opening", "against", "told_at", "told_by", "told_whom"]


class WaitSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    owed_by_name = Words(["owed_by__name"])
    by_name = Words(["by__name"])

    class Meta:
        model = Wait
        fields = [*SITE, "version", "opening", "opening_tag", "job", "what_for", "owed_by_kind", "owed_by",
                  "owed_by_name", "expected_day", "because", "cleared_at", "cleared_by", "cleared_how",
                  "standby_minutes"]
        read_only_fields = fields


class DeliverySerializer(RecordSerializer):
    supplier_name = Words(["supplier__name"])

    class Meta:
        model = Delivery
        fields = [*OFFICE, "job", "openings", "supplier", "supplier_name", "what", "expected_day", "received_at",
                  "received_by", "condition"]
        read_only_fields = ["received_at", "received_by", "condition"]


class EventSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    by_name = Words(["by__name"])

    class Meta:
        model = Event
        fields = [*SITE, "opening", "opening_tag", "kind", "note"]
        read_only_fields = fields


class CustodySerializer(RecordSerializer):
    """Who has an opening from `taken_at` on, and in what condition it was handed over."""

    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    crew_name = Words(["crew__name"])
    by_name = Words(["by__name"])

    class Meta:
        model = Custody
        fields = [*SITE, "opening", "opening_tag", "job", "holder", "crew", "crew_name", "who", "condition"]
        read_only_fields = fields


class TimeReportSerializer(RecordSerializer):
    opening = Whole(["work_step__opening_id"])
    stage = Words(["work_step__stage"])
    by_name = Words(["by__name"])

    class Meta:
        model = TimeReport
        fields = [*SITE, "work_step", "opening", "stage", "crew", "day", "minutes", "note"]
        read_only_fields = fields


class ChangeSerializer(RecordSerializer):
    """One line of the feed."""

    by_name = Words(["by__name"])

    class Meta:
        model = Change
        fields = ["position", "at", "what", "record", "record_id", "opening", "job", "by", "by_name", "more"]
        read_only_fields = fields


class TokenSerializer(RecordSerializer):
    id = serializers.UUIDField(source="public_id", read_only=True)
    expires_at = serializers.DateTimeField(source="expiry", read_only=True)
    created_at = serializers.DateTimeField(source="created", read_only=True)
    user_name = Words(["user__name"])

    class Meta:
        model = AccessToken
        fields = ["id", "name", "role", "user", "user_name", "created_at", "expires_at", "revoked_at"]
        read_only_fields = fields


class NewTokenSerializer(serializers.Serializer):
    """Signed in, or with a name and password."""

    name = serializers.CharField(max_length=120, help_text="What it is for: a telephone, a program.")
    role = serializers.ChoiceField(ROLE_CHOICES, required=False, default="", allow_blank=True,
                                   help_text="A narrower role than one's own; left out: one's own.")
    days = serializers.IntegerField(min_value=1, max_value=LONGEST, default=90)
    username = serializers.CharField(max_length=150, required=False, write_only=True)
    password = serializers.CharField(max_length=200, required=False, write_only=True, trim_whitespace=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("username" in attrs) != ("password" in attrs):
            raise serializers.ValidationError({"password": "Send username and password together, or neither."})
        return attrs


class MadeTokenSerializer(TokenSerializer):
    """Shown once."""

    token = serializers.CharField(read_only=True, help_text="The secret: `Authorization: Bearer sill_…`. Shown once.")

    class Meta(TokenSerializer.Meta):
        fields = [*TokenSerializer.Meta.fields, "token"]


class PersonSerializer(RecordSerializer):
    class Meta:
        model = User
        fields = ["id", "version", "username", "name", "role", "email", "phone", "time_zone", "language", "units",
                  "mail_own", "mail_others", "is_active"]
        extra_kwargs = {"mail_own": {"help_text": "Told by mail of punch items of theirs that are due."},
                        "mail_others": {"help_text": "The office: told of those that others let go by."}}
