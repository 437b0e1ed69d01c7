"""The telephone judges as the office does: the same whole answer from the same readings, to the last printed digit.

Its modules run in a real Chromium, beside the sums they were written after: every vector, and readings at random."""

import json
from pathlib import Path

import pytest

from inspections.calc import floor, frame, opening, reveal, sealing
from jobs.calc import lengths, reading
from jobs.calc.verdict import BadInput
from tests.browser import chromium, opened
from tests.random_conditions import conditions, reveals
from tests.random_readings import CASES, COUNT, written
from tests.verdicts import unlike, vectors

MODULES = Path(__file__).parents[2] / "dashboard" / "static" / "dashboard" / "calc"
HERE = "https://telephone.example/"
SUMS = {"floor": floor, "opening": opening, "frame": frame, "reveal": reveal, "sealing": sealing}  # each has its module
ALL_CASES = {**CASES, reveal.NAME: reveals, sealing.NAME: conditions}
FEW = 400  # of the random ones, whenever the tests run; the long run takes all
JUDGED = """async ([name, cases]) => {
  const [{ judge, LIMITS }, { limits }, { BadInput }] = await Promise.all(
    [name, 'inputs', 'verdict'].map(module => import(`/${module}.js`)));
  return JSON.stringify(JSON.parse(cases).map(([given, sent, unit]) => {
    try {
      return judge(given, limits(sent, LIMITS, unit));
    } catch (refused) {
      if (!(refused instanceof BadInput)) throw refused;
      const { field, sent, right } = refused;
      return { field, sent, right };
    }
  }));
}"""

READ = """async texts => {
  const { parse, formatInches } = await import('/lengths.js');
  return texts.map(([text, unit]) => {
    try {
      const nm = parse(text, unit);
      return [String(nm), formatInches(nm), formatInches(nm, 64, true)];
    } catch (refused) {
      if (!(refused instanceof RangeError)) throw refused;
      return refused.message;
    }
  });
}"""


@pytest.fixture(scope="module")
def telephone():
    with chromium() as browser, opened(browser, None) as page:
        page.route(f"{HERE}**", _serve)
        page.goto(HERE)
        yield page


def _serve(route):
    name = route.request.url.removeprefix(HERE)
    if name:
        route.fulfill(path=MODULES / name, content_type="text/javascript")
    else:
        route.fulfill(body="<!doctype html><title>Telephone</title>", content_type="text/html")


def by_the_office(module, given, limits, unit):
    try:
        verdict = module.judge(given, reading.limits(limits, module.LIMITS, {}, unit))
    except BadInput as refused:
        return {"field": refused.field, "sent": refused.sent, "right": refused.right}
    return verdict.as_dict()


def told_apart(telephone, name, cases):
    """Where the two differ, case by case; empty where they are one."""
    answers = json.loads(telephone.evaluate(JUDGED, [name, json.dumps(cases)]))
    expected = [by_the_office(SUMS[name], *case) for case in cases]
    assert len(answers) == len(expected)
    return [(n, cases[n], unlike(ours, theirs) or unlike(theirs, ours))
            for n, (ours, theirs) in enumerate(zip(expected, answers, strict=True)) if ours != theirs]


@pytest.mark.parametrize("name", SUMS)
def test_every_vector_is_judged_as_the_office_judges_it(telephone, name):
    cases = [(vector["given"], vector.get("limits"), "mm") for vector in vectors(SUMS[name].NAME)]
    assert told_apart(telephone, name, cases) == []


def random_cases(name, count):
    return [(case.given, case.limits, "mm") for case in ALL_CASES[SUMS[name].NAME](count)]


@pytest.mark.parametrize("name", SUMS)
def test_readings_at_random_are_judged_as_the_office_judges_them(telephone, name):
    assert told_apart(telephone, name, random_cases(name, FEW))[:3] == []


@pytest.mark.long
@pytest.mark.parametrize("name", SUMS)
def test_two_thousand_readings_at_random_are_judged_as_the_office_judges_them(telephone, name):
    assert told_apart(telephone, name, random_cases(name, COUNT))[:3] == []


def read_by_the_office(text, unit):
    try:
        nm = lengths.parse(text, unit)
    except ValueError as refused:
        return str(refused)
    return [str(nm), lengths.format_inches(nm), lengths.format_inches(nm, 64, feet=True)]


def test_a_length_is_read_or_refused_as_the_office_does_it_and_said_again(telephone):
    given = [vector["given"] for vector in vectors("lengths")]
    texts = [(one["text"], one.get("unit", "in")) for one in given if isinstance(one.get("text"), str)]
    texts = [*(text for text in texts if text[1] in ("in", "mm")), *written()]
    expected = [read_by_the_office(*text) for text in texts]
    assert sum(isinstance(one, list) for one in expected) > len(texts) / 10
    answers = telephone.evaluate(READ, texts)
    assert [row for row in zip(texts, answers, expected, strict=True) if row[1] != row[2]][:5] == []
