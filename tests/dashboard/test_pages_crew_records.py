"""Crews on pages: made and changed, who is on each from when to when, days off, and the holidays that come."""

import datetime as dt

import pytest
from django.urls import reverse

from jobs.calc.holidays import named_holidays
from jobs.models import Change, Crew, CrewMember, DayOff, OfficeSettings
from tests.dashboard.forms import Form, typed
from tests.factories import give_work, make_crew, make_opening, make_user

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
TODAY = dt.datetime.now(dt.UTC).date()
ALDER = {"name": "Alder", "base": "The yard", "working_days": ["0", "1", "2", "3"], "minutes_a_day": "10",
         "holiday_region": "us-ca"}


@pytest.fixture
def office(client):
    person = make_user("office")
    client.force_login(person)
    return person


@pytest.fixture
def crew():
    return make_crew(make_user("lead"), make_user("installer"), holiday_region="US")


def at(name, *args):
    return reverse(name, args=args)


def shown(client, crew):
    return client.get(at("crew", crew.pk)).context["c"]


def errors(response):
    assert response.status_code in (409, 422)
    return response.context["form"].errors


# ---- crews -----------------------------------------------------------------------------------------------


def test_a_crew_is_made_with_its_week_its_base_and_its_holidays(client, office):
    OfficeSettings.objects.create(pk=1, time_zone="America/Denver", working_days="1111000")
    sent = typed(client, at("crew-new"))
    assert (sent["time_zone"], sent["working_days"]) == ("America/Denver", ["0", "1", "2", "3"]), "as the company"
    for _ in range(2):  # pressed twice
        made = client.post(at("crew-new"), sent | ALDER)
    crew = Crew.objects.get()
    assert (made.status_code, made["Location"]) == (302, at("crew", crew.pk))
    assert (crew.working_days, crew.minutes_a_day, crew.holiday_region, crew.active) == ("1111000", 600, "US-CA", True)
    found = shown(client, crew)
    assert (found.week, found.hours_a_day, list(found.told)) == ("Mon to Thu", "10", ["nobody leads it today"])


@pytest.mark.parametrize(("over", "at_field", "says"), [
    ({"name": ""}, "name", "needed"), ({"holiday_region": "US-XX"}, "holiday_region", "US-CA"),
    ({"minutes_a_day": "25"}, "minutes_a_day", "0 to 24"), ({"latitude": "91"}, "latitude", "90"),
    ({"longitude": "west"}, "longitude", "plain number"),
    ({"time_zone": "Mars/Base"}, "time_zone", "No such time zone"),
])
def test_a_crew_that_cannot_be_is_refused_at_its_field_and_what_was_typed_stays(
        client, office, over, at_field, says):
    sent = typed(client, at("crew-new")) | ALDER | over
    refused = client.post(at("crew-new"), sent)
    assert says in errors(refused)[at_field]
    again = Form(refused.content.decode()).sent
    assert {name: again[name] for name in sent} == sent
    assert not Crew.objects.exists()


def test_what_is_shown_and_sent_back_changes_nothing(client, office, crew):
    Crew.objects.update(working_days="0101011", minutes_a_day=465, latitude=36.15, longitude=-123.4)
    before = Crew.objects.values().get()
    assert client.post(at("crew-edit", crew.pk), typed(client, at("crew-edit", crew.pk))).status_code == 302
    assert Crew.objects.values().get() == before


def test_of_two_who_change_a_crew_the_second_is_told_and_keeps_what_was_typed(client, office, crew):
    sent = typed(client, at("crew-edit", crew.pk))
    client.post(at("crew-edit", crew.pk), sent | {"base": "The yard"})
    late = client.post(at("crew-edit", crew.pk), sent | {"working_days": ["0", "1"]})
    assert late.status_code == 412
    said = late.content.decode()
    assert "Home base: now “The yard”, typed here “”." in said
    assert "Days they work: now “Mon, Tue, Wed, Thu, Fri”, typed here “Mon, Tue”." in said
    again = Form(said).sent
    assert (again["working_days"], again["version"]) == (["0", "1"], "2")


# ---- who is on it ----------------------------------------------------------------------------------------


def test_somebody_comes_to_a_crew_with_their_skills_once(client, office, crew):
    person = make_user("installer", name="Wren Dunlatch")
    sent = typed(client, at("crew-member-new", crew.pk)) | {"user": str(person.pk), "skills": "frame,  hanging, frame"}
    for _ in range(2):
        assert client.post(at("crew-member-new", crew.pk), sent)["Location"] == at("crew", crew.pk)
    made = CrewMember.objects.get(user=person)
    assert (made.skills, made.from_day, made.to_day, made.leads) == (["frame", "hanging"], TODAY, None, False)
    assert "in use: frame, hanging" in client.get(at("crew-member-new", crew.pk)).content.decode()
    again = typed(client, at("crew-member-new", crew.pk)) | {"user": str(person.pk)}
    assert "on this crew from this day already" in errors(client.post(at("crew-member-new", crew.pk), again))[
        "from_day"]


@pytest.mark.parametrize(("over", "at_field"), [({"user": ""}, "user"), ({"user": "x"}, "user"),
                                                ({"user": "99999"}, "user"), ({"from_day": "soon"}, "from_day"),
                                                ({"from_day": ""}, "from_day"), ({"to_day": "2020-01-01"}, "to_day")])
def test_nobody_comes_to_a_crew_as_it_cannot_be(client, office, crew, over, at_field):
    sent = typed(client, at("crew-member-new", crew.pk)) | {"user": str(make_user("installer").pk)} | over
    assert at_field in errors(client.post(at("crew-member-new", crew.pk), sent))
    assert CrewMember.objects.count() == 2


def test_who_leaves_has_a_last_day_and_is_shown_as_gone(client, office, crew):
    lead = crew.members.get(leads=True)
    url = at("crew-member", lead.pk)
    client.post(url, typed(client, url) | {"to_day": (TODAY - DAY).isoformat()})
    found = shown(client, crew)
    assert [(one.member.pk == lead.pk, one.state) for one in found.people] == [(False, "now"), (True, "past")]
    assert list(found.told) == ["nobody leads it today"]


def test_somebody_entered_by_mistake_is_taken_off(client, office, crew):
    member = crew.members.first()
    assert client.post(at("crew-member-remove", member.pk), {"version": "7"}).status_code == 412
    assert client.post(at("crew-member-remove", member.pk), {"version": "1"}).status_code == 302
    assert crew.members.count() == 1


def test_somebody_on_two_crews_at_once_is_told_of(client, office, crew):
    person = crew.members.get(leads=False).user
    other = make_crew(person, name="Birch")
    assert {one.also_on for one in shown(client, crew).people} == {"", "Birch"}
    CrewMember.objects.filter(crew=other).update(to_day=TODAY - DAY)
    assert {one.also_on for one in shown(client, crew).people} == {""}


# ---- days off and holidays -------------------------------------------------------------------------------


def test_somebody_is_off_sick_once_and_it_is_said_how_much_work_lies_on_these_days(client, office, crew):
    person = crew.members.get(leads=False).user
    give_work(make_opening(), crew, start_day=TODAY, end_day=TODAY + DAY)
    sent = typed(client, at("day-off-new")) | {"who": f"person-{person.pk}", "reason": "sick"}
    for _ in range(2):
        said = client.post(at("day-off-new"), sent, follow=True).content.decode()
        assert "1 piece of work lies on these days: look at it." in said
    off = DayOff.objects.get()
    assert (off.user, off.crew, off.from_day, off.to_day, off.reason) == (person, None, TODAY, TODAY, "sick")
    found = shown(client, crew)
    assert [one.off for one in found.people] == ["", "sick"]
    assert [(d.whose, len(d.given)) for d in found.away] == [(person.name, 1)]


def test_a_whole_crew_is_off_and_works_again(client, office, crew):
    url = f"{at('day-off-new')}?crew={crew.pk}"
    assert typed(client, url)["who"] == f"crew-{crew.pk}"
    client.post(url, typed(client, url) | {"to_day": (TODAY + 4 * DAY).isoformat()})
    off = DayOff.objects.get()
    assert shown(client, crew).away[0].whose == "The whole crew"
    change = at("day-off", off.pk)
    assert "to_day" in errors(client.post(change, typed(client, change) | {"to_day": (TODAY - DAY).isoformat()}))
    client.post(change, typed(client, change) | {"to_day": (TODAY + DAY).isoformat()})
    assert client.post(at("day-off-remove", off.pk), {"version": "1"}).status_code == 412
    assert client.post(at("day-off-remove", off.pk), {"version": "2"}).status_code == 302
    assert not DayOff.objects.exists()


@pytest.mark.parametrize("who", ["", "person-", "crew-x", "lifter-1", "person-99999", "crew-99999"])
def test_nobody_cannot_be_off(client, office, who):
    assert "who" in errors(client.post(at("day-off-new"), typed(client, at("day-off-new")) | {"who": who}))
    assert not DayOff.objects.exists()


def test_days_off_of_somebody_who_is_gone_by_then_are_not_the_crews(client, office, crew):
    member = crew.members.get(leads=False)
    CrewMember.objects.filter(pk=member.pk).update(to_day=TODAY + DAY)
    DayOff.objects.create(user=member.user, from_day=TODAY + 3 * DAY, to_day=TODAY + 5 * DAY)
    assert shown(client, crew).away == []


def test_holidays_that_come_are_named_with_the_work_that_lies_on_them(client, office, crew):
    day, name = next(one for one in named_holidays("US", TODAY, TODAY + 200 * DAY) if one[0].weekday() < 5)
    give_work(make_opening(), crew, start_day=day, end_day=day)
    found = shown(client, crew).holidays
    assert (found[0].first, found[0].why, len(found[0].given)) == (day, name, 1)
    Crew.objects.update(working_days="".join("0" if n == day.weekday() else "1" for n in range(7)))
    assert day not in [one.first for one in shown(client, crew).holidays], "nobody works then anyway"


def test_the_companys_region_holds_where_a_crew_names_none_and_without_one_it_is_said(client, office):
    crew = make_crew()
    assert "no holiday is known" in client.get(at("crew", crew.pk)).content.decode()
    OfficeSettings.objects.create(pk=1, holiday_region="US-CA")
    assert shown(client, crew).holiday_region == "US-CA"
    assert shown(client, crew).holidays


# ---- who, and how often ----------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_crews_are_the_offices_to_keep(client, crew, role):
    member, off = crew.members.first(), DayOff.objects.create(crew=crew, from_day=TODAY, to_day=TODAY, reason="private")
    client.force_login(make_user(role))
    urls = [at("crews"), at("crew-new"), at("crew", crew.pk), at("crew-edit", crew.pk), at("crew-member-new", crew.pk),
            at("crew-member", member.pk), at("day-off-new"), at("day-off", off.pk)]
    assert {client.get(url).status_code for url in urls} == {403}
    posts = [*urls[1:2], *urls[3:], at("crew-member-remove", member.pk), at("day-off-remove", off.pk)]
    assert {client.post(url, {"version": "1"}).status_code for url in posts} == {403}
    assert not Change.objects.exists()


def test_odd_text_is_shown_as_text(client, office):
    crew = make_crew(make_user("lead", name="<b>Ada</b>"), name="<b>🚪" * 10, base="<i>")
    CrewMember.objects.update(skills=["<u>"])
    DayOff.objects.create(crew=crew, from_day=TODAY, to_day=TODAY, reason="<s>")
    for url in (at("crews"), at("crew", crew.pk), at("crew-edit", crew.pk), at("day-off-new")):
        said = client.get(url).content.decode().partition("<main")[2]
        assert not [tag for tag in ("<b>", "<i>", "<u>", "<s>") if tag in said]


@pytest.mark.parametrize("rows", [2, 12])
def test_the_pages_ask_the_same_number_of_times_however_many_there_are(
        client, office, rows, django_assert_num_queries):
    crews = [make_crew(*(make_user("installer") for _ in range(rows))) for _ in range(rows)]
    for crew in crews:
        DayOff.objects.create(crew=crew, from_day=TODAY, to_day=TODAY)
        DayOff.objects.create(user=crew.members.first().user, from_day=TODAY, to_day=TODAY)
        give_work(make_opening(), crew, start_day=TODAY, end_day=TODAY)
    for url, asked in ((at("crews"), 8), (at("crew", crews[0].pk), 8), (at("crew-member-new", crews[0].pk), 6),
                       (at("day-off-new"), 5)):
        with django_assert_num_queries(asked):
            client.get(url)
