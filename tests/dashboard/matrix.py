"""Who gets to do what, route by route: `y` done (or refused for another reason), `n` not in this role, `-` not there.

Two letters a role: on an own record, on another's. For a list: whether the own row and the other's are in it.
A route without a row here fails the test that walks the addresses.
"""

from __future__ import annotations

from typing import Any

ROLES = ("office", "lead", "installer", "customer-service", "guest")


def row(office: str, lead: str, installer: str, service: str, guest: str) -> dict[str, str]:
    return dict(zip(ROLES, (office, lead, installer, service, guest), strict=True))


READ = row("yy", "y-", "y-", "yy", "yy")
ALL = row("yy", "yy", "yy", "yy", "yy")
OFFICE = row("yy", "nn", "nn", "nn", "nn")
SITE = row("yy", "y-", "y-", "nn", "nn")
LEADING = row("yy", "y-", "nn", "nn", "nn")
SERVICE = row("yy", "nn", "nn", "yy", "nn")
LINKS = row("yy", "y-", "nn", "nn", "nn")
SITE_AND_SERVICE = row("yy", "y-", "y-", "yn", "nn")  # service: on what was called back

MATRIX: dict[tuple[str, str], dict[str, str]] = {
    ("api-root", "GET"): ALL,
    ("schema", "GET"): ALL,
    ("docs", "GET"): ALL,
    ("calculations-list", "GET"): ALL,
    ("calculations-detail", "POST"): ALL,
    ("site-entries", "POST"): row("yy", "yy", "yy", "yy", "nn"),  # each entry is asked for itself
    ("office-settings", "GET"): OFFICE,
    ("office-settings", "PATCH"): OFFICE,
    ("progress", "GET"): ALL,  # rows: see its own test
    ("progress-minutes", "GET"): ALL,
}


def resource(name: str, read: dict[str, str] = READ, **methods: dict[str, str]) -> None:
    """Rows of one resource: reading, then `POST`, `PATCH` and so on, or the name of an act."""
    MATRIX[f"{name}-list", "GET"] = read
    MATRIX[f"{name}-detail", "GET"] = read
    for method, who in methods.items():
        if method == "POST":
            MATRIX[f"{name}-list", "POST"] = who
        elif method.isupper():
            MATRIX[f"{name}-detail", method] = who
        else:
            MATRIX[f"{name}-{method.replace('_', '-')}", "POST"] = who


def office(name: str, read: dict[str, str] = READ) -> None:
    resource(name, read, POST=OFFICE, PUT=OFFICE, PATCH=OFFICE, DELETE=OFFICE)


for _name in ("parties", "jobs", "crews", "crew-members", "work-steps", "deliveries", "units", "openings", "panels",
              "checks"):
    office(_name)
MATRIX["units-explained", "GET"] = READ
MATRIX["units-handling", "GET"] = READ
MATRIX["units-lay-out", "POST"] = OFFICE
office("parts")
MATRIX["units-list-parts", "POST"] = OFFICE
MATRIX["parts-came", "POST"] = SITE
resource("part-arrivals")
MATRIX["units-take-off", "GET"] = READ
MATRIX["jobs-materials", "GET"] = READ
office("equipment", ALL)
office("out-of-use", ALL)
office("door-systems", ALL)
office("days-off", row("yy", "y-", "y-", "nn", "nn"))
resource("people", row("yy", "yy", "yy", "yy", "nn"), POST=OFFICE, PATCH=OFFICE)
# In a token's own row: it is the lead's. Making one is asked of the person, not of a record.
resource("tokens", row("yy", "y-", "--", "--", "--"), POST=ALL, DELETE=row("yy", "y-", "--", "--", "--"))
resource("assignments", POST=OFFICE, PATCH=OFFICE, DELETE=OFFICE, tell=OFFICE)
resource("changes")
resource("stage-changes")
resource("panel-changes")
resource("acceptances")
resource("hold-points", POST=LEADING)
resource("countersignatures", give=OFFICE, refuse=OFFICE)
resource("settlements", POST=LEADING)
resource("waits", POST=SITE_AND_SERVICE, clear=row("yy", "y-", "nn", "nn", "nn"))
resource("inspections", POST=SITE)
resource("confirmations", POST=SITE)
resource("joints", POST=SITE)
resource("set-aside-parts", POST=SITE, put_back=SITE)
resource("punch-items", POST=SITE, PATCH=row("yy", "y-", "nn", "yn", "nn"), close=SITE_AND_SERVICE)
resource("reminders", row("yy", "y-", "--", "--", "nn"))  # one's own; *own* is the lead's
resource("callbacks", POST=SERVICE, close=SERVICE)
resource("return-trips", POST=SERVICE, PATCH=SERVICE, finish=SERVICE)
resource("adjustments", POST=SITE_AND_SERVICE)
resource("photos", POST=SITE_AND_SERVICE)
resource("events", POST=SITE)
resource("custody", POST=SITE)
resource("wall-agreements", POST=LEADING)
resource("builder-links", LINKS, POST=LEADING, revoke=LEADING)
resource("correction-reports", take_note=SITE)
resource("time-reports", POST=SITE)
MATRIX.update({
    ("deliveries-receive", "POST"): SITE,
    ("openings-gate", "GET"): READ,
    ("openings-advance", "POST"): SITE,
    ("openings-pass-over", "POST"): LEADING,
    ("openings-step-back", "POST"): LEADING,
    ("openings-accept", "POST"): LEADING,
    ("openings-release-hold-point", "POST"): LEADING,
    **{(f"panels-{act}", "POST"): SITE for act in ("receive", "hang", "adjust", "take-out", "damage", "replace")},
    ("photos-picture", "GET"): row("--", "--", "--", "--", "--"),  # its file was never made; see the tests of photos
    ("photos-thumbnail", "GET"): row("--", "--", "--", "--", "--"),
    ("builder-links-address", "GET"): LINKS,
    ("jobs-access-codes", "GET"): row("yy", "y-", "y-", "nn", "nn"),
    ("jobs-access-codes", "POST"): OFFICE,
    ("jobs-access-code", "GET"): row("yy", "y-", "y-", "nn", "nn"),
    ("jobs-access-code", "PATCH"): OFFICE,
    ("jobs-access-code", "DELETE"): OFFICE,
})


def bodies(ids: dict[str, Any], day: str) -> dict[str, dict[str, Any]]:
    """What is sent where the body says which record is meant."""
    on = {"opening": ids["openings"]}
    return {
        "hold-points-list": on,
        "settlements-list": {"stage_change": str(ids["kept"]), "how": "stands", "note": "as it is"},
        "waits-list": {**on, "what_for": "the wall", "owed_by_kind": "builder"},
        "inspections-list": {**on, "kind": "floor-profile", "given": {"stations": []}},
        "confirmations-list": {**on, "check_code": "header-in", "answer": "yes"},
        "joints-list": {**on, "place": "head", "rule": "seal"},
        "set-aside-parts-list": {**on, "what": "head block"},
        "punch-items-list": {**on, "what": "scratch", "owner": ids["people"], "due_day": day},
        "callbacks-list": {**on, "severity": "drags", "symptom": "it drags"},
        "return-trips-list": {"callback": ids["callbacks"], "day": day},
        "adjustments-list": {**on, "what": "rollers"},
        "custody-list": {**on, "holder": "builder", "condition": "Swept."},
        "wall-agreements-list": {**on, "name": "Pat Lund", "trade": "drywall"},
        "builder-links-list": on,
        "parts-came": {"whole": 1},
        "events-list": {**on, "kind": "re-pour"},
        "time-reports-list": {"work_step": ids["work-steps"], "day": day, "minutes": 60},
        "openings-step-back": {"to": "to be measured", "reason": "poured again"},
        "openings-pass-over": {"reason": "asked for"},
        "openings-accept": {"accepted_by": "The owner", "how": "on site"},
        "panels-damage": {"reason": "it fell"},
    }
