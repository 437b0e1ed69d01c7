"""The wall that hides the panels: who of the builder's side saw how deep anything may be fixed into it."""

import pytest

from inspections.models import WallAgreement
from inspections.services.photos import store_photo
from inspections.services.walls import countersign_wall, mark_of, marks_now, still_counts, wall_figures
from jobs.errors import AlreadyHasOther, Invalid, NotAllowed, Refusal
from jobs.models import Change
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.pictures import jpeg
from tests.site import Site
from tests.visits import on_the_crew

pytestmark = pytest.mark.django_db
WALL = {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}


@pytest.fixture
def site():
    site = Site()
    site.read("fastener", WALL)
    return site


def signed(site, person=None, **values):
    return countersign_wall(site.act(person), site.opening.pk, **{"name": "Pat Lund", "trade": "drywall", **values})


def counts(site, agreement):
    site.opening.refresh_from_db()
    return still_counts(agreement, wall_figures(site.opening, site.opening.inspections.order_by("-taken_at", "-id")))


def test_it_keeps_who_saw_it_and_the_figures_as_they_stood(site):
    agreement = signed(site)
    assert (agreement.name, agreement.trade, agreement.by) == ("Pat Lund", "drywall", site.lead)
    # 5/8 in and 1 1/2 in, less 6 mm: 15.875 + 38.1 - 6
    assert agreement.figures == {"pocket_side": site.opening.pocket_side, "place": "", "board_mm": "15.875000",
                                 "stud_mm": "38.100000", "longest_mm": "47.975000", "used_mm": "44.450000"}
    assert agreement.figures_sha256 == mark_of(agreement.figures)
    assert Change.objects.filter(what="wall countersigned", record_id=str(agreement.pk)).count() == 1


def test_it_counts_until_the_figures_are_others_and_again_when_they_are_the_same(site):
    agreement = signed(site)
    assert counts(site, agreement)
    site.read("fastener", {**WALL, "stud": "2 1/2"})
    assert not counts(site, agreement)
    site.read("fastener", {"unit": "mm", "longest": "44.45", "board": "15.875", "stud": "38.1"})
    assert counts(site, agreement), "the same in other units"
    site.read("fastener", {"board": "5/8"})
    assert not counts(site, agreement), "nothing is known now"


def test_of_two_pockets_the_wall_of_each_is_agreed_to():
    site = Site("ABCD", pocket_side="both")
    site.read("fastener", WALL, place="left pocket")
    with pytest.raises(Refusal, match="of two pockets at each"):
        signed(site)
    site.read("fastener", {**WALL, "stud": "2 1/2"}, place="right pocket")
    agreement = signed(site)
    assert agreement.figures["pocket_side"] == "both"
    # 15.875 + 38.1 - 6, and with an inch more of stud
    assert [(wall["place"], wall["longest_mm"]) for wall in agreement.figures["walls"]] == [
        ("left pocket", "47.975000"), ("right pocket", "73.375000")]
    assert counts(site, agreement)
    assert marks_now([site.opening.pk]) == {site.opening.pk: agreement.figures_sha256}
    site.read("fastener", {**WALL, "stud": "2"}, place="left pocket")
    assert not counts(site, agreement)


def test_of_two_pockets_what_was_signed_out_of_reach_counts_on_both_as_they_stood():
    site = Site("ABCD", pocket_side="both")
    for place in ("left pocket", "right pocket"):
        site.read("fastener", WALL, place=place)
    seen = mark_of(wall_figures(site.opening, site.opening.inspections.order_by("-taken_at", "-id")))
    site.read("fastener", {**WALL, "stud": "2"}, place="right pocket")
    agreement = signed(site, seen=seen, done_on_site=True)
    assert agreement.figures_sha256 == seen and not counts(site, agreement)


def test_another_wall_is_another_agreement(site):
    agreement = signed(site)
    other = {"left": "right", "right": "left"}[site.opening.pocket_side]
    type(site.opening).objects.filter(pk=site.opening.pk).update(pocket_side=other)
    assert not counts(site, agreement)


def test_without_figures_there_is_nothing_to_agree_to():
    site = Site()
    with pytest.raises(Refusal) as why:
        signed(site)
    assert why.value.code == "wall-not-read"
    site.read("fastener", {"board": "5/8"})
    with pytest.raises(Refusal):
        signed(site)


def test_figures_read_since_they_were_shown_are_shown_first(site):
    shown = signed(site).figures_sha256
    site.read("fastener", {**WALL, "stud": "2 1/2"})
    with pytest.raises(Refusal) as why:
        signed(site, seen=shown)
    assert why.value.code == "wall-changed"
    assert WallAgreement.objects.count() == 1


@pytest.mark.parametrize("lacks", ["name", "trade"])
def test_it_says_who(site, lacks):
    with pytest.raises(Invalid) as why:
        signed(site, **{lacks: " "})
    assert set(why.value.fields) == {lacks}


def test_sent_twice_it_is_one_and_with_other_content_the_first_stays(site):
    entry = new_id()
    assert signed(site, entry_id=entry).pk == signed(site, entry_id=entry).pk == entry
    with pytest.raises(AlreadyHasOther):
        signed(site, entry_id=entry, name="Kim Berg")
    assert WallAgreement.objects.get().name == "Pat Lund"


def test_the_photo_of_the_signed_paper_is_one_of_this_opening(site, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    other = Site()
    paper = store_photo(site.act(), site.opening.pk, jpeg(40, 30))
    strange = store_photo(other.act(), other.opening.pk, jpeg(40, 30))
    assert signed(site, photo_id=paper.pk).photo == paper
    with pytest.raises(Invalid):
        signed(site, photo_id=strange.pk)


@pytest.mark.parametrize("role", ["installer", "customer-service", "guest"])
def test_who_may_not_is_told_so(site, role):
    with pytest.raises(NotAllowed):
        signed(site, on_the_crew(site, role))
    assert not WallAgreement.objects.exists()


def test_no_gate_asks_for_it():
    site = Site().bring_to(Stage.PANELS_HUNG)
    assert not WallAgreement.objects.exists()
    site.opening.refresh_from_db()
    assert site.opening.stage == Stage.PANELS_HUNG
