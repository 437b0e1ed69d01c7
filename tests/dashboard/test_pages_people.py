"""People on pages: made with a first password that is shown once, changed, their access ended."""

import datetime as dt
import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from dashboard.office.people import first_password
from jobs.acts import Act
from jobs.models import Change, DayOff, IdempotentAnswer, User
from jobs.services.tokens import make_token
from tests.dashboard.forms import Form, typed
from tests.factories import make_crew, make_user

pytestmark = pytest.mark.django_db
TODAY = dt.datetime.now(dt.UTC).date()
WREN = {"name": "Wren Dunlatch", "username": "wren", "role": "installer", "phone": "555-0107",
        "email": "wren@marrow.example"}


@pytest.fixture
def office(client):
    person = make_user("office")
    client.force_login(person)
    return person


def at(name="", *args):
    return reverse(f"person{name}", args=args)


def opens(name, password):
    return Client().post(reverse("sign-in"), {"username": name, "password": password}).status_code == 302


def test_a_first_password_is_made_by_chance_and_can_be_read_out():
    made = {first_password() for _ in range(50)}
    assert len(made) == 50
    assert all(re.fullmatch(r"([bdfghjkmnprstvz][aeiou]){2}(-([bdfghjkmnprstvz][aeiou]){2}){2}-[2-9]{2}", one)
               for one in made)


def test_somebody_new_gets_a_first_password_that_is_shown_once_and_opens_the_door(client, office):
    sent = typed(client, at("-new")) | WREN
    for _ in range(2):  # pressed twice, the answer to both is the same
        made = client.post(at("-new"), sent)
        assert (made.status_code, made.context["password"]) == (200, sent["password"])
        assert "no-store" in made["Cache-Control"]
    person = User.objects.get(username="wren")
    assert (person.name, person.role, person.phone) == ("Wren Dunlatch", "installer", "555-0107")
    assert opens("wren", sent["password"])
    assert sent["password"] not in client.get(at("", person.pk)).content.decode()
    kept = str([*Change.objects.values(), *IdempotentAnswer.objects.values(), *User.objects.values()])
    assert sent["password"] not in kept


@pytest.mark.parametrize(("over", "at_field", "says"), [
    ({"name": ""}, "name", "needed"), ({"username": "office-1"}, "username", "exists"),
    ({"username": "two words"}, "username", "letters"), ({"role": "boss"}, "role", "one of: office, lead"),
    ({"email": "wren"}, "email", "such as"), ({"password": "short"}, "password", "10 characters"),
    ({"password": ""}, "password", "10 characters"), ({"password": "wren@marrow"}, "password", "similar"),
    ({"time_zone": "Mars/Base"}, "time_zone", "No such time zone"),
])
def test_who_cannot_be_made_is_refused_at_the_field_and_what_was_typed_stays(client, office, over, at_field, says):
    sent = typed(client, at("-new")) | WREN | over
    refused = client.post(at("-new"), sent)
    assert refused.status_code == 422
    assert says in refused.context["form"].errors[at_field]
    again = Form(refused.content.decode()).sent
    assert {name: again[name] for name in sent} == sent
    assert not User.objects.filter(username="wren").exists()


def test_what_is_shown_and_sent_back_changes_nothing(client, office):
    person = make_user("lead", phone="555-0101", time_zone="America/Denver", units="mm")
    before = User.objects.values().get(pk=person.pk)
    assert client.post(at("-edit", person.pk), typed(client, at("-edit", person.pk))).status_code == 302
    assert User.objects.values().get(pk=person.pk) == before


def test_another_role_counts_from_the_next_request_on(client, office):
    person = make_user("guest")
    theirs = Client()
    theirs.force_login(person)
    assert theirs.get("/crews/").status_code == 403
    client.post(at("-edit", person.pk), typed(client, at("-edit", person.pk)) | {"role": "office"})
    assert theirs.get("/crews/").status_code == 200


def test_of_two_the_second_is_told_and_keeps_what_was_typed(client, office):
    person = make_user("lead", phone="555-0101")
    sent = typed(client, at("-edit", person.pk))
    client.post(at("-edit", person.pk), sent | {"phone": "555-0102"})
    late = client.post(at("-edit", person.pk), sent | {"phone": "555-0103"})
    assert late.status_code == 412
    assert "Telephone: now “555-0102”, typed here “555-0103”." in late.content.decode()
    assert Form(late.content.decode()).sent["version"] == "2"


def test_a_forgotten_password_is_given_anew_and_ends_what_was_signed_in(client, office):
    person = make_user("lead")
    theirs = Client()
    theirs.force_login(person)
    sent = typed(client, at("-password", person.pk))
    for _ in range(2):
        given = client.post(at("-password", person.pk), sent)
        assert (given.status_code, given.context["password"]) == (200, sent["password"])
    assert theirs.get("/").status_code == 302, "signed out"
    assert opens(person.username, sent["password"])
    late = client.post(at("-password", person.pk), sent | {"password": "another-one-at-that"})
    assert late.status_code == 412
    assert sent["password"] not in late.content.decode()
    assert client.post(at("-password", person.pk), sent | {"password": "x", "version": "2"}).status_code == 422


def test_ones_own_password_is_changed_by_whoever_knows_it(client, office):
    assert client.get(at("-password", office.pk))["Location"] == reverse("your-password")


def test_passwords_do_not_wait_in_a_form_until_somebody_has_signed_in(client, office):
    sent = typed(client, at("-new")) | WREN
    client.logout()
    asked = client.post(at("-new"), sent)
    assert (asked.status_code, "password" in asked.context["kept"]) == (403, False)
    assert sent["password"] not in asked.content.decode() and "wren" in asked.context["kept"]
    person = make_user("lead")
    assert client.post(at("-password", person.pk), {"password": sent["password"]}).status_code == 302


def test_somebodys_access_is_ended_at_once_and_for_their_tokens_too_and_given_back(client, office):
    person = make_user("lead")
    make_crew(person, name="Alder")
    _token, secret = make_token(Act.of(person, dt.datetime.now(dt.UTC)), name="telephone")
    theirs, bearer = Client(), {"Authorization": f"Bearer {secret}"}
    theirs.force_login(person)
    assert Client().get("/api/v1/openings/", headers=bearer).status_code == 200
    assert client.post(at("-access", person.pk), {"version": "9"}).status_code == 412
    client.post(at("-access", person.pk), {"version": "1"})
    assert theirs.get("/").status_code == 302
    assert Client().get("/api/v1/openings/", headers=bearer).status_code == 401
    assert list(client.get(at("", person.pk)).context["p"].told) == ["still counted as a hand of crew Alder"]
    client.post(at("-access", person.pk), {"version": "2", "back": "1"})
    assert Client().get("/api/v1/openings/", headers=bearer).status_code == 200


def test_a_lost_telephone_opens_nothing_any_more_and_its_owner_still_signs_in(client, office):
    person = make_user("lead")
    token, secret = make_token(Act.of(person, dt.datetime.now(dt.UTC)), name="<b>telephone")
    shown = client.get(at("", person.pk))
    assert "&lt;b&gt;telephone" in shown.content.decode() and secret not in shown.content.decode()
    theirs = Client()
    theirs.force_login(person)
    url = reverse("token-revoke", args=[token.public_id])
    assert theirs.post(url).status_code == 403
    for _ in range(2):
        assert client.post(url)["Location"] == at("", person.pk)
    assert Client().get("/api/v1/openings/", headers={"Authorization": f"Bearer {secret}"}).status_code == 401
    assert theirs.get("/").status_code == 200
    assert list(client.get(at("", person.pk)).context["p"].tokens) == []
    assert client.post(reverse("token-revoke", args=[uuid.uuid4()])).status_code == 404


def test_the_last_who_can_keep_the_office_stays(client, office):
    refused = client.post(at("-access", office.pk), {"version": "1"})
    assert refused.status_code == 409
    assert "Somebody has to keep the office" in refused.content.decode()
    refused = client.post(at("-edit", office.pk), typed(client, at("-edit", office.pk)) | {"role": "guest"})
    assert refused.status_code == 409
    office.refresh_from_db()
    assert (office.is_active, office.role) == (True, "office")


def test_people_are_found_by_name_and_telephone(client, office):
    wren, other = make_user("lead", name="Wren Dunlatch", phone="555-0107"), make_user("installer")
    for scrap in ("dunl", "0107", wren.username):
        assert [p.person for p in client.get("/people/", {"search": scrap}).context["people"]] == [wren]
    assert other in [p.person for p in client.get("/people/").context["people"]]
    assert "Nobody is called so" in client.get("/people/", {"search": "\x00zz"}).content.decode()


def test_an_installer_on_no_crew_is_told_of(client, office):
    person = make_user("installer")
    assert list(client.get(at("", person.pk)).context["p"].told) == ["on no crew: sees no opening"]


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_people_are_the_offices_to_keep(client, role):
    person = make_user("lead", phone="555-0109")
    client.force_login(make_user(role))
    urls = ["/people/", at("-new"), at("", person.pk), at("-edit", person.pk), at("-password", person.pk)]
    answers = [client.get(url) for url in urls]
    assert {answer.status_code for answer in answers} == {403}
    assert not [answer for answer in answers if "555-0109" in answer.content.decode()]
    posts = [urls[1], *urls[3:], at("-access", person.pk)]
    assert {client.post(url, {"version": "1"} | WREN).status_code for url in posts} == {403}
    assert not Change.objects.exists()


def test_odd_text_is_shown_as_text(client, office):
    person = make_user("lead", name="<i>Ada</i>", phone="<u>", email="<s>@marrow.example")
    DayOff.objects.create(user=person, from_day=TODAY, to_day=TODAY, reason="<em>")
    for url in ("/people/", at("", person.pk), at("-edit", person.pk)):
        said = client.get(url).content.decode()
        assert not [tag for tag in ("<i>", "<u>", "<s>", "<em>") if tag in said]


@pytest.mark.parametrize("rows", [2, 12])
def test_the_pages_ask_the_same_number_of_times_however_many_there_are(
        client, office, rows, django_assert_num_queries):
    people = [make_user("installer") for _ in range(rows)]
    for person in people:
        make_crew(person), make_crew(people[0])
        DayOff.objects.create(user=person, from_day=TODAY, to_day=TODAY)
    for url, asked in (("/people/", 6), (at("", people[0].pk), 7), (at("-edit", people[0].pk), 4)):
        with django_assert_num_queries(asked):
            client.get(url)
