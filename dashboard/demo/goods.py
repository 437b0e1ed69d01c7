"""What units are made of and what came of it: D2's all came, C2 lacks a panel, F2's cover came bent. Who has them."""

from __future__ import annotations

from dashboard.demo.diary import Clock
from dashboard.demo.doors import Door
from dashboard.demo.pictures import drawn
from dashboard.demo.story import Story
from dashboard.demo.visits import Visit
from inspections.services.custody import hand_over
from inspections.services.parts import change_part, make_parts, note_part_came
from inspections.services.photos import store_photo
from inspections.services.walls import countersign_wall
from jobs.acts import Act
from jobs.models import Delivery
from units.models import Part, Unit

FRAME, PANELS = "Sill, head and jambs", "Panels"
LAST = ("cover", "other")  # hold no work up before the door is sealed
COMES_WITH = {"panel": PANELS, "interlock": PANELS}


def told(story: Story) -> None:
    _custody(story)
    _walls(story)
    _listed(story, "D2", -29)
    story.visit(-29, "13:10", "D2", looked_through)
    _listed(story, "C2", -4)
    story.visit(-4, "13:10", "C2", lambda v: looked_through(v, without=("Panel C",)), _panel_short)
    _listed(story, "F2", -7)
    story.visit(-7, "13:10", "F2", lambda v: looked_through(v, without=LAST), _cover_bent)
    _listed(story, "F3", -2)  # on its way


def _custody(story: Story) -> None:
    """From the builder to the crew, once back to him for a weekend, and at the end to the owner."""
    for tag, theirs, ours in (("B3", -41, -38), ("D2", -41, -31), ("F2", -30, -14), ("C2", -15, -6)):
        story.diary.on(theirs, "09:20", lambda at, tag=tag: _as_it_is_his(story, at, tag))
        story.visit(ours, "07:00", tag, lambda v: _over(v, "crew", "", (
            "Handed over by the builder: swept, header clear, floor dry; nothing stands in it.")))
    story.visit(-8, "17:10", "F2", lambda v: _over(v, "builder", _superintendent(v.door), (
        "Panels hung and locked, film on the glass; he keeps the key.")))
    story.visit(-2, "07:10", "F2", lambda v: _over(v, "crew", "", "As we left it; two boards lean on panel B, moved."))
    story.visit(-28, "17:30", "B3", lambda v: _over(v, "owner", "the housekeeper", "Washed; it rolls and locks."))


def _as_it_is_his(story: Story, at: Clock, tag: str) -> None:
    """As the builder tells the office."""
    door = story.doors[tag]
    hand_over(at.act(story.company.office), door.opening.pk, holder="builder", who=_superintendent(door),
              condition="Framed and sheathed; the opening is boarded up until we come.", entry_id=at.entry_id())


def _superintendent(door: Door) -> str:
    builder = door.opening.job.builder
    return f"{builder.contact}, {builder.name}"


def _walls(story: Story) -> None:
    """Seen by the builder's side once the pocket could close: two by the superintendent, one by who hangs the board."""
    story.visit(-36, "07:55", "B3", lambda v: _saw_the_wall(v, _superintendent(v.door), "the builder"))
    story.visit(-13, "16:10", "F1", lambda v: _saw_the_wall(v, "Ottoline Scree", "drywall"))
    story.visit(-9, "08:10", "F2", lambda v: _saw_the_wall(v, _superintendent(v.door), "the builder"))


def _saw_the_wall(v: Visit, who: str, trade: str) -> None:
    countersign_wall(v.lead(), v.id, name=who, trade=trade, entry_id=v.clock.entry_id())


def _over(v: Visit, holder: str, who: str, condition: str) -> None:
    hand_over(v.lead(), v.id, holder=holder, who=who, condition=condition,
              entry_id=v.clock.entry_id())


def _listed(story: Story, tag: str, day: int) -> None:
    """By the office, from the unit, and on the deliveries that brought them."""
    def listed(act: Act) -> None:
        door = story.doors[tag]
        make_parts(act, door.unit.pk, version=Unit.objects.get(pk=door.unit.pk).version)
        brought = {what: Delivery.objects.get(pk=door.kept[f"delivery {what}"]) for what in (FRAME, PANELS)}
        for part in door.unit.parts.select_related("unit").order_by("pk"):
            change_part(act, part, {"delivery": brought[COMES_WITH.get(part.kind, FRAME)]}, version=part.version)
    story.office(day, "11:10", listed)


def looked_through(v: Visit, *, without: tuple[str, ...] = ()) -> None:
    for part in _parts(v):
        if part.missing and part.name not in without and part.kind not in without:
            note_part_came(v.lead(), part.pk, whole=part.missing, entry_id=v.clock.entry_id())


def _panel_short(v: Visit) -> None:
    panel = next(part for part in _parts(v) if part.name == "Panel C")
    note_part_came(v.lead(), panel.pk, short=1, note="Not in the crate; the note says four, three are here.",
                   entry_id=v.clock.entry_id())


def _cover_bent(v: Visit) -> None:
    cover = next(part for part in _parts(v) if part.kind in LAST)
    came = note_part_came(v.lead(), cover.pk, damaged=1, note="Bent at its end, under the band.",
                          entry_id=v.clock.entry_id())
    store_photo(v.lead(), v.id, drawn(v.chance, "track cover, bent at its end"), about="part-arrival", about_id=came.pk,
                caption="Track cover: bent at its end, under the band.", entry_id=v.clock.entry_id())


def _parts(v: Visit) -> list[Part]:
    return list(v.door.unit.parts.select_related("panel").order_by("pk"))
