"""Finding among very many openings: what they are found by is made by the product's own function."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable
from itertools import cycle
from typing import Any

from django.db import connection, transaction

from dashboard.benching import rows
from dashboard.benching.timing import milliseconds
from jobs.acts import Act
from jobs.calc.scraps import spellings
from jobs.models import Job, Opening, Party
from jobs.services.finding import find, words_of_openings

FIRST = ("Ansel", "Bryn", "Corin", "Dova", "Elsin", "Ferro", "Gwill", "Hanne", "Ivo", "Jorun", "Kesta", "Lune")
SYLLABLES = ("mar", "row", "tol", "ven", "cas", "der", "bri", "lun", "hal", "os", "wick", "ford", "gate", "more")
WAYS = ("Street", "Road", "Avenue", "Lane", "Court", "Terrace")
EACH = 4  # openings of a job
SCRAPS = 40


def made_up(chance: random.Random, parts: int) -> str:
    return "".join(chance.choice(SYLLABLES) for _ in range(parts)).capitalize()


def openings_to_find(count: int) -> None:
    """So many openings of made-up owners in made-up streets of forty towns."""
    chance = random.Random(7)  # noqa: S311
    towns = [f"{made_up(chance, 2)} {chance.choice(('Bay', 'Hill', 'Mills', 'Cross'))}" for _ in range(40)]
    jobs = count // EACH
    Party.objects.bulk_create([Party(
        kind="owner", name=f"{chance.choice(FIRST)} {made_up(chance, 3)}",
        phone=f"(555) {chance.randrange(200, 999)}-01{chance.randrange(100):02}") for _ in range(jobs)], 2000)
    owners = list(Party.objects.order_by("pk"))
    Job.objects.bulk_create([Job(
        number=f"{20 + n // 4000}-{n % 4000:04}", title=f"{made_up(chance, 2)} house", owner=owner,
        address=f"{chance.randrange(1, 400)} {made_up(chance, 2)} {chance.choice(WAYS)}, {chance.choice(towns)}")
        for n, owner in enumerate(owners)], 2000)
    keys = list(Job.objects.order_by("pk").values_list("pk", flat=True))
    Opening.objects.bulk_create([Opening(job_id=job, tag=f"A{n + 1}", location="great room")
                                 for job in keys for n in range(EACH)], 2000)
    _found_by()


def _found_by() -> None:
    """The words and spellings are the product's own; only their writing is done in fewer statements."""
    known: dict[str, int] = {}
    keys = list(Opening.objects.order_by("pk").values_list("pk", flat=True))
    with transaction.atomic(), connection.cursor() as cursor:
        for n in range(0, len(keys), 2000):
            wanted = words_of_openings(keys[n:n + 2000])
            new = {text for entries in wanted.values() for text, _of in entries if text not in known}
            known |= {text: len(known) + m for m, text in enumerate(sorted(new), start=1)}
            cursor.executemany("INSERT INTO jobs_findingword (id, text) VALUES (%s, %s)",
                               [(known[text], text) for text in new])
            cursor.executemany("INSERT INTO jobs_findingspelling (key, off, word_id) VALUES (%s, %s, %s)",
                               [(key, off, known[text]) for text in new for key, off in spellings(text).items()])
            cursor.executemany("INSERT INTO jobs_findingentry (word_id, opening_id, of) VALUES (%s, %s, %s)",
                               [(known[text], pk, of) for pk, entries in wanted.items() for text, of in entries])
        cursor.execute("ANALYZE")


def one_finding(count: int) -> tuple[float, float]:
    """Milliseconds to find an opening by a scrap with a slip in it, and to look one up by its id."""
    openings_to_find(count)
    act, chance = Act.of(rows.office(), dt.datetime.now(dt.UTC)), random.Random(8)  # noqa: S311
    seen = Opening.objects.visible_to(act.user, act.role, act.today()).select_related("job__owner", "unit")
    keys = list(Opening.objects.order_by("pk").values_list("pk", flat=True))
    some = [seen.get(pk=chance.choice(keys)) for _ in range(SCRAPS)]
    typed, ids = cycle([scrap(opening, chance) for opening in some]), cycle([opening.pk for opening in some])
    finding: Callable[[], Any] = lambda: find(act, next(typed))  # noqa: E731
    return milliseconds(finding, 3 * SCRAPS), milliseconds(lambda: seen.get(pk=next(ids)), 3 * SCRAPS)


def scrap(opening: Opening, chance: random.Random) -> str:
    """Part of a name, of an address, of a number: two characters of it swapped."""
    job = opening.job
    said = chance.choice((job.owner.name, job.address.partition(",")[0], job.owner.phone, job.number, job.address,
                          f"{job.owner.name.partition(' ')[2]} {opening.tag}"))
    at = chance.randrange(1, len(said) - 1)
    return said[:at] + said[at + 1] + said[at] + said[at + 2:]
