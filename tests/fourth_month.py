"""The settings of tests/hurried.py in a process whose clock stands in the fourth month from now."""

import datetime as dt

import time_machine

time_machine.travel(dt.datetime.now(dt.UTC) + dt.timedelta(days=100), tick=True).start()

from tests.hurried import *  # noqa: E402, F403
