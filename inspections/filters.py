"""What people look for among inspections and all that closes an opening."""

from __future__ import annotations

import django_filters
from django.db.models import Exists, OuterRef, Q

from inspections.calc.kinds import KINDS
from inspections.models import (
    Callback,
    Check,
    Confirmation,
    Countersignature,
    Joint,
    Message,
    Photo,
    PunchItem,
    Settlement,
)
from jobs.calc.verdict import RESULTS
from jobs.filters import DeliveryFilter, OnOpening, StageChangeFilter
from jobs.models import Custody, Event
from jobs.rest.filters import Day, IsNull, Moment, NotNull, Number, OneOf, Words, YesNo
from units.filters import PanelChangeFilter
from units.models import Part


class SettledStageChangeFilter(StageChangeFilter):
    settled = NotNull("settlement", label="recorded, not advanced, and dealt with")


class SettledPanelChangeFilter(PanelChangeFilter):
    settled = NotNull("settlement", label="recorded, not advanced, and dealt with")


class SiteFilter(OnOpening):
    """For what is recorded on site."""

    by = Number("by_id")
    taken_from = Moment("taken_at", "gte")
    taken_before = Moment("taken_at", "lt")


class CheckFilter(django_filters.FilterSet):
    code = django_filters.CharFilter()
    stage = django_filters.CharFilter()
    judged_by = OneOf(choices=Check.JUDGED_BY)
    system = Number("system_id")
    job = Number("job_id")
    shipped = YesNo("system", method="filter_shipped", label="stands where nobody says otherwise")

    def filter_shipped(self, found: object, _: str, value: bool) -> object:
        own = {"system": None, "job": None}
        return found.filter(**own) if value else found.exclude(**own)


class InspectionFilter(SiteFilter):
    kind = OneOf(choices=[(name, name) for name in KINDS])
    result = OneOf(choices=[(name, name) for name in RESULTS])
    occasion = django_filters.CharFilter()
    panel = Number("panel_id")
    differs = YesNo()


class ConfirmationFilter(SiteFilter):
    check_code = django_filters.CharFilter()
    answer = OneOf(choices=Confirmation.ANSWERS)
    panel = Number("panel_id")


class JointFilter(SiteFilter):
    place = django_filters.CharFilter()
    rule = OneOf(choices=Joint.RULES)


class SetAsidePartFilter(SiteFilter):
    away = IsNull("back_at")


class PunchItemFilter(SiteFilter):
    open = IsNull("closed_at")
    owner = Number("owner_id")
    cause = OneOf(choices=PunchItem.CAUSES)
    panel = Number("panel_id")
    due_to = Day("due_day", "lte")
    due_from = Day("due_day", "gte")
    search = Words("what", "place", "opening__tag", "opening__job__number")


class BuilderLinkFilter(SiteFilter):
    revoked = NotNull("revoked_at")
    expires_from = Moment("expires_at", "gte")


class CorrectionReportFilter(django_filters.FilterSet):
    opening = Number("link__opening_id")
    job = Number("link__opening__job_id")
    link = django_filters.UUIDFilter("link_id")
    seen = NotNull("seen_at")


class HoldPointFilter(SiteFilter):
    standing = IsNull("undone_at")
    advanced = YesNo()
    settled = NotNull("settlement", label="recorded, not advanced, and dealt with")


class CountersignatureFilter(django_filters.FilterSet):
    state = OneOf(choices=Countersignature.STATES)
    opening = Number("change__opening_id")


class SettlementFilter(django_filters.FilterSet):
    how = OneOf(choices=Settlement.HOW)
    by = Number("by_id")
    opening = Number("stage_change__opening_id", method="filter_opening",
                     label="of a step of this opening, or of one of its panels")

    def filter_opening(self, found: object, _: str, opening: int) -> object:
        return found.filter(Q(stage_change__opening=opening) | Q(panel_change__panel__unit__opening=opening)
                            | Q(hold_point__opening=opening))


class CallbackFilter(OnOpening):
    number = django_filters.CharFilter()
    open = IsNull("closed_at")
    severity = OneOf(choices=Callback.SEVERITIES)
    whose = OneOf(choices=Callback.WHOSE)
    panel = Number("panel_id")
    called_from = Moment("called_at", "gte")
    called_before = Moment("called_at", "lt")
    system = Number("opening__unit__system_id")
    search = Words("number", "symptom", "finding", "opening__tag", "opening__job__number", "opening__job__title")


class ReturnTripFilter(django_filters.FilterSet):
    callback = Number("callback_id")
    opening = Number("callback__opening_id")
    crew = Number("crew_id")
    done = NotNull("done_at")
    day_from = Day("day", "gte")
    day_to = Day("day", "lte")


class AdjustmentFilter(SiteFilter):
    callback = Number("callback_id")
    panel = Number("panel_id")


class PhotoFilter(SiteFilter):
    about = OneOf(choices=Photo.ABOUT)
    about_id = django_filters.CharFilter()
    check_code = django_filters.CharFilter()


class CustodyFilter(SiteFilter):
    holder = OneOf(choices=Custody.HOLDERS)
    crew = Number("crew_id")
    standing = YesNo("opening", method="filter_standing", label="the latest of its opening: who has it now")

    def filter_standing(self, found: object, _: str, value: bool) -> object:
        later = Custody.objects.filter(opening=OuterRef("opening"), taken_at__gt=OuterRef("taken_at"))
        return found.filter(~Exists(later) if value else Exists(later))


class WallAgreementFilter(SiteFilter):
    trade = django_filters.CharFilter()


class PartsDeliveryFilter(DeliveryFilter):
    missing = YesNo("parts", method="filter_missing", label="something it brings is not here, or not whole")

    def filter_missing(self, found: object, _: str, value: bool) -> object:
        brings = Exists(Part.objects.lacking().filter(delivery=OuterRef("pk")))
        return found.filter(brings if value else ~brings)


class EventFilter(SiteFilter):
    kind = OneOf(choices=Event.KINDS)


class ReminderFilter(django_filters.FilterSet):
    item = django_filters.UUIDFilter("item_id")
    user = Number("user_id")
    opening = Number("item__opening_id")
    state = OneOf("message__state", choices=Message.STATES)
    to_office = YesNo()
    day_from = Day("message__day", "gte")
    day_to = Day("message__day", "lte")
