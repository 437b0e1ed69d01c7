"""What stands on the page on which an opening's work is given: what is left, what is given, who could take it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.drawings.week import Columns
from dashboard.forms.assigning import ChangeForm, GiveForm, OfAssignment, TakeBackForm, TellForm, stands_as
from dashboard.measures import Reader, hours
from dashboard.opening.said import closed_words, objection_words
from dashboard.planning.weeks import WEEK, Eyes, WeekShown, changes_of, day_span, told_words, week_shown
from inspections.services.trips import Trips, trips_between
from jobs.calc import plan as sums
from jobs.calc.against import DAY_OFF, EquipmentAtHand
from jobs.calc.plan import Placing, Reason, why_after
from jobs.models import Assignment, Crew, WorkStep
from jobs.services.objections import new_since, standing_now
from jobs.services.plans import CURING, GIVEN_BEFORE, Plan

SHOWN, SHOWN_MORE = 12, 36
KM_A_MILE = 1.609344
AT_HAND_KM = 1
Hidden = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class StepRow:
    pk: int
    name: str
    hours: str
    hands: int
    skills: str
    lifts: str
    after: str
    ready: bool
    in_order: bool  # it waits for nothing but what comes before it
    why_not: tuple[str, ...]
    given: tuple[str, ...]
    chosen: bool


@dataclass(frozen=True, slots=True)
class GivenRow:
    pk: int
    work: str
    who: str
    crew: int
    days: str
    hours: str
    firmness: str
    inked: bool
    equipment: str
    told: str
    told_late: bool
    is_over: bool
    against: tuple[tuple[str, bool], ...]  # in words, and whether it is new since it was saved
    change: ChangeForm
    tell: TellForm
    take_back: TakeBackForm
    ink: Hidden


@dataclass(frozen=True, slots=True)
class CandidateRow:
    number: int
    crew: str
    crew_pk: int
    monday: dt.date
    days: str
    steps: tuple[str, ...]
    drive: str
    why_after: str
    good: tuple[str, ...]
    against: tuple[str, ...]
    week: WeekShown
    take: str  # what its buttons send, but for how firm


# ---- what is left ------------------------------------------------------------------------------------------------


def step_rows(plan: Plan, reader: Reader, named: bool) -> list[StepRow]:
    chosen, why_not = {step.pk for step in plan.chosen}, _why_not(plan, reader, named)
    given: dict[int, list[str]] = {}
    for one in plan.given:
        days = day_span(one.start_day, one.end_day, reader)
        given.setdefault(one.work_step_id, []).append(f"{one.crew.name}, {days}")
    return [StepRow(
        step.pk, words.stage(step.stage), hours(step.planned_minutes), step.hands, ", ".join(step.skills),
        "" if step.lifting_grams is None else reader.mass(step.lifting_grams), _passes(step.wait_after_minutes),
        step.ready, all(one["reason"] == "earlier-stage" for one in step.not_ready),
        why_not[step.pk],
        tuple(given.get(step.pk, ())), step.pk in chosen) for step in plan.left]


def _why_not(plan: Plan, reader: Reader, named: bool) -> dict[int, tuple[str, ...]]:
    """What keeps every step waiting is said at the first of them."""
    found, above = {}, set()
    for step in plan.left:
        said = words.unique(words.reason(one, reader, named) for one in step.not_ready)
        found[step.pk] = tuple(one for one in said if one not in above)
        above |= set(said)
    return found


def _passes(minutes: int) -> str:
    """What must pass after it: in days where it is whole ones."""
    if not minutes:
        return ""
    if minutes % sums.DAY_MINUTES:
        return _("%s h") % hours(minutes)
    return days_words(minutes // sums.DAY_MINUTES)


def days_words(count: int) -> str:
    return ngettext("%d day", "%d days", count) % count


def not_before(plan: Plan, reader: Reader, today: dt.date) -> list[str]:
    """Why the work cannot begin today, the latest day first."""
    said = []
    for one in sorted(plan.not_before, key=lambda one: one.day, reverse=True):
        if one.day <= today:
            continue
        what = words.stage(one.what) if one.why in (GIVEN_BEFORE, CURING) else one.what
        said.append(_("%(step)s not before %(day)s: %(why)s.") % {
            "step": words.stage(one.step.stage), "day": reader.day(one.day),
            "why": str(phrases.NOT_BEFORE[one.why]) % {"what": what or _("material")}})
    return list(words.unique(said))


def lifter_lines(plan: Plan, reader: Reader) -> list[tuple[str, str]]:
    """What could lift the heaviest panel of the chosen steps, where it is, and what speaks against it."""
    grams = max((step.lifting_grams for step in plan.chosen if step.lifting_grams is not None), default=None)
    if grams is None:
        return []
    lines = []
    for one in (gear.at_hand for gear in plan.gear if gear.at_hand.lifts):
        doubt = _holds_in_doubt(one, grams)
        holds = "" if one.holds_grams is None else _("holds %s") % reader.mass(one.holds_grams)
        where = "; ".join(_("at %(opening)s %(days)s") % {
            "opening": booking.opening, "days": day_span(booking.days.first, booking.days.last, reader)}
            for booking in sorted(one.bookings, key=lambda booking: booking.days.first)[:3])
        lines.append((f"{one.name}: " + "; ".join(part for part in (holds, where) if part), doubt))
    return lines


def _holds_in_doubt(one: EquipmentAtHand, grams: int) -> str:
    if one.holds_grams is None:
        return _("its manual is still to be asked what it holds")
    return "" if one.holds_grams >= grams else _("too little")


# ---- what is given -----------------------------------------------------------------------------------------------


def given_rows(plan: Plan, reader: Reader, today: dt.date, bound: OfAssignment | None) -> list[GivenRow]:
    now, changed = standing_now([one.pk for one in plan.given], today), changes_of(plan.given)
    crews = plan.ahead.crews
    return [_given_row(one, now.get(one.pk, []), told_words(one, reader, changed), crews, plan, reader, today, bound)
            for one in plan.given]


def _given_row(one: Assignment, now: Sequence[Mapping[str, Any]], told: tuple[str, bool], crews: Sequence[Crew],
               plan: Plan, reader: Reader, today: dt.date, bound: OfAssignment | None) -> GivenRow:
    def form(kind: type[OfAssignment], **more: Any) -> Any:
        mine = isinstance(bound, kind) and bound.of is not None and bound.of.pk == one.pk
        return bound if mine else kind(of=one, **more)

    new = new_since(one.against, now)
    against = [(objection_words(found, reader, True), found in new) for found in now]
    inked = one.firmness == "inked"
    return GivenRow(
        one.pk, words.stage(one.work_step.stage), one.crew.name, one.crew_id,
        day_span(one.start_day, one.end_day, reader), hours(one.planned_minutes), str(phrases.FIRMNESS[one.firmness]),
        inked, ", ".join(piece.name for piece in one.equipment.all()), *told, one.end_day < today,
        tuple(against),
        form(ChangeForm, crews=crews, equipment=plan.equipment), form(TellForm), form(TakeBackForm),
        () if inked or against or one.end_day < today else _hidden({
            **stands_as(one), "firmness": "inked", "do": "change", "assignment": one.pk, "version": one.version}))


def _hidden(values: Mapping[str, Any]) -> Hidden:
    rows: list[tuple[str, str]] = []
    for name, value in values.items():
        rows += [(name, str(one)) for one in (value if isinstance(value, list) else [value])]
    return tuple(rows)


# ---- who could take it -------------------------------------------------------------------------------------------


def candidate_rows(plan: Plan, reader: Reader, today: dt.date, most: int) -> list[CandidateRow]:
    shown = plan.found[:most]
    crews = {crew.pk: crew for crew in plan.ahead.crews}
    weeks = {(one.crew.key, one.monday) for one in shown}
    standing = [work for crew, monday in weeks
                for work in plan.ahead.standing(crews[crew], monday, monday + WEEK)]
    changed = changes_of(standing)
    eyes = Eyes(reader, today, Columns.of(crews[one.crew.key].working_days for one in shown))
    steps = {step.pk: step for step in plan.chosen}
    trips = trips_between({crew for crew, _monday in weeks}, plan.mondays[0], plan.mondays[-1] + WEEK)
    return [_candidate(n, one, shown[n - 1] if n else None, plan, crews[one.crew.key], steps, eyes, changed, trips)
            for n, one in enumerate(shown)]


def _candidate(n: int, one: Placing, above: Placing | None, plan: Plan, crew: Crew, steps: Mapping[Any, WorkStep],
               eyes: Eyes, changed: Mapping[int, dt.datetime], trips: Trips) -> CandidateRow:
    reader = eyes.reader
    code = why_after(above, one) if above is not None else ""
    return CandidateRow(
        n + 1, crew.name, crew.pk, one.monday, day_span(one.first, one.last, reader),
        tuple(f"{words.stage(steps[laid.piece.key].stage)} {day_span(laid.first, laid.last, reader)}"
              for laid in one.laid) if len(one.laid) > 1 else (),
        _drive(one, reader), str(phrases.AFTER[code]) if code else "",
        tuple(placed_words(reason, reader) for reason in one.of(sums.FOR)),
        tuple(placed_words(reason, reader) for reason in one.of(sums.AGAINST)),
        week_shown(plan.ahead, crew, one.monday, eyes, changed=changed, trips=trips, key=f"c-{n + 1}",
                   proposed=sorted({(laid.first, laid.last) for laid in one.laid})),
        take_value(one))


def take_value(one: Placing) -> str:
    """The crew, the days of each step, and what goes along, as one button sends it."""
    days = ",".join(f"{laid.first.isoformat()}/{laid.last.isoformat()}" for laid in one.laid)
    gear = ",".join(sorted({str(key) for laid in one.laid for key in laid.gear}))
    return f"{one.crew.key};{days};{gear}"


def laid_values(one: Placing) -> dict[str, Any]:
    """What the form is filled in with to give the work as it is laid here."""
    values: dict[str, Any] = {"crew": one.crew.key}
    for laid in one.laid:
        values |= {f"start_{laid.piece.key}": laid.first, f"end_{laid.piece.key}": laid.last}
    return {**values, "equipment": sorted({str(key) for laid in one.laid for key in laid.gear})}


def placed_words(reason: Reason, reader: Reader) -> str:
    """One reason for or against, as a sentence."""
    known = dict(reason.values)
    if reason.code == DAY_OFF:
        return "; ".join(closed_words(one, reader) for one in known["days"]) + "."
    if reason.code not in phrases.PLACED:
        return objection_words({"code": reason.code, "values": known}, reader, True)
    if "assignment" in known and "end_day" in known:
        known["when"] = day_span(*(dt.date.fromisoformat(known[name]) for name in ("start_day", "end_day")), reader)
    for name in ("ends", "start_day"):
        if name in known:
            known[name] = reader.day(known[name])
    known |= {"in_days": days_words(known["days"])} if "days" in known else {}
    known |= {"skills": ", ".join(known["skills"])} if "skills" in known else {}
    known |= {"left_grams": reader.mass(known["left_grams"])} if "left_grams" in known else {}
    if reason.code == sums.OWN_LATER:
        known["what"] = words.stage(known["what"])
    return str(phrases.PLACED[reason.code]) % known


def _drive(one: Placing, reader: Reader) -> str:
    known = next(reason.values for reason in one.reasons if reason.code == sums.DRIVE)
    if not known:
        return _("How long the drive is, is not known: the job or the crew's base has no coordinates.")
    if known["opening"] and known["km"] < AT_HAND_KM:
        return _("No drive to speak of from %s of the same week.") % known["opening"]
    said = {"far": distance_words(known["km"], reader), "minutes": known["minutes"], "from": known["opening"]}
    if known["opening"]:
        return _("About %(far)s, %(minutes)s minutes, from %(from)s of the same week; estimated.") % said
    return _("About %(far)s, %(minutes)s minutes, from the home base; estimated.") % said


def distance_words(km: float, reader: Reader) -> str:
    """To the whole mile or kilometre: it is an estimate."""
    return _("%d mi") % round(km / KM_A_MILE) if reader.in_inches else _("%d km") % round(km)


def give_form(plan: Plan, asked: Mapping[str, str]) -> GiveForm | None:
    """Filled in with the week that was asked for, else with the best."""
    if not plan.chosen:
        return None
    wanted = (one for one in plan.found if str(one.crew.key) == asked.get("crew")
              and one.monday.isoformat() == asked.get("week", one.monday.isoformat()))
    laid = next(wanted, plan.found[0] if plan.found else None)
    initial = {} if laid is None else laid_values(laid)
    return GiveForm(steps=plan.chosen, crews=plan.ahead.crews, equipment=plan.equipment, given=plan.given,
                    initial=initial)


def chosen_words(steps: Iterable[WorkStep]) -> str:
    return ", ".join(words.stage(step.stage).lower() for step in steps)
