"""What still stands, and what does not, after an opening went back."""

import datetime as dt

import pytest

from inspections.models import Acceptance, Check, Countersignature
from inspections.services.closing import accept_opening, close_punch_item, raise_punch_item
from inspections.services.gates import advance_opening, pass_over, step_back
from inspections.services.panels import handle_panel
from inspections.services.standing import countersign
from jobs.errors import AlreadyHasOther, GateSaysNo
from jobs.models import EarnedMinutes, StageChange
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.site import Site
from units.models import PanelChange

pytestmark = pytest.mark.django_db

OV, FS = Stage.OPENING_VERIFIED, Stage.FRAME_SET


@pytest.fixture
def bare() -> Site:
    """Its next gate asks one thing, which is not there."""
    Check.objects.filter(stage__in=(OV, FS)).delete()
    Check.objects.create(code="plain", title="plain", stage=OV, judged_by="confirmed")
    return Site("AB")


def refuse(site: Site) -> Countersignature:
    owed = Countersignature.objects.get(state="owed")
    done = countersign(site.act(site.office), owed.pk, give=False, reason="we looked", version=owed.version)
    site.opening.refresh_from_db()
    return done


def test_a_word_refused_after_the_gate_was_gone_through_properly_puts_nothing_back(bare):
    pass_over(bare.act(), bare.opening.pk, "agreed")
    step_back(bare.act(), bare.opening.pk, Stage.TO_BE_MEASURED, "done again")
    bare.confirm("plain")
    bare.advance(OV)
    refused = refuse(bare)
    assert (refused.state, refused.put_back) == ("refused", None)
    assert bare.opening.stage == OV


def test_a_word_refused_after_a_step_back_that_did_not_reach_the_gate_still_puts_back(bare):
    pass_over(bare.act(), bare.opening.pk, "agreed")
    bare.advance(FS)
    step_back(bare.act(), bare.opening.pk, OV, "the sill again")
    assert refuse(bare).put_back is not None
    assert bare.opening.stage == Stage.TO_BE_MEASURED


def test_a_gate_that_was_passed_over_stays_beside_its_stage_and_only_there(bare):
    pass_over(bare.act(bare.office), bare.opening.pk, "the shims take it up")
    bare.opening.refresh_from_db()
    assert bare.opening.passed_over == "the shims take it up"
    bare.advance(FS)
    assert bare.opening.passed_over == ""
    step_back(bare.act(), bare.opening.pk, OV, "the sill again")
    bare.opening.refresh_from_db()
    assert bare.opening.passed_over == "the shims take it up"
    step_back(bare.act(), bare.opening.pk, Stage.TO_BE_MEASURED, "all of it")
    bare.confirm("plain")
    bare.advance(OV)
    assert bare.opening.passed_over == ""


def test_a_word_refused_takes_what_was_passed_over_with_it(bare):
    pass_over(bare.act(), bare.opening.pk, "agreed")
    refuse(bare)
    assert bare.opening.passed_over == ""


def test_with_the_frame_out_no_panel_hangs_and_nothing_of_hanging_is_earned():
    site = Site("AB").bring_to(FS)
    for letter in "AB":
        handle_panel(site.act(), site.panel(letter).pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    earned = EarnedMinutes.objects.filter(work_step__stage=Stage.PANELS_HUNG)
    assert sum(line.minutes for line in earned) > 0
    step_back(site.act(), site.opening.pk, OV, "the sill is bent")
    assert [site.panel(letter).state for letter in "AB"] == ["received", "received"]
    assert PanelChange.objects.get(act="take-out").reason == "The frame came out: the sill is bent"
    assert sum(line.minutes for line in earned.all()) == 0
    with pytest.raises(GateSaysNo):
        handle_panel(site.act(), site.panel("A").pk, "hang")


def test_a_frame_that_stays_keeps_its_panels():
    site = Site("AB").bring_to(Stage.ADJUSTED)
    step_back(site.act(), site.opening.pk, FS, "the head sags")
    assert {site.panel(letter).state for letter in "AB"} == {"hung"}


def test_an_acceptance_sent_again_after_its_item_was_closed_is_the_same_acceptance():
    site = Site("AB").bring_to(Stage.PUNCH_LIST)
    due = dt.date(2026, 4, 1)
    item = raise_punch_item(site.act(), site.opening.pk, what="dent", owner_id=site.lead.pk, due_day=due)
    entry, words = new_id(), {"accepted_by": "R. Quillon", "how": "signed", "subject_to": [item.pk]}
    first = accept_opening(site.act(), site.opening.pk, entry_id=entry, **words)
    close_punch_item(site.act(), item.pk, how="filled")
    assert accept_opening(site.act(), site.opening.pk, entry_id=entry, **words) == first
    assert Acceptance.objects.count() == 1
    for other in ({"how": "by letter"}, {"subject_to": []}, {"accepted_by": "Somebody else"}):
        with pytest.raises(AlreadyHasOther):
            accept_opening(site.act(), site.opening.pk, entry_id=entry, **{**words, **other})


def test_a_move_sent_again_after_it_was_undone_does_not_move_it_again(bare):
    bare.confirm("plain")
    entry = new_id()
    advance_opening(bare.act(), bare.opening.pk, to=OV, entry_id=entry)
    step_back(bare.act(), bare.opening.pk, Stage.TO_BE_MEASURED, "done again")
    bare.confirm("plain")
    advance_opening(bare.act(), bare.opening.pk, to=OV, entry_id=entry)
    bare.opening.refresh_from_db()
    assert bare.opening.stage == Stage.TO_BE_MEASURED
    assert StageChange.objects.count() == 2
