"""Reminders of open punch items: planned as rows, claimed by a row, sent once.

What happens to a message: due → claimed → sent. A claim whose worker died is put back. `handed_at` is noted before
the mail server gets the message, `sent` after; who dies in between leaves a message that may have gone out: it is sent
again with the same Message-ID and nothing new in it. Calling anything here twice does nothing the second time.
"""

from __future__ import annotations

import datetime as dt
import logging
import smtplib
import uuid
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from email.utils import parseaddr
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import IntegrityError, transaction
from django.db.models import Count, F, Max, Q

from inspections.calc.reminding import Due, Reader, Told, next_for_office, next_for_owner, next_moment, start_of
from inspections.models import Message, PunchItem, Reminder
from inspections.services.readers import readers, zone_of
from inspections.services.reminder_mail import mail
from jobs.acts import Act, Done, carry_out
from jobs.models import Change, OfficeSettings, User
from jobs.models.base import new_id
from jobs.roles import Role

log = logging.getLogger(__name__)

EAST = dt.timedelta(hours=14)  # in the easternmost zone it is tomorrow by this much
PATIENCE = dt.timedelta(hours=1)  # the longest pause after a mail server that would not
AT_ONCE = 500  # messages a run; the next run takes the rest


@dataclass(frozen=True, slots=True)
class Claim:
    """The right to send one message, until it is put back."""

    pk: uuid.UUID
    token: uuid.UUID


# --- planning -------------------------------------------------------------------------------------------------------


def plan_reminders(now: dt.datetime) -> int:
    """Writes down what is to be said now, one message a person; how many items were put into one."""
    office = OfficeSettings.current()
    wanted: dict[int, list[Reminder]] = defaultdict(list)
    people = _People(office, now)
    for reminder in _due_now(people, office, now):
        wanted[reminder.user_id].append(reminder)
    return sum(_put_down(people.user[pk], people.reader[pk], reminders, now) for pk, reminders in wanted.items())


class _People:
    """The owners of items that are due, and the office; and who of them can be told at all."""

    def __init__(self, office: OfficeSettings, now: dt.datetime) -> None:
        self.items = list(PunchItem.objects.still_open().filter(due_day__lte=(now + EAST).date())
                          .select_related("opening__job", "owner").order_by("due_day", "pk"))
        able = list(User.objects.filter(is_active=True, role=Role.OFFICE.value).exclude(email="").order_by("pk"))
        self.user = {user.pk: user for user in [*(item.owner for item in self.items), *able]}
        self.reader = readers(list(self.user.values()), office, now)
        reached = [user for user in able if next_moment(now, self.reader[user.pk])]
        # Whoever does not want to hear of what others let go by, hears of it all the same where nobody else would.
        self.office = [user for user in reached if user.mail_others] or reached
        self._able = {pk for pk, user in self.user.items()
                      if can_be_told(user) and user.mail_own and next_moment(now, self.reader[pk]) is not None}

    def able(self, user_id: int) -> bool:
        return user_id in self._able


def can_be_told(user: User) -> bool:
    return user.is_active and bool(user.email)


def _due_now(people: _People, office: OfficeSettings, now: dt.datetime) -> Iterator[Reminder]:
    told = _told(now)
    every = office.reminder_interval_days
    for item in people.items:
        due = Due(item.due_day, zone_of(item.opening.job.time_zone, office.time_zone))
        owner = told[item.pk, item.owner_id, False] if people.able(item.owner_id) else None
        if owner and next_for_owner(due, owner, people.reader[item.owner_id], now, interval_days=every) == now:
            yield _reminder(item, item.owner_id, owner, to_office=False)
        for user in people.office:
            times = told[item.pk, user.pk, True]
            reader = people.reader[user.pk]
            if next_for_office(due, times, reader, now, owner=owner, interval_days=every) == now:
                yield _reminder(item, user.pk, times, to_office=True)


def _told(now: dt.datetime) -> dict[tuple[int, int, bool], Told]:
    """(item, who, as the office) → how often and when last, for the owner and the due day the item has now."""
    rows = (Reminder.objects.filter(item__closed_at=None, item__due_day__lte=(now + EAST).date(),
                                    owner=F("item__owner"), due_day=F("item__due_day"))
            .order_by().values_list("item", "user", "to_office")
            .annotate(Count("id"), Max("message__day"),
                      on_its_way=Count("id", filter=Q(message__state__in=Message.OPEN))))
    found: dict[tuple[int, int, bool], Told] = defaultdict(Told)
    for item, user, to_office, times, last, on_its_way in rows:
        # What waits to be sent will be said today at the earliest, whichever day it was planned for.
        found[item, user, to_office] = Told(times, (now + EAST).date() if on_its_way else last)
    return found


def _reminder(item: PunchItem, user_id: int, told: Told, *, to_office: bool) -> Reminder:
    return Reminder(item=item, user_id=user_id, owner_id=item.owner_id, due_day=item.due_day, number=told.times + 1,
                    to_office=to_office)


def _put_down(user: User, reader: Reader, reminders: list[Reminder], now: dt.datetime) -> int:
    """Puts these into the person's message of today; 0 where today's is already on its way: one message a day."""
    try:
        with carry_out(Act.of(user, now)) as done:
            message = _message_of_today(user, now.astimezone(reader.zone).date(), now)
            if message is None:
                return 0
            for reminder in reminders:
                reminder.message = message
            Reminder.objects.bulk_create(reminders)
            _note(done, message, "reminder planned", now)
    except IntegrityError:  # another planner was faster; what it left out is planned next time
        log.info("The message to %s was planned by somebody else just now.", user.pk)
        return 0
    return len(reminders)


def _message_of_today(user: User, today: dt.date, now: dt.datetime) -> Message | None:
    """The message that can still take something in, held until the end of the transaction."""
    mine = Message.objects.select_for_update().filter(user=user)
    waiting = mine.filter(state__in=Message.OPEN).first()
    found = waiting or mine.filter(day=today).first()
    if found is None:
        pk = new_id()
        return Message.objects.create(pk=pk, user=user, day=today, not_before=now, message_id=_message_id(pk))
    if found.handed_at is not None or found.state not in ("due", "dropped"):
        return None
    found.state, found.day, found.not_before = "due", today, now
    found.save(update_fields=["state", "day", "not_before"])
    return found


def _message_id(pk: uuid.UUID) -> str:
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{pk}@{domain}>"


# --- claiming -------------------------------------------------------------------------------------------------------


def claim_due(now: dt.datetime, *, most: int = 1) -> list[Claim]:
    """Up to `most` messages that are now this caller's to send, and nobody else's."""
    claims: list[Claim] = []
    # What failed before comes last: one message that cannot be sent must not hold up the others.
    for pk in waiting(now).order_by("tries", "not_before", "pk").values_list("pk", flat=True)[:most + 50]:
        if len(claims) == most:
            break
        claim = Claim(pk, uuid.uuid4())
        if waiting(now).filter(pk=pk).update(state="claimed", claim=claim.token, claimed_at=now, tries=F("tries") + 1):
            claims.append(claim)
    return claims


def waiting(now: dt.datetime) -> Any:
    return Message.objects.filter(state="due", not_before__lte=now)


def put_back_stale(now: dt.datetime) -> int:
    """Claims whose worker must be dead: a task is stopped well before this time has passed."""
    too_old = now - dt.timedelta(seconds=settings.TASK_COMES_BACK_AFTER)
    return Message.objects.filter(state="claimed", claimed_at__lt=too_old).update(
        state="due", claim=None, claimed_at=None)


# --- sending --------------------------------------------------------------------------------------------------------


def send_due(clock: Callable[[], dt.datetime], *, most: int = AT_ONCE) -> int:
    """Sends what is due, one after another; how many the mail server took."""
    if not waiting(clock()).exists():
        return 0
    post = get_connection()
    try:
        # Opened first, so that next to no time passes between the last look at the items and the handing over.
        post.open()
    except OSError as why:
        log.warning("The mail server cannot be reached: %s", why)
        return 0
    try:
        return _send_each(clock, post, most)
    finally:
        with suppress(OSError, smtplib.SMTPException):
            post.close()


def _send_each(clock: Callable[[], dt.datetime], post: Any, most: int) -> int:
    # Stopping in good time by ourselves: a task stopped from outside may be in the middle of handing over.
    enough = clock() + dt.timedelta(seconds=settings.TASK_COMES_BACK_AFTER) / 3
    sent = 0
    for _ in range(most):
        claims = claim_due(clock()) if clock() < enough else []
        if not claims:
            break
        state = send_claimed(claims[0], clock(), post)
        sent += state == "sent"
        if state == "cut-off":
            break
    return sent


def send_claimed(claim: Claim, now: dt.datetime, post: Any) -> str:
    """Sends one message. What became of it: sent, dropped, refused, put-off, due (again), cut-off (due again, and the
    mail server is gone), or lost (somebody else has it now)."""
    state, letter = _last_look(claim, now)
    if letter is None:
        return state
    try:
        post.send_messages([letter])
    except (smtplib.SMTPException, OSError, ValueError) as why:
        return _would_not(claim, now, why)
    # Sent is sent, even if the claim went stale meanwhile: whoever took it over then finds nothing to do.
    _settle(Message.objects.filter(pk=claim.pk).exclude(state="sent"), claim, now, state="sent", sent_at=now)
    return "sent"


def _last_look(claim: Claim, now: dt.datetime) -> tuple[str, EmailMessage | None]:
    """Reads the items again under lock: nothing is said of what was closed, moved or given away a second ago."""
    with transaction.atomic():
        message = (Message.objects.select_for_update(of=("self",)).select_related("user")
                   .filter(pk=claim.pk, state="claimed", claim=claim.token).first())
        if message is None:
            return "lost", None
        office = OfficeSettings.current()
        reader = readers([message.user], office, now)[message.user_id]
        moment = _moment_for(message, reader, now)
        reminders = _still_true(message) if can_be_told(message.user) and moment is not None else []
        if not reminders:
            return _drop(message, claim, now), None
        if moment != now:
            return _put_off(message, moment), None
        letter = mail(message, reminders, office, now)
        message.day, message.handed_at, message.sent_to = now.astimezone(reader.zone).date(), now, message.user.email
        message.save(update_fields=["day", "handed_at", "sent_to", "subject", "text"])
        return "claimed", letter


def _moment_for(message: Message, reader: Reader, now: dt.datetime) -> dt.datetime | None:
    """When it may go out: in the reader's hours, and not on a day that already has a message."""
    moment = next_moment(now, reader)
    day = moment and moment.astimezone(reader.zone).date()
    if Message.objects.filter(user=message.user_id, day=day).exclude(pk=message.pk).exclude(state="dropped").exists():
        return next_moment(start_of(day + dt.timedelta(days=1), reader.zone), reader)
    return moment


def _still_true(message: Message) -> list[Reminder]:
    """The reminders whose item stands as it was planned. The others are forgotten, unless they may have gone out."""
    held = {item.pk: item for item in
            PunchItem.objects.select_for_update(of=("self",)).filter(reminders__message=message)
            .select_related("opening__job", "panel", "owner").order_by("pk")}
    true, gone = [], []
    for reminder in message.reminders.all():
        item = reminder.item = held[reminder.item_id]
        stands = item.closed_at is None and (item.owner_id, item.due_day) == (reminder.owner_id, reminder.due_day)
        (true if stands else gone).append(reminder)
    if gone and message.handed_at is None:
        message.reminders.filter(pk__in=[reminder.pk for reminder in gone]).delete()
    return sorted(true, key=lambda reminder: (reminder.to_office, reminder.item.opening.job.number,
                                              reminder.item.opening.tag, reminder.item.number))


def _put_off(message: Message, moment: dt.datetime) -> str:
    message.state, message.not_before, message.claim, message.claimed_at = "due", moment, None, None
    message.save(update_fields=["state", "not_before", "claim", "claimed_at"])
    return "put-off"


def _drop(message: Message, claim: Claim, now: dt.datetime) -> str:
    if message.handed_at is None:
        message.reminders.all().delete()
    _settle(Message.objects.filter(pk=claim.pk), claim, now, state="dropped")
    return "dropped"


def _would_not(claim: Claim, now: dt.datetime, why: Exception) -> str:
    """The mail server did not take it: for good, or for now; then it waits longer each time."""
    mine = Message.objects.filter(pk=claim.pk, state="claimed", claim=claim.token)
    if _for_good(why):
        log.warning("Message %s was refused: %s", claim.pk, type(why).__name__)
        _settle(mine, claim, now, state="refused")
        return "refused"
    log.warning("Message %s could not be sent just now: %s", claim.pk, type(why).__name__)
    tries = mine.values_list("tries", flat=True).first() or 1
    pause = min(dt.timedelta(minutes=2 ** min(tries - 1, 10)), PATIENCE)
    mine.update(state="due", not_before=now + pause, claim=None, claimed_at=None)
    answered = isinstance(why, smtplib.SMTPException) and not isinstance(why, smtplib.SMTPServerDisconnected)
    return "due" if answered else "cut-off"


def _for_good(why: Exception) -> bool:
    """True where trying again cannot help: this address, or this very message, is refused (RFC 5321: 5yz)."""
    if isinstance(why, smtplib.SMTPRecipientsRefused):
        return all(code >= 500 for code, _ in why.recipients.values())
    if isinstance(why, smtplib.SMTPDataError):
        return why.smtp_code >= 500
    return isinstance(why, ValueError | smtplib.SMTPNotSupportedError)  # an address that cannot be written in a mail


def _settle(rows: Any, claim: Claim, now: dt.datetime, *, state: str, **more: Any) -> None:
    """Notes what became of a message, once, with its line in the feed."""
    with carry_out(Act.of(User.objects.get(messages=claim.pk), now)) as done:
        if rows.update(state=state, claim=None, claimed_at=None, **more):
            _note(done, Message(pk=claim.pk), f"reminder {state}", now)


def _note(done: Done, message: Message, what: str, now: dt.datetime) -> None:
    done.lines.append(Change(at=now, what=what, record="reminders", record_id=str(message.pk)))
