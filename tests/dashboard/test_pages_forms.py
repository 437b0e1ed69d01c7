"""Every form of every page: sent twice, after the session has ended, opened before one signed in again, and wrong.

What is done to an opening is tried in `test_pages_acts`; of the others there is a row here for each address that takes
something. A new one without a row fails.
"""

import inspect
import re
from html.parser import HTMLParser
from urllib.parse import urlsplit

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import get_resolver, reverse

from dashboard.forms.acts import FORMS
from inspections.models import Check
from inspections.services.afterwards import book_return_trip, log_callback
from inspections.services.builders_link import make_link, report_corrected, token_of
from inspections.services.closing import raise_punch_item
from inspections.services.parts import make_part
from jobs.acts import Act
from jobs.models import Change, DayOff, Delivery, Equipment, Opening, OutOfUse
from jobs.services.tokens import make_token
from tests.dashboard.test_pages_roles import page_names
from tests.factories import MADE, give_work, make_opening, make_system, make_user
from tests.pictures import jpeg
from tests.visits import at, site_day, site_today, text

pytestmark = pytest.mark.django_db
PASSWORD = "a long enough password"
# Nothing is recorded by them, see `test_pages_sign_in`; or what is carries its own ids, see `test_site_copies`.
ELSEWHERE = {"sign-in", "sign-out", "your-password", "site-copies"}


class Forms(HTMLParser):
    """Each form of a page with what a browser would send of it: where to, and what stands in its fields."""

    def __init__(self, page, address):
        super().__init__()
        self.address, self.forms, self.open, self.select, self.area = address, [], None, "", ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        name = given.get("name")
        if tag == "form":
            self.open = (given.get("action") or self.address, {})
            self.forms += [self.open] if given.get("method") == "post" else []
        elif tag == "option" and self.open and ("selected" in given or not self.open[1][self.select]):
            self.open[1][self.select] = [given.get("value") or ""]
        elif self.open is None or name is None or name == "csrfmiddlewaretoken":
            return
        elif tag == "input" and (given.get("type") not in ("checkbox", "radio") or "checked" in given):
            self.open[1].setdefault(name, []).append(given.get("value") or "")
        elif tag == "select":
            self.select = name
            self.open[1].setdefault(name, [])
        elif tag == "textarea":
            self.area = name
            self.open[1][name] = [""]

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag):
        self.open = None if tag == "form" else self.open
        self.area = "" if tag == "textarea" else self.area

    def handle_data(self, data):
        if self.area and self.open:
            self.open[1][self.area][0] += data


def form_on(client, page, address, marks=None, shown=None):
    """The form of that page which is sent to this address, with these values in it, as it stands there."""
    shown = client.get(page) if shown is None else shown
    marks = {name: [value] for name, value in (marks or {}).items()}
    found = [sent for where, sent in Forms(shown.content.decode(), page).forms
             if urlsplit(where).path == address and marks.items() <= sent.items()]
    assert found, f"no form on {page} goes to {address}"
    return found[0]


class Made:
    """A site with something of everything that a form is about."""

    def __init__(self):
        self.site = site_today()
        act, self.opening = self.site.act(self.site.office), self.site.opening
        self.today = site_day(self.site)
        self.crew, self.member = self.site.crew, self.site.crew.members.first()
        self.lifter = Equipment.objects.create(name="Lifter 1", kind="vacuum lifter")
        self.off = DayOff.objects.create(crew=self.crew, from_day=self.today, to_day=self.today)
        self.out = OutOfUse.objects.create(equipment=self.lifter, from_day=self.today, to_day=self.today)
        self.system = make_system(code="harbour", name="Harbour", edition="1", **MADE)
        self.crate = Delivery.objects.create(job=self.opening.job, what="The panels")
        self.crate.openings.add(self.opening)
        make_part(act, {"unit": self.site.unit, "kind": "cover", "name": "Track cover", "wanted": 4,
                        "delivery": self.crate})
        self.item = raise_punch_item(act, self.opening.pk, what="Scratch", owner_id=self.site.lead.pk,
                                     due_day=self.today)
        self.link = make_link(act, self.opening.pk)
        self.token, _secret = make_token(Act.of(self.site.lead, self.site.now), name="telephone")
        self.bare = make_opening()  # no unit is in it, and its work is given
        self.given = give_work(self.bare, self.crew, start_day=self.today, end_day=self.today)
        Opening.objects.filter(pk=self.opening.pk).update(stage="accepted")
        self.call = log_callback(act, self.opening.pk, severity="drags", symptom="It drags.")

    def trip(self):
        return book_return_trip(self.site.act(self.site.office), self.call.pk, day=self.today)

    def report(self):
        return report_corrected(token_of(self.link), self.site.now, note="Ground.")


@pytest.fixture
def made(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return Made()


def picture():
    return SimpleUploadedFile("picture.jpg", jpeg(40, 30))


def a_name(name, *keys):
    return lambda m: reverse(name, args=[key(m) for key in keys])


def on_a_call(name):
    return lambda m: reverse(f"callback-{name}", args=[m.call.pk]), lambda m: reverse("callback", args=[m.call.pk])


def told(m, whom):
    return {"do": "tell", "assignment": str(m.given.pk), "whom": whom}


def on_the_opening(name):
    return lambda m: at(m.site, f"opening-{name}"), lambda m: at(m.site)


def itself(*where):
    """A page whose form is sent to its own address."""
    return (a_name(*where), a_name(*where))


def opening_of(m):
    return m.opening.pk


def bare_of(m):
    return m.bare.pk


CREW, MEMBER, LIFTER, OUT, OFF, SYSTEM, CRATE, LEAD = (
    lambda m: m.crew.pk, lambda m: m.member.pk, lambda m: m.lifter.pk, lambda m: m.out.pk, lambda m: m.off.pk,
    lambda m: m.system.pk, lambda m: m.crate.pk, lambda m: m.site.lead.pk)

# Of each address: it, the page its form stands on, what is typed, and what would be wrong (none: nothing can be).
ROWS = {
    "settings": (*itself("settings"), {"company": "Marrow Doors"}, {"time_zone": "Mars/Base"}),
    "your-settings": (*itself("your-settings"), {"time_zone": "America/Denver"}, {"time_zone": "Mars/Base"}),
    "limits-edit": (*itself("limits-edit", lambda m: Check.objects.get(code="floor-rise").pk),
                    {"limits.rise_in_a_foot": "3/32", "limits.rise_in_a_foot.source": "our own floors"},
                    {"limits.rise_in_a_foot": "steep"}),
    "crew-new": (*itself("crew-new"), {"name": "Birch"}, {"time_zone": "Mars/Base"}),
    "crew-edit": (*itself("crew-edit", CREW), {"name": "Cedar"}, {"name": ""}),
    "crew-member-new": (*itself("crew-member-new", CREW), lambda m: {"user": str(make_user("installer").pk)},
                        {"from_day": "soon"}),
    "crew-member": (*itself("crew-member", MEMBER), {"skills": "frame, glass"}, {"from_day": "soon"}),
    "crew-member-remove": (a_name("crew-member-remove", MEMBER), a_name("crew-member", MEMBER), {}, None),
    "day-off-new": (*itself("day-off-new"), lambda m: {"who": f"crew-{m.crew.pk}", "reason": "inventory"},
                    {"from_day": "soon"}),
    "day-off": (*itself("day-off", OFF), {"reason": "inventory"}, {"to_day": "2020-01-01"}),
    "day-off-remove": (a_name("day-off-remove", OFF), a_name("day-off", OFF), {}, None),
    "person-new": (*itself("person-new"), {"name": "Wren Alder", "username": "wren", "role": "lead"},
                   {"username": "not a name!"}),
    "person-edit": (*itself("person-edit", LEAD), {"phone": "555-0103"}, {"email": "at home"}),
    "person-password": (*itself("person-password", LEAD), {}, {"password": "x"}),
    "person-access": (a_name("person-access", LEAD), a_name("person", LEAD), {}, None),
    "token-revoke": (a_name("token-revoke", lambda m: m.token.public_id), a_name("person", LEAD), {}, None),
    "equipment-new": (*itself("equipment-new"), {"name": "Cart 2"}, {"name": ""}),
    "equipment-edit": (*itself("equipment-edit", LIFTER), {"name": "Lifter 2"}, {"name": ""}),
    "equipment-out": (*itself("equipment-out", LIFTER), {"reason": "repair"}, {"to_day": "2020-01-01"}),
    "out-of-use": (*itself("out-of-use", OUT), {"reason": "repair"}, {"to_day": "2020-01-01"}),
    "out-of-use-remove": (a_name("out-of-use-remove", OUT), a_name("out-of-use", OUT), {}, None),
    "door-system-new": (*itself("door-system-new"), {"name": "Cove", "code": "cove", "pull": "2 1/8",
                                                     "where.pull": "page 9"}, {"pull": "wide"}),
    "door-system-edit": (*itself("door-system-edit", SYSTEM), {"name": "Harbour 3"}, {"pull": "wide"}),
    "door-system-new-edition": (*itself("door-system-new-edition", SYSTEM),
                                {"edition": "2", "limits.panels.panel_width_most": "82 in",
                                 "limits.panels.panel_width_most.source": "page 11"}, {"pull": "wide"}),
    "door-system-withdraw": (a_name("door-system-withdraw", SYSTEM), a_name("door-system", SYSTEM), {}, None),
    "delivery-new": (*itself("delivery-new", lambda m: m.opening.job_id), {"what": "Two crates"}, {"what": ""}),
    "delivery-edit": (*itself("delivery-edit", CRATE), {"what": "Two crates"}, {"what": ""}),
    "delivery-later": (a_name("delivery-later", CRATE), a_name("delivery", CRATE), {"other": "2031-03-04"},
                       {"other": "2020-01-01"}),
    "receive-delivery": (a_name("receive-delivery", CRATE), a_name("delivery", CRATE),
                         lambda m: {f"how.{m.crate.parts.get().pk}": "whole", "condition": "dry"},
                         lambda m: {f"whole.{m.crate.parts.get().pk}": "many"}),
    "unit-new": (*itself("unit-new", bare_of), lambda m: {"system": str(m.system.pk), "width": "236", "height": "118",
                                                          "panels": "3", "way": "left", "keep": "1"},
                 {"width": "wide"}),
    "unit": (*itself("unit", opening_of), {"order_number": "J-9", "keep": "1"}, {"width": "wide", "keep": "1"}),
    "readings": (lambda m: at(m.site, "readings", "pocket"), lambda m: at(m.site, "readings", "pocket"),
                 {"depth": "65", "thickness": "7 1/2"}, {"depth": "deep"}),
    "assign": (*itself("assign", bare_of),
               lambda m: told(m, "Pat Lund"), lambda m: told(m, "")),
    "close-punch-item": (a_name("close-punch-item", lambda m: m.item.pk), a_name("punch-items"),
                         {"how": "polished out"}, {"how": ""}),
    "call": (*itself("call", opening_of), {"severity": "drags", "symptom": "At noon."}, {"severity": ""}),
    "callback-book-trip": (*on_a_call("book-trip"), {"day": "2031-03-04", "arrival": "at nine"}, {"day": "soon"}),
    "callback-change-trip": (*on_a_call("change-trip"), {"arrival": "at ten"}, {"day": "soon"}),
    "callback-trip-made": (*on_a_call("trip-made"), {"outcome": "put right"}, {"outcome": ""}),
    "callback-adjust": (*on_a_call("adjust"), {"what": "the strike", "near": "1 3/8"}, {"near": "a bit"}),
    "callback-photo": (*on_a_call("photo"), {"caption": "the strike", "photo": picture}, None),
    "callback-close": (*on_a_call("close"), {"finding": "A loose screw.", "whose": "ours"}, {"finding": ""}),
    "for-the-builder": (*itself("for-the-builder", lambda m: token_of(m.link)), {"note": "Ground at 3 ft."},
                        {"note": ""}),
    "opening-builder-link": (*on_the_opening("builder-link"), {}, {"until": "soon"}),
    "opening-revoke-builder-link": (*on_the_opening("revoke-builder-link"), {}, None),
    "opening-note-correction": (*on_the_opening("note-correction"), {}, None),
}
FIRST = {"callback-change-trip": Made.trip, "callback-trip-made": Made.trip, "opening-note-correction": Made.report}
NOBODY = {"for-the-builder"}  # whoever fills it in has no account
ONLY_A_PASSWORD = {"person-password"}
ADDED = {"person-new", "callback-photo"}  # a password, a picture: typed and chosen again


def entries(found):
    for one in found:
        yield from entries(one.url_patterns) if hasattr(one, "url_patterns") else [one]


def takes_something(view):
    """As the decorator says which methods it lets through."""
    while view is not None:
        methods = inspect.getclosurevars(view).nonlocals.get("request_method_list")
        if methods is not None:
            return "POST" in methods
        view = getattr(view, "__wrapped__", None)
    return False


def test_every_address_that_takes_something_has_its_row():
    pages = set(page_names())
    taking = {one.name for one in entries(get_resolver().url_patterns) if takes_something(one.callback)} & pages
    assert taking == set(ROWS) | ELSEWHERE | {f"opening-{name}" for name in FORMS}


# ---- each of them ----------------------------------------------------------------------------------------


def filled_in(client, made, name, wrong=False):
    """Where it goes, and what a browser would send of it."""
    address, page, typed, at_fault = ROWS[name]
    if name in FIRST:
        FIRST[name](made)
    there, over = address(made), dict(typed(made) if callable(typed) else typed)
    if wrong:
        over |= at_fault(made) if callable(at_fault) else at_fault
    marks = {key: over[key] for key in ("do", "assignment") if key in over}
    sent = form_on(client, page(made), there, marks)
    return there, {**sent, **over}


def with_files(sent):
    return {name: value() if callable(value) else value for name, value in sent.items()}


def each(made, rows=ROWS):
    """One after the other, each as if the others had never been."""
    for name in rows:
        with transaction.atomic():
            yield name
            transaction.set_rollback(True)


def noted():
    return Change.objects.count()


def test_sent_twice_it_is_done_once_and_nobody_hears_that_it_was_refused(client, made):
    client.force_login(made.site.office)
    wrong = []
    for name in each(made):
        there, sent = filled_in(client, made, name)
        before = noted()
        answers, counts = [], []
        for _press in range(2):
            answers.append(client.post(there, with_files(sent)).status_code)
            counts.append(noted() - before)
        done = 200 if name in ("person-new", "person-password") else 302
        wrong += [(name, answers, counts)] if answers != [done, done] or not 0 < counts[0] == counts[1] else []
    assert not wrong, "\n".join(map(str, wrong))


def test_refused_it_keeps_what_was_typed_and_says_at_the_field_what_would_be_right(client, made):
    client.force_login(made.site.office)
    wrong = []
    for name in each(made, [name for name, row in ROWS.items() if row[3] is not None]):
        there, sent = filled_in(client, made, name, wrong=True)
        before = noted()
        answer = client.post(there, with_files(sent))
        page = text(answer)
        typed = {key: value for key, value in sent.items() if isinstance(value, str) and value}
        lost = [key for key, value in typed.items() if value not in page]
        said = re.findall(r'<p class="error" id="([^"]+)"', page)
        said = said and all(re.search(rf'aria-describedby="[^"]*\b{key}\b', page) for key in map(re.escape, said))
        ok = answer.status_code in (409, 422) and said and not lost and noted() == before
        wrong += [] if ok else [(name, answer.status_code, said, lost, noted() - before)]
    assert not wrong, "\n".join(map(str, wrong))


def test_a_session_that_ended_while_somebody_typed_loses_nothing(client, made):
    office, gone = made.site.office, Client()
    office.set_password(PASSWORD)
    office.save()
    client.force_login(office)
    wrong = []
    for name in each(made, [name for name in ROWS if name not in NOBODY | ONLY_A_PASSWORD]):
        signing, (there, sent) = Client(), filled_in(client, made, name)
        asked = gone.post(there, with_files(sent))
        before = noted()
        shown = signing.post(reverse("sign-in"), {
            "username": office.username, "password": PASSWORD, "next": asked.context["next"],
            "kept": asked.context["kept"], "photo": "1" if asked.context["photo"] else ""})
        wrong += waits_and_is_sent(signing, name, there, sent, shown, before)
    assert not wrong, "\n".join(map(str, wrong))


def waits_and_is_sent(client, name, there, sent, shown, before):
    """What is wrong with what waited in `shown`: it is all of it, nothing is done of itself, and sent it is done."""
    waited = form_on(client, None, there, {}, shown)
    whole = {key: value if isinstance(value, list) else [value] for key, value in sent.items()
             if not callable(value) and key != "password"}
    alone = noted() - before
    answer = client.post(there, {**waited})
    if name in ADDED:
        done = answer.status_code == 422 and all(value in text(answer) for (value,) in whole.values())
    else:
        done = answer.status_code == 302 and noted() > before
    return [] if waited == whole and not alone and done else [(name, waited, whole, alone, answer.status_code)]


def test_a_form_opened_before_one_signed_in_again_loses_nothing(client, made):
    office = made.site.office
    client.force_login(office)
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(office)
    ours = {"Origin": "http://testserver"}
    wrong = []
    for name in each(made, [name for name in ROWS if name not in NOBODY | ONLY_A_PASSWORD]):
        there, sent = filled_in(client, made, name)
        before = noted()
        shown = strict.post(there, {**with_files(sent), "csrfmiddlewaretoken": "x" * 64}, headers=ours)
        wrong += [] if shown.status_code == 403 else [(name, shown.status_code)]
        wrong += waits_and_is_sent(client, name, there, sent, shown, before)
    assert not wrong, "\n".join(map(str, wrong))


def test_a_form_that_comes_from_elsewhere_is_not_offered_to_be_sent(made):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(made.site.office)
    for headers in ({}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"}):
        answer = strict.post(reverse("crew-new"), {"name": "Birch"}, headers=headers)
        assert answer.status_code == 403 and "Birch" not in text(answer)


def test_a_sign_in_opened_before_one_signed_in_in_another_window_still_sends_what_waited_in_it(made):
    strict = Client(enforce_csrf_checks=True)
    sent = {"username": "x", "password": "a secret of theirs", "next": "/crews/new/", "kept": "name=Birch"}
    ours = {"Origin": "http://testserver"}
    asked = strict.post(reverse("sign-in"), sent, headers=ours)
    assert asked.status_code == 403 and asked.context["kept"] == "name=Birch" and "a secret" not in text(asked)
    strict.force_login(made.site.office)
    shown = strict.post(reverse("sign-in"), sent, headers=ours)
    assert shown.context["kept"] == [("name", "Birch")] and shown.context["onward"] == "/crews/new/"
