"""`manage.py bench`: how fast it is, each number beside a floor measured in the same run."""

import datetime as dt
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import orjson
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import connection

from dashboard.benching import rows
from dashboard.benching.acts import batch_of_entries, correction_of_a_floor, one_advance
from dashboard.benching.drawings import one_drawing
from dashboard.benching.finding import one_finding
from dashboard.benching.pages import pages
from dashboard.benching.sheets import material_sheet, one_sheet
from dashboard.benching.site_page import missing, site_page
from dashboard.benching.timing import answer_to, milliseconds, requests_a_second, served
from dashboard.benching.units import material_of_a_job, one_unit
from dashboard.demo.making import make_demo
from inspections.services.needing.all import what_needs_somebody
from inspections.services.progress import crew_progress
from jobs.acts import Act
from jobs.models import AccessToken
from jobs.stages import Stage

OPENINGS = "/api/v1/openings/?page_size=50"
PAST = (10_000, 1_000_000)
ACTIVE = 2_000
CREWS = 40
PARTS = ("lists", "acts", "units", "finding", "progress", "pages", "site")
SHORT_PAST = 100
Line = tuple[str, str, float, str, float]  # what, unit, measured, beside what, that


class Command(BaseCommand):
    help = "Measures lists, acts, a unit's sums, pages and the site page, each against a floor of the same run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--inside", choices=PARTS, help="measure this part, in the data folder that is set")
        parser.add_argument("--openings", type=int, default=100_000)
        parser.add_argument("--past", type=int, nargs=2, default=PAST, metavar=("FEW", "MANY"))

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["inside"]:
            _say("what", "measured", "floor", "ratio")
            sys.exit(max(_in_a_folder_of_its_own(part) for part in PARTS))
        call_command("migrate", interactive=False, verbosity=0)
        parts = {"lists": (lambda: _lists(options["openings"]),), "acts": (_correction, _batch, _advance),
                 "units": (_unit, _material, _drawing, _sheet, _material_sheet),
                 "finding": (lambda: _finding(options["openings"]),),
                 "progress": (lambda: _progress(*options["past"]),), "pages": (lambda: _pages(options["openings"]),),
                 "site": (_site,)}
        for measure in parts[options["inside"]]:
            for what, unit, value, floor, beside in measure():
                _say(what, f"{value:,.2f} {unit}", f"{beside:,.2f} {unit}  {floor}", f"{value / beside:.2f}")


def _say(what: str, measured: str, floor: str, ratio: str) -> None:
    print(f"{what:<52}{measured:>18}   {floor:<56}{ratio:>7}", flush=True)


def _in_a_folder_of_its_own(part: str) -> int:
    """Run again on an empty folder, so that nothing kept is touched."""
    with tempfile.TemporaryDirectory(prefix="sillbook-bench-") as folder:
        (Path(folder) / "static").mkdir()  # nothing is served from it, and the web server would say so
        environment = {**os.environ, "SILLBOOK_DATA": folder, "DATABASE_URL": "", "REDIS_URL": "", "DEBUG": ""}
        command = [sys.executable, *sys.argv, "--inside", part]
        return subprocess.run(command, env=environment, check=False).returncode  # noqa: S603


def _lists(count: int) -> Iterator[Line]:
    rows.openings(count, Stage.TO_BE_MEASURED, "T")
    token = AccessToken.objects.create(user=rows.office(), name="bench")[1]
    headers = {"Authorization": f"Bearer {token}"}
    database = str(connection.settings_dict["NAME"])
    connection.close()
    with served("dashboard.benching.bare", BENCH_DATABASE=database) as port:
        bare = requests_a_second(port, "/", {})
        whole = requests_a_second(port, "/whole/", {})
    with served("dashboard.wsgi") as port:
        first = requests_a_second(port, OPENINGS, headers)
        yield "openings, 50 rows, signed in", "req/s", first, "bare SQL and orjson, 11 columns", bare
        yield "openings, 50 rows, signed in", "req/s", first, "bare SQL and orjson, the same 19 columns", whole
        mark = answer_to(port, OPENINGS, headers)[0]["ETag"]
        same = requests_a_second(port, OPENINGS, {**headers, "If-None-Match": mark}, status=304)
        yield "the same, nothing changed (304): time", "ms", 4000 / same, "its 200", 4000 / first
        far = requests_a_second(port, _page(port, headers, 1000, count), headers)
        yield "page 1,000: time", "ms", 4000 / far, "page 1", 4000 / first


def _page(port: int, headers: dict[str, str], number: int, count: int) -> str:
    """The address of a page far down: followed in pages of 200, as a reader would."""
    path = "/api/v1/openings/?page_size=200"
    for _ in range(min(number * 50, count - 200) // 200):
        following = orjson.loads(answer_to(port, path, headers)[1])["next"]
        path = following if following.startswith("/") else "/" + following.split("/", 3)[3]
    return path.replace("page_size=200", "page_size=50")


def _batch() -> Iterator[Line]:
    judged, bare = batch_of_entries(1000)
    yield "1,000 site entries, checked and judged", "ms", judged, "executemany of the same rows", bare


def _advance() -> Iterator[Line]:
    advanced, bare = one_advance()
    yield "advancing an opening, all its checks judged", "ms", advanced, "one update and one insert, committed", bare


def _correction() -> Iterator[Line]:
    corrected, solver = correction_of_a_floor()
    yield "floor correction, 60 stations on two lines", "ms", corrected, "the solver alone, its three plans", solver


def _unit() -> Iterator[Line]:
    whole, sums = one_unit()
    yield "a unit of six panels, all that follows", "ms", whole, "its sums alone", sums


def _material() -> Iterator[Line]:
    forty, one = material_of_a_job()
    yield "a job's material, 40 openings", "ms", forty, "one opening's", one


def _drawing() -> Iterator[Line]:
    whole, numbers = one_drawing()
    yield "the plan of eight panels, as SVG", "ms", whole, "its numbers alone", numbers


def _sheet() -> Iterator[Line]:
    whole, alone = one_sheet()
    yield "an opening sheet, from the record to the PDF", "ms", whole, "the typesetter alone, the same page", alone


def _material_sheet() -> Iterator[Line]:
    forty, one = material_sheet()
    yield "a job's material sheet, 40 openings", "ms", forty, "one opening's", one


def _finding(count: int) -> Iterator[Line]:
    found, looked_up = one_finding(count)
    yield f"finding one of {count:,} from a scrap with a slip", "ms", found, "looking one up by its id", looked_up


def _progress(few: int, many: int) -> Iterator[Line]:
    rows.openings(ACTIVE, Stage.TO_BE_MEASURED, "A")
    today = dt.datetime.now(dt.UTC).date()
    rows.give_all_active_to_crews(CREWS, today)
    rows.openings(few, Stage.ACCEPTED, "P")
    rows.give_all_past_to_crews(CREWS, today)
    before, needed = _crew_progress_time(), _needs_time()
    rows.openings(many - few, Stage.ACCEPTED, "Q")
    rows.give_all_past_to_crews(CREWS, today)
    after = _crew_progress_time()
    yield f"crew progress, {ACTIVE:,} active, {many:,} past", "ms", after, f"with {few:,} past", before
    yield f"what needs somebody, {ACTIVE:,} active, {many:,} past", "ms", _needs_time(), f"with {few:,} past", needed


def _pages(many: int) -> Iterator[Line]:
    call_command("collectstatic", interactive=False, verbosity=0)
    make_demo(dt.datetime.now(dt.UTC), 1)
    for before, after in pages(SHORT_PAST, many):
        if before.queries != after.queries:
            raise RuntimeError(f"{after.name} asks {after.queries} times with a long past, {before.queries} without")
        yield (f"page {after.name}, {many:,} past, {after.queries} queries, {after.kilobytes:.0f} kB", "ms",
               after.milliseconds, f"with {SHORT_PAST} past", before.milliseconds)


def _site() -> Iterator[Line]:
    if lacks := missing():
        print(f"The site page is measured in a browser, and {lacks} is not installed.", file=sys.stderr)
        return
    call_command("collectstatic", interactive=False, verbosity=0)
    make_demo(dt.datetime.now(dt.UTC), 1)
    yield from site_page()


def _crew_progress_time() -> float:
    now = dt.datetime.now(dt.UTC)
    act = Act.of(rows.office(), now)
    return _warm(lambda: crew_progress(act, now.date()))


def _needs_time() -> float:
    act = Act.of(rows.office(), dt.datetime.now(dt.UTC))
    return _warm(lambda: what_needs_somebody(act))


def _warm(work: Callable[[], Any]) -> float:
    work()
    return milliseconds(work, 7)

