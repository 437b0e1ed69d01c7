"""*The pocket closes*: released on what was seen, or closed on site all the same and kept."""

from typing import Any

import pytest

from inspections.models import Check, HoldPoint, Settlement
from inspections.services.entries import KEPT, STORED, take_in
from inspections.services.gates import advance_opening, release_hold_point, step_back
from inspections.services.looking import look_at
from inspections.services.standing import settle
from jobs.errors import GateSaysNo, Invalid
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.site import Site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return Site("AB").bring_to(Stage.FRAME_SET)


def closed_on_site(site: Site, **more: Any) -> HoldPoint:
    return release_hold_point(site.act(), site.opening.pk, done_on_site=True, **more)


def settled(site: Site, kept: HoldPoint, how: str = "advanced") -> Settlement:
    return settle(site.act(site.office), how=how, note="looked at again", hold_point_id=kept.pk)


def holds(site: Site) -> bool:
    site.opening.refresh_from_db()
    return any(block["reason"] == "hold-point" for block in look_at(site.opening, site.now).blocks)


def test_asked_beforehand_it_says_no_and_keeps_nothing(site):
    with pytest.raises(GateSaysNo):
        release_hold_point(site.act(), site.opening.pk)
    assert not HoldPoint.objects.exists()


def test_of_two_pockets_the_longest_fastener_is_read_at_each():
    site = Site("ABCD", pocket_side="both").bring_to(Stage.FRAME_SET)
    site.evidence("the pocket closes", without=("fastener",))
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}, place="left pocket")
    site.read("fastener", {"longest": "2", "board": "5/8", "stud": "1 1/2"}, place="right pocket")
    with pytest.raises(GateSaysNo) as why:
        release_hold_point(site.act(), site.opening.pk)
    assert [(r["code"], r["place"], r["result"]) for r in why.value.reasons] == [
        ("longest-fastener", "right pocket", "failed")]
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}, place="right pocket")
    assert release_hold_point(site.act(), site.opening.pk).advanced


def test_a_pocket_closed_before_it_was_seen_is_kept_with_the_reasons_and_releases_nothing(site):
    kept = closed_on_site(site)
    assert (kept.advanced, {r["code"] for r in kept.reasons}) == (
        False, {"pan-tested", "pocket-photo", "studs-clear", "longest-fastener"})
    assert holds(site)
    with pytest.raises(GateSaysNo):
        advance_opening(site.act(), site.opening.pk)


def test_sent_again_it_is_the_same(site):
    entry = new_id()
    assert closed_on_site(site, entry_id=entry) == closed_on_site(site, entry_id=entry)
    assert HoldPoint.objects.count() == 1


def test_opened_up_and_seen_it_is_settled_by_releasing_it(site):
    kept = closed_on_site(site)
    with pytest.raises(GateSaysNo):
        settled(site, kept)
    site.evidence(Check.HOLD_POINT)
    assert settled(site, kept).hold_point == kept
    assert not holds(site)
    assert HoldPoint.objects.get(advanced=True).gate["passes"] is True


def test_entered_by_mistake_it_is_settled_and_holds_as_before(site):
    kept = closed_on_site(site)
    assert settled(site, kept, "mistaken") == settled(site, kept, "stands")
    assert holds(site)


def test_told_that_it_is_closed_a_gate_that_passes_releases_it_once(site):
    site.evidence(Check.HOLD_POINT)
    assert closed_on_site(site).advanced
    assert closed_on_site(site) == HoldPoint.objects.get()


def test_stepping_back_undoes_what_was_released_and_leaves_what_was_kept(site):
    kept = closed_on_site(site)
    site.close_pocket()
    step_back(site.act(), site.opening.pk, Stage.OPENING_VERIFIED, "the sill is bent")
    kept.refresh_from_db()
    assert kept.undone_at is None
    assert HoldPoint.objects.get(advanced=True).undone_at is not None


def test_a_telephone_that_was_without_a_signal_keeps_it_too(site):
    entry = {"id": str(new_id()), "entry": "hold-point", "opening": site.opening.pk}
    answer = take_in(site.act(), [entry])[0]
    assert (answer["result"], answer["record"], len(answer["reasons"])) == (KEPT, "hold-points", 4)
    site.evidence(Check.HOLD_POINT)
    assert take_in(site.act(), [{**entry, "id": str(new_id())}])[0]["result"] == STORED


def test_one_thing_is_settled_at_a_time(site):
    kept = closed_on_site(site)
    with pytest.raises(Invalid):
        settle(site.act(site.office), how="stands", note="both", hold_point_id=kept.pk, stage_change_id=new_id())
