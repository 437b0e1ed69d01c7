"""Who has the opening from when, and in what condition it was handed over."""

import pytest

from inspections.services.custody import hand_over
from inspections.services.entries import take_in
from inspections.services.looking import look_at
from jobs.errors import AlreadyHasOther, Invalid, NotAllowed, NotThere
from jobs.models import Custody, Event, Opening
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import act_for, make_user
from tests.site import Site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return Site("AB")


def ended(site: Site) -> set[str]:
    gate = look_at(Opening.objects.get(pk=site.opening.pk), site.now, Stage.OPENING_VERIFIED)
    return {o.ended_by for o in gate.outcomes if o.result == "ended"}


def test_every_change_is_kept_with_who_and_its_condition(site):
    hand_over(site.act(), site.opening.pk, holder="crew", condition="Floor swept, wall open.")
    hand_over(site.act(), site.opening.pk, holder="builder", who="the superintendent", condition="Frame covered.")
    assert [(c.holder, c.crew, c.who, c.condition) for c in Custody.objects.all()] == [
        ("crew", site.crew, "", "Floor swept, wall open."),
        ("builder", None, "the superintendent", "Frame covered.")]


def test_other_trades_in_the_opening_end_what_was_verified(site):
    site.evidence(Stage.OPENING_VERIFIED)
    assert ended(site) == set()
    hand_over(site.act(), site.opening.pk, holder="other-trades", who="plasterers", condition="Sill covered.")
    assert ended(site) == {"other-trades"}
    assert Event.objects.get().note == "Handed over: plasterers"


@pytest.mark.parametrize("holder", ["crew", "builder", "owner"])
def test_handed_to_anybody_else_what_was_verified_stands(site, holder):
    site.evidence(Stage.OPENING_VERIFIED)
    hand_over(site.act(), site.opening.pk, holder=holder, condition="As it was.")
    assert ended(site) == set()


def test_sent_twice_it_is_one_and_ends_evidence_once(site):
    entry = new_id()
    for _ in range(2):
        hand_over(site.act(), site.opening.pk, holder="other-trades", condition="Open.", entry_id=entry)
    assert (Custody.objects.count(), Event.objects.count()) == (1, 1)
    with pytest.raises(AlreadyHasOther):
        hand_over(site.act(), site.opening.pk, holder="owner", condition="Open.", entry_id=entry)


@pytest.mark.parametrize(("sent", "field"), [
    ({"holder": "builder", "condition": " "}, "condition"), ({"holder": "neighbours", "condition": "Open."}, "holder"),
    ({"holder": "owner", "condition": "Open.", "crew_id": 1}, "crew"),
    ({"holder": "crew", "condition": "Open.", "crew_id": 10**9}, "crew")])
def test_nobody_takes_over_without_a_condition(site, sent, field):
    with pytest.raises(Invalid) as refused:
        hand_over(site.act(), site.opening.pk, **sent)
    assert field in refused.value.fields
    assert not Custody.objects.exists()


@pytest.mark.parametrize(("role", "why"), [("installer", NotThere), ("guest", NotAllowed)])
def test_who_is_not_on_the_crew_hands_nothing_over(site, role, why):
    with pytest.raises(why):
        hand_over(act_for(make_user(role)), site.opening.pk, holder="owner", condition="Open.")


def test_from_a_telephone_it_comes_with_its_own_id_and_time(site):
    act, entry = site.act(), str(new_id())
    sent = {"id": entry, "entry": "custody", "opening": site.opening.pk, "taken_at": site.now.isoformat(),
            "data": {"holder": "owner", "condition": "Swept, two keys handed over."}}
    assert [r["result"] for r in (*take_in(act, [sent]), *take_in(act, [sent]))] == ["stored", "had already"]
    assert str(Custody.objects.get().pk) == entry
