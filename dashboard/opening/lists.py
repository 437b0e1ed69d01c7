"""Far too many of something on a page that stays small: the first rows, and the one form that is asked for.

A short list is whole, with a form folded in every row. In a longer one each row has the link that asks for its form
(`?open=<its key>`), and the page says how many rows more there are (`?all=1`). A row whose form came back refused, or
is asked for, is there in any case, with that form.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, TypeVar
from urllib.parse import urlencode

from django.http import HttpRequest

from dashboard.forms.acts import ActForm

AT_HAND = 5  # forms of one list that are on the page unasked
SHOWN = 20  # rows of one list at first

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
    all: bool = False  # every row
    open: str = ""  # the key of the form that is asked for
    bound: Collection[str] = ()  # the keys of those that came back

    @classmethod
    def asked(cls, request: HttpRequest, page: str, bound: Collection[str]) -> Lists:
        return cls(page, "all" in request.GET, request.GET.get("open", ""), bound)

    @property
    def is_whole(self) -> bool:
        """Not of a page at all, but of what keeps or prints everything."""
        return not self.page

    @property
    def every_row(self) -> str:
        return f"{self.page}?all=1"

    def first(self, rows: Sequence[Row], *, kinds: Sequence[type[ActForm]] = (),
              is_open: Callable[[Row], bool] = lambda row: True) -> list[Row]:
        """In their order; where that is too many, those that are still open before the others."""
        if self.all or self.is_whole or len(rows) <= SHOWN:
            return list(rows)
        ordered = sorted(rows, key=lambda row: not is_open(row))
        return ordered[:SHOWN] + [row for row in ordered[SHOWN:] if self._is_wanted(row, kinds)]

    def last(self, rows: Sequence[Row]) -> list[Row]:
        """The latest of what is told first to last."""
        return list(rows) if self.all or self.is_whole else list(rows[-SHOWN:])

    def elsewhere(self, kind: type[ActForm], initial: Mapping[str, Any], forms: int) -> Elsewhere | None:
        """Where its form is, unless it is on the page: `forms` would be in the list."""
        key = kind.key_of(initial[kind.target])
        if self.is_whole or forms <= AT_HAND or self._wants(key):
            return None
        asked = {**({"all": 1} if self.all else {}), "open": key}
        return Elsewhere(f"{self.page}?{urlencode(asked)}#{key}-{kind.first_field()}")

    def opens(self, kind: type[ActForm]) -> bool:
        """Whether a form of this kind is asked for."""
        return bool(kind.target) and self.open.startswith(f"{kind.name}-")

    def _wants(self, key: str) -> bool:
        return key == self.open or key in self.bound

    def _is_wanted(self, row: Any, kinds: Sequence[type[ActForm]]) -> bool:
        return any(self._wants(kind.key_of(row.pk)) for kind in kinds)


WHOLE = Lists()
