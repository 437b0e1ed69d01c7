"""The site page in Spanish: every word it can say has its own, a telephone that asks for it has them, no other page."""

import ast
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import translation
from rest_framework.test import APIClient

from dashboard.site.refused import PUT_TOGETHER, REFUSED, RIGHT, refusal_said
from jobs.models import Opening
from jobs.models.base import new_id
from jobs.roles import LABELS, MAY, Role
from jobs.stages import Stage
from tests import messages
from tests.phone import phone_of
from tests.visits import at, site_today, text
from units.models import DoorSystem

FILLED_IN = re.compile(r"%(?:\(\w+\))?[a-z%]")
SPANISH = {"Accept-Language": "es-MX,es;q=0.9,en;q=0.8"}


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


# ---- the message file -------------------------------------------------------------------------------------


def pairs():
    """English and Spanish, one by one."""
    for message in messages.read("es"):
        if message.id:
            many = isinstance(message.id, tuple)
            yield from zip(message.id, message.string, strict=True) if many else [(message.id, message.string)]


def test_every_word_that_can_reach_a_telephone_is_in_the_message_file_and_has_its_spanish():
    catalog = messages.read("es")
    assert {message.id for message in catalog if message.id} == {said for said, _where in messages.said()}
    assert messages.untranslated(catalog) == []


def test_what_is_filled_in_is_filled_in_in_spanish_too_and_blanks_at_the_ends_stay():
    def shape(said):
        return sorted(FILLED_IN.findall(said)), said[:1] == " ", said[-1:] == " "
    assert [(english, spanish) for english, spanish in pairs() if shape(english) != shape(spanish)] == []


def test_what_is_compiled_is_what_stands_in_the_message_file():
    """`.venv/bin/python -m tests.messages` compiles it."""
    assert messages.place("es", "mo").read_bytes() == messages.compiled(messages.read("es"))


# What a telephone sends is carried out by these; whatever they raise can reach it.
CARRIED_OUT_BY = (
    *(f"inspections/services/{name}" for name in (
        "entries", "closing", "custody", "gates", "inspecting", "joints", "panels", "waits", "walls", "work", "photos",
        "judging")),
    "inspections/imaging", "inspections/calc/floor", "inspections/calc/opening", "inspections/calc/frame",
    "inspections/calc/head", "inspections/calc/members", "inspections/calc/reveal", "inspections/calc/force",
    "inspections/calc/sealing", "inspections/calc/spans", "inspections/calc/stations", "jobs/services/access",
    "jobs/services/entries", "jobs/services/stages", "jobs/calc/reading", "jobs/calc/lengths", "units/services/panels")
RAISED = {"Refusal", "Invalid", "NotAllowed", "NotThere", "GateSaysNo", "SomeoneWasFaster", "AlreadyHasOther",
          "NotAPicture", "BadInput", "ValueError"}


def raised(source):
    """Every sentence of a refusal, with `%s` where something is filled in."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in RAISED and node.args:
            yield written(node.args[2] if node.func.id == "BadInput" else node.args[0])
            for fields in (one.value for one in node.keywords if one.arg == "fields"):
                yield from map(written, fields.values if isinstance(fields, ast.Dict) else [])


def written(node):
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(part.value if isinstance(part, ast.Constant) else "%s" for part in node.values)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return (written(node.left) or "%s") + (written(node.right) or "%s")
    return None


def test_whatever_can_refuse_an_entry_or_a_photo_is_named_to_be_translated():
    with translation.override(None):
        known = {re.sub(r"%\(\w+\)s", "%s", str(one)) for one in (*RIGHT, *REFUSED, *PUT_TOGETHER)}
    said = {one for name in CARRIED_OUT_BY for one in raised((messages.HERE / f"{name}.py").read_text()) if one}
    assert len(said) > 150
    assert sorted(said - known) == []


def test_what_is_named_to_be_translated_is_said_somewhere():
    apps = ("jobs", "units", "inspections", "dashboard")
    said = {node.value for app in apps for source in (messages.HERE / app).rglob("*.py")
            if source.name != "refused.py"
            for node in ast.walk(ast.parse(source.read_text())) if isinstance(node, ast.Constant)}
    with translation.override(None):
        assert [one for one in map(str, (*RIGHT, *REFUSED)) if one not in said] == []


def test_every_role_and_every_act_on_site_that_a_refusal_names_has_its_spanish():
    acts = {what for what, by in MAY.items() if {Role.LEAD, Role.INSTALLER} & set(by)
            and not what.startswith(("read", "keep", "change", "take note"))}
    with translation.override("es"):
        assert [said for said in (*acts, *LABELS.values()) if refusal_said(said) == said] == []


@pytest.mark.parametrize(("english", "spanish"), [
    ("Installer may not step back.", "Instalador: no le toca regresar una etapa."),
    ("J-7 · A1 cannot be called 'frame set' yet.", "J-7 · A1 todavía no se puede dar por: Marco colocado."),
    ("Jambs plumb is judged from readings.", "Jambas a plomo: se juzga con lecturas."),
    ("sill_to: the sill must end beyond where it starts",
     "sill_to: el umbral tiene que terminar después de donde empieza"),
    ("Mrs Ebb's own words", "Mrs Ebb's own words")])
def test_what_is_put_together_is_said_part_by_part(english, spanish):
    with translation.override("es"):
        assert refusal_said(english) == spanish
    with translation.override("en"):
        assert refusal_said(english) == english


@pytest.mark.django_db
def test_the_office_answers_a_telephone_in_its_language_and_a_program_in_english():
    site = site_today(Stage.OPENING_VERIFIED)
    client = APIClient()
    client.force_authenticate(site.lead)
    entry = {"id": str(new_id()), "entry": "confirmation", "opening": site.opening.pk,
             "data": {"check_code": "jamb-plumb", "answer": "yes"}}

    def refused(**headers):
        sent = client.post("/api/v1/site-entries/", {"entries": [entry]}, format="json", headers=headers)
        photo = client.post("/api/v1/photos/", {"opening": site.opening.pk, "photo": picture()}, format="multipart",
                            headers=headers)
        return sent.json()["results"][0]["problem"]["detail"], photo.json()["detail"]

    def picture():
        return SimpleUploadedFile("x.jpg", b"%PDF-1.4", "image/jpeg")

    program = refused(**SPANISH)
    telephone = refused(**SPANISH, **{"Sillbook-Person": str(site.lead.pk)})
    assert program[0] == "Jambs plumb is judged from readings." and "picture and something else" in program[1]
    assert telephone[0] == "Jambas a plomo: se juzga con lecturas." and "es una foto y además otra cosa" in telephone[1]


@pytest.mark.django_db
def test_nothing_is_asked_for_while_a_day_is_told_that_has_no_spanish(client, monkeypatch):
    site = site_today(Stage.OPENING_VERIFIED)
    asked = asked_for(monkeypatch)
    client.force_login(site.lead)
    for stage in (Stage.TO_BE_MEASURED, Stage.FRAME_SET, Stage.ADJUSTED, Stage.PUNCH_LIST):
        Opening.objects.filter(pk=site.opening.pk).update(stage=stage.value)
        DoorSystem.objects.update(name=f"Door {stage.name}")
        assert client.get(reverse("site-day"), headers=SPANISH).status_code == 200
    for name in ("site", "site-words", "site-manifest"):
        client.get(reverse(name), headers=SPANISH)
    ours = {english for english, _spanish in pairs()}
    with translation.override("es"):
        assert len(asked) > 400
        assert {said for said in asked - ours if translation.gettext(said) == said} == {":"}  # of Django's own


def asked_for(monkeypatch):
    """Every text a translation is asked for, from here on."""
    asked, ask = set(), translation._trans.gettext
    monkeypatch.setattr(translation._trans, "gettext", lambda said: asked.add(str(said)) or ask(said))
    return asked


# ---- on the telephone -------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_a_telephone_in_spanish_says_the_day_a_sheet_and_a_verdict_in_spanish(browser, live_server):
    site = site_today(Stage.TO_BE_MEASURED)
    with phone_of(browser, live_server.url, site.lead, locale="es-MX") as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        assert phone.page.get_attribute("html", "lang") == "es"
        assert "Sigue: " in phone.said and "EN ESTE TELÉFONO" in phone.page.inner_text("#masthead").upper()
        phone.go(site.opening.pk, "sheet", "floor-profile")
        assert "Nadie mira hacia el láser" in phone.said and "Las lecturas son" in phone.said
        said = phone.page.evaluate("""async () => (await import('/static/dashboard/site/verdict_words.js')).said({
          result: 'fail', missing: [{ what: 'inner_line' }], findings: [{ quantity: 'worst_rise_in_a_foot',
          value_mm: '2.381250', limit_mm: '1.587500', margin_mm: '-0.793750', within: false,
          source: 'common practice, no published source', where: { line: 'outer', from_mm: '3657.600000',
          to_mm: '3962.400000' }, remedy: { code: 'grind_or_fill_between', values: {} } }] }, 'in')""")
        assert (said["headline"], said["missing"]) == (
            "Fuera de sus límites", ["Lee también la línea interior: este umbral tiene más de un riel."])
        assert said["notes"] == [
            'Subida en un pie: 3/32", entre 12\' 0" y 13\' 0", línea exterior; cuando más 1/16". 1/32" de más. '
            "Práctica común, sin fuente publicada. Rebaja el extremo alto o rellena el bajo."]
        assert phone.page.evaluate("""async () => (await import('/static/dashboard/site/says.js'))._(
          'a size cannot be negative')""") == "un tamaño no puede ser negativo"
        assert phone.page.complaints == []


# ---- every other page -------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_spanish_browser_makes_no_other_page_a_mix_whoever_is_signed_in_or_nobody(client):
    site = site_today(Stage.FRAME_SET)
    site.lead.language = "es"
    site.lead.save()
    client.force_login(site.lead)
    for address in (at(site), reverse("jobs"), "/nowhere/"):
        page = text(client.get(address, headers=SPANISH))
        assert '<html lang="en">' in page and not spanish_in(page), address
    signing_in = text(Client().get(reverse("sign-in"), headers=SPANISH))
    assert '<html lang="en">' in signing_in and "Password" in signing_in and not spanish_in(signing_in)


@pytest.mark.django_db
def test_signing_in_on_the_way_to_the_site_page_is_in_spanish_as_that_is():
    telephone, to_site = Client(headers=SPANISH), {"next": reverse("site")}
    asked = telephone.get(reverse("sign-in"), to_site)
    wrong = [telephone.post(reverse("sign-in"), {**to_site, "username": "nobody", "password": "guessed"})
             for _time in range(6)]
    for page in map(text, (asked, wrong[0], wrong[-1])):
        assert '<html lang="es">' in page and "Contraseña" in page
        assert "Password" not in page and "Sign in" not in page and "Our company" not in page
    assert asked["Content-Language"] == "es"
    assert [answer.status_code for answer in (wrong[0], wrong[-1])] == [422, 429]
    assert "no van juntos" in text(wrong[0]) and "Espera 15 minutos" in text(wrong[-1])


def spanish_in(page):
    return [said for english, said in pairs()
            if len(said) > 12 and said != english and "%" not in said and said in page]
