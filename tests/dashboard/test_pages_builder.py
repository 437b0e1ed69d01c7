"""The builder's page: one opening's report without an account; and the link on our own page of that opening."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from dashboard.forms.builders_link import LINK_FORMS
from inspections.models import BuilderLink, CorrectionReport, Photo
from inspections.services.builders_link import make_link, report_corrected, revoke_link, token_of
from inspections.services.waits import raise_wait
from inspections.services.work import note_event
from jobs.models import AccessCode, Job, OfficeSettings, Opening, Wait
from jobs.models.base import new_id
from tests.factories import make_opening, make_party
from tests.pictures import jpeg
from tests.site import floor
from tests.visits import as_role, at, post, queries, site_today, text

pytestmark = pytest.mark.django_db
FLOOR = floor([0, 0, 0, 4] + [0] * 23)
SECRETS = ("4711#", "123456", "1234.56", "555-0101", "b@builder.example", "by the side gate", "Other opening")


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def site():
    OfficeSettings.objects.create(pk=1, company="Marrow Bay Sliding Walls", reply_address="office@marrow.example")
    site = site_today(benchmark="brass pin at the east column")
    failed = site.read("floor-profile", FLOOR)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", inspection_id=failed.pk,
               expected_day=timezone.now().date() + dt.timedelta(days=5))
    return site


@pytest.fixture
def link(site):
    return make_link(site.act(), site.opening.pk)


def url_of(link):
    return reverse("for-the-builder", args=[token_of(link)])


def report(link, **sent):
    return Client(enforce_csrf_checks=True).post(
        url_of(link), {"entry": str(new_id()), "note": "Ground at 3 ft.", **sent})


# ---- what the builder sees --------------------------------------------------------------------------------


def test_it_says_what_where_how_much_by_when_and_whom_to_tell(client, site, link):
    page = text(client.get(url_of(link)))
    wait = Wait.objects.get()
    for said in ("To be put right before our work goes on", "brass pin at the east column", "Floor profile",
                 f"{wait.expected_day.day} {wait.expected_day:%b %Y}", "Marrow Bay Sliding Walls",
                 "office@marrow.example", "The least work that puts it right", "Grind", "Waiting on the builder"):
        assert said in page, said


def test_the_heights_to_work_to_stand_on_it(client, site, link):
    page = text(client.get(url_of(link)))
    assert "Heights against the highest place as it was read, where something is done" in page
    assert "to be" in page


def test_of_a_floor_that_was_poured_again_it_says_that_it_is_to_be_read(client, site, link):
    note_event(site.act(), site.opening.pk, "re-pour")
    said = text(client.get(url_of(link)))
    assert "no longer counts, the floor was poured again" in said and "The least work" not in said


def test_it_shows_nothing_else_of_ours(client, site, link):
    builder = make_party("builder", name="Builder of it", phone="555-0101", email="b@builder.example")
    Job.objects.filter(pk=site.opening.job_id).update(builder=builder, contract_cents=123_456,
                                                      access_notes="by the side gate")
    AccessCode.objects.create(job=site.opening.job, what="gate", code="4711#")
    make_opening(site.opening.job, tag="Other opening")
    page = text(client.get(url_of(link)))
    assert [secret for secret in (*SECRETS, site.lead.name, site.lead.email, site.office.name, "/openings/", "/jobs/",
                                  "csrfmiddlewaretoken") if secret in page] == []


def test_nobody_keeps_it_finds_it_or_is_told_where_it_was_opened(client, link):
    answer = client.get(url_of(link))
    assert answer["Cache-Control"] == "no-store"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"]
    assert not answer.cookies
    assert "Set-Cookie" not in answer


def test_it_is_in_english_whatever_the_browser_speaks(link):
    assert "When it is done" in text(Client(headers={"Accept-Language": "es"}).get(url_of(link)))


def test_lengths_are_in_inches_or_in_millimetres(client, link):
    assert '1/4"' in text(client.get(url_of(link)))
    in_mm = text(client.get(url_of(link) + "?units=mm"))
    assert "6.35 mm" in in_mm or "6.4 mm" in in_mm
    assert "In inches" in in_mm
    assert "In millimetres" in text(client.get(url_of(link) + "?units=ells"))


def test_that_it_was_opened_is_noted_and_a_look_at_its_head_is_not(client, link):
    client.head(url_of(link))
    link.refresh_from_db()
    assert link.last_opened_at is None
    client.get(url_of(link))
    link.refresh_from_db()
    assert link.last_opened_at is not None


def test_it_takes_as_many_queries_for_one_report_as_for_ten(client, site, link):
    report_corrected(token_of(link), timezone.now(), note="Ground.")
    one = queries(client, url_of(link))
    for n in range(9):
        report_corrected(token_of(link), timezone.now(), note=f"Ground, {n}.")
    assert queries(client, url_of(link)) == one == 9


# ---- links that do not hold -------------------------------------------------------------------------------


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_link_that_does_not_hold_says_what_would_be_right(client, site, link, method):
    def said(expected):
        answer = getattr(client, method)(url_of(link), {"note": "Ground, <b>all</b>."} if method == "post" else {})
        assert answer.status_code == expected
        assert answer["Cache-Control"] == "no-store"
        page = text(answer)
        assert "Whom to ask: Marrow Bay Sliding Walls" in page
        assert site.opening.tag not in page
        assert ("What you wrote was not sent" in page) is (method == "post")
        assert ("Ground, &lt;b&gt;all&lt;/b&gt;." in page) is (method == "post"), "nothing typed is lost"
        return page

    BuilderLink.objects.filter(pk=link.pk).update(expires_at=timezone.now() - dt.timedelta(hours=1))
    assert "It held until the end of" in said(410)
    BuilderLink.objects.filter(pk=link.pk).update(expires_at=timezone.now() + dt.timedelta(days=1))
    site.read("floor-profile", floor())
    assert "read again since" in said(410)
    revoke_link(site.act(), link.pk)
    assert "taken back" in said(410)
    assert not CorrectionReport.objects.exists()


def test_altered_by_a_character_it_is_answered_like_one_that_never_was(client, link):
    token = token_of(link)
    altered = token[:-1] + ("A" if token[-1] != "A" else "B")
    answers = [client.get(reverse("for-the-builder", args=[t])) for t in (altered, "0" * len(token), "x")]
    assert [a.status_code for a in answers] == [404] * 3
    assert len({a.content for a in answers}) == 1
    BuilderLink.objects.filter(pk=link.pk).update(expires_at=link.taken_at + dt.timedelta(seconds=1))
    assert client.get(reverse("for-the-builder", args=[altered])).content == answers[0].content


def test_too_often_in_a_minute_is_told_to_wait(client, link, monkeypatch):
    monkeypatch.setattr("dashboard.views.for_builder.counted", lambda key, weight: 61 if "pages" in key else 11)
    for answer in (client.get(url_of(link)), report(link)):
        assert answer.status_code == 429
        assert 1 <= int(answer["Retry-After"]) <= 60
    assert not CorrectionReport.objects.exists()


# ---- corrected --------------------------------------------------------------------------------------------


def test_corrected_with_a_note_and_a_photo_without_account_cookie_or_script(client, site, link):
    answer = report(link, photo=SimpleUploadedFile("floor.png", jpeg(40, 30), "image/png"))
    assert answer.status_code == 302
    page = text(client.get(answer["Location"]))
    assert "The crew reads it again: what is read decides" in page
    assert "Ground at 3 ft." in page
    assert "with a photo" in page
    assert Photo.objects.get().opening == site.opening
    assert Wait.objects.get().cleared_at is None
    assert Opening.objects.get(pk=site.opening.pk).stage == "to be measured"


def test_the_same_form_sent_twice_counts_once(link):
    entry = str(new_id())
    assert [report(link, entry=entry).status_code for _ in range(2)] == [302, 302]
    assert CorrectionReport.objects.count() == 1
    other = report(link, entry=entry, note="Something else.")
    assert other.status_code == 409
    assert entry not in text(other)
    assert "Something else." in text(other)


@pytest.mark.parametrize(("sent", "said"), [
    ({"note": "  "}, "Say what was ground"), ({"note": "x" * 1001}, "At most 1000"), ({"note": "a\x00b"}, "Null"),
    ({"photo": SimpleUploadedFile("a.jpg", b"MZ no picture", "image/jpeg")}, "picture"),
    ({"entry": "17"}, "")])
def test_what_cannot_be_right_says_so_at_its_field_and_keeps_what_was_typed(link, sent, said):
    answer = report(link, **sent)
    assert answer.status_code == 422
    assert said in text(answer)
    assert not CorrectionReport.objects.exists()


def test_a_photo_larger_than_is_taken_is_told_how_large_one_may_be(link, monkeypatch):
    monkeypatch.setattr("dashboard.uploads.MOST_BYTES", -(2**20))
    answer = report(link, photo=SimpleUploadedFile("floor.jpg", jpeg(40, 30), "image/jpeg"))
    assert answer.status_code == 413
    assert "at most 20 MB" in text(answer)
    assert answer["Cache-Control"] == "no-store"


def test_what_the_builder_writes_is_text_and_nothing_else(client, site, link):
    report(link, note="<script>alert(1)</script> {{ 7 }} 😀")
    client.force_login(site.lead)
    for url in (url_of(link), at(site)):
        assert "<script>alert(1)" not in client.get(url).content.decode()


# ---- on our own page --------------------------------------------------------------------------------------


def test_the_wait_says_that_the_builder_reports_it_corrected(client, site, link):
    report(link, photo=SimpleUploadedFile("floor.jpg", jpeg(40, 30), "image/jpeg"))
    client.force_login(site.lead)
    page = text(client.get(at(site)))
    assert "The builder reports it corrected, " in page  # on the wait, which stays open
    assert "Clear it" in page
    assert "1 report not seen yet" in page
    assert ", the builder</span>" in page  # whose photo it is
    assert page.count("The builder reports it corrected") >= 3  # and among the reports, and in the history


def test_a_wait_raised_after_it_says_nothing_of_it(client, site, link):
    report_corrected(token_of(link), site.now, note="Ground at 3 ft.")
    Wait.objects.update(taken_at=timezone.now())
    client.force_login(site.lead)
    assert "The builder reports it corrected, " not in text(client.get(at(site)))


def test_a_link_is_made_shown_and_revoked_from_the_page(client, site):
    until = (timezone.now() + dt.timedelta(days=7)).date().isoformat()
    post(client, site.lead, at(site, "opening-builder-link"), until=until)
    link = BuilderLink.objects.get()
    shown = client.get(at(site, "builder-link", link.pk))
    assert url_of(link) in text(shown)
    assert "data:image/svg+xml" in shown.content.decode()
    assert shown["Cache-Control"] == "no-store"
    assert "not opened yet" in text(client.get(at(site)))
    assert token_of(link) not in text(client.get(at(site)))
    post(client, site.lead, at(site, "opening-revoke-builder-link"), link=link.pk)
    assert "opens nothing any more" in text(client.get(at(site, "builder-link", link.pk)))
    assert "Revoked" in text(client.get(at(site)))


def test_read_again_since_nobody_is_given_its_address_to_send(client, site, link):
    client.force_login(site.lead)
    assert "Holds until the end of" in text(client.get(at(site)))
    site.read("floor-profile", floor())
    page = text(client.get(at(site)))
    assert "Opens nothing any more: the opening was read again since" in page
    assert reverse("builder-link", args=[site.opening.pk, link.pk]) not in client.get(at(site)).content.decode()
    shown = text(client.get(at(site, "builder-link", link.pk)))
    assert "This link opens nothing any more" in shown
    assert token_of(link) not in shown


def test_a_last_day_that_cannot_be_is_told_at_its_field(client, site):
    for days in (-2, 400):
        until = (timezone.now() + dt.timedelta(days=days)).date().isoformat()
        answer = post(client, site.office, at(site, "opening-builder-link"), until=until)
        assert answer.status_code == 422
        assert "a day from " in text(answer)
    assert not BuilderLink.objects.exists()


def test_taking_note_of_a_report_says_who(client, site, link):
    made = report_corrected(token_of(link), site.now, note="Ground.")
    post(client, site.lead, at(site, "opening-note-correction"), report=made.pk)
    made.refresh_from_db()
    assert made.seen_by == site.lead
    assert "all reports seen" in text(client.get(at(site)))


def test_each_form_is_for_those_who_may_and_only_for_records_of_this_opening(client, site, link):
    made = report_corrected(token_of(link), site.now, note="Ground.")
    until = timezone.now().date().isoformat()
    sent = {"builder-link": {"until": until}, "revoke-builder-link": {"link": link.pk},
            "note-correction": {"report": made.pk}}
    may = {"builder-link": ("office", "lead"), "revoke-builder-link": ("office", "lead"),
           "note-correction": ("office", "lead", "installer")}
    other = site_today(tag="B9")
    for name in LINK_FORMS:
        for role in ("office", "lead", "installer", "customer-service", "guest"):
            done = post(client, as_role(site, role), at(site, f"opening-{name}"), **sent[name]).status_code
            assert (done == 302) is (role in may[name]), (name, role, done)
        if name != "builder-link":
            assert post(client, other.office, at(other, f"opening-{name}"), **sent[name]).status_code == 422


# ---- by the API -------------------------------------------------------------------------------------------


def test_made_once_under_a_key_its_address_opens_the_report(client, site):
    client.force_login(site.lead)
    sent = {"opening": site.opening.pk}
    made = [client.post("/api/v1/builder-links/", sent, "application/json", headers={"Idempotency-Key": "a-link"})
            for _ in range(2)]
    assert [answer.status_code for answer in made] == [201, 201]
    assert BuilderLink.objects.count() == 1
    address = client.get(f"/api/v1/builder-links/{made[0].json()['id']}/address/").json()["address"]
    assert Client().get(address).status_code == 200
    assert "salt" not in made[0].json()
    assert client.post(f"/api/v1/builder-links/{made[0].json()['id']}/revoke/").status_code == 200
    assert Client().get(address).status_code == 410


def test_a_bad_last_day_names_its_field(client, site):
    client.force_login(site.lead)
    answer = client.post("/api/v1/builder-links/", {"opening": site.opening.pk, "until": "2020-01-01"},
                         "application/json")
    assert answer.status_code == 422
    assert "a day from" in answer.json()["fields"]["until"]
