"""What the demo's story comes to, without the ids that every database gives anew.

Run with the time it is to be made up to, it makes the demo in a database of its own and prints the digest.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import sys
from typing import Any

import django
from django.apps import apps
from django.core.management import call_command


def facts() -> dict[str, list[Any]]:
    """Stages, verdicts, readings, changes, hours, photos and the feed, in the order they happened."""
    rows = {
        "jobs.Opening": ("tag", ("tag", "stage", "stage_since")),
        "inspections.Inspection": ("taken_at", ("opening__tag", "kind", "occasion", "place", "result", "taken_at")),
        "inspections.Reading": ("inspection__taken_at", ("inspection__opening__tag", "quantity", "at", "length",
                                                         "number")),
        "jobs.StageChange": ("taken_at", ("opening__tag", "kind", "to_stage", "advanced", "reason", "taken_at")),
        "jobs.TimeReport": ("taken_at", ("work_step__stage", "day", "minutes")),
        "jobs.Assignment": ("start_day", ("opening__tag", "work_step__stage", "crew__name", "end_day", "firmness")),
        "inspections.Photo": ("taken_at", ("opening__tag", "caption", "sha256")),
        "jobs.Change": ("position", ("at", "what", "record")),
    }
    return {name: list(apps.get_model(name).objects.order_by(order, "pk").values_list(*fields))
            for name, (order, fields) in rows.items()}


def digest() -> str:
    return hashlib.sha256(repr(facts()).encode()).hexdigest()


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    call_command("migrate", verbosity=0)
    from dashboard.demo.making import make_demo  # once Django is ready, and not before

    make_demo(dt.datetime.fromisoformat(sys.argv[1]))
    print(digest())
