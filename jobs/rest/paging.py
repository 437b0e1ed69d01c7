"""Pages by key: a page starts after the last row of the one before, so page 1,000 costs what page 1 costs.

A cursor holds the sort keys of the row it stands at. It is not secret and not trusted: its values are read as the
columns' own kinds and used as parameters only.
"""

from __future__ import annotations

import base64
import binascii
import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from django.core.exceptions import FieldDoesNotExist, ValidationError
from django.db import models
from django.db.models import F, Q
from django.http import QueryDict

from jobs.rest.errors import BadQuery

PAGE = 50
MOST = 200


@dataclass(frozen=True, slots=True)
class Key:
    """One column of an ordering."""

    path: str
    down: bool
    field: models.Field

    def ordered(self, back: bool) -> Any:
        down = self.down != back
        if not self.field.null:
            return F(self.path).desc() if down else F(self.path).asc()
        # Rows without a value come last, whichever way: nobody looks for them first.
        sort = F(self.path).desc if down else F(self.path).asc
        return sort(nulls_first=True) if back else sort(nulls_last=True)


@dataclass(frozen=True, slots=True)
class Cut:
    """One page of a list: how it is ordered, where it starts, how many rows."""

    name: str
    keys: tuple[Key, ...]
    size: int
    after: tuple[Any, ...] | None
    back: bool

    def page(self, found: models.QuerySet) -> models.QuerySet:
        """One row more than the page, so that it is known whether there is a next one."""
        if self.after is not None:
            found = found.filter(beyond(self.keys, self.after, self.back))
        return found.order_by(*(key.ordered(self.back) for key in self.keys))[: self.size + 1]


def beyond(keys: Sequence[Key], at: Sequence[Any], back: bool) -> Q:
    """Rows after (or, going back, before) the one whose sort keys are `at`."""
    key, value = keys[0], at[0]
    rest = beyond(keys[1:], at[1:], back) if len(keys) > 1 else None
    further = "lt" if key.down != back else "gt"
    if value is None:
        same = Q(**{f"{key.path}__isnull": True})
        past = Q(**{f"{key.path}__isnull": False}) if back else None
        parts = [p for p in (past, same & rest if rest is not None else None) if p is not None]
        return _any(parts)
    past = Q(**{f"{key.path}__{further}": value})
    nulls = key.field.null and not back
    if nulls:
        past |= Q(**{f"{key.path}__isnull": True})
    if rest is None:
        return past
    whole = past | (Q(**{key.path: value}) & rest)
    # The plain bound in front lets an index be entered at the row.
    return whole if nulls else Q(**{f"{key.path}__{further}e": value}) & whole


def leaves(keys: Sequence[Key], at: Sequence[Any], back: bool) -> list[tuple[Key, Any]]:
    """The values that `beyond` compares with, in the order it names them."""
    key, value = keys[0], at[0]
    rest = leaves(keys[1:], at[1:], back) if len(keys) > 1 else []
    if value is None:
        return rest
    bound = [(key, value)]
    if not rest:
        return bound
    first = [] if key.field.null and not back else bound
    return [*first, *bound, *bound, *rest]


def _any(parts: Sequence[Q]) -> Q:
    whole = Q(pk__in=[]) if not parts else parts[0]
    for part in parts[1:]:
        whole |= part
    return whole


def cut(model: type[models.Model], query: QueryDict, orderings: Mapping[str, Sequence[str]], default: str) -> Cut:
    """Reads `ordering`, `page_size` and `cursor`; refuses what cannot be, saying what could."""
    name = query.get("ordering") or default
    if name.removeprefix("-") not in orderings:
        raise BadQuery("ordering", "one of: " + ", ".join(sorted(orderings)) + "; with - in front for last first")
    keys = _keys(model, name, orderings)
    after, back = _opened(query.get("cursor"), name, keys)
    return Cut(name, keys, _size(query.get("page_size")), after, back)


def _size(sent: str | None) -> int:
    if sent is None:
        return PAGE
    if not (sent.isascii() and sent.isdigit() and 1 <= int(sent[:9]) <= MOST and len(sent) < 9):
        raise BadQuery("page_size", f"a whole number from 1 to {MOST}")
    return int(sent)


def _keys(model: type[models.Model], name: str, orderings: Mapping[str, Sequence[str]]) -> tuple[Key, ...]:
    down = name.startswith("-")
    paths = [*orderings[name.removeprefix("-")]]
    if model._meta.pk.name not in paths and "pk" not in paths:
        paths.append("pk")
    return tuple(Key(path, down, field_at(model, path)) for path in paths)


def field_at(model: type[models.Model], path: str) -> models.Field:
    """The model field at the end of a lookup path."""
    field: Any = None
    for part in path.split("__"):
        field = model._meta.pk if part == "pk" else model._meta.get_field(part)
        if field.is_relation:
            model = field.related_model
    if field is None:
        raise FieldDoesNotExist(path)
    return field


def cursor(name: str, values: Sequence[Any], back: bool) -> str:
    packed = orjson.dumps([name, int(back), *values], default=str)
    return base64.urlsafe_b64encode(packed).rstrip(b"=").decode()


def _opened(sent: str | None, name: str, keys: Sequence[Key]) -> tuple[tuple[Any, ...] | None, bool]:
    if not sent:
        return None, False
    try:
        padded = sent.encode("ascii") + b"=" * (-len(sent) % 4)
        ordering, back, *values = orjson.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
        if len(values) != len(keys) or back not in (0, 1):
            raise ValueError("another cursor")
        after = tuple(_read(key, value) for key, value in zip(keys, values, strict=True))
    except (ValueError, TypeError, OverflowError, binascii.Error, ValidationError) as why:
        raise BadQuery("cursor", "take it from `next` or `previous` of the page before") from why
    if ordering != name:
        raise BadQuery("cursor", f"it belongs to ordering={ordering}; start again without it")
    return after, bool(back)


def _read(key: Key, value: Any) -> Any:
    if isinstance(value, (list, dict)) or (isinstance(value, str) and "\x00" in value):
        raise ValueError("not a sort key")
    if value is None and not key.field.null:
        raise ValueError("this column has a value in every row")
    found = key.field.to_python(value)
    if isinstance(found, dt.datetime):
        if found.tzinfo is None:
            raise ValueError("times in a cursor have their zone")
        found = found.astimezone(dt.UTC)
    return found
