from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.against import Booking, CrewAtHand, Days, EquipmentAtHand, Person, Work, against
from jobs.calc.brought_in import BY_HAND, OnCart, Stop
from jobs.calc.verdict import BadInput


def march(day: int) -> date:
    return date(2026, 3, day)  # the 2nd is a Monday


MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = (march(n) for n in range(2, 9))
NEXT_MONDAY = march(9)

ROSA = Person("Rosa", frozenset({"lead", "hanging"}))
TIM = Person("Tim", frozenset({"hanging"}))
UMA = Person("Uma")
CREW = CrewAtHand(people=(ROSA, TIM, UMA))
WORK = Work(start_day=TUESDAY, end_day=THURSDAY, hands=3, skills=frozenset({"hanging"}))
LIFTER = EquipmentAtHand("lifter 1", rated_grams=400_000, holds_grams=400_000, at_best_grams=400_000)


def off(person: Person, first: date, last: date) -> Person:
    return replace(person, off=(Days(first, last),))


def booked(first: date, last: date | None, opening: str = "B2") -> Booking:
    return Booking(Days(first, last), opening, assignment=7)


def found(work: Work = WORK, crew: CrewAtHand = CREW, *equipment: EquipmentAtHand) -> list[tuple]:
    return [(o.code, dict(o.values)) for o in against(work, crew, equipment)]


def codes(*given) -> list[str]:
    return [code for code, _ in found(*given)]


def test_nothing_stands_against_work_that_fits():
    assert found() == []


def test_work_that_is_not_ready_says_why():
    work = replace(WORK, ready=False, not_ready=({"code": "material_incomplete"},))
    assert found(work) == [("not_ready", {"reasons": [{"code": "material_incomplete"}]})]


@pytest.mark.parametrize(("earliest", "expected"), [(WEDNESDAY, ["before_earliest"]), (TUESDAY, []), (MONDAY, []),
                                                    (None, [])])
def test_work_may_start_on_its_earliest_day_and_not_before(earliest, expected):
    assert codes(replace(WORK, earliest_day=earliest)) == expected


def test_the_earliest_day_is_told():
    assert found(replace(WORK, earliest_day=FRIDAY)) == [
        ("before_earliest", {"start_day": "2026-03-03", "earliest_day": "2026-03-06"})]


# ---- hands -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "people", "hands", "expected"), [
    ("enough", (ROSA, TIM, UMA), 3, None),
    ("one too few", (ROSA, TIM, UMA), 4, {"needed": 4, "there": 3, "day": "2026-03-03", "away": []}),
    ("away on one day only", (ROSA, TIM, off(UMA, WEDNESDAY, WEDNESDAY)), 3,
     {"needed": 3, "there": 2, "day": "2026-03-04", "away": ["Uma"]}),
    ("away the day before and after", (ROSA, TIM, off(UMA, MONDAY, MONDAY), off(Person("Vic"), FRIDAY, FRIDAY)),
     4, None),
    ("the worst day is told", (ROSA, off(TIM, WEDNESDAY, THURSDAY), off(UMA, THURSDAY, FRIDAY)), 3,
     {"needed": 3, "there": 1, "day": "2026-03-05", "away": ["Tim", "Uma"]}),
    ("left the crew on Tuesday", (ROSA, TIM, replace(UMA, in_crew=Days(MONDAY, TUESDAY))), 3,
     {"needed": 3, "there": 2, "day": "2026-03-04", "away": ["Uma"]}),
    ("joins the crew on Tuesday", (ROSA, TIM, replace(UMA, in_crew=Days(TUESDAY))), 3, None),
    ("nobody in the crew", (), 1, {"needed": 1, "there": 0, "day": "2026-03-03", "away": []}),
])
def test_hands_are_counted_day_by_day(name, people, hands, expected):
    work = replace(WORK, hands=hands, skills=frozenset())
    assert found(work, replace(CREW, people=people)) == ([("too_few_hands", expected)] if expected else [])


def test_nobody_is_looked_for_on_a_day_the_crew_does_not_work():
    work = replace(WORK, start_day=FRIDAY, end_day=NEXT_MONDAY)
    assert found(work, replace(CREW, people=(ROSA, TIM, off(UMA, SATURDAY, SUNDAY)))) == []


# ---- skills ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("skills", "people", "expected"), [
    ({"hanging"}, (ROSA, TIM, UMA), []),
    ({"hanging", "lead"}, (ROSA, TIM, UMA), []),
    ({"glazing"}, (ROSA, TIM, UMA), [{"skill": "glazing", "day": "2026-03-03"}]),
    ({"glazing", "crane"}, (ROSA, TIM, UMA), [{"skill": "crane", "day": "2026-03-03"},
                                               {"skill": "glazing", "day": "2026-03-03"}]),
    ({"lead"}, (off(ROSA, THURSDAY, FRIDAY), TIM, UMA), [{"skill": "lead", "day": "2026-03-05"}]),
    ({"hanging"}, (off(ROSA, TUESDAY, TUESDAY), off(TIM, WEDNESDAY, THURSDAY), UMA), []),
])
def test_a_skill_must_be_there_on_every_day(skills, people, expected):
    work = replace(WORK, hands=1, skills=frozenset(skills))
    assert found(work, replace(CREW, people=people)) == [("missing_skill", values) for values in expected]


# ---- days ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("first", "last", "expected"), [
    (MONDAY, MONDAY, []), (WEDNESDAY, WEDNESDAY, ["2026-03-04"]), (TUESDAY, THURSDAY, ["2026-03-04"]),
])
def test_a_day_the_whole_crew_is_off_is_told(first, last, expected):
    crew = replace(CREW, off=(Days(WEDNESDAY, WEDNESDAY),))
    told = found(replace(WORK, start_day=first, end_day=last), crew)
    assert told == [("day_off", {"days": [{"day": day, "why": "crew_off"} for day in expected]})] * bool(expected)


def test_a_public_holiday_is_told_even_in_the_middle():
    assert found(WORK, replace(CREW, holidays=frozenset({WEDNESDAY, FRIDAY}))) == [
        ("day_off", {"days": [{"day": "2026-03-04", "why": "holiday"}]})]


@pytest.mark.parametrize(("first", "last", "expected"), [
    (SATURDAY, SATURDAY, ["2026-03-07"]), (FRIDAY, SATURDAY, ["2026-03-07"]), (SUNDAY, NEXT_MONDAY, ["2026-03-08"]),
    (FRIDAY, NEXT_MONDAY, []),
])
def test_work_may_run_over_a_weekend_but_not_start_or_end_on_one(first, last, expected):
    told = found(replace(WORK, start_day=first, end_day=last))
    days = [{"day": day, "why": "not_a_working_day"} for day in expected]
    assert told == [("day_off", {"days": days})] * bool(expected)


def test_a_holiday_on_a_day_the_crew_is_off_anyway_takes_nothing():
    over_it = replace(WORK, start_day=FRIDAY, end_day=NEXT_MONDAY)
    assert found(over_it, replace(CREW, holidays=frozenset({SATURDAY}))) == []


def test_a_crew_that_works_saturdays_may_be_given_one():
    assert found(replace(WORK, start_day=SATURDAY, end_day=SATURDAY), replace(CREW, working_week="0111110")) == []


def test_hands_are_asked_for_on_a_day_off_too_when_there_is_no_other():
    work = replace(WORK, start_day=SATURDAY, end_day=SATURDAY, hands=4)
    assert codes(work) == ["day_off", "too_few_hands"]


@pytest.mark.parametrize(("first", "last", "meets"), [
    (MONDAY, MONDAY, False), (MONDAY, TUESDAY, True), (WEDNESDAY, WEDNESDAY, True), (MONDAY, FRIDAY, True),
    (THURSDAY, FRIDAY, True), (FRIDAY, FRIDAY, False), (MONDAY, None, True), (FRIDAY, None, False),
])
def test_other_work_of_the_crew_on_one_of_the_days_is_an_overlap(first, last, meets):
    assert codes(WORK, replace(CREW, bookings=(booked(first, last),))) == ["overlap"] * meets


def test_an_overlap_says_where_and_when():
    crew = replace(CREW, bookings=(booked(WEDNESDAY, FRIDAY, "C3"), booked(MONDAY, TUESDAY)))
    assert found(WORK, crew) == [
        ("overlap", {"opening": "B2", "start_day": "2026-03-02", "end_day": "2026-03-03", "assignment": 7}),
        ("overlap", {"opening": "C3", "start_day": "2026-03-04", "end_day": "2026-03-06", "assignment": 7}),
    ]


def test_days_that_end_before_they_start_are_refused():
    with pytest.raises(BadInput):
        found(replace(WORK, end_day=MONDAY))


# ---- equipment -------------------------------------------------------------------------------------------


def test_equipment_given_to_other_work_is_told():
    assert found(WORK, CREW, replace(LIFTER, bookings=(booked(THURSDAY, THURSDAY),))) == [
        ("equipment_booked", {"equipment": "lifter 1", "opening": "B2", "start_day": "2026-03-05",
                              "end_day": "2026-03-05", "assignment": 7})]


def test_equipment_given_to_other_work_on_other_days_is_free():
    assert found(WORK, CREW, replace(LIFTER, bookings=(booked(MONDAY, MONDAY), booked(FRIDAY, FRIDAY)))) == []


@pytest.mark.parametrize(("needed", "left", "short_of"), [
    (None, [], None), (400_000, [400_000], None), (400_001, [400_000], 400_000), (191_000, [], 0), (191_000, [None], 0),
    (191_000, [None, 200_000], None), (391_000, [200_000, 200_000], 200_000),
])
def test_one_piece_of_equipment_must_have_enough_left_for_the_heaviest_panel(needed, left, short_of):
    gear = [EquipmentAtHand("lifter", grams and 2 * grams, grams, grams) for grams in left]
    told = found(replace(WORK, lifting_grams=needed), CREW, *gear)
    assert told == ([] if short_of is None else [("lifting_short", {
        "needed_grams": needed, "left_grams": short_of, "rated_grams": 2 * short_of})])


def test_what_the_plate_says_is_not_what_is_left():
    tired = replace(LIFTER, holds_grams=150_000, at_best_grams=150_000)
    assert codes(replace(WORK, lifting_grams=191_000), CREW, tired) == ["lifting_short"]


def test_of_a_rating_nobody_has_asked_about_it_is_said_what_to_ask():
    asked = replace(LIFTER, holds_grams=None, unknown=({"what": "rating_includes"},))
    assert found(replace(WORK, lifting_grams=191_000), CREW, asked) == [
        ("equipment_unknown", {"equipment": "lifter 1", "missing": [{"what": "rating_includes"}]}),
        ("lifting_short", {"needed_grams": 191_000, "left_grams": 0, "rated_grams": 400_000})]


def test_nothing_is_asked_of_what_is_too_small_anyhow_or_has_nothing_heavy_to_lift():
    small = EquipmentAtHand("lifter", 100_000, None, 100_000, ({"what": "circuits"},))
    assert codes(replace(WORK, lifting_grams=191_000), CREW, small) == ["lifting_short"]
    assert codes(WORK, CREW, small) == []


def test_a_cart_lifts_nothing_and_is_told_when_it_is_too_weak_to_roll_the_panel():
    cart = EquipmentAtHand("cart", 150_000, 150_000, 150_000, lifts=False)
    work = replace(WORK, lifting_grams=191_000)
    assert codes(work, CREW, cart) == ["cart_short", "lifting_short"]
    assert codes(work, CREW, LIFTER, replace(cart, at_best_grams=191_000)) == []


STOPPED = OnCart(stops=(Stop("hall", ("A", "B"), "turn_it"), Stop("gate", ("C",))), in_doubt=("D",))
DOUBTED = OnCart(("A",), (), ("B",), ({"what": "thickness"},))
STOPS = [{"leg": "hall", "panels": ["A", "B"], "instead": "turn_it"}, {"leg": "gate", "panels": ["C"], "instead": ""}]


@pytest.mark.parametrize(("ways", "told"), [
    ({"cart": OnCart(("A", "B"))}, []),
    ({"cart": STOPPED}, [("way_in_stops", {"equipment": "cart", "stops": STOPS})]),
    ({"cart": DOUBTED}, [("way_in_unknown", {"equipment": "cart", "panels": ["B"],
                                             "missing": [{"what": "thickness"}]})]),
    ({"another": STOPPED}, []),  # it stays at home
    ({BY_HAND: STOPPED}, [("way_in_stops", {"equipment": "", "stops": STOPS})]),
    ({BY_HAND: DOUBTED}, []),  # with which cart they will come is still open
])
def test_a_cart_that_goes_along_must_get_every_panel_in(ways, told):
    cart = EquipmentAtHand("cart", 900_000, 900_000, 900_000, lifts=False)
    assert found(replace(WORK, on_carts=ways), CREW, cart) == told


def test_what_takes_three_to_steer_takes_three_whatever_was_planned():
    work = replace(WORK, hands=1, skills=frozenset())
    crew = replace(CREW, people=(ROSA, TIM))
    assert found(work, crew, replace(LIFTER, people_to_steer=3)) == [
        ("too_few_hands", {"needed": 3, "there": 2, "day": "2026-03-03", "away": []})]


@pytest.mark.parametrize(("until", "told"), [(WEDNESDAY, ["inspection_over"]), (THURSDAY, []), (None, [])])
def test_equipment_must_be_inspected_until_the_last_day(until, told):
    assert codes(WORK, CREW, replace(LIFTER, inspected_until=until)) == told


@pytest.mark.parametrize(("first", "last", "told"), [(MONDAY, MONDAY, []), (MONDAY, WEDNESDAY, ["equipment_off"]),
                                                   (THURSDAY, NEXT_MONDAY, ["equipment_off"])])
def test_equipment_must_not_be_out_of_use_on_any_of_the_days(first, last, told):
    assert codes(WORK, CREW, replace(LIFTER, off=(Days(first, last),))) == told


# ---- all together ----------------------------------------------------------------------------------------


def test_everything_is_told_at_once():
    work = Work(SATURDAY, SATURDAY, ready=False, hands=4, skills=frozenset({"crane"}), lifting_grams=500_000,
                earliest_day=NEXT_MONDAY)
    crew = replace(CREW, bookings=(booked(SATURDAY, SATURDAY),))
    lifter = replace(LIFTER, bookings=(booked(SATURDAY, SATURDAY),))
    assert codes(work, crew, lifter) == ["not_ready", "before_earliest", "day_off", "overlap", "too_few_hands",
                                         "missing_skill", "equipment_booked", "lifting_short"]


def test_an_objection_goes_out_as_code_and_values():
    told, = against(replace(WORK, ready=False, not_ready=("no_readings",)), CREW)
    assert told.as_dict() == {"code": "not_ready", "values": {"reasons": ["no_readings"]}}


some_days = st.integers(1, 31).map(march)


@given(some_days, some_days, some_days, some_days)
def test_two_pieces_of_work_overlap_exactly_when_they_share_a_day(a, b, c, d):
    (first, last), (other_first, other_last) = sorted((a, b)), sorted((c, d))
    each = {first + timedelta(n) for n in range((last - first).days + 1)}
    other = {other_first + timedelta(n) for n in range((other_last - other_first).days + 1)}
    work = replace(WORK, start_day=first, end_day=last)
    told = codes(work, replace(CREW, bookings=(booked(other_first, other_last),)))
    assert ("overlap" in told) == bool(each & other)
