"""Our scripts as they are sent: named by their content, without comments."""

from __future__ import annotations

from pathlib import Path

from django.contrib.staticfiles.storage import ManifestStaticFilesStorage
from django.core.files.storage import FileSystemStorage

from dashboard.static_files import NamedByContent

STATIC = Path(__file__).parents[1] / "dashboard" / "static"


def scripts_sent(folder: Path) -> NamedByContent:
    """All of them, gathered there; not packed, which takes longer than all the rest."""
    written, storage = FileSystemStorage(location=STATIC), NamedByContent(location=folder, base_url="/static/")
    names = [path.relative_to(STATIC).as_posix() for path in sorted(STATIC.rglob("*.js"))]
    for name in names:
        with written.open(name) as script:
            storage.save(name, script)
    for name, _, done in ManifestStaticFilesStorage.post_process(storage, {name: (written, name) for name in names}):
        if isinstance(done, Exception):
            raise AssertionError(name) from done
    return storage
