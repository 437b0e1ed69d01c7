"""How far it is, estimated."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.distance import EARTH_KM, ROAD_FACTOR, Place, by_road_km, great_circle_km, minutes_on_the_road, place

places = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))


def dms(degrees, minutes, seconds):
    return degrees + minutes / 60 + seconds / 3600


@pytest.mark.parametrize(("a", "b", "km", "within"), [
    # Geoscience Australia, the worked example of the Geocentric Datum of Australia Technical Manual: 54 972.271 m on
    # the ellipsoid, Flinders Peak to Buninyong; a sphere is allowed its half per cent.
    (Place(-dms(37, 57, 3.7203), dms(144, 25, 29.5244)), Place(-dms(37, 39, 10.1561), dms(143, 55, 35.3839)),
     54.972271, 0.006),
    # GeographicLib's documentation: Wellington to Salamanca, 19 959 679.267 m.
    (Place(-41.32, 174.81), Place(40.96, -5.5), 19959.679267, 0.006),
    (Place(0, 0), Place(0, 90), EARTH_KM * math.pi / 2, 1e-12),
    (Place(90, 0), Place(-90, 123), EARTH_KM * math.pi, 1e-12),
    (Place(10, 179.5), Place(10, -179.5), 2 * EARTH_KM * math.asin(math.cos(math.radians(10)) * math.sin(
        math.radians(0.5))), 1e-12)])
def test_the_great_circle_is_as_published(a, b, km, within):
    assert great_circle_km(a, b) == pytest.approx(km, rel=within)


@given(places, places, places)
def test_it_is_as_far_back_and_never_shorter_by_a_way_round(a, b, c):
    assert great_circle_km(a, b) == pytest.approx(great_circle_km(b, a))
    assert great_circle_km(a, b) <= great_circle_km(a, c) + great_circle_km(c, b) + 1e-6


def test_by_road_it_is_longer_and_not_known_without_both_ends():
    a, b = Place(36, -123), Place(36.2, -123)
    assert by_road_km(a, b) == pytest.approx(great_circle_km(a, b) * ROAD_FACTOR)
    assert (by_road_km(None, b), by_road_km(a, None), place(1, None)) == (None, None, None)


@pytest.mark.parametrize(("km", "minutes"), [(0, 0), (1, 5), (4.1, 5), (4.2, 10), (50, 60), (75, 90), (75.1, 95)])
def test_a_drive_is_said_to_the_next_five_minutes_up(km, minutes):
    assert minutes_on_the_road(km) == minutes
