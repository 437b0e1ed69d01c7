"""Every sum about the unit, by name. A new one is one more entry here, its description in inputs.py."""

from __future__ import annotations

from jobs.calc import route
from jobs.calc.kind import Calculation
from units.calc import lifting, panels, takeoff, weights

CALCULATIONS: dict[str, Calculation] = {
    module.NAME: Calculation(module.NAME, module.LIMITS, module.judge)
    for module in (panels, weights, lifting, route, takeoff)
}
