"""After acceptance: callbacks, return trips, adjustments, each before and after."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import F

from inspections.models import Adjustment, Callback, ReturnTrip
from inspections.services.inspecting import panel_in, when
from jobs.acts import Act, Done, carry_out
from jobs.calc.scraps import words_of, words_of_code
from jobs.errors import Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Crew, Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.finding import refresh_others
from jobs.services.visits import write_visits
from jobs.stages import Stage

SEVERITIES = [severity for severity, _ in Callback.SEVERITIES]
FOUND_BY = ("call", "caller")
WHOSE = [whose for whose, _ in Callback.WHOSE if whose]
FARTHEST = dt.timedelta(days=3653)  # ten years: what lies beyond is a slip of the year


def log_callback(act: Act, opening_id: int, *, severity: str, symptom: str, caller: str = "",
                 best_time: str = "", panel_id: int | None = None) -> Callback:
    """A call about a door that was accepted. Its number counts on from the last."""
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "log a callback", opening)
        if severity not in SEVERITIES or not symptom.strip():
            raise Invalid("Say how bad it is, and what they see.",
                          fields={"severity": "one of: " + ", ".join(SEVERITIES), "symptom": "what they see"})
        if opening.stage != Stage.ACCEPTED:
            raise Refusal("This opening is not accepted yet: raise a punch item.", code="not-accepted-yet")
        callback = Callback.objects.create(
            number=_next_number(), opening=opening, panel=panel_in(opening, panel_id), called_at=act.taken_at,
            taken_by=act.user, caller=caller.strip(), best_time=best_time.strip(), severity=severity,
            symptom=symptom.strip(), created_at=act.now)
        Opening.objects.filter(pk=opening.pk, called_back=False).update(called_back=True)
        refresh_others(opening.pk, _found_by(opening), FOUND_BY)
        done.note(act, "callback logged", "callbacks", callback.pk, opening=opening, severity=severity,
                  number=callback.number)
    return callback


def _found_by(opening: Opening) -> set[tuple[str, str]]:
    """An opening is found by the number of each of its callbacks, and by who called."""
    calls = Callback.objects.filter(opening=opening).values_list("number", "caller")
    return {found for number, caller in calls for found in words_of_call(number, caller)}


def words_of_call(number: str, caller: str) -> set[tuple[str, str]]:
    return {(word, "call") for word in words_of_code(number)} | {(word, "caller") for word in words_of(caller)}


def _next_number() -> str:
    last = Callback.objects.order_by("-id").values_list("id", flat=True).first() or 0
    return f"C-{last + 1:04}"


def book_return_trip(act: Act, callback_id: int, *, day: dt.date, crew_id: int | None = None, arrival: str = "",
                     bring: str = "", alone: bool = False) -> ReturnTrip:
    """`alone`: only if no other trip is still to be made, which whoever books has not seen then."""
    with carry_out(act) as done:
        callback = _callback(callback_id)
        require(act, "log a callback", callback.opening)
        if callback.closed_at is not None:
            raise Refusal("This callback is closed; log a new one.", code="callback-closed")
        _check_crew(crew_id)
        _check_day(act, callback.opening, day)
        booked = callback.return_trips.filter(done_at=None).first() if alone else None
        if booked is not None:
            raise Refusal("A trip is booked already; change that one.", code="trip-booked")
        trip = ReturnTrip.objects.create(callback=callback, day=day, crew_id=crew_id, arrival=arrival, bring=bring,
                                         created_at=act.now)
        _tell_who_goes(callback.opening)
        _note(done, act, "return trip booked", trip)
    return trip


def _tell_who_goes(opening: Opening) -> None:
    """A crew that goes back to an opening, or was there, has it as its own."""
    trips = ReturnTrip.objects.not_dropped().filter(callback__opening=opening).exclude(crew=None)
    write_visits(opening.pk, trips.values_list("crew", "day"))


TRIP_CHANGEABLE = ("day", "crew_id", "arrival", "bring")


def change_return_trip(act: Act, trip_id: int, values: Mapping[str, Any], *, version: int) -> ReturnTrip:
    """Another day, another crew: until somebody has been there."""
    with carry_out(act) as done:
        trip = _trip(act, trip_id)
        _refuse_made(trip)
        if trip.callback.closed_at is not None:
            raise Refusal("This callback is closed and its trip dropped: nobody goes. Log a new callback.",
                          code="callback-closed")
        unknown = [name for name in values if name not in TRIP_CHANGEABLE]
        if unknown:
            raise Invalid("That cannot be changed here.", fields=dict.fromkeys(unknown, "not changeable"))
        if all(getattr(trip, name) == value for name, value in values.items()):
            return trip  # as it stands already: said twice
        _check_crew(values.get("crew_id"))
        if values.get("day", trip.day) != trip.day:
            _check_day(act, trip.callback.opening, values["day"])
        _write_trip(trip, version, **values)
        _tell_who_goes(trip.callback.opening)
        _note(done, act, "return trip changed", trip, fields=sorted(values))
    return trip


def finish_return_trip(act: Act, trip_id: int, *, outcome: str, version: int) -> ReturnTrip:
    """Somebody was there, and what came of it. The callback stays open until it is closed with its finding."""
    with carry_out(act) as done:
        trip = _trip(act, trip_id)
        if trip.done_at is not None and trip.outcome == outcome.strip():
            return trip  # said twice
        _refuse_made(trip)
        if not outcome.strip():
            raise Invalid("Say what came of it.", fields={"outcome": "put right, nobody home, a part to be ordered"})
        if trip.day > act.today(trip.callback.opening.job.time_zone):
            raise Invalid("That day has not come yet.", fields={"day": "change the trip first, if it was made earlier"})
        _write_trip(trip, version, done_at=act.now, outcome=outcome.strip())
        _note(done, act, "return trip made", trip)
    return trip


def _trip(act: Act, trip_id: int) -> ReturnTrip:
    """The trip, with its opening held."""
    trip = ReturnTrip.objects.select_related("callback").filter(pk=trip_id).first()
    if trip is None:
        raise NotThere("There is no such return trip.")
    trip.callback = _callback(trip.callback_id)
    require(act, "log a callback", trip.callback.opening)
    trip.refresh_from_db(fields=["version", "done_at", "outcome", *TRIP_CHANGEABLE])
    return trip


def _note(done: Done, act: Act, what: str, trip: ReturnTrip, **more: Any) -> None:
    crew = Crew.objects.filter(pk=trip.crew_id).values_list("name", flat=True).first() or ""
    done.note(act, what, "return-trips", trip.pk, opening=trip.callback.opening, callback=trip.callback_id,
              number=trip.callback.number, day=trip.day.isoformat(), crew=crew, **more)


def _refuse_made(trip: ReturnTrip) -> None:
    if trip.done_at is not None:
        raise Refusal("This trip was made; book another.", code="trip-made")


def _write_trip(trip: ReturnTrip, version: int, **values: Any) -> None:
    if not ReturnTrip.objects.filter(pk=trip.pk, version=version).update(version=F("version") + 1, **values):
        raise SomeoneWasFaster("This return trip was changed by somebody else. Read it again.")
    trip.refresh_from_db(fields=["version", *values])


def _check_crew(crew_id: int | None) -> None:
    if crew_id is not None and not Crew.objects.filter(pk=crew_id).exists():
        raise Invalid("There is no such crew.", fields={"crew": "the id of a crew"})


def _check_day(act: Act, opening: Opening, day: dt.date) -> None:
    today = act.today(opening.job.time_zone)
    if not today <= day <= today + FARTHEST:
        over = day < today
        raise Invalid("That day is over." if over else "That day is too far ahead.",
                      fields={"day": "today or a later day" if over else "a day within ten years"})


def close_callback(act: Act, callback_id: int, *, finding: str, whose: str, version: int) -> Callback:
    """Closed with what it turned out to be: what callbacks teach comes from here."""
    with carry_out(act) as done:
        callback = _callback(callback_id)
        require(act, "log a callback", callback.opening)
        if not finding.strip() or whose not in WHOSE:
            raise Invalid("A callback is closed with its finding.",
                          fields={"finding": "what it was", "whose": "one of: " + ", ".join(WHOSE)})
        if (callback.closed_by_id, callback.finding, callback.whose) == (act.user.pk, finding.strip(), whose):
            return callback  # said twice
        closed = Callback.objects.filter(pk=callback.pk, version=version, closed_at=None).update(
            closed_at=act.now, closed_by=act.user, finding=finding.strip(), whose=whose, version=F("version") + 1)
        if not closed:
            raise SomeoneWasFaster("This callback was changed or closed by somebody else. Read it again.")
        callback.refresh_from_db()
        _tell_who_goes(callback.opening)
        done.note(act, "callback closed", "callbacks", callback.pk, opening=callback.opening, whose=whose,
                  number=callback.number)
    return callback


def _callback(callback_id: int) -> Callback:
    opening_id = Callback.objects.filter(pk=callback_id).values_list("opening", flat=True).first()
    if opening_id is None:
        raise NotThere("There is no such callback.")
    opening = locked(opening_id)
    callback = Callback.objects.get(pk=callback_id)
    callback.opening = opening
    return callback


def log_adjustment(act: Act, opening_id: int, *, what: str, turns: Sequence[Mapping[str, Any]] = (),
                   before: Mapping[str, Any] | None = None, after: Mapping[str, Any] | None = None, note: str = "",
                   panel_id: int | None = None, callback_id: int | None = None, trip_id: int | None = None,
                   entry_id: uuid.UUID | None = None) -> Adjustment:
    """What was turned, and the readings before and after."""
    mark = fingerprint("adjustment", opening_id, what, list(turns), before, after, note, panel_id, callback_id, trip_id)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "log an adjustment", opening)
        had = had_already(Adjustment, entry_id, mark)
        if had is not None:
            return had
        if not what.strip():
            raise Invalid("Say what was adjusted.", fields={"what": "roller, strike, interlock, weep"})
        adjustment = Adjustment.objects.create(
            id=entry_id or new_id(), opening=opening, panel=panel_in(opening, panel_id), what=what.strip(),
            callback=_of(opening, Callback, callback_id), turns=list(turns), before=dict(before or {}),
            trip=_of(opening, ReturnTrip, trip_id, "callback__opening"), after=dict(after or {}), note=note,
            **when(act), fingerprint=mark)
        done.note(act, "adjustment logged", "adjustments", adjustment.pk, opening=opening, adjusted=adjustment.what,
                  **({} if callback_id is None else {"callback": callback_id}))
    return adjustment


def _of(opening: Opening, model: type, key: int | None, path: str = "opening") -> Any:
    if key is None:
        return None
    found = model.objects.filter(pk=key, **{path: opening}).first()
    if found is None:
        raise Invalid(f"There is no such {model._meta.verbose_name} for this opening.",
                      fields={model._meta.model_name: "its id"})
    return found
