"""A verdict is said on the telephone in the sentences the office's pages say it in: every vector, in both units."""

import json
import re
from contextlib import suppress
from pathlib import Path

import pytest
from django.utils import translation

from dashboard import measures, words, written
from dashboard.measures import Reader
from dashboard.site.words import SENTENCES, words_told
from inspections.calc import floor, frame, opening, reveal, sealing
from jobs.calc import reading
from jobs.calc.verdict import BadInput, Finding, Remedy, Verdict
from tests.browser import chromium, opened
from tests.random_readings import CASES, COUNT
from tests.verdicts import limits_of, vectors

SITE = Path(__file__).parents[2] / "dashboard" / "static" / "dashboard"
HERE = "https://telephone.example/"
FEW = 60  # of the random ones, whenever the tests run; the long run takes all
KINDS = {module.NAME: module for module in (floor, opening, frame, reveal, sealing)}
SAID = """async ([told, verdicts]) => {
  const { speakBy } = await import('/site/says.js');
  const { said } = await import('/site/verdict_words.js');
  await speakBy(`data:application/json,${encodeURIComponent(told)}`);
  return JSON.stringify(JSON.parse(verdicts).map(([verdict, units, year]) => said(verdict, units, { year })));
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
        route.fulfill(path=SITE / name, content_type="text/javascript")
    else:
        route.fulfill(body="<!doctype html><title>Telephone</title>", content_type="text/html")


def by_the_office(verdict, units, year=None):
    said = words.verdict(verdict, Reader(units, year=year))
    return {"headline": said.headline, "notes": [words.finding(note) for note in said.notes],
            "beyond": [words.finding(note) for note in said.beyond], "missing": list(said.missing),
            "secondLook": list(said.second_look), "caution": said.caution}


def told_apart(telephone, cases):
    """Where the two differ; empty where they say the same."""
    answers = json.loads(telephone.evaluate(SAID, [json.dumps(words_told()), json.dumps(cases)]))
    expected = [by_the_office(*case) for case in cases]
    assert [list(ours) for ours in expected] == [list(theirs) for theirs in answers]
    return [(part, ours[part], theirs[part]) for ours, theirs in zip(expected, answers, strict=True)
            for part in ours if ours[part] != theirs[part]]


def judged(name):
    module = KINDS[name]
    found = [module.judge(vector["given"], limits_of(vector, module.LIMITS)) for vector in vectors(name)
             if "expect" in vector]  # the others are refused
    assert len(found) > 15
    return [verdict.as_dict() for verdict in found]


@pytest.mark.parametrize("name", KINDS)
def test_every_vector_is_said_as_on_the_pages_in_both_units(telephone, name):
    assert told_apart(telephone, [(verdict, units) for verdict in judged(name) for units in ("in", "mm")])[:2] == []


@pytest.mark.parametrize("name", CASES)
def test_what_is_read_at_random_is_said_as_on_the_pages(telephone, name):
    cases = [(verdict, units) for verdict in judged_at_random(name, FEW) for units in ("in", "mm")]
    assert told_apart(telephone, cases)[:2] == []


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_two_thousand_read_at_random_are_said_as_on_the_pages(telephone, name):
    cases = [(verdict, units) for verdict in judged_at_random(name, COUNT) for units in ("in", "mm")]
    assert told_apart(telephone, cases)[:2] == []


def judged_at_random(name, count):
    module = KINDS[name]
    for case in CASES[name](count):
        with suppress(BadInput):
            yield module.judge(case.given, reading.limits(case.limits, module.LIMITS, {}, "mm")).as_dict()


@pytest.mark.parametrize(("language", "accepted"), [("es", "es-MX"), ("es", "es-ES"), ("en", "en-US"), ("en", "de")])
def test_also_as_the_browser_writes_dates_and_decimals(telephone, language, accepted):
    with translation.override(language), written.written_for(accepted):
        cases = [(verdict, units, year) for verdict in (*judged("sealing-conditions"), *judged("reveal"))
                 for units, year in (("in", None), ("mm", 2025))]
        assert told_apart(telephone, cases)[:2] == []


def test_numbers_that_lie_between_two_are_rounded_as_python_rounds(telephone):
    verdict = Verdict("fail", tuple(
        Finding(quantity, value, limit, False, "", unit, where={"at_mm": at}, remedy=Remedy("builder_to_enlarge"))
        for unit, quantity, value, limit in (
            ("c", "air_most", 6.25, 6.24), ("c", "dew_margin", -0.75, 3), ("n", "force_to_start", 22.5, 20),
            ("mm", "rack", 0.04, 0.01), ("mm", "rack", 50_000, 49_999), ("deg", "x", 1.25, 1.2))
        for at in (500_000, 1_500_000, -300_000, -2_500_000, 304_800_000, 303_999_999))).as_dict()
    assert told_apart(telephone, [(verdict, units) for units in ("in", "mm")]) == []


def test_every_sentence_the_scripts_ask_for_is_sent_and_is_one_of_the_pages():
    scripts = "".join((SITE / "site" / f"{name}.js").read_text() for name in ("verdict_words", "measures"))
    asked = {said[1:-1] for pair in re.findall(
        r"""\b_\((?:[^"'()]* \? )?("[^"]*"|'[^']*')(?: : ("[^"]*"))?""", scripts) for said in pair if said}
    assert asked == {str(sentence) for sentence in SENTENCES}
    pages = "".join(Path(module.__file__).read_text() for module in (words, measures))
    assert [said for said in asked if f'_("{said}")' not in pages and f"_('{said}')" not in pages] == []
