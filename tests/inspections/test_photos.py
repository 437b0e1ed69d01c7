"""Photos of an opening: taken in once, kept whole, small copies made later."""

import os
import stat
import uuid

import pytest
from django.db import DatabaseError, connection

from dashboard.celery import app
from inspections import photos_store, tasks
from inspections.models import Check, Photo, PunchItem
from inspections.services import photos
from inspections.services.photos import make_thumbnail, picture_file, seen_by, store_photo, thumbnail_file
from jobs.errors import AlreadyHasOther, Invalid, NotAllowed, NotThere
from jobs.models import Change
from tests.factories import NOW, act_for, give_work, make_crew, make_opening, make_unit, make_user
from tests.pictures import jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def opening():
    return make_opening()


@pytest.fixture
def _at_once():
    app.conf.task_always_eager = True
    yield
    app.conf.task_always_eager = False


def files(settings) -> list[str]:
    return sorted(path.name for path in settings.MEDIA_ROOT.rglob("*") if path.is_file())


def test_a_photo_is_kept_with_its_file_and_its_line_in_the_feed(opening):
    act = act_for("office")
    photo = store_photo(act, opening.pk, jpeg(), caption="Sill, left end")
    assert (photo.width, photo.height, photo.by, photo.taken_at) == (64, 32, act.user, NOW)
    assert picture_file(photo).stat().st_size == photo.size
    line = Change.objects.get()
    assert (line.record, line.record_id, line.opening_id) == ("photos", str(photo.pk), opening.pk)


def test_what_is_kept_is_readable_by_its_owner_only(opening, settings):
    path = picture_file(store_photo(act_for("office"), opening.pk, jpeg()))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def test_the_same_entry_sent_again_is_one_photo(opening, settings):
    act, entry = act_for("office"), uuid.uuid4()
    first = store_photo(act, opening.pk, jpeg(), caption="Sill", entry_id=entry)
    again = store_photo(act, opening.pk, jpeg(), caption="Sill", entry_id=entry)
    assert first == again
    assert (Photo.objects.count(), Change.objects.count(), len(files(settings))) == (1, 1, 1)


@pytest.mark.parametrize("other", [{"data": jpeg(32, 32)}, {"caption": "Head"}], ids=["pixels", "caption"])
def test_other_content_under_the_same_id_is_refused_and_the_first_stays(opening, other):
    act, entry = act_for("office"), uuid.uuid4()
    first = store_photo(act, opening.pk, jpeg(), caption="Sill", entry_id=entry)
    kept = picture_file(first).read_bytes()
    with pytest.raises(AlreadyHasOther):
        store_photo(act, opening.pk, **{"data": jpeg(), "caption": "Sill", "entry_id": entry, **other})
    assert picture_file(Photo.objects.get()).read_bytes() == kept


def test_two_devices_that_chose_one_id_do_not_write_over_each_other(opening, monkeypatch):
    act, entry, real = act_for("office"), uuid.uuid4(), photos.imaging.read
    others = []

    def read_while_another_is_faster(data):
        if not others:
            others.append(None)
            others.append(store_photo(act, opening.pk, jpeg(32, 32), entry_id=entry))
        return real(data)

    monkeypatch.setattr(photos.imaging, "read", read_while_another_is_faster)
    with pytest.raises(AlreadyHasOther):
        store_photo(act, opening.pk, jpeg(), entry_id=entry)
    faster = Photo.objects.get()
    assert faster == others[1]
    assert picture_file(faster).stat().st_size == faster.size


def test_the_file_is_on_disk_before_the_row_is(opening, monkeypatch):
    there = []
    real = photos._recorded

    def looked_at(act, photo):
        there.append(picture_file(photo).exists())
        return real(act, photo)

    monkeypatch.setattr(photos, "_recorded", looked_at)
    store_photo(act_for("office"), opening.pk, jpeg())
    assert there == [True]


def test_a_full_disk_leaves_no_row_and_no_part_of_a_file(opening, settings, monkeypatch):
    def full(handle):
        raise OSError(28, "No space left on device")

    act = act_for("office")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        store_photo(act, opening.pk, jpeg())
    assert (Photo.objects.count(), files(settings)) == (0, [])


def test_file_and_folders_are_forced_to_disk_before_the_photo_is_acknowledged(tmp_path, monkeypatch):
    forced = []
    real = os.fsync

    def noted(handle):
        forced.append(os.readlink(f"/proc/self/fd/{handle}"))
        real(handle)

    monkeypatch.setattr(os, "fsync", noted)
    photos_store.keep(tmp_path / "photos" / "0a" / "one.jpg", b"pixels")
    assert forced[0].endswith(".part")
    assert forced[1:] == [str(tmp_path / "photos" / "0a"), str(tmp_path / "photos"), str(tmp_path)]


@pytest.mark.parametrize("nth", range(1, 30))
def test_when_any_statement_fails_the_photo_is_there_whole_or_not_at_all(opening, nth):
    act, count = act_for("office"), [0]

    def fail(execute, sql, params, many, context):
        count[0] += 1
        if count[0] == nth:
            raise DatabaseError("the test says so")
        return execute(sql, params, many, context)

    failed = False
    with connection.execute_wrapper(fail):
        try:
            store_photo(act, opening.pk, jpeg())
        except DatabaseError:
            failed = True
    rows = 0 if failed else 1
    assert (Photo.objects.count(), Change.objects.count()) == (rows, rows)
    assert failed == (count[0] >= nth)


def test_a_lead_adds_photos_to_openings_of_their_crew_and_to_no_others(opening):
    lead = make_user("lead")
    give_work(opening, make_crew(lead))
    assert store_photo(act_for(lead), opening.pk, jpeg()).opening == opening
    with pytest.raises(NotThere):
        store_photo(act_for(lead), make_opening().pk, jpeg())
    with pytest.raises(NotThere):
        store_photo(act_for("office"), 999_999, jpeg())


def test_a_guest_adds_none_and_their_file_is_not_even_read(opening, settings):
    with pytest.raises(NotAllowed):
        store_photo(act_for("guest"), opening.pk, b"not a picture")
    assert files(settings) == []


def test_customer_service_adds_photos_only_where_there_was_a_callback(opening):
    with pytest.raises(NotAllowed):
        store_photo(act_for("customer-service"), opening.pk, jpeg())
    called_back = make_opening(called_back=True)
    assert store_photo(act_for("customer-service"), called_back.pk, jpeg())


def test_what_is_no_picture_leaves_nothing(opening, settings):
    with pytest.raises(Invalid):
        store_photo(act_for("office"), opening.pk, b"GIF89a")
    assert (Photo.objects.count(), files(settings)) == (0, [])


def _punch_item(opening):
    act = act_for("office")
    return PunchItem.objects.create(opening=opening, number=1, what="Scratch", owner=act.user, due_day=NOW.date(),
                                    by=act.user, taken_at=NOW)


def test_a_photo_is_about_a_record_of_its_own_opening(opening):
    item, panel = _punch_item(opening), make_unit(opening).panels.first()
    about_item = store_photo(act_for("office"), opening.pk, jpeg(), about="punch-item", about_id=str(item.pk).upper())
    about_panel = store_photo(act_for("office"), opening.pk, jpeg(), about="panel", about_id=panel.pk)
    assert (about_item.about_id, about_panel.about_id) == (str(item.pk), str(panel.pk))


@pytest.mark.parametrize(("about", "about_id"), [
    ("punch-item", "theirs"), ("panel", "theirs"), ("punch-item", "no id at all"), ("panel", "9" * 30),
    ("inspection", ""), ("job", "1"), ("", "1"), ("panel", "1\x00"),
])
def test_a_photo_about_anything_else_is_refused(opening, about, about_id):
    other = make_opening()
    theirs = {"punch-item": _punch_item(other), "panel": make_unit(other).panels.first()}
    with pytest.raises(Invalid) as refused:
        store_photo(act_for("office"), opening.pk, jpeg(), about=about,
                    about_id=theirs[about].pk if about_id == "theirs" else about_id)
    assert refused.value.fields


@pytest.mark.parametrize("caption", ["x" * 241, "nul \x00", "half a character \ud83d"], ids=["long", "nul", "half"])
def test_a_caption_no_database_can_keep_is_refused(opening, caption):
    with pytest.raises(Invalid) as refused:
        store_photo(act_for("office"), opening.pk, jpeg(), caption=caption)
    assert "caption" in refused.value.fields


def test_a_photo_is_evidence_for_a_check_that_the_opening_has(opening):
    Check.objects.get_or_create(code="pocket-seen", defaults={
        "title": "Pocket seen", "stage": Check.HOLD_POINT, "judged_by": "photo", "asked": True})
    assert store_photo(act_for("office"), opening.pk, jpeg(), check_code="pocket-seen").check_code == "pocket-seen"
    with pytest.raises(Invalid):
        store_photo(act_for("office"), opening.pk, jpeg(), check_code="pocket-sene")


def test_a_thumbnail_is_made_once_and_asked_for_twice_without_harm(opening):
    photo = store_photo(act_for("office"), opening.pk, jpeg(1000, 500))
    assert make_thumbnail(photo.pk, NOW) is True
    first = thumbnail_file(photo).read_bytes()
    assert make_thumbnail(photo.pk, NOW) is False
    assert thumbnail_file(photo).read_bytes() == first
    assert Photo.objects.get().thumbnail_at == NOW


def test_two_workers_at_the_same_photo_count_as_one(opening, monkeypatch):
    photo, real = store_photo(act_for("office"), opening.pk, jpeg()), photos.imaging.thumbnail

    def made_meanwhile(data):
        Photo.objects.filter(pk=photo.pk).update(thumbnail_at=NOW)
        return real(data)

    monkeypatch.setattr(photos.imaging, "thumbnail", made_meanwhile)
    assert make_thumbnail(photo.pk, NOW) is False


def test_a_thumbnail_of_no_photo_or_of_a_lost_file_is_no_error(opening, caplog):
    photo = store_photo(act_for("office"), opening.pk, jpeg())
    picture_file(photo).unlink()
    assert make_thumbnail(uuid.uuid4(), NOW) is False
    assert make_thumbnail(photo.pk, NOW) is False
    assert str(photo.pk) in caplog.text


@pytest.mark.usefixtures("_at_once")
def test_the_look_round_makes_what_is_missing_and_the_next_finds_nothing(opening):
    made = [store_photo(act_for("office"), opening.pk, jpeg()) for _ in range(3)]
    assert tasks.make_missing_thumbnails() == 3
    assert all(thumbnail_file(photo).exists() for photo in made)
    assert tasks.make_missing_thumbnails() == 0


def test_a_photo_is_seen_by_whoever_may_see_its_opening(opening):
    photo = store_photo(act_for("office"), opening.pk, jpeg())
    theirs = make_user("installer")
    give_work(opening, make_crew(theirs))
    assert seen_by(act_for(theirs), photo.pk) == photo
    with pytest.raises(NotThere):
        seen_by(act_for("installer"), photo.pk)
    with pytest.raises(NotThere):
        seen_by(act_for(make_user("office", is_active=False)), photo.pk)
