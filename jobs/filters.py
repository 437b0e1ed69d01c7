"""What people look for among the records of this floor."""

from __future__ import annotations

import django_filters

from jobs.models import Assignment, Opening, Party, StageChange, Wait, WorkStep
from jobs.models.people import ROLE_CHOICES
from jobs.rest.filters import Day, IsNull, Moment, NotNull, Number, OneOf, Words, YesNo

STAGES = Opening._meta.get_field("stage").choices


class PartyFilter(django_filters.FilterSet):
    kind = OneOf(choices=Party.KINDS)
    search = Words("name", contacts=("contact",))


class JobFilter(django_filters.FilterSet):
    number = django_filters.CharFilter()
    builder = Number("builder_id")
    owner = Number("owner_id")
    promised_from = Day("promised_date", "gte")
    promised_to = Day("promised_date", "lte")
    crew = Number("openings__assignments__crew_id", method="filter_crew", label="this crew has work there")
    active = YesNo("openings", method="filter_active", label="an opening there is not accepted yet")
    search = Words("number", "title", "builder__name", "owner__name", contacts=("address",))

    def filter_crew(self, found: object, _: str, crew: int) -> object:
        return found.filter(pk__in=Assignment.objects.filter(crew=crew).values("opening__job_id"))

    def filter_active(self, found: object, _: str, value: bool) -> object:
        unfinished = Opening.objects.active().values("job_id")
        return found.filter(pk__in=unfinished) if value else found.exclude(pk__in=unfinished)


class OpeningFilter(django_filters.FilterSet):
    job = Number("job_id")
    stage = OneOf(choices=STAGES)
    tag = django_filters.CharFilter()
    crew = Number("assignments__crew_id", distinct=True)
    called_back = YesNo()
    active = YesNo("stage", method="filter_active", label="not accepted yet")
    waiting = YesNo("waits", method="filter_waiting", label="something is waited for")
    stage_since_before = Moment("stage_since", "lt")
    search = Words("tag", "location", "job__number", "job__title", "job__owner__name", contacts=("job__address",))

    def filter_active(self, found: object, _: str, value: bool) -> object:
        return found.active() if value else found.filter(stage="accepted")

    def filter_waiting(self, found: object, _: str, value: bool) -> object:
        open_waits = Wait.objects.filter(cleared_at=None).values("opening_id")
        return found.filter(pk__in=open_waits) if value else found.exclude(pk__in=open_waits)


class OnOpening(django_filters.FilterSet):
    """For everything that hangs on an opening."""

    opening = Number("opening_id")
    job = Number("opening__job_id")


class StageChangeFilter(OnOpening):
    kind = OneOf(choices=StageChange.KINDS)
    to_stage = OneOf(choices=STAGES)
    advanced = YesNo()
    crew = Number("crew_id")
    by = Number("by_id")
    taken_from = Moment("taken_at", "gte")
    taken_before = Moment("taken_at", "lt")


class CrewFilter(django_filters.FilterSet):
    active = YesNo()
    search = Words("name", "base")


class CrewMemberFilter(django_filters.FilterSet):
    crew = Number("crew_id")
    user = Number("user_id")
    on_day = Day("from_day", method="filter_on_day", label="a member on this day")

    def filter_on_day(self, found: object, _: str, day: object) -> object:
        return found.filter(from_day__lte=day).exclude(to_day__lt=day)


class DayOffFilter(django_filters.FilterSet):
    crew = Number("crew_id")
    user = Number("user_id")
    day_from = Day("to_day", "gte")
    day_to = Day("from_day", "lte")


class OutOfUseFilter(django_filters.FilterSet):
    equipment = Number("equipment_id")
    day_from = Day("to_day", "gte")
    day_to = Day("from_day", "lte")


class EquipmentFilter(django_filters.FilterSet):
    kind = django_filters.CharFilter()
    inspected_before = Day("inspected_until", "lt", label="its inspection ends before this day")
    search = Words("name", "kind")


class WorkStepFilter(OnOpening):
    stage = OneOf(choices=WorkStep._meta.get_field("stage").choices)
    ready = YesNo()


class AssignmentFilter(OnOpening):
    crew = Number("crew_id")
    work_step = Number("work_step_id")
    stage = OneOf("work_step__stage", choices=WorkStep._meta.get_field("stage").choices)
    equipment = Number("equipment", method="filter_equipment", label="with this lifter or cart")
    firmness = OneOf(choices=Assignment.FIRMNESS)
    told = NotNull("told_at")
    day_from = Day("end_day", "gte")
    day_to = Day("start_day", "lte")

    def filter_equipment(self, found: object, _: str, equipment: int) -> object:
        using = Assignment.equipment.through.objects.filter(equipment=equipment)
        return found.filter(pk__in=using.values("assignment"))


class WaitFilter(OnOpening):
    crew = Number("opening__assignments__crew_id", method="filter_crew", label="this crew has work there")
    since_before = Moment("taken_at", "lt")
    search = Words("what_for", "opening__tag", "opening__job__number", "opening__job__title")
    open = IsNull("cleared_at")
    owed_by = Number("owed_by_id")
    owed_by_kind = OneOf(choices=Party.KINDS)
    expected_to = Day("expected_day", "lte")

    def filter_crew(self, found: object, _: str, crew: int) -> object:
        return found.filter(opening__in=Assignment.objects.filter(crew=crew).values("opening_id"))


class DeliveryFilter(django_filters.FilterSet):
    job = Number("job_id")
    opening = Number("openings__id", distinct=True)
    supplier = Number("supplier_id")
    received = NotNull("received_at")
    expected_from = Day("expected_day", "gte")
    expected_to = Day("expected_day", "lte")
    search = Words("what", "job__number", "job__title", "supplier__name")


class TimeReportFilter(django_filters.FilterSet):
    opening = Number("work_step__opening_id")
    job = Number("work_step__opening__job_id")
    work_step = Number("work_step_id")
    crew = Number("crew_id")
    by = Number("by_id")
    day_from = Day("day", "gte")
    day_to = Day("day", "lte")


class ChangeFilter(django_filters.FilterSet):
    opening = Number("opening_id")
    job = Number("job_id")
    record = django_filters.CharFilter()
    record_id = django_filters.CharFilter()
    by = Number("by_id")
    at_from = Moment("at", "gte")
    at_before = Moment("at", "lt")
    since = Number("position", "gt", label="after this position")


class TokenFilter(django_filters.FilterSet):
    user = Number("user_id")
    revoked = NotNull("revoked_at")
    expires_before = Moment("expiry", "lt")
    search = Words("name", "user__name")


class PersonFilter(django_filters.FilterSet):
    role = OneOf(choices=ROLE_CHOICES)
    is_active = YesNo()
    crew = Number("memberships__crew_id", distinct=True)
    search = Words("name", "username")
