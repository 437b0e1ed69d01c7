"""Giving an opening's work from its own page: what is left, who could take it, pencil, ink, change, take back, told."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse
from rest_framework.test import APIClient

from inspections.services.afterwards import book_return_trip, close_callback, log_callback
from inspections.services.waits import raise_wait
from jobs.models import Assignment, Crew, CrewMember, Equipment, Job, OutOfUse, WorkStep
from jobs.services.office import change as change_record
from jobs.services.planning import assign, change_assignment, take_back, tell
from jobs.stages import Stage
from tests.factories import MM, give_work, make_crew, make_opening, make_user
from tests.visits import as_role, at, queries, site_today, text
from units.models import DoorSystem, Panel
from units.services.bringing_in import write_for

pytestmark = pytest.mark.django_db
MONDAY = dt.datetime(2026, 3, 2, 16, tzinfo=dt.UTC)  # eight in the morning at the job


def day(n):
    return MONDAY.date() + dt.timedelta(days=n)


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel(MONDAY, tick=False):
        yield


@pytest.fixture
def site():
    """A verified opening nobody has, its own crew with nothing on its days, promised in three weeks."""
    site = site_today(Stage.OPENING_VERIFIED, tag="A2")
    Assignment.objects.all().delete()
    Job.objects.filter(pk=site.opening.job_id).update(promised_date=day(21), latitude=36.0, longitude=-123.0)
    Crew.objects.filter(pk=site.crew.pk).update(name="Alder", latitude=36.1, longitude=-123.0)
    on_it = CrewMember.objects.filter(crew=site.crew)
    on_it.update(skills=["frame"])
    CrewMember.objects.create(crew=site.crew, user=make_user("installer", name="Pat Lund"), from_day=day(-99))
    WorkStep.objects.filter(opening=site.opening, stage="frame set").update(skills=["frame"])
    return site


def step(site, stage="frame set"):
    return WorkStep.objects.get(opening=site.opening, stage=stage)


def page(client, site, query="", person=None):
    client.force_login(person or site.office)
    answer = client.get(at(site, "assign") + query)
    assert answer.status_code == 200
    return text(answer)


def only(site, stage="frame set"):
    return f"?step={step(site, stage).pk}"


def by_hand(site, stage="frame set", **over):
    pk = step(site, stage).pk
    return {"do": "give", "step": [pk], "stood": "", "crew": site.crew.pk, f"start_{pk}": day(1), f"end_{pk}": day(2),
            f"hours_{pk}": "", "firmness": "pencilled", **over}


def send(client, site, data, person=None):
    client.force_login(person or site.office)
    return client.post(at(site, "assign"), data)


def given(site, stage="frame set", **over):
    values = {"crew_id": site.crew.pk, "start_day": day(1), "end_day": day(2), **over}
    return assign(site.act(site.office), step(site, stage).pk, **values)


# ---- what it takes -----------------------------------------------------------------------------------------------


def test_it_says_what_is_left_and_ticks_the_next_visit(client, site):
    WorkStep.objects.filter(opening=site.opening, stage="sealed").update(wait_after_minutes=2880)
    WorkStep.objects.filter(opening=site.opening, stage="panels hung").update(lifting_grams=200_000)
    Equipment.objects.create(name="Beam", kind="beam lifter", rated_grams=300_000, rating_includes=["design factor"],
                             people_to_steer=2)
    Equipment.objects.create(name="Doubtful", kind="beam lifter", rated_grams=300_000, rating_includes="unknown")
    shown = page(client, site)
    assert "Opening verified</label>" not in shown, "it is done"
    assert shown.split("</table>")[0].count(" checked>") == 4
    assert "Who could take it, best first: frame set, panels hung, adjusted, sealed" in shown
    for said in ("441 lb", "2 days", "First: frame set.", "Beam: holds 661 lb", "21 days left",
                 "Doubtful: <span class=\"wait\">its manual is still to be asked what it holds"):
        assert said in shown, said


def test_what_holds_it_up_is_said_with_its_day(client, site):
    raise_wait(site.act(site.office), site.opening.pk, what_for="grind the floor", owed_by_kind="builder",
               expected_day=day(3))
    WorkStep.objects.filter(opening=site.opening, stage="frame set").update(earliest_day=day(2))
    shown = page(client, site)
    assert "Frame set not before Thu 5 Mar: expected then: grind the floor." in shown
    assert "Frame set not before Wed 4 Mar: the earliest day the office set." in shown
    assert "not ready" in shown
    assert shown.split("</table>")[0].count("grind the floor") == 1, "what keeps all of them is said at the first"
    assert "<b>Thu 5 Mar" in shown, "the first day of the best"


def test_with_nothing_left_it_says_so(client):
    site = site_today(Stage.ACCEPTED)
    assert "Nothing is left to do" in page(client, site)


def test_with_nobody_to_do_it_it_says_so(client, site):
    Crew.objects.update(active=False)
    assert "No crew works on any day on which it could begin" in page(client, site)


# ---- who could take it -------------------------------------------------------------------------------------------


def test_the_weeks_stand_best_first_each_with_its_reasons(client, site):
    other = make_crew(make_user("lead"), name="Birch")
    give_work(make_opening(tag="Z1"), site.crew, start_day=day(0), end_day=day(4), planned_minutes=10**5)
    shown = page(client, site, only(site))
    first, second = shown.split('<li class="candidate">')[1:3]
    assert "1. <a" in first
    assert "Mon 9 Mar" in first
    for said in ("Keeps the promised date", "Has the skills: frame.", "Hands: 2 there, 2 needed.",
                 "Nothing else stands on these days.", "About 9 mi, 20 minutes, from the home base; estimated."):
        assert said in first, said
    assert "After the one above: it begins in a later week." in second
    pushing = next(part for part in shown.split('<li class="candidate">') if "Pushes what is pencilled: " in part)
    assert "Z1, Mon 2 Mar – Fri 6 Mar." in pushing
    assert other.name not in shown.split('<li class="candidate">')[1]
    lacking = page(client, site, only(site) + "&more=1").split('<li class="candidate">')
    assert "Nobody on" in next(part for part in lacking if "Birch</a>" in part)


def test_late_weeks_stand_below_those_that_keep_the_promise_and_say_how_late(client, site):
    Job.objects.update(promised_date=day(9))
    rows = page(client, site, only(site)).split('<li class="candidate">')[1:]
    keeps = ["Keeps the promised date" in row for row in rows]
    assert keeps == sorted(keeps, reverse=True)
    assert "days after the promised date." in rows[-1]


def test_where_coordinates_are_missing_the_drive_is_not_made_up(client, site):
    Job.objects.update(latitude=None)
    assert "How long the drive is, is not known" in page(client, site)


def test_in_metric_distances_are_in_kilometres(client, site):
    metric = make_user("office", units="mm")
    assert "About 14 km, 20 minutes" in page(client, site, person=metric)


# ---- giving ------------------------------------------------------------------------------------------------------


def taken(client, site, query="", firm="pencilled"):
    """Presses the button of the best week."""
    shown = page(client, site, query)
    values = [part.split('"')[0] for part in shown.split('name="taken" value="')[1:]]
    steps = [part.split('"')[0] for part in shown.split('type="hidden" name="step" value="')[1:]]
    data = {"do": "give", "stood": "", "step": list(dict.fromkeys(steps)),
            "taken": next(value for value in values if value.endswith(firm))}
    return data, send(client, site, data)


def test_one_press_pencils_the_whole_visit_in_where_it_was_laid(client, site):
    _, answer = taken(client, site)
    assert answer.status_code == 302
    made = list(Assignment.objects.order_by("pk"))
    assert [one.work_step.stage for one in made][:2] == ["frame set", "panels hung"]
    assert {(one.crew.name, one.firmness) for one in made} == {("Alder", "pencilled")}
    assert made[0].start_day == day(0)
    shown = page(client, site)
    assert "nobody told yet" in shown
    assert "Pencilled: Alder, Mon 2 Mar" in shown


def test_what_fits_is_inked_in_one_press(client, site):
    WorkStep.objects.filter(pk=step(site).pk).update(ready=True)
    _, answer = taken(client, site, only(site), "inked")
    assert (answer.status_code, Assignment.objects.get().firmness) == (302, "inked")


def test_a_double_press_gives_it_once(client, site):
    data, _ = taken(client, site, only(site))
    again = send(client, site, data)
    assert (again.status_code, Assignment.objects.count()) == (302, 1)


def test_what_goes_along_goes_with_what_lifts(client, site):
    beam = Equipment.objects.create(name="Beam", kind="beam lifter", rated_grams=300_000, people_to_steer=2,
                                    rating_includes=["design factor"])
    WorkStep.objects.filter(opening=site.opening, stage="panels hung").update(lifting_grams=200_000)
    taken(client, site)
    assert {one.work_step.stage for one in Assignment.objects.filter(equipment=beam)} == {"panels hung"}


def test_by_hand_days_hours_and_how_firm_are_typed(client, site):
    pk = step(site).pk
    answer = send(client, site, by_hand(site, **{f"hours_{pk}": "7.25"}))
    made = Assignment.objects.get()
    assert (answer.status_code, made.start_day, made.end_day, made.planned_minutes) == (302, day(1), day(2), 435)


def test_the_form_by_hand_is_filled_in_with_the_week_that_was_chosen(client, site):
    shown = page(client, site, only(site) + f"&crew={site.crew.pk}&week={day(7)}")
    assert f'value="{day(7)}"' in shown.split('id="by-hand"')[1]


def test_refused_it_keeps_what_was_typed_and_says_at_the_field_what_would_be_right(client, site):
    pk = step(site).pk
    answer = send(client, site, by_hand(site, **{f"end_{pk}": day(0), f"hours_{pk}": "many"}))
    shown = text(answer)
    assert (answer.status_code, Assignment.objects.count()) == (422, 0)
    assert "the first day or later" in shown
    assert 'value="many"' in shown
    assert f'value="{day(1)}"' in shown


@pytest.mark.parametrize("bad", [
    {"do": "hop"}, {"crew": "x"}, {"crew": "9" * 30}, {"firmness": "chalked"}, {"step": []}, {"step": ["x"]},
    {"equipment": ["99"]}, {"taken": ";;;"}, {"taken": "1;2026-03-02;9;inked;;;"},
    {"do": "change", "assignment": "7"}, {"do": "change", "version": "1"},
    {"do": "tell", "assignment": "x", "version": "y"}, {"do": "take-back"}, {"taken": "\x00;\x00/;\x00;inked"},
    {"do": "tell", "assignment": "9" * 30, "version": "1", "whom": "Pat"}])
def test_what_no_page_sends_is_refused_and_gives_nothing(client, site, bad):
    Equipment.objects.create(name="Cart", kind="panel cart")
    assert send(client, site, by_hand(site, **bad)).status_code in (404, 409, 410, 412, 422)
    assert Assignment.objects.count() == 0


def test_inked_against_something_it_asks_whether_one_knows_and_keeps_what_was_typed(client, site):
    WorkStep.objects.filter(pk=step(site).pk).update(hands=5)
    answer = send(client, site, by_hand(site, firmness="inked"))
    shown = text(answer)
    assert (answer.status_code, Assignment.objects.count()) == (409, 0)
    assert "Too few hands on" in shown
    assert f'value="{day(1)}"' in shown.split('id="by-hand"')[1]
    assert send(client, site, by_hand(site, firmness="inked", knowing="on")).status_code == 302
    assert Assignment.objects.get().against


def test_the_slower_of_two_is_told_and_what_they_typed_stays(client, site):
    other = make_crew(make_user("lead"), name="Birch")
    given(site, crew_id=other.pk)
    answer = send(client, site, by_hand(site))
    shown = text(answer)
    assert (answer.status_code, Assignment.objects.count()) == (412, 1)
    assert "Somebody gave or changed this work in the meantime" in shown
    assert "Birch</a>, Tue 3 Mar" in shown, "what stands now"
    stood = shown.split('id="by-hand"')[1].split('name="stood" value="')[1].split('"')[0]
    assert send(client, site, by_hand(site, stood=stood)).status_code == 302, "knowing it, they may"


# ---- changing ----------------------------------------------------------------------------------------------------


def change(one, **over):
    return {"do": "change", "assignment": one.pk, "version": one.version, "crew": one.crew_id,
            "start_day": one.start_day, "end_day": one.end_day, "hours": "10", "firmness": one.firmness, **over}


def test_it_is_moved_and_handed_on(client, site):
    one, other = given(site), make_crew(make_user("lead"), name="Birch")
    answer = send(client, site, change(one, crew=other.pk, start_day=day(8), end_day=day(9)))
    one.refresh_from_db()
    assert (answer.status_code, one.crew.name, one.start_day, one.version) == (302, "Birch", day(8), 2)


def test_it_is_inked_with_one_button_where_nothing_stands_against_it(client, site):
    WorkStep.objects.filter(opening=site.opening).update(ready=True)
    one = given(site)
    shown = page(client, site)
    row = shown.split(f'id="given-{one.pk}"')[1].split("</form>")[0]
    sent = [part.split('"')[0] for part in row.split('type="hidden" name="')[1:]]
    values = [part.split('"')[0] for part in row.split('value="')[1:]]
    answer = send(client, site, dict(zip(sent, values, strict=True)))
    one.refresh_from_db()
    assert (answer.status_code, one.firmness, one.planned_minutes) == (302, "inked", 600)


def test_changed_twice_by_a_double_press_it_is_changed_once(client, site):
    one = given(site)
    sent = change(one, start_day=day(2))
    assert [send(client, site, sent).status_code for _ in range(2)] == [302, 302]
    one.refresh_from_db()
    assert one.version == 2


def test_changed_by_somebody_else_the_slower_one_is_told_and_sees_both(client, site):
    one = given(site)
    change_assignment(site.act(site.office), one.pk, {"end_day": day(3)}, version=1)
    answer = send(client, site, change(one, start_day=day(2)))
    shown = text(answer)
    assert answer.status_code == 412
    assert "Tue 3 Mar – Thu 5 Mar" in shown, "what stands now"
    assert f'value="{day(2)}"' in shown, "and what was typed"
    assert send(client, site, change(one, start_day=day(2), version=2)).status_code == 302


def test_a_change_that_cannot_be_is_said_at_its_field(client, site):
    one = given(site)
    shown = text(send(client, site, change(one, end_day=day(0), hours="")))
    assert 'class="field at-fault"' in shown
    shown = text(send(client, site, change(one, end_day=day(0))))
    assert "the first day or later" in shown
    assert f'value="{day(0)}"' in shown


def test_it_is_taken_back_once(client, site):
    one = given(site)
    sent = {"do": "take-back", "assignment": one.pk, "version": 1}
    assert [send(client, site, sent).status_code for _ in range(2)] == [302, 302]
    assert Assignment.objects.count() == 0


def test_what_was_changed_meanwhile_is_not_taken_back_unseen(client, site):
    one = given(site)
    change_assignment(site.act(site.office), one.pk, {"end_day": day(3)}, version=1)
    assert send(client, site, {"do": "take-back", "assignment": one.pk, "version": 1}).status_code == 412
    assert Assignment.objects.count() == 1


def test_work_of_another_opening_is_not_touched_from_here(client, site):
    other = give_work(make_opening(), site.crew)
    for do in ("take-back", "tell", "change"):
        assert send(client, site, change(other, do=do, whom="Pat")).status_code == 404
    assert Assignment.objects.filter(version=1).count() == 1


# ---- told --------------------------------------------------------------------------------------------------------


def test_who_was_told_and_when_stands_beside_it(client, site):
    one = given(site)
    sent = {"do": "tell", "assignment": one.pk, "version": 1, "whom": "Pat Lund"}
    assert [send(client, site, sent).status_code for _ in range(2)] == [302, 302], "pressed twice it is noted once"
    assert "told Pat Lund, Mon 2 Mar, 08:00" in page(client, site)
    one.refresh_from_db()
    assert one.version == 2


def test_told_before_it_was_moved_it_says_to_tell_them_again(client, site):
    one = given(site)
    tell(site.act(site.office), one.pk, whom="Pat Lund", version=1)
    assert "tell them again" not in page(client, site)
    site.now += dt.timedelta(hours=1)
    change_assignment(site.act(site.office), one.pk, {"end_day": day(3)}, version=2)
    assert "and changed since: tell them again" in page(client, site)


# ---- whose it is -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_only_the_office_assigns_and_only_to_the_office_it_is_offered(client, site, role):
    give_work(site.opening, site.crew)
    person = as_role(site, role)
    assert send(client, site, by_hand(site), person).status_code == 403
    assert Assignment.objects.count() == 1
    for url in (at(site), reverse("job", args=[site.opening.job_id])):
        assert reverse("assign", args=[site.opening.pk]) not in text(client.get(url))


def test_the_opening_and_the_job_lead_to_it(client, site):
    client.force_login(site.office)
    for url in (at(site), reverse("job", args=[site.opening.job_id])):
        assert reverse("assign", args=[site.opening.pk]) in text(client.get(url))


def test_what_people_wrote_is_text(client, site):
    Crew.objects.update(name="<b>A</b>")
    one = given(site)
    tell(site.act(site.office), one.pk, whom="<script>", version=1)
    WorkStep.objects.filter(opening=site.opening).update(skills=["<i>"])
    client.force_login(site.office)
    body = client.get(at(site, "assign")).content.decode()
    assert not any(bad in body for bad in ("<script>", "<b>A</b>", "<i>"))


def test_a_return_trip_of_a_crew_is_drawn_on_its_week_and_speaks_against_its_days(client, site):
    door = site_today(Stage.ACCEPTED, tag="Z9")
    Assignment.objects.all().delete()
    call = log_callback(site.act(site.office), door.opening.pk, severity="drags", symptom="drags at noon")
    for n in range(14):
        book_return_trip(site.act(site.office), call.pk, day=day(n), crew_id=site.crew.pk)
    shown = page(client, site, only(site))
    first = shown.split('<li class="candidate">')[1:]
    alder = next(one for one in first if ">Alder</a>" in one)
    assert "A return trip is agreed for Mon 2 Mar: C-0001" in alder
    assert "return trip for C-0001" in alder
    assert 'rect class="balloon"' in alder
    close_callback(site.act(site.office), call.pk, finding="grit", whose="wear", version=1)
    assert "return trip" not in page(client, site, only(site)).split('<ol class="candidates">')[1]


# ---- whether the panels get in -------------------------------------------------------------------------------


@pytest.fixture
def carts(site):
    """Panels of 1500 by 2600 mm. Upright on a cart 200 mm high one is 2800 mm; the hall is 2700 high, and 800 wide."""
    Panel.objects.update(width=1500 * MM, height=2600 * MM, computed_grams=200_000)
    Job.objects.update(way_in=[{"name": "<i>hall</i>", "kind": "corridor", "sizes": {"width": 800, "height": 2700}}])
    write_for([site.opening.pk])
    low, wide, new = (Equipment.objects.create(name=name, kind="panel cart", carries_at=at, width_loaded=wide,
                                               own_grams=60_000)
                      for name, at, wide in (("Low", 50 * MM, 600 * MM), ("Wide", 50 * MM, 900 * MM),
                                             ("New", None, None)))
    return low, wide, new


def test_each_cart_says_where_hanging_is_given_whether_the_panels_get_in_on_it(client, site, carts):
    seen = page(client, site)
    assert "Low: gets through (A, B)" in seen
    assert "Wide: does not get past: &lt;i&gt;hall&lt;/i&gt;; make the way larger (A, B)" in seen
    Equipment.objects.create(name="Wider", kind="panel cart", carries_at=0, width_loaded=900 * MM, own_grams=60_000)
    assert "Wide, Wider: does not get past" in page(client, site)
    new = seen.partition("New: still needed: ")[2].partition("</p>")[0]
    assert "how high a panel stands on it" in new
    assert "how wide cart and panel are together" in new


def test_a_cart_that_goes_along_and_does_not_get_in_stands_against_its_work(client, site, carts):
    low, wide, _new = carts
    given(site, "panels hung", equipment=[wide.pk])
    rows = page(client, site).partition('id="given"')[2].partition("</section>")[0]
    assert "Wide: does not get past" in rows
    one = Assignment.objects.get()
    change_assignment(site.act(site.office), one.pk, {"equipment": [low.pk]}, version=one.version)
    assert "does not get past" not in page(client, site).partition('id="given"')[2].partition("</section>")[0]
    Job.objects.update(way_in=[{"name": "hall", "kind": "corridor", "sizes": {"width": 500}}])
    rows = page(client, site).partition('id="given"')[2].partition("</section>")[0]
    assert "Low: does not get past: hall; make the way larger (A, B).</p>" in rows.replace(
        ' <span class="small">New since it was given.</span>', "")
    assert "New since it was given." in rows


def test_by_hand_a_cart_that_stops_is_inked_only_by_whoever_knows(client, site, carts):
    _low, wide, new = carts
    sent = by_hand(site, "panels hung", firmness="inked", equipment=[wide.pk, new.pk])
    answer = send(client, site, sent)
    shown = text(answer)
    assert (answer.status_code, Assignment.objects.count()) == (409, 0)
    assert "Wide: does not get past: &lt;i&gt;hall&lt;/i&gt;; make the way larger (A, B)." in shown
    assert "Whether the panels get in on New, nobody can tell: still needed: how wide cart and panel" in shown
    assert send(client, site, {**sent, "knowing": "on"}).status_code == 302
    assert {"way_in_stops", "way_in_unknown"} <= {one["code"] for one in Assignment.objects.get().against}


def test_changed_to_a_cart_that_stops_it_is_inked_only_by_whoever_knows(client, site, carts):
    _low, wide, _new = carts
    one = given(site, "panels hung")
    answer = send(client, site, change(one, equipment=[wide.pk], firmness="inked"))
    assert answer.status_code == 409
    assert "Wide: does not get past" in text(answer).partition('id="given"')[0]
    one.refresh_from_db()
    assert (one.firmness, one.version, one.equipment.count()) == ("pencilled", 1, 0)


def test_over_the_api_too_it_is_told_and_inked_only_by_whoever_knows(site, carts):
    _low, wide, _new = carts
    api = APIClient()
    api.force_authenticate(site.office)
    body = {"work_step": step(site, "panels hung").pk, "crew": site.crew.pk, "start_day": day(1), "end_day": day(1),
            "equipment": [wide.pk]}
    refused = api.post("/api/v1/assignments/", {**body, "firmness": "inked"})
    told = {one["code"]: one["values"] for one in refused.json()["reasons"]}
    assert (refused.status_code, Assignment.objects.count()) == (409, 0)
    assert told["way_in_stops"] == {"equipment": "Wide", "stops": [
        {"leg": "<i>hall</i>", "panels": ["A", "B"], "instead": "make_it_larger"}]}
    made = api.post("/api/v1/assignments/", body)
    assert "way_in_stops" in str(made.json()["against"])
    url = f"/api/v1/assignments/{made.json()['id']}/"
    refused = api.patch(url, {"firmness": "inked"}, HTTP_IF_MATCH=made["ETag"])
    assert (refused.status_code, "way_in_stops" in str(refused.json()["reasons"])) == (409, True)


def test_a_crew_in_a_week_takes_the_cart_the_panels_get_in_on(client, site, carts):
    low, _wide, new = carts
    shown = page(client, site, only(site, "panels hung"))
    first = shown.split('<li class="candidate">')[1]
    assert "On Low every panel gets past every leg of the way in." in first
    taken = first.split('name="taken" value="')[1].split('"')[0]
    assert taken.split(";")[2] == str(low.pk)
    send(client, site, {"do": "give", "step": [step(site, "panels hung").pk], "stood": "", "taken": taken})
    assert list(Assignment.objects.get().equipment.all()) == [low]
    low.delete()
    first = page(client, site, only(site, "panels hung")).split('<li class="candidate">')[1]
    assert "Whether the panels get in on New, nobody can tell" in first, "which may do"
    new.delete()
    first = page(client, site, only(site, "panels hung")).split('<li class="candidate">')[1]
    assert "Wide: does not get past" in first and ";inked" not in first.split('class="ruled"')[0]


def test_the_week_in_which_only_the_wide_cart_is_left_comes_after_and_says_so(client, site, carts):
    low, _wide, new = carts
    new.delete()
    OutOfUse.objects.create(equipment=low, from_day=day(0), to_day=day(6), reason="yearly inspection")
    found = page(client, site, only(site, "panels hung")).split('<li class="candidate">')[1:]
    assert "<b>Mon 9 Mar" in found[0]
    late = next(one for one in found if "<b>Tue 3 Mar" in one or "<b>Mon 2 Mar" in one)
    assert "Low is out of use on these days." in late


def test_a_leg_that_changed_since_needs_somebody_and_stands_on_crew_progress_and_the_job(client, site, carts):
    low, *_others = carts
    WorkStep.objects.update(ready=True)
    one = given(site, "panels hung", equipment=[low.pk])
    change_assignment(site.act(site.office), one.pk, {"firmness": "inked"}, version=1, knowing=True)
    job = Job.objects.get(pk=site.opening.job_id)
    change_record(site.act(site.office), job, {"way_in": [
        {"name": "gate", "kind": "corridor", "sizes": {"width": 500}}]}, version=job.version, record="jobs")
    said = "Low: does not get past: gate; make the way larger (A, B)."
    client.force_login(site.office)
    for url in (reverse("needs-somebody"), reverse("crew-progress"), reverse("job", args=[job.pk])):
        assert said in text(client.get(url)), url


def test_without_a_way_in_or_a_cart_that_is_said_and_once_hung_nothing_is(client, site, carts):
    Job.objects.update(way_in=[])
    assert "The way in of this job is not entered yet" in page(client, site)
    Job.objects.update(way_in=[{"name": "hall", "kind": "corridor", "sizes": {"width": 800}}])
    Equipment.objects.all().delete()
    assert "No cart of ours is entered" in page(client, site)
    Job.objects.update(way_in=[{"name": "hall", "kind": "corridor", "sizes": {"width": 50}}])
    DoorSystem.objects.update(panel_thickness=55 * MM)
    write_for([site.opening.pk])
    assert "By hand: does not get past: hall; make the way larger (A, B)" in page(client, site)
    Panel.objects.update(state="hung")
    write_for([site.opening.pk])
    assert "Whether the panels get in" not in page(client, site)


# ---- measured ----------------------------------------------------------------------------------------------------


def test_it_takes_as_many_queries_for_many_crews_and_a_long_past(client, site):
    client.force_login(site.office)

    def another(first):
        crew = make_crew(make_user("lead"), make_user("installer"))
        work = give_work(make_opening(), crew, start_day=day(first), end_day=day(first + 2), told_at=MONDAY,
                         told_by=site.office, told_whom="Pat")
        work.equipment.add(Equipment.objects.create(name=f"Cart {crew.pk}", kind="panel cart"))
        return crew

    another(2)
    given(site, "panels hung")
    few = queries(client, at(site, "assign"))
    for n in range(5):
        crew = another(n)
        for past in range(10, 60, 10):
            give_work(make_opening(), crew, start_day=day(-past), end_day=day(1 - past))
    assert queries(client, at(site, "assign")) == few == 32


def test_with_twelve_weeks_to_choose_from_it_weighs_little(client, site):
    for n in range(8):
        give_work(make_opening(), make_crew(make_user("lead"), make_user("installer")), start_day=day(n),
                  end_day=day(n + 3))
    client.force_login(site.office)
    assert len(client.get(at(site, "assign")).content) < 66_000


def test_taken_back_by_somebody_else_a_change_finds_nothing_and_says_so(client, site):
    one = given(site)
    take_back(site.act(site.office), one.pk, version=1)
    answer = send(client, site, change(one, start_day=day(2)))
    shown = text(answer)
    assert answer.status_code == 410
    assert "taken back by somebody else" in shown
    assert "Typed: Alder, Wed 4 Mar, 10 hours." in shown
