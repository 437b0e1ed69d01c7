"""Settings on pages: the company's, the limits checks are held to with who set them when, and one's own."""

import datetime as dt

import pytest
from django.urls import reverse

from inspections.models import Check, Inspection
from jobs.models import Change, OfficeSettings, User
from tests.dashboard.forms import Form, typed
from tests.factories import make_job, make_system, make_user
from tests.site import floor
from tests.visits import site_today

pytestmark = pytest.mark.django_db
SETTINGS, LIMITS, OWN = "/settings/", "/settings/limits/", "/your-settings/"


@pytest.fixture
def office(client):
    person = make_user("office")
    client.force_login(person)
    return person


def check(code="floor-rise"):
    return Check.objects.get(code=code, system=None, job=None)


def edit(code="floor-rise"):
    return reverse("limits-edit", args=[check(code).pk])


def errors(response):
    assert response.status_code in (409, 422)
    return response.context["form"].errors


# ---- the company -----------------------------------------------------------------------------------------


def test_the_company_is_kept_and_its_holidays_are_shown(client, office):
    sent = typed(client, SETTINGS)
    assert (sent["version"], sent["working_days"]) == ("1", ["0", "1", "2", "3", "4"]), "before anybody has decided"
    sent |= {"company": "Marrow Doors", "holiday_region": "us", "reminder_interval_days": "2", "shims": "1/16\", 3 mm",
             "working_days": ["0", "1", "2", "3"], "site_address": "https://sillbook.example/"}
    assert client.post(SETTINGS, sent)["Location"] == SETTINGS
    kept = OfficeSettings.current()
    assert (kept.company, kept.holiday_region, kept.reminder_interval_days, kept.shims, kept.working_days) == (
        "Marrow Doors", "US", 2, ['1/16"', "3 mm"], "1111000")
    shown = client.get(SETTINGS)
    assert "New Year&#x27;s Day" in str(shown.content.decode())
    before = OfficeSettings.objects.values().get()
    assert client.post(SETTINGS, typed(client, SETTINGS)).status_code == 302
    assert OfficeSettings.objects.values().get() == before, "sent back as it is, it changes nothing"


@pytest.mark.parametrize(("over", "at_field", "says"), [
    ({"time_zone": "Mars/Base"}, "time_zone", "No such time zone"), ({"time_zone": ""}, "time_zone", "needed"),
    ({"holiday_region": "nowhere"}, "holiday_region", "US-CA"), ({"shims": "thick"}, "shims", "[0]"),
    ({"reminder_interval_days": "0"}, "reminder_interval_days", "1 to 60"),
    ({"reply_address": "the office"}, "reply_address", "such as"),
    ({"site_address": "javascript:alert(1)"}, "site_address", "such as"),
])
def test_what_cannot_hold_is_refused_at_its_field_and_stays_typed(client, office, over, at_field, says):
    sent = typed(client, SETTINGS) | {"company": "Marrow Doors"} | over
    refused = client.post(SETTINGS, sent)
    assert says in errors(refused)[at_field]
    again = Form(refused.content.decode()).sent
    assert {name: again[name] for name in sent} == sent
    assert not OfficeSettings.objects.exists()


def test_of_two_the_second_is_told_and_keeps_what_was_typed(client, office):
    sent = typed(client, SETTINGS)
    client.post(SETTINGS, sent | {"company": "Marrow Doors"})
    late = client.post(SETTINGS, sent | {"company": "Other Doors"})
    assert late.status_code == 412
    assert "Name: now “Marrow Doors”, typed here “Other Doors”." in late.content.decode()
    assert Form(late.content.decode()).sent["version"] == "2"


# ---- limits ----------------------------------------------------------------------------------------------


def test_every_shipped_limit_is_shown_with_its_source_in_the_order_of_the_stages(client, office):
    stages = client.get(LIMITS).context["stages"]
    assert [stage for stage, _checks in stages] == [
        "Opening verified", "Frame set", "Panels hung", "Adjusted", "Sealed", "The pocket closes"]
    shown = {(c.check.code, limit.name): limit for _stage, checks in stages for c in checks for limit in c.limits}
    shipped = {(row.code, name) for row in Check.objects.all() for name in row.limits}
    assert set(shown) == shipped
    assert all(limit.source and limit.value for limit in shown.values())
    rise = shown["floor-rise", "rise_in_a_foot"]
    assert (rise.what, rise.value, rise.source) == ("Rise in a foot", '1/16"', "Common practice, no published source.")
    assert shown["size", "clearance_least"].value == "no limit set"
    assert shown["joints-sealed", "dew_margin"].value == "5.4 °F"


@pytest.mark.parametrize("units", ["in", "mm"])
def test_what_is_shown_and_sent_back_changes_nothing(client, office, units):
    User.objects.update(units=units)
    for code in ("size", "floor-bed", "force", "joints-sealed", "longest-fastener"):
        row = check(code)
        url = reverse("limits-edit", args=[row.pk])
        assert client.post(url, typed(client, url)).status_code == 302
        assert (Check.objects.get(pk=row.pk).limits, Check.objects.get(pk=row.pk).version) == (row.limits, 1)
    assert not Change.objects.exists()


def test_a_changed_limit_keeps_who_and_when_and_what_it_was(client, office):
    sent = typed(client, edit()) | {"limits.rise_in_a_foot": "3/32", "limits.rise_in_a_foot.source": "our own floors"}
    assert client.post(edit(), sent).status_code == 302
    assert check().limits["rise_in_a_foot"] == {"value": "2.38125 mm", "source": "our own floors"}
    changed = client.get(edit()).context["changes"]
    assert [(one.what, one.by, one.was, one.now) for one in changed] == [
        ("Rise in a foot", office.name, '1/16" (common practice, no published source)', '3/32" (our own floors)')]
    shown = client.get(LIMITS).content.decode()
    assert f"set by {office.name}" in shown
    emptied = typed(client, edit()) | {"limits.rise_in_a_foot": "", "limits.rise_in_a_foot.source": "the systems say"}
    client.post(edit(), emptied)
    assert client.get(edit()).context["changes"][0].now == "no limit set (the systems say)"


def test_what_was_verified_before_keeps_its_verdict_and_its_limits(client, office):
    site = site_today()
    site.read("floor-profile", floor([0, 2, 0]))
    before = Inspection.objects.values().get()
    assert before["result"] == "fail"
    client.post(edit(), typed(client, edit()) | {"limits.rise_in_a_foot": "1/8", "limits.rise_in_a_foot.source": "x"})
    assert Inspection.objects.values().get() == before


@pytest.mark.parametrize(("over", "at_field", "says"), [
    ({"limits.rise_in_a_foot": "wide"}, "limits.rise_in_a_foot", ""),
    ({"limits.rise_in_a_foot": "-1/8"}, "limits.rise_in_a_foot", "negative"),
    ({"limits.rise_in_a_foot": "1/8", "limits.rise_in_a_foot.source": " "}, "limits.rise_in_a_foot.source", "needed"),
])
def test_a_limit_that_cannot_be_is_refused_at_its_field(client, office, over, at_field, says):
    sent = typed(client, edit()) | over
    refused = client.post(edit(), sent)
    assert says in errors(refused)[at_field]
    assert {name: Form(refused.content.decode()).sent[name] for name in sent} == sent
    assert check().version == 1


def test_of_two_who_set_a_limit_the_second_is_told(client, office):
    sent = typed(client, edit())
    for value, status in (("3/32", 302), ("1/8", 412)):
        last = client.post(edit(), sent | {"limits.rise_in_a_foot": value, "limits.rise_in_a_foot.source": "ours"})
        assert last.status_code == status
    assert "Rise in a foot: now “3/32&quot;”, typed here “1/8”." in last.content.decode()


def test_systems_and_jobs_that_say_otherwise_are_counted(client, office):
    own = {"rack": {"value": "3 mm", "source": "page 4"}}
    Check.objects.create(code="rack", system=make_system(), limits=own)
    for _ in range(2):
        Check.objects.create(code="rack", job=make_job(), limits=own)
    shown = client.get(LIMITS).content.decode()
    assert "otherwise for 1 door system and 2 jobs" in shown


# ---- one's own -------------------------------------------------------------------------------------------


def test_each_says_how_they_read_and_what_they_are_told(client):
    person = make_user("lead")
    client.force_login(person)
    sent = typed(client, OWN)
    assert (sent["units"], sent["mail_own"], "mail_others" in sent) == ("in", ["yes"], False)
    del sent["mail_own"]
    assert client.post(OWN, sent | {"units": "mm"}).status_code == 302
    person.refresh_from_db()
    assert (person.units, person.mail_own, person.mail_others, person.version) == ("mm", False, True, 2)
    assert Change.objects.get().more == {"fields": ["mail_own", "units"]}


def test_the_office_says_whether_it_hears_of_what_others_let_go_by(client, office):
    sent = typed(client, OWN)
    del sent["mail_others"]
    client.post(OWN, sent)
    office.refresh_from_db()
    assert (office.mail_own, office.mail_others) == (True, False)


def test_nothing_else_of_oneself_is_changed_there(client):
    person = make_user("guest")
    client.force_login(person)
    client.post(OWN, typed(client, OWN) | {"role": "office", "is_active": "", "name": "Boss", "username": "boss"})
    before = (person.role, person.is_active, person.name, person.username)
    person.refresh_from_db()
    assert (person.role, person.is_active, person.name, person.username) == before


def test_ones_own_settings_changed_in_two_places_are_told(client):
    person = make_user("lead", email="")
    client.force_login(person)
    sent = typed(client, OWN)
    client.post(OWN, sent | {"units": "mm"})
    late = client.post(OWN, sent | {"time_zone": "America/Denver"})
    assert late.status_code == 412
    assert Form(late.content.decode()).sent["time_zone"] == "America/Denver"
    assert "nothing reaches you" in late.content.decode()
    assert "units" in errors(client.post(OWN, typed(client, OWN) | {"units": "ells"}))


# ---- who, and how often ----------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_what_the_company_decides_is_the_offices(client, role):
    client.force_login(make_user(role))
    for url in (SETTINGS, LIMITS, edit()):
        assert client.get(url).status_code == 403
        assert client.post(url, {"version": "1", "company": "x"}).status_code in (403, 405)
    assert not Change.objects.exists()


def test_of_a_systems_own_check_and_of_one_without_limits_there_is_no_such_page(client, office):
    own = Check.objects.create(code="rack", system=make_system(), limits={})
    for row in (own, check("header-in")):
        assert client.get(reverse("limits-edit", args=[row.pk])).status_code == 404


@pytest.mark.parametrize("rows", [2, 12])
def test_the_pages_ask_the_same_number_of_times_however_many_there_are(
        client, office, rows, django_assert_num_queries):
    for n in range(rows):
        Check.objects.create(code="rack", job=make_job(), limits={"rack": {"value": "3 mm", "source": "page 4"}})
        Change.objects.create(position=n + 1, at=dt.datetime.now(dt.UTC), what="limit changed", record="checks",
                              record_id=str(check().pk), by=office, more={"limit": "rise_in_a_foot", "was": None,
                                                                          "now": {"value": "3 mm", "source": "x"}})
    for url, asked in ((LIMITS, 6), (edit(), 5), (SETTINGS, 4), (OWN, 4)):
        with django_assert_num_queries(asked):
            client.get(url)
