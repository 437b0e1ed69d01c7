"""In which language something is said. The site page is in the telephone's, from dashboard/locale; all other pages are
in English until they are wholly in another one: half a page in another language is none."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from django.middleware.locale import LocaleMiddleware
from django.urls import reverse
from django.utils import translation

from jobs.rest.signin import PERSON

OFFICE = ("en",)  # the languages that every page of the office has


class SitePageInItsOwn(LocaleMiddleware):
    """By the browser's `Accept-Language` on the site page and in what is answered to it, which names whom it sends for;
    English on every other page, those of nobody signed in too."""

    def process_request(self, request: HttpRequest) -> None:
        if request.path_info.startswith(reverse("site")) or PERSON in request.headers:
            super().process_request(request)
        else:
            translation.activate(settings.LANGUAGE_CODE)
            request.LANGUAGE_CODE = settings.LANGUAGE_CODE


def of_the_office(chosen: str) -> str:
    """What somebody has chosen, where the office's pages have it."""
    return chosen if chosen in OFFICE else settings.LANGUAGE_CODE
