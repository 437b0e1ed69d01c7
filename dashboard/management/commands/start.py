"""`manage.py start`: Sillbook for real use, in one process tree."""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from dashboard import starting, supervisor


class Command(BaseCommand):
    help = "Runs web server, worker, beat and broker until Ctrl-C. The first start makes the first office account."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        print("Getting ready …", flush=True)
        try:
            commands = starting.get_ready()
            password = starting.make_first_office_account()
        except supervisor.CannotStart as reason:
            sys.exit(str(reason))
        print(f"Sillbook is at {starting.address()}  (Ctrl-C stops it)", flush=True)
        if password:
            print(f"Sign in as {starting.FIRST_LOGIN} with the password {password}", flush=True)
            print("It is shown this once; change it after signing in: your name at the top leads there.", flush=True)
        sys.exit(supervisor.run(commands))
