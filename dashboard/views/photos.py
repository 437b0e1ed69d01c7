"""Photos, handed out only to those who may see the opening they show."""

from __future__ import annotations

import logging
import uuid

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from inspections import imaging
from inspections.services.photos import picture_file, seen_by, thumbnail_file
from jobs.acts import Act
from jobs.errors import NotThere

log = logging.getLogger(__name__)


@require_safe
@login_required
def photo(request: HttpRequest, photo_id: uuid.UUID) -> HttpResponse:
    return picture_response(request, Act.of(request.user, timezone.now()), photo_id)


@require_safe
@login_required
def thumbnail(request: HttpRequest, photo_id: uuid.UUID) -> HttpResponse:
    return picture_response(request, Act.of(request.user, timezone.now()), photo_id, small=True)


def picture_response(request: HttpRequest, act: Act, photo_id: uuid.UUID, *, small: bool = False) -> HttpResponse:
    """The picture's file, or 304; the whole picture while its thumbnail is not made yet.

    Whether the person may see it is asked first, every time: a browser may keep the file, but not show it unasked.
    """
    try:
        found = seen_by(act, photo_id)
    except NotThere as why:
        raise Http404(why.detail) from why
    small = small and found.thumbnail_at is not None
    path = thumbnail_file(found) if small else picture_file(found)
    etag = f'"{path.stem}"'
    try:
        answer = HttpResponse(path.read_bytes(), content_type=imaging.CONTENT_TYPE)
    except FileNotFoundError:
        log.error("The file of photo %s is not where it was put.", photo_id)
        raise Http404("The file of this photo is missing.") from None
    answer["ETag"] = etag
    answer["Content-Disposition"] = 'inline; filename="photo.jpg"'
    return _guarded(get_conditional_response(request, etag=etag, response=answer) or answer)


def _guarded(answer: HttpResponse) -> HttpResponse:
    """Whatever the file were, it could not run, nor be taken for something else, nor lie in a shared cache."""
    answer["Cache-Control"] = "private, no-cache"
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cross-Origin-Resource-Policy"] = "same-origin"
    return answer
