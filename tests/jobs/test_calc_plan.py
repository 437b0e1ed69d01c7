"""Which crew could take the work in which week: by table, and what must hold whatever there is."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.calc import against, plan
from jobs.calc.against import CrewAtHand, Days, EquipmentAtHand, Person
from jobs.calc.brought_in import BY_HAND, OnCart, Stop
from jobs.calc.plan import CrewAhead, Gear, Piece, Standing, Wanted, lay, placings, why_after

MONDAY = dt.date(2026, 3, 2)
WEEKS = [MONDAY + dt.timedelta(weeks=n) for n in range(4)]


def day(n):
    return MONDAY + dt.timedelta(days=n)


def people(count=2, skills=(), **over):
    return tuple(Person(f"P{n}", frozenset(skills), **over) for n in range(count))


def crew(name="Alder", count=2, skills=(), standing=(), **over):
    at_hand = over.pop("at_hand", CrewAtHand(people(count, skills)))
    return CrewAhead(name, name, at_hand, standing=tuple(standing), base_km=over.pop("base_km", 10.0), **over)


FULL = 10**6  # minutes: more than any crew has


def stands(first, last, inked=False, **over):
    """Work that fills its days, if nothing else is said."""
    days = Days(day(first), day(last))
    return Standing(over.pop("key", (first, last)), days, "J-1 · A1", inked, over.pop("minutes", FULL), **over)


def wanted(*pieces, **over):
    return Wanted(pieces or (Piece("frame", 960),), over.pop("first_day", MONDAY), **over)


def best(want, *crews, gear=(), weeks=WEEKS):
    return placings(want, crews, gear, weeks)[0]


def codes(placing, side=plan.AGAINST):
    return [reason.code for reason in placing.of(side)]


# ---- laying ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("pieces", "start", "days"), [
    ([480], 0, [(0, 0)]),
    ([960], 0, [(0, 0)]),  # two people, a full day
    ([961], 0, [(0, 1)]),
    ([960, 100], 0, [(0, 0), (1, 1)]),
    ([500, 400], 0, [(0, 0), (0, 0)]),  # the second begins on the day the first is over
    ([0], 0, [(0, 0)]),
    ([960 * 5 + 1], 0, [(0, 7)]),  # over the weekend
    ([1000], 4, [(4, 7)]),
])
def test_pieces_are_worked_off_one_after_the_other_on_the_days_the_crew_works(pieces, start, days):
    laid = lay([Piece(n, minutes) for n, minutes in enumerate(pieces)], crew().capacity, day(start), day(60))
    assert [((one.first - MONDAY).days, (one.last - MONDAY).days) for one in laid] == days


@pytest.mark.parametrize(("minutes", "next_day"), [(0, 0), (60, 1), (24 * 60, 1), (24 * 60 + 1, 2), (72 * 60, 3)])
def test_what_must_pass_keeps_the_next_piece_waiting_in_whole_days(minutes, next_day):
    laid = lay([Piece("seal", 60, wait_after_minutes=minutes), Piece("walk", 60)], crew().capacity, MONDAY, day(60))
    assert laid[1].first == day(next_day)


def test_a_holiday_and_somebody_away_make_it_longer():
    off = (Person("P1"), Person("P2", off=(Days(day(1), day(1)),)))
    slow = crew(at_hand=CrewAtHand(off, holidays=frozenset({day(0)})))
    laid = lay([Piece("frame", 960)], slow.capacity, MONDAY, day(60))
    assert (laid[0].first, laid[0].last) == (day(1), day(2))


def test_a_piece_does_not_begin_before_its_day():
    pieces = [Piece("frame", 60), Piece("panels", 60, earliest_day=day(3))]
    assert [one.first for one in lay(pieces, crew().capacity, MONDAY, day(60))] == [day(0), day(3)]


def test_a_crew_with_nobody_in_it_never_takes_anything():
    assert placings(wanted(), [crew(count=0)], (), WEEKS) == ()
    assert placings(wanted(first_day=day(40)), [crew()], (), WEEKS) == (), "and none before it may begin"
    assert placings(Wanted((), MONDAY), [crew()], (), WEEKS) == ()


# ---- what is best ------------------------------------------------------------------------------------------------


def test_in_a_week_it_is_laid_where_nothing_else_stands():
    found = best(wanted(), crew(standing=[stands(0, 1)]))
    assert (found.first, codes(found)) == (day(2), [])
    assert plan.NOTHING_ELSE in codes(found, plan.FOR)


def test_what_is_pencilled_is_pushed_before_what_is_inked():
    found = best(wanted(), crew(standing=[stands(0, 2, True), stands(3, 4)]), weeks=WEEKS[:1])
    assert (found.first, codes(found)) == (day(3), [plan.PUSHES])


@pytest.mark.parametrize(("minutes", "inked", "stands_against"), [
    (960 * 4, False, plan.SHARES), (960 * 4, True, plan.SHARES), (960 * 4 + 1, False, plan.PUSHES),
    (960 * 4 + 1, True, plan.MEETS_INKED)])
def test_where_there_are_hours_for_both_the_days_are_shared(minutes, inked, stands_against):
    """Five days of two people, of which this takes one."""
    found = best(wanted(), crew(standing=[stands(0, 4, inked, minutes=minutes)]), weeks=WEEKS[:1])
    assert codes(found) == [stands_against]


def test_a_return_trip_is_kept_clear_of_where_another_day_of_the_week_will_do():
    trip = stands(0, 0, True, minutes=0, trip=True)
    assert best(wanted(), crew(standing=[trip]), weeks=WEEKS[:1]).first == day(1)
    every_day = [stands(n, n, True, minutes=0, trip=True) for n in range(28)]
    assert codes(best(wanted(), crew(standing=every_day), weeks=WEEKS[:1])) == [plan.TRIP]


@pytest.mark.parametrize(("better", "worse", "because"), [
    ({}, {"standing": [stands(n, n, True, minutes=0, trip=True) for n in range(28)]}, plan.TRIP),
    ({"standing": [stands(0, 27, minutes=0)]}, {"standing": [stands(0, 27, True, minutes=0)]}, plan.SHARES),
    ({"standing": [stands(0, 27, True, minutes=0)]}, {"standing": [stands(0, 27)]}, plan.PUSHES),
    ({}, {"skills": ()}, against.MISSING_SKILL),
    ({}, {"count": 1}, against.TOO_FEW_HANDS),
    ({}, {"standing": [stands(0, 27, True)]}, plan.MEETS_INKED),
    ({}, {"standing": [stands(0, 27)]}, plan.PUSHES),
    ({"standing": [stands(0, 27)]}, {"standing": [stands(0, 27, True)]}, plan.MEETS_INKED),
    ({}, {"base_km": 200.0}, plan.FAR),
    ({}, {"base_km": 20.0}, plan.DRIVE),
    ({}, {"base_km": None}, plan.DRIVE),
    ({"count": 3}, {}, plan.ENDS),
    ({"base_km": 200.0, "standing": [stands(4, 4, km=2.0, same_job=True)]}, {}, plan.DRIVE),
])
def test_of_two_crews_the_better_stands_first_and_the_reason_is_named(better, worse, because):
    usual = {"skills": ("frame",)}
    one, other = crew("Zinnia", **{**usual, **better}), crew("Alder", **{**usual, **worse})
    want = wanted(Piece("frame", 1200, hands=2, skills=frozenset({"frame"})))
    found = placings(want, [other, one], (), WEEKS[:1])
    assert [placing.crew.name for placing in found] == ["Zinnia", "Alder"]
    assert why_after(*found) == because


def test_where_nothing_tells_them_apart_the_name_does():
    found = placings(wanted(), [crew("Birch"), crew("Alder")], (), WEEKS[:1])
    assert [placing.crew.name for placing in found] == ["Alder", "Birch"]
    assert why_after(*found) == ""


def test_the_promise_counts_what_comes_after_it_too():
    want = wanted(then=(Piece("panels", 960 * 4), Piece("seal", 60, wait_after_minutes=1440)), promised=day(4))
    late = next(reason for reason in best(want, crew()).reasons if reason.code == plan.LATE)
    assert (late.values["ends"], late.values["days"]) == (day(7).isoformat(), 3)
    kept = best(wanted(promised=day(4)), crew())
    assert (codes(kept), plan.KEEPS_PROMISE in codes(kept, plan.FOR)) == ([], True)


def test_what_is_given_after_it_already_counts_for_the_promise_and_is_not_to_be_overtaken():
    later = (stands(1, 9),)
    want = wanted(Piece("frame", 960 * 3), later=later, promised=day(8))
    found = best(want, crew(), weeks=WEEKS[:1])
    assert codes(found) == [plan.LATE, plan.OWN_LATER]


def test_a_shorter_drive_is_taken_from_where_the_crew_is_in_that_week():
    found = placings(wanted(), [crew(base_km=40.0, standing=[stands(9, 9, km=1.0)])], (), WEEKS[:2])
    drives = {placing.monday: reason.values for placing in found for reason in placing.reasons
              if reason.code == plan.DRIVE}
    assert (drives[WEEKS[0]]["km"], drives[WEEKS[0]]["opening"]) == (40.0, "")
    assert (drives[WEEKS[1]]["km"], drives[WEEKS[1]]["opening"]) == (1.0, "J-1 · A1")


def lifter(name, holds, bookings=(), **over):
    return Gear(name, EquipmentAtHand(name, holds, holds, holds, bookings=tuple(bookings), **over))


@pytest.mark.parametrize(("gear", "takes", "stands_against"), [
    ([lifter("big", 700), lifter("small", 300)], "small", []),
    ([lifter("big", 700), lifter("small", 200)], "big", []),
    ([lifter("big", 700), lifter("small", 300, [against.Booking(Days(day(0), day(27)), "J-2")])], "big", []),
    ([lifter("small", 300, [against.Booking(Days(day(0), day(27)), "J-2")])], "small", ["equipment_booked"]),
    ([lifter("small", 300, off=(Days(day(0), day(27)),))], "small", ["equipment_off"]),
    ([lifter("small", 300, inspected_until=day(-1)), lifter("big", 700)], "big", []),
    ([lifter("tiny", 100), lifter("small", 200)], "small", ["lifting_short"]),
    ([lifter("cart", 900, lifts=False)], None, ["lifting_short"]),
    ([], None, ["lifting_short"])])
def test_the_smallest_that_lifts_it_and_is_free_goes_along(gear, takes, stands_against):
    found = best(wanted(Piece("panels", 60, lifting_grams=300)), crew(), gear=gear, weeks=WEEKS[:1])
    assert (found.laid[0].gear, codes(found)) == ((takes,) if takes else (), stands_against)


def cart(name, bookings=(), **over):
    return Gear(name, EquipmentAtHand(name, 900, 900, 900, bookings=tuple(bookings), lifts=False, **over))


GETS_IN, STOPS, DOUBTED = OnCart(("A",)), OnCart(stops=(Stop("hall", ("A",)),)), OnCart((), (), ("A",))


@pytest.mark.parametrize(("gear", "ways", "takes", "stands_against"), [
    ([cart("low"), cart("wide")], {"low": GETS_IN, "wide": STOPS}, ("low",), []),
    ([cart("a"), cart("b", people_to_steer=2)], {"a": DOUBTED, "b": GETS_IN}, ("b",), []),
    ([cart("wide"), cart("new")], {"wide": STOPS, "new": DOUBTED}, ("new",), ["way_in_unknown"]),
    ([cart("low", [against.Booking(Days(day(0), day(27)), "J-2")]), cart("wide")], {"low": GETS_IN, "wide": STOPS},
     ("low",), ["equipment_booked"]),
    ([cart("a", inspected_until=day(-1)), cart("b")], {"a": GETS_IN, "b": GETS_IN}, ("b",), []),
    ([cart("wide")], {"wide": STOPS}, ("wide",), ["way_in_stops"]),
    ([cart("wide")], {}, (), []),  # nothing is to be brought in
    ([], {BY_HAND: STOPS}, (), ["way_in_stops"])])
def test_a_cart_that_gets_the_panels_in_and_is_free_goes_along(gear, ways, takes, stands_against):
    found = best(wanted(Piece("panels", 60, on_carts=ways)), crew(), gear=gear, weeks=WEEKS[:1])
    assert (found.laid[0].gear, codes(found)) == (takes, stands_against)
    assert (plan.GETS_IN in codes(found, plan.FOR)) is ("way_in" not in str(stands_against) and bool(takes))


def test_a_week_in_which_only_a_cart_that_stops_is_there_comes_after_one_with_one_that_does_not():
    """The cart that gets in is out of use for good in the first two weeks; the other is not."""
    gear = [cart("low", off=(Days(day(0), day(13)),), people_to_steer=1), lifter("beam", 900, people_to_steer=1)]
    want = wanted(Piece("panels", 60, lifting_grams=300, on_carts={"low": GETS_IN}))
    found = placings(want, [crew()], gear, WEEKS[:3])
    assert [one.monday for one in found] == [WEEKS[2], WEEKS[0], WEEKS[1]]
    assert why_after(found[0], found[1]) == "equipment_off"
    stopped = placings(wanted(Piece("panels", 60, on_carts={"low": STOPS})), [crew()], gear, WEEKS[:1])
    free = placings(wanted(Piece("panels", 60, on_carts={"low": GETS_IN})), [crew()], gear, WEEKS[:1])
    assert why_after(free[0], stopped[0]) == "way_in_stops"


def test_every_objection_there_is_has_its_place_in_the_order():
    objections = {value for name, value in vars(against).items() if name.isupper() and isinstance(value, str)}
    own_ways = {against.NOT_READY, against.BEFORE_EARLIEST, against.OVERLAP, against.CREW_OFF,
                against.NOT_A_WORKING_DAY, against.HOLIDAY}
    assert objections - own_ways <= set(plan.ORDER)


# ---- whatever there is -------------------------------------------------------------------------------------------


numbers = st.integers(0, 20)
crews_ahead = st.builds(
    lambda name, count, skilled, away, busy, km: crew(
        f"Crew {name}", at_hand=CrewAtHand(tuple(
            Person(f"P{n}", frozenset({"frame"}) if skilled and n == 0 else frozenset(),
                   off=(Days(day(away), day(away + 2)),) if n == 0 else ()) for n in range(count))),
        standing=[stands(first, first + long, inked, key=n, minutes=first * 300)
                  for n, (first, long, inked) in enumerate(busy)],
        base_km=km),
    st.integers(0, 99), st.integers(0, 4), st.booleans(), numbers,
    st.lists(st.tuples(numbers, st.integers(0, 5), st.booleans()), max_size=4),
    st.one_of(st.none(), st.floats(0, 300)))
pieces = st.builds(lambda minutes, hands, skill, wait: Piece(
    "p", minutes, hands, frozenset({"frame"}) if skill else frozenset(), wait_after_minutes=wait),
    st.integers(0, 6000), st.integers(1, 4), st.booleans(), st.sampled_from([0, 600, 2880]))
plans = st.builds(
    lambda want, then, promised, first, crews: placings(
        Wanted(tuple(want), day(first), tuple(then), None if promised is None else day(promised)), crews, (), WEEKS),
    st.lists(pieces, min_size=1, max_size=3), st.lists(pieces, max_size=2), st.one_of(st.none(), st.integers(-5, 60)),
    st.integers(0, 25), st.lists(crews_ahead, min_size=1, max_size=4, unique_by=lambda one: one.name))


def weight(placing, code):
    return sum(reason.weight for reason in placing.reasons if reason.code == code)


@settings(max_examples=60)
@given(plans)
def test_the_reasons_shown_explain_the_order(found):
    for above, below in zip(found, found[1:], strict=False):
        because = why_after(above, below)
        assert not because or weight(above, because) < weight(below, because)
        earlier = plan.ORDER[:plan.ORDER.index(because)] if because else plan.ORDER
        assert all(weight(above, code) == weight(below, code) for code in earlier)


@settings(max_examples=60)
@given(plans)
def test_a_crew_without_the_skill_never_stands_above_one_with_it_nor_a_late_week_above_one_in_time(found):
    lacking = [weight(placing, against.MISSING_SKILL) for placing in found]
    assert lacking == sorted(lacking)
    for lacks in set(lacking):
        late = [weight(placing, plan.LATE) > 0 for placing in found if weight(placing, against.MISSING_SKILL) == lacks]
        assert late == sorted(late)


@settings(max_examples=60)
@given(plans)
def test_what_is_laid_begins_in_its_week_once_for_each_crew_and_follows_itself(found):
    assert len({(placing.crew.name, placing.monday) for placing in found}) == len(found)
    for placing in found:
        assert placing.monday <= placing.first < placing.monday + dt.timedelta(days=7)
        assert all(one.first <= one.last for one in placing.laid)
        assert all(one.last <= other.first for one, other in zip(placing.laid, placing.laid[1:], strict=False))
        assert all(placing.crew.capacity(end) for one in placing.laid for end in (one.first, one.last))
