"""Where pictures lie: files below MEDIA_ROOT, each written whole and forced to disk before its row is.

A name is made of the photo's id and a hash of what was sent, so that two devices which chose one id never write over
each other. A file whose row never came is left: it does no harm, and after a database is put back from a copy it may
be the only one there is.
"""

from __future__ import annotations

import os
import tempfile
import uuid
from pathlib import Path

from django.conf import settings


def picture_file(photo_id: uuid.UUID, sha256: str) -> Path:
    return _folder(photo_id) / f"{photo_id}-{sha256[:16]}.jpg"


def thumbnail_file(photo_id: uuid.UUID, sha256: str) -> Path:
    return _folder(photo_id) / f"{photo_id}-{sha256[:16]}-small.jpg"


def keep(path: Path, data: bytes) -> None:
    """Writes `data` so that `path` is either not there or whole, whatever happens in between."""
    new_folder = not path.parent.exists()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")  # readable by its owner only
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
    except BaseException:
        os.unlink(draft)
        raise
    for folder in path.parents[: 3 if new_folder else 1]:  # the name itself, and those of new folders
        _sync(folder)


def _folder(photo_id: uuid.UUID) -> Path:
    return Path(settings.MEDIA_ROOT) / photo_id.hex[-2:]  # an id begins with its time: the end spreads evenly


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
