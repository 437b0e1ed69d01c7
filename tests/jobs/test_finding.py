"""Finding an opening from any scrap of it, one slip forgiven; by contacts only for who may read all of them."""

import json
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.services.afterwards import log_callback, words_of_call
from jobs.models import FindingEntry, FindingWord, Job, Opening, Party
from jobs.services import office
from jobs.services.finding import find, refresh, refresh_others
from jobs.services.openings import make_opening
from tests.factories import act_for, give_work, make_crew, make_job, make_party, make_user
from tests.factories import make_opening as an_opening
from tests.site import Site

KEPT = json.loads((Path(__file__).parents[1] / "vectors" / "scraps.json").read_text(encoding="utf-8"))
MOST_WRONG = 10  # of two hundred

pytestmark = pytest.mark.django_db


def the_company():
    """The jobs of the scraps, with what they are found by."""
    owners = Party.objects.bulk_create([Party(kind="owner", name=j["owner"], phone=j["phone"]) for j in KEPT["jobs"]])
    jobs = Job.objects.bulk_create([Job(number=j["number"], title=j["title"], address=j["address"], owner=owner)
                                    for j, owner in zip(KEPT["jobs"], owners, strict=True)])
    Opening.objects.bulk_create([Opening(job=job, tag=tag) for job, j in zip(jobs, KEPT["jobs"], strict=True)
                                 for tag in j["tags"]])
    found = {(o.job.number, o.tag): o.pk for o in Opening.objects.select_related("job")}
    refresh(found.values())
    for call in KEPT["callbacks"]:
        refresh_others(found[call["job"], call["tag"]], words_of_call(call["number"], ""), ("call", "caller"))
    return found


@pytest.mark.database
def test_of_two_hundred_scraps_the_right_opening_is_among_the_first_five_for_a_hundred_and_ninety():
    found, act = the_company(), act_for("customer-service")
    wrong = [scrap for scrap in KEPT["scraps"]
             if found[scrap["job"], scrap["tag"]] not in find(act, scrap["typed"], "US")[:5]]
    assert (len(KEPT["scraps"]), len({scrap["kind"] for scrap in KEPT["scraps"]})) == (200, 11)
    assert len(wrong) <= MOST_WRONG, wrong
