"""The sentences of an opening's page, and of the verdicts beside it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.measures import Reader
from dashboard.opening.brought_in import doubt_words, stops_words
from dashboard.opening.rows import ReadingRow, Stood
from inspections.models import Inspection
from jobs.calc.against import DAY_OFF, EQUIPMENT_BOOKED, OVERLAP, WAY_IN_UNKNOWN


def stood_on(gate: Mapping[str, Any]) -> str:
    """On what a stage stood: how many checks, and how many of them did not stand when it was passed over."""
    checks = gate.get("checks") or ()
    if not checks:
        return ""
    failing = [c for c in checks if c["result"] != "passes"]
    if not failing:
        return _("%d checks") % len(checks)
    titles = "; ".join(words.unique(c["title"] for c in failing))
    return _("%(good)d of %(all)d checks; not: %(titles)s") % {
        "good": len(checks) - len(failing), "all": len(checks), "titles": titles}


def stood_one_by_one(gate: Mapping[str, Any], reader: Reader) -> tuple[Stood, ...]:
    """Each check a stage stood on, with the readings or the look it stood on."""
    return tuple(_stood(check, reader) for check in gate.get("checks") or ())


def _stood(check: Mapping[str, Any], reader: Reader) -> Stood:
    seen = check.get("evidence") or {}
    place = words.place(check["place"]) if check.get("place") else ""
    when = ", ".join(filter(None, (reader.day(seen["taken_at"]) if seen.get("taken_at") else "", seen.get("by", ""))))
    return Stood(", ".join(filter(None, (check["title"], place))), check["result"] == "passes", when,
                 seen["id"] if seen.get("record") == "inspections" else "")


def joint_words(rule: str, place: str, side: str) -> str:
    where = f"{words.place(place).capitalize()} {words.place(side)}".strip()
    return where if rule == "seal" else _("%s: never sealed") % where


def reading_row(inspection: Inspection, reader: Reader) -> ReadingRow:
    said = words.verdict(inspection.verdict, reader)
    worst = next((finding_words(n) for n in said.beyond), "") or next(iter(said.missing), "")
    what = words.kind(inspection.kind, inspection.occasion)
    if inspection.place:
        what += f", {words.place(inspection.place)}"
    return ReadingRow(inspection.pk, what, reader.moment(inspection.taken_at), str(inspection.by), said.headline,
                      not said.stops, worst)


def finding_words(note: words.Note) -> str:
    where = f" {note.where}" if note.where else ""
    return _("%(what)s: %(value)s%(where)s; %(limit)s.") % {
        "what": note.what, "value": note.value, "where": where, "limit": note.limit}


def finding_sentence(finding: Mapping[str, Any], reader: Reader) -> str:
    return finding_words(words.note(finding, reader))


def plan_words(part: Mapping[str, Any], reader: Reader) -> str:
    """One stretch of a correction, as a builder is told."""
    said = words.values(part, reader)  # the same numbers in the same words as in a verdict
    act = _("Grind") if part["act"] == "grind" else _("Fill")
    return _("%(act)s from %(from)s to %(to)s on the %(line)s, deepest %(deepest)s at %(at)s.") % {
        "act": act, "from": said["from"], "to": said["to"], "line": said["line"], "deepest": said["deepest"],
        "at": said["at"]}


def wait_for(said: words.CheckSaid) -> str:
    """What a wait raised from this check is for, to begin with."""
    beyond = said.beyond[:1]
    seen = (said.evidence or {}).get("note")
    wanted = f"{said.title}: {seen}" if seen else said.title
    if beyond:
        wanted = " ".join([said.title + ":", *(n.remedy or n.what for n in beyond)])
    return wanted.rstrip(".")[:240]


def closed_words(sent: Mapping[str, Any], reader: Reader) -> str:
    """A day on which a crew does not work, and why."""
    return f"{reader.day(sent['day'])}: {phrases.CLOSED.get(sent['why'], sent['why'])}"


def objection_words(sent: Mapping[str, Any], reader: Reader, named: bool) -> str:
    """What stands against work that is given to a crew."""
    known = dict(sent["values"])
    if sent["code"] == "not_ready":
        reasons = words.unique(words.reason(one, reader, named) for one in known["reasons"])
        return _("The work is not ready.") + "".join(f" {one}" for one in reasons[:1])
    if "stops" in known:
        known |= {"equipment": known["equipment"] or _("By hand"), "stops": stops_words(known["stops"])}
    if sent["code"] == WAY_IN_UNKNOWN:
        known["doubt"] = doubt_words(known["panels"], known["missing"], reader)
    for name in ("needed_grams", "left_grams"):
        if name in known:
            known[name] = reader.mass(known[name])
    if sent["code"] == DAY_OFF:
        known["days"] = "; ".join(closed_words(one, reader) for one in known["days"])
    if sent["code"] in (OVERLAP, EQUIPMENT_BOOKED):
        first = known["start_day"]
        known["days"] = reader.days(*(dt.date.fromisoformat(day) for day in (first, known["end_day"] or first)))
    for name in ("day", "start_day", "end_day", "earliest_day", "until"):
        if known.get(name):
            known[name] = reader.day(dt.date.fromisoformat(known[name]))
    said = phrases.OBJECTIONS.get(sent["code"])
    return sent["code"] if said is None else said % known
