"""What a drawing shows, for who does not see it; and what is next, as far as the drawing knows."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.drawings.elevation import HUNG, Built
from jobs.stages import Stage


def next_words(drawn: Built) -> str:
    """What is next, as far as the drawing knows: which panel, how many items, else the next stage."""
    if drawn.stage == "frame set" and drawn.pocket_closed and drawn.next_panel:
        left = [p.letter for p in drawn.panels if p.state not in HUNG]
        return _("Hang %s") % (_(", then ").join(left[:2]) if len(left) < 3 else
                               _("%(first)s, then %(others)s") % {"first": left[0], "others": ", ".join(left[1:])})
    if drawn.stage == "punch list" and drawn.items:
        count = len(drawn.items)
        return ngettext("%d punch item to put right", "%d punch items to put right", count) % count
    return str(phrases.NEXT[drawn.stage])


def drawing_words(drawn: Built) -> str:
    """What the drawing shows, for who does not see it."""
    hung = sum(p.state in HUNG for p in drawn.panels)
    parts = [words.stage(drawn.stage)]
    if drawn.panels and drawn.reached(Stage.FRAME_SET):
        parts.append(_("%(hung)d of %(all)d panels hung") % {"hung": hung, "all": len(drawn.panels)})
    if drawn.pockets:
        state = _("closed") if drawn.pocket_closed else _("open")
        parts.append(f"{phrases.POCKETS[drawn.pocket_side]}, {state}")
    return "; ".join(parts)
