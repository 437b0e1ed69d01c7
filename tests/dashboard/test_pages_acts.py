"""What is done from the page of an opening: each act a plain form post, by whom it may be done."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from dashboard.forms.acts import FORMS
from inspections.models import (
    Confirmation,
    Countersignature,
    HoldPoint,
    Joint,
    Photo,
    PunchItem,
    SetAsidePart,
    Settlement,
    WallAgreement,
)
from inspections.services.closing import raise_punch_item, set_part_aside
from inspections.services.gates import pass_over
from inspections.services.panels import handle_panel
from inspections.services.parts import make_parts
from inspections.services.waits import raise_wait
from jobs.models import Change, Custody, Event, StageChange, TimeReport, Wait
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import make_user
from tests.pictures import jpeg
from tests.site import floor, frame, under_load
from tests.visits import as_role, at, post, site_today, text
from units.models import PanelChange, PartArrival, Unit

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


ROLES = ("office", "lead", "installer", "customer-service", "guest")
SITE = ("office", "lead", "installer")
JPEG = jpeg(40, 30)
TODAY = dt.date.today().isoformat()


def a_wait(site):
    return raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")


def an_item(site):
    return raise_punch_item(site.act(), site.opening.pk, what="Scratch", owner_id=site.lead.pk,
                            due_day=dt.date.today())


def a_lead_passed_over(site):
    site.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set")
    site.evidence(Stage.FRAME_SET, without=("frame",))
    return pass_over(site.act(), site.opening.pk, "The trim covers it.").countersignature


def kept_panel(site):
    handle_panel(site.act(), site.panel("B").pk, "receive")
    return handle_panel(site.act(), site.panel("B").pk, "hang", done_on_site=True)


def a_known_size(site):
    Unit.objects.filter(pk=site.unit.pk).update(frame_width=3_600_000_000, frame_height=2_400_000_000)


def a_listed_part(site):
    a_known_size(site)
    make_parts(site.act(site.office), site.unit.pk, version=1)
    return site.unit.parts.get(kind="sill")


def a_wall(site):
    return site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"})


# name of the form: (stage, what is made first, what is posted, who may, what is made by it)
ACTS = {
    "wait": (Stage.TO_BE_MEASURED, None, lambda s, m: {"what_for": "the floor", "owed_by_kind": "builder"},
             SITE, Wait),
    "clear-wait": (Stage.TO_BE_MEASURED, a_wait, lambda s, m: {
        "wait": m.pk, "version": 1, "how": "poured again", "standby_hours": "1.5"}, ("office", "lead"), None),
    "event": (Stage.TO_BE_MEASURED, None, lambda s, m: {"kind": "re-pour"}, SITE, Event),
    "set-aside": (Stage.TO_BE_MEASURED, None, lambda s, m: {"what": "Track cover"}, SITE, SetAsidePart),
    "put-back": (Stage.TO_BE_MEASURED, lambda s: set_part_aside(s.act(), s.opening.pk, what="Track cover"),
                 lambda s, m: {"part": m.pk}, SITE, None),
    "punch": (Stage.TO_BE_MEASURED, None, lambda s, m: {"what": "Scratch", "owner": s.lead.pk, "due_day": TODAY},
              SITE, PunchItem),
    "close-item": (Stage.TO_BE_MEASURED, an_item, lambda s, m: {"item": m.pk, "version": 1, "how": "polished out"},
                   ("office", "lead"), None),
    "hours": (Stage.TO_BE_MEASURED, None, lambda s, m: {
        "work_step": s.opening.work_steps.first().pk, "day": s.act().today(s.opening.job.time_zone).isoformat(),
        "hours": "12.5"}, SITE, TimeReport),
    "joint": (Stage.TO_BE_MEASURED, None, lambda s, m: {"joint": "seal:head:outside", "done": "yes"}, SITE, Joint),
    "confirm": (Stage.TO_BE_MEASURED, None, lambda s, m: {"spot": "header-in:", "answer": "yes"}, SITE, Confirmation),
    "photo": (Stage.TO_BE_MEASURED, None, lambda s, m: {"caption": "Header", "photo": JPEG},
              ("office", "lead", "installer"), Photo),
    "panel": (Stage.TO_BE_MEASURED, None, lambda s, m: {"panel": s.panel("A").pk, "what": "receive"}, SITE,
              PanelChange),
    "panel-next": (Stage.TO_BE_MEASURED, None, lambda s, m: {"panel": s.panel("A").pk, "what": "receive"}, SITE,
                   PanelChange),
    "advance": (Stage.TO_BE_MEASURED, lambda s: s.evidence(Stage.OPENING_VERIFIED),
                lambda s, m: {"to": "opening verified"}, SITE, StageChange),
    "step-back": (Stage.OPENING_VERIFIED, None, lambda s, m: {"to": "to be measured", "reason": "poured again"},
                  ("office", "lead"), StageChange),
    "pass-over": (Stage.OPENING_VERIFIED, lambda s: (
        s.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set"),
        s.evidence(Stage.FRAME_SET, without=("frame",))),
        lambda s, m: {"to": "frame set", "reason": "The trim covers it."}, ("office", "lead"), StageChange),
    "countersign": (Stage.OPENING_VERIFIED, a_lead_passed_over, lambda s, m: {
        "countersignature": m.pk, "version": 1, "give": "yes"}, ("office",), None),
    "release": (Stage.FRAME_SET, lambda s: s.evidence("the pocket closes"), lambda s, m: {}, ("office", "lead"),
                HoldPoint),
    "settle": (Stage.FRAME_SET, kept_panel, lambda s, m: {
        "record": m.pk, "of": "panel", "how": "stands", "note": "hung first on purpose"}, ("office", "lead"),
        Settlement),
    "list-parts": (Stage.TO_BE_MEASURED, a_known_size, lambda s, m: {"unit": s.unit.pk, "version": 1}, ("office",),
                   None),
    "part-came": (Stage.TO_BE_MEASURED, a_listed_part, lambda s, m: {
        "part": m.pk, "short": 1, "note": "not in the crate"}, SITE, PartArrival),
    "hand-over": (Stage.TO_BE_MEASURED, None, lambda s, m: {"holder": "owner", "condition": "Swept."}, SITE, Custody),
    "wall": (Stage.TO_BE_MEASURED, a_wall, lambda s, m: {"who": "Pat Lund", "trade": "drywall", "photo": JPEG},
             ("office", "lead"), WallAgreement),
    "accept": (Stage.PUNCH_LIST, None, lambda s, m: {"accepted_by": "The owner", "how": "signed on site"},
               ("office", "lead"), StageChange),
}


def ready(name):
    stage, first, data, may, made = ACTS[name]
    site = site_today(stage)
    thing = first(site) if first else None
    return site, {k: sent(v) for k, v in data(site, thing).items()}, may, made


def sent(value):
    return value if isinstance(value, bytes) else str(value)


def with_files(data):
    """Bytes go as a file: a new one each time, as a browser would send it."""
    return {k: SimpleUploadedFile("picture.jpg", v) if isinstance(v, bytes) else v for k, v in data.items()}


@pytest.mark.parametrize("name", ACTS)
def test_who_may_not_is_told_so_and_who_may_does_it_once_however_often_they_press(client, name):
    site, data, may, made = ready(name)
    url, before = at(site, f"opening-{name}"), made.objects.count() if made else 0
    for role in (r for r in ROLES if r not in may):
        person, noted = as_role(site, role), Change.objects.count()
        answer = post(client, person, url, **with_files(data))
        assert answer.status_code == 403, role
        assert "may" in text(answer)
        assert Change.objects.count() == noted, "nothing is done"
    person, entry = as_role(site, may[-1]), str(new_id())
    for _press in range(2):
        answer = post(client, person, url, **{**with_files(data), "entry": entry})
        assert answer.status_code == 302, text(answer)[text(answer).find('class="told"'):][:400]
        assert answer.url.startswith(at(site) + "#"), "one comes back to its place on the page"
    assert made is None or made.objects.count() == before + 1
    assert 'class="said" role="status"' in text(client.get(at(site))), "and is told that it is done"


def test_to_another_crew_the_opening_is_not_there(client):
    site, other = site_today(), make_user("lead")
    assert {post(client, other, at(site, f"opening-{name}")).status_code for name in ACTS} == {404}


def test_the_address_of_an_act_opened_again_leads_to_the_opening_and_does_nothing(client):
    site = site_today()
    client.force_login(site.office)
    before = Change.objects.count()
    assert {client.get(at(site, f"opening-{name}")).url for name in ACTS} == {at(site)}
    assert Change.objects.count() == before


@pytest.mark.parametrize("stage", sorted({act[0] for act in ACTS.values()}))
def test_an_empty_or_odd_form_is_never_a_fault_of_ours(client, stage):
    site = site_today(stage)
    client.force_login(site.office)
    for name in (n for n, act in ACTS.items() if act[0] == stage):
        fields = [f for f in FORMS[name].base_fields if f != "photo"]
        for odd in (dict.fromkeys(fields[:1], "\x00<b>"), dict.fromkeys(fields, "9" * 400)):
            assert client.post(at(site, f"opening-{name}"), odd).status_code in (302, 409, 412, 422), (name, odd)


# ---- refused, with what was typed ------------------------------------------------------------------------


def test_a_refused_form_keeps_what_was_typed_and_says_at_the_field_what_would_be_right(client):
    site = site_today()
    answer = post(client, site.office, at(site, "opening-punch"), what="Scratch on the cover", owner="",
                  due_day="tomorrow", place="sill")
    page = text(answer)
    assert answer.status_code == 422
    assert 'value="Scratch on the cover"' in page
    assert 'value="sill"' in page
    assert 'id="punch-due_day_error"' in page
    assert 'aria-invalid="true"' in page
    assert not PunchItem.objects.exists()


def test_a_refusal_of_the_act_itself_lands_at_its_field(client):
    site = site_today()
    answer = post(client, site.office, at(site, "opening-wait"), what_for="the floor", owed_by_kind="the moon")
    assert answer.status_code == 422
    assert "one of: builder" in text(answer)
    assert 'value="the floor"' in text(answer)


def test_a_form_that_was_changed_and_sent_again_keeps_the_first_and_offers_the_second(client):
    site, entry = site_today(), str(new_id())
    post(client, site.office, at(site, "opening-wait"), entry=entry, what_for="the floor", owed_by_kind="builder")
    answer = post(client, site.office, at(site, "opening-wait"), entry=entry, what_for="the wall",
                  owed_by_kind="builder")
    assert answer.status_code == 409
    assert [w.what_for for w in Wait.objects.all()] == ["the floor"]
    form = answer.context["o"].raise_wait
    assert form["entry"].value() != entry
    assert form["what_for"].value() == "the wall"


def test_a_version_that_lost_says_that_somebody_was_faster(client):
    site = site_today()
    wait = a_wait(site)
    answer = post(client, site.office, at(site, "opening-clear-wait"), wait=str(wait.pk), version="7", how="poured")
    assert answer.status_code == 412
    assert "changed by somebody else" in text(answer)
    assert 'value="poured"' in text(answer)


# ---- gates -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("act", "field", "made"), [("clear-wait", "wait", a_wait), ("close-item", "item", an_item)])
def test_what_is_said_of_something_that_somebody_else_has_settled_is_not_lost(client, act, field, made):
    site = site_today()
    record = made(site)
    told = {field: str(record.pk), "version": "1"}
    for _ in range(2):
        assert post(client, site.office, at(site, f"opening-{act}"), how="poured anew", **told).status_code == 302
    late = post(client, site.lead, at(site, f"opening-{act}"), how="ground off by hand", **told)
    assert (late.status_code, "ground off by hand" in text(late), "poured anew" in text(late)) == (412, True, True)


def test_a_gate_that_says_no_shows_every_reason_and_offers_to_record_it_as_done(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "opening-advance"), to="opening verified")
    assert answer.status_code == 409
    assert "Pocket wall open: not done yet." in text(answer)
    assert 'name="done_on_site" value="1"' in text(answer)
    assert not StageChange.objects.exists()


def test_done_all_the_same_it_is_kept_and_not_advanced(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "opening-advance"), to="opening verified", done_on_site="1")
    assert answer.status_code == 302
    site.opening.refresh_from_db()
    kept = StageChange.objects.get()
    assert (kept.advanced, site.opening.stage) == (False, "to be measured")
    assert "Done on site: opening verified" in text(client.get(at(site)))


def test_an_old_page_never_advances_twice(client):
    """Two windows with the same page: the second names the stage it was shown, which is passed by then."""
    site = site_today(Stage.OPENING_VERIFIED)
    answer = post(client, site.lead, at(site, "opening-advance"), to="opening verified")
    assert answer.status_code == 409
    assert "It stands at opening verified already." in text(answer)


def test_a_guarded_check_is_passed_over_by_nobody(client):
    site = site_today()
    client.force_login(site.office)
    page = text(client.get(at(site)))
    assert at(site, "opening-pass-over") not in page
    assert "Nobody passes over:" in page
    answer = post(client, site.office, at(site, "opening-pass-over"), to="opening verified", reason="no time")
    assert answer.status_code == 403


def test_a_panel_out_of_order_is_refused_then_kept(client):
    site = site_today(Stage.FRAME_SET)
    handle_panel(site.act(), site.panel("B").pk, "receive")
    data = {"panel": str(site.panel("B").pk), "what": "hang", "entry": str(new_id())}
    answer = post(client, site.lead, at(site, "opening-panel-next"), **data)
    assert answer.status_code == 409
    assert "Panel B comes after A." in text(answer)
    assert post(client, site.lead, at(site, "opening-panel-next"), **data, done_on_site="1").status_code == 302
    assert PanelChange.objects.get(act="hang").advanced is False


def test_a_pocket_closed_before_it_was_seen_is_refused_then_kept_then_settled(client):
    site = site_today(Stage.FRAME_SET)
    data = {"entry": str(new_id())}
    answer = post(client, site.lead, at(site, "opening-release"), **data)
    assert (answer.status_code, answer.context["keep"].name) == (409, "release")
    assert post(client, site.lead, at(site, "opening-release"), **data, done_on_site="1").status_code == 302
    kept = HoldPoint.objects.get()
    assert kept.advanced is False
    assert "Done on site: the pocket closes" in text(client.get(at(site)))
    settled = post(client, site.office, at(site, "opening-settle"), record=str(kept.pk), of="pocket", how="mistaken",
                   note="it stands open")
    assert settled.status_code == 302
    assert "it stands open" in text(client.get(at(site)))


def test_a_panel_of_another_opening_is_not_reached_through_this_one(client):
    site, other = site_today(), site_today()
    answer = post(client, site.lead, at(site, "opening-panel"), panel=str(other.panel("A").pk), what="receive")
    assert answer.status_code == 422
    assert not PanelChange.objects.exists()


@pytest.mark.parametrize(("name", "field", "made"), [
    ("clear-wait", "wait", a_wait), ("close-item", "item", an_item),
    ("put-back", "part", lambda s: set_part_aside(s.act(), s.opening.pk, what="Track cover"))])
def test_records_of_another_opening_are_not_reached_through_this_one(client, name, field, made):
    site, other = site_today(), site_today()
    thing = made(other)
    answer = post(client, site.lead, at(site, f"opening-{name}"), **{field: str(thing.pk), "version": "1", "how": "x"})
    assert answer.status_code == 422
    thing.refresh_from_db()
    assert thing.version == 1


def test_a_refused_countersignature_says_why_and_puts_the_opening_back(client):
    site = site_today(Stage.OPENING_VERIFIED)
    owed = a_lead_passed_over(site)
    data = {"countersignature": str(owed.pk), "version": "1", "give": "no"}
    assert post(client, site.office, at(site, "opening-countersign"), **data).status_code == 422
    answer = post(client, site.office, at(site, "opening-countersign"), **data, reason="Not at a sill.")
    assert answer.status_code == 302
    site.opening.refresh_from_db()
    assert (Countersignature.objects.get().state, site.opening.stage) == ("refused", "opening verified")


def test_accepted_subject_to_an_item_leaves_it_open(client):
    site = site_today(Stage.PUNCH_LIST)
    item = an_item(site)
    values = {"accepted_by": "The owner", "how": "signed on site"}
    assert post(client, site.lead, at(site, "opening-accept"), **values).status_code == 409
    assert post(client, site.lead, at(site, "opening-accept"), **values, subject_to=[str(item.pk)]).status_code == 302
    site.opening.refresh_from_db()
    item.refresh_from_db()
    assert (site.opening.stage, item.closed_at) == ("accepted", None)


def test_a_wait_is_raised_straight_from_a_failed_verdict_with_its_correction(client):
    site = site_today()
    read = site.read("floor-profile", floor([0, 0, 3, 0, 0, 0, 0]))
    client.force_login(site.lead)
    row = next(r for r in client.get(at(site)).context["o"].next_gate.not_passing if r.wait)
    assert row.wait["inspection"].value() == str(read.pk)
    post(client, site.lead, at(site, "opening-wait"), inspection=str(read.pk), what_for="Put the floor right",
         owed_by_kind="builder")
    assert Wait.objects.get().because["correction"]["plan"]
    page = text(client.get(at(site)))
    assert "Grind from" in page or "Fill from" in page


@pytest.mark.parametrize(("stage", "spoil", "owes"), [
    (Stage.TO_BE_MEASURED, lambda s: s.read("floor-profile", floor([0, 0, 3, 0, 0, 0, 0])), "builder"),
    (Stage.OPENING_VERIFIED, lambda s: s.read("frame", frame(end_gaps={"left": 10, "right": 16}),
                                              occasion="frame-set"), "office"),
    (Stage.FRAME_SET, lambda s: s.read("frame", under_load(40), occasion="under-load"), "builder"),
    (Stage.FRAME_SET, lambda s: s.confirm("studs-clear", "no", looked_at="a box in the path"), "builder"),
    (Stage.FRAME_SET, lambda s: s.confirm("lifting-fits", "no"), "office"),
])
def test_a_wait_is_owed_to_begin_with_by_whoever_must_put_it_right(client, stage, spoil, owes):
    site = site_today(stage)
    spoil(site)
    client.force_login(site.lead)
    sheet = client.get(at(site)).context["o"]
    gates = [g for g in (sheet.next_gate, sheet.hold_point) if g]
    offered = [r.wait["owed_by_kind"].value() for g in gates for r in g.not_passing if r.wait]
    assert set(offered) == {owes}


def test_a_wait_for_what_was_seen_says_what_was_seen_and_does_not_come_back_in_another_form(client):
    site = site_today(Stage.FRAME_SET)
    site.confirm("studs-clear", "no", looked_at="a box in the path")
    client.force_login(site.lead)
    row = next(r for r in client.get(at(site)).context["o"].hold_point.not_passing if r.wait)
    assert row.wait["what_for"].value().endswith("nothing runs through: a box in the path")
    answer = post(client, site.lead, at(site, "opening-wait"), about=row.wait["about"].value(), what_for="",
                  owed_by_kind="builder")
    assert answer.status_code == 422
    assert not answer.context["o"].raise_wait.is_bound
    assert any(r.wait and r.wait.errors for r in answer.context["o"].hold_point.not_passing)


# ---- photos and answers ----------------------------------------------------------------------------------


def test_an_answer_and_its_photo_come_together(client):
    site = site_today()
    picture = SimpleUploadedFile("any name.txt", jpeg(40, 30))
    answer = post(client, site.lead, at(site, "opening-confirm"), spot="floor-sound:", answer="yes", photo=picture)
    assert answer.status_code == 302
    assert "Floor sound; flashed or waterproofed where it is wood: photo missing" not in text(client.get(at(site)))


def test_a_photo_that_is_none_takes_its_answer_back_and_says_so(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "opening-confirm"), spot="floor-sound:", answer="yes",
                  looked_at="dry, no cracks", photo=SimpleUploadedFile("floor.jpg", b"no picture"))
    assert answer.status_code == 422
    assert "dry, no cracks" in text(answer)
    assert not Confirmation.objects.exists()


def test_only_the_office_is_offered_other_evidence(client):
    site = site_today()
    for person, offered in ((site.office, True), (site.lead, False)):
        client.force_login(person)
        assert ('value="other-evidence"' in text(client.get(at(site)))) == offered


def test_what_somebody_else_has_just_advanced_is_not_offered_to_be_kept(client):
    site = site_today(Stage.FRAME_SET)
    answer = post(client, site.lead, at(site, "opening-advance"), to=Stage.FRAME_SET)
    assert answer.status_code == 409 and "It stands at frame set already." in text(answer)
    assert answer.context["keep"] is None


@pytest.mark.parametrize("what", ["receive", "hang"])
def test_an_old_button_of_a_panel_says_that_it_is_done_already(client, what):
    site = site_today(Stage.FRAME_SET)
    site.evidence("the pocket closes")
    for step in ("receive", "hang"):
        handle_panel(site.act(), site.panel("A").pk, step)
    answer = post(client, site.lead, at(site, "opening-panel-next"), panel=str(site.panel("A").pk), what=what)
    assert answer.status_code == 409
    assert f"Panel A is {'hung' if what == 'hang' else 'received'} already." in text(answer)
    assert answer.context["keep"] is None


def test_a_form_that_was_refused_lies_open_though_no_field_of_it_is_at_fault(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "opening-photo"), check_code="",
                  photo=SimpleUploadedFile("floor.jpg", b"no picture"))
    assert answer.status_code == 422
    page = text(answer)
    assert '<details class="fold" open><summary>Add a photo' in page and answer.context["o"].unfolded["photos"]


def test_a_day_to_come_is_asked_for_from_today_on(client):
    site = site_today()
    client.force_login(site.lead)
    sheet = client.get(at(site)).context["o"]
    assert {f[name].field.widget.attrs["min"] for f, name in (
        (sheet.raise_item, "due_day"), (sheet.raise_wait, "expected_day"))} == {sheet.ground.today.isoformat()}
