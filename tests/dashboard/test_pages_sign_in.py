"""Signing in and out of the pages."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inspections.models import Inspection
from jobs.models import Change
from jobs.models.base import new_id
from tests.factories import make_user
from tests.visits import at, site_today, text

pytestmark = pytest.mark.django_db
PASSWORD = "a long enough password"


def signed_in(client, person, password=PASSWORD, **more):
    return client.post(reverse("sign-in"), {"username": person.username, "password": password, **more})


@pytest.mark.parametrize("name", ["crew-progress", "jobs", "punch-items"])
def test_every_page_asks_to_sign_in_first_and_leads_back(client, name):
    answer = client.get(reverse(name))
    assert (answer.status_code, answer.url) == (302, f"/sign-in/?next={reverse(name)}")


def test_name_and_password_lead_to_crew_progress(client):
    assert signed_in(client, make_user()).url == "/"
    assert client.get("/").status_code == 200


def test_one_is_led_on_to_where_one_wanted_to_go(client):
    assert signed_in(client, make_user(), next="/jobs/?q=larch").url == "/jobs/?q=larch"


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)",
                                       "http:///elsewhere.example", "\\\\elsewhere.example"])
def test_nobody_is_led_on_to_another_site(client, elsewhere):
    assert signed_in(client, make_user(), next=elsewhere).url == "/"


def test_a_wrong_password_keeps_the_name_and_says_so(client):
    person = make_user()
    answer = signed_in(client, person, "wrong")
    assert answer.status_code == 422
    assert "do not go together" in text(answer)
    assert f'value="{person.username}"' in text(answer)
    assert "wrong" not in answer.context["form"].as_p().replace("Wrong", "")


def test_somebody_unknown_is_told_the_same(client):
    known, unknown = signed_in(client, make_user(), "wrong"), client.post(
        reverse("sign-in"), {"username": "nobody", "password": "wrong"})
    assert [str(e) for e in known.context["form"].non_field_errors()] == [
        str(e) for e in unknown.context["form"].non_field_errors()]


def test_after_five_wrong_passwords_one_waits_and_is_told_how_long(client):
    person = make_user()
    answers = [signed_in(client, person, "wrong") for _ in range(6)]
    assert answers[-1].status_code == 429
    assert "Wait 15 minutes" in text(answers[-1])
    assert signed_in(client, person).status_code == 429, "the right password does not help then either"


def test_a_closed_account_does_not_sign_in(client):
    assert signed_in(client, make_user(is_active=False)).status_code == 422


def test_signing_out_takes_a_post_and_ends_it(client):
    client.force_login(make_user())
    assert client.get(reverse("sign-out")).status_code == 405
    assert client.post(reverse("sign-out")).url == reverse("sign-in")
    assert client.get("/").status_code == 302


def test_who_is_signed_in_already_is_led_on(client):
    client.force_login(make_user())
    assert client.get(reverse("sign-in")).url == "/"


def test_an_address_with_nothing_at_it_is_answered_in_the_look_of_the_pages(client):
    answer = client.get("/nothing-here/")
    assert answer.status_code == 404
    assert "sillbook.css" in text(answer)


def test_what_was_typed_when_the_session_had_ended_is_kept_through_signing_in(client):
    site = site_today()
    typed = {"entry": str(new_id()), "depth": "65", "thickness": '7 1/2"', "note": "by the stairs & back"}
    asked = client.post(at(site, "readings", "pocket"), typed)
    assert asked.status_code == 403 and "What you typed is kept" in text(asked)
    again = client.post(reverse("sign-in"), {"username": site.lead.username, "password": "wrong",
                                             "next": asked.context["next"], "kept": asked.context["kept"]})
    site.lead.set_password(PASSWORD)
    site.lead.save()
    signed = signed_in(client, site.lead, next=again.context["next"], kept=again.context["kept"])
    assert "not recorded yet" in text(signed)
    assert dict(signed.context["kept"]) == typed
    assert not Inspection.objects.exists(), "signing in alone records nothing"
    assert client.post(signed.context["onward"], dict(signed.context["kept"])).status_code == 302
    assert Inspection.objects.get().given["thickness"] == '7 1/2"'


def test_a_photo_that_could_not_be_kept_is_asked_for_again(client):
    asked = client.post("/openings/1/photo/", {"caption": "the bead", "photo": SimpleUploadedFile("a.jpg", b"x")})
    assert asked.context["photo"]
    signed = signed_in(client, make_user(), next=asked.context["next"], kept=asked.context["kept"], photo="1")
    assert "choose it again" in text(signed)


def test_what_was_kept_is_sent_on_to_no_other_site(client):
    signed = signed_in(client, make_user(), next="https://elsewhere.example/", kept="note=secret")
    assert signed.context["onward"] == "/"


# ---- one's own password ----------------------------------------------------------------------------------

NEW = "another long enough one"


def changed(client, person, old=PASSWORD, password=NEW, again=NEW):
    client.force_login(person)
    return client.post(reverse("your-password"), {"old": old, "password": password, "again": again})


def test_whoever_knows_the_old_password_gives_themselves_another_and_stays_signed_in(client):
    person = make_user("installer")
    elsewhere = Client()
    signed_in(elsewhere, person)
    assert changed(client, person).url == "/"
    assert "Your password is changed." in text(client.get("/"))
    assert elsewhere.get("/").status_code == 302, "signed out everywhere else"
    assert signed_in(Client(), person, NEW).status_code == 302
    assert signed_in(Client(), person).status_code == 422
    line = Change.objects.get(what="password changed")
    assert (line.by, line.more) == (person, {}), "said, and not what it is"


@pytest.mark.parametrize(("wrong", "said"), [
    ({"old": "not that one"}, "That is not your password until now"),
    ({"again": "something else"}, "The two are not the same"),
    ({"password": "short", "again": "short"}, "at least 10 characters"),
    ({"password": "", "again": ""}, "Write it here"),
])
def test_a_password_that_will_not_do_is_said_at_its_field_and_changes_nothing(client, wrong, said):
    person = make_user()
    answer = changed(client, person, **wrong)
    assert answer.status_code == 422 and said in text(answer)
    assert not any(value in text(answer) for value in (PASSWORD, NEW)), "no password comes back in a page"
    assert signed_in(Client(), person).status_code == 302


def test_guessing_the_old_password_is_locked_like_guessing_at_the_door(client):
    person = make_user()
    answers = [changed(client, person, old=f"guess number {n}").status_code for n in range(6)]
    assert answers[0] == 422 and answers[-1] == 429


def test_a_password_sent_when_the_session_has_ended_waits_in_no_form(client):
    answer = client.post(reverse("your-password"), {"old": PASSWORD, "password": NEW, "again": NEW})
    assert answer.status_code == 302 and NEW not in answer.url
