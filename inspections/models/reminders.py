from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inspections.models.closing import PunchItem
from jobs.models.base import new_id


class Message(models.Model):
    """One message to one person on one day, whatever it is about. Claimed by a row, so it goes out once."""

    STATES = [("due", "Due"), ("claimed", "Claimed"), ("sent", "Sent"), ("dropped", "Nothing left to say")]

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="messages")
    day = models.DateField()  # in the reader's time zone
    state = models.CharField(max_length=8, choices=STATES, default="due")
    not_before = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField(max_length=200)
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["day", "id"]
        constraints = [
            models.UniqueConstraint(fields=["user", "day"], name="message_one_a_day"),
            models.CheckConstraint(condition=~Q(state="sent") | Q(sent_at__isnull=False), name="message_sent_when"),
        ]
        indexes = [models.Index(fields=["not_before"], name="message_waiting", condition=Q(state__in=["due", "claimed"]))]

    def __str__(self) -> str:
        return f"{self.user}, {self.day}: {self.state}"


class Reminder(models.Model):
    """That one person was to be told of one item, for the n-th time."""

    item = models.ForeignKey(PunchItem, models.CASCADE, related_name="reminders")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    number = models.PositiveSmallIntegerField()  # 1 on the due day, 2 after the interval, …
    to_office = models.BooleanField(default=False)
    message = models.ForeignKey(Message, models.CASCADE, related_name="reminders")

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["item", "user", "number"], name="reminder_once")]

    def __str__(self) -> str:
        return f"{self.item}: {self.user} no. {self.number}"
