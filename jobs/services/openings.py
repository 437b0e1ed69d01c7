"""A new opening, with the work that leads it through its stages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jobs.acts import Act, carry_out
from jobs.models import Opening, WorkStep
from jobs.services import office
from jobs.stages import ORDER, TRANSITIONS, Stage


def make_opening(act: Act, values: Mapping[str, Any]) -> Opening:
    """The opening and one work step a stage; what each takes is planned afterwards."""
    with carry_out(act):
        opening = office.create(act, Opening, values, record="openings")
        opening.stage_since = act.now
        opening.save(update_fields=["stage_since"])
        WorkStep.objects.bulk_create([
            WorkStep(opening=opening, stage=stage.value, ready=before is ORDER[0], not_ready=_not_yet(before),
                     created_at=act.now)
            for before, stage in TRANSITIONS.items()])
    return opening


def _not_yet(before: Stage) -> list[dict[str, str]]:
    return [] if before is ORDER[0] else [{"reason": "earlier-stage", "stage": before.value}]
