"""Door systems on pages: what each says and lacks, typed in and kept by the office, one edition beside the other."""

import datetime as dt
import re
from html.parser import HTMLParser

import pytest
from django.urls import reverse

from dashboard.demo.systems import SYSTEMS
from inspections.models import Check
from inspections.services.checks import change_check, checks_for
from jobs.models import Change
from tests.factories import MADE, MM, act_for, make_opening, make_system, make_unit, make_user
from units.models import DoorSystem, Unit

pytestmark = pytest.mark.django_db
NOT_TYPED = {"id", "version", "created_at"}


class Form(HTMLParser):
    """What a browser would send of the page's own form if nothing is touched."""

    def __init__(self, text):
        super().__init__()
        self.sent, self.inside, self.select, self.area = {}, False, "", ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.inside = "system" in given.get("class", "")
        elif not self.inside:
            return
        elif tag == "input" and given["name"] != "csrfmiddlewaretoken":
            self.sent[given["name"]] = given.get("value", "")
        elif tag == "select":
            self.select = given["name"]
        elif tag == "option" and ("selected" in given or self.select not in self.sent):
            self.sent[self.select] = given["value"]
        elif tag == "textarea":
            self.area = given["name"]
            self.sent[self.area] = ""

    def handle_endtag(self, tag):
        self.area = "" if tag == "textarea" else self.area

    def handle_data(self, data):
        if self.area:
            self.sent[self.area] += data


@pytest.fixture
def office(client):
    person = make_user("office")
    client.force_login(person)
    return person


@pytest.fixture
def system():
    return DoorSystem.objects.create(code="guillemot-9", **SYSTEMS["guillemot-9"])


def at(name, *args):
    return reverse(name if name == "door-systems" else f"door-system{name}", args=args)


def typed(client, url):
    return Form(client.get(url).content.decode()).sent


def kept(system):
    found = DoorSystem.objects.filter(pk=system.pk).values().get()
    return {name: value for name, value in found.items() if name not in NOT_TYPED}


def errors(response):
    form = response.context["form"]
    return form.errors


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("code", SYSTEMS)
def test_what_is_shown_and_sent_back_changes_nothing(client, office, units, code):
    type(office).objects.filter(pk=office.pk).update(units=units)
    hardware = [*SYSTEMS[code]["hardware"], {"what": "lead bolt", "kg": 1.234, "count": 1, "at": ["1.234567 mm", 9]}]
    system = DoorSystem.objects.create(code=code, **{**SYSTEMS[code], "pull": 55_123_457, "hardware": hardware,
                                                     "stile_grams_per_m": 4601})
    before = kept(system)
    response = client.post(at("-edit", system.pk), typed(client, at("-edit", system.pk)))
    assert response.status_code == 302, errors(response)
    assert kept(system) == before


def test_a_system_is_typed_in_with_where_it_stands(client, office):
    sent = typed(client, at("-new")) | {
        "name": "Harbour 3", "code": "harbour-3", "pull": "2 1/8", "where.pull": "page 9", "middle_lap": "-1/8",
        "stile_grams_per_m": "3 lb/ft", "glasses.0.name": "laminated",
        "glasses.0.layers": "laminate 4 / 4 with 0.76 + space 14 mm + pane 6 mm", "products.1.name": "Limpet",
        "products.1.air_least_c": "41", "products.1.movement_pct": "25", "fasteners.0.member": "head",
        "fasteners.0.spacing_most": "16", "fasteners.0.edge_least": "6", "finishing_steps": "Covers\n\nPlugs\n",
        "limits.panels.panel_width_most": "82 in", "limits.panels.panel_width_most.source": "page 11"}
    response = client.post(at("-new"), sent)
    assert response.status_code == 302, errors(response)
    made = DoorSystem.objects.get(code="harbour-3")
    assert (made.pull, made.middle_lap, made.stile_grams_per_m) == (53_975_000, -3_175_000, 4464)
    assert made.sources == {"pull": "page 9"}
    assert made.glasses[0]["layers"] == [
        {"kind": "laminate", "plies": ["4 mm", "4 mm"], "interlayer": "0.76 mm"},
        {"kind": "space", "width": "14 mm"}, {"kind": "pane", "nominal": "6 mm"}]
    assert made.products == [{"name": "Limpet", "air_least_c": 5, "movement_pct": 25}]
    assert made.fasteners == [{"member": "head", "spacing_most": "406.4 mm", "edge_least": "152.4 mm"}]
    assert made.limits == {"panels": {"panel_width_most": {"value": "2082.8 mm", "source": "page 11"}}}
    assert made.finishing_steps == ["Covers", "Plugs"]


BAD = {
    "what cannot be read": {
        "pull": ("wide", "write a length"), "covers": ("-2", "negative"),
        "stile_grams_per_m": ("heavy", "kilograms a metre"), "glasses.0.layers": ("thick", "write the layers"),
        "hardware.1.kg": ("-1", "kilograms"), "products.1.skin_minutes": ("soon", "plain number"),
        "products.0.air_least_c": ("300 F", "within"), "products.0.movement_pct": ("900", "within"),
        "products.0.bead_depth": ("3/7 q", "write a length"), "products.1.name": ("", "needed"),
        "joints.0.rule": ("maybe", "seal"), "joints.0.width": ("1/61", "marks an inch"),
        "joints.1.movement.range_c": ("warm", "50 F"), "joints.2.place": ("", "needed"),
        "limits.panels.panel_width_most": ("a lot", "write a length"),
        "limits.weights.panel_mass_most": ("-3", "kilograms"), "limits.lifting.wind_speed": ("-1", "within"),
        "where.pull": ("x" * 300, "200")},
    "what no maker could say": {
        "thread_pitch": ("0", "more than nothing"), "code": ("no spaces", "letters"), "name": ("", "needed"),
        "material": ("brick", "one of: "), "glasses.0.layers": ("pane 7 mm", "2.5, 2.7, 3, 4"),
        "hardware.2.what": ("bolt", "needed"), "products.0.air_least_c": ("45 C", "above"),
        "fasteners.4.member": ("sill", "needed"), "finishing_steps": ("x" * 201, "short texts")},
    "two alike": {"glasses.1.name": ("6 + 16 + 6 insulating, clear", "a name of its own")},
    "what no panel could be made by": {
        "meeting_lap": ("90 in", "less than a panel"), "panel_thickness": ("3 in", "thinner than from track to track"),
        "jamb_engagement": ("4 in", "less than the jamb itself"), "stile_face": ("60 in", "less than half")},
    "what does not go together": {"lean_in_angle": ("95", "less than 90"), "roller_highest": ("1/64", "not below")},
}


@pytest.mark.parametrize("kind", BAD)
def test_what_cannot_be_right_is_said_at_its_field_and_nothing_is_lost(client, office, system, kind):
    before = kept(system)
    sent = typed(client, at("-edit", system.pk)) | {name: text for name, (text, _) in BAD[kind].items()}
    response = client.post(at("-edit", system.pk), sent)
    assert response.status_code == 422
    said = errors(response)
    lacking = {"hardware.2.what": "hardware.2.kg", "fasteners.4.member": "fasteners.4.spacing_most"}
    wrong = {name: said for name, (_, says) in BAD[kind].items()
             if says not in said.get(lacking.get(name, name), "")}
    assert wrong == {}
    again = Form(response.content.decode()).sent
    assert {name: again.get(name) for name in sent} == sent
    assert kept(system) == before


@pytest.mark.parametrize(("limit", "typed_in", "right"), [
    ("panels.panel_width_least", "100 in", "not above the most, "),
    ("weights.panel_mass_most", "15000 kg", "at most 2000 kg for one panel"),
])
def test_a_limit_that_cannot_be_is_told_at_its_field_without_its_name_in_the_record(
        client, office, system, limit, typed_in, right):
    sent = typed(client, at("-edit", system.pk)) | {f"limits.{limit}": typed_in}
    assert errors(client.post(at("-edit", system.pk), sent))[f"limits.{limit}"].startswith(right)


def test_of_several_limits_that_cannot_be_each_is_told_at_its_field(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | {
        "limits.panels.panel_width_least": "100 in", "limits.panels.panel_height_least": "200 in",
        "limits.weights.panel_mass_most": "15000 kg", "meeting_lap": "90 in"}
    said = errors(client.post(at("-edit", system.pk), sent))
    assert set(said) == {"limits.panels.panel_width_least", "limits.panels.panel_height_least",
                         "limits.weights.panel_mass_most", "meeting_lap"}


def test_a_joint_that_names_a_sealant_the_system_lacks_is_told_which_there_are(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | {"joints.1.product": "Limpit 40"}
    said = errors(client.post(at("-edit", system.pk), sent))
    assert said == {"joints.1.product": "one of the sealants entered here: Limpet 40, Limpet Primerless"}
    sent |= {"joints.1.product": "Limpet 40"}
    sent |= {name: "" for name in sent if re.match(r"products\.[01]\.(?!was$)", name)}
    said = errors(client.post(at("-edit", system.pk), sent))
    assert said["joints.0.product"] == "a sealant entered here; there is none yet"


def test_sixty_products_and_joints_are_kept_in_one_form(client, office, system):
    """Far more than Django's thousand fields; as many rows as a system takes are kept in the same way."""
    products = [{"name": f"Limpet {n}", "air_least_c": 5, "source": "an invented sheet"} for n in range(60)]
    joints = [{"place": f"joint {n}", "side": "outside", "rule": "seal", "product": f"Limpet {n}"} for n in range(60)]
    DoorSystem.objects.filter(pk=system.pk).update(products=products, joints=joints)
    sent = typed(client, at("-edit", system.pk)) | {"products.60.name": "Whelk"}
    assert len(sent) > 1500
    assert client.post(at("-edit", system.pk), sent).status_code == 302
    system.refresh_from_db()
    assert (len(system.products), system.joints) == (61, joints)


def test_an_emptied_row_goes_and_a_row_at_the_end_is_added(client, office, system):
    sent = typed(client, at("-edit", system.pk))
    sent |= {name: "" for name in sent if re.match(r"products\.1\.(?!was$)", name)}
    sent |= {"products.2.name": "Whelk"}
    client.post(at("-edit", system.pk), sent)
    system.refresh_from_db()
    assert [product["name"] for product in system.products] == ["Limpet 40", "Whelk"]


def test_two_people_at_once_each_see_what_the_other_wrote(client, office, system):
    mine = typed(client, at("-edit", system.pk)) | {"pull": "60 mm"}
    theirs = mine | {"pull": "70 mm", "name": "Guillemot"}
    assert client.post(at("-edit", system.pk), theirs).status_code == 302
    response = client.post(at("-edit", system.pk), mine)
    assert response.status_code == 412
    said = response.content.decode()
    assert "Room for the pull: now “70 mm”, typed here “60 mm”" in said.replace("&quot;", '"')
    assert "Name: now “Guillemot”, typed here “Guillemot 9”" in said
    again = Form(said).sent
    assert (again["pull"], again["version"]) == ("60 mm", "2")
    assert client.post(at("-edit", system.pk), again).status_code == 302


def test_what_units_were_ordered_by_stays_and_what_is_lacking_may_be_filled_in(client, office, system):
    DoorSystem.objects.filter(pk=system.pk).update(covers=None)
    make_unit(make_opening(), system=system)
    sent = typed(client, at("-edit", system.pk))
    refused = client.post(at("-edit", system.pk), sent | {"pull": "60 mm"})
    assert (refused.status_code, list(errors(refused))) == (409, ["pull"])
    assert client.post(at("-edit", system.pk), sent | {"covers": "30 mm", "where.pull": "page 3"}).status_code == 302
    system.refresh_from_db()
    assert (system.pull, system.covers, system.sources["pull"]) == (55 * MM, 30 * MM, "page 3")


def test_a_new_edition_is_another_system_and_leaves_units_alone(client, office, system):
    unit = make_unit(make_opening(), system=system)
    Check.objects.create(code="frame", system=system, limits={"rack": {"value": "3 mm", "source": "page 40"}})
    sent = typed(client, at("-new-edition", system.pk))
    assert sent["edition"] == "4", "the next one"
    same = client.post(at("-new-edition", system.pk), sent | {"edition": system.edition})
    assert "edition" in errors(same)
    client.post(at("-new-edition", system.pk), sent | {"edition": "4", "pull": "60 mm"})
    made = DoorSystem.objects.get(code="guillemot-9", edition="4")
    assert (made.pull, made.checks.get().limits["rack"]["value"]) == (60 * MM, "3 mm")
    system.refresh_from_db()
    assert (system.pull, Unit.objects.get(pk=unit.pk).system_id) == (55 * MM, system.pk)


def test_withdrawn_it_says_so_and_it_may_be_made_again(client, office, system):
    client.post(at("-withdraw", system.pk), {"version": "1"})
    for url in (at("door-systems"), at("", system.pk)):
        assert "ade no more since" in client.get(url).content.decode()
    client.post(at("-withdraw", system.pk), {"version": "2", "again": "1"})
    assert DoorSystem.objects.get().withdrawn_on is None
    assert client.post(at("-withdraw", system.pk), {"version": "1"}).status_code == 412


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_others_read_and_write_nothing(client, system, role):
    client.force_login(make_user(role))
    said = client.get(at("", system.pk)).content.decode()
    assert "maker&#x27;s instructions of an invented system, page 13" in said
    assert "New edition" not in said
    for name, args in (("-new", ()), ("-edit", (system.pk,)), ("-new-edition", (system.pk,)),
                       ("-withdraw", (system.pk,))):
        assert client.post(at(name, *args), {"version": "1", "name": "x"}).status_code == 403
    assert (DoorSystem.objects.count(), Change.objects.count()) == (1, 0)


def test_the_list_says_what_each_still_lacks(client, office, system):
    make_system(**{**MADE, "meeting_lap": None, "stile_grams_per_m": None}, name="Alcid")
    rows = client.get(at("door-systems")).context["lines"]
    assert rows[0].lacks == ("For panels: meeting lap.", "For weights: stile, weight by its length.",
                             "For take-off: joints, sealant products, fasteners by member.")
    assert rows[1].lacks == ()


def test_the_example_is_worked_out_of_the_system(client, office, system):
    shown = client.get(at("", system.pk))
    assert [panel.letter for panel in shown.context["u"].panels] == ["A", "B", "C", "D"]
    assert shown.content.decode().count('class="sash"') == 4


def test_a_system_that_says_nothing_and_one_with_odd_text_are_shown(client, office):
    bare = make_system()
    odd = make_system(name="<b>🚪" * 20, sources={"pull": "<i>"}, pull=MM, finishing_steps=["<u>"])
    for system in (bare, odd):
        for name in ("", "-edit", "-new-edition"):
            response = client.get(at(name, system.pk))
            assert response.status_code == 200
            assert "<b>🚪" not in response.content.decode()


def test_a_row_somebody_tampered_with_is_read_as_a_new_one(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | {"hardware.0.was": "[[", "hardware.1.was": '{"kg": {"a": 1}}'}
    response = client.post(at("-edit", system.pk), sent)
    assert response.status_code == 302
    system.refresh_from_db()
    assert system.hardware == SYSTEMS["guillemot-9"]["hardware"]


@pytest.mark.parametrize("rows", [2, 12])
def test_the_pages_ask_the_same_number_of_times_however_many_there_are(
        client, office, rows, django_assert_num_queries):
    systems = [make_system(**MADE, withdrawn_on=dt.date(2026, 1, 1)) for _ in range(rows)]
    for url, asked in ((at("door-systems"), 4), (at("", systems[0].pk), 6), (at("-edit", systems[0].pk), 6)):
        with django_assert_num_queries(asked):
            client.get(url)


def test_an_opening_its_unit_and_the_jobs_lead_to_it(client, office, system):
    opening = make_opening(pocket_side="left")
    make_unit(opening, system=system)
    for url in (reverse("opening", args=[opening.pk]), reverse("unit", args=[opening.pk])):
        assert f'href="{at("", system.pk)}"' in client.get(url).content.decode()
    assert f'href="{at("door-systems")}"' in client.get(reverse("jobs")).content.decode()


# ---- its own limits at the site ---------------------------------------------------------------------------

RACK = {"site.rack.rack": "3 mm", "site.rack.rack.source": "page 40"}


def own(system):
    return {check.code: check.limits for check in Check.objects.filter(system=system)}


def test_its_own_limits_of_checks_are_typed_with_their_source_and_say_what_they_replace(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | RACK | {
        "site.force.force_to_start": "27 lbf", "site.force.force_to_start.source": "page 41",
        "site.reveal-gap.gap_least": "1/8", "site.reveal-gap.gap_least.source": "page 42"}
    assert client.post(at("-edit", system.pk), sent).status_code == 302
    assert own(system) == {
        "rack": {"rack": {"value": "3 mm", "source": "page 40"}},
        "force": {"force_to_start": {"value": 120.1, "source": "page 41"}},  # 27 x 4.4482 N
        "reveal-gap": {"gap_least": {"value": "3.175 mm", "source": "page 42"}}}
    said = " ".join(client.get(at("", system.pk)).content.decode().split())
    row = said.split("page 40")[1].split("</tr>")[0]
    assert "1/8&quot;. Common practice, no published source." in row
    assert said.count("no limit set: the gate does not pass") == 4, "clearances, the widest gap and one force"


def test_while_units_stand_on_it_its_limits_at_the_site_may_change_and_go_when_emptied(client, office, system):
    unit = make_unit(make_opening(), system=system)
    client.post(at("-edit", system.pk), typed(client, at("-edit", system.pk)) | RACK)
    assert next(one for one in checks_for(unit.opening) if one.code == "rack").limits["rack"]["value"] == "3 mm"
    client.post(at("-edit", system.pk), typed(client, at("-edit", system.pk)) | dict.fromkeys(RACK, ""))
    assert next(one for one in checks_for(unit.opening) if one.code == "rack").limits["rack"]["value"] == "1/8 in"


BAD_SITE = {
    "site.rack.rack": ("steep", "write a length"), "site.jamb-plumb.out_of_plumb": ("-1", "negative"),
    "site.force.force_to_start": ("strong", "newtons"), "site.floor-bed.squeeze_least": ("900", "within"),
    "site.reveal-gap.gap_least": ("1 in", "not above the most")}


def test_limits_at_the_site_that_cannot_be_are_all_told_at_their_fields_and_nothing_is_kept(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | {name: text for name, (text, _) in BAD_SITE.items()}
    sent |= {f"{name}.source": "page 40" for name in BAD_SITE if "rack" not in name}
    sent |= {"site.reveal-gap.gap_most": "1/2 in", "site.reveal-gap.gap_most.source": "page 40", "pull": "wide"}
    response = client.post(at("-edit", system.pk), sent)
    page = " ".join(response.content.decode().split())
    assert response.status_code == 422 and own(system) == {}
    wrong = [name for name, (_, says) in BAD_SITE.items() if name != "site.reveal-gap.gap_least" and says not in
             page.split(f'id="f-{re.sub("[^a-z0-9]+", "-", name)}-error">')[1].split("</p>")[0]]
    assert wrong == []
    assert "where it stands, at most 200 characters" in page, "of the rack nobody says where it stands"
    again = Form(response.content.decode()).sent
    assert {name: again.get(name) for name in sent} == sent


def test_a_least_above_its_most_is_told_and_so_by_the_api(client, office, system):
    sent = typed(client, at("-edit", system.pk)) | {
        "site.reveal-gap.gap_least": "1 in", "site.reveal-gap.gap_least.source": "page 40",
        "site.reveal-gap.gap_most": "1/2 in", "site.reveal-gap.gap_most.source": "page 40"}
    assert "not above the most" in client.post(at("-edit", system.pk), sent).content.decode()
    body = {"code": "reveal-gap", "system": system.pk, "limits": {
        "gap_least": {"value": "1 in", "source": "page 40"}, "gap_most": {"value": "1/2 in", "source": "page 40"}}}
    answer = client.post("/api/v1/checks/", body, content_type="application/json")
    assert (answer.status_code, answer.json()["fields"]) == (422, {"limits.gap_least": "not above the most"})


def test_a_limit_changed_by_somebody_else_meanwhile_is_shown_beside_what_was_typed(client, office, system):
    client.post(at("-edit", system.pk), typed(client, at("-edit", system.pk)) | RACK)
    mine = typed(client, at("-edit", system.pk)) | {"site.rack.rack": "4 mm"}
    row = Check.objects.get(system=system)
    theirs = {"limits": {"rack": {"value": "5 mm", "source": "page 40"}}}
    change_check(act_for(office), row, theirs, version=row.version)
    response = client.post(at("-edit", system.pk), mine)
    assert response.status_code == 412
    assert "Rack: now “5 mm”, typed here “4 mm”." in response.content.decode()
    assert client.post(at("-edit", system.pk), Form(response.content.decode()).sent).status_code == 302
    assert own(system)["rack"]["rack"]["value"] == "4 mm"


def test_a_new_edition_takes_its_limits_at_the_site_with_it_and_may_change_them(client, office, system):
    client.post(at("-edit", system.pk), typed(client, at("-edit", system.pk)) | RACK)
    sent = typed(client, at("-new-edition", system.pk)) | {"edition": "4", "site.rack.rack": "2 mm"}
    assert client.post(at("-new-edition", system.pk), sent).status_code == 302
    made = DoorSystem.objects.get(code="guillemot-9", edition="4")
    assert (own(system)["rack"]["rack"]["value"], own(made)["rack"]["rack"]["value"]) == ("3 mm", "2 mm")
