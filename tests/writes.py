"""Finds, in the syntax tree of a program, every write of one field of one model: by the ORM, by hand, by SQL, by forms.

It looks at what is written, not at what runs: a write it cannot see through (a name worked out at run time, a list of
fields held in a variable) counts as one where the model is in sight.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

MAKERS = ("create", "acreate", "get_or_create", "aget_or_create", "update_or_create", "aupdate_or_create")
SQL_WRITE = r"\b(update|insert\s+(or\s+\w+\s+)?into|replace\s+into|merge\s+into|copy)\s+(only\s+)?[\"`]?"


@dataclass(frozen=True, slots=True)
class Field:
    """`anyones`: whether a write of that name counts whatever it is written on."""

    model: str
    name: str
    table: str
    anyones: bool = True

    def in_sight(self, node: ast.AST) -> bool:
        return re.search(rf"(?<![a-z]){self.model}s?(?![a-z])", _text(node), re.IGNORECASE) is not None


@dataclass(frozen=True, slots=True)
class Write:
    line: int
    how: str


def writes(source: str, field: Field) -> list[Write]:
    found = [Write(node.lineno, how) for node in _nodes(source) for how in _hows(node, field)]
    return sorted(set(found), key=lambda write: write.line)


@cache
def _nodes(source: str) -> tuple[ast.AST, ...]:
    """Read once: each field is looked for in every program."""
    return tuple(ast.walk(ast.parse(source)))


def _hows(node: ast.AST, field: Field) -> Iterator[str]:
    if isinstance(node, ast.Attribute) and _stores(node, field) and (field.anyones or field.in_sight(node.value)):
        yield "assignment"
    if isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Store) and _is_inside_of_an_object(node.value):
        yield "assignment"
    if isinstance(node, ast.Call):
        yield from _calls(node, field)
    if isinstance(node, ast.Constant | ast.JoinedStr) and _writes_by_sql(node, field):
        yield "SQL"
    if isinstance(node, ast.ClassDef):
        yield from _classes(node, field)


def _calls(call: ast.Call, field: Field) -> Iterator[str]:
    name = _called(call)
    mine = field.anyones or field.in_sight(call.func)
    by_name, unseen = _keywords(call, field)
    if name in ("update", "aupdate") and ((mine and by_name) or (unseen and field.in_sight(call.func))):
        yield "update"
    if name in ("bulk_update", "abulk_update", "bulk_create", "abulk_create") and _names_it(call, field, mine):
        yield name
    if name in ("save", "asave", "save_base") and _names_it(call, field, mine):
        yield "save"
    if name in MAKERS and field.in_sight(call.func) and (by_name or unseen or _defaults_name_it(call, field)):
        yield "create"
    if name == field.model and (by_name or unseen):
        yield "create"
    if name in ("setattr", "__setattr__", "attrsetter") and _sets(call, field):
        yield "setattr"
    if name == "register" and any(field.in_sight(argument) for argument in call.args):
        yield "admin"
    if name == "call_command" and any(_constant(argument) == "loaddata" for argument in call.args):
        yield "fixture"


def _classes(node: ast.ClassDef, field: Field) -> Iterator[str]:
    if any(_called(d) == "register" and any(map(field.in_sight, d.args)) for d in node.decorator_list
           if isinstance(d, ast.Call)):
        yield "admin"
    meta = next((inner for inner in node.body if isinstance(inner, ast.ClassDef) and inner.name == "Meta"), None)
    bases = [*node.bases, *(meta.bases if meta else ())]
    models = _assigned(meta.body, "model") if meta else []
    if not any(field.model in _text(base) for base in bases) and not any(map(field.in_sight, models)):
        return
    declared = _assigned(node.body, field.name)
    if any(isinstance(v, ast.Call) and "serializers." in _text(v.func) and not _reads_only(v) for v in declared):
        yield "serializer"
    if meta is not None and any(field.name in _constants(v) for v in _assigned(meta.body, "extra_kwargs")):
        yield "serializer"
    is_form = any("Form" in _text(base) or "Admin" in _text(base) for base in node.bases)
    if is_form and meta is not None and any({field.name, "__all__"} & _constants(v)
                                            for v in _assigned(meta.body, "fields")):
        yield "form"


def _writes_by_sql(node: ast.Constant | ast.JoinedStr, field: Field) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str) and re.search(SQL_WRITE + field.table + r"\b", node.value, re.I) is not None
    text = "".join(str(part.value) if isinstance(part, ast.Constant) else "\0" for part in node.values)
    return re.search(rf"^\s*{SQL_WRITE}\0[\"`]?\s*(set\b|\(|select\b|values\b|from\b)", text, re.I) is not None


def _keywords(call: ast.Call, field: Field) -> tuple[bool, bool]:
    """Whether the call names the field; whether it passes names that cannot be seen."""
    by_name = any(k.arg == field.name or (k.arg is None and field.name in _keys(k.value)) for k in call.keywords)
    return by_name, any(k.arg is None and not isinstance(k.value, ast.Dict) for k in call.keywords)


def _names_it(call: ast.Call, field: Field, mine: bool) -> bool:
    """Whether a list of fields given to this call holds the field, or cannot be seen."""
    given = [k.value for k in call.keywords if k.arg in ("update_fields", "fields")]
    given += call.args[1:2] if _called(call).endswith("bulk_update") else []
    unseen = any(not isinstance(v, ast.List | ast.Tuple | ast.Set | ast.Constant) for v in given)
    return (mine and any(field.name in _constants(v) for v in given)) or (unseen and field.in_sight(call))


def _defaults_name_it(call: ast.Call, field: Field) -> bool:
    given = [k.value for k in call.keywords if k.arg in ("defaults", "create_defaults")]
    return any(field.name in _keys(v) if isinstance(v, ast.Dict) else True for v in given)


def _sets(call: ast.Call, field: Field) -> bool:
    if len(call.args) < 2 or field.name not in [_constant(argument) for argument in call.args]:
        return any(field.in_sight(argument) for argument in call.args) and _constant(call.args[1]) is None
    return field.anyones or field.in_sight(call)


def _stores(node: ast.Attribute, field: Field) -> bool:
    return node.attr == field.name and isinstance(node.ctx, ast.Store | ast.Del)


def _is_inside_of_an_object(node: ast.AST) -> bool:
    return _text(node).endswith(".__dict__") or _text(node).startswith("vars(")


def _reads_only(call: ast.Call) -> bool:
    return any(k.arg == "read_only" and _constant(k.value) is True for k in call.keywords)


def _assigned(body: Iterable[ast.stmt], name: str) -> list[ast.expr]:
    plain = [s.value for s in body if isinstance(s, ast.Assign) and name in map(_text, s.targets)]
    return plain + [s.value for s in body if isinstance(s, ast.AnnAssign) and s.value and _text(s.target) == name]


def _keys(node: ast.AST) -> set[object]:
    return {_constant(key) for key in node.keys if key is not None} if isinstance(node, ast.Dict) else set()


def _constants(node: ast.AST) -> set[object]:
    return {inner.value for inner in ast.walk(node) if isinstance(inner, ast.Constant)}


def _constant(node: ast.AST) -> object:
    return node.value if isinstance(node, ast.Constant) else None


def _called(call: ast.Call) -> str:
    function = call.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _text(node: ast.AST) -> str:
    return ast.unparse(node)
