"""Whether the panels get in, on the page on which their hanging is given: with each of our carts, before the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard.measures import Reader
from dashboard.opening.brought_in import on_cart_words, stops_words
from jobs.calc.brought_in import BY_HAND, OnCart
from jobs.models import Equipment, Opening, WorkStep
from jobs.services.way_in import on_carts

MOST_CARTS = 12


@dataclass(frozen=True, slots=True)
class WayIn:
    """Of carts on which it is all the same. `in_doubt`: at least one panel stops, or nobody can tell yet."""

    said: str
    in_doubt: bool = False


def ways_in(opening: Opening, steps: Iterable[WorkStep], gear: Sequence[Equipment], reader: Reader) -> list[WayIn]:
    """Of the panels still to bring in, where hanging them is among these steps."""
    step = next((one for one in steps if one.to_bring_in), None)
    if step is None:
        return []
    if not opening.job.way_in:
        return [WayIn(_("The way in of this job is not entered yet, leg by leg: whether the panels get in, nobody can "
                        "tell."), in_doubt=True)]
    carts = on_carts(step, opening.job, gear)
    if BY_HAND in carts:
        return [*_by_hand(carts[BY_HAND]), WayIn(_("No cart of ours is entered: whether the panels get in on one, "
                                                   "nobody can tell."), in_doubt=True)]
    alike: dict[tuple[str, bool], list[str]] = {}
    for name, way in list(carts.items())[:MOST_CARTS]:
        said = (on_cart_words(way, reader), bool(way.stops or way.in_doubt))
        alike.setdefault(said, []).append(name)
    return [*(WayIn(f"{', '.join(names)}: {said}", in_doubt) for (said, in_doubt), names in alike.items()),
            *_more(len(carts) - MOST_CARTS)]


def _by_hand(way: OnCart) -> Iterator[WayIn]:
    """What stops them off a cart stops them on any."""
    if way.stops:
        yield WayIn(f"{_('By hand')}: {stops_words(stop.as_dict() for stop in way.stops)}", in_doubt=True)


def _more(count: int) -> Iterator[WayIn]:
    if count > 0:
        yield WayIn(ngettext("%d more cart is not shown.", "%d more carts are not shown.", count) % count)
