"""Crew Alder: a house finished and called about, and a studio with its panels half hung."""

from __future__ import annotations

from typing import Any

from dashboard.demo import readings, visits
from dashboard.demo.company import off
from dashboard.demo.story import TALL, Story
from dashboard.demo.visits import Visit
from inspections.models import Callback, ReturnTrip
from inspections.services.afterwards import book_return_trip, close_callback, log_adjustment, log_callback
from inspections.services.gates import step_back
from inspections.services.joints import do_joint
from jobs.acts import Act
from jobs.services import office
from jobs.stages import Stage

OWNER = "Perpetua Umberleigh"
ALL_RUNNING = {"weeps_running": 8, "drain_seconds": 118}


def told(story: Story) -> None:
    _finished(story, "A1", -40, accepted=-26)
    _finished(story, "A2", -32, accepted=None)
    _subject_to_one_item(story)
    _finished(story, "A3", -23, accepted=-12)
    _bead_smeared(story)
    _half_hung(story)
    _sealed_weep(story)
    _paving(story)
    _calls_still_open(story)
    story.plan("G1", Stage.OPENING_VERIFIED, 6, 6, ink=False)
    story.plan("G1", Stage.FRAME_SET, 14, 15, ink=False)
    for what in ("Sill, head and jambs", "Panels"):
        story.delivery("G1", what, -3, 12)
        story.delivery("G3", what, -2, 19)


def _finished(story: Story, tag: str, start: int, accepted: int | None) -> None:
    """An ordinary door, from the tape to the owner's name."""
    story.material(tag, -43, start - 1)
    story.work(tag, Stage.OPENING_VERIFIED, start)
    story.work(tag, Stage.FRAME_SET, start + 1, start + 2)
    story.visit(start + 3, "07:30", tag, visits.close_pocket)
    story.work(tag, Stage.PANELS_HUNG, start + 3, start + 4, clock="09:00", gear=(TALL, "Panel cart 1"))
    story.work(tag, Stage.ADJUSTED, start + 5)
    story.work(tag, Stage.SEALED, start + 6)
    story.work(tag, Stage.PUNCH_LIST, start + 8)
    if accepted is not None:
        story.visit(accepted, "17:00", tag, lambda v: visits.accept(v, OWNER))


def _subject_to_one_item(story: Story) -> None:
    def walked(v: Visit) -> None:
        v.item("drip cap", "Drip cap scratched over panel B; a new length is ordered", v.door.lead, story.day(5),
               panel_id=v.door.panel("B").pk, place="head", cause="transport")
        v.photo("", "scratch on the drip cap", about="punch-item", about_id=v.door.kept["drip cap"])

    story.visit(-24, "11:00", "A2", walked)
    story.visit(-16, "17:00", "A2", lambda v: visits.accept(v, OWNER, subject_to=(v.door.kept["drip cap"],)))


def _bead_smeared(story: Story) -> None:
    """Sealed, and to be done again: a step back that takes earned minutes off and puts them on again."""
    def back(v: Visit) -> None:
        step_back(v.lead(), v.id, Stage.ADJUSTED.value, "Scaffolders leaned planks on the wet interlock bead: cut out, "
                  "done again.", entry_id=v.clock.entry_id())
        visits.seal(v)

    story.visit(-16, "13:30", "A3", back, lambda v: v.hours(Stage.SEALED, 0.4, "second time"))


def _half_hung(story: Story) -> None:
    """D1: two of five panels hang, one stands in the room, two are late. Two joints at the head are done already."""
    story.delivery("D1", "Sill, head and jambs", -30, -12, -12)
    story.delivery("D1", "Panels A, B, C", -30, -3, -3)
    story.delivery("D1", "Panels D, E", -30, -2)
    story.work("D1", Stage.OPENING_VERIFIED, -11)
    story.work("D1", Stage.FRAME_SET, -10, -9)
    story.visit(-8, "07:30", "D1", visits.close_pocket)
    story.visit(-7, "08:30", "D1", _head_joints_early)
    story.plan("D1", Stage.PANELS_HUNG, -2, 1, gear=(TALL, "Panel cart 1"))
    story.visit(-2, "08:00", "D1", lambda v: visits.receive(v, "ABC"), visits.read_head, lambda v: visits.hang(v, "A"))
    story.visit(-1, "08:00", "D1", lambda v: visits.hang(v, "B"))
    story.hours("D1", Stage.PANELS_HUNG, -2, -1, of=4)
    story.plan("D1", Stage.ADJUSTED, 4, 5, ink=False)
    story.office(-1, "17:20", lambda act: _two_away(story, act))


def _two_away(story: Story, act: Act) -> None:
    """Said the evening before: too few hands for what hangs, and the office has not looked yet."""
    people = story.company.people
    off(story.company, act, 0, 1, "a tooth out", user=people["pim"])
    off(story.company, act, 0, 0, "a wedding", user=people["tobin"])


def _head_joints_early(v: Visit) -> None:
    """While the scaffold stands at the head."""
    conditions = v.read("sealing-conditions", readings.sealing(v.chance))
    for side in ("outside", "inside"):
        visits.joint(v, "head", side, conditions, note="done early, from the scaffold")


# ---- callbacks ------------------------------------------------------------------------------------------


def _call(story: Story, number: int, clock: str, tag: str, key: str, severity: str, symptom: str,
          trip: int | None = None, best_time: str = "", **more: Any) -> None:
    """Customer service takes the call and books the trip, where somebody can go already."""
    def taken(v: Visit) -> None:
        nell = story.company.people["nell"]
        callback = log_callback(v.act(nell), v.id, severity=severity, symptom=symptom, caller=OWNER,
                                best_time=best_time)
        v.door.kept[key] = callback.pk
        if trip is None:
            return
        booked = book_return_trip(v.act(nell), callback.pk, day=story.day(trip), crew_id=v.door.crew.pk, **more)
        v.door.kept[f"{key} trip"] = booked.pk

    story.diary.on(number, clock, lambda at: taken(Visit(story.doors[tag], at)))


def _closed(story: Story, number: int, tag: str, key: str, finding: str, whose: str, outcome: str) -> None:
    """The trip is written up by the office, and the call closed with what it was."""
    def write_up(act: Act) -> None:
        trip = ReturnTrip.objects.get(pk=story.doors[tag].kept[f"{key} trip"])
        office.change(act, trip, {"done_at": act.now, "outcome": outcome}, version=trip.version,
                      record="return-trips")

    def close(v: Visit) -> None:
        callback = Callback.objects.get(pk=v.door.kept[key])
        close_callback(v.act(story.company.people["nell"]), callback.pk, finding=finding, whose=whose,
                       version=callback.version)

    story.office(number, "09:30", write_up)
    story.diary.on(number, "10:00", lambda at: close(Visit(story.doors[tag], at)))


def _sealed_weep(story: Story) -> None:
    """Water in the great room after a storm: a weep that our own bead had closed."""
    def opened(v: Visit) -> None:
        do_joint(v.act(), v.id, place="sill", side="outside", rule="never-seal", done=False,
                 note="second weep from the pocket is full of sealant", entry_id=v.clock.entry_id())
        v.photo("", "the weep, sealed over", about="callback", about_id=v.door.kept["weep"])
        log_adjustment(v.lead(), v.id, what="weep", before={"weeps_running": 7, "drain_seconds": 412},
                       after=ALL_RUNNING, note="Cut out, rinsed; track filled to the line and timed.",
                       callback_id=v.door.kept["weep"], trip_id=v.door.kept["weep trip"],
                       entry_id=v.clock.entry_id())
        do_joint(v.act(), v.id, place="sill", side="outside", rule="never-seal", note="open again, all eight run",
                 entry_id=v.clock.entry_id())
        v.saw("weeps-open", looked_at="All eight, by the litre.")
        v.photo("weeps-open", "weeps along the sill, running")

    _call(story, -10, "08:40", "A1", "weep", "water", "Water on the floor at the pocket end after the storm", -8,
          arrival="between one and two", bring="blade, hose, bucket, stop watch")
    story.visit(-8, "13:15", "A1", opened)
    _closed(story, -7, "A1", "weep", "A weep sealed over by our own bead; water stood in the track and ran in.", "ours",
            "weep opened, all eight run")


def _paving(story: Story) -> None:
    """Drags in the afternoon: a paving stone laid against the sill, which is not our work."""
    def looked(v: Visit) -> None:
        visits.pull(v)
        v.photo("", "paving tight against the sill", about="callback", about_id=v.door.kept["paving"])
        log_adjustment(v.lead(), v.id, what="nothing turned", before={"end_gap_mm": 0}, after={"end_gap_mm": 0},
                       note="Forces as it was left while cool. The stone has to come away from the sill.",
                       callback_id=v.door.kept["paving"], trip_id=v.door.kept["paving trip"],
                       entry_id=v.clock.entry_id())

    _call(story, -6, "14:20", "A3", "paving", "drags", "Heavy to move on sunny afternoons", -5,
          arrival="after two, when it is warm", bring="force gauge, feelers")
    story.visit(-5, "14:10", "A3", looked)
    _closed(story, -4, "A3", "paving", "Paving was laid tight against the sill since; it pushes when it warms.",
            "builder", "nothing to adjust; the builder moves the stone")


def _calls_still_open(story: Story) -> None:
    """One that somebody goes for at once, one that waits for the next trip."""
    _call(story, -2, "17:25", "A1", "light", "looks", "In the evening light shows along the lock jamb, half way up",
          best_time="after five, or leave word")
    _call(story, -1, "15:35", "A2", "latch", "cannot-be-secured", "The lower bolt does not reach its strike any more",
          0, best_time="any time, at home all day", arrival="before noon", bring="strike shims, 4 mm key")
