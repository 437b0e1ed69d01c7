from __future__ import annotations

from typing import Any

from django.contrib.auth.models import AbstractUser
from django.db import models
from knox.models import AbstractAuthToken

from jobs.models.base import new_id
from jobs.roles import LABELS, Role, is_within

ROLE_CHOICES = [(role.value, LABELS[role]) for role in Role]


class User(AbstractUser):
    """A person who signs in. Their role says what they may do; crews say where."""

    first_name = None
    last_name = None
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    role = models.CharField(max_length=20, choices=ROLE_CHOICES, default=Role.GUEST.value)
    time_zone = models.CharField(max_length=64, default="UTC")
    language = models.CharField(max_length=8, default="en")
    units = models.CharField(max_length=2, choices=[("in", "inches"), ("mm", "millimetres")], default="in")
    # What they are told by mail: punch items of theirs that are due, and those that others let go by (the office).
    mail_own = models.BooleanField(default=True)
    mail_others = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=[r.value for r in Role]), name="user_role_exists"),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    def get_full_name(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return self.name.split(" ")[0]


class AccessToken(AbstractAuthToken):
    """A hashed token for a program or a telephone: named, with a role of its own, expiring, revocable."""

    public_id = models.UUIDField(default=new_id, unique=True, editable=False)  # names it, and opens nothing
    name = models.CharField(max_length=120, default="", blank=True)
    role = models.CharField(max_length=20, choices=ROLE_CHOICES, blank=True, default="")
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=["", *(r.value for r in Role)]),
                                   name="accesstoken_role_exists"),
        ]

    def acts_as(self) -> Any:
        """The role this token acts in: its own where it has one, never more than its person's."""
        return self.role or self.user.role

    def is_too_wide(self) -> bool:
        """Whether the person may do less today than this token was given."""
        return bool(self.role) and not is_within(self.role, self.user.role)
