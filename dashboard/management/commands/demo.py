"""`manage.py demo`: Sillbook with eight weeks of invented work in it, in a data folder of its own (.data-demo)."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from dashboard import starting, supervisor


class Command(BaseCommand):
    help = "Runs Sillbook with a made-up company in it until Ctrl-C. The first start makes the company."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--seed", type=int, default=1, help="another number makes another company (default: 1)")

    def handle(self, *args: Any, **options: Any) -> None:
        print("Getting ready …", flush=True)
        try:
            commands = starting.get_ready()
            sign_ins = starting.demo_sign_ins(options["seed"])
        except supervisor.CannotStart as reason:
            sys.exit(str(reason))
        print(f"Sillbook's demo is at {starting.address()}  (Ctrl-C stops it)", flush=True)
        for sign_in in sign_ins:
            print(f"  {sign_in.role:<18} sign in as {sign_in.login:<12} password {sign_in.password}", flush=True)
        sys.exit(supervisor.run(commands))
