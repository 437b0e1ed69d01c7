"""What a unit is made of, part by part; how many are still missing; which work they are for.

Pure counting. One piece a part where each has its place (sill, head, jambs, panels), several where they are alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from jobs.stages import NUMBER, Stage
from units.calc.splices import pieces, places

SILL, HEAD, LOCK_JAMB, INTERLOCK, PANEL, COVER, CARTRIDGE, OTHER = KINDS = (
    "sill", "head", "lock-jamb", "interlock", "panel", "cover", "cartridge", "other")
SPLICED = (SILL, HEAD)
COVERS_A_POCKET = 2
# The first work that cannot be done without it; what nobody can place is needed from the start.
NEEDED_FOR: dict[str, Stage] = {**dict.fromkeys(KINDS, Stage.FRAME_SET), PANEL: Stage.PANELS_HUNG,
                                COVER: Stage.PUNCH_LIST}


@dataclass(frozen=True, slots=True)
class Made:
    """What is known of a unit. Lengths in nanometres; `longest`: what the maker makes in one piece."""

    sill: int | None = None
    upright: int | None = None
    longest: int | None = None
    two_way: bool = False
    pockets: int = 1
    covered: bool = False
    panels: tuple[str, ...] = ()
    cartridges: Mapping[str, int] = field(default_factory=dict)  # how many of which sealant


@dataclass(frozen=True, slots=True)
class Listed:
    kind: str
    name: str
    length: int | None = None
    wanted: int = 1
    panel: str = ""  # its letter


def listed(made: Made) -> tuple[Listed, ...]:
    """Every part of it, in the order the work takes them."""
    return tuple(_listed(made))


def _listed(made: Made) -> Iterator[Listed]:
    if made.sill is not None:
        for kind, name in ((SILL, "Sill"), (HEAD, "Head")):
            yield from _in_pieces(kind, name, made.sill, made.longest)
    if made.upright is not None:
        if not made.two_way:
            yield Listed(LOCK_JAMB, "Lock jamb", made.upright)
        if made.pockets:
            yield Listed(INTERLOCK, "Pocket interlock", made.upright, made.pockets)
    yield from (Listed(PANEL, f"Panel {letter}", panel=letter) for letter in made.panels)
    if made.covered and made.pockets:
        yield Listed(COVER, "Track cover", wanted=COVERS_A_POCKET * made.pockets)
    yield from (Listed(CARTRIDGE, name, wanted=count) for name, count in made.cartridges.items() if count > 0)


def _in_pieces(kind: str, name: str, length: int, longest: int | None) -> Iterator[Listed]:
    cut = pieces(length, longest)
    for n, piece in enumerate(cut, start=1):
        yield Listed(kind, name if len(cut) == 1 else f"{name}, piece {n}", piece)


def splices(parts: Iterable[tuple[str, int]]) -> tuple[str, ...]:
    """Where pieces meet, out of (kind, how many): each a joint to be sealed."""
    count = dict.fromkeys(SPLICED, 0)
    for kind, wanted in parts:
        if kind in count:
            count[kind] += wanted
    return tuple(place for kind in SPLICED for place in places(kind, count[kind]))


def missing(wanted: int, whole: int, state: str | None = None, damaged: bool = False) -> int:
    """How many are lacking. A panel that is tracked by itself is here when it says so, and whole until damaged."""
    if state is not None:
        return int(state == "expected" or damaged)
    return max(wanted - whole, 0)


def surplus(wanted: int, whole: int, replaced: int = 0) -> int:
    """How many more came whole than are wanted; one in the place of a broken one is no surplus."""
    return max(whole - wanted - replaced, 0)


def here_after(wanted: int, came: Iterable[tuple[int, int, int]]) -> int:
    """How many are here whole after all that was said, in its order: (whole, short, damaged). Of which only short and
    damaged is said, and of more than was lacking, that much of what was counted whole is not so after all."""
    here = 0
    for whole, short_of, broken in came:
        found = 0 if whole else max(short_of + broken - max(wanted - here, 0), 0)
        here += whole - min(here, found)
    return here


def most_said(missing: int, here: int, whole: int) -> int:
    """Of how many pieces something can be said at once: of those lacking; where none came, of those here too."""
    return missing if whole else missing + here


def short(wanted: int, whole: int, broken: int, looked_through: bool, state: str | None = None) -> int:
    """Of those lacking, how many did not come at all, once somebody looked; before that nobody knows."""
    if not looked_through or state not in (None, "expected"):
        return 0
    return max(wanted - whole - broken, 0)


def holds_up(kind: str, stage: Stage) -> bool:
    """Whether the work that ends in this stage cannot be done without such a part."""
    return NUMBER[stage] >= NUMBER[NEEDED_FOR[kind]]
