"""The builder's link: signed, ending, revocable; and what is reported corrected through it closes nothing."""

import datetime as dt
from dataclasses import replace

import pytest
from django.utils import timezone

from inspections.models import BuilderLink, CorrectionReport, Photo
from inspections.services.builders_link import (
    MOST_DAYS,
    MOST_REPORTS,
    link_of,
    make_link,
    note_opened,
    report_corrected,
    revoke_link,
    take_note,
    token_of,
)
from inspections.services.looking import look_at
from inspections.services.waits import raise_wait
from jobs.errors import AlreadyHasOther, Gone, Invalid, NotAllowed, NotThere, Refusal
from jobs.models import Change, Wait
from jobs.models.base import new_id
from tests.factories import make_user
from tests.pictures import jpeg
from tests.site import Site, floor

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def site():
    return Site("AB")


@pytest.fixture
def link(site):
    return make_link(site.act(), site.opening.pk)


def test_it_holds_through_its_last_day_on_the_clock_of_the_job(site):
    act = site.act()  # in Los Angeles it is the 10th of March
    link = make_link(act, site.opening.pk, until=dt.date(2026, 3, 12))
    assert link.expires_at == dt.datetime(2026, 3, 13, 7, tzinfo=dt.UTC)
    assert link_of(token_of(link), link.expires_at - dt.timedelta(seconds=1)) == link
    with pytest.raises(Gone) as why:
        link_of(token_of(link), link.expires_at)
    assert why.value.code == "link-expired"
    assert why.value.fields == {"until": "2026-03-12"}


@pytest.mark.parametrize("off", [-1, MOST_DAYS + 1, 366])
def test_a_last_day_that_is_past_or_far_off_is_told_from_when_to_when(site, off):
    act = site.act()
    today = act.today(site.opening.job.time_zone)
    with pytest.raises(Invalid) as why:
        make_link(act, site.opening.pk, until=today + off * DAY)
    assert why.value.fields["until"] == f"a day from {today} to {today + MOST_DAYS * DAY}"
    assert not BuilderLink.objects.exists()


def test_altered_by_any_one_character_it_is_not_there(site, link):
    token = token_of(link)
    others = {token[:n] + other + token[n + 1:] for n in range(len(token)) for other in "0aAZ_-" if other != token[n]}
    others |= {token.upper(), token[:-1], token + "A", "", "x", token[:32], "é" + token[1:]}
    for other in others - {token}:
        with pytest.raises(NotThere):
            link_of(other, site.now)


def test_of_what_is_kept_nothing_opens_it(site, link, settings):
    token = token_of(link)
    settings.SECRET_KEY = "another key altogether, of another machine"
    with pytest.raises(NotThere):
        link_of(token, site.now)


def test_two_links_of_one_opening_are_signed_apart(site, link):
    other = make_link(site.act(), site.opening.pk)
    with pytest.raises(NotThere):
        link_of(other.pk.hex + token_of(link)[32:], site.now)


def test_revoked_it_opens_nothing_and_the_other_still_does(site, link):
    other = make_link(site.act(), site.opening.pk)
    act = site.act()
    assert revoke_link(act, link.pk).revoked_by == site.lead
    revoke_link(site.act(site.office), link.pk)  # twice changes nothing
    link.refresh_from_db()
    assert (link.revoked_by, link.revoked_at) == (site.lead, act.now)
    with pytest.raises(Gone) as why:
        link_of(token_of(link), site.now)
    assert why.value.code == "link-revoked"
    assert link_of(token_of(other), site.now) == other


def test_read_again_since_it_no_longer_holds(site):
    site.read("floor-profile", floor([0, 8] + [0] * 25))
    link = make_link(site.act(), site.opening.pk)
    site.read("last-panel-gap", {"gap": "18"})  # nothing the builder owes
    assert link_of(token_of(link), site.now) == link
    site.read("floor-profile", floor())
    with pytest.raises(Gone) as why:
        link_of(token_of(link), site.now)
    assert why.value.code == "read-again-since"


def test_only_office_and_lead_make_and_revoke(site, link):
    for role in ("installer", "customer-service", "guest"):
        act = replace(site.act(site.office), role=role)
        for call in (lambda act=act: make_link(act, site.opening.pk), lambda act=act: revoke_link(act, link.pk)):
            with pytest.raises((NotAllowed, NotThere)):
                call()
    with pytest.raises(NotThere):  # a lead of another crew
        make_link(site.act(make_user("lead")), site.opening.pk)


def test_made_twice_under_one_id_it_is_one(site):
    entry = new_id()
    made = [make_link(site.act(), site.opening.pk, entry_id=entry) for _ in range(2)]
    assert made[0] == made[1]
    assert BuilderLink.objects.count() == 1


def test_that_it_was_opened_is_noted_once_a_minute(link, site):
    note_opened(link, site.now)
    note_opened(link, site.now + dt.timedelta(seconds=30))
    link.refresh_from_db()
    assert link.last_opened_at == site.now
    note_opened(link, site.now + dt.timedelta(minutes=2))
    link.refresh_from_db()
    assert link.last_opened_at == site.now + dt.timedelta(minutes=2)


# ---- reported corrected -----------------------------------------------------------------------------------


def a_report(site, link, **over):
    return report_corrected(token_of(link), site.now, **{"note": "Ground at 8 ft.", **over})


def test_it_closes_nothing_and_changes_no_gate(site):
    failed = site.read("floor-profile", floor([0, 8] + [0] * 25))
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", inspection_id=failed.pk)
    link = make_link(site.act(), site.opening.pk)
    before, now = Wait.objects.get(), site.now
    gate = look_at(site.opening, now)
    a_report(site, link, picture=jpeg())
    after = look_at(site.opening, now)
    assert (after.outcomes, after.blocks) == (gate.outcomes, gate.blocks)
    assert (Wait.objects.get().cleared_at, Wait.objects.get().version) == (None, before.version)
    site.opening.refresh_from_db()
    assert site.opening.stage == "to be measured"


def test_it_stands_in_the_history_by_nobody_of_ours(site, link):
    report = a_report(site, link)
    line = Change.objects.order_by("-position").first()
    assert (line.what, line.by, line.opening) == ("builder reports it corrected", None, site.opening)
    assert line.record_id == str(report.pk)


def test_its_photo_is_written_anew_and_is_evidence_for_no_check(site, link):
    report = a_report(site, link, picture=jpeg(40, 30))
    assert (report.photo.opening, report.photo.check_code) == (site.opening, "")
    assert (report.photo.width, report.photo.height) == (40, 30)


@pytest.mark.parametrize("data", [b"GIF89a not a picture", b"<svg onload=alert(1)>", b"\xff\xd8\xff broken"])
def test_what_is_no_picture_is_refused_and_nothing_is_kept(site, link, data):
    with pytest.raises(Invalid):
        a_report(site, link, picture=data)
    assert not Photo.objects.exists()
    assert not CorrectionReport.objects.exists()


@pytest.mark.parametrize("note", ["", "  \n", "x" * 1001, "a\x00b"])
def test_a_note_that_says_nothing_or_too_much_is_told_what_would_be_right(site, link, note):
    with pytest.raises(Invalid) as why:
        a_report(site, link, note=note)
    assert set(why.value.fields) == {"note"}


def test_sent_twice_it_is_one_and_other_words_under_its_id_are_refused(site, link):
    entry = new_id()
    first = a_report(site, link, picture=jpeg(), entry_id=entry)
    assert a_report(site, link, picture=jpeg(), entry_id=entry) == first
    with pytest.raises(AlreadyHasOther):
        a_report(site, link, note="Something else.", entry_id=entry)
    assert (CorrectionReport.objects.count(), Photo.objects.count()) == (1, 1)


def test_said_often_enough_it_is_not_taken_again(site, link):
    for n in range(MOST_REPORTS):
        a_report(site, link, note=f"Ground, {n}.")
    with pytest.raises(Refusal, match="some other way"):
        a_report(site, link, note="Once more.")


def test_through_a_link_that_no_longer_holds_nothing_is_reported(site, link):
    revoke_link(site.act(), link.pk)
    with pytest.raises(Gone):
        a_report(site, link)
    assert not CorrectionReport.objects.exists()


def test_the_crew_takes_note_and_who_was_first_stays(site, link):
    report = a_report(site, link)
    take_note(site.act(), report.pk)
    assert take_note(site.act(site.office), report.pk).seen_by == site.lead
    for role in ("customer-service", "guest"):
        with pytest.raises(NotAllowed):
            take_note(replace(site.act(site.office), role=role), report.pk)
    with pytest.raises(NotThere):
        take_note(site.act(make_user("installer")), report.pk)


def test_the_server_says_when_it_was_said(site, link):
    assert a_report(site, link).at == site.now != timezone.now()
