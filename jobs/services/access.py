"""Asks the one table of roles whether this act may be done here."""

from __future__ import annotations

from jobs.acts import Act
from jobs.errors import NotAllowed, NotThere
from jobs.models import Opening
from jobs.roles import LABELS, Reach, Role, reach


def require(act: Act, what: str, opening: Opening | None = None) -> Reach:
    """The reach of this act; refuses with the reason. What one may not see is answered as not being there."""
    if not act.user.is_active:
        raise NotAllowed("This account is closed.")
    how_far, seen = reach(act.role, what), reach(act.role, "read")
    if opening is not None and not may_see(act, opening):
        raise NotThere("There is no such opening among yours.")
    if how_far is None:
        raise NotAllowed(f"{LABELS[Role(act.role)]} may not {what}.")
    if how_far is Reach.ALL:
        return how_far
    # Where one may act as far as one may read, that the opening was seen above has answered already.
    if opening is None or (how_far != seen and not _open_to(act, what, opening)):
        raise NotAllowed(f"{LABELS[Role(act.role)]} may {what} only on their own openings.")
    return how_far


def may(act: Act, what: str, opening: Opening | None = None) -> bool:
    try:
        require(act, what, opening)
    except (NotAllowed, NotThere):
        return False
    return True


def may_see(act: Act, opening: Opening) -> bool:
    if reach(act.role, "read") is Reach.ALL:
        return True
    return Opening.objects.filter(pk=opening.pk).visible_to(act.user, act.role, act.today()).exists()


def _open_to(act: Act, what: str, opening: Opening) -> bool:
    return Opening.objects.filter(pk=opening.pk).open_to(what, act.user, act.role, act.today()).exists()


def locked(opening_id: int) -> Opening:
    """The opening, held against everybody else until the act is done; what only points at it is not held up."""
    rows = Opening.objects.select_for_update(of=("self",), no_key=True).select_related("job")
    found = rows.filter(pk=opening_id).first()
    if found is None:
        raise NotThere("There is no such opening.")
    return found
