"""Crew Birch: a long door whose fifth panel came broken, and a loft whose floor has failed twice."""

from __future__ import annotations

from dashboard.demo import readings, visits
from dashboard.demo.diary import Clock
from dashboard.demo.story import BIG, SMALL, Story
from dashboard.demo.visits import Visit
from inspections.models import BuilderLink
from inspections.services.builders_link import make_link, report_corrected, token_of
from inspections.services.closing import close_punch_item
from inspections.services.gates import pass_over
from inspections.services.standing import countersign
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.weighing import weigh_panels
from inspections.services.work import note_event
from jobs.acts import Act
from jobs.models import StageChange, Wait
from jobs.stages import Stage

OWNER = "Anselm Pellucid"
TOO_HIGH = (2, 5, 8, 11, 9, 6, 3)  # thirty-seconds above the rest, a foot apart
STILL_TOO_HIGH = (2, 4, 6, 7, 5, 3, 1)


def told(story: Story) -> None:
    _refused(story)
    _long_door(story)
    _broken_panel(story)
    _terrace(story)
    _floor_failed_twice(story)
    _ready_and_not(story)


WEIGHED = {"A": 1018, "B": 1011, "C": 994}  # thousandths of what was computed, by the hook's load cell


def _weighed(act: Act, story: Story) -> None:
    """Three of six, on the truck; the rest will do."""
    panels = [panel for panel in story.doors["B1"].panels if panel.letter in WEIGHED]
    weigh_panels(act, story.doors["B1"].unit.pk,
                 {panel.pk: panel.computed_grams * WEIGHED[panel.letter] // 1000 for panel in panels},
                 versions={panel.pk: panel.version for panel in panels})


def _refused(story: Story) -> None:
    """B3: passed over without a lock that engages; the office said no, and it was put right."""
    def passed(v: Visit) -> None:
        visits.even_out(v)
        visits.pull(v)
        visits.adjust_panels(v)
        change = pass_over(v.lead(), v.id, "The strike comes on Thursday; everything else is as it should be.",
                           entry_id=v.clock.entry_id())
        v.door.kept["passed"] = change.pk

    def refused(act: Act) -> None:
        owed = StageChange.objects.get(pk=story.doors["B3"].kept["passed"]).countersignature
        countersign(act, owed.pk, give=False, version=owed.version,
                    reason="A door that does not lock is not adjusted. Fit the strike first.")

    def put_right(v: Visit) -> None:
        v.saw("lock-engages", looked_at="New strike fitted: both points, key and thumb turn.")
        v.advance(Stage.ADJUSTED)

    story.material("B3", -43, -40)
    story.work("B3", Stage.OPENING_VERIFIED, -39)
    story.work("B3", Stage.FRAME_SET, -38, -37)
    story.visit(-36, "07:30", "B3", visits.close_pocket)
    story.work("B3", Stage.PANELS_HUNG, -36, None, clock="09:00", gear=(SMALL, "Panel cart 2"))
    story.work("B3", Stage.ADJUSTED, -35, None, passed)
    story.office(-34, "10:10", refused)
    story.visit(-33, "08:00", "B3", put_right, lambda v: v.hours(Stage.ADJUSTED, 0.2, "strike"))
    story.work("B3", Stage.SEALED, -32)
    story.work("B3", Stage.PUNCH_LIST, -31)
    story.visit(-28, "16:45", "B3", lambda v: visits.accept(v, OWNER))


def _long_door(story: Story) -> None:
    story.material("B1", -43, -31)
    story.work("B1", Stage.OPENING_VERIFIED, -30)
    story.work("B1", Stage.FRAME_SET, -27, -25)
    story.visit(-24, "07:30", "B1", visits.close_pocket)
    story.office(-24, "16:40", lambda act: _weighed(act, story))
    story.plan("B1", Stage.PANELS_HUNG, -23, -18, gear=(BIG, "Panel cart 2"))
    story.work("B1", Stage.ADJUSTED, -13)
    story.work("B1", Stage.SEALED, -11)
    story.work("B1", Stage.PUNCH_LIST, -9, None, lambda v: _items(story, v), visits.walk)
    story.visit(-7, "11:00", "B1", _film_off)
    story.plan("B1", Stage.ACCEPTED, 6, 6, ink=False)


def _items(story: Story, v: Visit) -> None:
    """One overdue by now, one still to come, one that customer service sees to, one that was closed."""
    people = story.company.people
    v.item("rattle", "Track cover rattles at its third joint", people["wren"], story.day(-4), place="head",
           cause="ours")
    v.photo("", "the joint of the track cover", about="punch-item", about_id=v.door.kept["rattle"])
    v.item("bead", "Bead wavy at the lock jamb, about a foot of it", people["ines"], story.day(4), place="lock-jamb",
           cause="ours")
    v.item("film", "Protective film left on panel C", people["kit"], story.day(-6),
           panel_id=v.door.panel("C").pk, cause="ours")
    v.item("book", "Care book in the owner's language is not here yet", people["nell"], story.day(8), cause="maker")


def _film_off(v: Visit) -> None:
    close_punch_item(v.lead(), v.door.kept["film"], how="Film off, edge wiped with spirit.")


def _broken_panel(story: Story) -> None:
    """B1's panel E came with a crushed corner; four were hung, the new one came, then the last two."""
    def came(v: Visit) -> None:
        visits.receive(v)
        v.panel("E", "damage", reason="Lower corner crushed in its crate; glass whole, stile bent.")
        v.photo("", "crushed corner of panel E", about="panel", about_id=v.door.panel("E").pk)

    def last_two(v: Visit) -> None:
        visits.hang(v, "EF")
        visits.all_hung(v)

    story.visit(-24, "13:30", "B1", came)
    story.visit(-23, "07:30", "B1", visits.read_head, lambda v: visits.hang(v, "AB"))
    story.visit(-22, "07:30", "B1", lambda v: visits.hang(v, "CD"))
    story.delivery("B1", "Panel E, new", -23, -19, -19, condition="crate whole, corners looked at")
    story.visit(-19, "14:00", "B1", lambda v: v.panel("E", "replace"))
    story.visit(-18, "07:30", "B1", last_two)
    story.hours("B1", Stage.PANELS_HUNG, -23, -22, of=3)
    story.hours("B1", Stage.PANELS_HUNG, -18, -18, of=3)


def _terrace(story: Story) -> None:
    """B2: too wet to seal one day, sealed the next."""
    def too_wet(v: Visit) -> None:
        v.read("sealing-conditions", {"air_c": 11, "surface_c": 9.5, "humidity_pct": 91, "surface_dry": False},
               note="Fog on the terrace; we come back tomorrow.")

    story.material("B2", -43, -23)
    story.work("B2", Stage.OPENING_VERIFIED, -21)
    story.work("B2", Stage.FRAME_SET, -17, -16)
    story.visit(-15, "07:30", "B2", visits.close_pocket)
    story.work("B2", Stage.PANELS_HUNG, -15, -14, clock="09:00", gear=(BIG, "Panel cart 2"))
    story.work("B2", Stage.ADJUSTED, -12)
    story.work("B2", Stage.SEALED, -3, -2)
    story.visit(-3, "08:15", "B2", too_wet)
    story.plan("B2", Stage.PUNCH_LIST, 1, 1)


# ---- the loft -------------------------------------------------------------------------------------------


def _floor_failed_twice(story: Story) -> None:
    """E1: too high in the middle, poured again, still too high; the second wait stands, with its plan."""
    def first(v: Visit) -> None:
        visits.look_over(v)
        floor = visits.measure(v, floor=readings.floor(v.chance, v.door.sill, bump=TOO_HIGH, at=14))
        v.door.kept["floor wait"] = _wait_for_the_floor(story, v, floor, -14)

    def poured_again(act: Act) -> None:
        note_event(act, story.doors["E1"].opening.pk, "re-pour", note="The superintendent says: corrected.")

    def second(v: Visit) -> None:
        floor = v.read("floor-profile", readings.floor(v.chance, v.door.sill, bump=STILL_TOO_HIGH, at=14))
        v.photo("", "straightedge over the middle, light under both ends", about="inspection", about_id=floor.pk)
        clear_wait(v.lead(), v.door.kept["floor wait"], how="Poured again; read again, and still too high.",
                   standby_minutes=240, version=Wait.objects.get(pk=v.door.kept["floor wait"]).version)
        _wait_for_the_floor(story, v, floor, 3)

    def link(act: Act) -> None:
        story.doors["E1"].kept["link"] = make_link(act, story.doors["E1"].opening.pk, until=story.day(20)).pk

    def corrected(at: Clock) -> None:
        found = BuilderLink.objects.get(pk=story.doors["E1"].kept["link"])
        report_corrected(token_of(found), at.now, entry_id=at.entry_id(),
                         note="Ground from 12 to 16 ft, two passes. Look before the boards go back down.")

    for what, due in (("Sill, head and jambs", 6), ("Panels", 11)):
        story.delivery("E1", what, -27, due)
    story.work("E1", Stage.OPENING_VERIFIED, -20, None, first)
    story.office(-9, "11:20", poured_again)
    story.visit(-6, "08:00", "E1", second, lambda v: v.hours(Stage.OPENING_VERIFIED, 0.5, "second reading"))
    story.office(-5, "09:30", link)
    story.diary.on(-1, "15:10", corrected)
    story.plan("E1", Stage.FRAME_SET, 9, 11, ink=False)


def _wait_for_the_floor(story: Story, v: Visit, floor: object, due: int) -> object:
    return raise_wait(v.lead(), v.id, what_for="Floor put right along the sill line, as in the plan",
                      owed_by_kind="builder", expected_day=story.day(due), inspection_id=floor.pk,
                      entry_id=v.clock.entry_id()).pk


def _ready_and_not(story: Story) -> None:
    """E2 can be started; E3 could, until other trades worked in it."""
    def plasterers(act: Act) -> None:
        note_event(act, story.doors["E3"].opening.pk, "other-trades", note="Plasterers stood their trestles in it.")

    for tag, verified in (("E3", -8), ("E2", -1)):
        story.material(tag, -27, verified - 1)
        story.work(tag, Stage.OPENING_VERIFIED, verified)
    story.office(-4, "09:15", plasterers)
    story.plan("E2", Stage.FRAME_SET, 2, 3, gear=("Panel cart 2",))
    story.plan("E2", Stage.PANELS_HUNG, 4, 5, gear=(BIG, "Panel cart 2"), ink=False)
    story.plan("E3", Stage.FRAME_SET, 4, 4, ink=False)
