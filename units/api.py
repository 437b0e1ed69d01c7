"""Door systems, units and panels as the office keeps them. What happens to a panel is added above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from jobs.calc.amounts import speed
from jobs.calc.verdict import BadInput
from jobs.models import Equipment
from jobs.rest.errors import BadQuery
from jobs.rest.filters import read_query
from jobs.rest.resources import OfficeResource
from units.filters import DoorSystemFilter, HandlingFilter, PanelFilter, UnitFilter
from units.models import DoorSystem, Panel, Unit
from units.serializers import DoorSystemSerializer, HandlingSerializer, PanelSerializer, UnitSerializer
from units.services.handling import Help, handling_of, help_planned
from units.services.systems import change_system

MOST_HANDS, MOST_PIECES = 50, 50


class DoorSystemResource(OfficeResource):
    """The maker's data of one system and edition, as the office entered it. What units were ordered by stays as it
    is: what is lacking may be filled in, where it stands and the day it was withdrawn may change."""

    model, named = DoorSystem, "door-systems"
    serializer_class, filterset_class = DoorSystemSerializer, DoorSystemFilter
    orderings = {"id": ("pk",), "name": ("name", "edition")}

    def alter(self, found: DoorSystem, values: dict[str, Any], version: int) -> DoorSystem:
        return change_system(self.act(), found, values, version=version)


class UnitResource(OfficeResource):
    """What goes in an opening; one unit an opening."""

    model, named, through = Unit, "units", "opening"
    serializer_class, filterset_class = UnitSerializer, UnitFilter
    orderings = {"id": ("pk",), "order_number": ("order_number",)}

    @extend_schema(responses=HandlingSerializer, parameters=[
        OpenApiParameter("equipment", str, description="Ids of lifters and carts, such as `3,8`; those planned when "
                                                       "left out."),
        OpenApiParameter("hands", int, description="How many people; those planned when left out."),
        OpenApiParameter("wind", str, description="Metres a second, or text such as `20 mph`.")], filters=False)
    @action(detail=True)
    def handling(self, request: Request, pk: str) -> HttpResponse:
        """How each panel is lifted and brought in with the equipment and hands planned for it, or with those named:
        verdicts of `lifting` and, leg by leg, of `route`. The equipment's maker, the site and local law decide."""
        asked = read_query(request, HandlingFilter)
        unit = self.found("read")
        using = help_planned(unit, self.act().today(unit.opening.job.time_zone))
        return self.shown(handling_of(unit, _instead(using, asked)).as_dict())


def _instead(planned: Help, asked: Mapping[str, Any]) -> Help:
    """What the address names, over what is planned."""
    hands, wind, ids = asked["hands"], asked["wind"], asked["equipment"]
    if hands is not None and not 1 <= hands <= MOST_HANDS:
        raise BadQuery("hands", f"1 to {MOST_HANDS} people")
    return Help(planned.equipment if ids is None else _named(ids), planned.hands if hands is None else hands,
                None if wind is None else _speed(wind))


def _named(ids: Sequence[Any]) -> tuple[Equipment, ...]:
    wanted = {int(one) for one in ids if one is not None}
    found = tuple(Equipment.objects.filter(pk__in=wanted).order_by("name")) if len(wanted) <= MOST_PIECES else ()
    if len(found) != len(wanted):
        raise BadQuery("equipment", f"ids of lifters and carts that are there, at most {MOST_PIECES}")
    return found


def _speed(wind: str) -> float:
    try:
        return float(speed(wind, "wind"))
    except BadInput as why:
        raise BadQuery("wind", why.right) from why


class PanelResource(OfficeResource):
    """Panels by letter: position, track, order of hanging, size, mass, and how far each has got."""

    model, named, through = Panel, "panels", "unit__opening"
    serializer_class, filterset_class = PanelSerializer, PanelFilter
    orderings = {"id": ("pk",), "hanging_order": ("hanging_order",)}
