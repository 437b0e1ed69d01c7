"""A drawing to measure, beside the layout it is made of."""

from __future__ import annotations

from django.template.loader import render_to_string

from dashboard.benching.timing import milliseconds
from dashboard.drawings.plan import Plan, plan
from dashboard.measures import Reader
from units.calc.layout import RIGHT, Door, lay_out
from units.calc.pocket import Surroundings

MM = 1_000_000
DOOR = Door(12_000 * MM, 8, "one-way", RIGHT, meeting_lap=50 * MM, interlock_lap=40 * MM, jamb_engagement=20 * MM)
AROUND = Surroundings(pull=50 * MM, stop=20 * MM, pocket_clearance=10 * MM, track_pitch=65 * MM, covers=30 * MM,
                      panel_thickness=55 * MM)


def one_drawing() -> tuple[float, float]:
    """Milliseconds for the plan of eight panels, from the layout to the SVG; and for its numbers alone."""
    def numbers() -> Plan:
        return plan(lay_out(DOOR), AROUND, Reader())

    def drawing() -> str:
        return render_to_string("dashboard/_plan.html", {"d": numbers(), "key": "k", "title": "t", "desc": "d"})

    return milliseconds(drawing, 21), milliseconds(numbers, 21)
