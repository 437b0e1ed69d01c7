"""The one field that knows a length is whole nanometres."""

from __future__ import annotations

from typing import Any

from django.db import models

from jobs.calc.lengths import Length


class LengthField(models.BigIntegerField):
    """A `Length`, kept as whole nanometres in a 64-bit column."""

    description = "A length in whole nanometres"

    def from_db_value(self, value: int | None, expression: Any, connection: Any) -> Length | None:
        return None if value is None else Length(value)

    def to_python(self, value: Any) -> Length | None:
        value = super().to_python(value)
        return None if value is None else Length(value)

    def get_prep_value(self, value: Any) -> int | None:
        return None if value is None else int(value)


def not_negative(*names: str, on: str) -> list[models.CheckConstraint]:
    """A check constraint a column: a size is never negative. `on` is the table's short name."""
    return [
        models.CheckConstraint(condition=models.Q(**{f"{name}__gte": 0}) | models.Q(**{name: None}),
                               name=f"{on}_{name}_not_negative")
        for name in names
    ]
