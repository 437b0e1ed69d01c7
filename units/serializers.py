"""What door systems, units and panels look like in the API."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from jobs.rest.fields import RecordSerializer, Whole, Words, plain_object, plain_objects, short_words
from jobs.serializers import OFFICE, SITE
from units.models import DoorSystem, Panel, PanelChange, Unit

RULES = ("seal", "never-seal")


def joint_rules(value: list[Any]) -> None:
    """Each joint has its place and whether it is to be sealed or never."""
    plain_objects(value)  # every validator is asked, whatever another said
    for joint in value:
        if not isinstance(joint.get("place"), str) or joint.get("rule") not in RULES or not isinstance(
                joint.get("side", ""), str):
            raise serializers.ValidationError('Each joint: {"place": "sill", "side": "outside", "rule": "seal" or '
                                              '"never-seal"}.')


class DoorSystemSerializer(RecordSerializer):
    class Meta:
        model = DoorSystem
        fields = [*OFFICE, "code", "name", "edition", "material", "roller_preset_mm", "roller_lowest_mm",
                  "roller_highest_mm", "thread_pitch_mm", "roller_from_edge_mm", "head_clearance_mm",
                  "head_clearance_least_mm", "pan_test_allowed", "finishing_steps", "joints", "products", "sources",
                  "withdrawn_on"]
        extra_kwargs = {
            "finishing_steps": {"validators": [short_words]},
            "joints": {"validators": [joint_rules]},
            "products": {"validators": [plain_objects]},
            "sources": {"validators": [plain_object]},
        }


class UnitSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    system_name = Words(["system__name"])

    class Meta:
        model = Unit
        fields = [*OFFICE, "opening", "opening_tag", "job", "system", "system_name", "order_number", "ways",
                  "frame_width_mm", "frame_height_mm", "sill_length_mm", "pocket_depth_needed_mm",
                  "pocket_thickness_needed_mm", "roller_spacing_mm"]


class PanelSerializer(RecordSerializer):
    opening = Whole(["unit__opening_id"])
    grams = Whole(["weighed_grams", "computed_grams"], lambda weighed, computed: weighed or computed,
                  help_text="Weighed where it was weighed, computed otherwise.")

    class Meta:
        model = Panel
        fields = [*OFFICE, "unit", "opening", "letter", "position", "track", "hanging_order", "width_mm", "height_mm",
                  "glass", "computed_grams", "weighed_grams", "grams", "state", "damaged", "replaced"]


class PanelChangeSerializer(RecordSerializer):
    """One step of one panel; not advanced, with every reason, where the gate would have said no."""

    opening = Whole(["panel__unit__opening_id"])
    letter = Words(["panel__letter"])
    by_name = Words(["by__name"])

    class Meta:
        model = PanelChange
        fields = [*SITE, "panel", "letter", "opening", "act", "from_state", "to_state", "advanced", "crew", "reason",
                  "reasons"]
        read_only_fields = fields
