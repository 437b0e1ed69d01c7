"""What the company decides once for everybody: its clock, its holidays, how often it reminds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jobs.acts import Act, carry_out
from jobs.models import OfficeSettings
from jobs.services import office
from jobs.services.access import require

MAY = "keep office records"


def change_settings(act: Act, values: Mapping[str, Any], *, version: int) -> OfficeSettings:
    """The one row is made by whoever changes it first; until then the defaults hold, as version 1."""
    with carry_out(act):
        require(act, MAY)
        kept, _ = OfficeSettings.objects.get_or_create(pk=1, defaults={"created_at": act.now})
        return office.change(act, kept, values, version=version, record="office-settings")
