"""Photos come in here and are looked up here: evidence that nobody without the opening gets to see."""

from __future__ import annotations

import datetime as dt
import hashlib
import logging
import re
import uuid
from pathlib import Path

from django.core.exceptions import ValidationError
from django.db import models

from inspections import imaging, photos_store
from inspections.models import (
    Adjustment,
    Callback,
    Confirmation,
    Inspection,
    Joint,
    Photo,
    PunchItem,
    SetAsidePart,
)
from inspections.services.checks import checks_for
from inspections.services.inspecting import when
from jobs.acts import Act, carry_out
from jobs.errors import Invalid, NotThere
from jobs.models import Opening, Wait
from jobs.models.base import new_id
from jobs.services.access import locked, may_see, require
from jobs.services.entries import fingerprint, had_already
from units.models import Panel, PartArrival

log = logging.getLogger(__name__)

# What a photo may be about, and how that record knows its opening.
ABOUT: dict[str, tuple[type[models.Model], str]] = {
    "inspection": (Inspection, "opening_id"), "confirmation": (Confirmation, "opening_id"),
    "joint": (Joint, "opening_id"), "punch-item": (PunchItem, "opening_id"), "adjustment": (Adjustment, "opening_id"),
    "panel": (Panel, "unit__opening_id"), "callback": (Callback, "opening_id"),
    "set-aside-part": (SetAsidePart, "opening_id"), "wait": (Wait, "opening_id"),
    "part-arrival": (PartArrival, "part__unit__opening_id"),
}
LONGEST_CAPTION = 240
_UNKEEPABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")  # no database takes all of these
AT_ONCE = 100


def store_photo(act: Act, opening_id: int, data: bytes, *, about: str = "", about_id: object = "",
                check_code: str = "", caption: str = "", entry_id: uuid.UUID | None = None) -> Photo:
    """Keeps one picture of an opening, written anew from its pixels. Its file is on disk before its row is."""
    about_id = str(about_id)
    _check_words(about, about_id, check_code, caption)
    sent = hashlib.sha256(data).hexdigest()
    mark = fingerprint("photo", opening_id, sent, about, about_id, check_code, caption)
    opening = _opening(opening_id)
    require(act, "add photos", opening)
    had = had_already(Photo, entry_id, mark)
    if had is not None:
        return had
    _check_code(opening, check_code)
    values = {"about": about, "about_id": _about(opening, about, about_id), "check_code": check_code,
              "caption": caption, "sha256": sent}
    picture = imaging.read(data)
    photo = Photo(id=entry_id or new_id(), opening=opening, width=picture.width, height=picture.height,
                  size=len(picture.data), fingerprint=mark, **values, **when(act))
    photos_store.keep(picture_file(photo), picture.data)
    return _recorded(act, photo)


def make_thumbnail(photo_id: uuid.UUID, now: dt.datetime) -> bool:
    """Makes the small copy of a photo; False where there is nothing to do. Twice makes the same file."""
    photo = Photo.objects.filter(pk=photo_id, thumbnail_at=None).first()
    if photo is None:
        return False
    try:
        data = picture_file(photo).read_bytes()
    except FileNotFoundError:
        log.error("The file of photo %s is not where it was put.", photo_id)
        return False
    photos_store.keep(thumbnail_file(photo), imaging.thumbnail(data))
    return bool(Photo.objects.filter(pk=photo_id, thumbnail_at=None).update(thumbnail_at=now))


def without_thumbnail() -> list[uuid.UUID]:
    """Photos that still need one, in no order: one that can never be made does not hold up the others."""
    return list(Photo.objects.filter(thumbnail_at=None).order_by("?").values_list("pk", flat=True)[:AT_ONCE])


def seen_by(act: Act, photo_id: uuid.UUID) -> Photo:
    """The photo, if this person may see its opening; otherwise it is not there."""
    photo = Photo.objects.select_related("opening").filter(pk=photo_id).first()
    if photo is None or not act.user.is_active or not may_see(act, photo.opening):
        raise NotThere("There is no such photo.")
    return photo


def picture_file(photo: Photo) -> Path:
    return photos_store.picture_file(photo.pk, photo.sha256)


def thumbnail_file(photo: Photo) -> Path:
    return photos_store.thumbnail_file(photo.pk, photo.sha256)


def _opening(opening_id: int) -> Opening:
    found = Opening.objects.select_related("job").filter(pk=opening_id).first()
    if found is None:
        raise NotThere("There is no such opening.")
    return found


def _recorded(act: Act, photo: Photo) -> Photo:
    """The row, unless the same entry arrived by another way while the picture was read."""
    with carry_out(act) as done:
        opening = locked(photo.opening_id)
        require(act, "add photos", opening)
        had = had_already(Photo, photo.pk, photo.fingerprint)
        if had is not None:
            return had
        photo.save(force_insert=True)
        done.note(act, "photo added", "photos", photo.pk, opening=opening, check=photo.check_code)
    return photo


def _check_words(*words: str) -> None:
    if len(words[-1]) > LONGEST_CAPTION:
        raise Invalid("That caption is too long.", fields={"caption": f"at most {LONGEST_CAPTION} characters"})
    if any(_UNKEEPABLE.search(word) for word in words):
        raise Invalid("There are characters in it that cannot be kept.", fields={"caption": "plain text"})


def _check_code(opening: Opening, check_code: str) -> None:
    if check_code and check_code not in {check.code for check in checks_for(opening)}:
        raise Invalid("No check of this opening has that code.", fields={"check_code": "see the opening's gate"})


def _about(opening: Opening, about: str, about_id: str) -> str:
    """The id of what the photo is about, as it is written; refuses what belongs to another opening."""
    if not about:
        if about_id:
            raise Invalid("Say what the photo is about.", fields={"about": "one of: " + ", ".join(ABOUT)})
        return ""
    if about not in ABOUT:
        raise Invalid("A photo cannot be about that.", fields={"about": "one of: " + ", ".join(ABOUT)})
    model, its_opening = ABOUT[about]
    try:
        found = model._default_manager.filter(**{its_opening: opening.pk}, pk=about_id).first()
    except (ValidationError, ValueError, OverflowError):
        found = None
    if found is None:
        raise Invalid("This opening has no such record.", fields={"about_id": f"the id of a {about} of this opening"})
    return str(found.pk)
