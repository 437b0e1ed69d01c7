"""The API's addresses, all under /api/v1/."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path
from rest_framework.routers import DefaultRouter

from dashboard.views import api
from inspections.api import afterwards, builders_link, computed, office, openings, parts, site
from inspections.api import jobs as job_material
from jobs.api import company, crews, feed, people, work
from units import api as units

RESOURCES = {  # addresses are looked through in this order: what is asked most comes first
    "openings": openings.OpeningResource,
    "changes": feed.ChangeResource,
    "inspections": site.InspectionResource,
    "panels": openings.PanelResource,
    "punch-items": site.PunchItemResource,
    "parties": people.PartyResource,
    "people": people.PersonResource,
    "tokens": people.TokenResource,
    "jobs": job_material.JobResource,
    "stage-changes": office.StageChangeResource,
    "panel-changes": office.PanelChangeResource,
    "hold-points": office.HoldPointResource,
    "countersignatures": office.CountersignatureResource,
    "settlements": office.SettlementResource,
    "acceptances": office.AcceptanceResource,
    "crews": crews.CrewResource,
    "crew-members": crews.CrewMemberResource,
    "days-off": crews.DayOffResource,
    "equipment": crews.EquipmentResource,
    "out-of-use": crews.OutOfUseResource,
    "work-steps": openings.WorkStepResource,
    "assignments": work.AssignmentResource,
    "waits": office.WaitResource,
    "deliveries": office.DeliveryResource,
    "parts": parts.PartResource,
    "part-arrivals": parts.PartArrivalResource,
    "custody": parts.CustodyResource,
    "wall-agreements": parts.WallAgreementResource,
    "builder-links": builders_link.BuilderLinkResource,
    "correction-reports": builders_link.CorrectionReportResource,
    "door-systems": units.DoorSystemResource,
    "units": openings.UnitResource,
    "checks": office.CheckResource,
    "confirmations": site.ConfirmationResource,
    "joints": site.JointResource,
    "set-aside-parts": site.SetAsidePartResource,
    "reminders": office.ReminderResource,
    "callbacks": afterwards.CallbackResource,
    "return-trips": afterwards.ReturnTripResource,
    "adjustments": afterwards.AdjustmentResource,
    "photos": api.PhotoResource,
    "events": site.EventResource,
    "time-reports": site.TimeReportResource,
}


class Router(DefaultRouter):
    """JSON only, so no addresses that end in a format."""

    include_format_suffixes = False


router = Router()
for name, resource in RESOURCES.items():
    router.register(name, resource, basename=name)

urlpatterns: list[URLPattern | URLResolver] = [
    path("site-entries/", api.SiteEntryResource.as_view({"post": "create"}), name="site-entries"),
    path("", include(router.urls)),
    path("schema/", api.schema, name="schema"),
    path("docs/", api.docs, name="docs"),
    path("calculations/", computed.CalculationResource.as_view({"get": "list"}), name="calculations-list"),
    path("calculations/<slug:pk>/", computed.CalculationResource.as_view({"post": "create"}),
         name="calculations-detail"),
    path("office-settings/", company.OfficeSettingsResource.as_view({"get": "retrieve", "patch": "partial_update"}),
         name="office-settings"),
    path("progress/", computed.ProgressResource.as_view({"get": "list"}), name="progress"),
    path("progress/minutes/", computed.ProgressResource.as_view({"get": "minutes"}), name="progress-minutes"),
]
