"""Reminders as rows: planned once, claimed once, read again at the last moment. No process, no real mail."""

import datetime as dt
import re
import smtplib
import threading
import uuid
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.core.mail import get_connection
from django.db import IntegrityError, OperationalError, connection

from inspections import tasks
from inspections.models import Message, PunchItem, Reminder
from inspections.services import reminders
from jobs.models import AccessCode, Change, DayOff, OfficeSettings
from tests.factories import make_crew, make_job, make_opening, make_user
from tests.running import free_port

pytestmark = [pytest.mark.django_db, pytest.mark.database]

ANGELES = "America/Los_Angeles"
TUESDAY = dt.date(2026, 3, 10)
MINUTE, DAY = dt.timedelta(minutes=1), dt.timedelta(days=1)


def at(text: str, zone: str = ANGELES) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)


MORNING = at("2026-03-10 07:00")


@pytest.fixture(autouse=True)
def _company(db):
    OfficeSettings.objects.create(pk=1, company="Marrow Doors", reminder_interval_days=3, time_zone=ANGELES,
                                  reply_address="office@marrow.example", site_address="https://sillbook.example/")


@pytest.fixture
def opening():
    return make_opening(make_job(number="J-0042", title="Hill house"), tag="A1")


def make_person(role="installer", **over):
    return make_user(role, **{"time_zone": ANGELES, **over})


def make_item(opening, owner, due_day=TUESDAY, **over):
    values = {"number": opening.punch_items.count() + 1, "what": "Strike is scratched", "place": "lead stile"}
    return PunchItem.objects.create(opening=opening, owner=owner, due_day=due_day, by=owner,
                                    taken_at=at("2026-03-02 12:00"), **{**values, **over})


def close(item, now=MORNING):
    item.closed_at, item.closed_by, item.closed_how = now, item.owner, "polished"
    item.save()


def send(now) -> list[str]:
    return [reminders.send_claimed(claim, now, get_connection()) for claim in reminders.claim_due(now, most=100)]


def run(now) -> list[tuple[str, int]]:
    """Plans and sends as the tasks do; whom it reached, with how many items."""
    before = len(mail.outbox)
    reminders.put_back_stale(now)
    reminders.plan_reminders(now)
    reminders.send_due(lambda: now)
    return sorted((letter.to[0], letter.body.count(", item ")) for letter in mail.outbox[before:])


# --- what is said when ----------------------------------------------------------------------------------------------


def test_one_person_gets_one_message_a_day_with_all_their_items(opening):
    owner, other = make_person(), make_person()
    for _ in range(3):
        make_item(opening, owner)
    make_item(make_opening(), owner)
    make_item(opening, other)
    assert run(MORNING) == sorted([(owner.email, 4), (other.email, 1)])


def test_nothing_is_said_before_the_due_day_nor_before_seven(opening):
    make_item(opening, make_person())
    assert run(MORNING - DAY) == []
    assert run(MORNING - MINUTE) == []
    assert Message.objects.count() == 0


def test_who_does_not_want_to_be_told_of_their_items_is_not_and_the_office_is_at_once(opening):
    owner, office = make_person(mail_own=False), make_person("office")
    make_item(opening, owner)
    assert run(MORNING) == [(office.email, 1)]


def test_of_the_office_those_are_told_who_want_to_be_and_all_where_nobody_would(opening):
    one, other = make_person("office"), make_person("office", mail_others=False)
    make_item(opening, make_person(email=""))
    assert run(MORNING) == [(one.email, 1)]
    type(one).objects.filter(pk=one.pk).update(mail_others=False)
    make_item(opening, make_person(email=""))
    assert (other.email, 2) in run(MORNING + DAY)


def test_everything_done_twice_is_done_once(opening):
    owner = make_person()
    make_item(opening, owner)
    assert reminders.plan_reminders(MORNING) == 1
    assert reminders.plan_reminders(MORNING) == 0
    assert len(reminders.claim_due(MORNING, most=9)) == 1
    assert reminders.claim_due(MORNING, most=9) == []
    assert reminders.put_back_stale(MORNING + 5 * MINUTE) == 1
    assert reminders.put_back_stale(MORNING + 5 * MINUTE) == 0
    assert run(MORNING + 5 * MINUTE) == [(owner.email, 1)]
    assert run(MORNING + 6 * MINUTE) == []
    assert (Message.objects.count(), Reminder.objects.count()) == (1, 1)


def test_the_tasks_do_nothing_the_second_time(opening, time_machine):
    make_item(opening, make_person())
    time_machine.move_to(MORNING, tick=False)
    assert (tasks.plan_reminders(), tasks.send_reminders()) == (1, 1)
    assert (tasks.plan_reminders(), tasks.send_reminders()) == (0, 0)
    assert len(mail.outbox) == 1


def test_an_item_left_open_is_recalled_by_the_interval_and_then_goes_to_the_office(opening):
    owner, office = make_person(), make_person("office")
    make_item(opening, owner)
    said = {day: run(MORNING + n * DAY) for n in range(21) if (day := (TUESDAY + n * DAY).isoformat())}
    assert {day: who for day, who in said.items() if who} == {
        "2026-03-10": [(owner.email, 1)],
        "2026-03-13": [(owner.email, 1)],
        "2026-03-16": [(office.email, 1)],
        "2026-03-19": [(office.email, 1)],
        "2026-03-23": [(office.email, 1)],  # the 22nd is a Sunday
        "2026-03-26": [(office.email, 1)],
        "2026-03-30": [(office.email, 1)],
    }


def test_the_interval_is_the_companys_own(opening):
    OfficeSettings.objects.update(reminder_interval_days=1)
    owner, office = make_person(), make_person("office")
    make_item(opening, owner)
    assert [run(MORNING + n * DAY) for n in range(4)] == [
        [(owner.email, 1)], [(owner.email, 1)], [(office.email, 1)], [(office.email, 1)]]


def test_each_of_the_office_is_told_in_their_own_morning(opening):
    east, west = make_person("office", time_zone="America/New_York"), make_person("office")
    make_item(opening, make_person(is_active=False))
    # Four in the morning at the job: its due day has begun, and in the east somebody is at work.
    assert run(at("2026-03-10 07:00", "America/New_York")) == [(east.email, 1)]
    assert run(MORNING - MINUTE) == []
    assert run(MORNING) == [(west.email, 1)]


def test_who_is_inactive_gets_nothing_and_the_office_has_their_items(opening):
    gone, office = make_person(is_active=False), make_person("office")
    make_item(opening, gone)
    make_item(opening, office)
    assert run(MORNING) == [(office.email, 2)]
    assert mail.outbox[0].subject == "Punch items: 1 yours, 1 for the office"
    assert f"Owner: {gone.name}" in mail.outbox[0].body


def test_who_has_no_address_is_answered_for_by_the_office(opening):
    office = make_person("office")
    make_item(opening, make_person(email=""))
    make_person("office", email="")
    make_person("office", is_active=False)
    assert run(MORNING) == [(office.email, 1)]
    assert Message.objects.count() == 1


def test_where_nobody_can_be_told_nothing_is_written_down(opening):
    make_item(opening, make_person(is_active=False))
    assert run(MORNING) == []
    assert Message.objects.count() == 0


def test_an_item_given_to_somebody_else_starts_its_count_afresh(opening):
    first, second = make_person(), make_person()
    item = make_item(opening, first)
    run(MORNING), run(MORNING + 3 * DAY)
    PunchItem.objects.filter(pk=item.pk).update(owner=second)
    assert run(MORNING + 3 * DAY + MINUTE) == [(second.email, 1)]


def test_the_office_waits_for_the_new_owner_as_it_did_for_the_old(opening):
    OfficeSettings.objects.update(reminder_interval_days=2)
    first, second, office = make_person(), make_person(), make_person("office")
    item = make_item(opening, first)
    assert [run(MORNING + n * DAY) for n in (0, 2, 6)] == [[(who.email, 1)] for who in (first, first, office)]
    PunchItem.objects.filter(pk=item.pk).update(owner=second)
    said = {n: [who for who, _ in run(MORNING + n * DAY)] for n in range(7, 14)}
    assert {n: who for n, who in said.items() if who} == {7: [second.email], 9: [second.email], 13: [office.email]}


def test_an_item_whose_day_was_moved_waits_for_that_day(opening):
    owner = make_person()
    item = make_item(opening, owner)
    run(MORNING)
    PunchItem.objects.filter(pk=item.pk).update(due_day=TUESDAY + 9 * DAY)
    assert [n for n in range(1, 12) if run(MORNING + n * DAY)] == [9]


def test_who_moved_the_day_has_answered(opening):
    owner, office = make_person(), make_person("office")
    item = make_item(opening, owner)
    run(MORNING), run(MORNING + 3 * DAY)
    PunchItem.objects.filter(pk=item.pk).update(due_day=TUESDAY + 6 * DAY)
    assert [run(MORNING + n * DAY) for n in (6, 9, 13)] == [[(who.email, 1)] for who in (owner, owner, office)]


def test_what_falls_due_after_todays_message_waits_for_the_next_morning(opening):
    owner = make_person()
    make_item(opening, owner)
    assert run(MORNING) == [(owner.email, 1)]
    make_item(opening, owner)
    assert run(MORNING + 60 * MINUTE) == []
    assert run(MORNING + DAY) == [(owner.email, 1)]


def test_a_day_off_and_a_public_holiday_are_kept(opening):
    crewed, plain = make_person(), make_person()
    make_crew(crewed, holiday_region="US", working_days="1111100")
    for owner in (crewed, plain):
        make_item(opening, owner, due_day=dt.date(2026, 7, 2))
        DayOff.objects.create(user=owner, from_day=dt.date(2026, 7, 2), to_day=dt.date(2026, 7, 2))
    assert run(at("2026-07-02 09:00")) == []
    assert run(at("2026-07-03 09:00")) == [(plain.email, 1)]  # no holidays are kept where no region is named
    assert run(at("2026-07-06 07:00")) == sorted([(crewed.email, 1), (plain.email, 1)])


def test_the_companys_region_holds_where_the_crew_names_none(opening):
    OfficeSettings.objects.update(holiday_region="US")
    crewed, plain = make_person(), make_person()
    make_crew(crewed)
    for owner in (crewed, plain):
        make_item(opening, owner, due_day=dt.date(2026, 7, 3))
    assert run(at("2026-07-03 09:00")) == []
    assert len(run(at("2026-07-06 09:00"))) == 2


def test_who_has_not_said_their_zone_is_told_by_the_clock_of_their_crew_or_company(opening):
    crewed, plain = make_person(time_zone="UTC"), make_person(time_zone="UTC")
    make_crew(crewed, time_zone="America/Denver")
    make_item(opening, crewed), make_item(opening, plain)
    assert run(at("2026-03-10 07:00", "America/Denver")) == [(crewed.email, 1)]
    assert run(MORNING) == [(plain.email, 1)]


def test_a_zone_or_region_that_does_not_exist_keeps_nobody_else_from_being_told(opening):
    OfficeSettings.objects.update(holiday_region="ZZ")
    lost, fine = make_person(time_zone="Mars/Base"), make_person()
    make_item(opening, lost), make_item(opening, fine)
    make_item(make_opening(make_job(time_zone="nowhere")), fine)
    assert run(MORNING) == sorted([(lost.email, 1), (fine.email, 2)])


# --- the last look --------------------------------------------------------------------------------------------------


def test_nothing_is_said_of_what_was_closed_a_second_ago(opening):
    owner = make_person()
    gone, stays = make_item(opening, owner, what="Weep is blocked"), make_item(opening, owner)
    reminders.plan_reminders(MORNING)
    claims = reminders.claim_due(MORNING)
    close(gone)
    assert reminders.send_claimed(claims[0], MORNING, get_connection()) == "sent"
    assert "Weep is blocked" not in mail.outbox[0].body
    assert list(Reminder.objects.values_list("item", flat=True)) == [stays.pk]


def test_a_message_with_nothing_left_to_say_is_dropped(opening):
    item = make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    close(item)
    assert send(MORNING) == ["dropped"]
    assert mail.outbox == []
    assert (Message.objects.get().state, Reminder.objects.count()) == ("dropped", 0)


def test_a_day_whose_message_was_dropped_may_still_have_one(opening):
    owner = make_person()
    close(make_item(opening, owner))
    make_item(opening, owner, number=2)
    reminders.plan_reminders(MORNING)
    PunchItem.objects.filter(number=2).update(due_day=TUESDAY + DAY)
    assert send(MORNING) == ["dropped"]
    PunchItem.objects.filter(number=2).update(due_day=TUESDAY)
    assert run(MORNING + MINUTE) == [(owner.email, 1)]


@pytest.mark.parametrize("change", [{"is_active": False}, {"email": ""}])
def test_who_leaves_between_planning_and_sending_gets_nothing_and_the_office_does(opening, change):
    owner, office = make_person(), make_person("office")
    make_item(opening, owner)
    reminders.plan_reminders(MORNING)
    type(owner).objects.filter(pk=owner.pk).update(**change)
    assert send(MORNING) == ["dropped"]
    assert run(MORNING + MINUTE) == [(office.email, 1)]


def test_what_is_given_away_between_planning_and_sending_is_said_to_the_new_owner_only(opening):
    first, second = make_person(), make_person()
    item = make_item(opening, first)
    reminders.plan_reminders(MORNING)
    PunchItem.objects.filter(pk=item.pk).update(owner=second)
    assert run(MORNING + MINUTE) == [(second.email, 1)]


def test_what_was_planned_before_nineteen_is_not_sent_after(opening):
    owner = make_person()
    make_item(opening, owner)
    reminders.plan_reminders(at("2026-03-10 18:59:59"))
    assert send(at("2026-03-10 19:00:01")) == ["put-off"]
    assert run(at("2026-03-10 23:00")) == []
    assert run(at("2026-03-11 07:00")) == [(owner.email, 1)]
    assert Message.objects.get().day == TUESDAY + DAY


def test_a_day_that_has_its_message_gets_no_second_whatever_was_planned(opening):
    owner = make_person()
    Message.objects.create(user=owner, day=TUESDAY, state="sent", sent_at=MORNING, not_before=MORNING, message_id="<1>")
    waits = Message.objects.create(user=owner, day=TUESDAY + DAY, not_before=MORNING, message_id="<2>")
    Reminder.objects.create(item=make_item(opening, owner), user=owner, owner=owner, due_day=TUESDAY, number=1,
                            message=waits)
    assert send(MORNING + 60 * MINUTE) == ["put-off"]
    assert run(MORNING + DAY) == [(owner.email, 1)]


def test_after_a_weekend_of_standstill_one_message_says_all(opening):
    owner = make_person()
    make_item(opening, owner, due_day=dt.date(2026, 3, 13))
    reminders.plan_reminders(at("2026-03-13 12:00"))
    make_item(opening, owner, due_day=dt.date(2026, 3, 14))
    assert run(at("2026-03-16 07:00")) == [(owner.email, 2)]
    assert run(at("2026-03-16 12:00")) == []


# --- who sends it ---------------------------------------------------------------------------------------------------


def test_a_claim_is_good_for_one_only(opening):
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    claim = reminders.claim_due(MORNING)[0]
    assert reminders.send_claimed(reminders.Claim(claim.pk, uuid.uuid4()), MORNING, get_connection()) == "lost"
    assert reminders.send_claimed(claim, MORNING, get_connection()) == "sent"
    assert reminders.send_claimed(claim, MORNING, get_connection()) == "lost"
    assert len(mail.outbox) == 1


def test_of_two_who_reach_for_a_message_in_the_same_moment_one_gets_it(opening, monkeypatch):
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    other = []

    def token():
        with monkeypatch.context() as patch:
            patch.setattr(reminders.uuid, "uuid4", lambda: uuid.UUID(int=1))
            other.extend(reminders.claim_due(MORNING))
        return uuid.UUID(int=2)

    monkeypatch.setattr(reminders.uuid, "uuid4", token)
    assert reminders.claim_due(MORNING) == []
    assert [reminders.send_claimed(claim, MORNING, get_connection()) for claim in other] == ["sent"]


def test_a_claim_younger_than_a_task_may_live_is_not_put_back(opening, settings):
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    reminders.claim_due(MORNING)
    limit = dt.timedelta(seconds=settings.CELERY_TASK_TIME_LIMIT)
    assert reminders.put_back_stale(MORNING + limit) == 0
    assert reminders.put_back_stale(MORNING + dt.timedelta(seconds=settings.TASK_COMES_BACK_AFTER + 1)) == 1


def dying(*_, **__):
    raise KeyboardInterrupt  # nothing catches it, as nothing catches a SIGKILL


def test_who_dies_after_the_handing_over_leaves_it_to_be_sent_again_under_the_same_id(opening, monkeypatch):
    owner = make_person()
    item = make_item(opening, owner)
    reminders.plan_reminders(MORNING)
    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(reminders, "_settle", dying)
        reminders.send_due(lambda: MORNING)
    make_item(opening, owner)  # due as well, but nothing new goes into what may have gone out
    assert run(MORNING + 5 * MINUTE) == [(owner.email, 1)]
    first, again = mail.outbox
    assert first.extra_headers["Message-ID"] == again.extra_headers["Message-ID"] == Message.objects.get().message_id
    assert first.body == again.body
    assert run(MORNING + DAY) == [(owner.email, 1)]
    assert Reminder.objects.filter(item=item).count() == 1


def test_what_may_have_gone_out_still_counts_when_its_item_is_closed_before_it_goes_again(opening, monkeypatch):
    item = make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(reminders, "_settle", dying)
        reminders.send_due(lambda: MORNING)
    close(item)
    assert run(MORNING + 5 * MINUTE) == []
    assert (Message.objects.get().state, Reminder.objects.count()) == ("dropped", 1)


def test_who_dies_before_the_handing_over_leaves_it_to_be_sent_once(opening, monkeypatch):
    owner = make_person()
    make_item(opening, owner)
    reminders.plan_reminders(MORNING)
    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(reminders, "_last_look", dying)
        reminders.send_due(lambda: MORNING)
    assert run(MORNING + MINUTE / 2) == []
    assert run(MORNING + 5 * MINUTE) == [(owner.email, 1)]
    assert len(mail.outbox) == 1


class Failing:
    """Lets the n-th statement fail, as a database that goes away would make it."""

    def __init__(self, n):
        self.left = n

    def __call__(self, execute, sql, params, many, context):
        self.left -= 1
        if self.left == 0:
            raise OperationalError("the database is gone")
        return execute(sql, params, many, context)


def fails_at(n, work) -> bool:
    failing = Failing(n)
    try:
        with connection.execute_wrapper(failing):
            work()
    except OperationalError:
        return True
    return failing.left <= 0


@pytest.mark.django_db(transaction=True)
def test_whichever_statement_of_planning_fails_it_is_planned_once_afterwards(opening):
    owners = [make_person(), make_person()]
    for owner in owners * 2:
        make_item(opening, owner)
    n = 0
    while fails_at(n := n + 1, lambda: reminders.plan_reminders(MORNING)):
        assert all(message.reminders.count() == 2 for message in Message.objects.all()), f"half a message at {n}"
        reminders.plan_reminders(MORNING)
        assert (Message.objects.count(), Reminder.objects.count()) == (2, 4), n
        Message.objects.all().delete()
    assert n > 15


@pytest.mark.django_db(transaction=True)
def test_whichever_statement_of_sending_fails_it_is_sent_and_twice_only_with_the_same_id(opening):
    owner = make_person()
    n, came = 0, []
    failed = True
    while failed:
        n += 1
        Message.objects.all().delete()
        mail.outbox.clear()
        item = make_item(opening, owner)
        reminders.plan_reminders(MORNING)
        failed = fails_at(n, lambda: reminders.send_due(lambda: MORNING))
        handed = len(mail.outbox)
        assert (Message.objects.get().handed_at is not None) or not handed, n
        run(MORNING + 5 * MINUTE)
        assert Message.objects.get().state == "sent", n
        assert len({letter.extra_headers["Message-ID"] for letter in mail.outbox}) == 1, n
        came.append(len(mail.outbox))
        item.delete()
    assert set(came) == {1, 2}
    assert n > 15


def test_who_is_slower_than_their_claim_still_notes_that_it_was_sent(opening):
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    claim = reminders.claim_due(MORNING)[0]
    late = MORNING + 5 * MINUTE

    class Slow:
        def send_messages(self, letters):
            assert reminders.put_back_stale(late) == 1

    assert reminders.send_claimed(claim, MORNING, Slow()) == "sent"
    assert reminders.claim_due(late) == []


class Refusing:
    def __init__(self, why):
        self.why = why

    def send_messages(self, letters):
        raise self.why


@pytest.mark.parametrize(("why", "becomes"), [
    (smtplib.SMTPServerDisconnected("gone"), "cut-off"),
    (TimeoutError("no answer"), "cut-off"),
    (ConnectionResetError("gone"), "cut-off"),
    (smtplib.SMTPDataError(451, b"later"), "due"),
    (smtplib.SMTPRecipientsRefused({"a": (450, b"later")}), "due"),
    (smtplib.SMTPSenderRefused(550, b"not you", "us"), "due"),  # our own settings are wrong, not this message
])
def test_what_the_mail_server_would_not_take_now_is_tried_again_later(opening, why, becomes):
    owner = make_person()
    make_item(opening, owner)
    reminders.plan_reminders(MORNING)
    claim = reminders.claim_due(MORNING)[0]
    assert reminders.send_claimed(claim, MORNING, Refusing(why)) == becomes
    assert run(MORNING + MINUTE / 2) == []
    assert run(MORNING + MINUTE) == [(owner.email, 1)]


def test_the_pause_grows_but_not_beyond_an_hour(opening):
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    pauses, now = [], MORNING
    for _ in range(8):
        reminders.send_claimed(reminders.claim_due(now)[0], now, Refusing(TimeoutError()))
        pauses.append((Message.objects.get().not_before - now) // MINUTE)
        now = Message.objects.get().not_before
    assert pauses == [1, 2, 4, 8, 16, 32, 60, 60]


@pytest.mark.parametrize("why", [
    smtplib.SMTPRecipientsRefused({"a": (550, b"no such person")}), smtplib.SMTPDataError(554, b"no"),
    smtplib.SMTPNotSupportedError("no such letters here"), ValueError("a line break in an address")])
def test_what_is_refused_for_good_is_not_tried_again_but_counts_as_unanswered(opening, why):
    owner, office = make_person(), make_person("office")
    make_item(opening, owner)
    for day in (0, 3):
        reminders.plan_reminders(MORNING + day * DAY)
        claim = reminders.claim_due(MORNING + day * DAY)[0]
        assert reminders.send_claimed(claim, MORNING + day * DAY, Refusing(why)) == "refused"
        assert run(MORNING + day * DAY + 30 * MINUTE) == []
    assert run(MORNING + 6 * DAY) == [(office.email, 1)]


def test_what_cannot_be_sent_does_not_hold_up_the_others(opening, monkeypatch):
    bad, good = make_person(), make_person()
    make_item(opening, bad), make_item(opening, good)
    reminders.plan_reminders(MORNING)
    Message.objects.filter(user=bad).update(not_before=MORNING - MINUTE)
    words = reminders.mail

    def broken(message, *rest):
        if message.user_id == bad.pk:
            raise RuntimeError("these words cannot be written")
        return words(message, *rest)

    monkeypatch.setattr(reminders, "mail", broken)
    with pytest.raises(RuntimeError):
        reminders.send_due(lambda: MORNING)
    reminders.put_back_stale(MORNING + 5 * MINUTE)
    with pytest.raises(RuntimeError):
        reminders.send_due(lambda: MORNING + 5 * MINUTE)
    assert [letter.to for letter in mail.outbox] == [[good.email]]


def test_while_the_mail_server_cannot_be_reached_nothing_is_claimed(opening, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()
    make_item(opening, make_person())
    reminders.plan_reminders(MORNING)
    assert reminders.send_due(lambda: MORNING) == 0
    assert Message.objects.get().tries == 0


@pytest.mark.django_db(transaction=True)
def test_planners_and_senders_at_once_say_each_thing_once(opening):
    owners = [make_person() for _ in range(4)]
    for owner in owners * 2:
        make_item(opening, owner)
    start = threading.Barrier(4)
    failures = []

    def work():
        try:
            start.wait()
            for _ in range(3):
                reminders.plan_reminders(MORNING)
                reminders.send_due(lambda: MORNING)
        except Exception as why:
            failures.append(why)
        finally:
            connection.close()

    threads = [threading.Thread(target=work) for _ in range(4)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert failures == []
    assert sorted((letter.to[0], letter.body.count(", item ")) for letter in mail.outbox) == sorted(
        (owner.email, 2) for owner in owners)


# --- the rows themselves --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("second", [{"day": TUESDAY, "state": "sent", "sent_at": MORNING}, {"day": TUESDAY + DAY}])
def test_the_database_itself_keeps_to_one_message_a_day_and_one_on_its_way(second):
    user = make_person()
    Message.objects.create(user=user, day=TUESDAY, not_before=MORNING, message_id="<1@x.example>")
    with pytest.raises(IntegrityError):
        Message.objects.create(**{"user": user, "not_before": MORNING, "message_id": "<2@x.example>", **second})


@pytest.mark.parametrize("items", [2, 20])
def test_planning_asks_the_database_as_often_for_twenty_items_as_for_two(opening, items, django_assert_num_queries):
    owner = make_person()
    make_crew(owner)
    for _ in range(items):
        make_item(opening, owner)
    with django_assert_num_queries(20):
        reminders.plan_reminders(MORNING)


def test_the_feed_says_what_was_planned_and_sent(opening):
    make_item(opening, make_person())
    run(MORNING)
    message = Message.objects.get()
    assert list(Change.objects.values_list("what", "record", "record_id", "by")) == [
        ("reminder planned", "reminders", str(message.pk), None), ("reminder sent", "reminders", str(message.pk), None)]


# --- the words ------------------------------------------------------------------------------------------------------


def test_the_mail_says_what_where_and_by_when_in_plain_text_and_in_html(opening):
    owner = make_person(name="Tomás Vell")
    make_item(opening, owner, due_day=TUESDAY, what="Strike <b>scratched</b> & loose")
    make_item(opening, owner, due_day=TUESDAY - 4 * DAY)
    run(MORNING)
    letter = mail.outbox[0]
    assert letter.subject == "2 punch items to put right"
    assert letter.reply_to == ["office@marrow.example"]
    for words in ("Tomás Vell,", "J-0042 Hill house, opening A1, item 1",
                  "Strike <b>scratched</b> & loose (lead stile)", "Due March 10, 2026, today",
                  "Due March 6, 2026, 4 days late", "Marrow Doors", "https://sillbook.example/"):
        assert words in letter.body
    html, kind = letter.alternatives[0]
    assert kind == "text/html"
    assert "Strike &lt;b&gt;scratched&lt;/b&gt; &amp; loose" in html
    assert Message.objects.get().text == letter.body
    assert not re.search(r"\n{3,}| +\n", letter.body), "no holes in the text"


def test_a_mail_lists_fifty_items_and_counts_the_others(opening):
    owner = make_person()
    for n in range(53):
        make_item(opening, owner, number=n + 1)
    assert run(MORNING) == [(owner.email, 50)]
    assert mail.outbox[0].subject == "53 punch items to put right"
    assert "53 punch items of yours are open:" in mail.outbox[0].body
    for words in (mail.outbox[0].body, mail.outbox[0].alternatives[0][0]):
        assert "And 3 more." in words
    assert run(MORNING + MINUTE) == []


def test_the_mail_is_in_the_readers_language(opening):
    make_item(opening, make_person(language="es"))
    run(MORNING)
    assert '<html lang="es">' in mail.outbox[0].alternatives[0][0]


def test_no_access_code_gets_into_a_mail_even_where_somebody_typed_it(opening):
    AccessCode.objects.create(job=opening.job, what="Gate", code="4471#")
    AccessCode.objects.create(job=opening.job, what="Alarm", code="12")
    opening.job.access_notes = "Key under the 9th step"
    opening.job.save()
    make_item(opening, make_person(), what="Gate (4471#) sticks, 112 mm gap", place="by the gate, 12")
    run(MORNING)
    letter, kept = mail.outbox[0].message().as_string(), Message.objects.get().text
    for words in (letter, kept):
        assert "4471" not in words
        assert "9th step" not in words
    assert "Gate (•••) sticks, 112 mm gap (by the gate, •••)" in kept
