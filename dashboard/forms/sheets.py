"""The sheets on which readings are entered, one for each kind of check: what is asked, and in which field it stands.

A field is named as the calculation names it (`widths.top`); lines of stations stand in one table, a row a station. So
what a calculation says of `stations[3].at` is told at the very field, also where rows were left blank.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import words
from dashboard.measures import Reader
from inspections.services.datums import system_of, unit_of
from inspections.services.earlier import head_as_set
from inspections.services.facts import members_of, pockets_of
from jobs.calc.lengths import FOOT, MM
from jobs.models import Opening
from units.models import Panel

FEWEST_ROWS, MOST_ROWS, MORE = 5, 200, 6
FORECAST_ROWS = 9
CLOCK = re.compile(r"([01]?\d|2[0-3])(?:[:.]([0-5]\d))?", re.ASCII)
NUMBER = re.compile(r"\s*[-+\u2212]?[0-9]+(\.[0-9]+)?\s*$")


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to be typed or chosen."""

    name: str
    label: str
    value: str = ""
    hint: str = ""
    error: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def id(self) -> str:
        return "f-" + re.sub(r"[^a-z0-9]+", "-", self.name.lower()).strip("-")


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    note: str = ""
    fields: tuple[Field, ...] = ()
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[Field, ...], ...] = ()
    more: str = ""  # the table that takes more rows
    heads: tuple[str, ...] = ()  # what each row of a table is, where that is not a place that is typed

    @property
    def lines(self) -> list[tuple[str, tuple[Field, ...]]]:
        """The rows with what each is."""
        return list(zip(self.heads or [""] * len(self.rows), self.rows, strict=True))

    @property
    def all_fields(self) -> tuple[Field, ...]:
        return (*self.fields, *(f for row in self.rows for f in row))


@dataclass(frozen=True, slots=True)
class Line:
    """A column of a table of stations, and where its readings go in what is judged."""

    column: str
    label: Any
    goes_to: str


@dataclass
class Filling:
    """One sheet being filled in: what was typed, what is wrong with it, what stands in it to begin with."""

    opening: Opening
    panels: Sequence[Panel]
    reader: Reader
    typed: Mapping[str, str] | None = None
    errors: Mapping[str, str] = field(default_factory=dict)
    place: str = ""
    now: dt.datetime | None = None

    def value(self, name: str, default: str = "") -> str:
        return default if self.typed is None else self.typed.get(name, "")

    def one(self, name: str, label: Any, default: str = "", hint: Any = "",
            choices: Iterable[tuple[str, Any]] = ()) -> Field:
        return Field(name, str(label), self.value(name, default), str(hint), self.errors.get(name, ""),
                     tuple((value, str(said)) for value, said in choices))

    def grid(self, title: Any, columns: Sequence[tuple[str, Any]], rows: Sequence[tuple[str, Any]],
             note: Any = "", stands: Mapping[str, str] | None = None) -> Group:
        """The same things read of several: a row a thing, a column each. `stands`: what is in a row to begin with."""
        fields = tuple(tuple(self.one(f"{of}.{what}", f"{said_of}: {str(said).lower()}", (stands or {}).get(what, ""))
                             for of, said_of in columns) for what, said in rows)
        return Group(str(title), str(note), (), ("", *(str(said) for _of, said in columns)), fields,
                     heads=tuple(str(said) for _what, said in rows))

    # ---- tables of stations -----------------------------------------------------------------------------

    def rows_of(self, table: str, to_begin_with: int) -> int:
        if self.typed is None:
            return to_begin_with
        rows = [int(m[1]) for name in self.typed if (m := re.fullmatch(rf"{table}\[(\d{{1,4}})\]\.\w+", name))]
        shown = min(max(rows, default=to_begin_with - 1) + 1, MOST_ROWS)
        return min(shown + MORE, MOST_ROWS) if self.typed.get("more") == table else shown

    def table(self, table: str, title: Any, lines: Sequence[Line], note: Any = "",
              stands: Mapping[str, Mapping[str, str]] | None = None) -> Group:
        """A row a station. `stands`: what is known of a station already, by its place and column."""
        places = list(stands or self.places())
        count = self.rows_of(table, max(len(places), FEWEST_ROWS))
        rows = []
        for n in range(count):
            place = places[n] if n < len(places) else ""
            known = (stands or {}).get(place, {})
            at = self.one(f"{table}[{n}].at", _("At, station %d") % (n + 1), place)
            rows.append((at, *(self.one(f"{table}[{n}].{line.column}", _("%(line)s, station %(n)d") % {
                "line": line.label, "n": n + 1}, known.get(line.column, "")) for line in lines)))
        return Group(str(title), str(note), (), (_("At"), *(str(line.label) for line in lines)), tuple(rows), table)

    def places(self) -> list[str]:
        """A station each foot (30 cm) along the sill, both ends of it too, where its length is known."""
        length = getattr(unit_of(self.opening), "sill_length", None) or self.opening.rough_width
        if not length:
            return []
        step = FOOT if self.reader.in_inches else 300 * MM
        at = [*range(0, length, step), length]
        if len(at) > 2 and at[-1] - at[-2] < step // 4:  # two stations a hand apart tell nothing
            del at[-2]
        return [self.reader.along(nm) for nm in at[:MOST_ROWS]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """`tables`: each table of stations with its lines. `finish` turns what was typed into what is judged."""

    key: str
    kind: str
    title: Any
    groups: Callable[[Filling], list[Group]]
    occasion: str = ""
    places: tuple[str, ...] = ()  # where it is read: it says at which
    each_panel: bool = False
    each_pocket: bool = False
    tables: Mapping[str, tuple[Line, ...]] = field(default_factory=dict)
    finish: Callable[[dict[str, Any], Filling], dict[str, Any]] = lambda given, filling: given
    note: Any = ""


def where_read(sheet: Sheet, filling: Filling) -> list[tuple[str, str]]:
    """Where this sheet is read at this opening, with what each is called; nowhere named, once for all of it."""
    if sheet.each_panel:
        return [(p.letter, _("Panel %s") % p.letter) for p in filling.panels]
    places = (pockets_of(filling.opening) if sheet.each_pocket
              else members_of(sheet.places, filling.opening))
    return [(name, words.place(name).capitalize()) for name in places]


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed, as it is judged; `field_of` leads from a calculation's field back to the one on the sheet."""

    given: dict[str, Any]
    field_of: Mapping[str, str]
    filling: Filling

    def field(self, name: str) -> str:
        """The field on the sheet that a calculation speaks of."""
        within = re.match(r"(watch\.readings|panels|rollers|forecast)\[(\d+)\](?:\.gaps)?", name)
        if within is not None:
            name = self._listed(within[1], int(within[2])) + name[within.end():]
        return self.field_of.get(name, name)

    def _listed(self, list_name: str, n: int) -> str:
        """Lists are put together from what was typed, so that their numbers are not those of the sheet."""
        if list_name == "watch.readings":
            return self.given["watch"]["readings"][n]["when"]
        if list_name == "panels":
            letters = [p.letter for p in self.filling.panels]
            return f"panels[{letters.index(self.given['panels'][n]['panel'])}]"
        if list_name == "forecast":
            return f"forecast[{_hours_given(self.filling)[n]}]"
        return f"rollers[{int(self.given['rollers'][n]['roller']) - 1}]"


def read(sheet: Sheet, filling: Filling) -> Typed:
    """What was typed on this sheet; what stands in no field of it is not looked at."""
    typed = filling.typed or {}
    offered = {f.name for group in sheet.groups(filling) for f in group.all_fields}
    given: dict[str, Any] = {"unit": filling.reader.units}
    field_of: dict[str, str] = {}
    _put(given, {name: value.strip() for name, value in typed.items() if name in offered and value.strip()})
    touched = _touched(sheet, filling)
    for table, lines in sheet.tables.items():
        for line in lines:
            _put_line(given, table, line, touched, field_of)
    return Typed(sheet.finish(given, filling), field_of, filling)


def _touched(sheet: Sheet, filling: Filling) -> Mapping[str, str]:
    """What was typed, without the rows of a table that stand as they were handed out: at those nothing was read."""
    stood = {f.name: f.value.strip() for group in sheet.groups(replace(filling, typed=None))
             for row in group.rows for f in row}
    rows: dict[str, bool] = {}
    for name, value in (filling.typed or {}).items():
        row = name.rpartition(".")[0]
        rows[row] = rows.get(row, False) or value.strip() != stood.get(name, "")
    return {name: value for name, value in (filling.typed or {}).items() if rows[name.rpartition(".")[0]]}


def is_blank(sheet: Sheet, filling: Filling) -> bool:
    """Whether nothing was read: nothing stands in it but choices, places, and what stood there to begin with."""
    def typed(at: Filling) -> dict[str, str]:
        return {f.name: f.value.strip() for group in sheet.groups(at) for f in group.all_fields
                if f.value.strip() and not f.choices and not f.name.endswith("].at")}
    return typed(filling).items() <= typed(replace(filling, typed=None)).items()


def _put(given: dict[str, Any], plain: Mapping[str, str]) -> None:
    for name, value in plain.items():
        if "[" not in name:
            _nest(given, name, value)


def _nest(under: dict[str, Any], path: str, value: Any) -> None:
    *parents, last = path.split(".")
    for parent in parents:
        under = under.setdefault(parent, {})
    under[last] = value


def _put_line(given: dict[str, Any], table: str, line: Line, typed: Mapping[str, str],
              field_of: dict[str, str]) -> None:
    stations = []
    for row in range(MOST_ROWS):
        at, value = (typed.get(f"{table}[{row}].{c}", "").strip() for c in ("at", line.column))
        if value:
            n = len(stations)
            stations.append({"at": at or None, "reading": value})
            field_of[f"{line.goes_to}[{n}].at"] = field_of[f"{line.goes_to}[{n}]"] = f"{table}[{row}].at"
            field_of[f"{line.goes_to}[{n}].reading"] = f"{table}[{row}].{line.column}"
    if stations:
        _nest(given, line.goes_to, stations)


# ---- what each sheet asks --------------------------------------------------------------------------------

READ_AS = (("height", gettext_lazy("heights, up from a datum")),
           ("down_from_level", gettext_lazy("off a rod under a laser: more is lower")))
SIGNED = gettext_lazy("plus or minus")
OUTER, INNER = gettext_lazy("Outer line"), gettext_lazy("Inner line")
PLUMB = (("edge", gettext_lazy("Along the wall")), ("face", gettext_lazy("Across the wall")),
         ("over", gettext_lazy("Over a height of")))
MEMBER = (*PLUMB[:2], ("bow", gettext_lazy("Bow at the middle")), ("height", gettext_lazy("Over a height of")))
LEANING = gettext_lazy("Along the wall, plus: the top leans right. Across it, plus: the top leans out.")
SILL_LINES = (Line("outer", OUTER, "sill.stations"), Line("inner", INNER, "sill.inner"))
FLOOR_LINES = (Line("outer", OUTER, "stations"), Line("inner", INNER, "inner"))
FRAME_LINES = (*SILL_LINES, Line("head", gettext_lazy("Head"), "head.stations"))
WATCH_LINES = (Line("set", gettext_lazy("As the frame was set"), "frame_set"),
               Line("loaded", gettext_lazy("Under its load"), "weight_on"))


def _floor(f: Filling) -> list[Group]:
    unit = unit_of(f.opening)
    end = None if unit is None or unit.sill_length is None else f.reader.along(unit.sill_length)
    return [
        Group(_("How it was read"), fields=(
            f.one("read_as", _("Readings are"), "height", choices=READ_AS),
            f.one("benchmark_reading", _("Reading on the benchmark"), hint=_("off the same laser; leave out if none")),
            f.one("sill_from", _("Sill starts at"), "0" if end else ""),
            f.one("sill_to", _("Sill ends at"), end or "", hint=_("its run into the pocket too")))),
        f.table("floor", _("Stations"), FLOOR_LINES, _("Along the sill, one after the other. Rows left blank do not "
                                                       "count."))]


def _rough_opening(f: Filling) -> list[Group]:
    taped = (
        ("widths", _("Widths"), (("top", _("Top")), ("middle", _("Middle")), ("bottom", _("Bottom")))),
        ("heights", _("Heights"), (("left", _("Left")), ("middle", _("Middle")), ("right", _("Right")))),
        ("diagonals", _("Diagonals, seen from outside"), (
            ("rising", _("Bottom left to top right")), ("falling", _("Top left to bottom right")))))
    groups = [Group(title, fields=tuple(f.one(f"{group}.{at}", said) for at, said in places))
              for group, title, places in taped]
    groups.append(f.grid(
        _("Jambs, plumb"), (("plumb.left", _("Left")), ("plumb.right", _("Right"))), PLUMB, LEANING,
        {"over": f.reader.typed(f.opening.rough_height)}))
    return groups


def _judged_plumb(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    """A height alone says nothing of a jamb: it stood in the form."""
    plumb = {jamb: read for jamb, read in given.get("plumb", {}).items() if {"edge", "face"} & read.keys()}
    return {**{k: v for k, v in given.items() if k != "plumb"}, **({"plumb": plumb} if plumb else {})}


def _members(f: Filling) -> tuple[str, ...]:
    return ("interlock_left", "interlock_right") if f.opening.pocket_side == "both" else ("lock_jamb", "interlock")


def _frame(f: Filling) -> list[Group]:
    height = f.reader.typed(getattr(unit_of(f.opening), "frame_height", None) or f.opening.rough_height)
    groups = [
        Group(_("How it was read"), fields=(f.one("read_as", _("Readings are"), "height", choices=READ_AS),)),
        f.table("sill", _("Sill and head"), FRAME_LINES, _("The head above the same places; where only one was read, "
                                                           "the other stays blank."))]
    groups.append(f.grid(
        _("Jamb and interlock, plumb"), [(f"members.{m}", words.place(m).capitalize()) for m in _members(f)],
        MEMBER, LEANING, {"height": height}))
    ends = (("left", _("Left")), ("right", _("Right")))
    return [*groups,
            Group(_("Gap at the ends of the sill"), fields=tuple(f.one(f"end_gaps.{e}", said) for e, said in ends)),
            Group(_("Head over sill, by plumb or laser"), _("Plus: the head stands out."),
                  tuple(f.one(f"head_over_sill.{e}", said) for e, said in ends))]


def _judged_frame(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    """Judged is what was read: a sheet with the sill alone does not lack the head."""
    members = {m: read for m, read in given.get("members", {}).items() if {"edge", "face", "bow"} & read.keys()}
    kept = {k: v for k, v in given.items() if k != "members"} | ({"members": members} if members else {})
    parts = [part for part in ("sill", "head", "members", "end_gaps", "head_over_sill") if part in kept]
    return {**kept, **({"parts": parts} if parts else {})}


def _watch(f: Filling) -> list[Group]:
    earlier = head_as_set(f.opening)
    note = _("The same stations, then and now.")
    stands: dict[str, dict[str, str]] = {}
    if earlier is not None:
        inspection, gaps = earlier
        stands = {f.reader.along(at): {"set": f.reader.exactly(gap)} for at, gap in gaps.items()}
        note += " " + _("As it was set stands here from the readings of %s. Where you do not read it again, leave the "
                        "row as it is.") % f.reader.day(inspection.taken_at)
    return [
        f.table("gaps", _("Between sill and head"), WATCH_LINES, note, stands),
        Group(_("What the design leaves"), fields=(
            f.one("watch.panel_clearance", _("Clearance above the panels, as designed"),
                  f.reader.typed(getattr(system_of(f.opening), "head_clearance", None))),
            f.one("watch.planned_raise", _("How far the rollers will be raised")),
            f.one("watch.deflection_allowed", _("Further deflection the engineer allows for")),
            f.one("watch.reading_deviation", _("One reading is good to"), "1/64" if f.reader.in_inches else "0.5")))]


def _judged_watch(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    visits = [{"when": line.goes_to, "gaps": given.pop(line.goes_to)} for line in WATCH_LINES if line.goes_to in given]
    return {**given, "parts": ["watch"], "watch": {**given.get("watch", {}), "readings": visits}}


def _sill_again(f: Filling) -> list[Group]:
    return [Group(_("How it was read"), fields=(f.one("read_as", _("Readings are"), "height", choices=READ_AS),)),
            f.table("sill", _("Sill"), SILL_LINES)]


def _judged_sill(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    return {**given, "parts": ["sill"]}


def _reveal(f: Filling) -> list[Group]:
    at = (("top", _("Top")), ("middle", _("Middle")), ("bottom", _("Bottom")))
    rollers = (("near", _("Roller near that edge")), ("far", _("Roller at the far edge")))
    return [
        f.grid(_("Between panel and jamb"), (("gaps", _("Gap")), ("heights", _("Height above the rollers"))), at),
        Group(_("Rollers as they stand"), _("Stile bottom to sill top. With these the turns are worked out."),
              tuple(f.one(f"rollers.{r}.now", said) for r, said in rollers)),
        Group(_("Lock and head"), fields=(
            f.one("lock_height", _("Height of the lock above the rollers")),
            f.one("head_clearance", _("Clearance above the panel"))))]


def _force(f: Filling) -> list[Group]:
    unit = "lbf" if f.reader.in_inches else "N"
    acts = (("start", _("To start, %s") % unit), ("keep_moving", _("To keep moving, %s") % unit))
    groups = []
    for n, panel in enumerate(f.panels):
        of = f"panels[{n}]"
        ways = ((f"{of}.opening", _("Opening")), (f"{of}.closing", _("Closing")))
        mass = "" if panel.grams is None else f.reader.mass(panel.grams)
        groups.append(replace(f.grid(_("Panel %s") % panel.letter, ways, acts),
                              fields=(f.one(f"{of}.mass", _("Mass"), mass),)))
    ways = (("train.opening", _("Opening")), ("train.closing", _("Closing")))
    return [*groups, f.grid(_("The train"), ways, acts, _("All panels together."))]


def _judged_force(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    """A panel of which nothing but its mass stands there was not read."""
    unit = " lbf" if f.reader.in_inches else ""
    bodies = []
    for n, panel in enumerate(f.panels):
        typed = {"panel": panel.letter}
        for name, value in (f.typed or {}).items():
            if name.startswith(f"panels[{n}].") and value.strip():
                _nest(typed, name.split(".", 1)[1], value.strip())
        if {"opening", "closing"} & typed.keys():
            bodies.append(_with_unit(typed, unit))
    train = given.get("train")
    return {"unit": given["unit"], **({"panels": bodies} if bodies else {}),
            **({"train": _with_unit(train, unit)} if train else {})}


def _with_unit(body: dict[str, Any], unit: str) -> dict[str, Any]:
    return {name: {act: f"{v}{unit}" if NUMBER.match(v) else v for act, v in value.items()}
            if isinstance(value, dict) else value for name, value in body.items()}


def _sealing(f: Filling) -> list[Group]:
    unit = "°F" if f.reader.in_inches else "°C"
    products = getattr(system_of(f.opening), "products", None) or []
    named = [(str(n), str(p.get("name") or n + 1)) for n, p in enumerate(products)]
    dry = (("", "–"), ("yes", _("dry")), ("no", _("not dry")))
    fields = [f.one("air_c", _("Air, %s") % unit), f.one("surface_c", _("Surface, %s") % unit),
              f.one("humidity_pct", _("Humidity, %")), f.one("surface_dry", _("Surface"), choices=dry)]
    if named:
        fields.append(f.one("product", _("Product"), "0", choices=named))
    return [Group(_("At the joint"), fields=tuple(fields)), _forecast(f, unit)]


def _forecast(f: Filling, unit: str) -> Group:
    """Every third hour until this time tomorrow, as forecasts are given; the hours may be typed over."""
    rain = _("Rain, in") if f.reader.in_inches else _("Rain, mm")
    columns = (("air_c", _("Air, %s") % unit), ("humidity_pct", _("Humidity, %")), ("rain_mm", rain))
    first = None if f.now is None else f.now.astimezone(f.reader.zone) + dt.timedelta(hours=1)
    rows = []
    for n in range(f.rows_of("forecast", FORECAST_ROWS)):
        hour = "" if first is None or n >= FORECAST_ROWS else f"{first + n * dt.timedelta(hours=3):%H}:00"
        rows.append((f.one(f"forecast[{n}].at", _("Hour, row %d") % (n + 1), hour), *(
            f.one(f"forecast[{n}].{name}", _("%(what)s, row %(n)d") % {"what": said, "n": n + 1})
            for name, said in columns)))
    return Group(_("The hours after, from a forecast"),
                 _("Until this time tomorrow, so that the night is in it. Hours left blank are not judged."),
                 (), (_("Hour"), *(said for _name, said in columns)), tuple(rows), "forecast")


def _hours_given(f: Filling) -> list[int]:
    """The rows of the forecast in which anything stands but the hour."""
    return [n for n in range(MOST_ROWS) if any((f.typed or {}).get(f"forecast[{n}].{name}", "").strip()
                                               for name in ("air_c", "humidity_pct", "rain_mm"))]


def _coming_hours(f: Filling, units: Mapping[str, str]) -> list[dict[str, str]]:
    """What was typed, each hour as the next time the clock of the job shows it."""
    hours, after = [], (f.now or dt.datetime.now(dt.UTC)).astimezone(f.reader.zone).replace(minute=0, second=0,
                                                                                           microsecond=0)
    for n in _hours_given(f):
        hour = {name: f"{value}{suffix}" if NUMBER.match(value) else value for name, suffix in units.items()
                if (value := (f.typed or {}).get(f"forecast[{n}].{name}", "").strip())}
        at = (f.typed or {}).get(f"forecast[{n}].at", "").strip()
        shown = CLOCK.fullmatch(at)
        if shown is not None:
            time = dt.time(int(shown[1]), int(shown[2] or 0))
            day = after.date() + dt.timedelta(days=time < after.time())
            after = dt.datetime.combine(day, time, tzinfo=after.tzinfo)
            at = after.isoformat()
        hours.append({"at": at, **hour})
    return hours


def _judged_sealing(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    products = getattr(system_of(f.opening), "products", None) or []
    unit = " F" if f.reader.in_inches else ""
    for name in ("air_c", "surface_c"):
        if name in given and NUMBER.match(given[name]):
            given[name] = f"{given[name]}{unit}"
    hours = _coming_hours(f, {"air_c": unit, "humidity_pct": "", "rain_mm": " in" if f.reader.in_inches else ""})
    if hours:
        given["forecast"] = hours
    if "surface_dry" in given:
        given["surface_dry"] = given["surface_dry"] == "yes"
    chosen = given.pop("product", "")
    if chosen.isdigit() and int(chosen) < len(products):
        given["product"] = products[int(chosen)]
    return given


def _pocket(f: Filling) -> list[Group]:
    return [Group(_("The pocket, at its tightest"), fields=(
        f.one("depth", _("Depth along the wall")), f.one("thickness", _("Clear thickness across"))))]


def _fastener(f: Filling) -> list[Group]:
    return [Group(_("Into the pocket wall"), fields=(
        f.one("longest", _("Longest fastener")), f.one("board", _("Board it goes through")),
        f.one("stud", _("Flat stud behind it"))))]


def _benchmark(f: Filling) -> list[Group]:
    return [Group(_("Heights up from one datum"), fields=(
        f.one("benchmark_height", _("Benchmark"), hint=SIGNED),
        f.one("finish_floor_inside", _("Finish floor inside"), hint=SIGNED),
        f.one("finish_floor_outside", _("Finish floor outside"), hint=SIGNED)))]


def _last_gap(f: Filling) -> list[Group]:
    return [Group(_("Between the panel hung before it and the pocket"), fields=(f.one("gap", _("Gap")),))]


def _preset(f: Filling) -> list[Group]:
    return [Group(_("Stile bottom to sill top"), fields=tuple(
        f.one(f"rollers[{n}].reading", said) for n, said in enumerate((_("Roller 1"), _("Roller 2")))))]


def _judged_preset(given: dict[str, Any], f: Filling) -> dict[str, Any]:
    typed = [(n, (f.typed or {}).get(f"rollers[{n}].reading", "").strip()) for n in range(2)]
    return {"unit": given["unit"], "panels": [f.place] if f.place else [], "rollers": [
        {"panel": f.place, "roller": str(n + 1), "reading": value} for n, value in typed if value]}


SHEETS: dict[str, Sheet] = {sheet.key: sheet for sheet in (
    Sheet("rough-opening", "rough-opening", gettext_lazy("Rough opening"), _rough_opening, finish=_judged_plumb),
    Sheet("floor-profile", "floor-profile", gettext_lazy("Floor"), _floor, tables={"floor": FLOOR_LINES}),
    Sheet("pocket", "pocket", gettext_lazy("Pocket"), _pocket, each_pocket=True),
    Sheet("benchmark", "benchmark", gettext_lazy("Benchmark and finish floors"), _benchmark),
    Sheet("frame", "frame", gettext_lazy("Frame, as set"), _frame, "frame-set",
          tables={"sill": FRAME_LINES}, finish=_judged_frame),
    Sheet("fastener", "fastener", gettext_lazy("Longest fastener"), _fastener, each_pocket=True),
    Sheet("head-under-load", "frame", gettext_lazy("Head under its load"), _watch, "under-load",
          tables={"gaps": WATCH_LINES}, finish=_judged_watch),
    Sheet("last-panel-gap", "last-panel-gap", gettext_lazy("Gap for the last panel"), _last_gap),
    Sheet("roller-preset", "roller-preset", gettext_lazy("Rollers at preset"), _preset, each_panel=True,
          finish=_judged_preset),
    Sheet("reveal", "reveal", gettext_lazy("Reveal"), _reveal, places=("lock-jamb", "interlock")),
    Sheet("force", "force", gettext_lazy("Force"), _force, finish=_judged_force),
    Sheet("sill-again", "frame", gettext_lazy("Sill again"), _sill_again, "adjusted", ("stacked", "spread"),
          tables={"sill": SILL_LINES}, finish=_judged_sill),
    Sheet("sealing-conditions", "sealing-conditions", gettext_lazy("Sealing conditions"), _sealing,
          finish=_judged_sealing),
)}
OCCASIONAL = {(s.kind, s.occasion): s.key for s in SHEETS.values() if s.occasion}


def sheet_for(judged_by: str, occasion: str = "") -> str:
    """The sheet on which this check's readings are entered; none for what is not judged from readings."""
    found = OCCASIONAL.get((judged_by, occasion), judged_by)
    return found if found in SHEETS else ""
