"""How far it is from one place to another, estimated: the great circle, longer by what roads go round.

    d = 2 R asin √(sin²(Δφ/2) + cos φ₁ cos φ₂ sin²(Δλ/2))        (haversine; φ latitude, λ longitude)
    by road = d · ROAD_FACTOR

R is the mean radius of the Earth, 6371.0088 km (IUGG); against the ellipsoid that is right within 0.6 %, far closer
than the factor. Factor and speed are starting values of our own: roads of a town and its surroundings, and a loaded
truck on them. What comes out is good for telling near from far, and for nothing else; it is said to be an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, radians, sin, sqrt

EARTH_KM = 6371.0088
ROAD_FACTOR = 1.3
KM_AN_HOUR = 50


@dataclass(frozen=True, slots=True)
class Place:
    """In degrees, north and east."""

    latitude: float
    longitude: float


def place(latitude: float | None, longitude: float | None) -> Place | None:
    return None if latitude is None or longitude is None else Place(latitude, longitude)


def great_circle_km(a: Place, b: Place) -> float:
    north, east = radians(b.latitude - a.latitude), radians(b.longitude - a.longitude)
    half = sin(north / 2) ** 2 + cos(radians(a.latitude)) * cos(radians(b.latitude)) * sin(east / 2) ** 2
    return 2 * EARTH_KM * asin(min(1.0, sqrt(half)))


def by_road_km(a: Place | None, b: Place | None) -> float | None:
    """None where one of the two is not known."""
    return None if a is None or b is None else great_circle_km(a, b) * ROAD_FACTOR


def minutes_on_the_road(km: float) -> int:
    """One way, to the next five minutes up: nobody drives to the minute."""
    return -int(-km * 60 / KM_AN_HOUR // 5) * 5
