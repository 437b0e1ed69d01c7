"""What is wrong with what was entered: said by the sums on the telephone itself (`RIGHT`), or by the office when it did
not take something in (`REFUSED`, `PUT_TOGETHER` with what is filled in, which may be one of `FILLED_IN`). They are said
in English where they are raised; here they are named to be translated, and said in the language that is in force.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from django.utils.translation import get_language, gettext, override
from django.utils.translation import gettext_lazy as _

from dashboard import phrases

RIGHT = (
    _('a bare number is in "in" or in "mm"'),
    _("write millimetres as a plain number, with a point for decimals"),
    _("a length is a finite number of millimetres"),
    _("write a length such as 96 1/2\", 8' 0-1/2\", 2451.1 mm, 245.11 cm or 2.4511 m"),
    _("a comma can mean a decimal point or thousands: leave it out, and write decimals with a point, 2451.1"),
    _("two numbers side by side can be read two ways: write 8' 6\" for feet and inches, 8 1/2\" for a fraction"),
    _("this can be read as a fraction added or taken off: write 96 1/2 or 96-1/2, and a minus only in front"),
    _("this can be read as a part of an inch added or taken off: write 8' 0-1/2\""),
    _("a fraction's top must be less than its bottom: write 1 1/2 or 5 1/2, since 11/2 can be read as either"),
    _("nobody marks an inch in parts like that: check the number under the stroke"),
    _('a fraction can be read two ways where millimetres are expected: write 1/16" or 1.6 mm'),
    _("after feet, write inches with their mark, 8' 6\", where millimetres are expected"),
    _("part feet together with inches can be read two ways: write whole feet, then inches"),
    _("inches after feet must be less than 12"),
    _("longer than a kilometre: check the unit"),
    _('say "in" or "mm", or leave it out for inches'),
    _("a size cannot be negative"),
    _("a length is a number of millimetres or text such as 8' 0-1/2\" or 2451.1 mm"),
    _("write a plain number, with a point for decimals"),
    _("it must lie within -60 °C to 90 °C (-76 °F to 194 °F)"),
    _("write it as 50 F or 10 C"),
    _("nought or more"),
    _("the sill must end beyond where it starts"),
    _("a share of the bead, 0 to 100"),
    _("no tape is without deviation: it is more than 0"),
    _("a size is more than nothing; leave it out where it was not read"),
    _("say over what height the jamb was read"),
    _("no station lies on the sill: check where it starts and ends"),
    _("the rollers stand some way apart"),
    _("it must be more than the rollers can travel"),
    _("it must not lie above highest"),
    _("it must be more than nothing"),
    _("degrees between surface and dew point, 0 or more"),
    _("each hour must come after the one before it"),
    _("say over what height it was read"),
    _("read head and sill at the same stations"),
    _("a reading has at least one station"),
    _("read the same stations every time"),
)
REFUSED = (
    _("That is too much at once."),
    _("This id was sent before with other content. The first is kept; send the new one under an id of its own."),
    _("Something is lacking."),
    _("this is needed"),
    _("There is no such opening among yours."),
    _("There is no such panel in this opening."),
    _("That is no answer."),
    _("No check of this opening has that code."),
    _("see the opening's gate"),
    _("a check that somebody confirms or reads"),
    _("say what came of each part"),
    _("This check cannot be answered so."),
    _("yes or no"),
    _("Say where that stands."),
    _("the maker's page, or what the evidence is"),
    _("The gate passes: advance, there is nothing to pass over."),
    _("Acceptance is recorded, never passed over."),
    _("This cannot be passed over by anybody: what guards against water, structure, lifting or the "
      "pocket, and what is waited for, has to be put right."),
    _("An acceptance says who accepted, and how."),
    _("a name"),
    _("signed on site, by letter"),
    _("Only open punch items of this opening can be named."),
    _("say why"),
    _("Going back needs a reason."),
    _("say what has to be done again"),
    _("The pocket must stay open."),
    _("There is no such inspection of this opening."),
    _("These readings pass: nobody owes anything for them."),
    _("A wait says what for, and who owes it."),
    _("what is waited for"),
    _("There is no such wait."),
    _("Say how it was cleared."),
    _("what came"),
    _("0 or more"),
    _("This wait was changed by somebody else. Read it again."),
    _("There is no such punch item."),
    _("This item was changed by somebody else. Read it again."),
    _("A punch item needs somebody, and a day."),
    _("Nothing is expected on such a day."),
    _("a day such as 2026-03-31: look at the year"),
    _("That item is somebody else's to close."),
    _("Say how it was put right."),
    _("what was done"),
    _("That cannot be changed."),
    _("This item is closed; raise a new one."),
    _("Say what was set aside."),
    _("track cover, head block, screw plugs"),
    _("There is no such part."),
    _("There is no such work step."),
    _("Hours are reported once they are worked."),
    _("today at the job, or before"),
    _("That many minutes cannot be right."),
    _("There is no such event."),
    _("Say who has it now, and in what condition."),
    _("what state it is in"),
    _("That is nothing one does with a panel."),
    _("This needs a reason."),
    _("say what happened"),
    _("There is no such panel."),
    _("Say which joint."),
    _("Those are no sealing conditions of this opening."),
    _("Say who saw it."),
    _("There is no such photo."),
    _("There are no figures to agree to: how deep anything may be fixed is not known yet. Read board, "
      "flat stud and the longest fastener first, of two pockets at each."),
    _("The figures of this wall are others now. Show them first."),
    _("Say how many came whole, short or damaged."),
    _("one or more of whole, short and damaged"),
    _("There is no such entry."),
    _("This account is closed."),
    _("There is no such opening."),
    _("An opening moves only on what its gate has judged."),
    _("Somebody else moved this opening just now. Look again."),
)
REFUSED += (
    _("a whole number here"),
    _("minutes, from 0 to 1000000"),
    _("true or false here"),
    _("a day such as 2026-03-31"),
    _("a time with its zone, such as 2026-03-31T09:30:00-07:00"),
    _("a list of at most 500 ids here"),
    _("an object here"),
    _("a list of at most 200 objects here"),
    _("text here"),
    _("a time between the years 1 and 9999"),
    _("a UUID"),
    _("its id"),
    _("Say what was adjusted."),
    _("roller, strike, interlock, weep"),
    _("closed"),
    _("There is no such crew."),
    _("the id of a crew"),
    _("not changeable"),
    _("Only our own crew is named by its id."),
    _("leave it out; say who in words"),
    _("ids of open punch items"),
    _("A gate is passed over only with a written reason."),
    _("Readings come as an object."),
    _("an object of readings"),
    _("head, lock-jamb, interlock, sill"),
    _("seal or never-seal"),
    _("the id of an inspection of kind sealing-conditions"),
    _("That delivery goes to another job."),
    _("a delivery of this opening's job"),
    _("There is no such delivery."),
    _("the id of a delivery of this job"),
    _("readings that fail, or fall short"),
    _("There is no such party."),
    _("the id of a party of this job"),
    _("the id of a photo of this opening"),
    _("That caption is too long."),
    _("There are characters in it that cannot be kept."),
    _("plain text"),
    _("A photo cannot be about that."),
    _("This opening has no such record."),
    _("Say what the photo is about."),
    _("The file is empty. Send the picture again."),
    _("This file is a picture and something else as well. Take the picture again, or save it anew."),
    _("This JPEG is built in far more passes than a camera makes. Save it anew and send that."),
    _("This file is no whole picture that we can read. Send a JPEG, PNG, WebP, AVIF or HEIC; if it is one, it was cut "
      "off on the way: send it again."),
    _("That picture is too large."),
    _("Send the entries as a list."),
    _("a list of entries"),
    _("Objects lie too deep within each other."),
    _("a few levels at most"),
    _("The gate judged another opening or another step."),
    _("Somebody else moved this panel just now. Look again."),
    _("send an object here"),
    _("send a list here"),
    _("true or false"),
    _("the panel's letter"),
    _("a time with its offset, such as 2031-03-04T15:00:00-05:00"),
    _("a door has lock_jamb and interlock, or interlock_left and _right"),
    _("a letter or a short name"),
    _("a whole number of tracks"),
    _("send the forces of at least one panel, or of the train"),
    _("each panel once"),
    _("more than nought"),
    _("newtons, or text such as 20 lbf"),
    _("kilograms, or text such as 420 lb"),
    # Of the office as a whole: what is no fault of an entry.
    _("There is no such record among those you may see."),
    _("You may not do this."),
    _("The body is larger than is taken at once. Send it in parts."),
    _("There are too many fields in it."),
    _("The request broke off or cannot be read. Send it again."),
    _("Something it stands on was changed in the same moment. Read it again, then send it again."),
    _("A value is too large or too long to be kept."),
)
PUT_TOGETHER = (
    _("This item was closed already: %(how)s"),
    _("This wait was cleared already: %(how)s"),
    _("at most %(most)s in one batch"),
    _("at most %(most)s letters, and none of them NUL"),
    _("at most %(most)s characters"),
    _("text of at most %(most)s characters"),
    _("a length takes at most %(most)s characters"),
    _("at most %(most)s MB"),
    _("1 to %(most)s"),
    _("at most %(most)s, or say that more came"),
    _("one of: inspection, %(names)s"),
    _("an inch is divided into one of: %(names)s"),
    _("one of: %(names)s"),
    _("in order: %(names)s"),
    _("not a field of this entry; it takes %(names)s"),
    _("no such field here; there are: %(names)s"),
    _("no such limit here; there are: %(names)s"),
    _("this is a limit: send it as limits.%(name)s"),
    _("There is no such %(what)s for this opening."),
    _("%(opening)s cannot be called %(stage)s yet."),
    _("The opening stands at %(stage)s; that is not a step back."),
    _("There is no check judged by %(kind)s."),
    _("%(check)s: that is answered by the record itself."),
    _("%(check)s is judged from readings."),
    _("%(check)s: that is counted from the unit's parts."),
    _("%(check)s: that is the office's to confirm."),
    _("send %(what)s"),
    _("Panel %(letter)s: not now."),
    _("%(part)s: %(said)s said, %(lacks)s of %(wanted)s wanted. If more came than was wanted, say so."),
    _("Somebody else said meanwhile what came of %(part)s. Read it again."),
    _("the id of a %(what)s of this opening"),
    _("The picture has too many pixels; %(most)s million is the most."),
    _("The file has more than %(most)s MB. Make the picture smaller first."),
    _("%(role)s may %(act)s only on their own openings."),
    _("%(role)s may not %(act)s."),
    _("it must lie within %(between)s"),
    _("it must not lie above %(other)s"),
    _("it must lie below the height of %(other)s"),
    _("this roller of panel %(panel)s is there already"),
    _("stations run on along the sill: this one must lie beyond %(before)s mm"),
    _("more than anybody has read: at most %(most)s, %(right)s"),
    _("no panel weighs so little: at least %(least)s kg"),
    _("a whole number from %(least)s to %(most)s"),
    _("Look at: %(where)s."),
    _("at most %(most)s"),
)
FILLED_IN = (  # roles, and what the table of roles calls each act on site
    _("Office"), _("Lead installer"), _("Installer"), _("Customer service"), _("Guest"),
    _("record readings"), _("add photos"), _("raise a punch item"), _("handle a panel"), _("do a joint"),
    _("set a part aside"), _("log an adjustment"), _("report hours"), _("note an event"), _("advance"), _("step back"),
    _("pass over"), _("release the hold point"), _("countersign a wall"), _("close a punch item"), _("raise a wait"),
    _("settle"), _("clear a wait"), _("receive a delivery"), _("hand over an opening"), _("accept"),
    _("give other evidence"),
)
_HOLE = re.compile(r"%\((\w+)\)s")


def refusal_said(text: str) -> str:
    """What a lower floor said in English, in the language in force; what is put together part by part."""
    if (get_language() or "en").startswith("en") or not text:
        return text
    return _translated(text) or _put_together(text) or _of_a_field(text) or text


def problem_said(problem: Mapping[str, Any]) -> dict[str, Any]:
    fields = {name: refusal_said(str(right)) for name, right in (problem.get("fields") or {}).items()}
    return {**problem, "detail": refusal_said(str(problem.get("detail", ""))), **({"fields": fields} if fields else {})}


def _translated(text: str) -> str:
    stage = phrases.STAGES.get(text.strip("'"))
    said = str(stage) if stage is not None else gettext(text)
    return "" if said == text else said


def _put_together(text: str) -> str:
    for pattern, template in _patterns():
        found = pattern.fullmatch(text)
        if found is not None:
            return gettext(template) % {name: refusal_said(value) for name, value in found.groupdict().items()}
    return ""


def _of_a_field(text: str) -> str:
    """`sill_to: the sill must end …`"""
    name, _sep, right = text.partition(": ")
    said = refusal_said(right) if right and re.fullmatch(r"[\w.\[\]]+", name) else right
    return f"{name}: {said}" if said != right else ""


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str], ...]:
    with override(None):
        templates = [str(one) for one in PUT_TOGETHER]
    return tuple((re.compile("".join(
        f"(?P<{part}>.+?)" if n % 2 else re.escape(part) for n, part in enumerate(_HOLE.split(one))), re.DOTALL), one)
        for one in templates)
