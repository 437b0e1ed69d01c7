"""An opening's drawings on paper: of the templates that draw them on a page, with the same words."""

from __future__ import annotations

from collections.abc import Iterable
from html import unescape
from typing import Any

from django.template.loader import render_to_string
from django.utils.html import strip_tags
from django.utils.translation import gettext as _

from dashboard.measures import Reader
from dashboard.opening.drawn import Drawings, DrawnWall
from dashboard.opening.sheet import OpeningSheet
from dashboard.sheets import ink
from jobs.acts import Act
from jobs.models import Opening

LONGEST = 120  # letters of a name that are printed


def drawings_of(opening: Opening, act: Act, reader: Reader) -> Drawings:
    return Drawings(OpeningSheet(act, opening, reader))


def elevation(of: Drawings) -> str:
    return _printed("elevation", {"d": of.sheet.printed_drawing, "title": of.sheet.opening.tag[:LONGEST],
                                  "desc": of.sheet.drawing_words, "lettered": True})


def plan(of: Drawings) -> str | None:
    return None if of.plan is None else _printed("plan", {
        "d": of.plan.wide, "title": _("Plan of the tracks"), "desc": of.plan.desc})


def plan_words(of: Drawings) -> str:
    """What is drawn, how many times over, and what is not known of it."""
    if of.plan is None:
        return " ".join((_("The plan cannot be drawn yet."), *of.plan_lacks))
    times = of.plan.wide.times
    scale = _("Across the wall it is a sketch.") if times is None else _("Across the wall drawn %d times over.") % times
    return f"{of.plan.desc}. {scale} " + _("Filled, the panels closed; dashed, stacked in the pocket.")


def sill(of: Drawings) -> str | None:
    """The slim one: it stands beside the table of its joints, and is read all the same."""
    return None if of.sill is None else _printed("sill", {
        "d": of.sill.slim, "title": _("The sill, cut across"), "desc": of.sill.desc})


def joints(of: Drawings) -> Iterable[list[str]]:
    return ([text[:LONGEST] for text in row] for row in of.joint_rows)


def wall(of: DrawnWall, *, slim: bool) -> str:
    """The slim one where two stand beside each other."""
    return _printed("wall", {"d": of.drawn.slim if slim else of.drawn.wide,
                             "title": _("The wall that hides the panels"), "desc": of.drawn.desc})


def floor(plot: Any) -> dict[str, str] | None:
    """The floor as it was read, and what each of its lines is."""
    if plot is None:
        return None
    page = _page("profile", {"plot": plot, "named": 1})
    return {"drawing": _of_page(page), "said": " ".join(unescape(strip_tags(page.partition("</svg>")[2])).split())}


def _printed(template: str, shown: dict[str, Any]) -> str:
    return _of_page(_page(template, shown))


def _page(template: str, shown: dict[str, Any]) -> str:
    return render_to_string(f"dashboard/_{template}.html", {"key": template, **shown})


def _of_page(page: str) -> str:
    return ink.printed(page.partition("</svg>")[0].lstrip() + "</svg>")
