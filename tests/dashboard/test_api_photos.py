"""A telephone sends a photo, and programs read it back."""

import uuid

import pytest
from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from dashboard import problems
from inspections import imaging
from inspections.models import Check, Photo
from inspections.services.gates import look_at
from inspections.services.photos import make_thumbnail, picture_file, thumbnail_file
from jobs.models import AccessToken
from tests.factories import NOW, give_work, make_crew, make_opening, make_user
from tests.pictures import WHERE, encoded, exif, halves, jpeg, jpeg_of_many_scans, png_claiming

pytestmark = pytest.mark.django_db
PHOTOS = "/api/v1/photos/"


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def opening():
    return make_opening()


def phone_of(user) -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {AccessToken.objects.create(user=user)[1]}")
    return client


@pytest.fixture
def phone(opening):
    lead = make_user("lead")
    give_work(opening, make_crew(lead))
    return phone_of(lead)


def send(phone, opening, data, name="photo.jpg", content_type="image/jpeg", **more):
    sent = {"opening": opening.pk, "photo": SimpleUploadedFile(name, data, content_type), **more}
    return phone.post(PHOTOS, sent, format="multipart")


def test_a_heic_is_taken_and_comes_back_as_a_jpeg_without_its_place(phone, opening):
    answer = send(phone, opening, encoded(halves(), "HEIF", exif=exif()), caption="Sill, left end")
    assert answer.status_code == 201, answer.content
    assert answer.json()["caption"] == "Sill, left end"
    back = phone.get(f"{PHOTOS}{answer.json()['id']}/picture/")
    assert (back.status_code, back["Content-Type"]) == (200, "image/jpeg")
    assert back.content.startswith(b"\xff\xd8\xff")
    assert WHERE.encode() not in back.content


@pytest.mark.parametrize(("name", "content_type"), [
    ("notes.txt", "text/plain"), ("run.exe", "application/octet-stream"), ("../../etc/passwd", "image/png"),
    ("a\u202egpj.exe", "text/html"),
])
def test_a_picture_is_told_by_its_content_and_its_name_is_forgotten(phone, opening, settings, name, content_type):
    assert send(phone, opening, jpeg(), name, content_type).status_code == 201
    assert [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()] == [picture_file(Photo.objects.get())]


@pytest.mark.parametrize("data", [
    b"", b"GIF89a", b"<html><script>alert(1)</script>", jpeg() + b"<script>alert(1)</script>",
    jpeg()[:300], png_claiming(60_000, 60_000), jpeg_of_many_scans(100), bytes(imaging.MOST_BYTES + 1),
], ids=["nothing", "gif", "page", "page behind a picture", "cut off", "bomb", "passes", "too large"])
def test_anything_else_is_refused_with_a_sentence_whatever_its_name_says(phone, opening, settings, data):
    answer = send(phone, opening, data)
    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/problem+json"
    assert len(answer.json()["detail"]) > 10
    assert (Photo.objects.count(), list(settings.MEDIA_ROOT.rglob("*.jpg"))) == (0, [])


@pytest.mark.parametrize("claimed", [problems.HEARD_OUT + 1, 10**12])
def test_a_form_that_announces_too_much_is_refused_before_it_is_read(phone, opening, monkeypatch, claimed):
    monkeypatch.setattr("django.http.multipartparser.Parser.__iter__", None)
    body = {"opening": opening.pk, "photo": SimpleUploadedFile("photo.jpg", jpeg())}
    answer = phone.post(PHOTOS, body, format="multipart", CONTENT_LENGTH=claimed)
    assert (answer.status_code, answer.json()["code"]) == (413, "too-large")


def test_any_other_address_refuses_it_as_well(rf):
    request = rf.post("/anywhere/", {"photo": SimpleUploadedFile("photo.jpg", jpeg())}, CONTENT_LENGTH=10**12)
    with pytest.raises(RequestDataTooBig):
        request.POST  # noqa: B018


def test_sent_twice_it_is_one_photo_and_with_other_content_it_is_refused(phone, opening):
    entry = str(uuid.uuid4())
    assert send(phone, opening, jpeg(), id=entry).status_code == 201
    assert send(phone, opening, jpeg(), id=entry).status_code == 200
    assert send(phone, opening, jpeg(80, 80), id=entry).status_code == 409
    assert Photo.objects.count() == 1


@pytest.mark.parametrize("body", [
    {"format": "json", "data": {"opening": 1}},
    {"data": b"\xff\xd8\xff raw", "content_type": "image/jpeg"},
    {"data": b"--x\r\nnonsense", "content_type": "multipart/form-data; boundary=x"},
    {"data": b"", "content_type": "multipart/form-data"},
    {"data": {"opening": "", "photo": "not a file"}, "format": "multipart"},
])
def test_a_body_of_another_kind_is_refused_and_nothing_breaks(phone, opening, body):
    data = body.pop("data")
    answer = phone.post(PHOTOS, data, **body)
    assert 400 <= answer.status_code < 500
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("path", ["", "picture/", "thumbnail/"])
def test_another_crews_photo_is_not_there(phone, opening, path):
    photo_id = send(phone, opening, jpeg()).json()["id"]
    stranger = phone_of(make_user("installer"))
    assert phone.get(f"{PHOTOS}{photo_id}/{path}").status_code == 200
    assert stranger.get(f"{PHOTOS}{photo_id}/{path}").status_code == 404
    assert APIClient().get(f"{PHOTOS}{photo_id}/{path}").status_code == 401
    assert phone.get(f"{PHOTOS}no-id/{path}").status_code == 404
    assert photo_id not in str(stranger.get(PHOTOS).content)


def test_the_thumbnail_comes_when_it_is_made(phone, opening):
    photo_id = send(phone, opening, jpeg(1000, 500)).json()["id"]
    address = f"{PHOTOS}{photo_id}/thumbnail/"
    whole = phone.get(address)
    make_thumbnail(uuid.UUID(photo_id), NOW)
    small = phone.get(address, headers={"If-None-Match": whole["ETag"]})
    assert small.content == thumbnail_file(Photo.objects.get()).read_bytes()
    assert phone.get(address, headers={"If-None-Match": small["ETag"]}).status_code == 304


def test_a_gate_that_asks_for_a_photo_names_it_until_it_is_there(phone, opening):
    asked = Check.objects.filter(photo=True, stage="opening verified").first()
    assert asked is not None, "the shipped checks ask for photos"

    def result() -> str:
        return next(o["result"] for o in look_at(opening, NOW).as_dict()["checks"] if o["code"] == asked.code)

    assert result() == "missing"
    seen = {"opening": opening.pk, "check_code": asked.code, "answer": "yes", "looked_at": "All along"}
    assert phone.post("/api/v1/confirmations/", seen, format="json").status_code == 201
    assert result() == "photo missing"
    assert send(phone, opening, jpeg(), check_code="header-in").status_code == 201
    assert result() == "photo missing", "that photo is for another check"
    assert send(phone, opening, jpeg(), check_code=asked.code).status_code == 201
    assert result() == "passes"
