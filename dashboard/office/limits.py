"""The shipped limits of checks: what each is, where that stands, who set it when, and who says otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import BooleanField, QuerySet
from django.db.models.expressions import RawSQL
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import words
from dashboard.forms import kinds
from dashboard.forms.kinds import Kind
from dashboard.measures import Reader
from inspections.calc.kinds import KINDS
from inspections.models import Check
from inspections.services.checks import LIMIT_CHANGED, STANDS_ON
from jobs.calc.reading import length, warmer
from jobs.calc.verdict import BadInput
from jobs.models import Change
from jobs.stages import Stage

OF_UNIT = {"mm": kinds.LENGTH, "c_apart": kinds.WARMER}
MOST_CHANGES = 50  # of one check, the latest
STAGES = [*(stage.value for stage in Stage), Check.HOLD_POINT]


@dataclass(frozen=True, slots=True)
class LimitShown:
    name: str
    what: str
    value: str
    source: str
    said: str = ""  # by whom and when, where the office changed it
    others: str = ""  # how many systems and jobs say otherwise


@dataclass(frozen=True, slots=True)
class CheckShown:
    check: Check
    title: str
    limits: tuple[LimitShown, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """One change of one limit."""

    what: str
    when: str
    by: str
    was: str
    now: str


def unit_of(check: Check, name: str) -> str:
    kind = KINDS.get(STANDS_ON.get(check.judged_by, check.judged_by))
    return "" if kind is None else kind.limits.get(name, "")


def kind_of(check: Check, name: str) -> Kind:
    return OF_UNIT.get(unit_of(check, name), kinds.NUMBER)


def unit_words(unit: str, name: str) -> str:
    """Beside the field; a length says its own."""
    if name.endswith("_per_m"):
        return _("millimetres a metre")
    return {"n": _("newtons"), "pct": _("per cent"), "c_apart": _("degrees apart")}.get(unit, "")


def said_value(check: Check, name: str, value: Any, reader: Reader) -> str:
    """With its unit, as this reader reads it."""
    if value is None:
        return _("no limit set")
    unit = unit_of(check, name)
    try:
        if unit == "mm":
            exactly = reader.exactly(length(value, "", unit="mm", signed=True))
            return exactly if reader.in_inches else f"{exactly} mm"
        if unit == "c_apart":
            return reader.warmer(str(warmer(value, "")))
    except BadInput:
        return str(value)
    if name.endswith("_per_m"):
        return f"{kinds.plain(value)} mm/m"
    return words.amount(name, str(value), unit, reader) if unit in ("n", "pct") else kinds.plain(value)


def said_limit(check: Check, name: str, limit: Any, reader: Reader) -> str:
    if not isinstance(limit, Mapping):
        return _("not there")
    value, source = said_value(check, name, limit.get("value"), reader), limit.get("source") or ""
    return f"{value} ({source})" if source else value


def shipped_with_limits() -> list[Check]:
    rows = Check.objects.filter(system=None, job=None).order_by("order", "code")
    return [row for row in rows if row.limits]


def shown_checks(reader: Reader) -> list[tuple[str, list[CheckShown]]]:
    """By the stage that asks them, in its order."""
    checks = shipped_with_limits()
    latest, others = _latest(), _others(row.code for row in checks)
    stages: dict[str, list[CheckShown]] = {}
    for check in checks:
        limits = tuple(_shown(check, name, limit, reader, latest.get((check.pk, name)), others.get((check.code, name)))
                       for name, limit in check.limits.items())
        stages.setdefault(check.stage, []).append(CheckShown(check, _(check.title), limits))
    return [(words.stage(stage), stages[stage]) for stage in STAGES if stage in stages]


def _shown(check: Check, name: str, limit: Mapping[str, Any], reader: Reader, change: Change | None,
           others: tuple[int, int] | None) -> LimitShown:
    said = "" if change is None else _("set by %(who)s, %(day)s") % {
        "who": _who(change), "day": reader.day(change.at)}
    return LimitShown(name, words.limit(name), said_value(check, name, limit.get("value"), reader),
                      words.source(str(limit.get("source") or "")), said, _otherwise(others))


def _who(change: Change) -> str:
    return _("somebody") if change.by is None else change.by.name


def _otherwise(others: tuple[int, int] | None) -> str:
    if others is None:
        return ""
    systems, jobs = others
    said = [ngettext("%d door system", "%d door systems", systems) % systems if systems else "",
            ngettext("%d job", "%d jobs", jobs) % jobs if jobs else ""]
    return _("otherwise for %s") % _(" and ").join(part for part in said if part)


def _changes() -> QuerySet[Change]:
    """Written out, not as a value: of an index for some rows the database must see which they are."""
    of_checks = RawSQL("record = 'checks'", [], output_field=BooleanField())
    return Change.objects.filter(of_checks, what=LIMIT_CHANGED).select_related("by").order_by("-position")


def _latest() -> dict[tuple[int, str], Change]:
    found: dict[tuple[int, str], Change] = {}
    for change in _changes():
        found.setdefault((int(change.record_id), str(change.more.get("limit"))), change)
    return found


def _others(codes: Iterable[str]) -> dict[tuple[str, str], tuple[int, int]]:
    """By check and limit: how many door systems and jobs have their own."""
    found: dict[tuple[str, str], tuple[int, int]] = {}
    rows = Check.objects.filter(code__in=list(codes)).exclude(system=None, job=None)
    for code, limits, job in rows.values_list("code", "limits", "job"):
        for name in limits:
            systems, jobs = found.get((code, name), (0, 0))
            found[code, name] = (systems + (job is None), jobs + (job is not None))
    return found


def changes_of(check: Check, reader: Reader) -> list[Changed]:
    """Who set which of its limits when, the latest first."""
    return [Changed(words.limit(change.more["limit"]), reader.moment(change.at), _who(change),
                    said_limit(check, change.more["limit"], change.more.get("was"), reader),
                    said_limit(check, change.more["limit"], change.more.get("now"), reader))
            for change in _changes().filter(record_id=str(check.pk))[:MOST_CHANGES]]
