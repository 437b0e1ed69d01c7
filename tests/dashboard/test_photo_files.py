"""Who gets to see a photo, and how it is handed out."""

import uuid

import pytest
from django.urls import reverse

from inspections.services.photos import make_thumbnail, picture_file, store_photo, thumbnail_file
from tests.factories import NOW, act_for, give_work, make_crew, make_opening, make_user
from tests.pictures import jpeg

pytestmark = pytest.mark.django_db
BOTH = pytest.mark.parametrize("route", ["photo", "photo-thumbnail"])


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    settings.LOGIN_URL = "/sign-in/"


@pytest.fixture
def photo():
    return store_photo(act_for("office"), make_opening().pk, jpeg(1000, 500))


def got(client, route, photo, **headers):
    return client.get(reverse(route, args=[photo.pk]), headers=headers)


@BOTH
def test_nobody_sees_a_photo_without_signing_in(client, photo, route):
    answer = got(client, route, photo)
    assert (answer.status_code, answer.url.split("?")[0]) == (302, "/sign-in/")


@BOTH
@pytest.mark.parametrize("role", ["office", "customer-service", "guest"])
def test_who_reads_every_opening_sees_its_photos(client, photo, route, role):
    client.force_login(make_user(role))
    assert got(client, route, photo).content == picture_file(photo).read_bytes()


@BOTH
@pytest.mark.parametrize("role", ["lead", "installer"])
def test_a_crew_sees_the_photos_of_its_own_openings_and_no_others(client, photo, route, role):
    person = make_user(role)
    client.force_login(person)
    assert got(client, route, photo).status_code == 404
    give_work(photo.opening, make_crew(person))
    assert got(client, route, photo).status_code == 200


@BOTH
def test_a_photo_that_is_not_there_is_answered_like_one_that_is_anothers(client, photo, route):
    client.force_login(make_user("office"))
    photo.pk = uuid.uuid4()
    assert got(client, route, photo).status_code == 404


def test_the_thumbnail_is_small_once_it_is_made(client, photo):
    client.force_login(make_user("office"))
    whole = got(client, "photo-thumbnail", photo)
    make_thumbnail(photo.pk, NOW)
    small = got(client, "photo-thumbnail", photo)
    assert small.content == thumbnail_file(photo).read_bytes()
    assert len(small.content) < len(whole.content)
    assert small["ETag"] != whole["ETag"] == got(client, "photo", photo)["ETag"]


@BOTH
def test_it_can_be_shown_and_nothing_else(client, photo, route):
    client.force_login(make_user("office"))
    answer = got(client, route, photo)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["Content-Disposition"] == 'inline; filename="photo.jpg"'
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert int(answer["Content-Length"]) == len(answer.content)


@BOTH
def test_a_browser_keeps_it_and_asks_each_time(client, photo, route):
    client.force_login(make_user("office"))
    first = got(client, route, photo)
    again = got(client, route, photo, if_none_match=first["ETag"])
    assert (again.status_code, again.content) == (304, b"")
    assert first["Cache-Control"] == again["Cache-Control"] == "private, no-cache"
    assert "Cookie" in first["Vary"]


@BOTH
def test_what_a_browser_kept_is_not_confirmed_to_someone_whose_rights_were_cut(client, photo, route):
    person = make_user("lead")
    assignment = give_work(photo.opening, make_crew(person))
    client.force_login(person)
    etag = got(client, route, photo)["ETag"]
    assignment.delete()
    assert got(client, route, photo, if_none_match=etag).status_code == 404


@BOTH
def test_a_lost_file_is_a_photo_that_is_not_there(client, photo, route):
    client.force_login(make_user("office"))
    picture_file(photo).unlink()
    assert got(client, route, photo).status_code == 404


@BOTH
def test_photos_are_only_looked_at_here(client, photo, route):
    client.force_login(make_user("office"))
    assert client.post(reverse(route, args=[photo.pk])).status_code == 405


def test_showing_a_photo_costs_few_queries(client, photo, django_assert_num_queries):
    person = make_user("lead")
    give_work(photo.opening, make_crew(person))
    client.force_login(person)
    with django_assert_num_queries(4):  # session, person, photo with its opening, whether it is theirs
        got(client, "photo", photo)
