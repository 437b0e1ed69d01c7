"""The list of jobs, and one job."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from dashboard import phrases
from inspections.services.afterwards import log_callback
from inspections.services.waits import raise_wait
from jobs.calc import against
from jobs.models import AccessCode, Assignment, Change, Job, WorkStep
from jobs.services import office
from jobs.services.objections import standing_now
from jobs.stages import Stage
from tests.factories import give_work, make_crew, make_job, make_opening, make_party, make_unit, make_user
from tests.visits import as_role, queries, site_today, text

pytestmark = pytest.mark.django_db
LIST = "/jobs/"


def job_url(job):
    return reverse("job", args=[job.pk])


def test_without_jobs_it_says_that_there_are_none(client):
    client.force_login(make_user())
    assert "No jobs yet" in text(client.get(LIST))


def test_a_job_stands_with_its_openings_by_stage(client):
    site = site_today(Stage.OPENING_VERIFIED)
    make_opening(site.opening.job)
    client.force_login(site.office)
    shown = text(client.get(LIST))
    assert site.opening.job.title in shown
    assert "<b>1</b> to be measured" in shown
    assert "<b>1</b> opening verified" in shown


def test_it_is_searched_by_number_and_by_name(client):
    make_job(number="J-77", title="Larch Point")
    make_job(number="J-88", title="Mill Lane")
    client.force_login(make_user())
    assert "Larch Point" in text(client.get(LIST, {"q": "larch"}))
    assert "Mill Lane" not in text(client.get(LIST, {"q": "77"}))
    assert "No job with “nowhere”" in text(client.get(LIST, {"q": "nowhere"}))


@pytest.mark.parametrize("odd", ["%", "'", "\x00", "<script>", "ä" * 500])
def test_an_odd_search_is_only_a_search(client, odd):
    client.force_login(make_user())
    answer = client.get(LIST, {"q": odd, "after": odd})
    assert answer.status_code == 200
    assert "<script>" not in text(answer).replace("htmx", "")


def test_long_lists_go_on_where_they_stopped(client):
    Job.objects.bulk_create(Job(number=f"K-{n:03}", title=f"House {n}") for n in range(60))
    client.force_login(make_user())
    first = client.get(LIST)
    assert (len(first.context["jobs"]), first.context["more"]) == (50, "K-049")
    rest = client.get(LIST, {"after": "K-049"})
    assert (next(line.job.number for line in rest.context["jobs"]), rest.context["more"]) == ("K-050", "")


def test_a_lead_sees_the_jobs_of_their_crews(client):
    site, other = site_today(), site_today()
    client.force_login(site.lead)
    shown = text(client.get(LIST))
    assert site.opening.job.number in shown
    assert other.opening.job.number not in shown
    assert client.get(job_url(other.opening.job)).status_code == 404


def test_it_takes_as_many_queries_for_ten_jobs_as_for_twenty(client):
    client.force_login(make_user())
    for _ in range(10):
        make_opening()
    ten = queries(client, LIST)
    for _ in range(10):
        make_opening()
    assert queries(client, LIST) == ten == 6


# ---- one job ---------------------------------------------------------------------------------------------


def test_a_job_shows_every_stage_with_its_count(client):
    site = site_today(Stage.FRAME_SET)
    client.force_login(site.office)
    stages = dict(client.get(job_url(site.opening.job)).context["stages"])
    assert (stages["Frame set"], stages["Accepted"], len(stages)) == (1, 0, 8)


def test_a_job_without_openings_says_so(client):
    client.force_login(make_user())
    assert "No openings yet" in text(client.get(job_url(make_job())))


def a_job(**over):
    values = {"builder": make_party(name="Quoin and Daughters", phone="555-0142"), "address": "7 Invented Row",
              "contract_cents": 12_345_600, "access_notes": "Gate on the east side",
              "promised_date": dt.date(2031, 5, 6)}
    job = make_job(**{**values, **over})
    AccessCode.objects.create(job=job, what="Gate", code="4711-secret")
    return job


SEEN = {  # who reads: party and address, contract amount
    "office": (True, True), "lead": (True, False), "installer": (True, False), "customer-service": (True, False),
    "guest": (False, False)}


@pytest.mark.parametrize("role", SEEN)
def test_who_reads_contacts_and_money_of_a_job(client, role):
    contacts, money = SEEN[role]
    site = site_today()
    Job.objects.filter(pk=site.opening.job_id).update(
        **{f.attname: getattr(a_job(), f.attname) for f in Job._meta.fields
           if f.name in ("builder", "address", "contract_cents", "access_notes")})
    client.force_login(as_role(site, role))
    shown = text(client.get(job_url(site.opening.job)))
    assert [word in shown for word in ("Quoin", "555-0142", "Invented Row", "east side")] == [contacts] * 4
    assert ("123,456.00" in shown) == money


@pytest.mark.parametrize("role", SEEN)
def test_no_page_shows_an_access_code(client, role):
    job = a_job()
    client.force_login(make_user(role))
    for url in (LIST, job_url(job)):
        assert "4711" not in text(client.get(url))


def test_what_is_waited_for_stands_at_its_opening(client):
    site = site_today()
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
               expected_day=dt.date(2031, 5, 6))
    client.force_login(site.office)
    assert "Waiting on the builder: the floor, since" in text(client.get(job_url(site.opening.job)))


def test_a_job_takes_as_many_queries_for_ten_openings_as_for_twenty(client):
    job, crew, today = make_job(), make_crew(make_user("lead")), timezone.now().date()
    client.force_login(make_user())

    def ten_more(start):
        for n in range(start, start + 10):
            opening = make_opening(job, tag=f"T{n}")
            make_unit(opening, "AB")
            give_work(opening, crew, start_day=today, end_day=today)

    ten_more(0)
    ten = queries(client, job_url(job))
    ten_more(10)
    assert queries(client, job_url(job)) == ten == 29  # eleven of them for what stands against the work


def test_what_stands_against_work_given_is_seen_again_and_what_is_new_is_told(client):
    job, crew = make_job(), make_crew(make_user("lead"))
    opening = make_opening(job, tag="H1")
    today = timezone.now().date()
    work = give_work(opening, crew, start_day=today, end_day=today + dt.timedelta(days=3))
    WorkStep.objects.filter(pk=work.work_step_id).update(ready=True)
    client.force_login(make_user())
    Assignment.objects.update(against=standing_now([work.pk], today)[work.pk])
    assert "New since it was given" not in text(client.get(job_url(job)))
    WorkStep.objects.filter(pk=work.work_step_id).update(lifting_grams=300_000)
    page = text(client.get(job_url(job)))
    assert "What lifts holds 0 lb; the heaviest panel weighs" in page and "New since it was given." in page


def test_every_objection_has_its_words():
    codes = {value for name, value in vars(against).items() if name.isupper() and isinstance(value, str)}
    assert codes - set(phrases.OBJECTIONS) == {"not_ready", "crew_off", "not_a_working_day", "holiday"}


def test_the_whole_story_of_a_job_stands_on_its_page_in_the_order_it_happened(client):
    site = site_today(Stage.ACCEPTED)
    call = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="It drags.")
    client.force_login(site.office)
    page = text(client.get(job_url(site.opening.job)))
    told = page[page.index('id="history"'):]
    places = [told.index(words) for words in ("Advanced to opening verified", "Advanced to accepted",
                                              f"Callback logged: {call.number}, drags")]
    assert places == sorted(places)
    assert f'href="/callbacks/{call.pk}/">Callback logged: {call.number}, drags</a>' in told
    assert f'href="/callbacks/{call.pk}/">{call.number}, drags, since' in page[:page.index('id="history"')]


def test_a_long_story_goes_on_further_back(client):
    site = site_today()
    Change.objects.bulk_create([Change(position=10**9 + n, at=timezone.now() + dt.timedelta(minutes=n), what="told",
                                       record="assignments", record_id="1", opening=site.opening, job=site.opening.job)
                                for n in range(70)])
    client.force_login(site.office)
    last = client.get(job_url(site.opening.job)).context
    assert len(last["story"]) == 60
    earlier = client.get(job_url(site.opening.job), {"before": last["earlier"]}).context
    assert (len(earlier["story"]) >= 10, earlier["story_open"], earlier["earlier"]) == (True, True, None)
    assert client.get(job_url(site.opening.job), {"before": "²"}).status_code == 200


def test_a_crew_reads_of_a_job_only_what_happened_to_its_own_openings(client):
    site = site_today()
    other = make_opening(site.opening.job, tag="Z9")
    Change.objects.bulk_create([Change(position=10**9 + n, at=timezone.now(), what="part set aside", record="x",
                                       record_id="1", opening=opening, job=site.opening.job, more={"part": what})
                                for n, (opening, what) in enumerate(((site.opening, "head block"), (other, "cover")))])
    client.force_login(site.lead)
    page = text(client.get(job_url(site.opening.job)))
    assert ("Part set aside: head block" in page, "cover" in page) == (True, False)


@pytest.mark.parametrize(("role", "seen"), [("office", True), ("customer-service", False), ("guest", False)])
def test_that_an_access_code_changed_is_the_offices_to_read(client, role, seen):
    site = site_today()
    office.create(site.act(site.office), AccessCode, {"job": site.opening.job, "what": "gate", "code": "4711"},
                  record="access-codes")
    client.force_login(as_role(site, role))
    story = client.get(job_url(site.opening.job)).context["story"]
    assert any("code" in line.what for line in story) is seen
