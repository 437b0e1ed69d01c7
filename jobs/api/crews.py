"""Crews, who is in them and when they are off, and the equipment they share."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q

from jobs.api.people import unhung
from jobs.filters import CrewFilter, CrewMemberFilter, DayOffFilter, EquipmentFilter, OutOfUseFilter
from jobs.models import Crew, CrewMember, DayOff, Equipment, OutOfUse
from jobs.rest.reader import Reader
from jobs.rest.resources import OfficeResource
from jobs.serializers import (
    CrewMemberSerializer,
    CrewSerializer,
    DayOffSerializer,
    EquipmentSerializer,
    OutOfUseSerializer,
)


def crews_of(reader: Reader) -> models.QuerySet:
    """Ids of the crews the reader is on today."""
    return CrewMember.objects.filter(Q(to_day=None) | Q(to_day__gte=reader.today), user=reader.user,
                                     from_day__lte=reader.today).values("crew_id")


class OfCrews(OfficeResource):
    """Records of crews: leads and installers see those of their own."""

    through = "crew"  # not an opening: see `own`
    crew_path = "crew"

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        return rows.filter(**{f"{self.crew_path}__in": crews_of(self.reader)})

    def found(self, what: str | None = None) -> Any:
        return unhung(self)


class CrewResource(OfCrews):
    """People who go out together."""

    model, named, crew_path = Crew, "crews", "pk"
    serializer_class, filterset_class = CrewSerializer, CrewFilter
    orderings = {"id": ("pk",), "name": ("name",)}


class CrewMemberResource(OfCrews):
    """Who is on which crew, from when to when."""

    model, named = CrewMember, "crew-members"
    serializer_class, filterset_class = CrewMemberSerializer, CrewMemberFilter
    orderings = {"id": ("pk",), "from_day": ("from_day",)}


class DayOffResource(OfCrews):
    """Days on which a person or a whole crew does not work."""

    model, named, reads = DayOff, "days-off", "read days off"
    serializer_class, filterset_class = DayOffSerializer, DayOffFilter
    orderings = {"id": ("pk",), "from_day": ("from_day",)}
    hides = {"keep office records": ("reason",)}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        crews = crews_of(self.reader)
        fellows = CrewMember.objects.filter(crew__in=crews).values("user_id")
        return rows.filter(Q(crew__in=crews) | Q(user=self.reader.user) | Q(user__in=fellows))


class EquipmentResource(OfficeResource):
    """Lifters and carts: what they are rated for, and what that rating already includes."""

    model, named = Equipment, "equipment"
    serializer_class, filterset_class = EquipmentSerializer, EquipmentFilter
    orderings = {"id": ("pk",), "name": ("name",), "inspected_until": ("inspected_until",)}


class OutOfUseResource(OfficeResource):
    """Days on which a lifter or cart goes nowhere."""

    model, named = OutOfUse, "out-of-use"
    serializer_class, filterset_class = OutOfUseSerializer, OutOfUseFilter
    orderings = {"id": ("pk",), "from_day": ("from_day",)}
