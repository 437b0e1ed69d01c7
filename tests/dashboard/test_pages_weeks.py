"""The crews' weeks: the rules one under another, who is on what, what is pencilled and what is inked."""

import datetime as dt
import re

import pytest
import time_machine
from django.urls import reverse

from dashboard.drawings.week import Columns, DayNamed, OnRule, week_rule
from inspections.services.afterwards import (
    book_return_trip,
    close_callback,
    finish_return_trip,
    log_callback,
)
from jobs.models import CrewMember, DayOff, Equipment, OfficeSettings, Opening
from jobs.services.planning import change_assignment, tell
from tests.factories import act_for, give_work, make_crew, make_opening, make_user
from tests.visits import queries, text

pytestmark = pytest.mark.django_db
MONDAY = dt.datetime(2026, 3, 2, 16, tzinfo=dt.UTC)
URL = "/crews-weeks/"
FIVE = "1111100"


def day(n):
    return MONDAY.date() + dt.timedelta(days=n)


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel(MONDAY, tick=False):
        yield


@pytest.fixture
def office():
    return make_user()


@pytest.fixture
def alder():
    return make_crew(make_user("lead", name="Bram"), make_user("installer", name="Pat"), name="Alder")


def page(client, person, query=""):
    client.force_login(person)
    answer = client.get(URL + query)
    assert answer.status_code == 200
    return text(answer)


def weeks(shown):
    return shown.split('<section class="week-of"')[1:]


def work(crew, first, last, tag="A1", **over):
    return give_work(make_opening(tag=tag), crew, start_day=day(first), end_day=day(last), **over)


# ---- the page ----------------------------------------------------------------------------------------------------


def test_three_weeks_from_this_one_each_with_every_crew(client, office, alder):
    make_crew(make_user("lead"), name="Birch")
    shown = weeks(page(client, office))
    assert ["Week 10, Mon 2 Mar – Sun 8 Mar" in shown[0], "Week 12" in shown[2], len(shown)] == [True, True, 3]
    assert all(">Alder</a>" in week and ">Birch</a>" in week for week in shown)
    assert "this week" in shown[0]
    assert "this week" not in shown[1]


def test_without_crews_it_says_so(client, office):
    assert "No crew here that goes out." in page(client, office)


def test_what_stands_on_a_week_is_told_by_shape_and_word(client, office, alder):
    inked = work(alder, 0, 1, "A1", firmness="inked", planned_minutes=960)
    pencilled = work(alder, 2, 8, "B2", planned_minutes=3000)
    inked.equipment.add(Equipment.objects.create(name="Beam", kind="beam lifter"))
    first, second, _ = weeks(page(client, office))
    assert first.count('class="bar inked"') == 1
    assert first.count('class="bar"') == 1
    assert "<b>inked</b>, Mon 2 Mar – Tue 3 Mar, 16 h, Beam; <span>nobody told yet</span>" in first
    assert "<b>pencilled</b>, Wed 4 Mar – Tue 10 Mar, 50 h" in first
    for one in (inked, pencilled):
        assert reverse("opening", args=[one.opening_id]) in first
        assert reverse("assign", args=[one.opening_id]) in first
    assert "64 of 80 hours given" in first, "16 and what three days of two people take"
    assert "2 of 80 hours given" in second, "the rest of it"
    assert "B2" in second
    assert "A1" not in second


def test_days_off_and_holidays_are_marked_and_said(client, office, alder):
    OfficeSettings.objects.create(pk=1, holiday_region="US")
    DayOff.objects.create(crew=alder, from_day=day(1), to_day=day(2), reason="a private reason")
    DayOff.objects.create(user=CrewMember.objects.get(user__name="Pat").user, from_day=day(3), to_day=day(4))
    first = weeks(page(client, office))[0]
    assert first.count('class="shut"') == 2
    for said in ("Tue 3 Mar – Wed 4 Mar: day off", "Thu 5 Mar – Fri 6 Mar: Pat off, 1 there", "0 of 32 hours given"):
        assert said in first, said
    assert "a private reason" not in first
    july = weeks(page(client, office, "?from=2026-07-01"))[0]
    assert "Fri 3 Jul: public holiday" in july


def test_equipment_that_two_crews_share_on_one_day_is_said_at_both(client, office, alder):
    beam, birch = Equipment.objects.create(name="Beam", kind="beam lifter"), make_crew(make_user("lead"), name="Birch")
    for crew, tag in ((alder, "A1"), (birch, "B2")):
        work(crew, 1, 2, tag).equipment.add(beam)
    first = weeks(page(client, office))[0]
    assert re.search(r"Beam is given to J-\d+ · B2 as well, Tue 3 Mar – Wed 4 Mar", first)
    assert re.search(r"Beam is given to J-\d+ · A1 as well", first)
    lead = CrewMember.objects.get(crew=alder).user if alder.members.count() == 1 else alder.members.first().user
    own = weeks(page(client, lead))[0]
    assert "Beam is given elsewhere as well on these days" in own
    assert "B2" not in own


def test_who_was_told_and_whether_it_still_holds(client, office, alder):
    one = work(alder, 0, 1)
    tell(act_for(office, MONDAY), one.pk, whom="Bram", version=1)
    assert "told Bram, Mon 2 Mar, 16:00" in page(client, office)
    change_assignment(act_for(office, MONDAY + dt.timedelta(hours=1)), one.pk, {"end_day": day(2)}, version=2)
    assert "told Bram, Mon 2 Mar, 16:00, and changed since: tell them again" in page(client, office)


def test_one_crew_is_shown_for_eight_weeks_and_further_weeks_keep_to_it(client, office, alder):
    make_crew(make_user("lead"), name="Birch")
    shown = page(client, office, f"?crew={alder.pk}")
    assert len(weeks(shown)) == 8
    assert "The weeks of Alder" in shown
    assert f'href="?from=2026-04-27&amp;crew={alder.pk}"' in client.get(URL + f"?crew={alder.pk}").content.decode()


@pytest.mark.parametrize("asked", ["soon", "2026-13-01", "9999-12-31", "0001-01-01", "1500-01-01", "\x00"])
def test_a_week_that_cannot_be_is_this_week(client, office, alder, asked):
    assert "Week 10," in weeks(page(client, office, f"?from={asked}"))[0]


@pytest.mark.parametrize("asked", ["x", "999", "9" * 40])
def test_a_crew_that_is_not_there_is_not_found(client, office, alder, asked):
    client.force_login(office)
    assert client.get(URL, {"crew": asked}).status_code == 404


def test_very_many_crews_come_in_portions(client, office):
    for n in range(14):
        make_crew(make_user("lead"), name=f"Crew {n:02}")
    shown = page(client, office)
    assert "Crew 11</a>" in shown
    assert "Crew 12</a>" not in shown
    assert "Further crews" in shown
    rest = page(client, office, "?after=Crew 11")
    assert "Crew 12</a>" in rest
    assert "Further crews" not in rest


# ---- return trips ------------------------------------------------------------------------------------------------


@pytest.fixture
def call(office, alder):
    """A door that is accepted, and somebody called about it."""
    opening = make_opening(tag="Z9")
    Opening.objects.filter(pk=opening.pk).update(stage="accepted")
    return log_callback(act_for(office, MONDAY), opening.pk, severity="drags", symptom="drags at noon")


def trip(office, call, crew, on, **over):
    return book_return_trip(act_for(office, MONDAY), call.pk, day=day(on), crew_id=crew.pk, **over)


def test_a_return_trip_stands_in_its_crews_week_between_the_work(client, office, alder, call):
    work(alder, 0, 1, "A1")
    work(alder, 3, 4, "B2")
    trip(office, call, alder, 2, arrival="8 to 10", bring="a roller")
    first, second, _ = weeks(page(client, office))
    assert [first.count('class="bar"'), first.count('<rect class="balloon"')] == [2, 1]
    assert re.findall(r'aria-hidden="true">(\w)</span> <span><a href="[^"]*">J-\d+ · (\w\w)</a>', first) == [
        ("a", "A1"), ("b", "Z9"), ("c", "B2")]
    assert "return trip for C-0001" in first
    assert "<b>agreed</b>, Wed 4 Mar, 8 to 10, bring: a roller</span>" in first
    assert reverse("callback", args=[call.pk]) in first
    assert "2 pieces of work stand on it; 1 return trip" in first
    assert "Z9" not in second


def test_a_trip_that_was_made_stays_and_one_that_nobody_makes_any_more_goes(client, office, alder, call):
    made = trip(office, call, alder, 0)
    trip(office, call, alder, 3)
    finish_return_trip(act_for(office, MONDAY), made.pk, outcome="put right", version=1)
    close_callback(act_for(office, MONDAY), call.pk, finding="grit", whose="wear", version=1)
    first = weeks(page(client, office))[0]
    assert "<b>made</b>, Mon 2 Mar" in first
    assert first.count("return trip for") == 1


def test_those_who_take_no_calls_are_led_to_none(client, office, alder, call):
    trip(office, call, alder, 1)
    lead = alder.members.get(user__name="Bram").user
    shown = page(client, lead)
    assert "return trip for C-0001" in shown
    assert reverse("callback", args=[call.pk]) not in shown
    assert reverse("opening", args=[call.opening_id]) not in shown


# ---- whose they are ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("role", "sees"), [("lead", ["Alder"]), ("installer", ["Alder"]),
                                            ("customer-service", ["Alder", "Birch"])])
def test_leads_and_installers_see_their_own_crews_and_nobody_but_the_office_is_led_to_assigning(client, alder, role,
                                                                                                sees):
    birch = make_crew(make_user("lead"), name="Birch")
    work(alder, 0, 1, "A1")
    work(birch, 0, 1, "BIRCH-2")
    person = make_user(role)
    if role != "customer-service":
        CrewMember.objects.create(crew=alder, user=person, from_day=day(-9))
        CrewMember.objects.create(crew=birch, user=person, from_day=day(-9), to_day=day(-1))
    shown = page(client, person)
    assert [name for name in ("Alder", "Birch") if f">{name}</a>" in shown] == sees
    assert ("BIRCH-2" in shown) is ("Birch" in sees)
    assert "/assign/" not in shown
    assert client.get(URL, {"crew": birch.pk}).status_code == (200 if "Birch" in sees else 404)


def test_who_is_away_is_not_said_to_those_who_may_not_read_it(client, alder):
    DayOff.objects.create(user=CrewMember.objects.get(user__name="Pat").user, from_day=day(3), to_day=day(3))
    shown = page(client, make_user("customer-service"))
    assert "Thu 5 Mar: 1 there" in shown
    assert "Pat" not in shown


def test_a_guest_gets_none(client, alder):
    client.force_login(make_user("guest"))
    assert client.get(URL).status_code == 403


# ---- measured ----------------------------------------------------------------------------------------------------


def test_it_takes_as_many_queries_for_many_crews_and_a_long_past(client, office, alder, call):
    beam = Equipment.objects.create(name="Beam", kind="beam lifter")
    client.force_login(office)
    work(alder, 0, 1, told_at=MONDAY, told_by=office, told_whom="Bram").equipment.add(beam)
    trip(office, call, alder, 1)
    few = queries(client, URL)
    for _ in range(6):
        crew = make_crew(make_user("lead"), make_user("installer"))
        trip(office, call, crew, 1)
        for past in range(-40, 10, 10):
            work(crew, past, past + 2).equipment.add(beam)
    assert queries(client, URL) == few == 15
    assert len(client.get(URL).content) < 60_000


# ---- the rule ----------------------------------------------------------------------------------------------------


def rule(work=(), proposed=(), today=None, weeks=(FIVE,)):
    days = [DayNamed(name, "" if n < 5 else "not_a_working_day", 8) for n, name in enumerate("MTWTFSS")]
    return week_rule(day(0), Columns.of(weeks), days, work, proposed, today)


def bar(first, last, parts, inked=False, letter="a"):
    return OnRule(day(first), day(last), tuple(parts), inked, letter)


def pct(text):
    return float(text.removesuffix("%"))


def test_the_days_fill_the_width_and_those_nobody_works_are_narrow():
    for weeks_of in ([FIVE], [FIVE, "0011111"], ["0000000"], []):
        columns = Columns.of(weeks_of)
        assert columns.edges[0] == 0
        assert columns.edges[-1] == pytest.approx(100)
    days = rule().days
    assert pct(days[6].width) < pct(days[0].width) / 2
    assert len({one.width for one in rule(weeks=[FIVE, "0000011"]).days}) == 1


def test_work_is_drawn_from_its_first_day_to_its_last_and_filled_as_far_as_its_hours_reach():
    drawn = rule([bar(-2, 1, [1, .5])]).bars[0]
    edges = Columns.of([FIVE]).edges
    assert (pct(drawn.x), pct(drawn.width)) == (0, pytest.approx(edges[2], abs=.01))
    assert [(pct(x), pct(width)) for x, width in drawn.filled] == [(0, pytest.approx(edges[1] * 1.5, abs=.01))]
    apart = rule([bar(0, 3, [.5, 0, 1, .25])]).bars[0]
    assert len(apart.filled) == 2


def test_what_meets_lies_under_each_other_and_the_rule_grows():
    drawn = rule([bar(0, 2, [1]), bar(1, 1, [1]), bar(2, 4, [1]), bar(3, 3, [1])])
    assert [one.y for one in drawn.bars] == [drawn.bars[0].y + lane * 26 for lane in (0, 1, 1, 0)]
    assert drawn.height == rule().height + 26


def test_what_could_be_laid_is_one_dimension_that_ends_only_where_it_ends():
    one, = rule(proposed=[(day(0), day(0)), (day(0), day(1)), (day(2), day(9))]).dimensions
    assert (one.begins, one.ends, pct(one.end)) == (True, False, pytest.approx(100))
    assert len(rule(proposed=[(day(0), day(0)), (day(3), day(3))]).dimensions) == 2
    assert rule(proposed=[(day(9), day(9))]).dimensions == ()


def test_today_is_marked_in_its_own_week_only():
    assert pct(rule(today=day(2)).now) == pytest.approx(Columns.of([FIVE]).at(2.5), abs=.01)
    assert (rule(today=day(7)).now, rule(today=day(-1)).now, rule().now) == ("", "", "")
