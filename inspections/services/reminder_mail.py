"""The words of a reminder: one mail, plain and HTML, for all of somebody's items. No access code ever gets into it."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext, ngettext

from inspections.models import Message, Reminder
from inspections.services.readers import zone_of
from jobs.models import AccessCode, OfficeSettings

HIDDEN = "•••"
SHOWN = 50  # items of a kind in one mail; nobody reads on, and writing it holds up everybody else


@dataclass(frozen=True, slots=True)
class Line:
    """One item as its reader sees it."""

    job: str
    opening: str
    number: int
    what: str
    where: str
    due_day: dt.date
    days_late: int  # on the calendar at the job
    time: int  # the how-manieth reminder this is to this reader
    owner: str


def mail(message: Message, reminders: Sequence[Reminder], office: OfficeSettings,
         now: dt.datetime) -> EmailMultiAlternatives:
    """The mail about these items; its subject and text are put on the message as well."""
    with translation.override(message.user.language):
        own = [reminder for reminder in reminders if not reminder.to_office]
        others = [reminder for reminder in reminders if reminder.to_office]
        words = {
            "reader": message.user, "office": office, "own_count": len(own), "others_count": len(others),
            "own": _lines(own[:SHOWN], now), "own_more": len(own[SHOWN:]),
            "others": _lines(others[:SHOWN], now), "others_more": len(others[SHOWN:]),
        }
        message.subject = _subject(len(own), len(others))
        message.text = render_to_string("inspections/mail/reminder.txt", words).strip() + "\n"
        html = render_to_string("inspections/mail/reminder.html", {**words, "subject": message.subject})
    found = EmailMultiAlternatives(
        subject=message.subject, body=message.text, to=[message.user.email],
        reply_to=[office.reply_address] if office.reply_address else None,
        # The second keeps absence notes from answering.
        headers={"Message-ID": message.message_id, "Auto-Submitted": "auto-generated"})
    found.attach_alternative(html, "text/html")
    return found


def _subject(own: int, others: int) -> str:
    if not others:
        return ngettext("%d punch item to put right", "%d punch items to put right", own) % own
    if not own:
        return ngettext("%d punch item needs the office", "%d punch items need the office", others) % others
    return gettext("Punch items: %(own)d yours, %(others)d for the office") % {"own": own, "others": others}


def _lines(reminders: Sequence[Reminder], now: dt.datetime) -> list[Line]:
    secret = _codes(reminder.item.opening.job_id for reminder in reminders)
    return [_line(reminder, secret[reminder.item.opening.job_id], now) for reminder in reminders]


def _line(reminder: Reminder, codes: Sequence[str], now: dt.datetime) -> Line:
    item, opening = reminder.item, reminder.item.opening
    panel = gettext("panel %s") % item.panel.letter if item.panel else ""
    today = now.astimezone(zone_of(opening.job.time_zone)).date()
    return Line(
        job=veiled(str(opening.job), codes), opening=veiled(opening.tag, codes), number=item.number,
        what=veiled(item.what, codes), where=veiled(", ".join(filter(None, [panel, item.place])), codes),
        due_day=item.due_day, days_late=(today - item.due_day).days, time=reminder.number, owner=str(item.owner))


def veiled(words: str, codes: Iterable[str]) -> str:
    """What somebody typed into an item, with a code of the job's gate or alarm hidden where they typed that too."""
    for code in codes:
        words = re.sub(rf"(?<!\w){re.escape(code)}(?!\w)", HIDDEN, words)
    return words


def _codes(job_ids: Iterable[int]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = defaultdict(list)
    for job_id, code in AccessCode.objects.filter(job__in=set(job_ids)).values_list("job_id", "code"):
        if code.strip():
            found[job_id].append(code.strip())
    return found
