"""A call taken while talking, the open ones worst first, and one with its story."""

import datetime as dt
import re
from urllib.parse import parse_qs

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from dashboard import phrases
from dashboard.forms.calls import CALL_FORMS
from inspections.models import Adjustment, Callback, Photo, ReturnTrip
from inspections.services.afterwards import (
    book_return_trip,
    change_return_trip,
    close_callback,
    log_adjustment,
    log_callback,
)
from jobs.acts import Act
from jobs.models import Assignment, Crew, Job, Opening, User
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import give_work, make_party
from tests.pictures import jpeg
from tests.visits import as_role, at, post, queries, site_day, site_today, text

pytestmark = pytest.mark.django_db
LIST = "/callbacks/"
CALL = {"severity": "drags", "symptom": "It drags at noon.", "caller": "Maud Ansel, 555-0187",
        "best_time": "after five"}


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def accepted(**opening):
    """Without all that led there: of most pages it is not what is looked at."""
    site = site_today(**opening)
    Opening.objects.filter(pk=site.opening.pk).update(stage="accepted")
    return site


def a_call(site, **over):
    return log_callback(site.act(site.office), site.opening.pk, **{"severity": "drags", "symptom": "It drags.", **over})


def url(call, name=""):
    return reverse(f"callback-{name}" if name else "callback", args=[call.pk])


def see(client, person, address):
    client.force_login(person)
    answer = client.get(address)
    assert answer.status_code == 200
    return text(answer)


# ---- taking it -------------------------------------------------------------------------------------------


def test_the_page_shows_how_the_door_was_left_and_what_was_done_since(client):
    site = site_today(Stage.ACCEPTED, tag="A2")
    before = a_call(site, severity="water", symptom="Wet after the storm.")
    log_adjustment(site.act(), site.opening.pk, what="rollers", panel_id=site.panel("A").pk, callback_id=before.pk,
                   turns=[{"roller": "near", "eighths": 11}], before={"gaps": {"top": 10.0}},
                   after={"gaps": {"top": 8.0}})
    book_return_trip(site.act(site.office), before.pk, day=site_day(site), crew_id=site.crew.pk)
    page = see(client, as_role(site, "customer-service"), at(site, "call"))
    for words in ("Lock jamb", '5/16"', "Panel A", "15.7 lbf (70 N)", "Train", before.number, "Wet after the storm.",
                  "Rollers, panel A", "near roller 1 3/8 turns up", 'reveal top 25/64"', site.crew.name, site.lead.name,
                  "Accepted", "The owner"):
        assert words in page, words


def test_for_each_answer_there_is_what_to_say_tonight_and_what_to_look_at_with_its_caution(client):
    site = accepted()
    page = see(client, site.office, at(site, "call"))
    assert page.count(str(phrases.MEANWHILE_CAUTION)) == len(phrases.SEVERITIES) == 5
    for severity in phrases.SEVERITIES:
        for said in (*phrases.TONIGHT[severity], *phrases.MEANWHILE[severity], phrases.HOW_SOON[severity]):
            assert str(said) in page


def test_who_called_is_told_to_nobody_but_may_be_reached_by_those_who_call_back(client):
    site = accepted()
    Job.objects.filter(pk=site.opening.job_id).update(
        owner=make_party("owner", name="Maud Ansel", phone="(212) 555-0187"), address="14 Harbor Street")
    call = a_call(site, caller="Perpetua Vane", best_time="after five")
    book_return_trip(site.act(site.office), call.pk, day=site_day(site), arrival="at nine")
    private = ("Perpetua Vane", "after five", "Maud Ansel", "0187", "Harbor", "at nine")
    page = see(client, as_role(site, "customer-service"), url(call))
    assert all(words in page for words in private)
    page = see(client, as_role(site, "guest"), url(call))
    assert not any(words in page for words in private)
    assert not any(words in see(client, as_role(site, "guest"), LIST) for words in private)


def test_a_call_is_logged_while_talking_and_leads_to_its_page(client):
    site = accepted()
    service = as_role(site, "customer-service")
    answer = post(client, service, at(site, "call"), **CALL, panel=str(site.panel("A").pk))
    call = Callback.objects.get()
    assert answer.url == url(call)
    assert (call.severity, call.symptom, call.caller, call.best_time, call.panel.letter, call.taken_by) == (
        "drags", "It drags at noon.", "Maud Ansel, 555-0187", "after five", "A", service)
    assert "is logged" in see(client, service, url(call))


def test_pressed_twice_it_is_one_call(client):
    site = accepted()
    entry = str(new_id())
    answers = [post(client, site.office, at(site, "call"), **CALL, entry=entry).url for _ in range(2)]
    assert (Callback.objects.count(), len(set(answers))) == (1, 1)


def test_what_was_typed_stays_when_something_is_missing_and_the_field_says_what_would_be_right(client):
    site = accepted()
    answer = post(client, site.office, at(site, "call"), **{**CALL, "severity": ""})
    page = text(answer)
    assert answer.status_code == 422
    assert "Choose how bad it is, as it sounds." in page
    assert ("It drags at noon." in page, "Maud Ansel, 555-0187" in page, "after five" in page) == (True, True, True)
    assert text(post(client, site.office, at(site, "call"), **{**CALL, "symptom": ""})).count("checked") == 1
    assert Callback.objects.count() == 0


def test_what_was_typed_is_not_lost_when_the_sign_in_ended_meanwhile(client):
    site = accepted()
    answer = client.post(at(site, "call"), {**CALL, "entry": str(new_id())})
    kept = answer.context["kept"]
    assert answer.status_code == 403
    assert parse_qs(kept)["symptom"] == ["It drags at noon."]
    signed = client.post("/sign-in/", {"username": site.office.username, "password": "a long enough password",
                                       "next": answer.context["next"], "kept": kept})
    again = dict(signed.context["kept"])
    assert signed.context["onward"] == at(site, "call")
    assert client.post(at(site, "call"), again).status_code == 302
    assert Callback.objects.get().symptom == "It drags at noon."


def test_who_may_raise_no_punch_item_reads_whom_to_pass_the_call_on_to(client):
    site = site_today()
    User.objects.filter(pk=site.lead.pk).update(phone="555-0142")
    page = see(client, as_role(site, "customer-service"), at(site, "call"))
    assert ("Pass the call on" in page, site.lead.name in page, 'href="tel:555-0142"' in page) == (True, True, True)
    assert "Pass the call on" not in see(client, site.office, at(site, "call"))


def test_work_given_over_a_weekend_does_not_stand_on_it(client):
    site = accepted()
    call, today = a_call(site), site_day(site)
    Crew.objects.update(working_days="1111100")
    Assignment.objects.all().delete()
    give_work(site.opening, site.crew, start_day=today, end_day=today + dt.timedelta(days=6))
    client.force_login(site.office)
    days = client.get(url(call)).context["c"].weeks[0].days
    assert [bool(day.has) for day in days if day.off == "not a working day"] == [False, False]
    assert any(day.has for day in days)


def test_a_door_that_was_not_accepted_is_told_to_have_punch_items(client):
    site = site_today()
    assert "is not accepted: what is wrong with it is a punch item" in see(client, site.office, at(site, "call"))
    answer = post(client, site.office, at(site, "call"), **CALL)
    assert (answer.status_code, Callback.objects.count()) == (409, 0)


@pytest.mark.parametrize("role", ["lead", "installer", "guest"])
def test_a_call_is_taken_by_the_office_and_customer_service_only(client, role):
    site = accepted()
    assert post(client, as_role(site, role), at(site, "call"), **CALL).status_code == 403
    assert Callback.objects.count() == 0


# ---- the list --------------------------------------------------------------------------------------------


def listed(client, person, **asked):
    client.force_login(person)
    return [row.call.symptom for row in client.get(LIST, asked).context["rows"]]


def test_open_callbacks_stand_worst_first_and_of_one_kind_as_they_came(client):
    site = accepted()
    for severity, symptom in (("looks", "5"), ("drags", "3"), ("drags", "4"), ("cannot-be-secured", "1"),
                              ("broken-glass", "2")):
        a_call(site, severity=severity, symptom=symptom)
    done = a_call(site, symptom="done")
    close_callback(site.act(site.office), done.pk, finding="grit", whose="wear", version=1)
    assert listed(client, site.office) == ["1", "2", "3", "4", "5"]
    assert listed(client, site.office, state="closed") == ["done"]
    assert listed(client, site.office, state="odd", after="²") == ["1", "2", "3", "4", "5"]


def test_each_says_when_somebody_goes_and_whether_what_came_of_it_is_said(client):
    site = accepted()
    none, ahead, over = (a_call(site, symptom=symptom) for symptom in ("none", "ahead", "over"))
    today = dt.date.today()
    book_return_trip(site.act(site.office), ahead.pk, day=today + dt.timedelta(days=2), crew_id=site.crew.pk)
    ReturnTrip.objects.create(callback=over, day=today - dt.timedelta(days=2))
    page = see(client, site.office, LIST)
    assert ("no trip is booked" in page, site.crew.name in page, "what came of it is not said yet" in page) == (
        True, True, True)
    assert none.number in page


def test_a_long_list_goes_on_where_it_stopped(client):
    site = accepted()
    Callback.objects.bulk_create([
        Callback(number=f"C-{n:04}", opening=site.opening, called_at=site.now, taken_by=site.office, severity="drags",
                 symptom=f"{n}") for n in range(53)])
    client.force_login(site.office)
    first = client.get(LIST).context
    assert (len(first["rows"]), bool(first["more"])) == (50, True)
    assert listed(client, site.office, after=first["more"]) == ["50", "51", "52"]
    assert queries(client, LIST) == 5


def test_the_pages_take_as_many_statements_however_much_was_done(client):
    site = accepted()
    call = a_call(site)
    client.force_login(site.office)
    counted = [queries(client, address) for address in (at(site, "call"), url(call), LIST)]
    for n in range(10):
        log_adjustment(site.act(), site.opening.pk, what=f"turn {n}", callback_id=call.pk)
        book_return_trip(site.act(site.office), a_call(site, symptom=f"again {n}").pk, day=site_day(site))
        Crew.objects.create(name=f"Another {n}")
    assert [queries(client, address) for address in (at(site, "call"), url(call), LIST)] == counted


# ---- one of them -----------------------------------------------------------------------------------------


def test_a_trip_is_booked_into_a_free_day_of_a_crews_week(client):
    site = accepted()
    call = a_call(site)
    page = see(client, site.office, url(call))
    assert f"{site.opening}" in page and "free" in page, "what the crew has stands on its days"
    day = dt.date.today() + dt.timedelta(days=3)
    answer = post(client, site.office, url(call, "book-trip"), slot=f"{site.crew.pk}:{day.isoformat()}",
                  arrival="at nine", bring="4 mm key")
    trip = ReturnTrip.objects.get()
    assert answer.url == f"{url(call)}#trips"
    assert (trip.crew, trip.day, trip.arrival, trip.bring) == (site.crew, day, "at nine", "4 mm key")
    assert "Book a trip" not in see(client, site.office, url(call)), "one at a time; that one is changed"


def test_another_day_may_be_given_and_without_any_the_field_says_so(client):
    site = accepted()
    call = a_call(site)
    refused = post(client, site.office, url(call, "book-trip"), arrival="at nine")
    assert (refused.status_code, "Touch a day in a crew's week" in text(refused), "at nine" in text(refused)) == (
        422, True, True)
    assert post(client, site.office, url(call, "book-trip"), slot="x:y", day="").status_code == 422
    assert post(client, site.office, url(call, "book-trip"), day="2031-03-04", crew="").status_code == 302
    assert ReturnTrip.objects.get().day == dt.date(2031, 3, 4)


def test_booked_twice_by_one_it_is_one_trip_and_by_two_the_second_hears_of_the_first(client):
    site = accepted()
    call, entry = a_call(site), str(new_id())
    for _ in range(2):
        assert post(client, site.office, url(call, "book-trip"), day="2031-03-04", entry=entry).status_code == 302
    other = post(client, as_role(site, "customer-service"), url(call, "book-trip"), day="2031-03-05", bring="a key")
    assert (other.status_code, "A trip is booked already" in text(other), "a key" in text(other)) == (
        409, True, True)
    assert ReturnTrip.objects.count() == 1


def test_a_day_touched_in_a_week_and_another_one_given_are_not_both_taken(client):
    site = accepted()
    call, slot = a_call(site), f"{site.crew.pk}:{site_day(site).isoformat()}"
    for more in ({"day": "2031-03-04"}, {"crew": str(site.crew.pk)}):
        refused = post(client, site.office, url(call, "book-trip"), slot=slot, arrival="at nine", **more)
        assert (refused.status_code, "Choose Another day above" in text(refused), "at nine" in text(refused)) == (
            422, True, True)
    assert not ReturnTrip.objects.exists()
    post(client, site.office, url(call, "book-trip"), slot="another", day="2031-03-04", crew=str(site.crew.pk))
    assert ReturnTrip.objects.get().crew == site.crew


def test_what_was_booked_can_be_read_out_with_its_day(client):
    site = accepted()
    answer = post(client, site.office, url(a_call(site), "book-trip"), slot="another", day="2031-03-04",
                  crew=str(site.crew.pk))
    answer = client.get(answer.url)
    assert f"Trip booked: 4 Mar 2031, {site.crew.name}." in text(answer)
    answer = client.get(post(client, site.office, url(a_call(site), "book-trip"), day="2031-03-04").url)
    assert "No crew is named yet: it stays with what needs somebody." in text(answer)


def test_who_was_slower_keeps_what_they_wrote_when_the_form_is_gone(client):
    site = accepted()
    call = a_call(site)
    close_callback(site.act(site.office), call.pk, finding="grit", whose="wear", version=1)
    late = post(client, as_role(site, "customer-service"), url(call, "close"), version="1", whose="ours",
                finding="a weep under our own bead")
    assert (late.status_code, "a weep under our own bead" in text(late)) == (412, True)


def test_a_call_is_kept_in_the_refusal_when_the_opening_went_back_meanwhile(client):
    site = accepted()
    Opening.objects.filter(pk=site.opening.pk).update(stage=Stage.SEALED.value)
    late = post(client, site.office, at(site, "call"), severity="drags", symptom="Heavy from noon on.")
    assert (late.status_code, "Heavy from noon on." in text(late)) == (409, True)


def test_a_panel_that_is_gone_loses_nothing(client):
    site = accepted()
    call = a_call(site)
    for address, field in ((at(site, "call"), {"severity": "drags", "symptom": "Heavy from noon on."}),
                           (url(call, "adjust"), {"what": "Heavy from noon on."})):
        answer = post(client, site.office, address, panel="9999", **field)
        assert (answer.status_code, "Heavy from noon on." in text(answer)) == (404, True)


def test_a_trip_changed_meanwhile_is_changed_once_more_by_who_has_read_it_again(client):
    site = accepted()
    call = a_call(site)
    trip = book_return_trip(site.act(site.office), call.pk, day=site_day(site))
    change_return_trip(site.act(site.office), trip.pk, {"arrival": "at ten"}, version=1)
    mine = {"trip": str(trip.pk), "day": site_day(site).isoformat(), "crew": "", "arrival": "at eleven"}
    late = post(client, site.office, url(call, "change-trip"), version="1", **mine)
    form = next(change for _line, change, _made in late.context["c"].trips)
    assert (late.status_code, form["version"].value(), form["arrival"].value()) == (412, "2", "at eleven")
    assert post(client, site.office, url(call, "change-trip"), version="2", **mine).status_code == 302


def test_closed_without_its_trip_the_page_says_that_nobody_goes(client):
    site = accepted()
    call = a_call(site)
    book_return_trip(site.act(site.office), call.pk, day=site_day(site), crew_id=site.crew.pk)
    assert "A trip is still booked" in see(client, site.office, url(call))
    close_callback(site.act(site.office), call.pk, finding="grit", whose="wear", version=1)
    page = see(client, site.office, url(call))
    assert ("Nobody goes." in page, "Change the trip" in page, "A trip is still booked" in page) == (True, False, False)


def test_a_trip_is_changed_and_said_to_be_made(client):
    site = accepted()
    call = a_call(site)
    trip = book_return_trip(site.act(site.office), call.pk, day=dt.date.today() + dt.timedelta(days=4))
    today = site_day(site).isoformat()
    changed = {"trip": str(trip.pk), "version": "1", "day": today, "crew": str(site.crew.pk), "arrival": "at ten"}
    assert post(client, site.office, url(call, "change-trip"), **changed).status_code == 302
    stale = post(client, site.office, url(call, "change-trip"), **{**changed, "arrival": "at eleven"})
    assert (stale.status_code, "at eleven" in text(stale)) == (412, True)
    made = {"trip": str(trip.pk), "version": "2", "outcome": "put right"}
    assert post(client, site.office, url(call, "trip-made"), **made).status_code == 302
    trip.refresh_from_db()
    assert (trip.crew, trip.arrival, trip.outcome) == (site.crew, "at ten", "put right")
    assert "Made: put right" in see(client, site.office, url(call))


def test_an_adjustment_is_logged_with_what_was_read_before_and_after(client):
    site = accepted()
    call = a_call(site)
    answer = post(client, site.lead, url(call, "adjust"), what="rollers", panel=str(site.panel("B").pk), near="1 3/8",
                  far="-3/8", before_top="3/8", after_top="5/16", before_start_n="30", after_start_n="80 N")
    done = Adjustment.objects.get(callback=call)
    assert answer.status_code == 302
    assert (done.turns, done.before, done.after) == (
        [{"roller": "near", "eighths": 11}, {"roller": "far", "eighths": -3}],
        {"gaps": {"top": '3/8"'}, "start_n": "133.4"}, {"gaps": {"top": '5/16"'}, "start_n": "80.0"})
    page = see(client, site.office, url(call))
    assert 'reveal top 3/8"; force to start 30.0 lbf (133 N)' in page
    assert "near roller 1 3/8 turns up; far roller 3/8 turns down" in page


@pytest.mark.parametrize(("field", "typed", "right"), [
    ("near", "a bit", "turns in eighths"), ("far", "1/7", "turns in eighths"), ("far", "1/0", "turns in eighths"),
    ("near", "99", "turns in eighths"), ("near", "1 -3/8", "turns in eighths"), ("near", "1_0/8", "turns in eighths"),
    ("far", "--1", "turns in eighths"), ("far", "1e6000000", "turns in eighths"), ("before_top", "wide", ""),
    ("after_start_n", "hard", "pounds, such as 12.5;")])
def test_what_cannot_be_a_reading_is_told_at_its_field_and_the_rest_stays(client, field, typed, right):
    site = accepted()
    call = a_call(site)
    answer = post(client, site.lead, url(call, "adjust"), what="the strike", **{field: typed})
    page = text(answer)
    assert (answer.status_code, "the strike" in page, f'value="{typed}"' in page, right in page) == (
        422, True, True, True)
    assert f'id="adjust-{field}_error"' in page


def test_a_photo_of_it_is_kept_with_it(client):
    site = accepted()
    call = a_call(site)
    picture = SimpleUploadedFile("photo.jpg", jpeg(40, 30), "image/jpeg")
    assert post(client, as_role(site, "customer-service"), url(call, "photo"), photo=picture,
                caption="the strike").status_code == 302
    photo = Photo.objects.get(caption="the strike")
    assert (photo.about, photo.about_id) == ("callback", str(call.pk))
    assert "the strike" in see(client, site.office, url(call))


def test_it_is_closed_with_its_finding_and_whose_it_was(client):
    site = accepted()
    call = a_call(site)
    refused = post(client, site.office, url(call, "close"), version="1", finding="grit on the track")
    assert (refused.status_code, "grit on the track" in text(refused)) == (422, True)
    done = {"version": "1", "finding": "grit on the track", "whose": "wear"}
    assert post(client, site.office, url(call, "close"), **done).status_code == 302
    page = see(client, site.office, url(call))
    assert "grit on the track (wear and use)" in page
    assert "What to say until somebody comes" not in page
    assert post(client, site.office, url(call, "close"), **done).status_code == 302, "pressed twice"
    assert post(client, site.office, url(call, "close"), **{**done, "whose": "maker"}).status_code == 412


MAY = {"book-trip": ("office", "customer-service"), "change-trip": ("office", "customer-service"),
       "trip-made": ("office", "customer-service"), "close": ("office", "customer-service"),
       "adjust": ("office", "lead", "installer", "customer-service"),
       "photo": ("office", "lead", "installer", "customer-service")}


def test_each_act_is_theirs_and_nobody_elses(client):
    site = accepted()
    call = a_call(site)
    people = {role: as_role(site, role) for role in ("office", "lead", "installer", "customer-service", "guest")}
    for name in CALL_FORMS:
        refused = {role for role, person in people.items() if post(client, person, url(call, name)).status_code == 403}
        assert refused == people.keys() - set(MAY[name]), name


def test_what_people_wrote_runs_nothing(client):
    site = accepted()
    call = a_call(site, symptom="<script>alert(1)</script>", caller="<b>me</b>")
    for address in (url(call), LIST, at(site, "call")):
        assert "<script>alert" not in see(client, site.office, address)


def test_a_crew_sees_the_callbacks_of_its_own_openings(client):
    site, other = accepted(), accepted()
    a_call(site, symptom="ours")
    theirs = a_call(other, symptom="theirs")
    Assignment.objects.filter(opening=site.opening).update(crew=site.crew)
    assert listed(client, site.lead) == ["ours"]
    client.force_login(site.lead)
    assert client.get(url(theirs)).status_code == 404


def test_the_openings_own_page_leads_to_its_callbacks_and_to_taking_a_call(client):
    site = accepted()
    call = a_call(site)
    page = see(client, as_role(site, "customer-service"), at(site))
    assert (f'href="{url(call)}">{call.number}</a>' in page, f'href="{at(site, "call")}"' in page) == (True, True)
    page = see(client, as_role(site, "guest"), at(site))
    assert (call.number in page, f'href="{at(site, "call")}"' in page) == (True, False)


def test_a_photo_larger_than_is_taken_is_told_how_large_one_may_be(client, monkeypatch):
    site = accepted()
    call = a_call(site)
    monkeypatch.setattr("dashboard.uploads.MOST_BYTES", -(2**20))
    client.force_login(site.office)
    answer = client.post(url(call, "photo"), {"photo": SimpleUploadedFile("weep.jpg", jpeg(40, 30), "image/jpeg")})
    assert (answer.status_code, "at most 20 MB" in text(answer)) == (413, True)


def test_what_was_adjusted_before_acceptance_is_how_it_was_left_and_not_what_was_done_since(client):
    site = site_today(Stage.ACCEPTED)
    day_before = Act(user=site.lead, role="lead", now=site.now - dt.timedelta(days=30))
    log_adjustment(day_before, site.opening.pk, what="strike")
    later = Act(user=site.lead, role="lead", now=dt.datetime.now(dt.UTC) + dt.timedelta(hours=1))
    log_adjustment(later, site.opening.pk, what="weep")
    page = see(client, site.office, at(site, "call"))
    assert page.index("Strike") < page.index("What was done since") < page.index("Weep")


def test_an_adjustment_belongs_to_a_trip_that_has_been_and_says_which(client):
    site = accepted()
    call = a_call(site)
    trips = [ReturnTrip.objects.create(callback=call, crew=site.crew, day=site_day(site) + dt.timedelta(days=n))
             for n in (-3, 3)]
    client.force_login(site.office)
    offered = client.get(url(call)).context["c"].adjust["trip"]
    assert [value for value, _said in offered.field.widget.choices] == ["", trips[0].pk]
    assert offered.value() == trips[0].pk
    log_adjustment(site.act(), site.opening.pk, what="rollers", callback_id=call.pk, trip_id=trips[0].pk)
    assert re.search(f"; trip of [^<]+, {site.crew.name}", see(client, site.office, url(call)))
