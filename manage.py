#!/usr/bin/env python3
"""Every command starts here: `python manage.py demo`, `python manage.py start`."""
import os
import sys

if sys.version_info < (3, 11):  # noqa: UP036  (somebody will try)
    sys.exit("Sillbook needs Python 3.11 or newer; this is Python {}.{}.".format(*sys.version_info[:2]))

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dashboard.settings")
    if sys.argv[1:2] == ["demo"]:
        # What the demo makes up must never land among real records.
        os.environ.setdefault("SILLBOOK_DATA", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".data-demo"))
    try:
        settings.DATABASES  # noqa: B018  (reads the settings now, while a refusal can still be one sentence)
    except ImproperlyConfigured as refusal:
        sys.exit(str(refusal))
    try:
        execute_from_command_line(sys.argv)
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
