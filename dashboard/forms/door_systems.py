"""What a door system says, as the office types it: single values, each with where it stands; rows; limits of its own.

Read into what the API takes, and judged by its serializer. What was not touched goes back exactly as it was kept: a
row brings along what it was, since it may hold more than is shown, and finer than a tape.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases, words
from dashboard.forms import kinds
from dashboard.forms.kinds import Kind
from dashboard.forms.sheets import Field
from dashboard.measures import Reader
from jobs.calc.lengths import to_mm
from jobs.calc.verdict import BadInput
from jobs.fields import LengthField
from units.calc.kinds import CALCULATIONS
from units.models import DoorSystem
from units.serializers import RULES, DoorSystemSerializer

EMPTY_ROWS, MOST_ROWS, LONGEST = 2, 210, 2000  # the API takes 200 rows
OF_UNIT = {"mm": kinds.LENGTH, "c_apart": kinds.WARMER, "kg": kinds.PANEL_MASS, "pct": kinds.PERCENT}
AT_ROW = re.compile(r"^[a-z]*\[(\d+)\]\.?([a-z_]*)")
LIMITED = ("panels", "weights", "lifting", "take-off")


@dataclass(frozen=True, slots=True)
class Value:
    name: str
    kind: Kind = kinds.SIZE
    hint: Any = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Values that stand together; `stops`: what is not worked out while one of them is lacking."""

    key: str
    values: tuple[Value, ...]
    stops: Any = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of one list. `names`: the columns that make a row one."""

    name: str
    columns: tuple[Value, ...]
    stops: Any = ""


def _sizes(*names: str) -> tuple[Value, ...]:
    return tuple(Value(name) for name in names)


GROUPS = (
    Group("frame", (*_sizes("lock_jamb", "interlock", "head", "sill"),
                    Value("height_deduction", kinds.OFFSET, gettext_lazy("less than nothing where they run up"))),
          gettext_lazy("No panel sizes without it.")),
    Group("laps", (*_sizes("meeting_lap"), Value("middle_lap", kinds.OFFSET, gettext_lazy("less than nothing: a gap")),
                   *_sizes("interlock_lap", "jamb_engagement"), Value("lead_wider_by", kinds.OFFSET),
                   *_sizes("increment")), gettext_lazy("No panel widths without it.")),
    Group("pocket", (*_sizes("panel_thickness", "track_pitch", "covers", "pull", "stop", "pocket_clearance"),
                     Value("lean_in_angle", kinds.ANGLE, gettext_lazy("from upright"))),
          gettext_lazy("Pocket, wall and tracks are not worked out.")),
    Group("make", (*_sizes("stile_face", "rail_face", "glass_inset"),
                   Value("stile_grams_per_m", kinds.GRAMS_A_METRE, gettext_lazy("such as 4.6 kg/m or 3 lb/ft")),
                   Value("rail_grams_per_m", kinds.GRAMS_A_METRE)), gettext_lazy("No panel weights without it.")),
    Group("rollers", _sizes("roller_preset", "roller_lowest", "roller_highest", "thread_pitch", "roller_from_edge"),
          gettext_lazy("No turns of the rollers without it.")),
    Group("head", _sizes("head_clearance", "head_clearance_least"),
          gettext_lazy("The head under its load is not judged.")),
    Group("pieces", _sizes("longest_piece"), gettext_lazy("Sills and heads are taken to come in one piece.")),
)
NAMED = (Value("name", kinds.TEXT), Value("code", kinds.TEXT, gettext_lazy("small letters, digits, hyphens")),
         Value("edition", kinds.TEXT))
TEMPERED = ("air_least_c", "air_most_c", "surface_least_c", "surface_most_c")
TABLES = (
    Table("hardware", (Value("what", kinds.TEXT), Value("kg", kinds.KILOGRAMS, gettext_lazy("kilograms each")),
                       Value("count", kinds.COUNT)), gettext_lazy("No panel weights without it.")),
    Table("glasses", (Value("name", kinds.TEXT), Value("layers", kinds.GLASS, gettext_lazy(
        "from outside in: pane 6 mm + space 16 mm + laminate 4 mm / 4 mm with 0.76 mm"))),
          gettext_lazy("No panel weights without it.")),
    Table("joints", (Value("place", kinds.TEXT), Value("side", kinds.TEXT), Value("rule", kinds.RULE),
                     Value("width", kinds.WIDTH, gettext_lazy("or: gap, as wide as is left")),
                     Value("depth", kinds.LENGTH), Value("leg", kinds.LENGTH, gettext_lazy("of a fillet")),
                     Value("product", kinds.TEXT), Value("movement.expansion_per_c", kinds.NUMBER),
                     Value("movement.range_c", kinds.WARMER),
                     Value("movement.length", kinds.LENGTH), Value("movement.tolerance", kinds.LENGTH),
                     Value("movement.source", kinds.TEXT)),
          gettext_lazy("No sealant is taken off, and no joint asked for.")),
    Table("products", (Value("name", kinds.TEXT), *(Value(name, kinds.DEGREES) for name in TEMPERED),
                       *(Value(name, kinds.PERCENT) for name in ("humidity_least_pct", "humidity_most_pct")),
                       Value("skin_minutes", kinds.NUMBER), Value("cure_mm_per_sqrt_day", kinds.NUMBER),
                       Value("bead_depth", kinds.LENGTH),
                       Value("water_test_after_days", kinds.NUMBER), Value("load_after_days", kinds.NUMBER),
                       Value("cartridge_ml", kinds.MILLILITRES), Value("waste_pct", kinds.PERCENT),
                       Value("movement_pct", kinds.PERCENT, gettext_lazy("of the joint's width")),
                       Value("source", kinds.TEXT)),
          gettext_lazy("No cartridges are counted, and no sealing conditions judged.")),
    Table("fasteners", (Value("member", kinds.TEXT), Value("spacing_most", kinds.LENGTH),
                        Value("edge_least", kinds.LENGTH), Value("fastener", kinds.TEXT)),
          gettext_lazy("No anchors are counted.")),
)
STOPS = {**{value.name: group.stops for group in GROUPS for value in group.values},
         **{table.name: table.stops for table in TABLES}}
CHOICES = {"rule": [("", "–"), *((rule, phrases.JOINT_RULES[rule]) for rule in RULES)]}
AT_PLACE = {"joints": 2, "fasteners": 1}  # of rows that are named by a place: how many columns say which
LENGTHS = frozenset(f.name for f in DoorSystem._meta.concrete_fields if isinstance(f, LengthField))


def label(name: str) -> str:
    return str(phrases.SYSTEM_FIELDS.get(name) or words.unit_field(name).capitalize())


def limit_words(name: str) -> str:
    return str(phrases.SYSTEM_FIELDS.get(name) or words.quantity_words(name))


@dataclass(frozen=True, slots=True)
class Asked:
    """A value's field, and the one that says where it stands."""

    value: Field
    where: Field | None = None


@dataclass(frozen=True, slots=True)
class Row:
    title: str
    was: Field
    fields: tuple[Field, ...]
    at_fault: bool
    says: tuple[tuple[str, str], ...] = ()  # besides its title: what is entered, and what it is called


@dataclass
class SystemForm:
    """`base`: what it starts from. `typed`: what was sent; None: nothing yet."""

    base: DoorSystem
    reader: Reader
    typed: Mapping[str, str] | None = None
    errors: dict[str, str] = field(default_factory=dict)

    # ---- what stands in the fields ----------------------------------------------------------------------

    def text(self, name: str, shown: str = "") -> str:
        if self.typed is None:
            return shown
        return self.typed.get(name, "").replace("\x00", "").replace("\r\n", "\n")[:LONGEST]

    def shown(self, value: Value) -> str:
        kept = getattr(self.base, value.name)
        return "" if kept is None else value.kind.shown(kept, self.reader)

    def field(self, name: str, said: str, shown: str, hint: Any = "",
              choices: Sequence[tuple[str, str]] = ()) -> Field:
        text = self.text(name, shown)
        offered = [*choices, *([(text, text)] if choices and text not in dict(choices) else [])]
        unsaid = "" if str(hint) in said else str(hint)  # a label that says "per cent" needs no note that says it again
        return Field(name, said, text, unsaid, self.errors.get(name, ""), tuple(offered))

    def where(self, name: str) -> Field:
        return self.field(f"where.{name}", _("Where it stands"), str(self.base.sources.get(name, "")))

    def asked(self, value: Value) -> Asked:
        return Asked(self.field(value.name, label(value.name), self.shown(value), value.hint), self.where(value.name))

    @property
    def named(self) -> list[Field]:
        materials = [(code, str(said)) for code, said in DoorSystem.MATERIALS]
        return [*(self.field(v.name, label(v.name), self.shown(v), v.hint) for v in NAMED),
                self.field("material", label("material"), self.base.material, choices=materials)]

    @property
    def groups(self) -> list[tuple[str, str, list[Asked]]]:
        return [(group.key, str(phrases.SYSTEM_GROUPS[group.key]), [self.asked(value) for value in group.values])
                for group in GROUPS]

    @property
    def steps(self) -> Asked:
        return Asked(self.field("finishing_steps", label("finishing_steps"), "\n".join(self.base.finishing_steps),
                                _("one a line")), self.where("finishing_steps"))

    @property
    def pan_test(self) -> Asked:
        shown = "yes" if self.base.pan_test_allowed else "no"
        return Asked(self.field("pan_test_allowed", label("pan_test_allowed"), shown,
                                choices=[("yes", _("yes")), ("no", _("no"))]), self.where("pan_test_allowed"))

    @property
    def tables(self) -> list[tuple[str, str, Field, list[Row]]]:
        return [(table.name, label(table.name), self.where(table.name), [self._row(table, n) for n in range(
            self._height(table))]) for table in TABLES]

    def _height(self, table: Table) -> int:
        if self.typed is None:
            return len(getattr(self.base, table.name)) + EMPTY_ROWS
        numbers = [int(found[1]) for name in self.typed if (found := re.fullmatch(
            rf"{table.name}\.(\d{{1,3}})\.[a-z_.]+", name))]
        return min(max(numbers, default=-1) + 1, MOST_ROWS)

    def _row(self, table: Table, n: int) -> Row:
        kept, fields = self._was(table, n), []
        for column in table.columns:
            name = f"{table.name}.{n}.{column.name}"
            fields.append(self.field(name, label(column.name), self._cell(kept, column), column.hint,
                                     CHOICES.get(column.name, ())))
        naming = AT_PLACE.get(table.name, 1)
        called = words.place if table.name in AT_PLACE else str
        title = ", ".join(called(f.value) for f in fields[:naming] if f.value) or _("one to be added")
        was = Field(f"{table.name}.{n}.was", "", json.dumps(kept) if kept else "")
        says = tuple((f.label, str(dict(f.choices).get(f.value, f.value))) for f in fields[naming:] if f.value)
        return Row(title, was, tuple(fields), any(f.error for f in fields), says)

    def _was(self, table: Table, n: int) -> Mapping[str, Any]:
        """What this row was kept as, when it was put into the form."""
        if self.typed is None:
            rows = getattr(self.base, table.name)
            return rows[n] if n < len(rows) else {}
        try:
            kept = json.loads(self.typed.get(f"{table.name}.{n}.was") or "{}")
        except (ValueError, RecursionError):
            return {}
        return kept if isinstance(kept, dict) else {}

    def _cell(self, kept: Mapping[str, Any], column: Value) -> str:
        value = _inside(kept, column.name)
        try:
            return "" if value is None else column.kind.shown(value, self.reader)
        except (TypeError, KeyError, ValueError, AttributeError, ArithmeticError):
            return ""  # not a row of ours, or not as one is kept

    @property
    def limits(self) -> list[tuple[str, str, list[Asked]]]:
        return [(name, str(phrases.SYSTEM_LIMITS[name]), [
            self._limit(name, limit) for limit in CALCULATIONS[name].limits]) for name in LIMITED]

    def _limit(self, of: str, name: str) -> Asked:
        value, source = self._own_limit(of, name)
        at = f"limits.{of}.{name}"
        return Asked(self.field(at, limit_words(name), value, _units(CALCULATIONS[of].limits[name], name)),
                     self.field(f"{at}.source", _("Where it stands"), source))

    def _own_limit(self, of: str, name: str) -> tuple[str, str]:
        kept = self.base.limits.get(of, {}).get(name)
        value, source = (kept.get("value"), kept.get("source") or "") if isinstance(kept, Mapping) else (kept, "")
        return "" if value is None else _kind(of, name).shown(value, self.reader), str(source)

    # ---- what was typed ---------------------------------------------------------------------------------

    @cached_property
    def _rows_read(self) -> dict[str, list[tuple[int, dict[str, Any]]]]:
        """Of each table the rows that hold something, with the number each has in the form."""
        return {table.name: [(n, row) for n in range(self._height(table)) if (row := self._read_row(table, n))]
                for table in TABLES}

    def values(self) -> dict[str, Any] | None:
        """As the service takes it; None where something cannot be right, which `errors` says at its field."""
        sent: dict[str, Any] = {value.name: self.text(value.name).strip() for value in NAMED}
        sent |= {"material": self.text("material"), "pan_test_allowed": self.text("pan_test_allowed") != "no"}
        for group in GROUPS:
            sent |= {f"{v.name}_mm" if v.name in LENGTHS else v.name: self._read(v) for v in group.values}
        sent |= {name: [row for _n, row in rows] for name, rows in self._rows_read.items()}
        sent |= {"finishing_steps": self._steps_read(), "limits": self._limits_read(), "sources": self._sources_read()}
        return self._judged(sent)

    def _read(self, value: Value) -> Any:
        text, kept = self.text(value.name).strip(), getattr(self.base, value.name)
        if text == self.shown(value):
            return kept if kept is None or value.name not in LENGTHS else f"{to_mm(kept)} mm"
        return self._typed(value.name, text, value.kind) if text else None

    def _typed(self, name: str, text: str, kind: Kind) -> Any:
        try:
            return kind.read(text, name, self.reader)
        except BadInput as why:
            self.errors[name] = words.right(why.right, self.reader)
            return None

    def _read_row(self, table: Table, n: int) -> dict[str, Any]:
        """Nothing where every field was emptied: the row goes."""
        typed = {c.name: self.text(f"{table.name}.{n}.{c.name}").strip() for c in table.columns}
        if not any(typed.values()):
            return {}
        first = table.columns[0].name
        if not typed[first]:
            self.errors[f"{table.name}.{n}.{first}"] = _("this is needed")
        kept = self._was(table, n)
        row = json.loads(json.dumps(kept))
        for column in table.columns:
            text = typed[column.name]
            if text != self._cell(kept, column):
                _put(row, column.name, self._typed(f"{table.name}.{n}.{column.name}", text, column.kind)
                     if text else None)
        return row

    def _steps_read(self) -> list[str]:
        return [line.strip() for line in self.text("finishing_steps").split("\n") if line.strip()]

    def _limits_read(self) -> dict[str, Any]:
        own: dict[str, Any] = {}
        for of in LIMITED:
            read = {name: self._limit_read(of, name) for name in CALCULATIONS[of].limits}
            own[of] = {name: limit for name, limit in read.items() if limit is not None}
        return {**{of: kept for of, kept in self.base.limits.items() if of not in LIMITED},
                **{of: limits for of, limits in own.items() if limits}}

    def _limit_read(self, of: str, name: str) -> Any:
        at, kept = f"limits.{of}.{name}", self.base.limits.get(of, {}).get(name)
        typed = self.text(at).strip(), self.text(f"{at}.source").strip()
        shown = self._own_limit(of, name)
        if typed == shown:
            return kept
        if not typed[0]:
            return None
        value = kept["value"] if typed[0] == shown[0] and isinstance(kept, Mapping) else self._typed(
            at, typed[0], _kind(of, name))
        return {"value": value, "source": typed[1]}

    def _sources_read(self) -> dict[str, Any]:
        names = [*(v.name for g in GROUPS for v in g.values), *(t.name for t in TABLES), "finishing_steps",
                 "pan_test_allowed"]
        typed = {name: self.text(f"where.{name}").strip() for name in names}
        for name, text in typed.items():
            if len(text) > 200:
                self.errors[f"where.{name}"] = _("at most 200 characters")
        return {**{name: kept for name, kept in self.base.sources.items() if name not in names},
                **{name: text for name, text in typed.items() if text}}

    def _judged(self, sent: dict[str, Any]) -> dict[str, Any] | None:
        read = DoorSystemSerializer(data=sent)
        if not read.is_valid():
            for name, why in read.errors.items():
                for one in why if isinstance(why, list) else [why]:
                    self._take(name, str(one))
        return None if self.errors else dict(read.validated_data)

    def _take(self, name: str, text: str) -> None:
        name = name.removesuffix("_mm")
        found = AT_ROW.match(text)
        if name in self._rows_read and found:
            row = self._rows_read[name][int(found[1])][0]
            columns = next(t for t in TABLES if t.name == name).columns
            column = found[2] if found[2] in {c.name for c in columns} else columns[-1 if name == "glasses" else 0].name
            name, text = f"{name}.{row}.{column}", text.partition(": ")[2] or text
        elif name in self._rows_read:
            row = self._rows_read[name][-1][0] if self._rows_read[name] else 0
            name = f"{name}.{row}.{next(t for t in TABLES if t.name == name).columns[0].name}"
        elif name == "limits":
            found_at = next((f"limits.{of}.{limit}" for of in LIMITED for limit in CALCULATIONS[of].limits
                             if text.startswith(f"limits.{limit}: ") and self.text(f"limits.{of}.{limit}")), None)
            name, text = (name, text) if found_at is None else (found_at, text.partition(": ")[2])
        self.errors.setdefault(name, _(text) if name.endswith(".layers") else words.right(text, self.reader))

    def refused(self, fields: Mapping[str, str]) -> None:
        """What the service said, at its field or at the first of its rows."""
        for name, right in fields.items():
            table = next((t for t in TABLES if t.name == name), None)
            self.errors.setdefault(name if table is None else f"{name}.0.{table.columns[0].name}", _(right))

    @property
    def fresh_fields(self) -> Iterator[tuple[str, Field]]:
        """Every field with where one finds it, for what two people wrote at once."""
        yield from ((f.label, f) for f in (*self.named, self.steps.value, self.pan_test.value))
        for _key, title, asked in (*self.groups, *self.limits):
            for one in asked:
                yield from ((f"{title}: {one.value.label}", f if f is one.value else one.where)
                            for f in (one.value, one.where))
        for _name, title, where, rows in self.tables:
            yield f"{title}: {where.label}", where
            for n, row in enumerate(rows, start=1):
                yield from ((f"{title} {n}: {f.label}", f) for f in row.fields)


def differences(theirs: Any, mine: Any) -> list[str]:
    """What stands now and what was typed here, field by field."""
    there = {f.name: f.value for _said, f in theirs.fresh_fields}
    own = {f.name: (said, f.value) for said, f in mine.fresh_fields}
    both = [(said, there.get(name, ""), typed) for name, (said, typed) in own.items()]
    both += [(said, f.value, "") for said, f in theirs.fresh_fields if f.name not in own]
    return [_("%(field)s: now “%(theirs)s”, typed here “%(mine)s”.") % {
        "field": said, "theirs": now, "mine": typed} for said, now, typed in both if now.strip() != typed.strip()]


def _kind(of: str, name: str) -> Kind:
    return OF_UNIT.get(CALCULATIONS[of].limits[name], kinds.NUMBER)


def _units(unit: str, name: str) -> str:
    if name.endswith("_m2"):
        return _("square metres")
    return {"kg": _("kilograms, or such as 700 lb"), "pct": _("per cent")}.get(unit, "")


def _inside(row: Mapping[str, Any], name: str) -> Any:
    first, _dot, second = name.partition(".")
    value = row.get(first)
    return value if not second else value.get(second) if isinstance(value, Mapping) else None


def _put(row: dict[str, Any], name: str, value: Any) -> None:
    first, _dot, second = name.partition(".")
    if second:
        inner = dict(row.get(first) or {})
        _put(inner, second, value)
        name, value = first, inner or None
    row.pop(name, None)
    if value is not None:
        row[name] = value
