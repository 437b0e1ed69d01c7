"""The telephone judges as the office does: the same whole answer from the same readings, to the last printed digit.

Its modules run in a real Chromium, beside the sums they were written after: every vector, and readings at random."""

import json
from pathlib import Path

import pytest

from inspections.calc import floor, frame, opening
from jobs.calc import reading
from jobs.calc.verdict import BadInput
from tests.browser import chromium, opened
from tests.random_readings import CASES, COUNT
from tests.verdicts import unlike, vectors

MODULES = Path(__file__).parents[2] / "dashboard" / "static" / "dashboard" / "calc"
HERE = "https://telephone.example/"
SUMS = {"floor": floor, "opening": opening, "frame": frame}  # each has its module by the same name
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
    return [(case.given, case.limits, "mm") for case in CASES[SUMS[name].NAME](count)]


@pytest.mark.parametrize("name", SUMS)
def test_readings_at_random_are_judged_as_the_office_judges_them(telephone, name):
    assert told_apart(telephone, name, random_cases(name, FEW))[:3] == []


@pytest.mark.long
@pytest.mark.parametrize("name", SUMS)
def test_two_thousand_readings_at_random_are_judged_as_the_office_judges_them(telephone, name):
    assert told_apart(telephone, name, random_cases(name, COUNT))[:3] == []
