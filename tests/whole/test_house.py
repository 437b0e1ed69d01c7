"""What holds the house together, read from the code itself."""

import ast
import importlib
import io
import re
import subprocess
import tokenize
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.urls import get_resolver
from rest_framework.serializers import BaseSerializer

from jobs.acts import carry_out
from jobs.errors import Invalid, NotAllowed
from jobs.gate import GateResult, seal
from jobs.models import Opening, StageChange
from jobs.services import office
from jobs.services.stages import move
from jobs.stages import Stage
from tests.factories import act_for, make_opening
from tests.writes import Field, writes
from units.models import Panel

ROOT = Path(__file__).resolve().parents[2]
APPS = ("jobs", "units", "inspections", "dashboard")
STAGE = Field("Opening", "stage", "jobs_opening")
STATE = Field("Panel", "state", "units_panel", anyones=False)


# Puts rows to measure with into a database that is made for it and thrown away.
MEASURING = ROOT / "dashboard" / "benching"


def programs(*folders: str) -> list[Path]:
    return [path for folder in folders for path in sorted((ROOT / folder).rglob("*.py"))]


def written_in(field: Field) -> dict[str, list[str]]:
    """Each program that writes the field, and how. Arithmetic is left out: it knows no database."""
    found = {}
    for path in [*programs(*APPS), ROOT / "manage.py"]:
        hows = [write.how for write in writes(path.read_text(encoding="utf-8"), field)]
        if hows and path.parent.name != "calc" and path.parent != MEASURING:
            found[str(path.relative_to(ROOT))] = hows
    return found


# --- what is written by hand is read on one screen --------------------------------------------------------------------

MOST_LETTERS = 120  # to the line, as in the programs that the linter reads


def test_no_line_of_a_script_is_longer_than_those_of_the_programs():
    scripts = sorted((ROOT / "dashboard" / "static").rglob("*.js"))
    assert len(scripts) > 40
    assert [f"{path.relative_to(ROOT)}:{number}" for path in scripts
            for number, line in enumerate(path.read_text().splitlines(), start=1) if len(line) > MOST_LETTERS] == []


# --- the stage is written in one place ------------------------------------------------------------------------------

def test_an_openings_stage_is_written_in_one_place():
    assert written_in(STAGE) == {"jobs/services/stages.py": ["update"]}


@pytest.mark.parametrize("path", sorted(MEASURING.glob("*.py")), ids=lambda path: path.name)
def test_what_makes_up_rows_to_measure_with_only_adds_them(path):
    code = path.read_text(encoding="utf-8")
    assert {write.how for write in writes(code, STAGE)} <= {"SQL"}
    assert not re.search(r"\b(update|replace into|delete from)\s+\W?(jobs|units)_", code, re.IGNORECASE)


def test_rows_to_measure_with_are_made_up_only_where_nothing_is_kept(monkeypatch):
    given = {}
    monkeypatch.setenv("DATABASE_URL", "postgresql://kept.example/kept")
    monkeypatch.setattr(subprocess, "run", lambda *_, env, **__: given.update(env) or SimpleNamespace(returncode=0))
    with pytest.raises(SystemExit):
        call_command("bench")
    assert given["DATABASE_URL"] == ""
    assert not Path(given["SILLBOOK_DATA"]).exists(), "it is thrown away"


def test_a_panels_state_is_written_in_one_place():
    assert written_in(STATE) == {"units/services/panels.py": ["update"]}


@pytest.mark.parametrize(("how", "code"), [
    ("assignment", "opening.stage = 'accepted'"),
    ("assignment", "self.opening.stage: str = 'accepted'"),
    ("assignment", "found, opening.stage = 1, 'accepted'"),
    ("assignment", "for opening.stage in ORDER: opening.save()"),
    ("assignment", "opening.__dict__['stage'] = 'accepted'"),
    ("assignment", "vars(opening)['stage'] = 'accepted'"),
    ("setattr", "setattr(opening, 'stage', 'accepted')"),
    ("setattr", "object.__setattr__(row, 'stage', 'accepted')"),
    ("setattr", "setattr(opening, name, value)"),
    ("update", "Opening.objects.filter(pk=1).update(stage='accepted')"),
    ("update", "rows.update(stage=F('other'))"),
    ("update", "rows.update(**{'stage': 'accepted'})"),
    ("update", "Opening.objects.update(**values)"),
    ("update", "async def go():\n    await job.openings.aupdate(stage='accepted')"),
    ("bulk_update", "Opening.objects.bulk_update(rows, ['tag', 'stage'])"),
    ("bulk_update", "rows.bulk_update(them, fields=('stage',))"),
    ("bulk_update", "Opening.objects.bulk_update(rows, names)"),
    ("bulk_create", "Opening.objects.bulk_create(rows, update_conflicts=True, update_fields=['stage'])"),
    ("save", "opening.save(update_fields=['stage'])"),
    ("save", "row.save(update_fields={'stage', 'stage_since'})"),
    ("save", "opening.save(update_fields=names)"),
    ("create", "Opening(job=job, tag='A1', stage='accepted')"),
    ("create", "Opening(**values)"),
    ("create", "models.Opening.objects.create(job=job, stage='accepted')"),
    ("create", "job.openings.create(tag='A1', stage='accepted')"),
    ("create", "Opening.objects.update_or_create(tag='A1', defaults={'stage': 'accepted'})"),
    ("create", "Opening.objects.get_or_create(tag='A1', defaults=values)"),
    ("create", "Opening.objects.create(**values)"),
    ("SQL", "cursor.execute('UPDATE jobs_opening SET stage = %s', ['accepted'])"),
    ("SQL", "cursor.execute('''\n  update\n \"jobs_opening\" set stage = 1''')"),
    ("SQL", "cursor.execute('INSERT OR REPLACE INTO jobs_opening (stage) SELECT 1')"),
    ("SQL", "migrations.RunSQL('insert into jobs_opening values (1)')"),
    ("SQL", "cursor.execute(f'UPDATE {table} SET {column} = 1')"),
    ("SQL", "cursor.execute(f'UPDATE jobs_opening SET {column} = 1')"),
    ("admin", "admin.site.register(Opening)"),
    ("admin", "site.register([Job, Opening], OpeningAdmin)"),
    ("admin", "@admin.register(Opening)\nclass OpeningAdmin(admin.ModelAdmin): pass"),
    ("serializer", "class S(ModelSerializer):\n stage = serializers.CharField()\n class Meta:\n  model = Opening"),
    ("serializer", "class S(OpeningSerializer):\n stage = serializers.ChoiceField(choices=STAGES)"),
    ("serializer", "class S(ModelSerializer):\n class Meta:\n  model = Opening\n  extra_kwargs = {'stage': {}}"),
    ("form", "class F(ModelForm):\n class Meta:\n  model = Opening\n  fields = ['tag', 'stage']"),
    ("form", "class F(ModelForm):\n class Meta:\n  model = Opening\n  fields = '__all__'"),
    ("fixture", "call_command('loaddata', 'openings.json')"),
])
def test_each_way_to_write_a_stage_would_be_found(how, code):
    assert how in [write.how for write in writes(code, STAGE)]


@pytest.mark.parametrize("code", [
    "if opening.stage == 'accepted': pass",
    "Opening.objects.filter(stage='accepted').exclude(stage__in=[])",
    "Opening.objects.filter(pk=1).update(called_back=True)",
    "WorkStep.objects.create(opening=opening, stage='sealed')",
    "StageChange.objects.create(opening=opening, to_stage='sealed')",
    "payload['stage'] = opening.stage",
    "cursor.execute('SELECT stage FROM jobs_opening')",
    "class S(ModelSerializer):\n stage = serializers.CharField(read_only=True)\n class Meta:\n  model = Opening",
    "class S(ModelSerializer):\n class Meta:\n  model = Opening\n  fields = ['tag', 'stage']",
    "opening.save(update_fields=['tag'])",
])
def test_reading_a_stage_is_no_write(code):
    assert writes(code, STAGE) == []


@pytest.mark.parametrize("code", [
    "panel.state = 'hung'", "Panel.objects.filter(pk=1).update(state='hung')", "unit.panels.update(state='hung')",
    "Panel(unit=unit, state='hung')", "setattr(panel, 'state', 'hung')", "Panel.objects.update(**values)",
    "Panel.objects.bulk_update(rows, ['state'])", "panel.save(update_fields=['state'])",
    "cursor.execute('UPDATE units_panel SET state = 1')", "admin.site.register(Panel)",
])
def test_each_way_to_write_a_panels_state_would_be_found(code):
    assert writes(code, STATE)


def test_other_records_have_states_of_their_own():
    assert writes("message.state = 'sent'\nMessage.objects.filter(pk=1).update(state='sent')", STATE) == []


@pytest.mark.parametrize("model", [Opening, Panel])
def test_no_form_offers_the_field(model):
    assert not model._meta.get_field({Opening: "stage", Panel: "state"}[model]).editable


def _all_below(kind: type) -> Iterator[type]:
    for below in kind.__subclasses__():
        yield below
        yield from _all_below(below)


@pytest.mark.parametrize(("model", "name"), [(Opening, "stage"), (Panel, "state")])
def test_no_serializer_lets_the_field_in(model, name):
    assert get_resolver().url_patterns  # brings in every serializer that has an address
    for app in APPS[:3]:
        if (ROOT / app / "serializers.py").exists():
            importlib.import_module(f"{app}.serializers")
    about = {s for s in _all_below(BaseSerializer) if getattr(getattr(s, "Meta", None), "model", None) is model}
    writable = {s.__qualname__ for s in about if name in s().fields and not s().fields[name].read_only}
    assert writable == set()


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["stage", "stage_since", "called_back", "version"])
def test_an_office_record_cannot_be_changed_where_the_office_does_not_write(name):
    opening = make_opening()
    with pytest.raises(Invalid) as refused:
        office.change(act_for("office"), opening, {name: "accepted"}, version=1, record="openings")
    assert name in refused.value.fields
    with pytest.raises(Invalid):
        office.create(act_for("office"), Opening, {"job": opening.job, "tag": "B", name: "accepted"}, record="openings")
    opening.refresh_from_db()
    assert (opening.stage, opening.version) == ("to be measured", 1)


# --- the gate's result cannot be forged -----------------------------------------------------------------------------

def judged(opening: Opening, **other: object) -> GateResult:
    result = GateResult(opening.pk, Stage.TO_BE_MEASURED, Stage.OPENING_VERIFIED, "advance", {"passes": True})
    result = replace(result, **other)
    return replace(result, seal=seal(result))


def moved(opening: Opening, result: object) -> StageChange:
    act = act_for("office")
    with carry_out(act) as done:
        return move(act, done, opening, result)


@pytest.mark.django_db
def test_a_sealed_result_moves_its_opening_once():
    opening = make_opening()
    assert moved(opening, judged(opening)).to_stage == "opening verified"
    with pytest.raises(Exception, match="Somebody else"):
        moved(opening, judged(opening))
    assert StageChange.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("forged", [
    lambda o: replace(judged(o), seal=""),
    lambda o: replace(judged(o), seal="0" * 64),
    lambda o: replace(judged(o), seal="ä"),
    lambda o: replace(judged(o), seal=None),
    lambda o: replace(judged(o), to_stage=Stage.ACCEPTED),
    lambda o: replace(judged(o), from_stage=Stage.FRAME_SET),
    lambda o: replace(judged(o), kind="pass-over"),
    lambda o: replace(judged(o), stands_on={"passes": True, "checks": []}),
    lambda o: replace(judged(make_opening()), opening_id=o.pk),
    lambda o: judged(make_opening()),
    lambda o: judged(o, to_stage=Stage.FRAME_SET),
    lambda o: judged(o, kind="step-back"),
    lambda o: judged(o, from_stage=Stage.ACCEPTED, to_stage=Stage.SEALED),
    lambda o: True,
    lambda o: {"opening_id": o.pk, "seal": seal(judged(o))},
    lambda o: type("GateResult", (), {"seal": "", "opening_id": o.pk})(),
], ids=["no seal", "a made-up seal", "no hash at all", "nothing", "other stage", "other start", "other kind",
        "other grounds", "another opening's, renamed", "another opening's", "two steps", "forward as a step back",
        "a step that is past", "a word", "a mapping", "a look-alike"])
def test_a_forged_result_moves_nothing(forged):
    opening = make_opening()
    with pytest.raises((NotAllowed, Invalid)) as refused:
        moved(opening, forged(opening))
    assert refused.value.detail
    opening.refresh_from_db()
    assert (opening.stage, StageChange.objects.count()) == ("to be measured", 0)


def _takes_the_seal(tree: ast.AST) -> bool:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "jobs.gate" and {a.name for a in node.names} & {
                "seal", "_KEY", "*"}:
            return True
        if isinstance(node, ast.ImportFrom) and node.module == "jobs" and "gate" in {a.name for a in node.names}:
            return True
        if isinstance(node, ast.Import) and "jobs.gate" in {a.name for a in node.names}:
            return True
        if isinstance(node, ast.Constant) and node.value == "jobs.gate":
            return True
    return False


def test_only_the_floor_that_judges_seals_a_result():
    takers = [str(path.relative_to(ROOT)) for path in programs(*APPS)
              if _takes_the_seal(ast.parse(path.read_text(encoding="utf-8")))]
    assert takers == ["inspections/services/gates.py"]


@pytest.mark.parametrize("code", [
    "from jobs.gate import seal as s", "from jobs.gate import _KEY", "from jobs import gate", "import jobs.gate",
    "from jobs.gate import *", "import_module('jobs.gate')",
])
def test_each_way_to_the_seal_would_be_found(code):
    assert _takes_the_seal(ast.parse(code))


# --- words ----------------------------------------------------------------------------------------------------------

# What the product must not promise, in its two languages. Identifiers are not prose: `require_safe` is a name,
# `'unsafe-inline'` a word of HTTP.
PROMISES = re.compile(
    r"\b(un)?safe(ly|ty|r|st)?\b(?!-(area-inset|inline|eval|hashes)\b)|\bsegur[oa]s?\b|\bseguridad\b",
    re.IGNORECASE)
PLACES = re.compile(r"(?<![\w.:/}>-])/(home|root|Users)/\w|(?<![\w/])/tmp/\w|" + re.escape(str(ROOT)) + "/")
READ_WHOLE = (".html", ".txt", ".md", ".svg", ".css", ".js", ".json", ".po", ".typ", ".toml", ".yml", ".yaml")
OWN_NAMES = ("tests/whole/test_house.py", "tests/writes.py")


@cache
def prose() -> tuple[tuple[str, str], ...]:
    return tuple(_prose())


def _prose() -> Iterator[tuple[str, str]]:
    """(where, words) of everything people may read: texts whole; of programs, their strings and comments."""
    folders = [ROOT / folder for folder in (*APPS, "tests")]
    texts = [p for folder in folders for p in sorted(folder.rglob("*")) if p.suffix in READ_WHOLE]
    for path in [*texts, *sorted(ROOT.glob("*.md")), *sorted(ROOT.glob("*.txt"))]:
        yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")
    for path in [*programs(*APPS, "tests"), ROOT / "manage.py"]:
        name = str(path.relative_to(ROOT))
        if name not in OWN_NAMES:
            for token in said_in(path.read_text(encoding="utf-8")):
                for line, words in enumerate(token.string.splitlines(), start=token.start[0]):
                    yield f"{name}:{line}", words


def said_in(program: str) -> list[tokenize.TokenInfo]:
    tokens = tokenize.generate_tokens(io.StringIO(program).readline)
    return [token for token in tokens if token.type in (tokenize.STRING, tokenize.COMMENT)]


def test_nothing_promises_that_something_is_without_danger():
    shown = [(where, words) for where, words in prose() if not where.startswith("tests/")]
    assert len(shown) > 1000
    assert [f"{where}: {found[0]}" for where, words in shown if (found := PROMISES.search(words))] == []


def test_nothing_names_a_place_on_somebodys_machine():
    assert [f"{where}: {found[0]}" for where, words in prose() if (found := PLACES.search(words))] == []


@pytest.mark.parametrize("words", ["The lift is Safe.", "unsafe", "for your safety", "{{ caption|safe }}", "es seguro"])
def test_each_promise_would_be_found(words):
    assert PROMISES.search(words)


@pytest.mark.parametrize("words", ["mark_safe(x)", "SafeString", "safeguard", "padding: env(safe-area-inset-bottom)",
                                   "Number.MAX_SAFE_INTEGER", "require_safe", "'unsafe-inline'"])
def test_a_name_is_no_promise(words):
    assert not PROMISES.search(words)


@pytest.mark.parametrize("words", ["see /home/jo/notes", f"{ROOT}/manage.py", "kept in /tmp/x"])
def test_each_place_would_be_found(words):
    assert PLACES.search(words)


def test_an_address_of_the_site_is_no_place_on_a_machine():
    assert not PLACES.search("/api/v1/work-steps/ and https://door.example/home/page and /work-steps/")
