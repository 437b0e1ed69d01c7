"""Reports people ask for: each a table that sorts, a plot, a filter and files, and nobody sees more than is theirs."""

import csv
import datetime as dt
import io
import re

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from dashboard import phrases
from dashboard.reports.known import REPORTS
from inspections.models import PunchItem
from inspections.services.progress import ledgers, minutes
from jobs.models import Crew, CrewMember, EarnedMinutes, Job, Opening, StageChange, TimeReport, Wait, WorkStep
from tests.factories import give_work, make_crew, make_job, make_opening, make_party, make_user
from tests.visits import queries, text

pytestmark = pytest.mark.django_db
KEYS = list(REPORTS)


def url(key, kind="", **asked):
    address = reverse("report-file", args=[key, kind]) if kind else reverse("report", args=[key])
    return address + ("?" + "&".join(f"{name}={value}" for name, value in asked.items()) if asked else "")


def told(client, person, key, **asked):
    client.force_login(person)
    answer = client.get(url(key, **asked))
    assert answer.status_code == 200
    return answer


def rows(answer):
    """Each row in words, as the page has it."""
    return [tuple(cell.text for cell in row) for row in answer.context["rows"]]


def read_csv(client, key, **asked):
    return list(csv.reader(io.StringIO(client.get(url(key, "csv", **asked)).content.decode("utf-8-sig"))))


class Work:
    """An opening whose frame was set today, with hours, a wait that was cleared and one that was not, and items of
    two causes."""

    def __init__(self, title="Larch Point"):
        now, today = timezone.now(), timezone.now().date()
        self.lead, self.office = make_user("lead"), make_user()
        self.crew = make_crew(self.lead)
        self.job = make_job(title=title, contract_cents=12_345_600, time_zone="UTC")
        self.opening = make_opening(self.job, created_at=now)
        give_work(self.opening, self.crew, start_day=today, end_day=today, planned_minutes=600)
        step = self.opening.work_steps.get(stage="frame set")
        EarnedMinutes.objects.create(work_step=step, crew=self.crew, day=today, minutes=1200)
        site = {"by": self.lead, "taken_at": now, "server_time": now}
        TimeReport.objects.create(work_step=step, crew=self.crew, day=today, minutes=365, **site)
        for origin, to in (("to be measured", "opening verified"), ("opening verified", "frame set")):
            StageChange.objects.create(opening=self.opening, from_stage=origin, to_stage=to, advanced=True, **site)
        Opening.objects.filter(pk=self.opening.pk).update(stage="frame set")
        Wait.objects.create(opening=self.opening, what_for="the floor", owed_by_kind="builder", cleared_at=now,
                            owed_by=make_party(name="Quoin and Daughters"), cleared_by=self.lead, standby_minutes=90,
                            **site)
        Wait.objects.create(opening=self.opening, what_for="the glass", owed_by_kind="supplier", **site)
        for number, cause in enumerate(("ours", "transport", "ours"), start=1):
            PunchItem.objects.create(opening=self.opening, number=number, what="Scratch", cause=cause, owner=self.lead,
                                     due_day=today + dt.timedelta(days=9), **site)

    def somebody(self, role):
        """Leads and installers are on its crew."""
        person = make_user(role)
        if role in ("lead", "installer"):
            CrewMember.objects.create(crew=self.crew, user=person, from_day=dt.date(2020, 1, 1))
        return person


# ---- what they tell --------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", KEYS)
def test_with_nothing_recorded_each_says_so_or_counts_nothing(client, key):
    answer = told(client, make_user(), key)
    assert "Nothing of it on these days." in text(answer) if key != "openings-by-stage" else {
        row[-1] for row in rows(answer)} == {"0"}


def test_openings_stand_at_their_stage_at_the_end_of_the_day(client):
    site = Work()
    answer = told(client, site.office, "openings-by-stage", each="day")
    assert rows(answer)[-1][1:] == ("0", "0", "1", "0", "0", "0", "0", "0", "1")


def test_hours_are_told_by_crew_by_job_and_by_week(client):
    site = Work()
    sums = ("20 h", "10 h", "6 h 5 min", "13 h 55 min", "3.29")
    today = timezone.now().date()
    monday = today - dt.timedelta(days=today.weekday())
    names = {"crew": [site.crew.name], "job": [f"{site.job.number} Larch Point"]}
    for by, said in names.items():
        [row] = rows(told(client, site.office, "hours", by=by))
        assert row == (said[0], *sums)
        [row] = rows(told(client, site.office, "hours", by=f"{by}-week"))
        assert (row[0], row[1], row[2]) == (said[0], f"{monday.day} {monday:%b %Y}", "20 h")
    assert rows(told(client, site.office, "hours", by="week"))[0][1] == "20 h"


@pytest.mark.parametrize("by", ["crew", "job", "week", "crew-week", "job-week"])
def test_hours_of_a_file_add_up_to_the_ledgers_to_the_minute(client, by):
    Work()
    site = Work("Mill Lane")
    client.force_login(site.office)
    table = read_csv(client, "hours", by=by)
    today = timezone.now().date()
    first = today - dt.timedelta(days=today.weekday(), weeks=8)
    whole = minutes("crew", ledgers(first=first, last=today), today, first=first).values()
    for name, part in (("Earned", "earned"), ("Planned", "planned"), ("Used", "used")):
        n = table[0].index(f"{name}, minutes")
        assert sum(int(row[n]) for row in table[1:]) == sum(getattr(s, part) for s in whole), name


def test_waits_are_told_with_who_owed_them_and_what_they_cost(client):
    site = Work()
    by_owner = {row[0]: row[1:] for row in rows(told(client, site.office, "waits"))}
    assert by_owner["Quoin and Daughters, the builder"] == ("1", "0", "0", "0", "1 h 30 min")
    assert by_owner["The supplier"][:2] == ("1", "1")
    assert len(rows(told(client, site.office, "waits", by="wait"))) == 2
    [row] = rows(told(client, site.office, "waits", by="job"))
    assert (row[0], row[1]) == (f"{site.job.number} Larch Point", "2")


def test_punch_items_are_told_by_cause_crew_job_and_week(client):
    site = Work()
    assert rows(told(client, site.office, "punch-items")) == [
        ("Our work", "2", "0", "2", "0"), ("Transport", "1", "0", "1", "0")]
    for by in ("crew", "job", "week"):
        answer = told(client, site.office, "punch-items", by=by)
        assert rows(answer)[0][1:] == ("2", "0", "0", "0", "1", "0", "0", "3", "0", "3", "0"), by


def test_every_cause_has_its_words():
    assert set(phrases.CAUSES) == {cause for cause, _said in PunchItem.CAUSES}


# ---- which days, whose -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("asked", "at", "said"), [
    ({"from": "soon"}, "from", "a day, such as"), ({"to": "2026-02-31"}, "to", "a day, such as"),
    ({"from": "2026-03-09", "to": "2026-03-01"}, "to", "the day it begins, or later"),
    ({"from": "2999-01-01"}, "from", "today or before"), ({"from": "0001-01-01"}, "from", "at most two years"),
    ({"from": "2026-01-01", "to": "2026-09-01", "each": "day"}, "from", "week by week")])
def test_days_that_cannot_be_are_said_at_their_field_and_stay_as_typed(client, asked, at, said):
    key = "openings-by-stage"
    client.force_login(make_user())
    answer = client.get(url(key, **asked))
    shown = text(answer)
    assert answer.status_code == 422
    assert re.search(rf'id="f-{at}"[^>]* aria-invalid="true" aria-describedby="f-{at}-error"', shown)
    assert said in answer.context["asked"].errors[at]
    assert f'value="{asked.get(at, "")}"' in shown
    leads_back = client.get(url(key, "csv", **asked))
    assert (leads_back.status_code, leads_back.url) == (302, url(key, **asked))


@pytest.mark.parametrize("key", KEYS)
def test_what_is_not_offered_is_as_if_it_were_not_asked(client, key):
    site = Work()
    usual = rows(told(client, site.office, key))
    for odd in ({"by": "owner"}, {"crew": "9" * 20}, {"crew": "x"}, {"sort": "odd"}, {"each": "year"}, {"sort": "-"},
                {"job": "%00"}):
        assert rows(told(client, site.office, key, **odd)) == usual, odd


@pytest.mark.parametrize("key", KEYS)
def test_an_odd_job_finds_nothing_and_breaks_nothing(client, key):
    site = Work()
    for odd in ("%", "'", "<script>", "ä" * 300):
        answer = told(client, site.office, key, job=odd)
        assert "<script>" not in text(answer)
        assert rows(answer) == [] or key == "openings-by-stage"


@pytest.mark.parametrize("key", KEYS)
def test_each_is_asked_of_a_job_and_of_a_crew(client, key):
    site, _other = Work(), Work("Mill Lane")
    one = rows(told(client, site.office, key, job="larch", each="day"))
    assert one == rows(told(client, site.office, key, crew=site.crew.pk, each="day"))
    assert one != rows(told(client, site.office, key, each="day"))


def test_there_is_no_other_report_and_no_other_file(client):
    client.force_login(make_user())
    assert [client.get(address).status_code for address in (
        "/reports/profits/", "/reports/hours.pdf", "/reports/profits.csv")] == [404, 404, 404]


# ---- the table -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", KEYS)
def test_it_is_sorted_by_any_column_by_a_link_and_says_by_which(client, key):
    site = Work()
    Work()
    by = {"punch-items": "crew", "hours": "crew", "waits": "wait"}.get(key, "")
    page = told(client, site.office, key, by=by)
    for heading, query in page.context["headings"]:
        answer = client.get(f"{reverse('report', args=[key])}?{query}")
        order = re.findall(r'aria-sort="(\w+)"', text(answer))
        asked = heading.asks
        assert order == ["descending" if asked.startswith("-") else "ascending"]
        assert f'href="?{query.replace("&", "&amp;")}#table"' in page.content.decode()
        n = [h.column.key for h, _query in answer.context["headings"]].index(heading.column.key)
        values = [row.values[n] for row in answer.context["made"].table.rows if row.values[n] is not None]
        assert values == sorted(values, reverse=asked.startswith("-")), heading.column.key


def test_a_long_table_shows_its_first_lines_and_the_files_have_all(client):
    user, now = make_user(), timezone.now()
    jobs = Job.objects.bulk_create(Job(number=f"K-{n:03}", title=f"House {n}") for n in range(230))
    openings = Opening.objects.bulk_create(Opening(job=job, tag="A1") for job in jobs)
    steps = WorkStep.objects.bulk_create(WorkStep(opening=opening, stage="sealed") for opening in openings)
    TimeReport.objects.bulk_create(TimeReport(work_step=step, day=now.date(), minutes=60, by=user, taken_at=now)
                                   for step in steps)
    answer = told(client, user, "hours", by="job")
    assert len(rows(answer)) == 200
    shown = text(answer)
    assert "The first 200 of 230 lines" in shown and "210 more lines of the table are not drawn." in shown
    assert "230 h" in shown, "and all of them are added up"
    assert len(answer.content) < 200_000
    assert len(read_csv(client, "hours", by="job")) == 231


# ---- files -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", KEYS)
def test_both_files_have_the_rows_of_the_page_in_its_order(client, key):
    site = Work()
    Work()
    last = told(client, site.office, key).context["headings"][-1][0].column.key
    page = told(client, site.office, key, sort=f"-{last}")
    [as_csv, as_xlsx] = re.findall(r'href="(/reports/[^"]*\.(?:csv|xlsx)[^"]*)"', page.content.decode())
    answer = client.get(as_csv.replace("&amp;", "&"))
    table = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    made = page.context["made"].table
    assert len(table) == len(made.rows) + 1
    assert re.fullmatch(rf'attachment; filename="{key}-\d{{4}}-\d\d-\d\d-to-\d{{4}}-\d\d-\d\d\.csv"',
                        answer["Content-Disposition"])
    book = load_workbook(io.BytesIO(client.get(as_xlsx.replace("&amp;", "&")).content))
    sheet = [["" if v is None else str(v.date() if isinstance(v, dt.datetime) else v) for v in row]
             for row in book.worksheets[0].iter_rows(values_only=True)]
    assert [[_number(v) for v in row] for row in sheet] == [[_number(v) for v in row] for row in table]
    about = dict(book.worksheets[1].iter_rows(values_only=True))
    assert (about["Report"], about["For"]) == (str(REPORTS[key].title), site.office.name)


def _number(said):
    try:
        return float(said)
    except ValueError:
        return said


def test_a_name_that_begins_like_a_formula_is_only_a_name(client):
    site = Work()
    Crew.objects.filter(pk=site.crew.pk).update(name="=HYPERLINK(1)")
    client.force_login(site.office)
    assert read_csv(client, "hours")[1][0] == "'=HYPERLINK(1)"


@pytest.mark.parametrize("name", ["<b>Alder</b> & \"sons\"", "W" * 80, "🚪" * 40])
def test_a_name_of_any_kind_is_shown_as_text_and_breaks_no_plot(client, name):
    site = Work()
    Crew.objects.filter(pk=site.crew.pk).update(name=name)
    shown = told(client, site.office, "hours").content.decode()
    assert "<b>Alder" not in shown
    assert len(re.findall('<g class="bar">', shown)) == 2, "drawn wide and slim"


# ---- who sees what ---------------------------------------------------------------------------------------


def test_a_guest_sees_no_hours_no_names_and_no_crews(client):
    site = Work()
    guest = site.somebody("guest")
    client.force_login(guest)
    assert "Hours earned" not in text(client.get("/reports/"))
    assert [client.get(url("hours", kind)).status_code for kind in ("", "csv", "xlsx")] == [403, 403, 403]
    shown = text(told(client, guest, "waits"))
    assert "Quoin" not in shown and "Standby" not in shown and "The builder" in shown
    assert "tandby" not in client.get(url("waits", "csv")).content.decode()
    for key in ("waits", "punch-items", "openings-by-stage"):
        assert site.crew.name not in text(told(client, guest, key, by="crew", crew=site.crew.pk)), key


@pytest.mark.parametrize("role", ["lead", "installer"])
def test_a_crew_sees_its_own_hours_and_openings(client, role):
    site, other = Work(), Work()
    person = site.somebody(role)
    helping = make_crew()
    give_work(site.opening, helping)
    EarnedMinutes.objects.create(work_step=site.opening.work_steps.first(), crew=helping, day=timezone.now().date(),
                                 minutes=60)
    assert [row[0] for row in rows(told(client, person, "hours"))] == [site.crew.name]
    assert [name for _pk, name in told(client, person, "hours").context["crews"]] == [site.crew.name]
    assert other.job.number not in text(told(client, person, "hours", by="job"))
    assert rows(told(client, person, "openings-by-stage", each="day"))[-1][-1] == "1"
    assert len(rows(told(client, person, "waits", by="wait"))) == 2
    assert other.crew.name not in text(told(client, person, "punch-items", by="crew"))


def test_no_report_has_money_in_it(client):
    site = Work()
    for key in KEYS:
        assert "123,456" not in text(told(client, site.office, key, by="job"))
        assert b"123456" not in client.get(url(key, "csv", by="job")).content


# ---- queries ---------------------------------------------------------------------------------------------

QUERIES = {"openings-by-stage": 8, "hours": 9, "waits": 5, "punch-items": 5}


@pytest.mark.parametrize("key", KEYS)
def test_it_takes_as_many_queries_for_ten_jobs_as_for_twenty(client, key):
    user = make_user()
    client.force_login(user)

    def ten_more():
        for _ in range(10):
            opening, crew = make_opening(make_job()), make_crew()
            give_work(opening, crew, start_day=timezone.now().date(), end_day=timezone.now().date())
            PunchItem.objects.create(opening=opening, number=1, what="Scratch", owner=user, by=user,
                                     taken_at=timezone.now(), due_day=timezone.now().date())

    ten_more()
    ten = queries(client, url(key))
    by_job = queries(client, url(key, by="job"))
    ten_more()
    assert queries(client, url(key)) == ten == QUERIES[key]
    assert queries(client, url(key, by="job")) == by_job
