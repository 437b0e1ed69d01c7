"""Door systems, units and panels as the office keeps them. What happens to a panel is added above."""

from __future__ import annotations

from jobs.rest.resources import OfficeResource
from units.filters import DoorSystemFilter, PanelFilter, UnitFilter
from units.models import DoorSystem, Panel, Unit
from units.serializers import DoorSystemSerializer, PanelSerializer, UnitSerializer


class DoorSystemResource(OfficeResource):
    """The maker's data of one system and edition, as the office entered it."""

    model, named = DoorSystem, "door-systems"
    serializer_class, filterset_class = DoorSystemSerializer, DoorSystemFilter
    orderings = {"id": ("pk",), "name": ("name", "edition")}


class UnitResource(OfficeResource):
    """What goes in an opening; one unit an opening."""

    model, named, through = Unit, "units", "opening"
    serializer_class, filterset_class = UnitSerializer, UnitFilter
    orderings = {"id": ("pk",), "order_number": ("order_number",)}


class PanelResource(OfficeResource):
    """Panels by letter: position, track, order of hanging, size, mass, and how far each has got."""

    model, named, through = Panel, "panels", "unit__opening"
    serializer_class, filterset_class = PanelSerializer, PanelFilter
    orderings = {"id": ("pk",), "hanging_order": ("hanging_order",)}
