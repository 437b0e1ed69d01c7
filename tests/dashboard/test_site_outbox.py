"""What a telephone keeps: on its disk before it says so, gone only with the server's receipt, never twice."""

import json
import uuid

import pytest
from django.urls import reverse

from inspections.models import Photo
from jobs.models import Event
from tests.browser import opened
from tests.factories import make_opening, make_user
from tests.pictures import jpeg

pytestmark = pytest.mark.django_db(transaction=True)
ENTRIES, PHOTOS = "**/api/v1/site-entries/", "**/api/v1/photos/"
MODULES = """async () => { for (const name of ['store', 'outbox', 'sending', 'uuid7'])
  Object.assign(window, await import(`/static/dashboard/site/${name}.js`)); }"""
EVENT = """([person, opening, note]) => keep([{person, opening, said: note,
  body: {entry: 'event', opening, data: {kind: 're-pour', note}}}]).then(made => made[0].id)"""
PHOTO = """([person, opening, bytes]) => keep([{person, opening, said: 'photo', body: {opening},
  picture: new Blob([new Uint8Array(bytes)], {type: 'image/jpeg'})}]).then(made => made[0].id)"""
SEND = """person => sendAll({person,
  token: () => document.cookie.match(/csrftoken=([^;]*)/)?.[1] ?? ''})"""


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


class Phone:
    """A page with the outbox and nothing else, signed in as `person`."""

    def __init__(self, page, person, opening):
        self.page, self.person, self.opening = page, person, opening

    def keep(self, note):
        return self.page.evaluate(EVENT, [self.person.pk, self.opening.pk, note])

    def keep_photo(self):
        return self.page.evaluate(PHOTO, [self.person.pk, self.opening.pk, list(jpeg())])

    def send(self):
        return self.page.evaluate(SEND, self.person.pk)

    @property
    def here(self):
        return self.page.evaluate("unsent", self.person.pk)["count"]

    def states(self):
        return {e["id"]: e["state"] for e in self.page.evaluate("person => inSight(person)", self.person.pk)}


@pytest.fixture
def phone(browser, live_server, client):
    person, opening = make_user("office"), make_opening()
    client.force_login(person)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    with opened(browser, cookie) as page:
        page.goto(live_server.url + reverse("your-password"))  # a form: with it comes the token
        page.evaluate(MODULES)
        yield Phone(page, person, opening)


def notes():
    return list(Event.objects.order_by("server_time", "taken_at", "id").values_list("note", flat=True))


def test_ids_made_on_a_phone_sort_as_they_were_made(phone):
    made = phone.page.evaluate("() => Array.from({length: 3000}, () => newId())")
    assert made == sorted(made) and len(set(made)) == 3000
    assert {uuid.UUID(i).version for i in made} == {7} and {uuid.UUID(i).variant for i in made} == {uuid.RFC_4122}


def test_what_is_kept_outlives_the_page_and_goes_out_in_its_order(phone):
    for note in ("one", "two", "three"):
        phone.keep(note)
    phone.page.reload()
    phone.page.evaluate(MODULES)
    assert phone.here == 3
    assert phone.send() == {"sent": 3, "left": 0, "held": "", "after": 0}
    assert notes() == ["one", "two", "three"]


def garbled(route):
    route.fulfill(status=200, content_type="text/html", body="<html>a hotel's own page</html>")


def broken(status, code=""):
    return lambda route: route.fulfill(status=status, body=json.dumps({"code": code}))


FAULTS = [
    (lambda route: route.abort(), "no way to the office"),
    (broken(500), "the office does not answer as it should"),
    (broken(502), "the office does not answer as it should"),
    (garbled, "the office does not answer as it should"),
    (broken(401, "not-signed-in"), "sign in"),
    (broken(429, "too-often"), "the office asks to wait"),
]


def test_whatever_answers_but_the_office_nothing_leaves_the_phone(phone):
    phone.keep("one")
    phone.keep_photo()
    for pattern, left in ((ENTRIES, 2), (PHOTOS, 1)):
        for fault, held in FAULTS:
            phone.page.route(pattern, fault)
            assert (phone.send()["held"], phone.here) == (held, left)
            phone.page.unroute(pattern)
    assert phone.send()["left"] == 0
    assert (notes(), Photo.objects.count()) == (["one"], 1)


def test_an_answer_that_got_lost_makes_nothing_twice(phone):
    """The office took it in; the phone never heard of that."""
    phone.keep("one")
    phone.keep_photo()

    def lost(route):
        route.fetch()
        route.abort()
    for pattern in (ENTRIES, PHOTOS):
        phone.page.route(pattern, lost)
        assert phone.send()["held"] == "no way to the office"
        phone.page.unroute(pattern)
    assert phone.here == 1, "the fact went with the second way; the photo waits for its receipt"
    assert phone.send()["left"] == 0
    assert (notes(), Photo.objects.count()) == (["one"], 1)


def test_an_answer_cut_in_half_counts_for_those_it_names(phone):
    ids = [phone.keep(note) for note in ("one", "two", "three", "four")]

    def cut(route):
        answer = route.fetch()
        results = answer.json()["results"]
        route.fulfill(response=answer, body=json.dumps({"results": results[:2]}))
    phone.page.route(ENTRIES, cut, times=1)
    assert phone.send()["left"] == 0, "what it did not name is sent again"
    assert set(phone.states()) >= set(ids) and notes() == ["one", "two", "three", "four"]


def test_what_the_office_refuses_holds_up_nothing_and_stays_in_sight(phone):
    phone.keep("one")
    bad = phone.page.evaluate("""([person, opening]) => keep([{person, opening, said: 'bad',
      body: {entry: 'event', opening, data: {kind: 'flood'}}}]).then(made => made[0].id)""",
                              [phone.person.pk, phone.opening.pk])
    phone.keep("three")
    assert phone.send()["left"] == 0
    assert notes() == ["one", "three"]
    assert phone.states()[bad] == "refused"
    told = phone.page.evaluate("person => inSight(person)", phone.person.pk)
    assert next(e for e in told if e["id"] == bad)["told"]["problem"]["fields"] == {
        "kind": "one of: re-pour, structure, other-trades"}


def test_a_batch_that_is_refused_as_a_whole_is_sent_in_smaller_ones(phone):
    for n in range(5):
        phone.keep(f"{n}")

    def too_large(route):
        if len(route.request.post_data_json["entries"]) > 2:
            route.fulfill(status=413, body=json.dumps({"code": "too-large"}))
        else:
            route.continue_()
    phone.page.route(ENTRIES, too_large)
    assert phone.send()["left"] == 0
    assert notes() == ["0", "1", "2", "3", "4"]


def test_what_broke_off_on_the_way_is_sent_again_and_what_can_never_be_read_holds_up_nothing(phone):
    ids = [phone.keep(note) for note in ("one", "two")]

    def unreadable(route):
        if "one" in route.request.post_data:
            route.fulfill(status=400, body=json.dumps({"code": "bad-request"}))
        else:
            route.continue_()
    phone.page.route(ENTRIES, unreadable)
    held = [(phone.send()["held"], phone.here) for _ in range(3)]
    assert held == [("the office does not answer as it should", 2)] * 2 + [("", 0)]
    assert [phone.states()[one] for one in ids] == ["refused", "with the office"]


def test_nothing_goes_under_the_name_of_somebody_else(phone, client, live_server):
    phone.keep("one")
    client.force_login(make_user("office"))
    phone.page.context.add_cookies([
        {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}])
    assert phone.send()["held"] == "somebody else is signed in"
    assert phone.here == 1 and not Event.objects.exists()


def test_a_connection_to_the_disk_that_died_is_opened_anew(phone):
    phone.keep("one")
    phone.page.evaluate("""async () => { const real = IDBDatabase.prototype.transaction; let dead = true;
      IDBDatabase.prototype.transaction = function (...how) {
        if (dead) { dead = false; throw new DOMException('closing', 'InvalidStateError'); }
        return real.apply(this, how); }; }""")
    phone.keep("two")
    assert phone.here == 2


def test_a_connection_that_never_answers_is_given_up_and_opened_anew(phone):
    phone.page.clock.install()
    phone.page.evaluate("""() => { drop(); const real = IDBFactory.prototype.open;
      IDBFactory.prototype.open = () => { IDBFactory.prototype.open = real; return {}; }; }""")
    phone.page.evaluate("how => { window.kept = keep([how]); }", {
        "person": phone.person.pk, "opening": phone.opening.pk, "said": "one", "body": {}})
    phone.page.clock.fast_forward(5000)
    phone.page.evaluate("() => kept.then(() => null)")
    assert phone.here == 1


def test_a_full_disk_is_told_and_keeps_nothing_by_half(phone):
    phone.page.evaluate("""() => { const real = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (row) {
        if (row.bytes) throw new DOMException('full', 'QuotaExceededError'); return real.call(this, row); }; }""")
    with pytest.raises(Exception, match="full"):
        phone.keep_photo()
    assert phone.here == 0


def test_the_copy_has_all_that_is_not_with_the_office(phone):
    one = phone.keep("one")
    photo = phone.keep_photo()
    copy = phone.page.evaluate("copied", phone.person.pk)
    assert [e["id"] for e in copy["entries"]] == [one] and copy["entries"][0]["data"]["note"] == "one"
    assert [p["id"] for p in copy["photos"]] == [photo] and len(copy["photos"][0]["picture"]) > 100
