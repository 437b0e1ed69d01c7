"""All that one page shows of one opening, and the forms of what may be done with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.drawings import record
from dashboard.drawings.elevation import Elevation, large, printed, slim, small
from dashboard.drawings.said import drawing_words
from dashboard.drawings.spots import Spot, name_of, places_of, spots
from dashboard.drawings.tape import Tape, tape
from dashboard.forms.acts import (
    AcceptForm,
    ActForm,
    AdvanceForm,
    ClearWaitForm,
    ClosePunchForm,
    ConfirmForm,
    CountersignForm,
    EventForm,
    Ground,
    HandOverForm,
    HoursForm,
    JointForm,
    ListPartsForm,
    PanelForm,
    PartCameForm,
    PassOverForm,
    PhotoForm,
    PunchForm,
    PutBackForm,
    QuickPanelForm,
    ReleaseForm,
    SetAsideForm,
    SettleForm,
    StepBackForm,
    WaitForm,
    WallForm,
)
from dashboard.forms.builders_link import LinkForm
from dashboard.forms.sheets import SHEETS, sheet_for
from dashboard.measures import Reader
from dashboard.opening import story
from dashboard.opening.builder import (
    LinkRow,
    ReportRow,
    link_row,
    links_of,
    report_row,
    reported_on,
    reports_of,
    taken_by,
)
from dashboard.opening.finishing import FINISHING, Finishing, finishing_of, steps_of
from dashboard.opening.folding import in_short, unfolded
from dashboard.opening.lists import WHOLE, Elsewhere, Lists
from dashboard.opening.material import (
    CustodyRow,
    PartRow,
    came_words,
    custody_row,
    delivery_words,
    part_state,
    stopped_words,
)
from dashboard.opening.places import AtPlace, Looking
from dashboard.opening.pocket_wall import WallShown
from dashboard.opening.rows import CheckRow, GateShown, ItemRow, Kept, PanelRow, ReadingRow, StageRow, WaitRow
from dashboard.opening.said import (
    finding_sentence,
    joint_words,
    plan_words,
    reading_row,
    stood_on,
    stood_one_by_one,
    wait_for,
)
from dashboard.rights import Rights, today_at
from inspections.calc.gate import Asked, Outcome
from inspections.models import (
    Acceptance,
    Callback,
    CorrectionReport,
    HoldPoint,
    Inspection,
    Photo,
    PunchItem,
    SetAsidePart,
    WallAgreement,
)
from inspections.services import planned
from inspections.services.builders_link import USUAL_DAYS
from inspections.services.datums import unit_of
from inspections.services.facts import HOLD_POINT, Facts
from inspections.services.looking import Gate, joint_spots, look_at, look_at_hold_point, splice_spot
from inspections.services.progress import Sum3, ledgers, minutes
from inspections.services.waits import who_owes, who_owes_what_was_seen
from inspections.services.walls import wall_figures
from jobs.acts import Act
from jobs.models import Assignment, Change, Custody, Event, Opening, StageChange, User, Wait, WorkStep
from jobs.roles import Reach, Role, reach
from jobs.stages import NUMBER, ORDER, Stage
from units.models import Panel, PanelChange, Part, PartArrival
from units.services.panels import STEPS

PHOTOS = 40  # at first
NATURAL = {"expected": "receive", "received": "hang", "hung": "adjust"}  # what is done next with a panel


@dataclass
class OpeningSheet:
    """Everything one page shows of one opening, read in a fixed number of queries. `bound`: forms that came back."""

    act: Act
    opening: Opening
    reader: Reader
    bound: Mapping[str, ActForm] = field(default_factory=dict)
    before: int | None = None  # history: only what lies before this position
    all: bool = False  # nothing of it folded
    lists: Lists = WHOLE
    at: str = ""  # the place of the drawing that was touched

    @classmethod
    def of(cls, request: HttpRequest, opening: Opening, **more: Any) -> OpeningSheet:
        return cls(request.act, opening, request.reader.at(opening.job.time_zone), **more)

    # ---- what is read -----------------------------------------------------------------------------------

    @cached_property
    def rights(self) -> Rights:
        return Rights(self.act, self.opening)

    @cached_property
    def facts(self) -> Facts:
        return Facts.of(self.opening)

    @cached_property
    def gate(self) -> Gate:
        return look_at(self.opening, self.act.now, facts=self.facts)

    @cached_property
    def pocket_gate(self) -> Gate:
        return look_at_hold_point(self.opening, self.act.now, facts=self.facts)

    @cached_property
    def changes(self) -> list[StageChange]:
        return list(StageChange.objects.filter(opening=self.opening).select_related(
            "by", "crew", "countersignature__by", "settlement__by").order_by("server_time", "taken_at"))

    @cached_property
    def panel_changes(self) -> list[PanelChange]:
        return list(PanelChange.objects.filter(panel__unit__opening=self.opening).select_related(
            "by", "panel", "settlement__by").order_by("server_time", "taken_at"))

    @cached_property
    def items(self) -> list[PunchItem]:
        return list(PunchItem.objects.filter(opening=self.opening).select_related("owner", "panel", "closed_by")
                    .order_by("number"))

    @cached_property
    def open_items(self) -> list[PunchItem]:
        return [i for i in self.items if i.closed_at is None]

    @cached_property
    def ground(self) -> Ground:
        """What the forms offer to choose from."""
        steps = [(s.pk, words.stage(s.stage)) for s in self._work_steps]
        return Ground(
            opening=self.opening, panels=self.facts.panels, people=self._people, joints=self._joint_choices,
            conditions=self._conditions, steps=steps, products=self._products, items=self.open_items,
            today=today_at(self.opening, self.act))

    @cached_property
    def _work_steps(self) -> list[WorkStep]:
        return list(self.opening.work_steps.all())

    @cached_property
    def _people(self) -> list[User]:
        if not self.rights["raise a punch item"]:
            return []
        return list(User.objects.filter(is_active=True).exclude(role=Role.GUEST.value).order_by("name", "pk"))

    @cached_property
    def joint_spots(self) -> list[str]:
        return [spot for asked in self.facts.checks if asked.judged_by == "joints"
                for spot in joint_spots(self.facts, asked)]

    @cached_property
    def _joint_choices(self) -> list[tuple[str, str]]:
        return [(spot, joint_words(*(*spot.split(":"), "", "")[:3])) for spot in (
            *self.joint_spots, *map(splice_spot, self.facts.splices))]

    @cached_property
    def _conditions(self) -> list[tuple[str, str]]:
        return [(str(i.pk), f"{self.reader.moment(i.taken_at)}: {phrases.RESULTS.get(i.result, i.result)}")
                for i in self.facts.inspections if i.kind == "sealing-conditions"]

    @cached_property
    def _products(self) -> list[tuple[str, str]]:
        unit = unit_of(self.opening)
        named = unit.system.products if unit is not None and unit.system is not None else []
        return [(p["name"], p["name"]) for p in named if p.get("name")]

    # ---- forms ------------------------------------------------------------------------------------------

    def form(self, kind: type[ActForm], **initial: Any) -> ActForm | None:
        """The form of an act this person may do here: as it came back, else unanswered."""
        if not self.rights[kind.may]:
            return None
        fresh = kind.fresh(self.ground, **initial)
        fresh.is_asked = fresh.key == self.lists.open
        came_back = self.bound.get(fresh.key)
        return fresh if came_back is None else came_back.on_what_stands(fresh)

    def row_form(self, kind: type[ActForm], forms: int, **initial: Any) -> ActForm | Elsewhere | None:
        """The form of a row, in a list with so many of them."""
        elsewhere = self.lists.elsewhere(kind, initial, forms) if self.rights[kind.may] else None
        return elsewhere or self.form(kind, **initial)

    @cached_property
    def left_out(self) -> dict[str, int]:
        """Of each list, how many rows there are to be seen beside those shown."""
        photos = self.lists.more(self.photos_in_all, len(self.photos))
        return {"photos": photos} | {name: self.lists.more(len(found), len(shown)) for name, found, shown in (
            ("waits", self._open_waits, self.open_waits), ("cleared", self._cleared_waits, self.cleared_waits),
            ("readings", self._earlier, self.earlier_readings), ("items", self.items, self.punch_items),
            ("parts", self.aside, self.parts), ("events", self._events, self.events),
            ("custody", self._custody, self.custody),
            ("callbacks", self._callbacks, self.callbacks))}

    @cached_property
    def unfolded(self) -> dict[str, bool]:
        return unfolded(self)

    @cached_property
    def in_short(self) -> dict[str, str]:
        return in_short(self)

    # ---- title block and drawing ------------------------------------------------------------------------

    @cached_property
    def drawing(self) -> Elevation:
        return large(self._built, self.reader)

    @cached_property
    def slim_drawing(self) -> Elevation:
        """The same for a narrow place: letters and dimensions stay as large as they are read."""
        return slim(self._built, self.reader)

    @cached_property
    def places(self) -> list[tuple[str, str]]:
        """What of the drawing can be touched, with its name."""
        return [(key, name_of(key)) for key in places_of(self._built)]

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        return spots(self.drawing, self._built, beside=True)

    @cached_property
    def slim_spots(self) -> tuple[Spot, ...]:
        return spots(self.slim_drawing, self._built, beside=False)

    @cached_property
    def at_place(self) -> AtPlace | None:
        """All that is recorded of the place that was touched."""
        if self.at not in places_of(self._built):
            return None
        return Looking(self.at, self.facts, self.reader).at(self.items, self.panel_changes)

    @cached_property
    def printed_drawing(self) -> Elevation:
        return printed(self._built, self.reader)

    @cached_property
    def small_drawing(self) -> Elevation:
        return small(self._built, self._built.whole_width)

    @property
    def sides_are_guessed(self) -> bool:
        return self.opening.pocket_side == "both" and any(not panel.side for panel in self.facts.panels)

    @cached_property
    def drawing_words(self) -> str:
        return drawing_words(self._built)

    @cached_property
    def _built(self) -> Any:
        return record.one(self.opening, closed=self.facts.hold_point is not None, panels=self.facts.panels,
                          joints=self.facts.joints, items=self.open_items)

    @cached_property
    def unit_words(self) -> str:
        unit = unit_of(self.opening)
        if unit is None:
            return _("none entered yet")
        pocket = {"left": _("pocket left"), "right": _("pocket right"), "both": _("pockets on both sides"),
                  "none": _("no pocket")}[self.opening.pocket_side]
        ways = _("one way") if unit.ways == "one-way" else _("two ways")
        return _("%(count)d panels, %(ways)s, %(pocket)s") % {
            "count": len(self.facts.panels), "ways": ways, "pocket": pocket}

    @property
    def may_put_in(self) -> bool:
        """Whether there is no unit yet, and this person may put one in."""
        return unit_of(self.opening) is None and self.rights[planned.MAY]

    @cached_property
    def assignment(self) -> Assignment | None:
        given = Assignment.objects.filter(opening=self.opening).select_related("crew").order_by("-start_day", "-pk")
        return given.first()

    @cached_property
    def crew_words(self) -> str:
        given = self.assignment
        if given is None:
            return _("no crew yet")
        parts = [given.crew.name, _("inked") if given.firmness == "inked" else _("pencilled")]
        if given.told_at is not None:
            parts.append(_("told %s") % self.reader.day(given.told_at))
        return ", ".join(parts)

    @cached_property
    def promised(self) -> str:
        return self.reader.whole_day(self.opening.job.promised_date) or "–"

    @cached_property
    def stage(self) -> str:
        return words.stage(self.opening.stage)

    @cached_property
    def since(self) -> str:
        return self.reader.day(self.opening.stage_since)

    @cached_property
    def acceptance(self) -> Acceptance | None:
        if self.opening.stage != Stage.ACCEPTED:
            return None
        found = Acceptance.objects.filter(opening=self.opening).prefetch_related("subject_to")
        return found.order_by("-taken_at").first()

    @cached_property
    def warranty_from(self) -> str:
        return "" if self.acceptance is None else self.reader.whole_day(self.acceptance.warranty_from)

    @cached_property
    def _callbacks(self) -> list[Callback]:
        return list(Callback.objects.filter(opening=self.opening)) if self.opening.called_back else []

    @cached_property
    def callbacks(self) -> list[Callback]:
        """The latest first."""
        return self.lists.first(self._callbacks, is_open=lambda call: call.closed_at is None)

    @property
    def takes_calls(self) -> bool:
        return self.opening.stage == Stage.ACCEPTED and self.rights["log a callback"]

    # ---- stages -----------------------------------------------------------------------------------------

    @cached_property
    def stages(self) -> list[StageRow]:
        at = NUMBER[Stage(self.opening.stage)]
        rows = []
        for number, stage in enumerate(ORDER[1:], start=1):
            if stage is Stage.PANELS_HUNG:
                rows.append(self._pocket_row())
            change = self._reached_by(stage) if number <= at else None
            rows.append(self._stage_row(number, stage, change, "done" if number <= at else
                                        "now" if number == at + 1 else "ahead"))
        return rows

    def _reached_by(self, stage: Stage) -> StageChange | None:
        forward = ("advance", "pass-over")
        found = [c for c in self.changes if c.advanced and c.to_stage == stage.value and c.kind in forward]
        return found[-1] if found else None

    @property
    def has_stood(self) -> bool:
        return any(row.stood for row in self.stages)

    def _stage_row(self, number: int, stage: Stage, change: StageChange | None, state: str) -> StageRow:
        if change is None:
            said = _("%(good)d of %(all)d checks stand") % {
                "good": sum(o.passes for o in self.gate.outcomes), "all": len(self.gate.outcomes)} if (
                state == "now") else ""
            return StageRow(str(number), words.stage(stage.value), "", "", said, state,
                            went_back=self._went_back if state == "now" else "")
        passed = change.reason if change.kind == "pass-over" else ""
        signed = getattr(change, "countersignature", None)
        return StageRow(
            str(number), words.stage(stage.value), self.reader.day(change.taken_at), str(change.by),
            stood_on(change.gate), state, passed, self._signed_words(signed),
            None if signed is None or signed.state != "owed" else self.form(
                CountersignForm, countersignature=signed.pk, version=signed.version),
            stood=stood_one_by_one(change.gate, self.reader))

    @cached_property
    def _went_back(self) -> str:
        """Why it stands where it stands, when the last thing that moved it moved it back."""
        moves = [c for c in self.changes if c.advanced]
        if not moves or moves[-1].kind not in ("step-back", "put-back"):
            return ""
        return _("Went back %(day)s, %(by)s: %(reason)s") % {
            "day": self.reader.day(moves[-1].taken_at), "by": moves[-1].by, "reason": moves[-1].reason}

    def _signed_words(self, signed: Any) -> str:
        if signed is None:
            return ""
        if signed.state == "owed":
            return _("The office still owes its countersignature.")
        said = _("Countersigned by %(by)s, %(day)s.") if signed.state == "given" else _("Refused by %(by)s, %(day)s.")
        return said % {"by": signed.by, "day": self.reader.day(signed.at)}

    def _pocket_row(self) -> StageRow:
        released: HoldPoint | None = self.facts.hold_point
        name = words.stage(HOLD_POINT)
        if released is None:
            return StageRow("○", name, "", "", _("hold point, not released"), "hold")
        return StageRow("○", name, self.reader.day(released.taken_at), str(released.by), stood_on(released.gate),
                        "done", stood=stood_one_by_one(released.gate, self.reader))

    # ---- the gate ---------------------------------------------------------------------------------------

    @cached_property
    def next_gate(self) -> GateShown | None:
        return None if self.opening.stage == Stage.ACCEPTED else self._shown(self.gate)

    @cached_property
    def hold_point(self) -> GateShown | None:
        """The hold point, once the frame is set and until it is released."""
        stands = NUMBER[Stage(self.opening.stage)] >= NUMBER[Stage.FRAME_SET]
        return self._shown(self.pocket_gate) if stands and self.facts.hold_point is None else None

    def _shown(self, gate: Gate) -> GateShown:
        asked = {check.code: check for check in self.facts.checks}
        rows = [self._check_row(o, words.check(o.as_dict(), self.reader), asked[o.code], n)
                for n, o in enumerate(gate.outcomes, start=1)]
        rows = _one_wait_each(rows)
        failing = _cautioned_once(_read_once([row for row in rows if not row.said.passes]))
        return GateShown(
            words.stage(gate.to_stage), gate.to_stage, gate.passes, len(rows) - len(failing), len(rows),
            tuple(words.reason(b, self.reader, self.named) for b in gate.blocks), failing,
            tuple(row for row in rows if row.said.passes),
            words.unique(o.title for o in gate.guarded))

    @cached_property
    def named(self) -> bool:
        """Whether parties may be called by their names."""
        return self.rights["read contacts"]

    def _check_row(self, outcome: Outcome, said: words.CheckSaid, asked: Asked, number: int) -> CheckRow:
        spot = f"{said.code}:{'' if said.raw_place is None else said.raw_place}"
        confirm = photo = wait = None
        spliced = outcome.place in self.facts.spliced(asked)
        if asked.judged_by == "confirmed" and not spliced and not self.facts.counts_material(asked):
            confirm = self.form(ConfirmForm, spot=spot)
            if confirm is not None:
                confirm.ask_for(self._answers(asked), photo=asked.photo)
        elif asked.judged_by == "photo" or said.result == "photo missing":
            photo = self.form(PhotoForm, check_code=said.code)
        if said.result == "failed" and said.inspection:
            wait = self.form(WaitForm, about=said.inspection, inspection=said.inspection, what_for=wait_for(said),
                             owed_by_kind=who_owes(asked.judged_by, outcome.findings))
        elif said.result == "failed" and confirm is not None:
            wait = self.form(WaitForm, about=spot, what_for=wait_for(said),
                             owed_by_kind=who_owes_what_was_seen(said.code))
        return CheckRow(said, number, sheet_for(asked.judged_by, asked.occasion), said.raw_place, confirm, photo, wait,
                        steps=steps_of(self.opening) if said.code == FINISHING else (),
                        joint=self._joint_form(said.raw_place) if spliced or asked.judged_by == "joints" else None)

    def _joint_form(self, place: str) -> ActForm | None:
        """For the joint at this place, which the gate names by place and side."""
        spot = next((s for s, _said in self._joint_choices if " ".join(filter(None, s.split(":")[1:])) == place), None)
        return None if spot is None else self.form(JointForm, about=spot, joint=spot)

    def _answers(self, asked: Asked) -> list[str]:
        answers = ["yes", "no"]
        if asked.maker_may_forbid:
            answers.append("maker-forbids")
        if reach(self.act.role, "give other evidence") is not None:
            answers.append("other-evidence")
        return answers

    @cached_property
    def advance(self) -> ActForm | None:
        kind = AcceptForm if self.gate.to_stage == Stage.ACCEPTED else AdvanceForm
        if self.opening.stage == Stage.ACCEPTED:
            return None
        return self.form(kind, to=self.gate.to_stage)

    @cached_property
    def is_accepting(self) -> bool:
        return self.gate.to_stage == Stage.ACCEPTED

    @cached_property
    def pass_over(self) -> ActForm | None:
        can = self.gate.can_be_passed_over and self.gate.to_stage != Stage.ACCEPTED
        return self.form(PassOverForm, to=self.gate.to_stage) if can else None

    @cached_property
    def release(self) -> ActForm | None:
        return self.form(ReleaseForm)

    @cached_property
    def step_back(self) -> ActForm | None:
        return self.form(StepBackForm) if self.opening.stage != Stage.TO_BE_MEASURED else None

    # ---- panels -----------------------------------------------------------------------------------------

    @cached_property
    def panels(self) -> list[PanelRow]:
        last = {c.panel_id: c for c in self.panel_changes if c.advanced}
        return [self._panel_row(p, last.get(p.pk)) for p in self.facts.panels]

    def _panel_row(self, panel: Panel, change: PanelChange | None) -> PanelRow:
        state = str(phrases.PANEL_STATES[panel.state])
        if panel.damaged:
            state += _(", damaged")
        if panel.replaced:
            state += _(", replaced")
        since = "" if change is None else f"{self.reader.day(change.taken_at)}, {change.by}"
        natural = NATURAL.get(panel.state)
        quick = self.form(QuickPanelForm, panel=panel.pk, what=natural) if natural and not panel.damaged else None
        if quick is not None:
            quick.button = phrases.PANEL_ACTS[natural]
        other = self.form(PanelForm, panel=panel.pk)
        if other is not None:
            other.choices("what", [(k, phrases.PANEL_ACTS[k]) for k, (origins, _end) in STEPS.items()
                                   if panel.state in origins])
        position = str(phrases.POSITIONS[panel.position])
        return PanelRow(panel.letter, position, self.reader.mass(panel.grams), panel.track, state,
                        panel.letter == self._built.next_panel, since, quick, other)

    # ---- recorded, not advanced -------------------------------------------------------------------------

    @cached_property
    def kept(self) -> list[Kept]:
        rows = [self._kept(c, "stage", _("Done on site: %s") % words.stage(c.to_stage).lower())
                for c in self.changes if not c.advanced]
        rows += [self._kept(c, "panel", _("Panel %(letter)s: %(what)s") % {
            "letter": c.panel.letter, "what": str(phrases.PANEL_ACTS[c.act]).lower()})
            for c in self.panel_changes if not c.advanced]
        pockets = HoldPoint.objects.filter(opening=self.opening, advanced=False).select_related("by", "settlement__by")
        return rows + [self._kept(p, "pocket", _("Done on site: %s") % words.stage(HOLD_POINT).lower())
                       for p in pockets]

    def _kept(self, change: StageChange | PanelChange | HoldPoint, of: str, what: str) -> Kept:
        done = getattr(change, "settlement", None)
        settled = "" if done is None else (
            f"{phrases.SETTLED[done.how]}: {done.note} ({done.by}, {self.reader.day(done.at)})")
        reasons = words.unique(words.reason(r, self.reader, self.named) for r in change.reasons)
        form = None if done is not None else self.form(SettleForm, record=change.pk, of=of)
        return Kept(what, self.reader.moment(change.taken_at), str(change.by), reasons, settled, form)

    # ---- readings ---------------------------------------------------------------------------------------

    @cached_property
    def latest_readings(self) -> list[ReadingRow]:
        """Of each kind, occasion and place the latest."""
        latest: dict[tuple[str, str, str], Inspection] = {}
        for inspection in self.facts.inspections:
            latest.setdefault((inspection.kind, inspection.occasion, inspection.place), inspection)
        return [reading_row(i, self.reader) for i in latest.values()]

    @cached_property
    def _earlier(self) -> list[Inspection]:
        latest = {row.pk for row in self.latest_readings}
        return [i for i in self.facts.inspections if i.pk not in latest]

    @cached_property
    def earlier_readings(self) -> list[ReadingRow]:
        return [reading_row(i, self.reader) for i in self.lists.first(self._earlier)]

    @cached_property
    def read_twice(self) -> bool:
        """There is something to compare: whatever the occasion, of one kind at one place."""
        read = [(i.kind, i.place) for i in self.facts.inspections]
        return len(set(read)) < len(read)

    @cached_property
    def sheets(self) -> list[tuple[str, str]]:
        return [(s.key, str(s.title)) for s in SHEETS.values()] if self.rights["record readings"] else []

    # ---- waits, events, joints, parts, items, hours, photos ----------------------------------------------

    @cached_property
    def _waits(self) -> list[Wait]:
        found = Wait.objects.filter(opening=self.opening).select_related("owed_by", "by", "cleared_by")
        return list(found.order_by("cleared_at", "taken_at"))

    @cached_property
    def _open_waits(self) -> list[Wait]:
        return [w for w in self._waits if w.cleared_at is None]

    @cached_property
    def _cleared_waits(self) -> list[Wait]:
        return [w for w in self._waits if w.cleared_at is not None]

    @cached_property
    def open_waits(self) -> list[WaitRow]:
        return [self._wait_row(w) for w in self.lists.first(self._open_waits, kinds=[ClearWaitForm])]

    @cached_property
    def cleared_waits(self) -> list[WaitRow]:
        return [self._wait_row(w) for w in self.lists.first(self._cleared_waits)]

    def _wait_row(self, wait: Wait) -> WaitRow:
        because = tuple(finding_sentence(f, self.reader) for f in wait.because.get("findings") or ())
        plan = (wait.because.get("correction") or {}).get("plan") or ()
        because += tuple(plan_words(part, self.reader) for part in plan)
        cleared, clear = "", None
        if wait.cleared_at is not None:
            cleared = _("Cleared %(day)s by %(by)s: %(how)s") % {
                "day": self.reader.day(wait.cleared_at), "by": wait.cleared_by, "how": wait.cleared_how}
        else:
            clear = self.row_form(ClearWaitForm, len(self._open_waits), wait=wait.pk, version=wait.version)
        return WaitRow(words.wait(wait, self.reader, self.named), f"{self.reader.moment(wait.taken_at)}, {wait.by}",
                       because, words.plan_cautions(part["act"] for part in plan), cleared, clear,
                       reported_on(wait, self._reports, self.reader))

    @cached_property
    def raise_wait(self) -> ActForm | None:
        return self.form(WaitForm)

    # ---- the builder's link -----------------------------------------------------------------------------

    @cached_property
    def _reports(self) -> list[CorrectionReport]:
        return reports_of(self.opening)

    @cached_property
    def correction_reports(self) -> list[ReportRow]:
        return [report_row(report, self.reader, self.form) for report in self._reports]

    @cached_property
    def builder_links(self) -> list[LinkRow]:
        return [link_row(link, self.act, self.reader, self.form) for link in links_of(self.opening)]

    @cached_property
    def make_link(self) -> ActForm | None:
        today = today_at(self.opening, self.act)
        return self.form(LinkForm, until=today + dt.timedelta(days=USUAL_DAYS))

    @cached_property
    def unfolded_builder(self) -> bool:
        came_back = any(form.section == "builder" for form in self.bound.values())
        return self.all or came_back or any(report.seen_at is None for report in self._reports)

    @cached_property
    def builder_in_short(self) -> str:
        unseen = sum(report.seen_at is None for report in self._reports)
        if unseen:
            return ngettext("%d report not seen yet", "%d reports not seen yet", unseen) % unseen
        return _("all reports seen") if self._reports else ""

    @cached_property
    def _events(self) -> list[Event]:
        return list(Event.objects.filter(opening=self.opening).select_related("by"))

    @cached_property
    def events(self) -> list[tuple[str, str, str]]:
        return [(str(phrases.EVENTS[e.kind]), e.note, f"{self.reader.moment(e.taken_at)}, {e.by}")
                for e in self.lists.first(self._events)]

    @property
    def events_in_all(self) -> int:
        return len(self._events)

    @cached_property
    def note_event(self) -> ActForm | None:
        return self.form(EventForm)

    @cached_property
    def joints(self) -> list[tuple[str, str, str]]:
        rows = []
        for spot in self.joint_spots:
            rule, place, side = (*spot.split(":"), "", "")[:3]
            done = next((j for j in self.facts.joints if j.place == place and j.side == side), None)
            rows.append((joint_words(rule, place, side), self._joint_state(rule, done), "" if done is None else
                         ", ".join(filter(None, (self.reader.moment(done.taken_at), str(done.by), done.product)))))
        return rows

    def _joint_state(self, rule: str, done: Any) -> str:
        if rule == "never-seal":
            sealed = done is not None and (done.rule == "seal" or not done.done)
            return _("sealed: open it") if sealed else _("open, as it must be")
        if done is None:
            return _("not done yet")
        return _("sealed") if done.done else _("not as it must be")

    @cached_property
    def do_joint(self) -> ActForm | None:
        return self.form(JointForm)

    @cached_property
    def aside(self) -> list[SetAsidePart]:
        return list(SetAsidePart.objects.filter(opening=self.opening).select_related("by", "back_by"))

    @cached_property
    def still_aside(self) -> list[SetAsidePart]:
        return [part for part in self.aside if part.back_at is None]

    @cached_property
    def parts(self) -> list[tuple[SetAsidePart, str, ActForm | Elsewhere | None]]:
        shown = self.lists.first(self.aside, kinds=[PutBackForm], is_open=lambda part: part.back_at is None)
        return [(p, "" if p.back_at is None else f"{self.reader.moment(p.back_at)}, {p.back_by}",
                 self.row_form(PutBackForm, len(self.still_aside), part=p.pk) if p.back_at is None else None)
                for p in shown]

    @cached_property
    def finishing(self) -> Finishing | None:
        return finishing_of(self.facts, self.act.now, self.reader)

    @cached_property
    def set_aside(self) -> ActForm | None:
        return self.form(SetAsideForm)

    @cached_property
    def punch_items(self) -> list[ItemRow]:
        shown = self.lists.first(self.items, kinds=[ClosePunchForm], is_open=lambda item: item.closed_at is None)
        return [self._item_row(i) for i in shown]

    def _item_row(self, item: PunchItem) -> ItemRow:
        theirs = reach(self.act.role, ClosePunchForm.may) is Reach.THEIRS and item.owner_id != self.act.user.pk
        close = None if theirs or item.closed_at is not None else self.row_form(
            ClosePunchForm, len(self.open_items), item=item.pk, version=item.version)
        closed = "" if item.closed_at is None else _("Closed %(day)s: %(how)s") % {
            "day": self.reader.day(item.closed_at), "how": item.closed_how}
        overdue = item.closed_at is None and item.due_day < today_at(self.opening, self.act)
        return ItemRow(item, words.place(item.place), str(item.owner), self.reader.day(item.due_day), overdue, closed,
                       close)

    @cached_property
    def raise_item(self) -> ActForm | None:
        return self.form(PunchForm, due_day=self.ground.today + dt.timedelta(days=7), owner=self.act.user.pk)

    @cached_property
    def tape(self) -> Tape:
        sums = minutes("opening", ledgers(Opening.objects.filter(pk=self.opening.pk)), today_at(self.opening, self.act))
        total = sums.get(self.opening.pk, Sum3())
        return tape(total.earned, total.planned, total.used)

    @cached_property
    def report_hours(self) -> ActForm | None:
        return self.form(HoursForm, day=self.ground.today, work_step=next(
            (s.pk for s in self._work_steps if s.stage == self.gate.to_stage), None))

    @cached_property
    def photos(self) -> list[tuple[Photo, str]]:
        found = Photo.objects.filter(opening=self.opening).select_related("by", "correction")
        shown = found[self.lists.part(len(self.facts.photos), PHOTOS)] if self.lists.all else found[:PHOTOS]
        return [(p, f"{self.reader.moment(p.taken_at)}, {taken_by(p)}") for p in shown]

    @property
    def photos_in_all(self) -> int:
        few = not self.lists.all and len(self.photos) < PHOTOS
        return len(self.photos) if few else len(self.facts.photos)

    @cached_property
    def add_photo(self) -> ActForm | None:
        return self.form(PhotoForm, check_code="")

    # ---- parts and custody ------------------------------------------------------------------------------

    @cached_property
    def unit_parts(self) -> list[PartRow]:
        came: dict[int, list[PartArrival]] = {}
        if self.facts.parts:
            for arrival in PartArrival.objects.filter(part__in=self.facts.parts).select_related("by", "delivery"):
                came.setdefault(arrival.part_id, []).append(arrival)
        return [self._part_row(part, came.get(part.pk, ())) for part in self.facts.parts]

    def _part_row(self, part: Part, came: Sequence[PartArrival]) -> PartRow:
        wanted = self.reader.length(part.length) if part.length else str(part.wanted)
        if part.length and part.wanted > 1:
            wanted = f"{part.wanted} × {wanted}"
        return PartRow(part.name, wanted, part_state(part), bool(part.missing),
                       tuple(came_words(one, self.reader) for one in came),
                       delivery_words(part.delivery, self.reader),
                       self.row_form(PartCameForm, len(self.facts.parts), part=part.pk))

    @cached_property
    def stopped(self) -> list[str]:
        return stopped_words(self._work_steps, self.reader) if self.facts.parts else []

    @cached_property
    def list_parts(self) -> ActForm | None:
        unit = unit_of(self.opening)
        return None if unit is None else self.form(ListPartsForm, unit=unit.pk, version=unit.version)

    @cached_property
    def _custody(self) -> list[Custody]:
        return list(Custody.objects.filter(opening=self.opening).select_related("crew", "by"))[::-1]

    @cached_property
    def custody(self) -> list[CustodyRow]:
        """The latest first."""
        return [custody_row(one, self.reader) for one in self.lists.first(self._custody)]

    @cached_property
    def hand_over(self) -> ActForm | None:
        return self.form(HandOverForm)

    # ---- the wall that hides the panels -----------------------------------------------------------------

    @cached_property
    def wall(self) -> WallShown | None:
        """None where there is no such wall."""
        if self.opening.pocket_side == "none":
            return None
        found = WallAgreement.objects.filter(opening=self.opening).select_related("by", "photo")
        return WallShown.of(wall_figures(self.opening, self.facts.inspections), found, self.reader)

    @cached_property
    def countersign_wall(self) -> ActForm | None:
        known = self.wall is not None and self.wall.mark
        return self.form(WallForm, seen=self.wall.mark) if known else None

    # ---- history ----------------------------------------------------------------------------------------

    @cached_property
    def _feed(self) -> list[Change]:
        rows = Change.objects.filter(opening=self.opening).select_related("by").order_by("-position")
        if self.before is not None:
            rows = rows.filter(position__lt=self.before)
        return list(rows[: story.AT_ONCE + 1])

    @cached_property
    def history(self) -> list[story.Line]:
        titles = {check.code: check.title for check in self.facts.checks}
        return story.lines(reversed(self._feed[:story.AT_ONCE]), self.reader, titles)

    @cached_property
    def earlier_history(self) -> int | None:
        return self._feed[story.AT_ONCE - 1].position if len(self._feed) > story.AT_ONCE else None


def _one_wait_each(rows: Sequence[CheckRow]) -> list[CheckRow]:
    """Several checks may fail on one set of readings: it is waited for once."""
    seen: set[str] = set()
    kept = []
    for row in rows:
        again = row.wait is not None and row.wait.key in seen
        seen |= {row.wait.key} if row.wait is not None else set()
        kept.append(replace(row, wait=None) if again else row)
    return kept


def _read_once(rows: Sequence[CheckRow]) -> tuple[CheckRow, ...]:
    """Several checks are judged from one sheet: it is offered once, the others say with which."""
    first: dict[tuple[str, str, str], int] = {}
    told = []
    for row in rows:
        number = first.setdefault((row.sheet, row.place, row.said.inspection), row.number)
        told.append(replace(row, read_with=number) if row.sheet and number != row.number else row)
    return tuple(told)


def _cautioned_once(rows: Sequence[CheckRow]) -> tuple[CheckRow, ...]:
    """A caution stands at the first row that it is about: said three times over, nobody reads it."""
    said: set[str] = set()
    told = []
    for row in rows:
        caution = str(phrases.CHECK_CAUTIONS.get(row.said.code, ""))
        told.append(row if caution in said else replace(row, caution=caution))
        said.add(caution)
    return tuple(told)
