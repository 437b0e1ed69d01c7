"""What the scale said of each panel, as it is typed; a bare number is in the reader's own unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.forms.kinds import BARE
from dashboard.forms.sheets import Field
from dashboard.measures import POUND, Reader
from jobs.calc.amounts import carried_mass
from jobs.calc.verdict import BadInput
from units.calc.lifting_sent import MOST_MASS
from units.models import Panel

LONGEST = 40


@dataclass
class Weighing:
    """`typed` None: nothing yet. What stays as it stands is not read again, so that nothing is rounded."""

    panels: Sequence[Panel]
    reader: Reader
    typed: Mapping[str, str] | None = None
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def fields(self) -> list[tuple[Field, Panel]]:
        return [(Field(name, _("Panel %s") % panel.letter, self._text(panel), self._hint(panel),
                       self.errors.get(name, "")), panel) for panel in self.panels for name in [_name(panel)]]

    def _stands(self, panel: Panel) -> str:
        grams = panel.weighed_grams
        if grams is None:
            return ""
        return f"{grams / POUND:.1f} lb" if self.reader.in_inches else f"{grams / 1000:g} kg"

    def _text(self, panel: Panel) -> str:
        stands = self._stands(panel)
        return stands if self.typed is None else self.typed.get(_name(panel), stands).replace("\x00", "")[:LONGEST]

    def _hint(self, panel: Panel) -> str:
        return "" if panel.computed_grams is None else _("computed: %s") % self.reader.weight(
            panel.computed_grams / 1000)

    def said(self) -> dict[int, int | None] | None:
        """Grams of each panel of which something else is typed; None where one cannot be read."""
        said = {panel.pk: self._read(panel) for panel in self.panels
                if self._text(panel).strip() != self._stands(panel)}
        return None if self.errors else said

    def _read(self, panel: Panel) -> int | None:
        text, name = self._text(panel).strip(), _name(panel)
        if not text:
            return None
        bare = f"{text} lb" if self.reader.in_inches and BARE.fullmatch(text) else text
        try:
            return max(round(carried_mass(bare, name, MOST_MASS) * 1000), 1)
        except BadInput as why:
            self.errors[name] = words.right(why.right, self.reader)
            return None


def _name(panel: Panel) -> str:
    return f"weighed-{panel.pk}"
