"""Deliveries on the pages: what each brings and stops; received part by part, once; made, changed and put off by the
office."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspections.models import Photo
from inspections.services.deliveries import receive_delivery
from inspections.services.parts import make_part, make_parts, note_part_came
from jobs.models import Delivery, Opening, Party
from jobs.models.base import new_id
from tests.factories import make_job, make_opening, make_unit, make_user
from tests.pictures import jpeg
from tests.visits import as_role, on_the_crew, post, queries, site_day, site_today, text
from units.models import Part, PartArrival, Unit

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    """One delivery that brings all the parts of a unit, four covers among them."""
    site = site_today(tag="L2")
    Unit.objects.filter(pk=site.unit.pk).update(frame_width=3_600_000_000, frame_height=2_400_000_000)
    make_parts(site.act(site.office), site.unit.pk, version=1)
    make_part(site.act(site.office), {"unit": site.unit, "kind": "cover", "name": "Track cover", "wanted": 4})
    crate = Delivery.objects.create(job=site.opening.job, what="Two crates")
    crate.openings.add(site.opening)
    site.unit.parts.update(delivery=crate)
    return site


def part(site, name):
    return site.unit.parts.select_related("panel").get(name=name)


def came(site, name, **counts):
    return note_part_came(site.act(), part(site, name).pk, **counts)


def url(name="delivery"):
    return reverse(name, args=[Delivery.objects.get().pk])


def seen(site):
    """What the form carries unseen, as the page shows it now."""
    crate = Delivery.objects.get()
    return {"version": crate.version, **{f"seen.{one.pk}": f"{one.version}:{one.missing}" for one in
                                         site.unit.parts.select_related("panel") if one.missing}}


def receive(client, site, person=None, *, was=None, said=None, **data):
    """`said`: {name of a part: how it came}, or {field of a name: value}."""
    fields = {}
    for name, how in (said or {}).items():
        kind, _sep, named = name.rpartition(".")
        fields[f"{kind or 'how'}.{part(site, named).pk}"] = how
    return post(client, person or site.lead, url("receive-delivery"), **(was or seen(site)), **fields, **data)


def shown(client, site, person=None, path=None):
    client.force_login(person or site.office)
    return text(client.get(path or url()))


def job_page(client, site, person=None):
    return shown(client, site, person, reverse("job", args=[site.opening.job_id]))


def counts(name):
    return PartArrival.objects.filter(part__name=name).values_list("whole", "short", "damaged", "note").get()


# ---- on a job's page -------------------------------------------------------------------------------------


def test_a_job_shows_what_each_delivery_brings_lacks_and_stops(client, site):
    came(site, "Head", whole=1)
    page, count = job_page(client, site), site.unit.parts.count()
    assert f"Brings {count} parts of L2" in page and "L2: frame set cannot begin" in page
    assert f"{count - 1} parts lacking" in page and "L2, Sill: not here yet" in page and "L2, Head" not in page


def test_a_late_one_says_by_how_many_days(client, site):
    today = site_day(site)
    Delivery.objects.update(expected_day=today - dt.timedelta(days=2))
    assert "2 days late" in job_page(client, site)
    Delivery.objects.update(expected_day=today)
    assert "late<" not in job_page(client, site)


def test_a_job_takes_as_many_queries_for_ten_deliveries_as_for_one(client, site):
    path = reverse("job", args=[site.opening.job_id])
    client.force_login(site.office)
    one = queries(client, path)
    for n in range(9):
        Delivery.objects.create(job=site.opening.job, what=f"Crate {n}").openings.add(site.opening)
    assert queries(client, path) == one


# ---- received part by part -------------------------------------------------------------------------------


def test_part_by_part_it_is_whole_short_damaged_or_did_not_come(client, site):
    answer = receive(client, site, said={
        "Sill": "whole", "Head": "damaged", "note.Head": "bent at an end", "Lock jamb": "none",
        "whole.Track cover": "2", "damaged.Track cover": "1"}, condition="One band torn.")
    assert answer.url == url()
    crate = Delivery.objects.get()
    assert (crate.received_by, crate.condition) == (site.lead, "One band torn.")
    assert counts("Sill") == (1, 0, 0, "")
    assert counts("Head") == (0, 0, 1, "bent at an end")
    assert counts("Lock jamb") == (0, 1, 0, "")
    assert counts("Track cover") == (2, 1, 1, ""), "what is left over did not come"
    assert not PartArrival.objects.filter(part__name="Panel A").exists(), "nobody has looked yet"


def test_the_others_may_be_said_at_once(client, site):
    receive(client, site, said={"Panel B": "none"}, rest="whole")
    assert {one.name for one in Part.objects.lacking()} == {"Panel B"}


def test_all_of_it_came_whole_is_one_button(client, site):
    receive(client, site, all="whole", rest="")
    assert not Part.objects.lacking().exists()
    assert "all 7 here" in shown(client, site) and "lacking" not in job_page(client, site)


def test_received_without_a_word_of_its_parts_they_stay_out(client, site):
    receive(client, site)
    assert Delivery.objects.get().received_at is not None
    assert Part.objects.lacking().count() == site.unit.parts.count()


def test_what_a_short_delivery_stops_stands_on_its_page(client, site):
    receive(client, site, said={"Sill": "none"}, rest="whole")
    page = shown(client, site)
    assert "L2: frame set cannot begin" in page and "panels hung cannot" not in page, "the first work alone"
    assert "<b>short</b>" in shown(client, site)


def test_a_note_without_how_it_came_is_told_at_the_part_and_stays_typed(client, site):
    answer = receive(client, site, said={"note.Sill": "the end is chipped", "whole.Track cover": "some"})
    page = text(answer)
    assert answer.status_code == 422 and not PartArrival.objects.exists()
    assert "say how it came" in page and "a whole number" in page and "the end is chipped" in page


def test_a_damaged_part_has_its_photo(client, site, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    sill = part(site, "Sill").pk
    receive(client, site, said={"Sill": "damaged"},
            **{f"photo.{sill}": SimpleUploadedFile("sill.jpg", jpeg(40, 30), "image/jpeg")})
    photo = Photo.objects.get()
    assert (photo.about, photo.about_id, photo.opening) == (
        "part-arrival", str(PartArrival.objects.get().pk), site.opening)
    assert reverse("photo-thumbnail", args=[photo.pk]) in shown(client, site)


def test_with_a_photo_that_cannot_be_read_nothing_is_stored_and_it_is_told_at_the_part(client, site):
    sill = part(site, "Sill").pk
    answer = receive(client, site, said={"Sill": "damaged"},
                     **{f"photo.{sill}": SimpleUploadedFile("sill.jpg", b"no picture", "image/jpeg")})
    assert answer.status_code == 422 and not PartArrival.objects.exists()
    assert "This file is no whole picture" in text(answer).split(f'id="f-photo-{sill}-error"')[1][:80]


# ---- more than is wanted ---------------------------------------------------------------------------------


def test_more_than_is_lacking_is_asked_back_with_how_many_too_many_and_stored_when_it_is_so(client, site):
    said = {"whole.Sill": "5", "whole.Track cover": "9"}
    answer = receive(client, site, said=said)
    page = text(answer)
    assert answer.status_code == 422 and not PartArrival.objects.exists()
    assert "1 lacking of 1 wanted: that would be 4 too many." in page
    assert "4 lacking of 4 wanted: that would be 5 too many." in page
    receive(client, site, said={**said, "more.Sill": "1", "more.Track cover": "1"})
    assert counts("Sill") == (5, 0, 0, "")
    assert "here, whole, 4 more than wanted" in shown(client, site)


def test_from_the_opening_more_is_told_at_the_field(client, site):
    answer = post(client, site.lead, reverse("opening-part-came", args=[site.opening.pk]), part=part(site, "Sill").pk,
                  whole="5")
    assert answer.status_code == 422 and "at most 1, or say that more came" in text(answer)
    post(client, site.lead, reverse("opening-part-came", args=[site.opening.pk]), part=part(site, "Sill").pk,
         whole="5", more_came="on")
    assert counts("Sill")[0] == 5


# ---- once, and with others -------------------------------------------------------------------------------


def test_sent_twice_it_was_received_once(client, site):
    entry, was = str(new_id()), seen(site)
    said = {"Sill": "whole", "whole.Track cover": "3"}
    for _ in range(2):
        answer = receive(client, site, was=was, said=said, rest="none", entry=entry)
        assert answer.status_code == 302
    assert PartArrival.objects.count() == site.unit.parts.count()
    assert counts("Track cover") == (3, 1, 0, "")


def test_sent_again_with_other_content_the_first_stays_and_the_other_may_be_sent_by_itself(client, site):
    entry, was = str(new_id()), seen(site)
    receive(client, site, was=was, said={"Sill": "whole"}, entry=entry)
    answer = receive(client, site, was=was, said={"Sill": "damaged"}, entry=entry)
    assert answer.status_code == 409 and entry not in text(answer)
    assert counts("Sill") == (1, 0, 0, "")


def test_whoever_is_slower_is_told_who_received_it_with_what_they_said_beside_what_was_typed(client, site):
    was = seen(site)
    receive_delivery(site.act(), Delivery.objects.get().pk, parts=[{"part_id": part(site, "Sill").pk, "whole": 1}])
    answer = receive(client, site, site.office, was=was, said={"Sill": "damaged", "note.Sill": "by me"})
    page = text(answer)
    assert answer.status_code == 412
    assert f"{site.lead} received it meanwhile" in page and "1 whole" in page and "by me" in page
    assert counts("Sill") == (1, 0, 0, "")


def test_a_part_somebody_spoke_of_meanwhile_is_not_said_twice(client, site):
    receive(client, site)
    was = seen(site)
    came(site, "Sill", whole=1)
    assert receive(client, site, site.office, was=was, said={"Sill": "none"}).status_code == 412
    assert part(site, "Sill").missing == 0


# ---- who -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("role", "may"), [("office", True), ("lead", True), ("installer", True),
                                           ("customer-service", False), ("guest", False)])
def test_who_may_receive_is_offered_it_and_nobody_else(client, site, role, may):
    person = as_role(site, role)
    assert ("It came" in job_page(client, site, person)) is may
    assert ("/receive/" in shown(client, site, person)) is may
    assert receive(client, site, person, all="whole").status_code == (302 if may else 403)
    assert PartArrival.objects.exists() is may


def test_to_another_crew_the_delivery_is_not_there(client, site):
    stranger = make_user("lead")
    assert receive(client, site, stranger).status_code == 404
    assert client.get(url()).status_code == 404


def test_of_one_truck_for_two_crews_each_says_what_came_of_their_own(client, site):
    theirs = make_unit(make_opening(site.opening.job, tag="M9"), "A")
    sill = Part.objects.create(unit=theirs, kind="sill", name="Their sill", delivery=Delivery.objects.get())
    person = on_the_crew(site, "installer")
    page = shown(client, site, person)
    assert "Their sill" not in page and "M9" not in page
    answer = receive(client, site, person, all="whole", **{f"seen.{sill.pk}": "1:1", f"how.{sill.pk}": "whole"})
    assert answer.status_code == 302
    assert {one.name for one in Part.objects.lacking()} == {"Their sill"}


def test_who_brings_it_is_for_those_who_may_read_contacts(client, site):
    from_whom = Party.objects.create(kind="supplier", name="Marl Glassworks")
    Delivery.objects.update(supplier=from_whom)
    assert from_whom.name in shown(client, site)
    assert from_whom.name not in shown(client, site, make_user("guest"))


def test_its_page_takes_as_many_queries_for_many_parts_as_for_few(client, site):
    client.force_login(site.office)
    came(site, "Head", short=1)
    few = queries(client, url())
    crate = Delivery.objects.get()
    for n in range(30):
        one = Part.objects.create(unit=site.unit, kind="other", name=f"Piece {n}", delivery=crate)
        note_part_came(site.act(), one.pk, short=1)
    assert queries(client, url()) == few


# ---- made and changed by the office ----------------------------------------------------------------------


def new_page(site):
    return reverse("delivery-new", args=[site.opening.job_id])


def test_the_office_makes_one_with_the_panels_of_its_openings(client, site):
    site.unit.parts.update(delivery=None)
    Delivery.objects.all().delete()
    answer = post(client, site.office, new_page(site), what="Panels", expected_day="2031-03-20",
                  openings=[site.opening.pk], kinds=["panels"])
    made = Delivery.objects.get()
    assert answer.url == url()
    assert (made.what, made.expected_day, list(made.openings.all())) == (
        "Panels", dt.date(2031, 3, 20), [site.opening])
    assert {one.name for one in made.parts.all()} == {"Panel A", "Panel B"}


def test_a_double_click_makes_one(client, site):
    entry = str(new_id())
    for _ in range(2):
        assert post(client, site.office, new_page(site), what="Panels", entry=entry).status_code == 302
    assert Delivery.objects.filter(what="Panels").count() == 1


def test_it_is_told_at_the_field_what_it_needs_and_what_was_typed_stays(client, site):
    answer = post(client, site.office, new_page(site), what="", expected_day="2031-03-20")
    assert answer.status_code == 422 and "2031-03-20" in text(answer) and 'aria-invalid="true"' in text(answer)
    elsewhere = make_opening(make_job(), tag="Z1")
    answer = post(client, site.office, new_page(site), what="Panels", openings=[elsewhere.pk])
    assert answer.status_code == 422 and not Delivery.objects.filter(what="Panels").exists()


def test_parts_are_put_on_it_and_taken_off_one_by_one(client, site):
    crate, sill, head = Delivery.objects.get(), part(site, "Sill"), part(site, "Head")
    Part.objects.filter(pk=head.pk).update(delivery=None)
    page = shown(client, site, path=url("delivery-edit"))
    assert f'name="was" value="{sill.pk}"' in page and f'name="was" value="{head.pk}"' not in page
    was = list(crate.parts.values_list("pk", flat=True))
    answer = post(client, site.office, url("delivery-edit"), version=crate.version, what="Two crates",
                  openings=[site.opening.pk], was=was, brings=[*(set(was) - {sill.pk}), head.pk])
    assert answer.status_code == 302
    assert part(site, "Sill").delivery is None and part(site, "Head").delivery == crate


def test_a_part_of_another_delivery_says_with_which_it_comes_now_and_is_moved(client, site):
    crate = Delivery.objects.get()
    other = Delivery.objects.create(job=site.opening.job, what="The van")
    other.openings.add(site.opening)
    path = reverse("delivery-edit", args=[other.pk])
    assert "now with: Two crates" in shown(client, site, path=path)
    sill = part(site, "Sill")
    post(client, site.office, path, version=other.version, what="The van", openings=[site.opening.pk],
         brings=[sill.pk])
    assert part(site, "Sill").delivery == other
    assert Delivery.objects.get(pk=crate.pk).version > crate.version, "who has its form open is told"


def test_two_who_change_it_at_once_see_both_and_a_double_click_is_no_second(client, site):
    crate = Delivery.objects.get()
    sent = {"version": crate.version, "openings": [site.opening.pk],
            "was": list(crate.parts.values_list("pk", flat=True)),
            "brings": list(crate.parts.values_list("pk", flat=True))}
    for _ in range(2):
        assert post(client, site.office, url("delivery-edit"), what="One crate", **sent).status_code == 302
    answer = post(client, site.office, url("delivery-edit"), what="Three crates", **sent)
    assert answer.status_code == 412
    assert "What it is: now “One crate”, typed here “Three crates”." in text(answer)


def test_a_late_one_has_its_new_day_in_two_taps(client, site):
    today = site_day(site)
    Delivery.objects.update(expected_day=today - dt.timedelta(days=1))
    client.force_login(site.office)
    offered = client.get(url()).context["later"]
    assert len(offered) == 3 and all(dt.date.fromisoformat(day) > today for day, _said in offered)
    day, version = offered[1][0], Delivery.objects.get().version
    for _ in range(2):  # a double click
        assert post(client, site.office, url("delivery-later"), day=day, version=version).status_code == 302
    assert Delivery.objects.get().expected_day.isoformat() == day
    assert post(client, site.office, url("delivery-later"), day=offered[2][0], version=version).status_code == 412


@pytest.mark.parametrize("day", ["2001-03-20", "tomorrow", ""])
def test_a_day_that_is_over_or_none_is_refused(client, site, day):
    answer = post(client, site.office, url("delivery-later"), day=day, version=Delivery.objects.get().version)
    assert answer.status_code == 422
    assert Delivery.objects.get().expected_day is None


def test_planning_is_the_offices(client, site):
    for path, method in ((new_page(site), client.get), (url("delivery-edit"), client.get),
                         (url("delivery-later"), client.post)):
        client.force_login(site.lead)
        assert method(path).status_code == 403
    assert "/edit/" not in shown(client, site, site.lead)


def test_forty_openings_with_all_their_parts_are_changed_in_one_form(client, site):
    crate = Delivery.objects.get()
    units = [make_unit(make_opening(site.opening.job, tag=f"W{n}"), "") for n in range(40)]
    Part.objects.bulk_create(Part(unit=unit, kind="other", name=f"Piece {n}") for unit in units for n in range(30))
    crate.openings.set(Opening.objects.filter(job=site.opening.job))
    keys = list(Part.objects.values_list("pk", flat=True))
    answer = post(client, site.office, url("delivery-edit"), version=crate.version, what="A lorry",
                  openings=[site.opening.pk], brings=keys)
    assert answer.status_code == 302
    assert Part.objects.filter(delivery=crate).count() == len(keys)
