"""The telephone judges as the office does: the same whole answer from the same readings, to the last printed digit.

Its modules run in a real Chromium as they are sent, joined and small, beside the sums they were written after: every
vector, and readings at random."""

import json
from collections import Counter

import pytest
from csp.utils import build_policy

from inspections.calc import floor, frame, opening, reveal, sealing
from jobs.calc import lengths, reading
from jobs.calc.verdict import FAIL, PASS, BadInput
from tests.browser import chromium, opened
from tests.random_conditions import conditions, reveals
from tests.random_readings import CASES, COUNT, NEAR, SIXTEENTH, written
from tests.sent import modules_sent
from tests.verdicts import unlike, vectors

HERE = "https://telephone.example/"
SUMS = {"floor": floor, "opening": opening, "frame": frame, "reveal": reveal, "sealing": sealing}  # each has its module
ALL_CASES = {**CASES, reveal.NAME: reveals, sealing.NAME: conditions}
JUDGED = """async ([name, cases]) => {
  const { [name]: { judge, LIMITS }, inputs: { limits }, verdict: { BadInput } } = await import('/sent.js');
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
  const { lengths: { parse, formatInches } } = await import('/sent.js');
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


class Telephone:
    """A page under our content policy, to which the sums are sent as to any telephone."""

    def __init__(self, page):
        self.page = page
        self._sent = modules_sent(*(f"dashboard/calc/{name}.js" for name in (*SUMS, "inputs", "verdict", "lengths")))
        page.route(f"{HERE}**", self._serve)
        page.goto(HERE)

    def _serve(self, route):
        if route.request.url == f"{HERE}sent.js":
            route.fulfill(body=self._sent, content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>Telephone</title>", content_type="text/html",
                          headers={"Content-Security-Policy": build_policy()})

    def judges(self, name, cases):
        return json.loads(self.page.evaluate(JUDGED, [name, json.dumps(cases)]))

    def reads(self, texts):
        return self.page.evaluate(READ, texts)


@pytest.fixture(scope="module")
def telephone():
    with chromium() as browser, opened(browser, None) as page:
        yield Telephone(page)
        assert page.complaints == []


def by_the_office(module, given, limits, unit):
    try:
        verdict = module.judge(given, reading.limits(limits, module.LIMITS, {}, unit))
    except BadInput as refused:
        return {"field": refused.field, "sent": refused.sent, "right": refused.right}
    return verdict.as_dict()


def told_apart(telephone, name, cases):
    """Where the two differ, case by case; empty where they are one."""
    answers = telephone.judges(name, cases)
    expected = [by_the_office(SUMS[name], *case) for case in cases]
    assert len(answers) == len(expected)
    return [(n, cases[n], unlike(ours, theirs) or unlike(theirs, ours) or [ours, theirs])
            for n, (ours, theirs) in enumerate(zip(expected, answers, strict=True))
            if as_text(ours) != as_text(theirs)]


def as_text(answer):
    """As it goes over the wire, but for 5.0: a browser writes 5, and knows no other."""
    whole = json.loads(json.dumps(answer), parse_float=lambda text: int(float(text)) if float(text).is_integer()
                       else float(text))
    return json.dumps(whole, sort_keys=True)


@pytest.mark.parametrize("name", SUMS)
def test_every_vector_is_judged_as_the_office_judges_it(telephone, name):
    cases = [(vector["given"], vector.get("limits"), "mm") for vector in vectors(SUMS[name].NAME)]
    assert told_apart(telephone, name, cases) == []


MARKS = {"mm": SIXTEENTH, "c": 0.02, "pct": 1}  # a sixteenth of an inch, the last figures of a thermometer, a percent


def is_near(finding):
    known = finding.unit in MARKS and finding.value is not None and finding.limit is not None
    return known and abs(finding.value - finding.limit) <= MARKS[finding.unit]


def judged_or_refused(module, case):
    try:
        return module.judge(case.given, reading.limits(case.limits, module.LIMITS, {}))
    except BadInput:
        return None


@pytest.mark.parametrize("name", SUMS)
def test_a_third_of_the_readings_at_random_lies_near_a_limit_and_some_pass_some_fail_some_are_refused(name):
    judged = [judged_or_refused(SUMS[name], case) for case in ALL_CASES[SUMS[name].NAME](120)]
    moved = [verdict for verdict in judged[::NEAR] if verdict is not None]
    assert sum(any(map(is_near, verdict.findings)) for verdict in moved) > 0.9 * len(judged) / NEAR
    results = Counter(None if verdict is None else verdict.result for verdict in judged)
    assert min(results[PASS], results[FAIL], results[None]) > 0, results


@pytest.mark.parametrize("name", SUMS)
def test_two_thousand_readings_at_random_are_judged_as_the_office_judges_them(telephone, name):
    cases = [(case.given, case.limits, "mm") for case in ALL_CASES[SUMS[name].NAME](COUNT)]
    assert len(cases) == COUNT
    assert told_apart(telephone, name, cases)[:3] == []


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
    answers = telephone.reads(texts)
    assert [row for row in zip(texts, answers, expected, strict=True) if row[1] != row[2]][:5] == []
