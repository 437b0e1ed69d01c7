"""What happens to openings and panels: the gate asked beforehand, and the acts themselves."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.db import models
from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections.api import bodies
from inspections.api.computed import VerdictSerializer
from inspections.models import Check
from inspections.serializers import GateSerializer, HoldPointSerializer, SettledStageChange
from inspections.services import gates, planned
from inspections.services.laying_out import explained, lay_out_panels
from inspections.services.looking import look_at, look_at_hold_point
from inspections.services.panels import handle_panel
from inspections.services.parts import make_parts
from inspections.services.taking_off import taken_off
from jobs.api.jobs import OpeningResource as OfficeOpenings
from jobs.api.work import WorkStepResource as OfficeWorkSteps
from jobs.models import Opening
from jobs.rest.resources import IF_MATCH
from units.api import PanelResource as OfficePanels
from units.api import UnitResource as OfficeUnits
from units.serializers import PanelChangeSerializer, UnitSerializer

TO = OpenApiParameter("to", str, description="A stage, or *the pocket closes*; the next stage when left out.")


class OpeningResource(OfficeOpenings):
    """Openings, and every act that moves one."""

    acts = {"advance": "advance", "pass_over": "pass over", "step_back": "step back", "accept": "accept",
            "release_hold_point": "release the hold point"}

    def alter(self, found: Opening, values: dict[str, Any], version: int) -> models.Model:
        return planned.change_opening(self.act(), found, values, version=version)

    @extend_schema(responses=GateSerializer, parameters=[TO], filters=False)
    @action(detail=True)
    def gate(self, request: Request, pk: str) -> HttpResponse:
        """Asked beforehand: whether the opening may go on, and every reason why not."""
        opening, to = self.found("read"), request.query_params.get("to") or None
        if to == Check.HOLD_POINT:
            return self.shown(look_at_hold_point(opening, self.reader.now).as_dict())
        return self.shown(look_at(opening, self.reader.now, to).as_dict())

    def _moved(self, kind: Any, service: Any) -> HttpResponse:
        opening = self.found()
        return self.entry(kind, lambda act, **sent: service(act, opening.pk, **sent), SettledStageChange)

    def _moved_on(self, kind: Any, service: Any) -> HttpResponse:
        """From the stage it stands at now: whoever comes second in the same moment does not move it once more."""
        seen_at = self.found().stage
        return self._moved(kind, partial(service, seen_at=seen_at))

    @extend_schema(request=bodies.AdvanceIn, responses={201: SettledStageChange, 200: SettledStageChange})
    @action(detail=True, methods=["post"])
    def advance(self, request: Request, pk: str) -> HttpResponse:
        """Through the gate, to the next stage; 409 with every reason where the gate says no."""
        return self._moved_on(bodies.AdvanceIn, gates.advance_opening)

    @extend_schema(request=bodies.PassOverIn, responses={201: SettledStageChange, 200: SettledStageChange})
    @action(detail=True, methods=["post"], url_path="pass-over")
    def pass_over(self, request: Request, pk: str) -> HttpResponse:
        """Over a gate that says no, with a written reason. Never over water, structure, lifting or the pocket."""
        return self._moved_on(bodies.PassOverIn, gates.pass_over)

    @extend_schema(request=bodies.StepBackIn, responses={201: SettledStageChange, 200: SettledStageChange})
    @action(detail=True, methods=["post"], url_path="step-back")
    def step_back(self, request: Request, pk: str) -> HttpResponse:
        """Back to an earlier stage, with a reason; re-opens what that undoes."""
        return self._moved(bodies.StepBackIn, gates.step_back)

    @extend_schema(request=bodies.AcceptIn, responses={201: SettledStageChange, 200: SettledStageChange})
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, pk: str) -> HttpResponse:
        """Accepted, or accepted subject to the punch items named."""
        return self._moved(bodies.AcceptIn, gates.accept_opening)

    @extend_schema(request=bodies.ReleaseIn, responses={201: HoldPointSerializer, 200: HoldPointSerializer})
    @action(detail=True, methods=["post"], url_path="release-hold-point")
    def release_hold_point(self, request: Request, pk: str) -> HttpResponse:
        """*The pocket closes*: once all that will be hidden has been seen."""
        opening = self.found()
        return self.entry(bodies.ReleaseIn, lambda act, **sent: gates.release_hold_point(act, opening.pk, **sent),
                          HoldPointSerializer)


class EarnedByPlan:
    """Of what earns minutes: changed by the office, the ledger follows."""

    def make(self, values: dict[str, Any]) -> models.Model:
        return planned.make(self.act(), self.model, values, record=self.named)

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        return planned.change(self.act(), found, values, version=version, record=self.named)

    def take_away(self, found: Any, version: int) -> None:
        planned.remove(self.act(), found, version=version, record=self.named)


class WorkStepResource(EarnedByPlan, OfficeWorkSteps):
    """What each stage of an opening takes, and whether it is ready."""


class ExplainedSerializer(serializers.Serializer):
    """What follows from a unit: the verdicts of `panels` and `weights` on it. `refused`: why nothing can be."""

    panels = VerdictSerializer(allow_null=True)
    weights = VerdictSerializer(allow_null=True)
    refused = serializers.DictField(allow_null=True)


class TakenOffSerializer(serializers.Serializer):
    """Each a verdict of `take-off`, the joints left out of it, and why nothing can be; `changed` line by line."""

    drawn = serializers.DictField()
    measured = serializers.DictField(allow_null=True)
    changed = serializers.ListField(child=serializers.DictField())


class UnitResource(EarnedByPlan, OfficeUnits):
    """What goes in an opening; one unit an opening."""

    acts = {"list_parts": OfficeUnits.keeps, "lay_out": OfficeUnits.keeps}

    @extend_schema(responses=ExplainedSerializer, filters=False)
    @action(detail=True)
    def explained(self, request: Request, pk: str) -> HttpResponse:
        """Its panels, tracks, pocket and weights as its door system makes them, in the pocket that was measured."""
        return self.shown(explained(self.found("read")).as_dict())

    @extend_schema(responses=TakenOffSerializer, filters=False)
    @action(detail=True, url_path="take-off")
    def take_off(self, request: Request, pk: str) -> HttpResponse:
        """Joints, sealant, anchors and packing: off the drawing, and of this opening once it is measured."""
        return self.shown(taken_off(self.found("read")).as_dict())

    @extend_schema(request=None, parameters=[IF_MATCH], responses=UnitSerializer)
    @action(detail=True, methods=["post"], url_path="lay-out")
    def lay_out(self, request: Request, pk: str) -> HttpResponse:
        """Its panels made anew from that. 409 with every reason where it cannot be built, or a panel has come."""
        found = self.found(self.keeps)
        return self.record(lay_out_panels(self.act(), found.pk, version=self.version(found)))

    @extend_schema(request=None, parameters=[IF_MATCH], responses=UnitSerializer)
    @action(detail=True, methods=["post"], url_path="list-parts")
    def list_parts(self, request: Request, pk: str) -> HttpResponse:
        """Its parts listed anew from its door system, panels and take-off; what came of them is kept."""
        found = self.found(self.keeps)
        return self.record(make_parts(self.act(), found.pk, version=self.version(found)))


HAND = "handle a panel"


def handling(what: str, does: str) -> Any:
    """One of the things that are done with a panel."""

    @extend_schema(request=bodies.PanelActIn, responses={201: PanelChangeSerializer, 200: PanelChangeSerializer},
                   description=does)
    def handler(self: PanelResource, request: Request, pk: str) -> HttpResponse:
        panel = self.found()
        return self.entry(bodies.PanelActIn, lambda act, **sent: handle_panel(act, panel.pk, what, **sent),
                          PanelChangeSerializer)

    handler.__name__ = what.replace("-", "_")
    handler.__doc__ = does
    return action(detail=True, methods=["post"], url_path=what)(handler)


class PanelResource(EarnedByPlan, OfficePanels):
    """Panels, and what is done with them."""

    acts = dict.fromkeys(("receive", "hang", "adjust", "take_out", "damage", "replace"), HAND)

    receive = handling("receive", "It came.")
    hang = handling("hang", "It hangs in its track. In the wrong order: 409 and why; with `done_on_site` it is kept.")
    adjust = handling("adjust", "Its rollers are set and its reveals read.")
    take_out = handling("take-out", "It came out again, with the reason.")
    damage = handling("damage", "It was damaged, with what happened.")
    replace = handling("replace", "A new one came in its place.")

