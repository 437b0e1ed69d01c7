"""Our scripts as they are sent: joined, and small."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.files.storage import FileSystemStorage

from dashboard.site import kept
from dashboard.static_files import Joined, NamedByContent, small

STATIC = Path(__file__).parents[1] / "dashboard" / "static"


def modules_sent(*modules: str) -> str:
    """These of ours, each by its own name, in one script."""
    return small(Joined(lambda name: (STATIC / name).read_text(encoding="utf-8")).exported(*modules))


def all_sent(folder: Path) -> NamedByContent:
    """All that is ours, gathered there, named and packed."""
    written, storage = FileSystemStorage(location=STATIC), NamedByContent(location=folder, base_url="/static/")
    names = [path.relative_to(STATIC).as_posix() for path in sorted(STATIC.rglob("*")) if path.is_file()]
    for name in names:
        with written.open(name) as file:
            storage.save(name, file)
    for name, _, done in storage.post_process({name: (written, name) for name in names}):
        if isinstance(done, Exception):
            raise AssertionError(name) from done
    return storage


@contextmanager
def as_sent(settings: Any, folder: Path) -> Iterator[None]:
    """The site page as a started server sends it, not as it is worked on."""
    all_sent(folder)
    settings.STATICFILES_DIRS = [folder]
    settings.STORAGES = {**settings.STORAGES, "staticfiles": {
        "BACKEND": "dashboard.static_files.NamedByContent", "OPTIONS": {"location": str(folder)}}}
    kept._version.cache_clear()
    yield
    kept._version.cache_clear()
