"""Who gets which page: a row for every address that is no part of the API; a new one without a row fails."""

import pytest
from django.urls import get_resolver, reverse

from dashboard.forms.acts import FORMS
from dashboard.forms.builders_link import LINK_FORMS
from dashboard.forms.calls import CALL_FORMS
from inspections.models import Callback, Check
from inspections.services.builders_link import make_link, token_of
from inspections.services.closing import raise_punch_item
from inspections.services.photos import store_photo
from jobs.models import DayOff, Delivery, Equipment, OutOfUse
from tests.dashboard.test_pages_acts import ACTS
from tests.factories import make_user
from tests.pictures import jpeg
from tests.visits import as_role, site_today

pytestmark = pytest.mark.django_db
ROLES = ("office", "lead", "installer", "customer-service", "guest", "nobody")

# Of each page, for those on the opening's crew (or of no crew at all): 2 shown, 3 refused, 5 not this way, s sign in,
# r led on.
PAGES = {
    "crew-progress": "22222s", "jobs": "22222s", "job": "22222s", "opening": "22222s", "unit": "22222s",
    "needs-somebody": "22223s",
    "unit-new": "r3333s", "inspection": "22222s",
    "drawings": "22222s", "readings": "22233s", "punch-items": "22222s", "reminders": "22223s",
    "door-systems": "22222s", "door-system": "22222s", "door-system-new": "23333s", "door-system-edit": "23333s",
    "door-system-new-edition": "23333s", "door-system-withdraw": "555555",
    "settings": "23333s", "limits": "23333s", "limits-edit": "23333s", "your-settings": "22222s",
    "crews": "23333s", "crew": "23333s", "crew-new": "23333s", "crew-edit": "23333s", "crew-member-new": "23333s",
    "crew-member": "23333s", "crew-member-remove": "555555", "day-off-new": "23333s", "day-off": "23333s",
    "day-off-remove": "555555", "people": "23333s", "person": "23333s", "person-new": "23333s", "person-edit": "23333s",
    "person-password": "23333s", "person-access": "555555", "token-revoke": "555555",
    "equipment": "22222s", "equipment-one": "22222s", "equipment-new": "23333s", "equipment-edit": "23333s",
    "equipment-out": "23333s", "out-of-use": "23333s", "out-of-use-remove": "555555",
    "photo": "22222s", "photo-thumbnail": "22222s",
    "close-punch-item": "rrrrrs", "receive-delivery": "rrrrrs", "delivery": "22222s",
    "delivery-new": "23333s", "delivery-edit": "23333s", "delivery-later": "555555",
    "sign-in": "rrrrr2", "sign-out": "555555", "your-password": "22222s",
    "opening-sheet": "22222s", "material-sheet": "22222s", "wall-sheet": "22222s", "site-report": "22222s",
    "compare": "22222s", "reports": "22222s", "report": "22222s", "report-file": "22222s",
    "find": "22222s", "call": "23323s", "callbacks": "22222s", "callback": "22222s",
    **{f"callback-{name}": "rrrrrs" for name in CALL_FORMS},
    "health": "hhhhhh",
    "assign": "23333s", "crews-weeks": "22223s",
    **{f"site{name}": "222222" for name in ("", "-words", "-worker", "-manifest")}, "site-day": "22222u",
    "site-copies": "23333s",
    "builder-link": "22333s", "for-the-builder": "222222",
    **{f"opening-{name}": "rrrrrs" for name in (*FORMS, *LINK_FORMS)},
}
ANSWERS = {"2": (200,), "3": (403,), "5": (405,), "s": (302,), "r": (302,), "h": (200, 503), "u": (401,)}
SHEETS = {"wall-sheet", "site-report", "opening-sheet", "material-sheet"}
OF_AN_OPENING = {"assign", "job", "compare", "delivery", "opening", "unit", "unit-new",
                 "drawings", "inspection", "readings",
                 "photo",
                 "photo-thumbnail", "callback"}


def page_names(patterns=None, within=""):
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        here = within + str(entry.pattern)
        if hasattr(entry, "url_patterns"):
            yield from page_names(entry.url_patterns, here)
        elif not here.startswith(("api/", "repair/")):  # with rules of their own
            yield entry.name


def test_every_page_has_its_row_and_every_row_its_page():
    assert set(page_names()) == set(PAGES)


def test_every_act_is_tried_by_every_role():
    assert set(ACTS) == set(FORMS)


@pytest.fixture
def world(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr("dashboard.pulse.alive", lambda: {"database": True})
    site = site_today()
    made = site.read("last-panel-gap", {"gap": "18"})
    photo = store_photo(site.act(), site.opening.pk, jpeg(40, 30))
    link = make_link(site.act(), site.opening.pk)
    item = raise_punch_item(site.act(), site.opening.pk, what="Scratch", owner_id=site.lead.pk,
                            due_day=site.act().today())
    delivery = Delivery.objects.create(job=site.opening.job, what="The panels")
    lifter = Equipment.objects.create(name="Lifter 1", kind="vacuum lifter")
    off = DayOff.objects.create(crew=site.crew, from_day=site.act().today(), to_day=site.act().today())
    out = OutOfUse.objects.create(equipment=lifter, from_day=site.act().today(), to_day=site.act().today())
    call = Callback.objects.create(number="C-0001", opening=site.opening, called_at=site.now, taken_by=site.office,
                                   severity="drags", symptom="It drags.")
    keys = {"call": [site.opening.pk], "callback": [call.pk],
            **{f"callback-{name}": [call.pk] for name in CALL_FORMS},
            **{name: [lifter.pk] for name in ("equipment-one", "equipment-edit", "equipment-out")},
            **{name: [out.pk] for name in ("out-of-use", "out-of-use-remove")},
            **{name: [site.crew.pk] for name in ("crew", "crew-edit", "crew-member-new")},
            **{name: [site.crew.members.first().pk] for name in ("crew-member", "crew-member-remove")},
            "token-revoke": ["00000000-0000-7000-8000-000000000000"],
            "limits-edit": [Check.objects.get(code="rack").pk],
            **{name: [off.pk] for name in ("day-off", "day-off-remove")},
            **{name: [site.lead.pk] for name in ("person", "person-edit", "person-password", "person-access")},
            "assign": [site.opening.pk], "job": [site.opening.job_id], "drawings": [site.opening.pk],
            "inspection": [site.opening.pk, made.pk], "photo": [photo.pk],
            "photo-thumbnail": [photo.pk], "readings": [site.opening.pk, "pocket"],
            **{name: [site.opening.pk] for name in ("unit", "unit-new")},
            "opening-sheet": [site.opening.pk, "a4"], "site-report": [site.opening.pk, "a4"],
            "wall-sheet": [site.opening.pk, "a4"],
            "material-sheet": [site.opening.job_id, "letter"],
            "compare": [site.opening.pk], "report": ["waits"], "report-file": ["waits", "csv"],
            "builder-link": [site.opening.pk, link.pk], "for-the-builder": [token_of(link)],
            **{name: [site.unit.system_id] for name in PAGES if name.startswith("door-system-") and name[12:] != "new"},
            "door-system": [site.unit.system_id],
            "close-punch-item": [item.pk], "delivery-new": [site.opening.job_id],
            **{name: [delivery.pk] for name in ("receive-delivery", "delivery", "delivery-edit", "delivery-later")}}
    return site, lambda name: reverse(name, args=keys.get(
        name, [site.opening.pk] if name.startswith("opening") else []))


def test_each_role_gets_the_pages_that_are_theirs(client, world):
    site, url = world
    people = {role: None if role == "nobody" else as_role(site, role) for role in ROLES}
    wrong = []
    for name, row in PAGES.items():
        for role, expected in zip(ROLES, row, strict=True):
            client.logout() if people[role] is None else client.force_login(people[role])
            got = client.get(url(name)).status_code
            wrong += [(name, role, got)] if got not in ANSWERS[expected] else []
    assert wrong == []


@pytest.mark.parametrize("role", ["lead", "installer"])
def test_to_another_crew_nothing_of_the_opening_is_there(client, world, role):
    _, url = world
    client.force_login(make_user(role))
    assert {name: client.get(url(name)).status_code for name in OF_AN_OPENING} == dict.fromkeys(OF_AN_OPENING, 404)
    assert client.post(url("close-punch-item"), {"how": "x", "version": "1"}).status_code == 404


def test_a_closed_account_is_signed_out(client, world):
    site, url = world
    client.force_login(site.lead)
    type(site.lead).objects.filter(pk=site.lead.pk).update(is_active=False)
    assert client.get(url("opening")).status_code == 302


def test_a_form_from_elsewhere_is_not_taken(client, world):
    site, url = world
    client.handler.enforce_csrf_checks = True
    client.force_login(site.office)
    assert client.post(url("opening-wait"), {"what_for": "x", "owed_by_kind": "builder"}).status_code == 403
