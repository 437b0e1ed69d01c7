"""Sealing conditions: may this joint be sealed now, and will the hours after let it skin.

    dew point  g = ln(RH / 100) + a T / (b + T),  Td = b g / (a - g),  a = 17.62, b = 243.12 C
    cure       depth = k * sqrt(days), so days = (depth / k)^2

The constants are Magnus' for vapour over water (WMO; value from memory), within 0.1 C of other formulas above
freezing; below it, constants over water and over ice part company. The dew point is rounded to 0.01 C before it is
compared. Readings stay the decimals they were written as. A coming hour's surface is its forecast air plus today's
surface less today's air.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written, every_limit, to_places
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import (
    COMMON_PRACTICE,
    MUST_SET,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    half_away,
    overall,
)

NAME = "sealing-conditions"
LIMITS: dict[str, str] = {"dew_margin": "c_apart"}

MAGNUS_A, MAGNUS_B = 17.62, 243.12
MM, UM = 1_000_000, 1_000
HOUR = dt.timedelta(hours=1)
NIGHT = dt.timedelta(hours=24)  # within a day of any hour lies the night that follows it
RANGES = ("air", "surface")
FAR_APART = 30  # C between air and surface: dark metal in the sun comes near it

FORECAST_TIMES = "a time with its offset, such as 2031-03-04T15:00:00-05:00"


@dataclass(frozen=True, slots=True)
class Product:
    """What its data sheet says. `bounds` by name, air_least_c and the like; what the sheet leaves out is not there."""

    name: str
    source: str
    bounds: Mapping[str, Fraction]
    skin: dt.timedelta | None = None
    cure: Fraction | None = None  # k, mm for the square root of a day
    bead_depth: int | None = None
    water_test_days: Fraction | None = None
    load_days: Fraction | None = None

    def limit(self, name: str) -> Limit:
        return Limit(self.bounds[name], self.source) if name in self.bounds else Limit(None, MUST_SET)


@dataclass(frozen=True, slots=True)
class Air:
    """The conditions at one time. `starts` is None where no time was given; rain is in nanometres."""

    air: Fraction
    surface: Fraction
    humidity: Fraction
    starts: dt.datetime | None = None
    ends: dt.datetime | None = None
    rain: int = 0

    @property
    def dew_point(self) -> Fraction:
        return dew_point(self.air, self.humidity)

    @property
    def margin(self) -> Fraction:
        return self.surface - self.dew_point


@dataclass(frozen=True, slots=True)
class Conditions:
    now: Air
    surface_dry: bool | None
    product: Product
    hours: tuple[Air, ...]  # the forecast, hour by hour


def dew_point(air: Fraction | float, humidity: Fraction | float) -> Fraction:
    """Degrees Celsius, to 0.01."""
    celsius = float(air)
    g = math.log(float(humidity) / 100) + MAGNUS_A * celsius / (MAGNUS_B + celsius)
    return to_places(MAGNUS_B * g / (MAGNUS_A - g), 2)


def cure_days(depth: int, k: Fraction) -> Fraction:
    """Days until `depth` nm has cured at k mm for the square root of a day."""
    return (Fraction(depth, MM) / k) ** 2


def cured_depth(k: Fraction, days: Fraction) -> int:
    """Nanometres cured after so many days; a root, so rounded to the micrometre."""
    return half_away(float(k) * math.sqrt(float(days)) * MM / UM) * UM


# ---- the judgement --------------------------------------------------------------------------------------


def judge_conditions(read: Conditions, margin: Limit, days: Fraction | None = None) -> Verdict:
    against = [_against(hour, read, margin) for hour in read.hours]
    opens = _first_fit(read.hours, against)
    opens_at = None if opens is None else opens.starts.isoformat()
    now = _at_an_hour(read.now, read.product, margin, opens_at)
    findings = (*now, *_dry(read), *_after(read.now, read))
    missing = () if read.surface_dry is not None else ({"what": "surface_dry"},)
    cautions = tuple(_cautions(read))
    computed = {"dew_point_c": read.now.dew_point, "cautions": cautions, "opens_at": opens_at,
                "opens_at_night_known": None if opens is None else read.hours[-1].ends >= opens.starts + NIGHT,
                "hours": list(map(_hour, read.hours, against)), **_cure(read.product, days)}
    return Verdict(overall(findings, missing), findings, computed, missing, tuple(_second_look(read)),
                   cautions[0] if cautions else None)


def _at_an_hour(at: Air, product: Product, margin: Limit, opens_at: str | None = None) -> tuple[Finding, ...]:
    wait = Remedy("wait_for_the_surface_to_warm", {"opens_at": opens_at})
    return (at_least("dew_margin", at.margin, margin, unit="c", remedy=wait), *_in_range(at, product))


def _in_range(at: Air, product: Product) -> Iterable[Finding]:
    """Every bound the product gives. One that gives no temperature at all has no limit set."""
    for name, value in (("air", at.air), ("surface", at.surface)):
        if f"{name}_least_c" in product.bounds or (name == "surface" and not _gives_temperatures(product)):
            yield at_least(f"{name}_least", value, product.limit(f"{name}_least_c"), unit="c",
                           remedy=Remedy(f"{name}_too_cold"))
        if f"{name}_most_c" in product.bounds:
            yield at_most(f"{name}_most", value, product.limit(f"{name}_most_c"), unit="c",
                          remedy=Remedy(f"{name}_too_hot"))
    if "humidity_least_pct" in product.bounds:
        yield at_least("humidity_least", at.humidity, product.limit("humidity_least_pct"), unit="pct",
                       remedy=Remedy("air_too_dry"))
    if "humidity_most_pct" in product.bounds:
        yield at_most("humidity_most", at.humidity, product.limit("humidity_most_pct"), unit="pct",
                      remedy=Remedy("air_too_damp"))


def _gives_temperatures(product: Product) -> bool:
    return any(f"{name}_{end}_c" in product.bounds for name in RANGES for end in ("least", "most"))


def _dry(read: Conditions) -> Iterable[Finding]:
    if read.surface_dry is not None:
        remedy = None if read.surface_dry else Remedy("dry_the_surface")
        yield Finding("surface_dry", None, None, read.surface_dry, COMMON_PRACTICE, unit="flag", remedy=remedy)


# ---- the hours after ------------------------------------------------------------------------------------


def _after(at: Air, read: Conditions) -> tuple[Finding, ...]:
    """What the forecast says of the night after, and of rain before the product skins. No forecast, no finding."""
    if not read.hours:
        return ()
    starts = _starts(at, read)
    return (*_tonights_low(starts, read), *_rain(starts, read))


def _starts(at: Air, read: Conditions) -> dt.datetime:
    return at.starts or read.hours[0].starts


def _tonights_low(starts: dt.datetime, read: Conditions) -> Iterable[Finding]:
    night = [hour for hour in read.hours if hour.ends > starts and hour.starts < starts + NIGHT]
    for name in RANGES:
        if night and f"{name}_least_c" in read.product.bounds:
            coldest = min(night, key=lambda hour: getattr(hour, name))
            yield at_least(f"tonights_low_{name}", getattr(coldest, name), read.product.limit(f"{name}_least_c"),
                           unit="c", where={"at": coldest.starts.isoformat()}, remedy=Remedy("wait_for_a_milder_night"))


def _rain(starts: dt.datetime, read: Conditions) -> Iterable[Finding]:
    """Rain that is forecast is against it; no rain counts only where the forecast reaches until it has skinned."""
    if read.product.skin is None:
        yield Finding("rain_before_skin", None, None, None, MUST_SET)
        return
    skinned = starts + read.product.skin
    wet = [hour for hour in read.hours if hour.rain and hour.starts < skinned and hour.ends > starts]
    if wet or _reaches(starts, read):
        where = {"skins_at": skinned.isoformat()} | ({"at": wet[0].starts.isoformat()} if wet else {})
        yield at_most("rain_before_skin", sum(hour.rain for hour in wet), Limit(0, read.product.source), where=where,
                      remedy=Remedy("cover_it_or_wait"))


def _reaches(starts: dt.datetime, read: Conditions) -> bool:
    skinned = starts + (read.product.skin or HOUR)
    return read.hours[0].starts <= starts and read.hours[-1].ends >= skinned


def _first_fit(hours: Iterable[Air], against: Iterable[list[str]]) -> Air | None:
    """The first hour of the forecast that passes, as far as the forecast reaches, on a surface that is dry by then."""
    return next((hour for hour, found in zip(hours, against, strict=True) if not found), None)


def _against(hour: Air, read: Conditions, margin: Limit) -> list[str]:
    findings = (*_at_an_hour(hour, read.product, margin), *_after(hour, read))
    against = [finding.quantity for finding in findings if not finding.within]
    return against if _reaches(hour.starts, read) else [*against, "forecast_ends_before_skin"]


def _hour(hour: Air, against: list[str]) -> dict[str, Any]:
    return {"at": hour.starts.isoformat(), "air_c": hour.air, "surface_c": hour.surface, "dew_point_c": hour.dew_point,
            "dew_margin_c": hour.margin, "rain_mm": hour.rain, "against": against}


# ---- what follows ---------------------------------------------------------------------------------------


def _cautions(read: Conditions) -> Iterable[str]:
    if not read.hours:
        yield "no_forecast"
    elif not _reaches(_starts(read.now, read), read):
        yield "forecast_ends_before_skin"
    elif read.hours[-1].ends < _starts(read.now, read) + NIGHT:
        yield "forecast_ends_before_morning"
    if read.now.dew_point < 0 or read.now.air < 0:
        yield "below_freezing_constants"


def _cure(product: Product, days: Fraction | None) -> dict[str, Any]:
    """Whole days to cure through, water tests and loads not before; the product's own number where it is later."""
    cured = None
    if product.cure is not None and product.bead_depth is not None:
        cured = math.ceil(cure_days(product.bead_depth, product.cure))
    shown: dict[str, Any] = {
        "cure_days": cured,
        "water_test_after_days": _later(cured, product.water_test_days),
        "load_after_days": _later(cured, product.load_days),
    }
    if days is not None and product.cure is not None:
        shown["cured_depth_mm"] = cured_depth(product.cure, days)
    return shown


def _later(cured: int | None, stated: Fraction | None) -> int | Fraction | None:
    return max((days for days in (cured, stated) if days is not None), default=None)


def _second_look(read: Conditions) -> Iterable[Mapping[str, Any]]:
    if abs(read.now.surface - read.now.air) > FAR_APART:
        yield {"what": "surface_c", "why": "far_from_air", "air_c": read.now.air, "surface_c": read.now.surface}


# ---- reading what was sent ------------------------------------------------------------------------------


def read_conditions(payload: Mapping[str, Any]) -> Conditions:
    at = payload.get("at")
    now = Air(_degrees(payload, "air_c"), _degrees(payload, "surface_c"), _humidity(payload, "humidity_pct"),
              None if at is None else _time(at, "at"))
    dry = payload.get("surface_dry")
    return Conditions(now, None if dry is None else reading.flag(dry, "surface_dry"), _product(payload),
                      _forecast(payload, now))


def _degrees(sent: Mapping[str, Any], name: str, within: str = "") -> Fraction:
    return as_written(reading.temperature(reading.need(sent, name, within), f"{within}{name}"))


def _humidity(sent: Mapping[str, Any], name: str, within: str = "") -> Fraction:
    # Below 1 % nothing outdoors reads, and at 0 % there is no dew point.
    return as_written(reading.number(reading.need(sent, name, within), f"{within}{name}", least=1, most=100))


def _time(value: Any, field: str) -> dt.datetime:
    try:
        time = dt.datetime.fromisoformat(value)
    except (TypeError, ValueError) as why:
        raise BadInput(field, value, FORECAST_TIMES) from why
    if time.tzinfo is None or not 2000 <= time.year <= 2199:
        raise BadInput(field, value, FORECAST_TIMES)
    return time


def _product(payload: Mapping[str, Any]) -> Product:
    sent = reading.mapping(payload.get("product") or {}, "product")
    skin = _number(sent, "skin_minutes")
    depth = payload["bead_depth"] if payload.get("bead_depth") is not None else sent.get("bead_depth")
    cure = _number(sent, "cure_mm_per_sqrt_day")
    if cure == 0:
        raise BadInput("product.cure_mm_per_sqrt_day", sent["cure_mm_per_sqrt_day"], "it must be more than nothing")
    return Product(
        name=reading.text(sent.get("name"), "product.name"), bounds=_bounds(sent),
        source=reading.text(sent.get("source"), "product.source") or "no source given",
        skin=None if skin is None else dt.timedelta(minutes=float(skin)), cure=cure,
        bead_depth=None if depth is None else reading.length(depth, "bead_depth", unit=reading.unit_of(payload)),
        water_test_days=_number(sent, "water_test_after_days"), load_days=_number(sent, "load_after_days"),
    )


def _bounds(sent: Mapping[str, Any]) -> dict[str, Fraction]:
    bounds = {}
    for name, suffix in (("air", "c"), ("surface", "c"), ("humidity", "pct")):
        least, most = f"{name}_least_{suffix}", f"{name}_most_{suffix}"
        for bound in (least, most):
            if sent.get(bound) is not None:
                bounds[bound] = (_degrees if suffix == "c" else _humidity)(sent, bound, "product.")
        if least in bounds and most in bounds and bounds[least] > bounds[most]:
            raise BadInput(f"product.{least}", sent[least], f"it must not lie above {most}")
    return bounds


def _number(sent: Mapping[str, Any], name: str) -> Fraction | None:
    if sent.get(name) is None:
        return None
    return as_written(reading.number(sent[name], f"product.{name}", least=0, most=100_000))


def _forecast(payload: Mapping[str, Any], now: Air) -> tuple[Air, ...]:
    """The hours to come; those over before the reading was taken are left out."""
    sent = reading.sequence(payload.get("forecast") or (), "forecast", most=400)
    hours = [_coming(one, f"forecast[{n}]", now) for n, one in enumerate(sent)]
    for n, (one, following) in enumerate(pairwise(hours), 1):
        if following.starts <= one.starts:
            raise BadInput(f"forecast[{n}].at", sent[n]["at"], "each hour must come after the one before it")
        hours[n - 1] = replace(one, ends=following.starts)
    return tuple(hour for hour in hours if now.starts is None or hour.ends > now.starts)


def _coming(sent: Any, field: str, now: Air) -> Air:
    hour = reading.mapping(sent, field)
    within = f"{field}."
    air = _degrees(hour, "air_c", within)
    rain = reading.length(hour.get("rain_mm") or 0, f"{within}rain_mm", unit="mm")
    starts = _time(reading.need(hour, "at", within), f"{within}at")
    return Air(air, air + now.surface - now.air, _humidity(hour, "humidity_pct", within), starts, starts + HOUR, rain)


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    margin = every_limit(LIMITS, limits)["dew_margin"]
    if margin.value is not None and margin.value < 0:
        raise BadInput("limits.dew_margin", float(margin.value), "degrees between surface and dew point, 0 or more")
    days = payload.get("days_since")
    days = None if days is None else as_written(reading.number(days, "days_since", least=0, most=100_000))
    return judge_conditions(read_conditions(payload), margin, days)


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    now = read_conditions(payload).now
    return (ReadingValue("air", float(now.air), None, "c"), ReadingValue("surface", float(now.surface), None, "c"),
            ReadingValue("humidity", float(now.humidity), None, "pct"))
