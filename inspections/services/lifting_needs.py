"""What the heaviest panel needs, written into the step in which panels are hung: the floor below does not ask."""

from __future__ import annotations

from typing import Any

from jobs.acts import Act, Done
from jobs.models import Equipment, Opening, WorkStep
from jobs.stages import Stage
from units.models import Panel
from units.services.handling import fewest_to_steer, heaviest_of


def needs_at_end(act: Act, done: Done, opening: Opening) -> None:
    """Once for each opening whose panels an act lays out, weighs, adds or takes away."""
    done.once_at_end(("lifting needs", opening.pk), lambda: _write_needs(act, done, opening))


def _write_needs(act: Act, done: Done, opening: Opening) -> None:
    """The mass is that of the heaviest panel. Hands are at least those that steer whichever lifter of ours can take
    it; more that the office planned for stay planned. Until a panel has a mass, what the office wrote stands."""
    grams = heaviest_of(Panel.objects.filter(unit__opening=opening))
    step = WorkStep.objects.filter(opening=opening, stage=Stage.PANELS_HUNG.value).first()
    if grams is None or step is None:
        return
    hands = max(step.hands, fewest_to_steer(grams, Equipment.objects.all()) or 0)
    needs: dict[str, Any] = {"lifting_grams": grams, "hands": hands}
    if (step.lifting_grams, step.hands) != (grams, hands):
        WorkStep.objects.filter(pk=step.pk).update(**needs)
        done.note(act, "lifting needs changed", "work-steps", step.pk, opening=opening, **needs)
