"""Pages of office records: a form that makes or changes one, under the version that was read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from dashboard.forms.records import Make, RecordForm, differences
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told
from jobs.errors import Refusal, SomeoneWasFaster
from jobs.models.base import new_id
from jobs.services.once import made_before, made_once

TEMPLATE = "dashboard/record_form.html"


@dataclass(frozen=True)
class Sheet:
    """One form page: what it is about, who carries it out, where one comes from and goes to."""

    title: str
    base: models.Model
    form: Make
    carry: Callable[[dict[str, Any], int], models.Model]
    leave: str
    done: Callable[[models.Model], str]
    here: str = ""
    template: str = TEMPLATE
    said: Callable[[models.Model], str] = lambda kept: _("Kept: %s.") % kept
    button: str = ""
    context: Mapping[str, Any] = field(default_factory=dict)
    answer: Callable[[HttpRequest, models.Model], HttpResponse] | None = None  # instead of leading on


def number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


def gone(request: HttpRequest, page: str) -> HttpResponse:
    """Asked to take off what is there no more: pressed twice, or taken off by somebody else."""
    messages.info(request, _("It is taken off already."))
    return redirect(page)


def show_form(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    """The form; once it is sent, the record made or changed, or the form again with what would be right."""
    if request.method != "POST":
        return _form(request, sheet, sheet.form(sheet.base, request.reader))
    if sheet.base.pk is None and (before := made_before(request.act, _entry(request), type(sheet.base))):
        return _done(request, sheet, before)
    form = sheet.form(sheet.base, request.reader, request.POST)
    values = form.values()
    if values is None:
        return _form(request, sheet, form, unreadable(), UNREADABLE)
    try:
        kept = _carried(request, sheet, values)
    except SomeoneWasFaster as why:
        return _faster(request, sheet, form, why)
    except Refusal as why:
        form.refused(why.fields)
        return _form(request, sheet, form, Told.of(why, request.reader), why.status)
    return _done(request, sheet, kept)


def _done(request: HttpRequest, sheet: Sheet, kept: models.Model) -> HttpResponse:
    if sheet.answer is not None:
        return sheet.answer(request, kept)
    messages.success(request, sheet.said(kept))
    return redirect(sheet.done(kept))


def _entry(request: HttpRequest) -> str:
    """The id this form was given; without one it is a form of its own."""
    return request.POST.get("entry") or str(new_id())


def _carried(request: HttpRequest, sheet: Sheet, values: dict[str, Any]) -> models.Model:
    version = number(request.POST.get("version", ""))
    if sheet.base.pk:
        return sheet.carry(values, version) if values else sheet.base
    return made_once(request.act, _entry(request), type(sheet.base), lambda: sheet.carry(values, version))


def _faster(request: HttpRequest, sheet: Sheet, form: RecordForm, why: SomeoneWasFaster) -> HttpResponse:
    """Both are shown; what is sent after that is sent by somebody who has read what stands."""
    now = type(sheet.base)._default_manager.get(pk=sheet.base.pk)
    told = Told.of(why, request.reader)
    detail = _("What the other kept and what was typed here stand side by side below. Put right what is typed here, "
               "then keep it.")
    both = tuple(differences(sheet.form(now, request.reader), form))
    return _form(request, sheet, form, Told(told.title, detail, both), why.status, now.version)


def _form(request: HttpRequest, sheet: Sheet, form: RecordForm, told: Told | None = None, status: int = 200,
          version: int | None = None) -> HttpResponse:
    made = sheet.base.pk is not None
    if version is None and made:  # a page that was refused stays with what was read when it was opened
        version = number(request.POST.get("version", "")) or sheet.base.version
    return render(request, sheet.template, {
        "title": sheet.title, "form": form, "told": told, "here": sheet.here, "leave": sheet.leave,
        "button": sheet.button or _("Keep it"), "version": version,
        "entry": None if made else request.POST.get("entry") or str(new_id()),
        "in_inches": request.reader.in_inches, **sheet.context}, status=status)
