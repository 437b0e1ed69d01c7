"""Far too many of something on a page that stays small: the first rows, and the one form that is asked for.

A short list is whole, with a form folded in every row. In a longer one each row has the link that asks for its form
(`?open=<its key>`), and the page says how many rows more there are (`?all=1`; of what is longer still the next are at
`?all=2`). A row whose form came back refused, or is asked for, is there in any case, with that form.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, TypeVar
from urllib.parse import urlencode

from django.http import HttpRequest

from dashboard.forms.acts import ActForm

AT_HAND = 5  # forms of one list that are on the page unasked
SHOWN = 20  # rows of one list at first
AT_ONCE = 200  # and at most, where all are asked for: what is written down for years has no end

Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A form that is not on the page, and the link that asks for it."""

    url: str
    is_elsewhere: ClassVar[bool] = True


@dataclass(frozen=True)
class Lists:
    """What one page shows of its long lists."""

    page: str = ""  # its address
    all: int = 0  # where every row is asked for, which part of those that are longer than `AT_ONCE`
    open: str = ""  # the key of the form that is asked for
    bound: Collection[str] = ()  # the keys of those that came back

    @classmethod
    def asked(cls, request: HttpRequest, page: str, bound: Collection[str]) -> Lists:
        return cls(page, part_asked(request), request.GET.get("open", ""), bound)

    @property
    def is_whole(self) -> bool:
        """Not of a page at all, but of what keeps or prints everything."""
        return not self.page

    @property
    def every_row(self) -> str:
        """The next of them, where some are there already."""
        return f"{self.page}?all={self.all + 1}"

    @property
    def before(self) -> str:
        """Those that come before the ones that are there."""
        return f"{self.page}?all={self.all - 1}" if self.all > 1 else ""

    def first(self, rows: Sequence[Row], *, kinds: Sequence[type[ActForm]] = (),
              is_open: Callable[[Row], bool] = lambda row: True) -> list[Row]:
        """In their order; where that is too many, those that are still open before the others."""
        if self.is_whole or len(rows) <= (AT_ONCE if self.all else SHOWN):
            return list(rows)
        ordered = list(rows) if self.all else sorted(rows, key=lambda row: not is_open(row))
        part = self.part(len(rows), SHOWN)
        return ordered[part] + [row for row in (*ordered[:part.start], *ordered[part.stop:])
                                if self._is_wanted(row, kinds)]

    def last(self, rows: Sequence[Row]) -> list[Row]:
        """The latest of what is told first to last."""
        if self.is_whole:
            return list(rows)
        part = self.part(len(rows), SHOWN)
        return list(rows[max(len(rows) - part.stop, 0):len(rows) - part.start])

    def part(self, count: int, shown: int) -> slice:
        """Which of so many rows are shown, with `shown` of them at first."""
        if not self.all:
            return slice(0, shown)
        start = min(self.all - 1, max(count - 1, 0) // AT_ONCE) * AT_ONCE
        return slice(start, start + AT_ONCE)

    def more(self, count: int, shown: int) -> int:
        """How many of so many rows one sees more of, of which `shown` are there."""
        if self.is_whole:
            return 0
        return min(max(count - self.all * AT_ONCE, 0), AT_ONCE) if self.all else max(min(count, AT_ONCE) - shown, 0)

    def elsewhere(self, kind: type[ActForm], initial: Mapping[str, Any], forms: int) -> Elsewhere | None:
        """Where its form is, unless it is on the page: `forms` would be in the list."""
        key = kind.key_of(initial[kind.target])
        if self.is_whole or forms <= AT_HAND or self._wants(key):
            return None
        asked = {**({"all": self.all} if self.all else {}), "open": key}
        return Elsewhere(f"{self.page}?{urlencode(asked)}#{key}-{kind.first_field()}")

    def opens(self, kind: type[ActForm]) -> bool:
        """Whether a form of this kind is asked for."""
        return bool(kind.target) and self.open.startswith(f"{kind.name}-")

    def _wants(self, key: str) -> bool:
        return key == self.open or key in self.bound

    def _is_wanted(self, row: Any, kinds: Sequence[type[ActForm]]) -> bool:
        return any(self._wants(kind.key_of(row.pk)) for kind in kinds)


def part_asked(request: HttpRequest) -> int:
    """0: all are not asked for."""
    sent = request.GET.get("all")
    return 0 if sent is None else max(int(sent), 1) if re.fullmatch("[0-9]{1,6}", sent) else 1


WHOLE = Lists()
