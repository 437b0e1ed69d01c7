"""Finding an opening: what a result shows, to whom."""

import pytest

from dashboard.calls.rows import RANKS
from inspections.services.afterwards import log_callback
from jobs.models import Job, Opening
from jobs.services.finding import refresh
from jobs.stages import Stage
from tests.factories import make_job, make_opening, make_party, make_user
from tests.visits import as_role, at, queries, site_today, text

pytestmark = pytest.mark.django_db
FIND = "/find/"


def a_house(stage=Stage.TO_BE_MEASURED):
    """An opening with an owner, found from now on."""
    site = site_today(stage, tag="A2", location="great room")
    owner = make_party("owner", name="Maud Ansel", phone="(212) 555-0187")
    Job.objects.filter(pk=site.opening.job_id).update(owner=owner, address="14 Harbor Street", title="Cedar house")
    refresh([site.opening.pk])
    site.opening.refresh_from_db()
    return site


def shown(client, person, typed):
    client.force_login(person)
    answer = client.get(FIND, {"q": typed})
    assert answer.status_code == 200
    return answer


def test_a_result_shows_job_tag_address_stage_the_day_it_was_accepted_and_the_last_call(client):
    site = a_house(Stage.ACCEPTED)
    call = log_callback(site.act(site.office), site.opening.pk, severity="water", symptom="Wet at the sill.")
    page = text(shown(client, as_role(site, "customer-service"), "ansle harbor"))
    for words in (f"{site.opening.job.number} · A2", "Cedar house, great room", "Maud Ansel", "(212) 555-0187",
                  "14 Harbor Street", "Accepted, ", "Warranty from", call.number, "water in", "open</span>",
                  f'href="{at(site, "call")}"', f'href="/callbacks/{call.pk}/"', '<svg class="elevation"'):
        assert words in page, words


@pytest.mark.parametrize("role", ["guest", "installer", "lead"])
def test_nothing_of_people_is_found_by_or_shown_to_who_may_not_read_all_of_it(client, role):
    site = a_house()
    person = as_role(site, role)
    for typed in ("ansel", "harbor", "0187"):
        assert "Nothing like" in text(shown(client, person, typed))
    page = text(shown(client, person, "cedar"))
    assert f'href="{at(site)}"' in page, "it leads to the record: a call is not theirs to take"
    assert not any(words in page for words in ("Ansel", "Harbor", "0187", "555"))


def test_what_is_only_near_stands_apart(client):
    site = a_house()
    near = make_opening(make_job(title="Cedan barn"))
    refresh([near.pk])
    page = text(shown(client, site.office, "cedar"))
    assert page.index("Cedar house") < page.index("Nearly so:") < page.index("Cedan barn")
    assert "Nothing with just" in text(shown(client, site.office, "cedaf"))
    assert "Nearly so" not in text(shown(client, site.office, "barn"))


def test_it_is_a_plain_form_that_keeps_what_was_typed_and_runs_nothing(client):
    site = a_house()
    page = text(shown(client, site.office, '"><script>alert(1)</script>'))
    assert "<script>alert" not in page
    assert "Nothing like" in page
    assert client.post(FIND).status_code == 405


@pytest.mark.parametrize("typed", ["\x00", "a" * 5000, "%", "'; --", "²", "\U0001f600", " " * 300])
def test_whatever_is_asked_is_answered(client, typed):
    shown(client, make_user("office"), typed)


def test_without_a_word_it_asks_for_one(client):
    page = text(shown(client, make_user("office"), ""))
    assert "the last four of a telephone" in page
    assert "Nothing like" not in page


def test_it_takes_as_many_statements_for_eight_results_as_for_one(client):
    office = make_user("office")
    client.force_login(office)
    counted = []
    for count, typed in ((1, "quayside"), (12, "pierhead")):
        made = [make_opening(job=make_job(title=typed)) for _ in range(count)]
        refresh([opening.pk for opening in made])
        counted.append(queries(client, f"{FIND}?q={typed}"))
        assert len(client.get(FIND, {"q": typed}).context["rows"]) == min(count, 8)
    assert counted == [14, 14]


def test_among_equals_what_was_called_about_comes_first(client):
    made = [make_opening(job=make_job(title="Quayside")) for _ in range(4)]
    refresh([opening.pk for opening in made])
    Opening.objects.filter(pk=made[1].pk).update(called_back=True)
    rows = shown(client, make_user("office"), "quayside").context["rows"]
    assert [row.opening.pk for row in rows] == [made[n].pk for n in (1, 3, 2, 0)]


def test_how_bad_a_call_is_ranks_as_the_record_says():
    assert list(RANKS) == ["cannot-be-secured", "broken-glass", "water", "drags", "looks"]
