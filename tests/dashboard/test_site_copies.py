"""A copy of a telephone's outbox, taken in by the office: in the name of whoever entered it, once however often."""

import base64
import datetime as dt
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspections.models import Photo, SetAsidePart
from jobs.models import Change
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import make_opening, make_user
from tests.pictures import jpeg
from tests.visits import site_today, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return site_today()


def part(opening, what):
    return {"id": str(new_id()), "entry": "part-set-aside", "opening": opening.pk, "data": {"what": what},
            "taken_at": "2026-01-01T09:00:00Z"}


def photo(opening, **over):
    return {"id": str(new_id()), "opening": opening.pk, "caption": "the sill", "taken_at": "2026-01-01T09:00:00Z",
            "picture": base64.b64encode(jpeg(40, 30)).decode(), **over}


def taken_in(client, who, copy):
    client.force_login(who)
    data = copy if isinstance(copy, bytes) else json.dumps(copy).encode()
    return client.post(reverse("site-copies"), {"copy": SimpleUploadedFile("copy.json", data)})


def test_it_is_recorded_in_the_name_of_whoever_entered_it_and_once(client, site):
    other = make_opening()
    copy = {"outbox": 1, "person": site.lead.pk,
            "entries": [part(site.opening, "Track cover"), part(other, "not theirs"), part(site.opening, "Head block")],
            "photos": [photo(site.opening), photo(site.opening, picture="?")]}
    for said in ("recorded: 3, not taken in: 2", "was there already: 3, not taken in: 2"):
        page = text(taken_in(client, site.office, copy))
        assert f"Taken in as entered by {site.lead.name}." in page
        assert sorted(said.split(", ")) == sorted(page.split("</b> ")[1].split("</p>")[0].split(", "))
    assert {(p.what, p.by) for p in SetAsidePart.objects.all()} == {
        ("Track cover", site.lead), ("Head block", site.lead)}
    assert Photo.objects.get().by == site.lead
    assert Change.objects.filter(what="copy taken in", by=site.office).count() == 2


def test_a_stage_called_done_comes_after_the_photo_its_gate_asks_for(client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    site = site_today(Stage.OPENING_VERIFIED)
    site.evidence(Stage.FRAME_SET, without=("sill-supported",))

    def entry(kind, minute, **data):
        return {"id": str(new_id()), "entry": kind, "opening": site.opening.pk, "data": data,
                "taken_at": (site.now + dt.timedelta(minutes=minute)).isoformat()}
    looked = entry("confirmation", 1, check_code="sill-supported", answer="yes", looked_at="all along")
    done, since = entry("stage-change", 3), entry("confirmation", 4, check_code="floor-sound", answer="yes")
    pictures = [photo(site.opening, about="confirmation", about_id=one["id"], check_code=one["data"]["check_code"],
                      taken_at=one["taken_at"]) for one in (since, looked)]
    page = text(taken_in(client, site.office, {"outbox": 1, "person": site.lead.pk, "entries": [looked, done, since],
                                               "photos": pictures}))
    assert "recorded: 5" in page
    site.opening.refresh_from_db()
    assert site.opening.stage == Stage.FRAME_SET


@pytest.mark.parametrize("data", [b"", b"{", b"[]", b'{"outbox": 2}', b'{"outbox": 1, "person": 99999}',
                                  b'{"outbox": 1, "person": "1"}', b'{"outbox": 1, "person": 1, "entries": {}}'])
def test_a_file_that_is_no_copy_is_refused_and_says_what_would_be_right(client, site, data):
    answer = taken_in(client, site.office, data)
    assert answer.status_code == 422
    assert 'aria-invalid="true"' in text(answer)


def test_entries_that_make_no_sense_are_told_one_by_one(client, site):
    copy = {"outbox": 1, "person": site.lead.pk, "entries": [None, 7, {"entry": "flood"}], "photos": [None, {}, "x"]}
    assert "not taken in: 6" in text(taken_in(client, site.office, copy))


def test_nobody_else_takes_one_in(client, site):
    copy = {"outbox": 1, "person": site.lead.pk, "entries": [part(site.opening, "Track cover")], "photos": []}
    for role in ("lead", "installer", "customer-service", "guest"):
        assert taken_in(client, make_user(role), copy).status_code == 403
    assert not SetAsidePart.objects.exists()
