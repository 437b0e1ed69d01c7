"""The page of one opening: what it shows."""

import itertools
import re
import zoneinfo

import pytest

from dashboard.drawings.elevation import Built, BuiltPanel, large, slim
from dashboard.drawings.spots import spots
from dashboard.measures import Reader
from dashboard.opening.story import AT_ONCE
from inspections.models import Acceptance
from inspections.services.afterwards import log_adjustment, log_callback
from inspections.services.closing import accept_opening, raise_punch_item, set_part_aside
from inspections.services.gates import pass_over, step_back
from inspections.services.panels import handle_panel
from inspections.services.parts import make_parts
from inspections.services.photos import store_photo
from inspections.services.standing import countersign
from inspections.services.waits import raise_wait
from inspections.services.work import note_event
from jobs.stages import Stage
from tests.factories import make_opening, make_party, make_user
from tests.pictures import jpeg
from tests.site import floor, frame
from tests.visits import as_role, at, post, queries, site_day, site_today, text

pytestmark = pytest.mark.django_db
ROLES = ("office", "lead", "installer", "customer-service", "guest")


def shown(client, site, person=None):
    client.force_login(person or site.office)
    answer = client.get(at(site))
    assert answer.status_code == 200
    return text(answer)


def test_an_opening_with_nothing_recorded_says_so_everywhere(client):
    client.force_login(make_user())
    opening = make_opening(rough_width=None, rough_height=None)
    page = text(client.get(f"/openings/{opening.pk}/"))
    for words in ("No unit in this opening yet", "Nothing is waited for", "Nothing read yet", "No punch items",
                  "Nothing was set aside", "No photos", "Not yet. 0 of"):
        assert words in page


@pytest.mark.parametrize("role", ROLES)
def test_everybody_who_may_see_it_sees_it(client, role):
    site = site_today()
    assert "Next: opening verified" in shown(client, site, as_role(site, role))


@pytest.mark.parametrize("role", ["lead", "installer"])
def test_the_opening_of_another_crew_is_not_there(client, role):
    site = site_today()
    client.force_login(make_user(role))
    assert client.get(at(site)).status_code == 404


def test_an_opening_that_is_not_there_is_not_there(client):
    client.force_login(make_user())
    assert client.get("/openings/999999/").status_code == 404
    assert client.get(f"/openings/{10**30}/").status_code == 404


def test_the_title_block_says_which_job_opening_unit_crew_and_when(client):
    site = site_today(Stage.OPENING_VERIFIED, tag="A2", location="great room")
    page = shown(client, site)
    for words in (site.opening.job.title, "A2, great room", "2 panels, one way, pocket left",
                  f"{site.crew.name}, pencilled", "Opening verified, since"):
        assert words in page


def test_each_stage_says_on_what_it_stood(client):
    site = site_today(Stage.FRAME_SET)
    page = shown(client, site)
    assert "15 checks" in page
    assert "10 checks" in page
    assert "hold point, not released" in page


def test_a_gate_says_every_reason_at_once(client):
    site = site_today()
    site.read("floor-profile", floor([0, 0, 3, 0, 0, 0, 0]))
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
    page = shown(client, site)
    assert "Waiting on the builder: the floor" in page
    assert 'Rise in a foot: 3/16"' in page
    assert 'at most 1/16"' in page
    assert '1/8" over' in page
    assert "Grind the high end or fill the low end of it." in page
    assert "Pocket wall open: not done yet" in page
    assert "hidden in the pocket: nobody passes it over" in page


def test_a_gate_that_passes_offers_the_next_stage(client):
    site = site_today()
    site.evidence(Stage.OPENING_VERIFIED)
    page = shown(client, site)
    assert "All 15 checks stand." in page
    assert "Opening verified: done" in page


def test_lengths_are_read_in_the_readers_units(client):
    site = site_today()
    site.read("floor-profile", floor([0, 0, 3, 0, 0, 0, 0]))
    site.office.units = "mm"
    site.office.save()
    page = shown(client, site)
    assert "Rise in a foot: 4.8 mm" in page
    assert "between 305 mm and 610 mm" in page


def test_times_stand_on_the_clock_of_the_job(client):
    site = site_today()
    type(site.opening.job).objects.filter(pk=site.opening.job_id).update(time_zone="Asia/Kathmandu")
    made = site.read("last-panel-gap", {"gap": "18"})
    there = made.taken_at.astimezone(zoneinfo.ZoneInfo("Asia/Kathmandu"))
    assert f"{there:%H:%M}, {site.lead.name}" in shown(client, site)


def passed_over():
    site = site_today(Stage.OPENING_VERIFIED)
    site.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set")
    site.evidence(Stage.FRAME_SET, without=("frame",))
    change = pass_over(site.act(), site.opening.pk, "The trim covers it.")
    return site, change


def test_a_gate_passed_over_stays_visible_with_its_reason_and_what_the_office_owes(client):
    site, change = passed_over()
    page = shown(client, site)
    assert "Passed over: The trim covers it." in page
    assert "9 of 10 checks; not: Gap at one end of the sill against the other" in page
    assert "The office still owes its countersignature." in page
    countersign(site.act(site.office), change.countersignature.pk, give=True, version=1)
    assert f"Countersigned by {site.office.name}" in shown(client, site)


def test_the_hold_point_says_what_it_waits_for_until_it_is_released(client):
    site = site_today(Stage.FRAME_SET)
    page = shown(client, site)
    assert "The pocket stays open. 0 of 4 checks stand." in page
    assert "The pocket is not released to close." in page
    site.close_pocket()
    assert "The pocket stays open" not in shown(client, site)


def test_what_was_done_out_of_order_is_kept_with_its_reasons(client):
    site = site_today(Stage.FRAME_SET)
    handle_panel(site.act(), site.panel("B").pk, "receive")
    handle_panel(site.act(), site.panel("B").pk, "hang", done_on_site=True)
    page = shown(client, site)
    assert "Recorded, not advanced" in page
    assert "Panel B comes after A." in page


def test_panels_stand_with_weight_track_and_state_and_a_caution(client):
    site = site_today(Stage.FRAME_SET)
    handle_panel(site.act(), site.panel("A").pk, "receive")
    page = shown(client, site)
    assert "399 lb" in page
    assert "here, not hung" in page
    assert "The lifting equipment's manual, site rules and local law decide." in page


def test_evidence_that_no_longer_counts_says_what_ended_it(client):
    site = site_today()
    site.evidence(Stage.OPENING_VERIFIED)
    note_event(site.act(), site.opening.pk, "re-pour")
    assert "no longer counts: the floor was poured again" in shown(client, site)


def test_items_parts_and_events_are_listed(client):
    site = site_today()
    raise_punch_item(site.act(), site.opening.pk, what="Scratch on the cover", owner_id=site.lead.pk,
                     due_day=site.act().today())
    set_part_aside(site.act(), site.opening.pk, what="Track cover", where_kept="van")
    page = shown(client, site)
    for words in ("1. Scratch on the cover", "Track cover", "must go back"):
        assert words in page


def test_history_stands_in_the_order_it_happened(client):
    site = site_today(Stage.FRAME_SET)
    step_back(site.act(), site.opening.pk, "opening verified", "the sill came out")
    page = shown(client, site)
    history = page[page.index('id="history"'):]
    told = [history.index(words) for words in ("Advanced to opening verified", "Advanced to frame set",
                                              "Stepped back to opening verified")]
    assert told == sorted(told)


def test_a_long_history_goes_on_further_back(client):
    site = site_today()
    for _ in range(70):
        site.confirm("header-in")
    client.force_login(site.office)
    first = client.get(at(site)).context["o"]
    assert len(first.history) == 60
    earlier = client.get(at(site), {"before": first.earlier_history}).context["o"]
    assert (len(earlier.history), earlier.earlier_history) == (10, None)


@pytest.mark.parametrize("odd", ["x", "-1", "9" * 40, "²"])
def test_an_odd_place_in_the_history_is_as_if_it_were_not_there(client, odd):
    site = site_today()
    client.force_login(site.office)
    assert client.get(at(site), {"before": odd}).status_code == 200


def test_accepted_says_by_whom_and_subject_to_what(client):
    site = site_today(Stage.PUNCH_LIST)
    item = raise_punch_item(site.act(), site.opening.pk, what="Scratch on the cover", owner_id=site.lead.pk,
                            due_day=site.act().today())
    accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed on site", subject_to=[item.pk])
    page = shown(client, site)
    assert "Accepted by The owner, signed on site." in page
    assert "Subject to: 1. Scratch on the cover" in page


def test_photos_stand_with_their_captions(client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    site = site_today()
    store_photo(site.act(), site.opening.pk, jpeg(40, 30), caption="Header from inside")
    assert 'alt="Header from inside"' in shown(client, site)


# ---- what a role may not, is not on its page -------------------------------------------------------------

FORBIDDEN = {
    "guest": ("opening-wait", "opening-confirm", "opening-advance", "opening-step-back", "opening-punch", "readings"),
    "installer": ("opening-pass-over", "opening-step-back", "opening-clear-wait", "opening-countersign"),
    "lead": ("opening-countersign",),
    "customer-service": ("opening-confirm", "opening-advance", "opening-hours", "opening-punch"),
}


@pytest.mark.parametrize("role", FORBIDDEN)
def test_no_form_is_offered_for_what_this_role_may_not_do(client, role):
    site, _ = passed_over()
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
    page = shown(client, site, as_role(site, role))
    for name in FORBIDDEN[role]:
        address = at(site, name, "frame") if name == "readings" else at(site, name)
        assert f'action="{address}"' not in page
        assert f'href="{address}"' not in page


def test_the_office_is_offered_every_act(client):
    site, _ = passed_over()
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
    page = shown(client, site)
    for name in ("wait", "clear-wait", "confirm", "step-back", "punch", "countersign", "hours", "joint", "event",
                 "set-aside", "photo", "panel", "panel-next"):
        assert f'action="{at(site, f"opening-{name}")}"' in page


def test_a_guest_reads_no_party_by_name(client):
    site = site_today()
    builder = make_party(name="Quoin and Daughters")
    type(site.opening.job).objects.filter(pk=site.opening.job_id).update(builder=builder)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", owed_by_id=builder.pk)
    assert "Quoin" in shown(client, site)
    assert "Quoin" not in shown(client, site, make_user("guest"))


def test_nothing_on_the_page_promises_what_is_not_ours_to_promise(client):
    site = site_today(Stage.FRAME_SET)
    assert "safe" not in shown(client, site).lower()


# ---- how many queries ------------------------------------------------------------------------------------


def test_it_takes_as_many_queries_for_ten_rows_of_each_as_for_twenty(client):
    site = site_today(Stage.OPENING_VERIFIED)

    def ten_more():
        for _ in range(10):
            site.read("last-panel-gap", {"gap": "18"})
            site.confirm("header-in")
            raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
            raise_punch_item(site.act(), site.opening.pk, what="Scratch", owner_id=site.lead.pk,
                             due_day=site.act().today())
            set_part_aside(site.act(), site.opening.pk, what="Track cover")
            note_event(site.act(), site.opening.pk, "re-pour")

    client.force_login(site.office)
    ten_more()
    ten = queries(client, at(site))
    ten_more()
    assert queries(client, at(site)) == ten == 34  # two for the builder's link, one for the pocket wall


def test_what_happened_several_times_in_a_minute_is_one_line_of_the_history(client):
    site = site_today()
    act = site.act()
    for _ in range(3):
        note_event(act, site.opening.pk, "other-trades")
    client.force_login(site.office)
    lines = [line.what for line in client.get(at(site)).context["o"].history]
    assert [line for line in lines if "Other trades" in line] == ["Other trades in the opening (3 times)"]


# ---- what lies open --------------------------------------------------------------------------------------


def lies_open(client, site, url=""):
    client.force_login(site.office)
    return {name for name, is_open in client.get(url or at(site)).context["o"].unfolded.items() if is_open}


@pytest.mark.parametrize(("stage", "parts"), [
    (Stage.TO_BE_MEASURED, set()), (Stage.FRAME_SET, {"panels"}), (Stage.PANELS_HUNG, {"panels"}),
    (Stage.ADJUSTED, {"joints"}), (Stage.ACCEPTED, set())])
def test_what_is_worked_at_next_lies_open_and_the_rest_is_a_line_each(client, stage, parts):
    site = site_today(stage)
    assert lies_open(client, site) == parts
    assert len(lies_open(client, site, at(site) + "?all=1")) == 13


def test_what_is_left_to_do_lies_open(client):
    site = site_today(Stage.SEALED)
    set_part_aside(site.act(), site.opening.pk, what="Track cover")
    raise_punch_item(site.act(), site.opening.pk, what="Scratch", owner_id=site.lead.pk, due_day=site_day(site))
    handle_panel(site.act(), site.panel("A").pk, "damage", reason="chipped")
    assert lies_open(client, site) == {"panels", "parts", "items"}
    page = shown(client, site)
    assert "1 must go back" in page and "1 open" in page


def test_a_form_that_came_back_is_not_folded_away(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "opening-event"), kind="")
    assert answer.context["o"].unfolded["events"]


def test_a_folded_part_says_what_is_in_it(client):
    site = site_today(Stage.FRAME_SET)
    site.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set")
    in_short = shown(client, site)
    for said in ("0 of 2 hung", "not all within their limits: 1", "none", "earned,"):
        assert said in in_short


def test_one_set_of_readings_for_several_checks_is_asked_for_once(client):
    site = site_today()
    client.force_login(site.lead)
    rows = client.get(at(site)).context["o"].next_gate.not_passing
    asked = [row.said.code for row in rows if row.sheet == "rough-opening" and not row.read_with]
    assert asked == ["size"]
    assert "Read with no. 1." in shown(client, site)


def test_with_two_pockets_it_says_that_nobody_entered_which_panel_runs_where(client):
    site = site_today(Stage.FRAME_SET, panels="ABCD", pocket_side="both")
    guessed = "of two on one track the earlier letter is drawn left"
    assert guessed in shown(client, site)
    site.unit.panels.update(side="left")
    assert guessed not in shown(client, site)


def test_who_stepped_it_back_and_why_stands_at_the_stage_that_is_to_be_reached_again(client):
    site = site_today(Stage.OPENING_VERIFIED)
    owed = a_gate_passed_over(site)
    countersign(site.act(site.office), owed.pk, give=False, reason="Set the sill over.", version=1)
    assert f"{site.office}: Countersignature refused: Set the sill over." in shown(client, site)
    assert sum(bool(row.went_back) for row in client.get(at(site)).context["o"].stages) == 1


def a_gate_passed_over(site):
    site.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set")
    site.evidence(Stage.FRAME_SET, without=("frame",))
    return pass_over(site.act(), site.opening.pk, "The trim covers it.").countersignature


def test_each_joint_the_gate_asks_for_is_recorded_at_its_row(client):
    site = site_today(Stage.ADJUSTED)
    client.force_login(site.lead)
    rows = [r for r in client.get(at(site)).context["o"].next_gate.not_passing if r.joint]
    assert [r.joint["joint"].value() for r in rows] == [
        "seal:head:outside", "seal:lock-jamb:outside", "seal:interlock:outside", "seal:sill:inside"]
    answer = post(client, site.lead, at(site, "opening-joint"), about="seal:head:outside", joint="seal:head:outside",
                  done="yes", conditions="nonsense")
    assert answer.status_code == 422
    back = [r for r in answer.context["o"].next_gate.not_passing if r.joint and r.joint.errors]
    assert [r.said.raw_place for r in back] == ["head outside"]


def test_while_the_pocket_is_open_it_stands_before_the_panels(client):
    site = site_today(Stage.FRAME_SET)
    page = shown(client, site)
    assert page.index("Hold point: the pocket closes") < page.index("Next: panels hung")


@pytest.mark.parametrize(("stage", "codes"), [
    (Stage.TO_BE_MEASURED, ["pocket-open", "header-in"]),
    (Stage.FRAME_SET, ["pan-tested", "studs-clear", "lifting-fits", "panels-in-order", "rolls-freely"])])
def test_where_somebody_can_be_hurt_the_gate_says_once_who_decides(client, stage, codes):
    site = site_today(stage)
    client.force_login(site.lead)
    sheet = client.get(at(site)).context["o"]
    rows = [row for gate in (sheet.hold_point, sheet.next_gate) if gate for row in gate.not_passing if row.caution]
    assert [row.said.code for row in rows] == codes


def test_the_finishing_steps_of_the_door_system_stand_in_their_order_done_or_not(client):
    site = site_today(Stage.SEALED)
    assert "Finishing steps</h2>" not in shown(client, site)
    site.unit.system.finishing_steps = ["Head block back <and> screwed", "Holes filled"]
    site.unit.system.save()
    page = shown(client, site)
    assert page.count("<ol><li>Head block back &lt;and&gt; screwed</li><li>Holes filled</li></ol>") == 2, "at its check"
    assert "Not said to be done yet." in page
    assert "finishing" in lies_open(client, site)
    site.confirm("finishing-steps", "no")
    assert '<p class="wait"><b>Fails.</b>' in shown(client, site)
    site.confirm("finishing-steps")
    page = shown(client, site)
    assert page.count('<span class="small">done</span></li>') == 2 and "<b>Done.</b>" in page


def test_an_older_page_of_the_history_stays_unfolded_all(client):
    site = site_today()
    for n in range(AT_ONCE + 1):
        site.read("last-panel-gap", {"gap": str(18 + n)})
    client.force_login(site.office)
    older = client.get(at(site) + "?all=1").context["o"].earlier_history
    assert f'?before={older}&all=1#history' in shown_at(client, at(site) + "?all=1")
    assert lies_open(client, site, f"{at(site)}?before={older}") == {"history"}


def shown_at(client, url):
    return text(client.get(url))


def test_with_parts_listed_the_gate_says_what_is_missing_and_asks_nobody_to_confirm_it(client):
    site = site_today(Stage.TO_BE_MEASURED)
    make_parts(site.act(site.office), site.unit.pk, version=1)
    client.force_login(site.office)
    page = client.get(at(site)).content.decode()
    assert "Panel A: 1 missing, on no delivery." in page
    assert 'value="material-complete:"' not in page
    assert 'value="header-in:"' in page


def test_a_splice_has_the_form_of_a_joint(client):
    site = site_today(Stage.OPENING_VERIFIED)
    type(site.unit.system).objects.update(longest_piece=3_500_000_000)
    make_parts(site.act(site.office), site.unit.pk, version=1)
    client.force_login(site.office)
    page = client.get(at(site)).content.decode()
    assert 'value="seal:sill splice 1:"' in page
    assert 'value="splices-sealed:"' in page
    assert 'value="splices-sealed:sill splice 1"' not in page


# ---- the drawing is the index ----------------------------------------------------------------------------


def test_what_is_touched_on_the_drawing_shows_what_is_known_of_it_and_of_nothing_else(client):
    site = site_today(Stage.FRAME_SET, panels="AB")
    handle_panel(site.act(), site.panel("A").pk, "damage", reason="a corner of the glass is chipped")
    raise_punch_item(site.act(), site.opening.pk, what="Scratch on the stile", owner_id=site.lead.pk,
                     due_day=site_day(site), panel_id=site.panel("A").pk)
    raise_punch_item(site.act(), site.opening.pk, what="Weep full of dust", owner_id=site.lead.pk,
                     due_day=site_day(site), place="sill")
    panel, other, sill = (known_at(client, site, place) for place in ("A", "B", "sill"))
    assert "a corner of the glass is chipped" in panel and "1. Scratch on the stile" in panel
    assert "dust" not in panel and "Nothing is recorded of it yet." in other
    assert "2. Weep full of dust" in sill and "Floor" in sill and "Sill, highest over lowest" in sill
    assert "Scratch" not in sill


def known_at(client, site, place):
    client.force_login(site.office)
    answer = client.get(at(site), {"at": place})
    assert answer.status_code == 200
    page = answer.content.decode()
    return page.partition('<section id="at"')[2].partition("</section>")[0]


@pytest.mark.parametrize("side, jambs", [("left", {"lock-jamb", "interlock"}), ("none", {"lock-jamb"}),
                                         ("both", {"interlock-left", "interlock-right"})])
def test_every_place_of_the_drawing_can_be_touched_and_read_out(client, side, jambs):
    site = site_today(Stage.FRAME_SET, panels="AB", pocket_side=side)
    page = shown(client, site)
    touched = set(re.findall(r'class="spot" href="\?at=([\w-]+)#at" aria-label="[^"]+"', page))
    pocket = set() if side == "none" else {"pocket"}
    assert touched == {"A", "B", "sill", "head"} | jambs | pocket
    assert all(f'<a href="?at={place}#at">' in page for place in touched)


def test_a_place_that_is_not_on_the_drawing_shows_nothing(client):
    site = site_today(Stage.FRAME_SET, panels="AB")
    for place in ("Z", "roof", '"><script>', "members_apart"):
        assert known_at(client, site, place) == ""


def test_two_spots_of_a_drawing_never_lie_over_each_other(client):
    for side, letters in (("left", "AB"), ("both", "ABCDEFGH"), ("right", "ABCDEFGH")):
        built = Built(Stage.FRAME_SET.value, side, 9_000_000_000, 2_600_000_000,
                      panels=tuple(BuiltPanel(letter, "hung", track=n % 4 + 1) for n, letter in enumerate(letters)))
        for drawn, beside in ((large(built, Reader()), True), (slim(built, Reader()), False)):
            boxes = [spot.box for spot in spots(drawn, built, beside=beside)]
            assert len(boxes) >= 2
            for one, two in itertools.combinations(boxes, 2):
                across = min(one.right, two.right) - max(one.x, two.x)
                down = min(one.bottom, two.bottom) - max(one.y, two.y)
                assert across <= 0.3 or down <= 0.3, (side, one, two)


def test_what_a_stage_stood_on_unfolds_check_by_check_with_its_readings(client):
    site = site_today(Stage.FRAME_SET)
    client.force_login(site.office)
    page = text(client.get(at(site)))
    row = next(row for row in client.get(at(site)).context["o"].stages if row.name == "Frame set")
    level = next(one for one in row.stood if one.title == "Sill level lengthwise")
    assert (level.stands, bool(level.reading), str(site.lead) in level.when) == (True, True, True)
    assert f'href="/openings/{site.opening.pk}/inspections/{level.reading}/">Sill level lengthwise' in page


def test_a_panel_shows_the_calls_about_it_and_what_was_turned_before_and_after(client):
    site = site_today(Stage.ACCEPTED)
    call = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="It drags at noon.",
                        panel_id=site.panel("A").pk)
    log_adjustment(site.act(), site.opening.pk, what="rollers", panel_id=site.panel("A").pk,
                   turns=[{"roller": "near", "eighths": -3}], before={"start_n": "60"}, after={"start_n": "50"})
    client.force_login(site.office)
    page = text(client.get(at(site) + "?at=A"))
    assert (f'href="/callbacks/{call.pk}/">{call.number}' in page, "It drags at noon." in page) == (True, True)
    assert "near roller 3/8 turns down; before: " in page
    assert call.number not in text(client.get(at(site) + "?at=B")).split('id="at"')[1].split("</section>")[0]


def test_who_may_not_read_contacts_does_not_read_who_accepted_it(client):
    site = site_today(Stage.ACCEPTED)
    by = Acceptance.objects.get().accepted_by
    for role, seen in (("office", True), ("guest", False)):
        client.force_login(as_role(site, role))
        assert (by in text(client.get(at(site)))) is seen, role
