"""The page of the reminders that were sent: one's own, the office everybody's; readable without a mail server."""

import datetime as dt

import pytest
from django.utils import timezone

from inspections.models import Message
from tests.factories import make_user
from tests.visits import queries, text

pytestmark = pytest.mark.django_db
PAGE = "/reminders/"


def sent(user, subject="1 punch item is due", body="Scratch on the cover\nis due today.", days_ago=0, **over):
    when = timezone.now() - dt.timedelta(days=days_ago)
    return Message.objects.create(**{
        "user": user, "day": when.date(), "state": "sent", "not_before": when, "sent_at": when, "subject": subject,
        "text": body, "message_id": f"<{user.pk}-{days_ago}@marrow.example>", **over})


def shown(client, person, **asked):
    client.force_login(person)
    return [line.message.subject for line in client.get(PAGE, asked).context["lines"]]


def test_each_reads_what_was_sent_to_them_and_the_office_what_was_sent_to_anybody(client):
    lead, installer, office = make_user("lead"), make_user("installer"), make_user("office")
    sent(lead, "for the lead", days_ago=1), sent(installer, "for the installer")
    assert shown(client, lead) == ["for the lead"]
    assert shown(client, installer) == ["for the installer"]
    assert shown(client, office) == ["for the installer", "for the lead"]


def test_what_it_says_stands_there_whole_and_as_text(client):
    lead = make_user("lead")
    sent(lead, body="Scratch on the cover\n<b>is due</b>")
    client.force_login(lead)
    assert "Scratch on the cover &lt;b&gt;is due&lt;/b&gt;" in text(client.get(PAGE))


def test_without_a_mail_server_it_says_that_this_is_where_they_are_read(client, settings):
    client.force_login(make_user("lead"))
    assert "No mail server is named" in text(client.get(PAGE))
    settings.EMAIL_HOST = "mail.example"
    assert "No mail server is named" not in text(client.get(PAGE))


def test_a_message_that_was_not_written_yet_is_not_shown(client):
    lead = make_user("lead")
    sent(lead, subject="", body="", state="due", sent_at=None)
    assert shown(client, lead) == []


@pytest.mark.parametrize("before", ["x", "\x00", "²", "1"])
def test_what_cannot_be_asked_is_as_if_it_were_not(client, before):
    lead = make_user("lead")
    sent(lead)
    assert shown(client, lead, before=before) == ["1 punch item is due"]


def test_a_long_list_goes_on_where_it_stopped_in_as_many_queries(client):
    lead = make_user("lead")
    for n in range(10):
        sent(lead, f"{n}", days_ago=n)
    few = (client.force_login(lead), queries(client, PAGE))[1]
    for n in range(10, 55):
        sent(lead, f"{n}", days_ago=n)
    assert queries(client, PAGE) == few
    more = client.get(PAGE).context["more"]
    assert len(shown(client, lead)) == 50
    assert len(shown(client, lead, before=str(more))) == 5


def test_the_list_of_punch_items_leads_there_but_no_guest(client):
    for role, there in (("lead", True), ("guest", False)):
        client.force_login(make_user(role))
        assert (f'href="{PAGE}"' in client.get("/punch-items/").content.decode()) is there
