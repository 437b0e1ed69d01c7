"""The made-up company: its people, crews, equipment, the parties it deals with, and two door systems nobody makes.

Telephone numbers are 555-01xx, mail is under `.example`, and Marrow Bay lies where the map shows open sea.
"""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password

from dashboard.demo.diary import HOLIDAYS, ZONE, Calendar
from dashboard.demo.systems import SYSTEMS, page_of
from inspections.models import Check
from jobs.acts import Act
from jobs.models import Crew, CrewMember, DayOff, Equipment, OfficeSettings, OutOfUse, Party, User
from jobs.roles import LABELS, Role
from jobs.services import office
from jobs.services.people import make_person
from units.models import DoorSystem

NAME = "Marrow Bay Sliding Walls"
SHIMS = ['1/32"', '1/16"', '1/8"', '1/4"', '1/2"']
SEA = (36.15, -123.40)  # Marrow Bay's yard: open water on any map
MM = 1_000_000


@dataclass(frozen=True)
class SignIn:
    """One account of the demo, as shown to whoever started it."""

    role: str
    login: str
    password: str


# login: name, role, crew, skills
PEOPLE: dict[str, tuple[str, Role, str, list[str]]] = {
    "ottilie": ("Ottilie Ferrowmere", Role.OFFICE, "", []),
    "bram": ("Bram Tidewillow", Role.LEAD, "Alder", ["frame", "hanging", "sealing", "lifter"]),
    "pim": ("Pim Oakhollow", Role.INSTALLER, "Alder", ["hanging", "sealing"]),
    "sefa": ("Sefa Lindquill", Role.INSTALLER, "Alder", ["hanging", "lifter"]),
    "tobin": ("Tobin Marlstep", Role.INSTALLER, "Alder", ["frame"]),
    "ines": ("Ines Corvalune", Role.LEAD, "Birch", ["frame", "hanging", "sealing", "lifter"]),
    "wren": ("Wren Dunlatch", Role.INSTALLER, "Birch", ["hanging", "lifter"]),
    "kit": ("Kit Barrowmoth", Role.INSTALLER, "Birch", ["hanging", "sealing"]),
    "lale": ("Lale Fennelquist", Role.INSTALLER, "Birch", ["frame"]),
    "juno": ("Juno Hartsledge", Role.LEAD, "Cedar", ["frame", "hanging", "sealing", "lifter"]),
    "osk": ("Osk Pebbleford", Role.INSTALLER, "Cedar", ["hanging", "lifter"]),
    "mirre": ("Mirre Saltvane", Role.INSTALLER, "Cedar", ["hanging", "sealing"]),
    "dov": ("Dov Candlewick", Role.INSTALLER, "Cedar", ["hanging", "frame"]),
    "nell": ("Nell Quillfeather", Role.CUSTOMER_SERVICE, "", []),
    "rafe": ("Rafe Ostermoth", Role.GUEST, "", []),
}
SHOWN = ("ottilie", "bram", "pim", "nell", "rafe")  # one for each role
READS_MM = ("juno", "osk")

PARTIES: dict[str, tuple[str, str, str]] = {  # kind, name, whom to ask for
    "sprat": ("builder", "Sprat & Gull Builders", "Corin Halfpenny-Reef"),
    "lantern": ("builder", "Lanternfish Homes", "Dagny Overwater"),
    "mossback": ("builder", "Mossback & Daughters", "Thessaly Mossback"),
    "umberleigh": ("owner", "The Umberleigh household", "Perpetua Umberleigh"),
    "pellucid": ("owner", "The Pellucid family", "Anselm Pellucid"),
    "vetch": ("owner", "Hyacinth Vetchling", "Hyacinth Vetchling"),
    "wray": ("owner", "Casper Wrayburn-Kelp", "Casper Wrayburn-Kelp"),
    "loft": ("owner", "The Harbour Loft company", "Ludo Spindrift"),
    "tidepool": ("owner", "Friends of the Tidepool Pavilion", "Marguerite Samphire"),
    "fennel": ("owner", "Ivo and Bea Thistledown", "Bea Thistledown"),
    "oblique": ("architect", "Studio Oblique Angle", "Rafe Ostermoth"),
    "guillemot": ("supplier", "Guillemot Works (invented)", "the order desk"),
    "hollowbark": ("supplier", "Hollowbark Joinery (invented)", "the order desk"),
}

def _lifter(name: str, rated: int, page: int, **over: Any) -> dict[str, Any]:
    """An invented vacuum lifter with all its manual is asked: what the rating includes, what is taken off besides."""
    manual = f"manual of an invented lifter, page {page}"
    factors = {"surface": 0.9, "temperature": 1, "overhang": 1, "pads": 1, "elevation": 1}
    return {"name": name, "kind": "vacuum lifter", "rated_grams": rated, "rating_includes": ["design factor", "angle"],
            "rating_source": f"nameplate; {manual}", "circuits": 2, "people_to_steer": 2, "stop_wind_m_per_s": 9,
            "reductions": [{"why": why, "factor": factor, "source": manual} for why, factor in factors.items()],
            "notes": "Upright glass, dry and clean. Each circuit tried before each lift.", **over}


CART = {"kind": "panel cart", "rated_grams": 500_000, "rating_includes": ["design factor"],
        "rating_source": "plate on an invented cart", "people_to_steer": 2, "own_grams": 85_000,
        "carries_at": 210 * MM, "width_loaded": 620 * MM, "notes": "Level, hard ground."}
EQUIPMENT: tuple[dict[str, Any], ...] = (
    _lifter("Vacuum lifter, big", 700_000, 12, circuits=4, people_to_steer=3, left_with_one_circuit_lost=0.75),
    _lifter("Vacuum lifter, tall", 620_000, 15, circuits=3, left_with_one_circuit_lost=0.7),
    _lifter("Vacuum lifter, small", 520_000, 8),
    {"name": "Vacuum lifter, on loan", "kind": "vacuum lifter", "rated_grams": 450_000, "rating_includes": "unknown",
     "rating_source": "nameplate of an invented lifter", "circuits": 2, "people_to_steer": 2,
     "notes": "Came without its manual. Ottilie asked the lender for it."},
    {"name": "Panel cart 1", **CART},
    {"name": "Panel cart 2", **CART},
    {"name": "Panel cart 3", **CART},
)


# code: {limit: value}, page of the maker's instructions
LIMITS: dict[str, dict[str, tuple[dict[str, Any], int]]] = {
    "guillemot-9": {
        "size": ({"clearance_least": "1/2 in", "clearance_most": "1 1/2 in"}, 14),
        "reveal-bow": ({"bow": "3 mm"}, 38),
        "reveal-gap": ({"gap_least": "5 mm", "gap_most": "11 mm"}, 38),
        "force": ({"force_to_start": 110, "force_to_keep_moving": 75}, 41),
        "pan-tested": ({}, 22),
    },
    "hollowbark-4": {
        "size": ({"clearance_least": "1/2 in", "clearance_most": "1 1/4 in"}, 9),
        "reveal-gap": ({"gap_least": "4 mm", "gap_most": "12 mm"}, 27),
        "force": ({"force_to_start": 120, "force_to_keep_moving": 85}, 29),
        "pan-tested": ({}, 19),
    },
}


@dataclass
class Company:
    """Everybody and everything there is before the first job, by short names."""

    calendar: Calendar
    people: dict[str, User] = field(default_factory=dict)
    crews: dict[str, Crew] = field(default_factory=dict)
    parties: dict[str, Party] = field(default_factory=dict)
    equipment: dict[str, Equipment] = field(default_factory=dict)
    systems: dict[str, DoorSystem] = field(default_factory=dict)
    sign_ins: list[SignIn] = field(default_factory=list)

    @property
    def office(self) -> User:
        return self.people["ottilie"]

    def lead(self, crew: str) -> User:
        return self.team(crew)[0]

    def team(self, crew: str) -> list[User]:
        return [self.people[login] for login, (_, _, theirs, _) in PEOPLE.items() if theirs == crew]


def found_company(calendar: Calendar, founded: dt.datetime) -> Company:
    company = Company(calendar)
    _people(company, founded)
    act = Act.of(company.office, founded)
    office.create(act, OfficeSettings, {
        "id": 1, "company": NAME, "time_zone": ZONE, "holiday_region": HOLIDAYS,
        "reply_address": "office@marrowbay.example", "shims": SHIMS}, record="office-settings")
    _crews(company, act)
    for number, (key, (kind, name, contact)) in enumerate(PARTIES.items(), start=20):
        company.parties[key] = office.create(act, Party, {
            "kind": kind, "name": name, "contact": contact, "phone": f"555-01{number}",
            "email": f"{key}@{kind}.example", "may_be_told": "dates and what is waited for"}, record="parties")
    for values in EQUIPMENT:
        until = calendar.day(0) + dt.timedelta(days=170)
        company.equipment[values["name"]] = office.create(
            act, Equipment, {**values, "inspected_until": until}, record="equipment")
    for code, values in SYSTEMS.items():
        company.systems[code] = _system(act, code, values)
    return company


def _people(company: Company, founded: dt.datetime) -> None:
    for number, (login, (name, role, _, _)) in enumerate(PEOPLE.items(), start=1):
        values = {"username": login, "name": name, "role": role.value, "phone": f"555-01{number:02}",
                  "email": f"{login}@marrowbay.example", "time_zone": ZONE, "date_joined": founded,
                  "units": "mm" if login in READS_MM else "in"}
        company.people[login] = _person(company, founded, values, login in SHOWN)


def _person(company: Company, founded: dt.datetime, values: dict[str, Any], shown: bool) -> User:
    """Those shown get a password, made for this installation and written nowhere but in its data folder. Nobody signs
    in as the others: they are there to be on a crew."""
    if not shown:
        values = {**values, "password": make_password(None)}
        return office.create(Act.of(company.office, founded), User, values, record="people", may="keep people")
    password = secrets.token_urlsafe(12)
    company.sign_ins.append(SignIn(LABELS[Role(values["role"])], values["username"], password))
    if not company.people:  # the first account: nobody is there yet who could make it
        return get_user_model().objects.create_user(password=password, **values)
    return make_person(Act.of(company.office, founded), values, password)


def _crews(company: Company, act: Act) -> None:
    for name in ("Alder", "Birch", "Cedar"):
        company.crews[name] = office.create(act, Crew, {
            "name": name, "base": "The yard, Slipway Row, Marrow Bay", "latitude": SEA[0], "longitude": SEA[1],
            "time_zone": ZONE, "holiday_region": HOLIDAYS}, record="crews")
    for login, (_, role, crew, skills) in PEOPLE.items():
        if crew:
            office.create(act, CrewMember, {
                "crew": company.crews[crew], "user": company.people[login], "leads": role is Role.LEAD,
                "skills": skills, "from_day": act.today(ZONE)}, record="crew-members")


def off(company: Company, act: Act, first: int, last: int, reason: str, **whose: Any) -> DayOff:
    """`user` or `crew` does not work from one working day to another."""
    return office.create(act, DayOff, {
        "from_day": company.calendar.day(first), "to_day": company.calendar.day(last), "reason": reason, **whose},
        record="days-off")


def out_of_use(company: Company, act: Act, name: str, first: int, last: int, reason: str) -> OutOfUse:
    """This lifter or cart goes nowhere from one working day to another."""
    return office.create(act, OutOfUse, {
        "equipment": company.equipment[name], "from_day": company.calendar.day(first),
        "to_day": company.calendar.day(last), "reason": reason}, record="out-of-use")


def _system(act: Act, code: str, values: Mapping[str, Any]) -> DoorSystem:
    system = office.create(act, DoorSystem, {"code": code, **values}, record="door-systems")
    for check, (limits, page) in LIMITS[code].items():
        rows = {name: {"value": value, "source": page_of(page)} for name, value in limits.items()}
        office.create(act, Check, {"code": check, "system": system, "limits": rows, "source": page_of(page)},
                      record="checks")
    return system
