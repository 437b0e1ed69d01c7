"""The seven jobs the made-up company has taken on, and what their shop drawings say."""

from __future__ import annotations

from dashboard.demo.doors import UP_THE_LOFT, Drawn, wait_for_choice
from dashboard.demo.story import Story
from jobs.models import Job


def taken_on(story: Story) -> None:
    _finished_or_nearly(story)
    _under_way(story)


def _finished_or_nearly(story: Story) -> None:
    story.job(-44, "J-2101", "Umberleigh house", "hollowbark-4", [
        Drawn("A1", "Great room, west", "Alder", 240, 108, 4),
        Drawn("A2", "Dining room", "Alder", 192, 108, 3, pocket="right"),
        Drawn("A3", "Garden room", "Alder", 240, 96, 4, substrate="wood"),
    ], supplier="hollowbark", promised=-12, builder="sprat", owner="umberleigh", street="4 Kittiwake Lane",
        off_yard=(0.04, 0.02), dollars=186_400, notes="Gravel drive; the truck turns at the boathouse.",
        code="gate 1-2-3-4")
    story.job(-44, "J-2102", "Pellucid beach house", "guillemot-9", [
        Drawn("B1", "Great room, sea side", "Birch", 432, 120, 6),
        Drawn("B2", "Terrace", "Birch", 240, 108, 4, pocket="right"),
        Drawn("B3", "Guest wing", "Birch", 180, 96, 3),
    ], supplier="guillemot", promised=5, builder="lantern", owner="pellucid", street="1 Spindrift Strand",
        off_yard=(0.07, -0.04), dollars=268_900, notes="No trucks on the strand at high water.", code="alarm 9-9-0-0")
    story.job(-44, "J-2104", "Wrayburn-Kelp studio", "hollowbark-4", [
        Drawn("D1", "Studio, north light", "Alder", 300, 120, 5, pocket="right"),
        Drawn("D2", "Workshop", "Cedar", 240, 96, 4),
        Drawn("D3", "Reading room", "Cedar", 192, 96, 3, substrate="wood"),
    ], supplier="hollowbark", promised=9, builder="lantern", owner="wray", street="17 Limpet Steps",
        off_yard=(-0.03, 0.05), dollars=171_250)


def _under_way(story: Story) -> None:
    story.job(-33, "J-2106", "Tidepool pavilion", "hollowbark-4", [
        Drawn("F1", "Hall, south", "Cedar", 240, 108, 4), Drawn("F2", "Hall, east", "Cedar", 192, 108, 3),
        Drawn("F3", "Tea room", "Cedar", 300, 108, 5, pocket="right"),
    ], supplier="hollowbark", promised=20, builder="mossback", owner="tidepool", street="The Old Groyne",
        off_yard=(0.01, -0.06), dollars=201_700, notes="School visits Tuesdays before noon.")
    story.job(-28, "J-2105", "Harbour loft", "guillemot-9", [
        Drawn("E1", "Loft, full front", "Birch", 360, 120, 6), Drawn("E2", "Galley", "Birch", 240, 108, 4),
        Drawn("E3", "Bunk room", "Birch", 144, 96, 3, pocket="right"),
    ], supplier="guillemot", promised=25, builder="mossback", owner="loft", street="Ropewalk 9",
        off_yard=(-0.01, 0.01), dollars=239_300, notes="Third floor; the hoist is on the harbour side.",
        way_in=UP_THE_LOFT)
    story.job(-16, "J-2103", "Vetchling house", "guillemot-9", [
        Drawn("C1", "Kitchen", "Cedar", 240, 108, 4), Drawn("C2", "Library", "Cedar", 288, 108, 4, pocket="right"),
    ], supplier="guillemot", promised=22, builder="sprat", owner="vetch", street="22 Whelk Rise",
        off_yard=(0.05, 0.06), dollars=132_600)
    story.job(-3, "J-2107", "Thistledown addition", "hollowbark-4", [
        Drawn("G1", "New room, garden side", "Alder", 180, 96, 3),
        Drawn("G3", "New room, terrace", "Alder", 288, 96, 6, pocket="both"),
    ], supplier="hollowbark", promised=40, builder="sprat", owner="fennel", street="3 Samphire Close",
        off_yard=(-0.05, -0.02), dollars=116_900)
    story.office(-2, "10:30", lambda act: wait_for_choice(
        act, Job.objects.get(number="J-2107"), "G2", "New room, street side", 144, 96))
