"""Which checks stand for an opening, and by which limits: shipped, then the door system's, then the job's; and how
the office changes them."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from django.db.models import Q

from inspections.calc.gate import Asked
from inspections.calc.kinds import KINDS
from inspections.models import Check
from jobs.acts import Act, carry_out
from jobs.calc import reading
from jobs.calc.verdict import BadInput, Limit
from jobs.errors import Invalid
from jobs.models import Opening
from jobs.services import office
from units.models import DoorSystem

LIMIT_CHANGED = "limit changed"  # in the feed
SHIPPED = Path(__file__).resolve().parent.parent / "shipped.json"
# Judged by what these records say themselves: nothing can be confirmed in their place.
BY_THEIR_RECORDS = frozenset({"panels", "punch-items", "set-aside-parts"})
# Two that somebody confirms until the unit lists its parts: then the first is counted from them, and the second is
# asked of each splice, as of any other joint that is to be sealed.
MATERIAL_COMPLETE, SPLICES_SEALED = "material-complete", "splices-sealed"
FIELDS = ("title", "stage", "judged_by", "findings", "places", "occasion", "photo", "maker_may_forbid", "by_office",
          "source", "guards", "fresh_days")


def ship_checks(model: type[Check] = Check) -> int:
    """Adds the shipped checks that are not there yet; what the office changed stays as it is.

    Migrations call it with the table as it was then: a column that came later is left for a later one to fill.
    """
    there = set(model.objects.filter(system=None, job=None).values_list("code", flat=True))
    known = {field.name for field in model._meta.get_fields()}
    rows = [model(**{name: value for name, value in row.items() if name in known}, asked=True)
            for row in json.loads(SHIPPED.read_text(encoding="utf-8")) if row["code"] not in there]
    model.objects.bulk_create(rows)
    return len(rows)


def checks_for(opening: Opening) -> list[Asked]:
    """Every check that stands for this opening, in the order they are asked."""
    return merged(Check.objects.filter(_scope(opening)))


def _scope(opening: Opening) -> Q:
    scope = Q(system=None, job=None) | Q(job=opening.job_id)
    unit = getattr(opening, "unit", None)
    return scope if unit is None or unit.system_id is None else scope | Q(system=unit.system_id)


def merged(rows: Iterable[Check]) -> list[Asked]:
    by_code: dict[str, list[Check]] = {}
    for row in sorted(rows, key=lambda r: (r.job_id is not None, r.system_id is not None)):
        by_code.setdefault(row.code, []).append(row)
    asked = [_merge(code, layers) for code, layers in by_code.items()]
    return sorted((a for a in asked if a is not None), key=lambda a: (a.order, a.code))


def _merge(code: str, layers: list[Check]) -> Asked | None:
    values: dict[str, Any] = {}
    limits: dict[str, Any] = {}
    asked, order = True, 0
    by_job: set[str] = set()
    for row in layers:
        limits.update(row.limits)
        if row.job_id is not None:
            by_job |= {*row.limits, *(f for f in FIELDS if getattr(row, f) not in (None, ""))}
        order = row.order or order
        asked = asked if row.asked is None else row.asked
        values.update({f: getattr(row, f) for f in FIELDS if getattr(row, f) not in (None, "")})
    if not asked or not values.get("stage"):
        return None
    values = {"title": code, "judged_by": "confirmed", **values}
    lists = {f: tuple(values.pop(f, None) or ()) for f in ("findings", "places")}
    return Asked(code=code, order=order, limits=limits, set_by_job=frozenset(by_job), **lists, **values)


def limits_of(kind: str, checks: Iterable[Asked], *, first: Asked | None = None,
              occasion: str = "") -> dict[str, Limit]:
    """The limits a kind of check is judged by: those of all its checks, those of this occasion over the others',
    `first` over all."""
    raw: dict[str, Any] = {}
    for asked in sorted(checks, key=lambda check: bool(occasion) and check.occasion == occasion):
        if STANDS_ON.get(asked.judged_by, asked.judged_by) == kind:
            raw.update(asked.limits)
    if first is not None:
        raw.update(first.limits)
    return read_limits(kind, raw)


# The joints' check stands on sealing conditions: its limits are theirs.
STANDS_ON = {"joints": "sealing-conditions"}


def read_limits(kind: str, raw: Mapping[str, Any]) -> dict[str, Limit]:
    known = KINDS[kind].limits
    return reading.limits({k: v for k, v in raw.items() if k in known}, known, {}, "mm")


def shipped_limits(kind: str) -> dict[str, Limit]:
    """The limits that stand where no door system or job says otherwise."""
    return limits_of(kind, shipped_checks())


# ---- changed by the office ---------------------------------------------------------------------------------


def make_check(act: Act, values: Mapping[str, Any]) -> Check:
    _refuse_what_no_gate_can_judge(Check(), values)
    return office.create(act, Check, values, record="checks")


def change_check(act: Act, found: Check, values: Mapping[str, Any], *, version: int) -> Check:
    """What was verified by the limits of its day stays as it was; who set which limit when is kept."""
    _refuse_what_no_gate_can_judge(copy.copy(found), values)
    before = dict(found.limits)
    with carry_out(act) as done:
        changed = office.change(act, found, values, version=version, record="checks")
        for name in sorted(before.keys() | changed.limits.keys()):
            was, now = before.get(name), changed.limits.get(name)
            if was != now:
                done.note(act, LIMIT_CHANGED, "checks", changed.pk, check=changed.code, limit=name, was=was, now=now)
    return changed


def keep_own_limits(act: Act, system: DoorSystem, limits: Mapping[str, Mapping[str, Any]],
                    versions: Mapping[str, int]) -> None:
    """What this door system's maker allows at the site, check by check, over what is shipped: `limits` by the check's
    code and the limit's name. `versions`: of its own rows as somebody saw them; a check left out stays as it is."""
    with carry_out(act):
        own = {row.code: row for row in Check.objects.filter(system=system)}
        for code, wanted in limits.items():
            row = own.get(code)
            if row is None and wanted:
                make_check(act, {"code": code, "system": system, "limits": wanted})
            elif row is not None and row.limits != wanted:
                change_check(act, row, {"limits": wanted}, version=versions.get(code, row.version))


def shipped_checks() -> list[Asked]:
    """As they stand for every door system that says nothing else, in the order they are asked."""
    return merged(Check.objects.filter(system=None, job=None))


def _refuse_what_no_gate_can_judge(row: Check, values: Mapping[str, Any]) -> None:
    """Said to whoever types it: at the gate, a limit nobody can read would hold up every opening that it stands for."""
    for name, value in values.items():
        setattr(row, name, value)
    under = Check.objects.filter(code=row.code).exclude(pk=row.pk).exclude(stage="").order_by("pk").first() or Check()
    wrong = {} if row.stage or under.stage else {"stage": "the stage that asks it, or the pocket closes"}
    judged_by = row.judged_by or under.judged_by
    wrong |= _limits_wrong(STANDS_ON.get(judged_by, judged_by), row.limits)
    if judged_by == "joints" and not all(_names_a_joint(spot) for spot in row.places or ()):
        wrong["places"] = "each joint as seal:head:outside or never-seal:sill:outside"
    if wrong:
        raise Invalid("A check cannot be judged like that.", fields=wrong)


def _limits_wrong(kind: str, limits: Mapping[str, Any]) -> dict[str, str]:
    known = KINDS[kind].limits if kind in KINDS else {}
    wrong, read = {}, {}
    for name, sent in limits.items():
        try:
            if not isinstance(sent, Mapping) or not str(sent.get("source") or "").strip():
                raise BadInput(f"limits.{name}", sent, 'its value and where that stands: {"value": …, "source": …}')
            read[name] = reading.limits({name: sent}, known, {}, "mm")[name].value
        except BadInput as why:
            wrong[why.field] = why.right
    for name, least in read.items():
        most = read.get(f"{name.removesuffix('_least')}_most") if name.endswith("_least") else None
        if None not in (least, most) and least > most:
            wrong[f"limits.{name}"] = "not above the most"
    return wrong


def _names_a_joint(spot: str) -> bool:
    rule, _, where = spot.partition(":")
    return rule in ("seal", "never-seal") and bool(where.partition(":")[0].strip())
