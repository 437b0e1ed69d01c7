"""The site page: what a crew has on its telephone, with signal or without. The page itself says nothing of anybody:
it is kept on the telephone as it is, and asks for the day of whoever is signed in."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from functools import wraps

import brotli
import orjson
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.cache import get_conditional_response, patch_vary_headers
from django.utils.functional import SimpleLazyObject
from django.utils.http import quote_etag
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe

from dashboard.measures import Reader
from dashboard.problems import problem
from dashboard.site import kept
from dashboard.site.day import day_told
from dashboard.site.words import words_told
from dashboard.views.pages import packed
from dashboard.views.renewing import mark_of
from dashboard.written import written_for
from jobs.acts import Act
from jobs.models import OfficeSettings

View = Callable[[HttpRequest], HttpResponse]
SCRIPT, MANIFEST = "text/javascript; charset=utf-8", "application/manifest+json"
BROTLI = re.compile(r"\bbr\b(?!\s*;\s*q=0)")
QUALITY = 5  # of 11; takes no longer than gzip does


def as_the_phone_reads(view: View) -> View:
    """In the telephone's language, its dates and decimals; whoever is signed in on it."""
    @wraps(view)
    def shown(request: HttpRequest) -> HttpResponse:
        with written_for(request.headers.get("Accept-Language", "")):
            return view(request)
    return shown


@require_safe
@as_the_phone_reads
def site_page(request: HttpRequest) -> HttpResponse:
    """The same for everybody who has the same language."""
    page = render(request, "dashboard/site.html", {
        "script": static(kept.page()), "others": [static(name) for name in kept.scripts() if name != kept.page()],
        "version": kept.version(), "language": translation.get_language()})
    return _asked_again(request, page)


@require_safe
@as_the_phone_reads
def site_words(request: HttpRequest) -> HttpResponse:
    """Its words, in the language that was asked for."""
    return _asked_again(request, HttpResponse(orjson.dumps(words_told()), content_type="application/json"))


@require_safe
@as_the_phone_reads
def site_worker(request: HttpRequest) -> HttpResponse:
    """What keeps the page on the telephone; another one as soon as any of its files is."""
    files = [reverse("site"), reverse("site-words"), reverse("site-manifest"), *kept.files()]
    behind, sending = kept.behind()
    script = render_to_string("dashboard/site_worker.js", {
        "version": json.dumps(kept.version()), "files": json.dumps(files), "page": json.dumps(reverse("site")),
        "behind": behind, "sending": json.dumps(static(sending)), "module": "module" in request.GET})
    return _asked_again(request, HttpResponse(script, content_type=SCRIPT))


@require_safe
def site_manifest(request: HttpRequest) -> HttpResponse:
    """So that the page can be put among the telephone's programs (web app manifest, W3C)."""
    manifest = {
        "name": "Sillbook", "short_name": "Sillbook", "id": reverse("site"), "start_url": reverse("site"),
        "scope": reverse("site"), "display": "standalone", "orientation": "any", "lang": translation.get_language(),
        "description": _("Readings, stages and photos from the opening, with signal or without."),
        "background_color": "#faf8f3", "theme_color": "#16212c",
        "icons": [{"src": static(name), "sizes": f"{size}x{size}", "type": "image/png", "purpose": "any maskable"}
                  for name, size in zip(kept.icons(), (192, 512), strict=True)],
    }
    return _asked_again(request, HttpResponse(orjson.dumps(manifest), content_type=MANIFEST))


@require_safe
@ensure_csrf_cookie
@as_the_phone_reads
def site_day(request: HttpRequest) -> HttpResponse:
    """The day of whoever is signed in. Asked again while nothing has happened, nothing is sent."""
    if not request.user.is_authenticated:
        return problem(401, "not-signed-in", "Sign in first", _("Sign in to have your day on this telephone."))
    request.act = Act.of(request.user, timezone.now())
    request.office = SimpleLazyObject(OfficeSettings.current)
    request.reader = Reader.of(request.user, request.act.now, request.office)
    mark = mark_of(request, f"site day {translation.get_language()} {kept.version()}")
    answer = get_conditional_response(request, etag=mark)
    if answer is None or answer.status_code != 304:
        told = {**day_told(request), "version": kept.version()}
        answer = _packed(request, HttpResponse(orjson.dumps(told), content_type="application/json"))
        answer["ETag"] = mark
    answer["Cache-Control"] = "private, no-cache"
    return answer


def _asked_again(request: HttpRequest, answer: HttpResponse) -> HttpResponse:
    """Sent once: what keeps the page asks for the same right after it."""
    mark = quote_etag(hashlib.sha256(answer.content).hexdigest()[:20])
    answer["Cache-Control"], answer["ETag"] = "no-cache", mark
    patch_vary_headers(answer, ["Accept-Language"])
    told = get_conditional_response(request, etag=mark, response=answer)
    return told if told.status_code == 304 else _packed(request, answer)


def _packed(request: HttpRequest, answer: HttpResponse) -> HttpResponse:
    """By Brotli where the browser can, which looks back as far as one opening's sheets repeat those of another. Only
    here: nothing of what is asked comes back in these answers, so that their length gives nothing away."""
    if not BROTLI.search(request.headers.get("Accept-Encoding", "")):
        return packed(request, answer)
    answer.content = brotli.compress(answer.content, quality=QUALITY)
    answer["Content-Encoding"], answer["Content-Length"] = "br", str(len(answer.content))
    patch_vary_headers(answer, ["Accept-Encoding"])
    if "ETag" in answer:
        answer["ETag"] = f"W/{answer['ETag'].removeprefix('W/')}"
    return answer
