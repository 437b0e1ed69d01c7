"""Finding an opening from any scrap of it, one slip forgiven; by contacts only for who may read all of them."""

import json
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.services.afterwards import log_callback, words_of_call
from jobs.models import FindingEntry, FindingWord, Job, Opening, Party
from jobs.services import office
from jobs.services.finding import find, look_up, refresh, refresh_others
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


# ---- kept up by the acts themselves ----------------------------------------------------------------------


def a_house(act, **over):
    owner = office.create(act, Party, {"kind": "owner", "name": "Maud Ansel", "phone": "(212) 555-0187"},
                          record="parties")
    job = office.create(act, Job, {"number": "J-7301", "title": "Cedar house", "owner": owner,
                                   "address": "14 Harbor Street, Marrow Bay", **over}, record="jobs")
    return owner, job, make_opening(act, {"job": job, "tag": "A2", "location": "great room"})


@pytest.mark.parametrize("typed", ["ansel", "asnel", "harbr", "marrow", "555-0187", "J-7301", "cedar a2", "great room",
                                   "HARBOR ST", "14 harbour street"])
def test_an_opening_is_found_from_the_moment_it_is_made(typed):
    act = act_for("office")
    _owner, _job, opening = a_house(act)
    assert find(act, typed, "US")[:1] == [opening.pk]


def test_what_is_changed_is_found_by_its_new_words_and_no_more_by_its_old_ones():
    act = act_for("office")
    owner, job, opening = a_house(act)
    office.change(act, owner, {"name": "Bea Thistle"}, version=1, record="parties")
    office.change(act, job, {"address": "3 Whelk Rise"}, version=1, record="jobs")
    office.change(act, opening, {"tag": "K9"}, version=1, record="openings")
    assert [find(act, typed) for typed in ("thistle", "whelk", "k9")] == [[opening.pk]] * 3
    assert [find(act, typed) for typed in ("ansel", "harbor", "marrow")] == [[]] * 3
    assert not FindingWord.objects.filter(text__in=["ansel", "harbor", "maudansel"]).exists(), "nowhere kept"


def test_a_change_that_has_nothing_to_do_with_it_touches_no_word():
    act = act_for("office")
    _owner, job, _opening = a_house(act)
    with CaptureQueriesContext(connection) as seen:
        office.change(act, job, {"access_notes": "by the side gate"}, version=1, record="jobs")
    assert not [query["sql"] for query in seen if "finding" in query["sql"]]


def test_of_an_opening_that_is_removed_no_word_is_left():
    act = act_for("office")
    _owner, _job, opening = a_house(act)
    office.remove(act, opening, version=1, record="openings")
    assert (FindingEntry.objects.count(), FindingWord.objects.count()) == (0, 0)


def test_an_opening_is_found_by_its_callback_and_by_who_called():
    site = Site()
    Opening.objects.filter(pk=site.opening.pk).update(stage="accepted")
    log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="It drags.", caller="Perpetua Vane")
    act = site.act(site.office)
    assert [find(act, typed) for typed in ("C-0001", "c1", "perptua", "vane")] == [[site.opening.pk]] * 4


# ---- who finds what --------------------------------------------------------------------------------------


CONTACTS = ("ansel", "harbor", "marrow bay", "0187", "2125550187")


@pytest.mark.parametrize("role", ["guest", "installer", "lead"])
def test_by_contacts_only_those_find_who_may_read_all_of_them(role):
    _owner, _job, opening = a_house(act_for("office"))
    person = make_user(role)
    give_work(opening, make_crew(person))
    act = act_for(person)
    assert [find(act, typed, "US") for typed in CONTACTS] == [[]] * len(CONTACTS)
    assert find(act, "cedar a2") == [opening.pk]
    service = act_for("customer-service")
    assert [find(service, typed, "US") for typed in CONTACTS] == [[opening.pk]] * len(CONTACTS)


def test_a_crew_finds_only_its_own_openings():
    _owner, job, opening = a_house(act_for("office"))
    other = make_opening(act_for("office"), {"job": job, "tag": "A3"})
    person = make_user("lead")
    give_work(other, make_crew(person))
    assert find(act_for(person), "cedar") == [other.pk]
    assert find(act_for("lead"), "cedar") == []
    assert set(find(act_for("guest"), "cedar")) == {opening.pk, other.pk}


# ---- however much there is -------------------------------------------------------------------------------


def many(count):
    owner = make_party("owner", name="The Marrow company", phone="555-0101")
    made = [an_opening(job=make_job(owner=owner, address="Quay Road")) for _ in range(count)]
    refresh([opening.pk for opening in made])


def test_it_asks_the_database_as_often_for_many_openings_as_for_few():
    act = act_for("office")
    many(3)
    counted = []
    for more in (0, 40):
        many(more)
        with CaptureQueriesContext(connection) as seen:
            assert find(act, "marow quay")
        counted.append(len(seen))
    assert counted == [4, 4]


def test_nothing_is_found_by_nothing():
    assert [find(act_for("office"), typed) for typed in ("", "   ", "·", "zzzz")] == [[]] * 4


def test_what_stands_there_as_typed_is_told_apart_from_what_is_only_near():
    act = act_for("office")
    here, near, _other = (a_house(act, number=f"J-730{n}", title=title, address="")[2].pk
                          for n, title in enumerate(("Thistle house", "Thistly house", "Whelk house")))
    found = look_up(act, "thistle")
    assert (found.openings, found.near) == ((here, near), {near})
    assert look_up(act, "thisle").near == {here}
    assert look_up(act, "thist").near == frozenset(), "a beginning is no slip"


@pytest.mark.parametrize("typed", ["tel 555-0187", "Phone: 212 555 0187", "7301a2", "j7301A2"])
def test_what_people_write_before_a_number_or_run_together_is_read(typed):
    act = act_for("office")
    _owner, _job, opening = a_house(act)
    found = look_up(act, typed, "US")
    assert (found.openings, found.near) == ((opening.pk,), frozenset())
