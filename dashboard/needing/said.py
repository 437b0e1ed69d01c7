"""What needs somebody, in words: what it is, since when, who owes it, why it stands where it does, and the one act
that deals with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.forms.sheets import sheet_for
from dashboard.measures import Reader, hours
from dashboard.opening.said import finding_words, objection_words
from inspections.calc import needs
from inspections.calc.needs import Level
from inspections.models import Check
from inspections.services.needing.rows import Need

Said = tuple[str, tuple[str, ...]]  # what it is, and the lines under it


@dataclass(frozen=True, slots=True)
class Line:
    key: str
    kind: str
    what: str
    more: tuple[str, ...]
    where: str
    location: str
    opening: int
    since: str
    owes: str
    why: str
    act: str
    url: str


def line(need: Need, reader: Reader, named: bool) -> Line:
    """`reader` reads on the clock of the company; each job has its own."""
    at = reader.at(need.opening.job.time_zone)
    what, more = WHAT[need.kind](need, at, named)
    act, url = deals_with(need)
    since = at.day(need.since)
    if need.kind == needs.UNFIT and need.days < 0:
        since = _("from %s") % since
    return Line(f"{need.kind}-{need.opening.pk}", str(phrases.NEEDS_ONE[need.kind]), what, more, str(need.opening),
                need.opening.location, need.opening.pk, since, owes(need, at, named), why(need),
                act, url)


# ---- what it is ------------------------------------------------------------------------------------------


def _failed(need: Need, reader: Reader, named: bool) -> Said:
    said = words.check(need.values["outcome"], reader)
    lines = [finding_words(note) for note in said.beyond[:1]]
    if need.values["more"]:
        lines.append(_and_more([_(title) for title in need.values["more"]]))
    return f"{said.label}: {said.said}", tuple(lines)


def _wait(need: Need, reader: Reader, named: bool) -> Said:
    expected = need.values["expected"]
    lines = [_("Expected %s.") % reader.day(expected) if expected else _("Nobody has said when.")]
    lines += _others(need, lambda one: one["what"])
    return need.values["what"].rstrip(". "), tuple(lines)


def _delivery(need: Need, reader: Reader, named: bool) -> Said:
    return need.values["what"], tuple(_others(need, lambda one: one["what"]))


def _short(need: Need, reader: Reader, named: bool) -> Said:
    return _("Came short or broken: %s") % need.values["what"], tuple(_others(need, lambda one: one["what"]))


def _kept(need: Need, reader: Reader, named: bool) -> Said:
    def said(one: Mapping[str, Any]) -> str:
        if one["of"] == "panel":
            return _("Panel %(letter)s: %(what)s") % {
                "letter": one["letter"], "what": str(phrases.PANEL_ACTS[one["act"]]).lower()}
        return words.stage(one["stage"] if one["of"] == "stage" else Check.HOLD_POINT)
    lines = [_("Recorded by %s, not advanced.") % need.values["by"], *_others(need, said)]
    return _("Done on site: %s") % said(need.values).lower(), tuple(lines)


def _countersignature(need: Need, reader: Reader, named: bool) -> Said:
    known = {"stage": words.stage(need.values["stage"]).lower(), "by": need.values["by"]}
    return _("Passed over to %(stage)s by %(by)s") % known, (need.values["reason"],)


def _unfit(need: Need, reader: Reader, named: bool) -> Said:
    given = need.values
    days = reader.day(given["start"])
    days += f" – {reader.day(given['end'])}" if given["end"] != given["start"] else ""
    lines = [objection_words(one, reader, named) for one in given["objections"]]
    if given["more"]:
        lines.append(_and_more([words.stage(stage) for stage in given["more"]]))
    return f"{words.stage(given['stage'])}, {given['crew']}, {days}", words.unique(lines)


def _unassigned(need: Need, reader: Reader, named: bool) -> Said:
    given = need.values
    known = {"stage": words.stage(given["stage"]).lower(), "hours": hours(given["minutes"])}
    what = (_("Ready and nobody's: %(stage)s, %(hours)s hours") if given["minutes"] else
            _("Ready and nobody's: %(stage)s")) % known
    had = _("%(crew)s had it until %(day)s; it is not done.") % {
        "crew": given["had_it"], "day": reader.day(given["until"])} if given["until"] else ""
    return what, tuple(filter(None, [had]))


def _promise(need: Need, reader: Reader, named: bool) -> Said:
    given = need.values
    says = str(phrases.PROMISES[given["why"]]) % {"ends": reader.day(given["ends"]), "tag": need.opening.tag}
    lines = [says]
    if need.count > 1:
        more = need.count - 1
        lines.append(ngettext("And %d more opening of the job.", "And %d more openings of the job.", more) % more)
    return _("Promised %s") % reader.day(given["promised"]), tuple(lines)


def _item(need: Need, reader: Reader, named: bool) -> Said:
    def said(one: Mapping[str, Any]) -> str:
        return f"{one['number']}. {one['what']}"
    return said(need.values), tuple(_others(need, said))


def _aside(need: Need, reader: Reader, named: bool) -> Said:
    kept = [_("Kept: %s.") % need.values["where_kept"]] if need.values["where_kept"] else []
    return _("Must go back: %s") % need.values["what"], tuple(kept + _others(need, lambda one: one["what"]))


def _callback(need: Need, reader: Reader, named: bool) -> Said:
    def said(one: Mapping[str, Any]) -> str:
        return f"{one['number']}: {one['what']}"
    return said(need.values), tuple(_others(need, said))


def _corrected(need: Need, reader: Reader, named: bool) -> Said:
    return _("The builder says that it is put right"), (need.values["what"], *_others(need, lambda one: one["what"]))


def _others(need: Need, said: Callable[[Mapping[str, Any]], str]) -> list[str]:
    found = [said(one) for one in need.values.get("others", ())]
    return [_and_more(found)] if found else []


def _and_more(found: list[str]) -> str:
    """The next by name, the others by number."""
    if len(found) == 1:
        return _("Also: %s.") % found[0].rstrip(". ")
    return _("Also: %(first)s, and %(more)d more.") % {"first": found[0].rstrip(". "), "more": len(found) - 1}


WHAT: dict[str, Callable[[Need, Reader, bool], Said]] = {
    needs.FAILED: _failed, needs.WAIT: _wait, needs.DELIVERY: _delivery, needs.SHORT: _short,
    needs.KEPT: _kept,
    needs.COUNTERSIGN: _countersignature, needs.UNFIT: _unfit, needs.UNASSIGNED: _unassigned,
    needs.PROMISE: _promise, needs.ITEM: _item, needs.ASIDE: _aside, needs.CALLBACK: _callback,
    needs.CORRECTED: _corrected,
}


# ---- who owes it -----------------------------------------------------------------------------------------


def owes(need: Need, reader: Reader, named: bool) -> str:
    if need.kind == needs.FAILED:
        return _failed_owes(need, reader, named)
    if need.kind == needs.WAIT:
        return _capital(words.owes(need.values, named))
    if need.kind in (needs.DELIVERY, needs.SHORT):
        return (need.values["supplier"] if named else "") or _("The supplier")
    if need.kind == needs.ITEM:
        return ", ".join(words.unique(one["owner"] for one in (need.values, *need.values.get("others", ()))))
    if need.kind in (needs.ASIDE, needs.CORRECTED, needs.KEPT) and need.crew:
        return need.crew
    return _("Customer service") if need.kind == needs.CALLBACK else _("Our office")


def _failed_owes(need: Need, reader: Reader, named: bool) -> str:
    who = _capital(words.owes(need.values, named))
    if not need.asked:
        return _("%s, not asked yet") % who
    day = need.values["expected"]
    return _("%(who)s, expected %(day)s") % {"who": who, "day": reader.day(day)} if day else _("%s, asked") % who


def _capital(said: str) -> str:
    return said[:1].upper() + said[1:]


# ---- why it stands where it does -------------------------------------------------------------------------


def why(need: Need) -> str:
    at = need.level
    if at is Level.STANDING:
        return _standing(need)
    if need.kind == needs.FAILED and at is Level.OVER_A_GATE:
        return _("It guards %s: nobody passes it over.") % str(phrases.GUARDS[need.guards]).lower()
    if need.kind == needs.PROMISE:
        return _promised(-need.days)
    if at is Level.LATE:
        return str(phrases.NEEDS_WHY[need.kind]) % {"days": _days(need.days)} if need.kind in phrases.NEEDS_WHY else (
            _days_past(need.days))
    if at is Level.WILL_NOT_FIT:
        return ngettext("It begins in %d day.", "It begins in %d days.", -need.days) % -need.days
    said = str(phrases.NEEDS_WHY.get(need.kind, phrases.NEED_LEVELS[at]))
    return said % {"days": _days(need.days)}


def _standing(need: Need) -> str:
    if need.urgent:
        return _("A door that cannot be secured, or broken glass.")
    crew = need.values.get("crew") or need.crew
    return (_("%s is there today.") if need.crew_in == 0 else _("%s comes tomorrow.")) % crew


def _days(count: int) -> str:
    if not count:
        return _("since today")
    return ngettext("%d day", "%d days", count) % count


def _days_past(count: int) -> str:
    return ngettext("%d day past its day.", "%d days past its day.", count) % count


def _promised(left: int) -> str:
    if left < 0:
        return _days_past(-left)
    return ngettext("%d day left.", "%d days left.", left) % left if left else _("The promised day is today.")


# ---- the one act that deals with it ----------------------------------------------------------------------


def deals_with(need: Need) -> tuple[str, str]:
    """What it is called, and where it is done."""
    if need.kind == needs.FAILED:
        return _failed_act(need)
    if need.kind in PAGES:
        page, key = PAGES[need.kind](need)
        return str(phrases.NEEDS_ACT[need.kind]), reverse(page, args=[key])
    section = SECTIONS[need.kind]
    return str(phrases.NEEDS_ACT[need.kind]), f"{reverse('opening', args=[need.opening.pk])}#{section}"


PAGES: dict[str, Callable[[Need], tuple[str, int]]] = {
    needs.PROMISE: lambda need: ("job", need.opening.job_id),
    needs.UNFIT: lambda need: ("assign", need.opening.pk), needs.UNASSIGNED: lambda need: ("assign", need.opening.pk),
    needs.SHORT: lambda need: ("delivery-new", need.opening.job_id),
    needs.DELIVERY: lambda need: ("delivery", int(need.key)), needs.CALLBACK: lambda need: ("callback", int(need.key)),
}
SECTIONS = {
    needs.WAIT: "waits", needs.KEPT: "kept", needs.COUNTERSIGN: "stages", needs.ITEM: "items", needs.ASIDE: "parts",
    needs.CORRECTED: "builder",
}


def _failed_act(need: Need) -> tuple[str, str]:
    """Asked for already, it is read again; before that, whoever owes it is to be asked, at the gate."""
    sheet = sheet_for(need.values["judged_by"], need.values["occasion"])
    place = need.values["outcome"]["place"]
    if need.asked and sheet:
        url = reverse("readings", args=[need.opening.pk, sheet])
        return _("Read it again"), url + (f"?{urlencode({'place': place})}" if place else "")
    section = "pocket" if need.values["at_pocket"] else "gate"
    return _("Ask for it, or read again"), f"{reverse('opening', args=[need.opening.pk])}#{section}"

