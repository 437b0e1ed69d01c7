"""Codes into sentences: verdicts, gates, reasons, remedies, as one tradesperson would say them to another."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases
from dashboard.measures import Reader, hours
from dashboard.written import WHOLE, date, decimal
from inspections.calc import floor
from jobs.calc.lengths import MM, from_mm
from jobs.models import Wait

_MILLIMETRES = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?(?:e\+[0-9]+)?) mm\b")
# What a library says of a field, and what we say.
_TOO_LONG = re.compile(
    r"Ensure this (?:field|value) has (?:no more than|at most) (\d+) characters(?: \(it has \d+\))?\.")
_IN_PLAIN_WORDS = {
    "Enter a valid email address.": "a mail address, such as name@company.example",
    "Enter a valid URL.": "an address, such as https://company.example",
    "This field may not be blank.": "this is needed", "This field cannot be blank.": "this is needed",
    "This field is required.": "this is needed",
}
DIFFERENCES = ("dew_margin",)  # temperatures that are differences


@dataclass(frozen=True, slots=True)
class Note:
    """One thing judged, as a drawing note: what, where, the limit, whose limit, by how much, what to do."""

    quantity: str
    what: str
    value: str
    where: str
    limit: str
    source: str
    by: str
    remedy: str
    within: bool | None

    @property
    def mark(self) -> str:
        return {True: _("within"), False: _("beyond"), None: _("no limit")}[self.within]


@dataclass(frozen=True, slots=True)
class Said:
    """A verdict in words."""

    result: str
    headline: str
    notes: tuple[Note, ...]
    missing: tuple[str, ...]
    second_look: tuple[str, ...]
    caution: str

    @property
    def stops(self) -> bool:
        return self.result != "pass"

    @property
    def beyond(self) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.within is False)


def stage(name: str) -> str:
    return str(phrases.STAGES.get(name, name))


def place(name: str) -> str:
    """`lock jamb`, `panel B`; `head outside` for a joint."""
    if len(name) <= 2 and name.isupper():
        return _("panel %s") % name
    return " ".join(str(phrases.PLACES.get(part, part)) for part in name.split(" "))


def limit(name: str) -> str:
    """What a limit of a check is called."""
    return str(phrases.CHECK_LIMITS.get(name) or phrases.QUANTITIES[name])


def kind(name: str, occasion: str = "") -> str:
    said = str(phrases.KINDS.get(name, name))
    return f"{said}, {phrases.OCCASIONS[occasion]}" if occasion in phrases.OCCASIONS else said


# ---- verdicts --------------------------------------------------------------------------------------------


def verdict(shown: Mapping[str, Any], reader: Reader) -> Said:
    return Said(
        shown["result"], str(phrases.RESULTS.get(shown["result"], shown["result"])),
        tuple(note(f, reader) for f in shown["findings"]),
        unique(missing(m, reader) for m in shown.get("missing") or ()),
        unique(second_look(s, reader) for s in shown.get("second_look") or ()),
        caution(shown.get("caution")))


def caution(code: str | None) -> str:
    return "" if not code else str(phrases.CAUTIONS.get(code, phrases.GLASS_CAUTION))


def sheet_cautions(key: str) -> tuple[str, ...]:
    """What somebody who reads this sheet's readings is told beforehand."""
    return tuple(str(said) for said in phrases.SHEET_CAUTIONS[key])


def plan_cautions(acts: Iterable[str]) -> tuple[str, ...]:
    """What somebody who grinds or fills is told."""
    said = {"grind": phrases.CAUTIONS[floor.GRINDING], "fill": phrases.CAUTIONS[floor.FILLING]}
    done = set(acts)
    return tuple(str(said[act]) for act in ("grind", "fill") if act in done)


def note(finding: Mapping[str, Any], reader: Reader) -> Note:
    unit = next((key.removeprefix("value_") for key in finding if key.startswith("value_")), "mm")
    value, limit = (finding.get(f"{part}_{unit}") for part in ("value", "limit"))
    least = finding.get("limit_is") == "least"
    quantity = finding["quantity"]
    return Note(
        quantity, quantity_words(quantity), _value(quantity, value, limit, unit, finding["within"], reader),
        where(finding.get("where") or {}, reader), _limit(quantity, limit, unit, least, reader),
        source(finding.get("source", "")), _by(finding, unit, least, reader),
        remedy(finding.get("remedy"), reader), finding["within"])


def days_to_go(days: int) -> str:
    """To a promised day; less than nothing: it is past."""
    if days < 0:
        return ngettext("%d day late", "%d days late", -days) % -days
    return ngettext("%d day left", "%d days left", days) % days if days else _("today")


def finding(said: Note) -> str:
    """One thing judged, as sentences: what, where, the limit, whose limit, what to do."""
    first = f"{said.what}: {said.value}" + (f", {said.where}" if said.where else "")
    first += f"; {said.limit}." if said.limit else "."
    by = f"{said.by}." if said.by else ""
    return " ".join(part for part in (first, by, said.source, said.remedy) if part)


def quantity_words(code: str) -> str:
    if code in phrases.QUANTITIES:
        return str(phrases.QUANTITIES[code])
    for base in ("member_plumb", "member_bow", "member_twist"):
        if code.startswith(f"{base}_"):
            return f"{place(code.removeprefix(f'{base}_')).capitalize()}: {str(phrases.QUANTITIES[base]).lower()}"
    return code.replace("_", " ").capitalize()


def amount(quantity: str, value: str | None, unit: str, reader: Reader) -> str:
    if value is None:
        return ""
    if unit == "mm":
        return reader.printed(value)
    if unit == "c":
        return reader.warmer(value) if quantity in DIFFERENCES else reader.temperature(value)
    if unit == "n":
        return reader.force(value)
    if unit == "kg":
        return reader.weight(value)
    if unit == "m2":
        return reader.area(value)
    suffix = {"pct": " %", "deg": "°", "days": _(" days")}.get(unit, "")
    return f"{decimal(_short(value))}{suffix}"


def _short(value: str) -> str:
    return value.rstrip("0").rstrip(".") if "." in value else value


def _value(quantity: str, value: str | None, limit: str | None, unit: str, within: bool | None,
           reader: Reader) -> str:
    if unit == "flag":
        return _("yes") if within else _("no")
    if value is None:
        return _("not known")
    if unit == "mm" and within is False and limit is not None:
        return reader.beyond(from_mm(value), from_mm(limit))
    said = amount(quantity, value, unit, reader)
    if within is False and limit is not None and said == amount(quantity, limit, unit, reader):
        return (_("just over %s") if float(value) > float(limit) else _("just under %s")) % said
    return said


def _limit(quantity: str, limit: str | None, unit: str, least: bool, reader: Reader) -> str:
    if unit == "flag":
        return ""
    if limit is None:
        return _("no limit set")
    return (_("at least %s") if least else _("at most %s")) % amount(quantity, limit, unit, reader)


def _by(finding: Mapping[str, Any], unit: str, least: bool, reader: Reader) -> str:
    """By how much: short or over where it fails, in hand where it does not."""
    value, limit, margin = (finding.get(f"{part}_{unit}") for part in ("value", "limit", "margin"))
    within = finding["within"]
    if margin is None or within is None:
        return ""
    if unit == "mm":
        by = _apart(value, limit, margin, reader)
    elif unit == "c":
        by = reader.warmer(margin.lstrip("-"))
    else:
        by = amount(finding["quantity"], margin.lstrip("-"), unit, reader)
    if within:
        return _("%s in hand") % by
    return (_("%s short") if least else _("%s over")) % by


def _apart(value: str | None, limit: str | None, margin: str, reader: Reader) -> str:
    """What lies between the two that are said before it, where the margin is that."""
    if value is not None and limit is not None and abs(from_mm(value) - from_mm(limit)) == abs(from_mm(margin)):
        return reader.between(from_mm(value), from_mm(limit))
    return reader.difference(abs(from_mm(margin)))


def source(text: str) -> str:
    if text in phrases.SOURCES:
        return str(phrases.SOURCES[text])
    return f"{text[:1].upper()}{text[1:]}." if text and not text.endswith(".") else text


def where(at: Mapping[str, Any], reader: Reader) -> str:
    """Where it was: `between 12' 0" and 13' 0", outer line`."""
    return ", ".join(part for part in _where(at, reader) if part)


def _where(at: Mapping[str, Any], reader: Reader) -> Iterable[str]:
    def spot(name: str) -> str:
        return reader.place(from_mm(at[name]))

    if at.get("from_mm") is not None and at.get("to_mm") is not None:
        yield _("between %(a)s and %(b)s") % {"a": spot("from_mm"), "b": spot("to_mm")}
    if at.get("low_at_mm") is not None and at.get("high_at_mm") is not None:
        yield _("lowest at %(at)s%(line)s") % {"at": spot("low_at_mm"), "line": _on(at.get("low_line"))}
        yield _("highest at %(at)s%(line)s") % {"at": spot("high_at_mm"), "line": _on(at.get("high_line"))}
    elif at.get("high_line"):
        yield _("%s high") % place(at["high_line"])
    if at.get("least_at_mm") is not None and at.get("most_at_mm") is not None:
        yield _("least at %(a)s, most at %(b)s") % {"a": spot("least_at_mm"), "b": spot("most_at_mm")}
    if at.get("at_mm") is not None:
        yield _("at %s") % spot("at_mm")
    if isinstance(at.get("at"), str) and at["at"]:
        yield reader.moment(at["at"]) if "T" in at["at"] else _("at the %s") % place(at["at"])
    yield from (place(at[name]) for name in ("line", "member") if at.get(name))
    if at.get("place"):
        yield place(f"{at['place']} {at.get('side') or ''}".strip())
    yield from _panel_where(at)
    yield from _unit_where(at, reader)
    if at.get("top_leans"):
        yield _("top leans %s") % place(at["top_leans"])
    if at.get("wide_at"):
        yield _("wider at the %s") % place(at["wide_at"])
    if at.get("head_slid"):
        yield _("head slid %s") % place(at["head_slid"])
    if at.get("wider_at"):
        yield _("wider at the %s") % place(at["wider_at"])


def _on(line: str | None) -> str:
    return f", {place(line)}" if line else ""


def _panel_where(at: Mapping[str, Any]) -> Iterable[str]:
    if at.get("of") == "train":
        yield place("train")
    if at.get("panel"):
        yield _("panel %s") % at["panel"]
    if at.get("roller"):
        yield _("roller %s") % at["roller"]
    if at.get("way"):
        yield place(at["way"])


def _unit_where(at: Mapping[str, Any], reader: Reader) -> Iterable[str]:
    """Of a unit: which panels, which lap, what a pocket needs and what there is."""
    letters = at.get("panels")
    if letters:
        yield (_("panel %s") if len(letters) == 1 else _("panels %s")) % ", ".join(letters)
    if at.get("joint"):
        yield str(phrases.LAPS.get(at["joint"], at["joint"]))
    if at.get("needed_mm") is not None:
        yield str(phrases.SIDES.get(at.get("side", ""), ""))
        yield _("needs %(needed)s, has %(there)s") % {
            "needed": reader.needed(from_mm(at["needed_mm"])), "there": reader.size(from_mm(at["there_mm"]))}
    if at.get("by") in phrases.HANDLED_BY:
        yield str(phrases.HANDLED_BY[at["by"]])


def remedy(sent: Mapping[str, Any] | None, reader: Reader) -> str:
    if not sent:
        return ""
    template = phrases.REMEDIES.get(sent["code"])
    if template is None:
        return sent["code"].replace("_", " ").capitalize() + "."
    known = sent.get("values") or {}
    said = _higher_or_lower(known, reader) if sent["code"] == "change_the_height" else values(known, reader)
    also = (str(more) % said for name, more in phrases.NEAREST.items() if known.get(name))
    return " ".join([str(template) % said, *also])


def _higher_or_lower(known: Mapping[str, Any], reader: Reader) -> Mapping[str, str]:
    by = str(known.get("by_mm", "0"))
    return {"by": reader.printed(by.lstrip("-")), "way": _("lower") if by.startswith("-") else _("higher")}


def missing(sent: Mapping[str, Any], reader: Reader) -> str:
    template = phrases.MISSING.get(sent["what"])
    if sent["what"] == "gap" and not sent.get("where"):  # the one before the last panel, of which there is one
        template = _("Measure the gap.")
    if sent["what"] == "part":
        return part_lacking(sent, reader)
    if template is None:
        return quantity_words(sent["what"]) + "."
    return str(template) % values(sent, reader)


def part_lacking(sent: Mapping[str, Any], reader: Reader) -> str:
    """`Track cover: 2 missing, of these 1 damaged, expected Tue 4 Mar.`"""
    said = _("%(name)s: %(count)d missing") % {"name": sent["name"], "count": sent["count"]}
    if sent.get("damaged"):
        said += _(", of these %d damaged") % sent["damaged"]
    return said + _expected(sent, reader) + "."


def _expected(sent: Mapping[str, Any], reader: Reader) -> str:
    if sent.get("expected_day"):
        return _(", expected %s") % reader.day(sent["expected_day"])
    return "" if sent.get("delivery") else _(", on no delivery")


def second_look(sent: Mapping[str, Any], reader: Reader) -> str:
    """By what is odd; of a unit, by why it is."""
    template = phrases.SECOND_LOOKS.get(sent.get("why", "")) or phrases.SECOND_LOOKS.get(sent["what"])
    if template is None:
        return quantity_words(sent["what"]) + "."
    return str(template) % values(sent, reader)


def unit_field(name: str) -> str:
    return str(phrases.UNIT_FIELDS.get(name, quantity_words(name).lower()))


def right(text: str, reader: Reader) -> str:
    """What would be right, lengths in it as this person reads them; examples of what may be typed stay as they are."""
    text = _TOO_LONG.sub(r"at most \1 characters;", text).rstrip(";")
    for said, ours in _IN_PLAIN_WORDS.items():
        text = text.replace(said, ours)
    if "such as" in text:
        return _(text)
    return _MILLIMETRES.sub(lambda found: reader.length(round(Fraction(found[1]) * MM)), _(text))


PLACED = ("at_mm", "from_mm", "to_mm", "low_at_mm", "high_at_mm")  # places along a member, not sizes


def values(sent: Mapping[str, Any], reader: Reader) -> Mapping[str, str]:
    """The values of a code in words; one that a sentence needs and nobody sent is left out of it, not an error."""
    said: dict[str, str] = defaultdict(str)
    for name, value in sent.items():
        if value is None:
            continue
        if name == "rollers":
            said[name] = "; ".join(roller_move(one, reader) for one in value)
        elif name.endswith("_kg") and isinstance(value, str):
            said[name.removesuffix("_kg")] = reader.weight(value)
        elif isinstance(value, list):
            said[name.removesuffix("_mm")] = ", ".join(_one_value(name, one, reader) for one in value)
        else:
            said.setdefault(name.removesuffix("_mm"), _one_value(name, value, reader))
    if "what" in sent:
        said["thing"] = unit_field(sent["what"])
    if "of" in sent:
        said["of"] = _("The train") if sent["of"] == "train" else _("Panel %s") % sent.get("panel", "")
    return said


def _one_value(name: str, value: Any, reader: Reader) -> str:
    if name.endswith("_mm") and isinstance(value, str):
        nm = from_mm(value)
        return reader.place(nm) if name in PLACED else reader.length(abs(nm) if name == "move_mm" else nm)
    if name == "then_failing":
        return quantity_words(value).lower()
    if name == "state":
        return str(phrases.PANEL_STATES.get(value, value))
    if name == "when":
        return str(phrases.WHEN.get(value, value))
    if name == "due_day":
        return reader.day(value)
    return str(phrases.PLACES.get(value, value)) if isinstance(value, str) else str(value)


def roller_move(move: Mapping[str, Any], reader: Reader) -> str:
    if move["way"] == "leave":
        return _("%s: leave it") % place(move["roller"])
    return _("%(roller)s %(way)s %(turns)s turns (%(by)s)") % {
        "roller": place(move["roller"]), "way": _("up") if move["way"] == "up" else _("down"),
        "turns": move["turns"], "by": reader.length(abs(from_mm(move["move_mm"])))}


def unique(said: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said))


# ---- gates -----------------------------------------------------------------------------------------------


def owes(wait: Mapping[str, Any], named: bool = True) -> str:
    """Who owes it: by name where that may be read, else what they are to the job."""
    name = wait.get("owed_by") if named else ""
    return name or str(phrases.PARTIES.get(wait["owed_by_kind"], wait["owed_by_kind"]))


def wait(kept: Wait, reader: Reader, named: bool = True) -> str:
    """A wait as it is kept, said as a gate says it."""
    return reason({
        "reason": "waiting", "what_for": kept.what_for, "owed_by_kind": kept.owed_by_kind,
        "owed_by": "" if kept.owed_by is None else kept.owed_by.name, "since": kept.taken_at,
        "expected_day": kept.expected_day}, reader, named)


def reason(sent: Mapping[str, Any], reader: Reader, named: bool = True) -> str:
    """One reason why a gate, a panel or a work step says no."""
    if "reason" not in sent:  # a finding, as it was judged
        return finding(note(sent, reader))
    said = REASONS.get(sent["reason"])
    if said is not None:
        return said(sent, reader, named)
    return _plain(sent["reason"])


def _plain(code: str) -> str:
    return code.replace("-", " ").replace("_", " ").capitalize() + "."


def _waiting(sent: Mapping[str, Any], reader: Reader, named: bool) -> str:
    said = _("Waiting on %(who)s: %(what)s") % {"who": owes(sent, named), "what": sent["what_for"].rstrip(". ")}
    if sent.get("since"):
        said += _(", since %s") % reader.day(sent["since"])
    if sent.get("expected_day"):
        said += _(", expected %s") % reader.day(sent["expected_day"])
    return said + "."


def _material_missing(sent: Mapping[str, Any], reader: Reader, named: bool) -> str:
    first, *more = sent["parts"]
    said = _("Material missing: %s") % first
    if more:
        said += _(" and %d more") % len(more)
    return said + _expected(sent, reader) + "."


def _out_of_order(sent: Mapping[str, Any], reader: Reader, named: bool) -> str:
    return _("Panel %(letter)s comes after %(first)s.") % {
        "letter": sent["letter"], "first": ", ".join(sent.get("first") or ())}


def _panel_state(sent: Mapping[str, Any], reader: Reader, named: bool) -> str:
    needs = _(" or ").join(str(phrases.PANEL_STATES[s]) for s in sent.get("needs") or () if s in phrases.PANEL_STATES)
    return _("Panel %(letter)s is %(state)s; for this it must be %(needs)s.") % {
        "letter": sent["letter"], "state": phrases.PANEL_STATES.get(sent["state"], sent["state"]), "needs": needs}


REASONS: dict[str, Any] = {
    "waiting": _waiting,
    "hold-point": lambda s, r, n: _("The pocket is not released to close."),
    "not-next": lambda s, r, n: _("It stands at %(at)s; the next stage is %(next)s.") % {
        "at": stage(s["stage"]).lower(), "next": stage(s["next"]).lower()},
    "already-there": lambda s, r, n: _("It stands at %s already.") % stage(s["stage"]).lower(),
    "frame-not-set": lambda s, r, n: _("The frame is not set."),
    "earlier-stage": lambda s, r, n: _("First: %s.") % stage(s["stage"]).lower(),
    "panel-already": lambda s, r, n: _("Panel %(letter)s is %(done)s already.") % {
        "letter": s["letter"], "done": str(phrases.PANEL_ACTS[s["act"]]).lower()},
    "panel-damaged": lambda s, r, n: _("Panel %s is damaged.") % s["letter"],
    "panel-state": _panel_state,
    "out-of-order": _out_of_order,
    "no-longer-counts": lambda s, r, n: f"{s['title']}: {phrases.OUTCOMES.get(s['result'], s['result'])}.",
    "material-missing": _material_missing,
    "check": lambda s, r, n: check(s, r).sentence,
    "not-ready": lambda s, r, n: _("The work is not ready."),
    "too-few-hands": lambda s, r, n: _("The crew has too few hands for it."),
}


@dataclass(frozen=True, slots=True)
class CheckSaid:
    """One check at the gate, in words."""

    code: str
    title: str
    place: str
    raw_place: str
    result: str
    passes: bool
    said: str
    notes: tuple[Note, ...]
    missing: tuple[str, ...]
    guards: str
    seen: str
    evidence: Mapping[str, Any] | None

    @property
    def label(self) -> str:
        return f"{self.title}, {self.place}" if self.place else self.title

    @property
    def sentence(self) -> str:
        return f"{self.label}: {self.said}."

    @property
    def beyond(self) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.within is not True)

    @property
    def inspection(self) -> str:
        seen = self.evidence
        return str(seen["id"]) if seen and seen["record"] == "inspections" else ""


def check(sent: Mapping[str, Any], reader: Reader) -> CheckSaid:
    result = sent["result"]
    return CheckSaid(
        sent["code"], _(sent["title"]), place(sent["place"]) if sent["place"] else "", sent["place"], result,
        result == "passes", _outcome(sent, reader), tuple(note(f, reader) for f in sent.get("findings") or ()),
        unique(missing(m, reader) for m in sent.get("missing") or ()),
        str(phrases.GUARDS.get(sent.get("guards") or "", "")), _seen(sent.get("evidence"), reader),
        sent.get("evidence"))


def _outcome(sent: Mapping[str, Any], reader: Reader) -> str:
    said = str(phrases.OUTCOMES.get(sent["result"], sent["result"]))
    if sent["result"] == "ended" and sent.get("ended_by"):
        return f"{said}: {phrases.ENDINGS.get(sent['ended_by'], sent['ended_by'])}, {reader.day(sent['since'])}"
    if sent["result"] == "stale" and sent.get("since"):
        return _("%(said)s since %(day)s: read it again") % {"said": said, "day": reader.day(sent["since"])}
    return said


def _seen(evidence: Mapping[str, Any] | None, reader: Reader) -> str:
    """On what it stands: when, by whom, what they answered."""
    if not evidence:
        return ""
    parts = [reader.moment(evidence["taken_at"]), evidence["by"]]
    if evidence.get("answer"):
        parts.append(str(phrases.ANSWERS.get(evidence["answer"], evidence["answer"])))
    if evidence.get("note"):
        parts.append(evidence["note"])
    return ", ".join(part for part in parts if part)


# ---- what happened ---------------------------------------------------------------------------------------


def happened(what: str, more: Mapping[str, Any], titles: Mapping[str, str]) -> str:
    """A line of the feed."""
    template = phrases.HAPPENED.get(what)
    if template is None:
        return what[:1].upper() + what[1:]
    said: dict[str, str] = defaultdict(str, {name: str(value) for name, value in more.items()})
    for name, words in (("to_stage", stage), ("kind", kind)):
        if name in more:
            said[name] = words(more[name]).lower()
    said["about"] = said["to_stage"] or str(phrases.PANEL_ACTS.get(more.get("panel_act", ""), "")).lower()
    said["event"] = str(phrases.EVENTS.get(more.get("kind", ""), more.get("kind", "")))
    said["result"] = str(phrases.RESULTS.get(more.get("result", ""), "")).lower()
    said["check"] = titles.get(more.get("check", ""), more.get("check", ""))
    said["answer"] = str(phrases.ANSWERS.get(more.get("answer", ""), more.get("answer", "")))
    said["owed_by"] = str(phrases.PARTIES.get(more.get("owed_by", ""), more.get("owed_by", "")))
    said["how"] = str(phrases.SETTLED.get(more.get("how", ""), more.get("how", ""))).lower()
    said["holder"] = str(phrases.HOLDERS.get(more.get("holder", ""), more.get("holder", "")))
    said["hours"] = hours(more["minutes"]) if "minutes" in more else ""
    said["severity"] = str(phrases.SEVERITIES.get(more.get("severity", ""), "")).lower()
    said["whose"] = str(phrases.WHOSE.get(more.get("whose", ""), "")).lower()
    said["stage"] = stage(more["stage"]).lower() if "stage" in more else ""
    first, last, said["day"] = (_day(more.get(name)) for name in ("from_day", "to_day", "day"))
    said["days"] = first if first == last else f"{first} \u2013 {last}"
    # A line that was noted before it said so much: what it lacks is left out.
    return re.sub(r"([:,])(?:\s*[:,])+", r"\1", str(template) % said).strip(" :,")


def _day(text: str | None) -> str:
    return date(dt.date.fromisoformat(text), WHOLE) if text else ""


# ---- what follows from readings --------------------------------------------------------------------------


def follows(shown: Mapping[str, Any], reader: Reader) -> list[tuple[str, str]]:
    """What is computed from the readings, whether they pass or not, as far as somebody on site works with it."""
    computed = shown.get("computed") or {}
    said = [(str(label), _computed(path, _at_path(computed, path), reader)) for path, label in phrases.COMPUTED.items()]
    setting = computed.get("setting") or {}
    said += [(place(m["roller"]).capitalize(), roller_move(m, reader)) for m in setting.get("rollers") or ()]
    return [(label, value) for label, value in said if value]


def _at_path(computed: Any, path: str) -> Any:
    for part in path.split("."):
        computed = computed.get(part) if isinstance(computed, Mapping) else None
    return computed


def _computed(path: str, value: Any, reader: Reader) -> str:
    if value is None:
        return ""
    if path.endswith("_mm_per_m"):
        return reader.slope(value)
    if path.endswith("_mm"):
        return reader.printed(value)
    if path.endswith("_c"):
        return reader.temperature(value)
    if path.endswith("_days"):
        return _("%s days") % _short(str(value))
    if path.endswith("_at"):
        return reader.moment(value)
    return str(phrases.ENDS.get(value, value))
