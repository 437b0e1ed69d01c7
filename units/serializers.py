"""What door systems, units and panels look like in the API."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from typing import Any

from rest_framework import serializers

from jobs.calc import reading
from jobs.calc.lengths import MM
from jobs.calc.verdict import BadInput, Limit
from jobs.rest.fields import (
    RecordSerializer,
    Whole,
    Words,
    more_than_nothing,
    plain_object,
    plain_objects,
    short_words,
)
from jobs.serializers import OFFICE, SITE
from units.calc import parts
from units.calc.kinds import CALCULATIONS
from units.calc.layout import MOST_PANELS
from units.calc.lifting_sent import MOST_MASS
from units.calc.panels_sent import said
from units.calc.takeoff_sent import read_product, refuse_no_section
from units.calc.weights_sent import read_glass, read_hardware
from units.models import DoorSystem, Panel, PanelChange, Part, PartArrival, Unit
from units.models.systems import SIZES

RULES = ("seal", "never-seal")
SHORTEST_PIECE = 300 * MM
GAP = "gap"  # for a width: as wide as what is left


def joint_rules(value: list[Any]) -> None:
    """Each joint has its place and whether it is to be sealed or never; what is given of its section is a size."""
    plain_objects(value)  # every validator is asked, whatever another said
    for n, joint in enumerate(value):
        if not isinstance(joint.get("place"), str) or joint.get("rule") not in RULES or not isinstance(
                joint.get("side", ""), str):
            raise serializers.ValidationError(f'[{n}].rule: each joint: {{"place": "sill", "side": "outside", "rule": '
                                              '"seal" or "never-seal"}')
        with said_to_whoever_types_it():
            refuse_no_section({name: size for name, size in joint.items() if size != GAP}, f"[{n}].", "mm")


# What a product's sheet says that joints are judged by; whatever else it says is kept as it is.
SHEET = {
    **dict.fromkeys(("name", "source"), reading.text),
    **dict.fromkeys(("air_least_c", "air_most_c", "surface_least_c", "surface_most_c"), reading.temperature),
    **dict.fromkeys(("humidity_least_pct", "humidity_most_pct"), partial(reading.number, least=1, most=100)),
    **dict.fromkeys(("skin_minutes", "water_test_after_days", "load_after_days"),
                    partial(reading.number, least=0, most=100_000)),
    "cure_mm_per_sqrt_day": partial(reading.number, least=0.001, most=100_000),
    "bead_depth": reading.length,
}
RANGES = ("air_{}_c", "surface_{}_c", "humidity_{}_pct")


def sealing_products(value: list[Any]) -> None:
    """Said to whoever types it: on the day, a sheet nobody can read would hold up every joint."""
    plain_objects(value)
    for n, product in enumerate(value):
        try:
            read = {name: SHEET[name](sent, f"[{n}].{name}") for name, sent in product.items()
                    if name in SHEET and sent is not None}
            for bound in RANGES:
                least, most = bound.format("least"), bound.format("most")
                if least in read and most in read and read[least] > read[most]:
                    raise BadInput(f"[{n}].{least}", product[least], f"it must not lie above {most}")
            read_product("", product, f"[{n}]")
        except BadInput as why:
            raise serializers.ValidationError(f"{why.field}: {why.right}") from why


def own_limits(value: Any) -> None:
    """Each sum's own limits, over those that are shipped: {"panels": {"panel_width_most": {"value", "source"}}}. Of
    several that cannot be, each is told."""
    plain_object(value)
    wrong = [right for name, sent in value.items() for right in _limits_wrong(name, sent)]
    if wrong:
        raise serializers.ValidationError(wrong)


def _limits_wrong(name: str, sent: Any) -> Iterator[str]:
    if name not in CALCULATIONS:
        yield f"{name}: one of: " + ", ".join(CALCULATIONS)
        return
    for limit, one in sent.items() if isinstance(sent, Mapping) else [(None, sent)]:
        try:
            asked = reading.mapping(sent, name) if limit is None else {limit: one}
            reading.limits(asked, CALCULATIONS[name].limits, {}, "mm")
        except BadInput as why:
            yield f"{why.field}: {why.right}"


def glass_allowed(value: list[Any]) -> None:
    plain_objects(value)
    for n, glass in enumerate(value):
        with said_to_whoever_types_it():
            reading.text(reading.need(glass, "name", f"[{n}]."), f"[{n}].name")
            read_glass({"glass": reading.need(glass, "layers", f"[{n}].")}, "mm")
    if len({glass["name"] for glass in value}) < len(value):
        raise serializers.ValidationError("Each glass has a name of its own.")


def pieces(value: list[Any]) -> None:
    plain_objects(value)
    with said_to_whoever_types_it():
        read_hardware({"hardware": value}, "mm", ())


def fastener_schedule(value: list[Any]) -> None:
    """By member: {"member", "spacing_most", "edge_least", "fastener"}."""
    plain_objects(value)
    for n, row in enumerate(value):
        with said_to_whoever_types_it():
            reading.text(reading.need(row, "member", f"[{n}]."), f"[{n}].member")
            for name in ("spacing_most", "edge_least"):
                reading.length(reading.need(row, name, f"[{n}]."), f"[{n}].{name}", unit="mm")


def long_enough_a_piece(value: int) -> None:
    """Of shorter ones a sill would have more pieces and splices than anybody could list."""
    if value < SHORTEST_PIECE:
        raise serializers.ValidationError(f"at least {said(SHORTEST_PIECE)}: check the unit")


def as_many_panels(value: int) -> None:
    if not 1 <= value <= MOST_PANELS:
        raise serializers.ValidationError(f"a whole number from 1 to {MOST_PANELS}")


def as_heavy_as_a_panel(value: int) -> None:
    """More than this no lift is worked out for, and it would stand in the way of all the other panels'."""
    if not 1 <= value <= MOST_MASS * 1000:
        raise serializers.ValidationError(
            f"grams, more than nothing and at most {MOST_MASS} kg for one panel: 185 kg is 185000; leave it out where "
            "it is not known")


@contextmanager
def said_to_whoever_types_it() -> Iterator[None]:
    try:
        yield
    except BadInput as why:
        raise serializers.ValidationError(f"{why.field}: {why.right}") from why


class DoorSystemSerializer(RecordSerializer):
    class Meta:
        model = DoorSystem
        fields = [*OFFICE, "code", "name", "edition", "material", *(f"{size}_mm" for size in SIZES),
                  "height_deduction_mm", "middle_lap_mm", "lead_wider_by_mm", "lean_in_angle",
                  "stile_grams_per_m", "rail_grams_per_m",
                  "hardware", "glasses", "roller_preset_mm", "roller_lowest_mm", "roller_highest_mm",
                  "thread_pitch_mm", "roller_from_edge_mm", "head_clearance_mm", "head_clearance_least_mm",
                  "pan_test_allowed", "finishing_steps", "joints", "products", "fasteners", "limits", "sources",
                  "withdrawn_on"]
        extra_kwargs = {
            "finishing_steps": {"validators": [short_words]},
            "joints": {"validators": [joint_rules]},
            "products": {"validators": [sealing_products]},
            "thread_pitch_mm": {"validators": [more_than_nothing]},
            "increment_mm": {"validators": [more_than_nothing]},
            "track_pitch_mm": {"validators": [more_than_nothing]},
            "longest_piece_mm": {"validators": [long_enough_a_piece]},
            **{signed: {"signed": True} for signed in ("height_deduction_mm", "middle_lap_mm", "lead_wider_by_mm")},
            "hardware": {"validators": [pieces]},
            "glasses": {"validators": [glass_allowed]},
            "fasteners": {"validators": [fastener_schedule]},
            "limits": {"validators": [own_limits]},
            "sources": {"validators": [plain_object]},
        }

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """What no panel could have is said where it is entered, not at each unit ordered of it."""
        stands = self.instance or DoorSystem()
        would_be = DoorSystem(**{name: attrs.get(name, getattr(stands, name)) for name in TOGETHER})
        wrong: dict[str, list[str]] = {}
        for name, right in _not_together(would_be) if attrs.keys() & TOGETHER else ():
            wrong.setdefault(name, []).append(right)
        if wrong:
            raise serializers.ValidationError(wrong)
        return attrs


LAPS = ("meeting_lap", "interlock_lap", "jamb_engagement")
TOGETHER = {*LAPS, "lock_jamb", "panel_thickness", "track_pitch", "stile_face", "rail_face", "limits",
            "joints", "products"}
BOUNDS = ("panel_width_{}", "panel_height_{}")


def _not_together(system: DoorSystem) -> Iterator[tuple[str, str]]:
    limits = reading.limits(system.limits.get("panels", {}), CALCULATIONS["panels"].limits, {}, "mm")
    widest, highest = (_limit_of(limits, bound.format("most")) for bound in BOUNDS)
    for bound in BOUNDS:
        least, most = (_limit_of(limits, bound.format(which)) for which in ("least", "most"))
        if None not in (least, most) and least > most:
            yield "limits", f"limits.{bound.format('least')}: not above the most, {said(most)}"
    heaviest = reading.limits(system.limits.get("weights", {}), CALCULATIONS["weights"].limits, {}, "mm")
    if (_limit_of(heaviest, "panel_mass_most") or 0) > MOST_MASS:
        yield "limits", f"limits.panel_mass_most: at most {MOST_MASS} kg for one panel"
    yield from (("joints", right) for right in _sealants_not_there(system))
    for name in LAPS:
        if _reaches(getattr(system, name), widest):
            yield f"{name}_mm", f"less than a panel, which is {said(widest)} wide at most"
    for face, size in (("stile_face", widest), ("rail_face", highest)):
        if _reaches(getattr(system, face), size, times=2):
            yield f"{face}_mm", f"less than half of the largest panel, which is {said(size)}"
    if _reaches(system.panel_thickness, system.track_pitch):
        yield "panel_thickness_mm", f"thinner than from track to track, which is {said(system.track_pitch)}"
    if None not in (system.jamb_engagement, system.lock_jamb) and system.jamb_engagement > system.lock_jamb:
        yield "jamb_engagement_mm", f"less than the jamb itself, {said(system.lock_jamb)}"


def _sealants_not_there(system: DoorSystem) -> Iterator[str]:
    """A joint is sealed with a product whose sheet is here, or nobody could say in what weather."""
    names = [str(product.get("name")) for product in system.products if isinstance(product, Mapping)]
    for n, joint in enumerate(system.joints):
        named = joint.get("product") if isinstance(joint, Mapping) else None
        if named and named not in names:
            there = ", ".join(names)
            yield f"[{n}].product: " + (f"one of the sealants entered here: {there}" if names else
                                        "a sealant entered here; there is none yet")


def _limit_of(limits: Mapping[str, Limit], name: str) -> Any:
    return limits[name].value if name in limits else None


def _reaches(size: int | None, bound: Any, times: int = 1) -> bool:
    return None not in (size, bound) and times * size >= bound


class UnitSerializer(RecordSerializer):
    opening_tag = Words(["opening__tag"])
    job = Whole(["opening__job_id"])
    system_name = Words(["system__name"])

    class Meta:
        model = Unit
        fields = [*OFFICE, "opening", "opening_tag", "job", "system", "system_name", "order_number", "ways",
                  "panel_count", "more_on", "glass", "frame_width_mm", "frame_height_mm", "sill_length_mm",
                  "pocket_depth_needed_mm", "pocket_thickness_needed_mm", "roller_spacing_mm"]
        extra_kwargs = {
            "opening": {"validators": []},  # that it has one already is said by the service, with which
            "panel_count": {"validators": [as_many_panels]},
            **{size: {"validators": [more_than_nothing]} for size in (
                "frame_width_mm", "frame_height_mm", "sill_length_mm", "roller_spacing_mm")}}


class PanelSerializer(RecordSerializer):
    opening = Whole(["unit__opening_id"])
    grams = Whole(["weighed_grams", "computed_grams"], lambda weighed, computed: weighed or computed,
                  help_text="Weighed where it was weighed, computed otherwise.")

    class Meta:
        model = Panel
        fields = [*OFFICE, "unit", "opening", "letter", "position", "track", "side", "hanging_order", "width_mm",
                  "height_mm", "glass", "computed_grams", "weighed_grams", "grams", "state", "damaged", "replaced"]
        extra_kwargs = {
            **{mass: {"validators": [as_heavy_as_a_panel]} for mass in ("computed_grams", "weighed_grams")},
            **{size: {"validators": [more_than_nothing]} for size in ("width_mm", "height_mm")}}


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


class HandlingSerializer(serializers.Serializer):
    """How a unit's panels are lifted and brought in. `unweighed`: panels nobody has a mass for. `refused`: what keeps
    anything from being judged. `caution` is shown wherever any of this is."""

    heaviest = serializers.CharField(allow_null=True, help_text="The letter of the heaviest panel.")
    heaviest_grams = serializers.IntegerField(allow_null=True)
    unweighed = serializers.ListField(child=serializers.CharField())
    lifting = serializers.ListField(child=serializers.DictField(), help_text="One verdict a panel, with its letter.")
    route = serializers.DictField(allow_null=True, help_text="The verdict on the way in; null before it has panels.")
    refused = serializers.DictField(allow_null=True)
    caution = serializers.CharField()


class PartSerializer(RecordSerializer):
    """What came of it, in all: `whole` and `damaged`. Of those still `missing`, `short` did not come at all; `surplus`
    came whole and is wanted by nobody."""

    opening = Whole(["unit__opening_id"])
    opening_tag = Words(["unit__opening__tag"])
    job = Whole(["unit__opening__job_id"])
    delivery_what = Words(["delivery__what"])
    expected_day = Words(["delivery__expected_day"])
    panel = Whole(["panel_id"])
    damaged = Whole(["broken"])
    missing = Whole(["wanted", "whole", "panel__state", "panel__damaged"], parts.missing)
    short = Whole(["wanted", "whole", "broken", "looked_through", "panel__state"], parts.short)
    surplus = Whole(["wanted", "whole", "panel__replaced"], lambda wanted, whole, replaced: parts.surplus(
        wanted, whole, replaced or 0))

    class Meta:
        model = Part
        fields = [*OFFICE, "unit", "opening", "opening_tag", "job", "kind", "name", "length_mm", "wanted", "delivery",
                  "delivery_what", "expected_day", "panel", "by_hand", "looked_through", "whole", "damaged", "missing",
                  "short", "surplus"]
        read_only_fields = ["by_hand", "looked_through", "whole"]
        extra_kwargs = {"length_mm": {"validators": [more_than_nothing]}}


class PartArrivalSerializer(RecordSerializer):
    """What came of one part, as somebody said it that day."""

    unit = Whole(["part__unit_id"])
    opening = Whole(["part__unit__opening_id"])
    name = Words(["part__name"])
    by_name = Words(["by__name"])

    class Meta:
        model = PartArrival
        fields = [*SITE, "part", "name", "unit", "opening", "delivery", "whole", "short", "damaged", "note"]
        read_only_fields = fields
