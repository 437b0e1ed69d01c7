"""What people look for among door systems, units and panels."""

from __future__ import annotations

from typing import Any

import django_filters

from jobs.filters import OnOpening
from jobs.rest.filters import IsNull, Number, OneOf, Words, YesNo
from units.models import DoorSystem, Panel, PanelChange, Part


class DoorSystemFilter(django_filters.FilterSet):
    code = django_filters.CharFilter()
    material = OneOf(choices=DoorSystem.MATERIALS)
    in_use = IsNull("withdrawn_on", label="not withdrawn")
    search = Words("code", "name")


class UnitFilter(OnOpening):
    system = Number("system_id")
    order_number = django_filters.CharFilter()
    search = Words("order_number", "opening__tag", "opening__location", "opening__job__number", "opening__job__title",
                   "opening__job__owner__name", contacts=("opening__job__address",))


class Ids(django_filters.BaseInFilter, django_filters.NumberFilter):
    """Ids of other records: `3,8`."""


class HandlingFilter(django_filters.FilterSet):
    """What the panels are to be handled with, in place of what is planned."""

    equipment = Ids(method="left_alone", label="ids of lifters and carts, such as 3,8; those planned when left out")
    hands = Number(method="left_alone", label="how many people; those planned when left out")
    wind = django_filters.CharFilter(method="left_alone", label="metres a second, or text such as 20 mph")

    def left_alone(self, found: Any, _: str, __: Any) -> Any:
        return found


class PanelFilter(django_filters.FilterSet):
    unit = Number("unit_id")
    opening = Number("unit__opening_id")
    job = Number("unit__opening__job_id")
    state = OneOf(choices=Panel.STATES)
    damaged = YesNo()


class PanelChangeFilter(django_filters.FilterSet):
    panel = Number("panel_id")
    opening = Number("panel__unit__opening_id")
    job = Number("panel__unit__opening__job_id")
    crew = Number("crew_id")
    by = Number("by_id")
    act = OneOf(choices=PanelChange.ACTS)
    advanced = YesNo()


class PartFilter(django_filters.FilterSet):
    unit = Number("unit_id")
    opening = Number("unit__opening_id")
    job = Number("unit__opening__job_id")
    delivery = Number("delivery_id")
    kind = OneOf(choices=Part.KINDS)
    by_hand = YesNo()
    missing = YesNo("wanted", method="filter_missing", label="something of it is not here, or not whole")
    came_short = YesNo("wanted", method="filter_short", label="looked through, and something is still missing")
    search = Words("name", "unit__opening__tag", "unit__opening__job__number")

    def filter_missing(self, found: object, _: str, value: bool) -> object:
        return _split(found, Part.objects.lacking(), value)

    def filter_short(self, found: object, _: str, value: bool) -> object:
        return _split(found, Part.objects.came_short(), value)


def _split(found: Any, those: Any, value: bool) -> Any:
    return found.filter(pk__in=those.values("pk")) if value else found.exclude(pk__in=those.values("pk"))


class PartArrivalFilter(django_filters.FilterSet):
    part = Number("part_id")
    unit = Number("part__unit_id")
    opening = Number("part__unit__opening_id")
    delivery = Number("delivery_id")
    by = Number("by_id")
