"""Jobs: the list, and one job with its openings by stage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from dashboard import phrases, words
from dashboard.drawings import record
from dashboard.drawings.elevation import Elevation, small
from dashboard.drawings.said import drawing_words, next_words
from dashboard.drawings.tape import Tape, tape
from dashboard.measures import Reader
from dashboard.opening import story
from dashboard.opening.said import objection_words
from dashboard.views.deliveries import delivery_lines
from dashboard.views.pages import PAGE, may_read_contacts, page
from inspections.models import Callback, Check
from inspections.services.parts import MAY as MAY_PLAN
from inspections.services.progress import Sum3, ledgers, minutes
from jobs.acts import Act
from jobs.models import Assignment, Change, Job, Opening, Party, Wait
from jobs.roles import Reach, reach
from jobs.services.objections import new_since, standing_now
from jobs.stages import ORDER, Stage

LONGEST_SEARCH = 80


@dataclass(frozen=True, slots=True)
class JobLine:
    job: Job
    promised: str
    stages: tuple[tuple[str, int], ...]  # those that have any
    waits: int


@dataclass(frozen=True, slots=True)
class JobOpening:
    pk: int
    tag: str
    location: str
    stage: str
    drawing: Elevation
    said: str
    next: str
    passed_over: str
    waits: tuple[str, ...]
    calls: tuple[tuple[int, str], ...]  # open callbacks: which, and in words
    accepted: bool

    @property
    def key(self) -> str:
        return f"d-{self.pk}"


@dataclass(frozen=True, slots=True)
class GivenLine:
    work: str
    who: str
    against: tuple[tuple[str, bool], ...]  # in words, and whether it is new since it was given


@dataclass(frozen=True, slots=True)
class PartyLine:
    role: str
    party: Party


@require_safe
@page
def jobs_page(request: HttpRequest) -> HttpResponse:
    search = request.GET.get("q", "").strip().replace("\x00", "")[:LONGEST_SEARCH]
    after = request.GET.get("after", "").replace("\x00", "")[:LONGEST_SEARCH]
    rows = _visible_jobs(request.act)
    if search:
        rows = rows.filter(Q(number__icontains=search) | Q(title__icontains=search))
    if after:
        rows = rows.filter(number__gt=after)
    found = list(rows.order_by("number")[: PAGE + 1])
    shown = found[:PAGE]
    return render(request, "dashboard/jobs.html", {
        "jobs": _job_lines(request, shown), "q": search, "after": after,
        "more": shown[-1].number if len(found) > PAGE else "", "here": "jobs"})


def _visible_jobs(act: Act) -> QuerySet[Job]:
    if reach(act.role, "read") is Reach.ALL:
        return Job.objects.all()
    return Job.objects.filter(pk__in=_visible(act).values("job"))


def _visible(act: Act) -> QuerySet[Opening]:
    return Opening.objects.visible_to(act.user, act.role, act.today())


def _job_lines(request: HttpRequest, jobs: list[Job]) -> list[JobLine]:
    openings = _visible(request.act).filter(job__in=jobs)
    counts: dict[int, dict[str, int]] = {}
    for job, stage, count in openings.order_by().values_list("job", "stage").annotate(Count("pk")):
        counts.setdefault(job, {})[stage] = count
    waits = dict(Wait.objects.filter(opening__in=openings, cleared_at=None).order_by().values_list("opening__job")
                 .annotate(Count("pk")))
    return [JobLine(job, request.reader.whole_day(job.promised_date), stage_counts(counts.get(job.pk, {})),
                    waits.get(job.pk, 0)) for job in jobs]


def stage_counts(counts: dict[str, int], *, every: bool = False) -> tuple[tuple[str, int], ...]:
    return tuple((words.stage(s.value), counts.get(s.value, 0)) for s in ORDER if every or counts.get(s.value))


@require_safe
@page
def job_page(request: HttpRequest, job_id: int) -> HttpResponse:
    act = request.act
    job = _visible_jobs(act).select_related("builder", "owner").filter(pk=job_id).first()
    if job is None:
        raise Http404("There is no such job among yours.")
    reader = request.reader.at(job.time_zone)
    openings = list(_visible(act).filter(job=job).select_related("job", "unit").order_by("tag"))
    contacts = may_read_contacts(act, job)
    money = reach(act.role, "read money") is Reach.ALL
    context: dict[str, Any] = {
        "job": job, "here": "jobs", "promised": reader.whole_day(job.promised_date), **_to_go(job, openings, act),
        "stages": stage_counts(_counted(openings), every=True), "openings": _opening_lines(openings, reader, contacts),
        "tape": _tape(openings, act, job), "parties": _parties(job) if contacts else [], "contacts": contacts,
        "amount": _amount(job) if money else "",
        "given": _given_lines(openings, act, reader, contacts), "caution": phrases.LIFTING_CAUTION,
        "deliveries": delivery_lines(act, _visible(act).filter(job=job), job, reader),
        "may_plan": reach(act.role, MAY_PLAN) is not None, **_story(request, job, openings, reader),
    }
    return render(request, "dashboard/job.html", context)


def _story(request: HttpRequest, job: Job, openings: list[Opening], reader: Reader) -> dict[str, Any]:
    """What happened on the job, as far as they may see its openings; the latest lines, or those before one of them."""
    found = Change.objects.filter(job=job).shown_to(request.act.role).order_by("-position")
    if reach(request.act.role, "read") is not Reach.ALL:
        found = found.filter(opening__in=openings)
    before = request.GET.get("before", "")
    if before.isascii() and before.isdecimal() and len(before) < 19:
        found = found.filter(position__lt=int(before))
    rows = list(found.select_related("by", "opening")[: story.AT_ONCE + 1])
    shown = rows[: story.AT_ONCE]
    titles = dict(Check.objects.values_list("code", "title"))
    story_lines = story.lines(reversed(shown), reader, titles, tags=True)
    return {"story": story_lines, "story_open": bool(before), "last_line": story_lines[-1] if story_lines else None,
            "earlier": shown[-1].position if len(rows) > len(shown) else None}


def _given_lines(openings: list[Opening], act: Act, reader: Reader, named: bool) -> list[GivenLine]:
    """Work that is still to be done and against which something stands today."""
    given = Assignment.objects.filter(opening__in=openings, end_day__gte=act.today()).select_related(
        "crew", "work_step", "opening").order_by("start_day", "pk")
    rows = {one.pk: one for one in given}
    now = standing_now(rows, act.today()) if rows else {}
    return [_given_line(rows[pk], now[pk], reader, named) for pk in rows if now.get(pk)]


def _given_line(one: Assignment, now: list[dict[str, Any]], reader: Reader, named: bool) -> GivenLine:
    new = new_since(one.against, now)
    return GivenLine(
        f"{one.opening.tag}, {words.stage(one.work_step.stage).lower()}",
        f"{one.crew.name}, {reader.whole_day(one.start_day)} – {reader.whole_day(one.end_day)}",
        tuple((objection_words(found, reader, named), found in new) for found in now))


def _counted(openings: list[Opening]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for opening in openings:
        counts[opening.stage] = counts.get(opening.stage, 0) + 1
    return counts


def _to_go(job: Job, openings: list[Opening], act: Act) -> dict[str, Any]:
    """How long to the promised day; of a job that is handed over nothing is due."""
    over = bool(openings) and all(opening.stage == Stage.ACCEPTED.value for opening in openings)
    if job.promised_date is None or over:
        return {}
    days = (job.promised_date - act.today(job.time_zone)).days
    return {"to_go": words.days_to_go(days), "late": days < 0}


def _parties(job: Job) -> list[PartyLine]:
    return [PartyLine(str(words.phrases.PARTIES[kind]), party) for kind, party in (
        ("builder", job.builder), ("owner", job.owner)) if party is not None]


def _amount(job: Job) -> str:
    return "" if job.contract_cents is None else f"{job.contract_cents // 100:,}.{job.contract_cents % 100:02}"


def _tape(openings: list[Opening], act: Act, job: Job) -> Tape:
    sums = minutes("job", ledgers(Opening.objects.filter(pk__in=[o.pk for o in openings])), act.today(job.time_zone))
    total = sums.get(job.pk, Sum3())
    return tape(total.earned, total.planned, total.used)


def _opening_lines(openings: list[Opening], reader: Reader, named: bool) -> list[JobOpening]:
    drawn = record.built(openings)
    widest = max((b.whole_width for b in drawn.values()), default=1)
    waits: dict[int, list[str]] = {}
    for wait in Wait.objects.filter(opening__in=openings, cleared_at=None).select_related("owed_by"):
        waits.setdefault(wait.opening_id, []).append(words.wait(wait, reader, named))
    calls: dict[int, list[tuple[int, str]]] = {}
    for call in Callback.objects.filter(opening__in=openings, closed_at=None).order_by("called_at", "pk"):
        calls.setdefault(call.opening_id, []).append((call.pk, _("%(number)s, %(severity)s, since %(day)s") % {
            "number": call.number, "severity": str(phrases.SEVERITIES[call.severity]).lower(),
            "day": reader.day(call.called_at)}))
    return [JobOpening(o.pk, o.tag, o.location, words.stage(o.stage), small(drawn[o.pk], widest),
                       drawing_words(drawn[o.pk]), next_words(drawn[o.pk]), o.passed_over,
                       tuple(waits.get(o.pk, ())), tuple(calls.get(o.pk, ())), o.stage == Stage.ACCEPTED.value)
            for o in openings]
