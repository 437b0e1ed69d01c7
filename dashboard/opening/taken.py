"""What a unit takes, in words: sealant, anchors, shims; what changed when the opening was read; what is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from dashboard.opening.said import joint_words
from inspections.services.taking_off import Both, TakenOff
from units.calc.materials import Materials, add_up, take_off
from units.calc.sealant import SEAL

LONGEST = 120  # letters of a name


@dataclass(frozen=True, slots=True)
class TakenShown:
    by: str
    lines: tuple[str, ...]
    changed: tuple[str, ...]
    lacking: tuple[str, ...]
    beyond: tuple[words.Note, ...] = ()  # such as a joint too narrow to move as it will
    refused: str = ""  # why nothing is taken off

    @classmethod
    def of(cls, both: Both, reader: Reader, *, of_another_size: bool = False) -> TakenShown:
        """`of_another_size`: tried in an opening that grows with it."""
        by = _("with the gaps as they are drawn") if of_another_size else by_words(both)
        return cls(by, tuple(taken_lines(both.counts, reader)),
                   tuple(change_words(line, reader) for line in both.changed()),
                   tuple(left_out_words(both.counts, reader)), _beyond(both.counts, reader),
                   refused_words(both.counts, reader))


def _beyond(one: TakenOff, reader: Reader) -> tuple[words.Note, ...]:
    return () if one.verdict is None else tuple(words.verdict(one.verdict.as_dict(), reader).beyond)


def by_words(both: Both) -> str:
    if both.measured is None:
        return _("off the shop drawing")
    asked = both.measured.asked
    if asked is not None and not asked.stations:
        return _("as the opening was measured, without packing: its floor is not read yet")
    return _("as the opening was measured")


def taken_lines(one: TakenOff, reader: Reader) -> Iterable[str]:
    return () if one.asked is None else material_lines(add_up([take_off(one.asked)]), reader)


def material_lines(needed: Materials, reader: Reader) -> Iterable[str]:
    for one in needed.sealant:
        how_many = _("not known") if one.cartridges is None else str(one.cartridges)
        yield _("%(product)s: cartridges %(count)s") % {"product": one.product[:LONGEST], "count": how_many}
    for fastener, count in needed.anchors.items():
        yield _("%(count)d anchors: %(fastener)s") % {
            "count": count, "fastener": fastener[:LONGEST] or _("as the maker says")}
    for thickness, count in needed.shims.items():
        yield _("%(count)d shims of %(thickness)s") % {"count": count, "thickness": reader.length(thickness)}


def change_words(line: Mapping[str, Any], reader: Reader) -> str:
    of = line.get("product") or line.get("fastener") or ""
    if line["what"] == "shims":
        of = reader.length(line["thickness_mm"])
    names = {"cartridges": _("cartridges of %s"), "anchors": _("anchors %s"), "shims": _("shims of %s")}
    was, now = ("?" if line[key] is None else line[key] for key in ("was", "now"))
    return f"{names[line['what']] % str(of)[:LONGEST]}: {was} → {now}"


def lacking_words(one: TakenOff, reader: Reader) -> Iterable[str]:
    """Why nothing could be taken off, or which joints are left out of it."""
    if one.refused is not None:
        yield refused_words(one, reader)
    yield from left_out_words(one, reader)


def refused_words(one: TakenOff, reader: Reader) -> str:
    why = one.refused
    return "" if why is None else f"{words.unit_field(why.field)}: {words.right(why.right, reader)}"


def left_out_words(one: TakenOff, reader: Reader) -> Iterable[str]:
    for joint in one.left_out:
        yield joint_words(SEAL, joint["place"], joint["side"])[:LONGEST]
    if one.verdict is not None:
        yield from words.unique(words.missing(lack, reader) for lack in one.verdict.as_dict()["missing"])
