"""Lifters and carts on pages: entered with what a rating already includes, asked plainly; where each goes and when."""

import datetime as dt

import pytest
from django.urls import reverse

from dashboard.demo.company import EQUIPMENT
from jobs.models import Change, Equipment, OutOfUse, WorkStep
from tests.dashboard.forms import Form, typed
from tests.factories import give_work, make_crew, make_opening, make_user

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
TODAY = dt.datetime.now(dt.UTC).date()
BIG = EQUIPMENT[0]
BARE = {"name": "Lifter 9", "kind": "vacuum lifter", "rated_grams": "400 kg", "rating_source": "nameplate"}
VACUUM = ("surface", "temperature", "angle", "overhang", "pads", "elevation")


@pytest.fixture
def office(client):
    person = make_user("office")
    client.force_login(person)
    return person


@pytest.fixture
def lifter():
    return Equipment.objects.create(**BIG)


def at(name="", *args):
    return reverse(f"equipment{name}", args=args)


def kept(one):
    found = Equipment.objects.filter(pk=one.pk).values().get()
    return {name: value for name, value in found.items() if name not in ("version", "created_at")}


def booked(equipment, first, last=None, grams=300_000, **over):
    opening = make_opening()
    WorkStep.objects.filter(opening=opening).update(lifting_grams=grams)
    work = give_work(opening, make_crew(make_user("lead")), start_day=TODAY + first * DAY,
                     end_day=TODAY + (first if last is None else last) * DAY, **over)
    work.equipment.add(equipment)
    return work


# ---- the form --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("values", [BIG, EQUIPMENT[3], {**BIG, "rating_includes": ["vertical", "dust"]},
                                    {"name": "Hoist", "kind": "chain hoist, rented", "rating_includes": "unknown",
                                     "rated_grams": 698_532}], ids=["lifter", "cart", "other words", "unasked"])
def test_what_is_shown_and_sent_back_changes_nothing(client, office, units, values):
    type(office).objects.filter(pk=office.pk).update(units=units)
    one = Equipment.objects.create(**values)
    before, sent = kept(one), typed(client, at("-edit", one.pk))
    assert client.post(at("-edit", one.pk), sent).status_code == 302
    assert kept(one) == before
    assert not Change.objects.exists(), "nothing happened"
    assert client.post(at("-edit", one.pk), sent | {"notes": "In the yard."}).status_code == 302
    assert kept(one) == before | {"notes": "In the yard."}
    assert Change.objects.get().more == {"fields": ["notes"]}


def test_a_rating_whose_lines_nobody_answered_is_kept_as_one_still_to_be_asked_about(client, office):
    sent = typed(client, at("-new")) | BARE
    assert client.post(at("-new"), sent).status_code == 302
    one = Equipment.objects.get()
    assert (one.rating_includes, one.reductions, one.rated_grams) == ("unknown", [], 400_000)
    shown = client.get(at("-one", one.pk)).context["e"]
    assert (shown.left, shown.asked[0]) == ("", "whether the rating has its design factor in it already")


def test_line_by_line_what_is_in_the_rating_and_what_is_taken_off_besides(client, office):
    sent = typed(client, at("-new")) | BARE | {"safety_factor.answer": "in", "circuits": "2", "people_to_steer": "2"}
    sent |= {f"{why}.answer": "off" for why in VACUUM} | {f"{why}.factor": "1" for why in VACUUM}
    sent |= {"surface.factor": "0.9", "surface.source": "manual, page 12", "angle.answer": "in",
             "other.0.what": "Strong sun", "other.0.answer": "off", "other.0.factor": "0.95"}
    assert client.post(at("-new"), sent).status_code == 302
    one = Equipment.objects.get()
    assert one.rating_includes == ["design factor", "angle"]
    assert one.reductions[0] == {"why": "surface", "factor": 0.9, "source": "manual, page 12"}
    assert one.reductions[-1] == {"why": "Strong sun", "factor": 0.95, "source": ""}
    shown = client.get(at("-one", one.pk)).context["e"]
    assert (shown.asked, shown.left) == ((), "376 lb (171 kg)"), "400 kg * 0.9 * 0.95, half of it with one circuit lost"


def test_whole_pounds_that_were_typed_are_said_and_typed_again_as_they_were(client, office):
    for pounds in (1, 900, 1541):
        sent = typed(client, at("-new")) | BARE | {"name": f"Lifter {pounds}", "rated_grams": f"{pounds} lb"}
        assert client.post(at("-new"), sent).status_code == 302
        one = Equipment.objects.get(name=f"Lifter {pounds}")
        assert client.get(at("-one", one.pk)).context["e"].capacity.startswith(f"{pounds} lb (")
        assert typed(client, at("-edit", one.pk))["rated_grams"] == f"{pounds} lb"
    Equipment.objects.filter(pk=one.pk).update(rated_grams=400_000)
    assert typed(client, at("-edit", one.pk))["rated_grams"] == "400 kg"


def test_one_line_left_unanswered_is_still_asked(client, office, lifter):
    client.post(at("-edit", lifter.pk), typed(client, at("-edit", lifter.pk)) | {"pads.answer": ""})
    shown = client.get(at("-one", lifter.pk)).context["e"]
    assert (shown.left, shown.asked) == ("", ("what it says of: pads worn or taken off",))
    assert shown.at_most.endswith("(472 kg)")


@pytest.mark.parametrize(("over", "at_field", "says"), [
    ({"name": ""}, "name", "needed"),
    ({"rated_grams": "15000 t"}, "rated_grams", "kilograms"),
    ({"rated_grams": "25000"}, "rated_grams", "at most 20000"),
    ({"rated_grams": "0"}, "rated_grams", "more than 0"),
    ({"circuits": "0"}, "circuits", "1 to 20"),
    ({"stop_wind_m_per_s": "gale"}, "stop_wind_m_per_s", "20 mph"),
    ({"left_with_one_circuit_lost": "75"}, "left_with_one_circuit_lost", "within 0 to 1"),
    ({"surface.answer": "off", "surface.factor": "2"}, "surface.factor", "2 to 1 leaves 0.5"),
    ({"surface.answer": "off", "surface.factor": "half"}, "surface.factor", "plain number"),
    ({"other.0.what": "", "other.0.answer": "in"}, "other.0.what", "needed"),
    ({"safety_factor.answer": "in", "other.0.what": "Design factor", "other.0.answer": "off", "other.0.factor": "0.5"},
     "other.0.what", "in another line already"),
    ({"width_loaded": "wide"}, "width_loaded", ""),
    ({"width_loaded": "0"}, "width_loaded", "more than nothing"),
    ({"inspected_until": "next spring"}, "inspected_until", "such as 2026-03-10"),
])
def test_refused_it_says_at_the_field_what_would_be_right_and_keeps_what_was_typed(
        client, office, over, at_field, says):
    sent = typed(client, at("-new")) | BARE | over
    refused = client.post(at("-new"), sent)
    assert refused.status_code == 422
    errors = refused.context["form"].errors
    assert says in errors[at_field] and len(errors) == 1 and "[0]" not in str(errors)
    again = Form(refused.content.decode()).sent
    assert {name: again[name] for name in sent} == sent
    assert not Equipment.objects.exists()


def test_the_name_of_another_is_refused_at_the_name(client, office, lifter):
    refused = client.post(at("-new"), typed(client, at("-new")) | BARE | {"name": lifter.name})
    assert (refused.status_code, list(refused.context["form"].errors)) == (422, ["name"])


def test_pressed_twice_it_is_made_once(client, office):
    sent = typed(client, at("-new")) | BARE
    answers = [client.post(at("-new"), sent) for _ in range(2)]
    assert [(a.status_code, a["Location"]) for a in answers] == [(302, at("-one", Equipment.objects.get().pk))] * 2


def test_the_second_of_two_is_told_what_the_first_kept_and_keeps_what_was_typed(client, office, lifter):
    sent = typed(client, at("-edit", lifter.pk))
    client.post(at("-edit", lifter.pk), sent | {"notes": "In the yard."})
    late = client.post(at("-edit", lifter.pk), sent | {"notes": "At the maker's.", "surface.factor": "0.8"})
    assert late.status_code == 412
    said = late.content.decode().replace("&quot;", '"').replace("&#x27;", "'")
    assert "Notes: now “In the yard.”, typed here “At the maker's.”" in said
    assert "the part that stays: now “0.9”, typed here “0.8”" in said
    again = Form(late.content.decode()).sent
    assert (again["notes"], again["version"]) == ("At the maker's.", "2")
    assert client.post(at("-edit", lifter.pk), again).status_code == 302
    lifter.refresh_from_db()
    assert (lifter.notes, lifter.reductions[0]["factor"]) == ("At the maker's.", 0.8)


# ---- where it goes ---------------------------------------------------------------------------------------


def test_it_says_where_it_goes_with_which_crew_and_the_heaviest_panel(client, office, lifter):
    booked(lifter, -9, -8)
    later, soon = booked(lifter, 4, 5), booked(lifter, 1, firmness="inked")
    shown = client.get(at("-one", lifter.pk)).context["e"]
    assert [(g.opening, g.crew) for g in shown.goes] == [(w.opening, w.crew.name) for w in (soon, later)]
    assert (shown.goes[0].work, shown.goes[0].heaviest) == ("Opening verified, inked", "662 lb (300 kg)")
    line = client.get(at()).context["lines"][0]
    assert (line.next.opening, line.later) == (soon.opening, 1)


def test_what_cannot_be_so_is_said_where_it_goes(client, office, lifter):
    Equipment.objects.update(inspected_until=TODAY + 6 * DAY)
    OutOfUse.objects.create(equipment=lifter, from_day=TODAY + 2 * DAY, to_day=TODAY + 3 * DAY)
    first, second = booked(lifter, 3, 4), booked(lifter, 4, grams=690_000)
    booked(lifter, 7)
    against = {g.opening.pk: g.against for g in client.get(at("-one", lifter.pk)).context["e"].goes if g.opening}
    assert against[first.opening_id] == ("out of use then", f"given to {second.opening} too")
    assert against[second.opening_id] == (f"given to {first.opening} too", "holds too little for the heaviest panel")
    assert ("its inspection is over by then",) in against.values()


def test_it_is_out_of_use_and_back_again(client, office, lifter):
    sent = typed(client, at("-out", lifter.pk)) | {"reason": "yearly inspection"}
    for _ in range(2):
        assert client.post(at("-out", lifter.pk), sent).status_code == 302
    out = OutOfUse.objects.get()
    assert (out.from_day, out.reason, out.equipment) == (TODAY, "yearly inspection", lifter)
    assert "out of use today" in client.get(at()).content.decode()
    change = reverse("out-of-use", args=[out.pk])
    refused = client.post(change, typed(client, change) | {"to_day": (TODAY - DAY).isoformat()})
    assert (refused.status_code, list(refused.context["form"].errors)) == (422, ["to_day"])
    assert client.post(reverse("out-of-use-remove", args=[out.pk]), {"version": "9"}).status_code == 412
    assert client.post(reverse("out-of-use-remove", args=[out.pk]), {"version": "1"}).status_code == 302
    assert not OutOfUse.objects.exists()


# ---- who, and how often ----------------------------------------------------------------------------------


def test_a_crew_sees_where_it_goes_among_its_own_openings_only(client, lifter):
    mine, other = booked(lifter, 1), booked(lifter, 2)
    client.force_login(mine.crew.members.get().user)
    said = client.get(at("-one", lifter.pk)).content.decode()
    assert str(mine.opening) in said
    assert str(other.opening) not in said and other.crew.name not in said


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_others_change_nothing(client, lifter, role):
    out = OutOfUse.objects.create(equipment=lifter, from_day=TODAY, to_day=TODAY)
    client.force_login(make_user(role))
    assert at("-edit", lifter.pk) not in client.get(at("-one", lifter.pk)).content.decode()
    for url in (at("-new"), at("-edit", lifter.pk), at("-out", lifter.pk), reverse("out-of-use", args=[out.pk]),
                reverse("out-of-use-remove", args=[out.pk])):
        assert client.post(url, {"version": "1", "name": "x"}).status_code == 403
    assert not Change.objects.exists()


def test_odd_text_is_shown_as_text(client, office):
    one = Equipment.objects.create(name="<b>🚪" * 20, kind="<i>", notes="<u>", rating_source="<s>", rated_grams=1,
                                   rating_includes=["<em>"],
                                   reductions=[{"why": "<q>", "factor": None, "source": "<p>"}])
    for url in (at(), at("-one", one.pk), at("-edit", one.pk)):
        said = client.get(url).content.decode()
        assert not [tag for tag in ("<b>🚪", "<u>", "<s>", "<q>", "<em>") if tag in said]


@pytest.mark.parametrize("rows", [2, 12])
def test_the_pages_ask_the_same_number_of_times_however_many_there_are(
        client, office, rows, django_assert_num_queries):
    found = [Equipment.objects.create(**{**BIG, "name": f"Lifter {n}"}) for n in range(rows)]
    for one in found:
        booked(found[0], 1)
        booked(one, 2)
        OutOfUse.objects.create(equipment=one, from_day=TODAY, to_day=TODAY)
    for url, asked in ((at(), 6), (at("-one", found[0].pk), 6), (at("-edit", found[0].pk), 4)):
        with django_assert_num_queries(asked):
            client.get(url)
