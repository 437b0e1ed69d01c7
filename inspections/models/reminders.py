from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inspections.models.closing import PunchItem
from jobs.models.base import new_id


class Message(models.Model):
    """One message to one person on one day, whatever it is about. Claimed by a row, so it goes out once.

    `handed_at` is written before the mail server gets it: if we die in between, it may have gone out or not. It is
    then sent again as it is, under the same `message_id`, and nothing new is put into it.
    """

    STATES = [("due", "Due"), ("claimed", "Being sent"), ("sent", "Sent"), ("dropped", "Nothing left to say"),
              ("refused", "Refused by the mail server")]
    OPEN = ["due", "claimed"]

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="messages")
    day = models.DateField()  # in the reader's time zone
    state = models.CharField(max_length=8, choices=STATES, default="due")
    not_before = models.DateTimeField()
    claim = models.UUIDField(null=True, blank=True, editable=False)
    claimed_at = models.DateTimeField(null=True, blank=True)
    handed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_to = models.CharField(max_length=254, blank=True)
    message_id = models.CharField(max_length=200)
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["day", "id"]
        constraints = [
            models.UniqueConstraint(fields=["user", "day"], name="message_one_a_day"),
            models.UniqueConstraint(fields=["user"], name="message_one_open",
                                    condition=Q(state__in=["due", "claimed"])),
            models.UniqueConstraint(fields=["message_id"], name="message_id_unique"),
            models.CheckConstraint(condition=Q(state__in=["due", "claimed", "sent", "dropped", "refused"]),
                                   name="message_state_exists"),
            models.CheckConstraint(condition=~Q(state="sent") | Q(sent_at__isnull=False), name="message_sent_when"),
            models.CheckConstraint(condition=~Q(state="claimed") | Q(claim__isnull=False, claimed_at__isnull=False),
                                   name="message_claimed_by"),
        ]
        indexes = [models.Index(fields=["not_before"], name="message_waiting",
                                condition=Q(state__in=["due", "claimed"]))]

    def __str__(self) -> str:
        return f"{self.user}, {self.day}: {self.state}"


class Reminder(models.Model):
    """That one person was told of one item, or is about to be, for the n-th time.

    It counts for the item's owner and due day as they stood: another owner, or another day, starts the count afresh.
    """

    item = models.ForeignKey(PunchItem, models.CASCADE, related_name="reminders")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")  # who is told
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")  # whose item it was
    due_day = models.DateField()
    number = models.PositiveSmallIntegerField()  # the how-manieth to this person: 1 first, 2 after the interval, …
    to_office = models.BooleanField(default=False)
    message = models.ForeignKey(Message, models.CASCADE, related_name="reminders")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["item", "user", "owner", "due_day", "to_office", "number"],
                                    name="reminder_once"),
            models.UniqueConstraint(fields=["item", "message"], name="reminder_once_a_message"),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.user} no. {self.number}"
