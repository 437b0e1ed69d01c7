"""Dates, times and decimals are written as the browser asks for them; what is typed, sent and kept is not."""

import datetime as dt
import re

import pytest
from django.urls import reverse

from dashboard.measures import Reader, hours
from dashboard.written import written_for
from jobs.calc.lengths import MM
from jobs.models import Opening
from tests.factories import make_opening, make_system, make_unit, make_user
from tests.site import Site
from tests.visits import text

pytestmark = pytest.mark.django_db
EVENING = dt.datetime(2026, 11, 25, 22, 42, tzinfo=dt.UTC)
READER = Reader("mm", dt.UTC, 2026)


# As Unicode CLDR writes them.
@pytest.mark.parametrize(("accepted", "moment", "whole", "length"), [
    ("", "Wed 25 Nov, 22:42", "25 Nov 2026", "2.4 mm"),
    ("en-GB", "Wed 25 Nov, 22:42", "25 Nov 2026", "2.4 mm"),
    ("en-US,en;q=0.9", "Wed, Nov 25, 10:42\u202fPM", "Nov 25, 2026", "2.4 mm"),
    ("de-DE,de;q=0.9,en;q=0.8", "Mi., 25. Nov., 22:42", "25. Nov. 2026", "2,4 mm"),
    ("es-MX", "mié 25 de nov, 10:42\u202fp.m.", "25 nov 2026", "2.4 mm"),
    ("xx-nobody, de;q=0.5", "Mi., 25. Nov., 22:42", "25. Nov. 2026", "2,4 mm"),
    ("*", "Wed 25 Nov, 22:42", "25 Nov 2026", "2.4 mm"),
    (";;q=,\u00fc" * 300, "Wed 25 Nov, 22:42", "25 Nov 2026", "2.4 mm"),
])
def test_the_first_language_asked_for_that_is_known_decides(accepted, moment, whole, length):
    with written_for(accepted):
        assert READER.moment(EVENING) == moment
        assert READER.whole_day(EVENING.date()) == whole
        assert READER.length(2_400_000) == length
    assert READER.length(2_400_000) == "2.4 mm", "and for nobody after them"


def test_fractions_of_an_inch_are_the_same_everywhere_and_hours_have_the_readers_mark():
    with written_for("de"):
        assert Reader("in").length(2_381_250) == '3/32"'
        assert hours(750) == "12,5"
        assert READER.typed(2_400_000) == "2.4", "what is typed is read back with a point"


def test_a_page_is_written_so_and_says_that_it_varies(client):
    site = Site()
    client.force_login(site.office)
    address = reverse("opening", args=[site.opening.pk])
    english, german = (client.get(address, headers={"accept-language": said}) for said in ("en-GB", "de"))
    assert "Accept-Language" in german["Vary"]
    month = dt.datetime.now(dt.UTC).strftime("%b")
    assert re.search(rf"\d+ {month}", text(english)) is not None
    assert re.search(r"\d+\. \w+", text(german)) is not None


def test_a_page_that_renews_itself_is_another_one_in_another_language(client):
    client.force_login(make_user())
    address = reverse("crew-progress")
    mark = client.get(address, headers={"accept-language": "en-GB"})["ETag"]
    for said, status in (("en-GB", 304), ("de", 200)):
        assert client.get(address, headers={"accept-language": said, "if-none-match": mark}).status_code == status


def typed_values(response):
    """Whatever stands in a field, be it typed or chosen."""
    return re.findall(r'<(?:input|option|textarea)[^>]* value="([^"]*\d[^"]*)"', re.sub(
        r'name="(?:csrfmiddlewaretoken|entry)"[^>]*', "", text(response)))


def test_what_stands_in_a_form_is_the_same_in_every_language(client):
    unit = make_unit(make_opening(rough_width=2_451_500_000, rough_height=2500 * MM), system=make_system())
    client.force_login(make_user(units="mm"))
    Opening.objects.update(deflection_allowed=2_500_000)
    sheets = ("floor-profile", "rough-opening", "force")
    addresses = [*(reverse("readings", args=[unit.opening_id, key]) for key in sheets),
                 reverse("unit", args=[unit.opening_id]), reverse("door-system-edit", args=[unit.system_id]),
                 reverse("crew-new"), reverse("limits")]
    for address in addresses:
        plain, german = (typed_values(client.get(address, headers={"accept-language": said})) for said in ("", "de"))
        assert german == plain
