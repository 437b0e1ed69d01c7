"""Who may do what, act by act. One table, used by the API, the pages and the services alike. Pure."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    OFFICE = "office"
    LEAD = "lead"
    INSTALLER = "installer"
    CUSTOMER_SERVICE = "customer-service"
    GUEST = "guest"


class Reach(StrEnum):
    ALL = "all"  # every opening
    OWN = "own"  # openings of the crews they are on; for customer service: called back or accepted
    THEIRS = "theirs"  # own openings, and only the item that is theirs


LABELS = {
    Role.OFFICE: "Office",
    Role.LEAD: "Lead installer",
    Role.INSTALLER: "Installer",
    Role.CUSTOMER_SERVICE: "Customer service",
    Role.GUEST: "Guest",
}

_ALL, _OWN, _THEIRS = Reach.ALL, Reach.OWN, Reach.THEIRS
_O, _L, _I, _C, _G = Role.OFFICE, Role.LEAD, Role.INSTALLER, Role.CUSTOMER_SERVICE, Role.GUEST
_SITE = {_O: _ALL, _L: _OWN, _I: _OWN}
_SITE_AND_SERVICE = {**_SITE, _C: _OWN}
_LEADING = {_O: _ALL, _L: _OWN}
_OFFICE = {_O: _ALL}

MAY: dict[str, dict[Role, Reach]] = {
    "read": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _ALL, _G: _ALL},
    "read contacts": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _ALL},
    "read money": _OFFICE,
    "read access codes": {_O: _ALL, _L: _OWN, _I: _OWN},  # own: the assigned crew, on the day
    "read people": {_O: _ALL, _L: _ALL, _I: _ALL, _C: _ALL},  # who there is; how to reach them: the office
    "read hours": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _ALL},  # in reports; own: of the crews they are on
    "read days off": {_O: _ALL, _L: _OWN, _I: _OWN},  # own: of the crews they are on
    "read crews' weeks": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _ALL},  # own: of the crews they are on
    "read reminders": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _OWN},  # own: those sent to them
    "keep own tokens": {_O: _ALL, _L: _OWN, _I: _OWN, _C: _OWN, _G: _OWN},  # own: in their own name
    "record readings": _SITE,
    "add photos": _SITE_AND_SERVICE,
    "raise a punch item": _SITE,
    "handle a panel": _SITE,
    "do a joint": _SITE,
    "set a part aside": _SITE,
    "log an adjustment": _SITE_AND_SERVICE,
    "report hours": _SITE,
    "note an event": _SITE,
    "advance": _SITE,
    "step back": _LEADING,
    "pass over": _LEADING,
    "countersign": _OFFICE,
    "settle": _LEADING,
    "release the hold point": _LEADING,
    "countersign a wall": _LEADING,
    "close a punch item": {_O: _ALL, _L: _OWN, _I: _THEIRS, _C: _OWN},
    "change a punch item": {_O: _ALL, _L: _OWN, _C: _OWN},
    "raise a wait": _SITE_AND_SERVICE,
    "clear a wait": _LEADING,
    "receive a delivery": _SITE,
    "hand over an opening": _SITE,
    "keep builder's links": _LEADING,
    "take note of a correction": _SITE,
    "accept": _LEADING,
    "log a callback": {_O: _ALL, _C: _ALL},
    "give other evidence": _OFFICE,
    "keep office records": _OFFICE,
    "keep people": _OFFICE,
}


def reach(role: str, act: str) -> Reach | None:
    """How far this role may go with this act; None: not at all."""
    return MAY[act].get(Role(role))


_WIDTH = {None: 0, Reach.THEIRS: 1, Reach.OWN: 2, Reach.ALL: 3}


def is_within(role: str, other: str) -> bool:
    """Whether `role` may do nothing that `other` may not."""
    return all(_WIDTH[reach(role, act)] <= _WIDTH[reach(other, act)] for act in MAY)
