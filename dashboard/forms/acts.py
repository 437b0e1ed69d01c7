"""The forms by which somebody acts on an opening. Each knows which act it is, and hands it to the one that does it.

A form only reads what was typed; whether it may be done, and whether it can be right, is for the act to say.
"""

from __future__ import annotations

import datetime as dt
import re
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases, words
from dashboard.forms.plain import PlainForm
from inspections.models import Joint, PunchItem, Settlement
from inspections.services import (
    closing,
    custody,
    gates,
    inspecting,
    joints,
    panels,
    parts,
    photos,
    standing,
    waits,
    walls,
    work,
)
from jobs.acts import Act, carry_out
from jobs.errors import AlreadyHasOther, Invalid, SomeoneWasFaster
from jobs.models import Custody, Event, Opening, Party, User
from jobs.models.base import new_id
from jobs.stages import Stage
from units.models import Panel, Part
from units.services.panels import STEPS

Choices = Sequence[tuple[Any, str]]
MOST_HOURS = 480
NO_CHOICE = ("", "–")


@dataclass(frozen=True)
class Ground:
    """What the forms of one opening offer to choose from. A choice that is not offered is the act's to refuse."""

    opening: Opening
    panels: Sequence[Panel] = ()
    people: Sequence[User] = ()
    joints: Choices = ()
    conditions: Choices = ()
    steps: Choices = ()
    products: Choices = ()
    items: Sequence[PunchItem] = ()
    today: dt.date | None = None

    @property
    def panel_choices(self) -> Choices:
        return [NO_CHOICE, *((p.pk, p.letter) for p in self.panels)]


class ActForm(PlainForm):
    """`act` is what the table of roles calls it; `button` what one presses; `target` the field that says on what."""

    template = "dashboard/_form.html"
    name: ClassVar[str]
    may: ClassVar[str]
    button: ClassVar[Any]
    target: ClassVar[str] = ""
    can_be_kept: ClassVar[bool] = False  # done on site all the same: recorded, not advanced
    section: ClassVar[str] = ""  # of the opening's page: where one comes back to
    is_asked = False  # by a link in its row: it lies open
    was_late = False  # somebody else was faster

    entry = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, at: Ground, **kwargs: Any) -> None:
        self.at = at
        super().__init__(*args, **kwargs)
        self.auto_id = f"{self.key}-%s"
        self.offer()

    @classmethod
    def fresh(cls, at: Ground, **initial: Any) -> ActForm:
        """Unanswered, with the id its entry will have: pressed twice, it is one record."""
        return cls(at=at, initial={"entry": new_id(), **initial})

    @property
    def url(self) -> str:
        return reverse(f"opening-{self.name}", args=[self.at.opening.pk])

    @property
    def key(self) -> str:
        if not self.target:
            return self.name
        return self.key_of(self.data.get(self.target) if self.is_bound else self.initial.get(self.target))

    @classmethod
    def key_of(cls, value: Any) -> str:
        """Of the form that is about this."""
        return re.sub(r"[^A-Za-z0-9-]+", "-", f"{cls.name}-{value or ''}")

    @classmethod
    def first_field(cls) -> str:
        """Where one begins to type."""
        return next((name for name, field in cls.base_fields.items() if not field.widget.is_hidden), "entry")

    @property
    def sent(self) -> list[tuple[str, str]]:
        """What was sent, for a form that sends it again."""
        return [(name, value) for name, values in self.data.lists() for value in values
                if name not in ("csrfmiddlewaretoken", "done_on_site")]

    def offer(self) -> None:
        """Fills in what there is to choose from."""

    def choices(self, name: str, offered: Iterable[tuple[Any, Any]]) -> None:
        self.fields[name].widget.choices = list(offered)

    def from_today(self, name: str) -> None:
        """A slip of the year is seen while it is typed; what comes all the same is for the act to say."""
        if self.at.today is not None:
            self.fields[name].widget.attrs["min"] = self.at.today.isoformat()

    def carry_out(self, act: Act, opening: Opening) -> str:
        """Does it, and says in a few words that it is done."""
        raise NotImplementedError

    def take_refusal(self, why: Any) -> None:
        """Each field is told what would be right."""
        for name, right in why.fields.items():
            place = FIELD_NAMES.get(name, name)
            self.add_error(place if place in self.fields else None, right)
        if isinstance(why, AlreadyHasOther):
            # What was sent first stays; what is in the form now would be an entry of its own.
            self.data = self.data.copy()
            self.data["entry"] = str(new_id())
        self.was_late = isinstance(why, SomeoneWasFaster)

    def on_what_stands(self, fresh: ActForm) -> ActForm:
        """As it came back. Who was told that somebody was faster has read it again: sent once more, it counts."""
        if self.was_late and "version" in fresh.initial:
            self.data = self.data.copy()
            self.data["version"] = str(fresh.initial["version"])
        return self

    @property
    def typed(self) -> list[tuple[str, str]]:
        """What somebody wrote in their own words."""
        written = [(field.label, field.value()) for field in self.visible_fields()
                   if isinstance(field.field.widget, forms.TextInput | forms.Textarea)]
        return [(str(label), value) for label, value in written if isinstance(value, str) and value.strip()]

    @property
    def entry_id(self) -> uuid.UUID | None:
        return self.cleaned_data.get("entry")

    @property
    def is_kept(self) -> bool:
        return self.can_be_kept and self.data.get("done_on_site") == "1"


FIELD_NAMES = {"name": "who", "owner_id": "owner", "minutes": "hours", "standby_minutes": "standby_hours",
               "act": "what", "stage_change": "how", "owed_by": "owed_by_kind", "about_id": "photo", "data": "photo",
               "file": "photo"}


def line(label: Any, *, most: int = 240, required: bool = True, hint: Any = "") -> forms.CharField:
    return forms.CharField(label=label, max_length=most, required=required, help_text=hint)


def several_lines(label: Any, *, most: int = 2000, required: bool = True, hint: Any = "") -> forms.CharField:
    return forms.CharField(label=label, max_length=most, required=required, help_text=hint,
                           widget=forms.Textarea(attrs={"rows": 3}))


def choice(label: Any, offered: Iterable[tuple[Any, Any]] = (), *, required: bool = True) -> forms.CharField:
    return forms.CharField(label=label, required=required, max_length=80, widget=forms.Select(choices=list(offered)))


def number_choice(label: Any, *, required: bool = False) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=required, widget=forms.Select)


def day(label: Any, *, required: bool = True) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=widget)


def hidden(*, kind: type[forms.Field] = forms.CharField, required: bool = True) -> forms.Field:
    return kind(widget=forms.HiddenInput, required=required)


def number_of_hours(label: Any, *, required: bool = True) -> forms.DecimalField:
    return forms.DecimalField(label=label, required=required, min_value=0, max_value=MOST_HOURS, decimal_places=2,
                              widget=forms.TextInput(attrs={"inputmode": "decimal"}))


# ---- stages ----------------------------------------------------------------------------------------------


class AdvanceForm(ActForm):
    name, may, can_be_kept = "advance", "advance", True
    section = "gate"
    button = gettext_lazy("Done")
    to = hidden()

    def carry_out(self, act: Act, opening: Opening) -> str:
        change = gates.advance_opening(act, opening.pk, to=self.cleaned_data["to"], entry_id=self.entry_id,
                                       done_on_site=self.is_kept)
        if not change.advanced:
            return _("Kept, not advanced. The office settles it.")
        return _("%s. It stands.") % words.stage(change.to_stage)


class PassOverForm(ActForm):
    name, may = "pass-over", "pass over"
    section = "gate"
    button = gettext_lazy("Pass over")
    to = hidden()
    reason = several_lines(gettext_lazy("Why"), hint=gettext_lazy("It stays visible wherever the stage is shown."))

    def carry_out(self, act: Act, opening: Opening) -> str:
        change = gates.pass_over(act, opening.pk, self.cleaned_data["reason"], to=self.cleaned_data["to"],
                                 entry_id=self.entry_id)
        return _("Passed over: %s.") % words.stage(change.to_stage).lower()


class StepBackForm(ActForm):
    name, may = "step-back", "step back"
    section = "gate"
    button = gettext_lazy("Step back")
    to = choice(gettext_lazy("Back to"))
    reason = several_lines(gettext_lazy("What has to be done again"))

    def offer(self) -> None:
        earlier = list(Stage)[: list(Stage).index(Stage(self.at.opening.stage))]
        self.choices("to", [(s.value, words.stage(s.value)) for s in reversed(earlier)])

    def carry_out(self, act: Act, opening: Opening) -> str:
        change = gates.step_back(act, opening.pk, self.cleaned_data["to"], self.cleaned_data["reason"],
                                 entry_id=self.entry_id)
        return _("Back at %s.") % words.stage(change.to_stage).lower()


class ReleaseForm(ActForm):
    name, may, can_be_kept = "release", "release the hold point", True
    section = "pocket"
    button = gettext_lazy("Release: the pocket closes")

    def carry_out(self, act: Act, opening: Opening) -> str:
        released = gates.release_hold_point(act, opening.pk, entry_id=self.entry_id, done_on_site=self.is_kept)
        if not released.advanced:
            return _("Kept, not advanced. The office settles it.")
        return _("Released. The pocket may be closed.")


class AcceptForm(ActForm):
    name, may, can_be_kept = "accept", "accept", True
    section = "gate"
    button = gettext_lazy("Accepted")
    accepted_by = line(gettext_lazy("Accepted by"), most=160)
    how = line(gettext_lazy("How"), most=160, hint=gettext_lazy("signed on site, by letter"))
    subject_to = forms.MultipleChoiceField(label=gettext_lazy("Subject to"), required=False,
                                           widget=forms.CheckboxSelectMultiple)

    def offer(self) -> None:
        self.fields["subject_to"].choices = [(str(i.pk), f"{i.number}. {i.what}") for i in self.at.items]
        if not self.at.items:
            del self.fields["subject_to"]

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        change = gates.accept_opening(
            act, opening.pk, accepted_by=values["accepted_by"], how=values["how"], entry_id=self.entry_id,
            subject_to=[uuid.UUID(i) for i in values.get("subject_to", ())], done_on_site=self.is_kept)
        return _("Accepted.") if change.advanced else _("Kept, not advanced. The office settles it.")


class CountersignForm(ActForm):
    name, may, target = "countersign", "countersign", "countersignature"
    section = "stages"
    button = gettext_lazy("Put my name to it")
    template = "dashboard/_countersign_form.html"
    countersignature = hidden(kind=forms.IntegerField)
    version = hidden(kind=forms.IntegerField)
    reason = several_lines(gettext_lazy("Why"), required=False, hint=gettext_lazy("needed for a refusal"))

    def carry_out(self, act: Act, opening: Opening) -> str:
        give = self.data.get("give") == "yes"
        standing.countersign(act, self.cleaned_data["countersignature"], give=give,
                             reason=self.cleaned_data["reason"], version=self.cleaned_data["version"])
        return _("Countersigned.") if give else _("Refused. The opening went back.")


class SettleForm(ActForm):
    name, may, target = "settle", "settle", "record"
    section = "kept"
    button = gettext_lazy("Settle")
    record = hidden(kind=forms.UUIDField)
    of = hidden()
    how = choice(gettext_lazy("How it was dealt with"),
                 [(k, phrases.SETTLED[k]) for k, _label in Settlement.HOW])
    note = several_lines(gettext_lazy("Note"))

    def carry_out(self, act: Act, opening: Opening) -> str:
        about = {"panel": "panel_change_id", "pocket": "hold_point_id"}.get(self.cleaned_data["of"], "stage_change_id")
        standing.settle(act, how=self.cleaned_data["how"], note=self.cleaned_data["note"],
                        **{about: self.cleaned_data["record"]})
        return _("Settled.")


# ---- panels ----------------------------------------------------------------------------------------------


class PanelForm(ActForm):
    """One step of one panel; the natural next one is a button by itself (`QuickPanelForm`)."""

    name, may, target, can_be_kept = "panel", "handle a panel", "panel", True
    section = "panels"
    button = gettext_lazy("Record it")
    panel = hidden(kind=forms.IntegerField)
    what = choice(gettext_lazy("What was done"))
    reason = line(gettext_lazy("Reason"), required=False, most=400,
                  hint=gettext_lazy("needed when it comes out or is damaged"))

    def offer(self) -> None:
        self.choices("what", [(k, phrases.PANEL_ACTS[k]) for k in STEPS])

    def carry_out(self, act: Act, opening: Opening) -> str:
        change = panels.handle_panel(
            act, _panel(opening, self.cleaned_data["panel"]), self.cleaned_data["what"],
            reason=self.cleaned_data.get("reason") or "", entry_id=self.entry_id, done_on_site=self.is_kept)
        if not change.advanced:
            return _("Kept, not advanced. The office settles it.")
        return _("Panel %(letter)s: %(what)s.") % {
            "letter": change.panel.letter, "what": str(phrases.PANEL_ACTS[change.act]).lower()}


class QuickPanelForm(PanelForm):
    name, template = "panel-next", "dashboard/_button_form.html"
    section = "panels"
    what = hidden()

    def offer(self) -> None:
        del self.fields["reason"]


def _panel(opening: Opening, panel_id: int) -> int:
    """A panel of this opening: the permission that was asked for is for this opening only."""
    if not Panel.objects.filter(pk=panel_id, unit__opening=opening).exists():
        raise Invalid(_("There is no such panel in this opening."))
    return panel_id


# ---- evidence --------------------------------------------------------------------------------------------


class ConfirmForm(ActForm):
    """Somebody looked, and says what they saw; a photo goes with it."""

    name, may, target = "confirm", "record readings", "spot"
    section = "gate"
    button = gettext_lazy("Record it")
    template = "dashboard/_confirm_form.html"
    spot = hidden()  # check and place
    answer = choice(gettext_lazy("What you saw"))
    looked_at = several_lines(gettext_lazy("What you looked at"), most=400, required=False)
    stands_at = line(gettext_lazy("Where that stands"), most=200, required=False,
                     hint=gettext_lazy("the maker's page, or what the evidence is"))
    photo = forms.FileField(label=gettext_lazy("Photo"), required=False,
                            widget=forms.ClearableFileInput(attrs={"accept": "image/*"}))

    def ask_for(self, answers: Sequence[str], *, photo: bool) -> None:
        """What this check may be answered with; where it stands is asked only where it can stand somewhere."""
        self.choices("answer", [(k, phrases.ANSWERS[k]) for k in answers])
        if not photo:
            self.fields.pop("photo", None)
        if not {"maker-forbids", "other-evidence"} & set(answers):
            self.fields.pop("stands_at", None)

    def carry_out(self, act: Act, opening: Opening) -> str:
        code, _sep, place = self.cleaned_data["spot"].partition(":")
        picture: UploadedFile | None = self.cleaned_data.get("photo")
        with carry_out(act):  # a photo that cannot be read takes its answer back with it
            made = inspecting.confirm(
                act, opening.pk, code, self.cleaned_data["answer"], looked_at=self.cleaned_data["looked_at"],
                stands_at=self.cleaned_data["stands_at"], place=place[:20], entry_id=self.entry_id)
            if picture is not None:
                photos.store_photo(act, opening.pk, picture.read(), about="confirmation", about_id=str(made.pk),
                                   check_code=code, entry_id=after(self.entry_id))
        return _("Recorded.")


class PhotoForm(ActForm):
    name, may, target = "photo", "add photos", "check_code"
    section = "photos"
    button = gettext_lazy("Add the photo")
    check_code = hidden(required=False)
    caption = line(gettext_lazy("What it shows"), required=False)
    photo = forms.FileField(label=gettext_lazy("Photo"), widget=forms.ClearableFileInput(attrs={"accept": "image/*"}))

    def carry_out(self, act: Act, opening: Opening) -> str:
        photos.store_photo(act, opening.pk, self.cleaned_data["photo"].read(),
                           check_code=self.cleaned_data["check_code"], caption=self.cleaned_data["caption"],
                           entry_id=self.entry_id)
        return _("Photo added.")


def after(entry: uuid.UUID | None) -> uuid.UUID | None:
    """The id of what comes with an entry: the same every time the entry is sent."""
    return None if entry is None else uuid.uuid5(entry, "photo")


class JointForm(ActForm):
    name, may, target = "joint", "do a joint", "about"
    section = "joints"
    button = gettext_lazy("Record the joint")
    about = hidden(required=False)  # the joint it was offered for: there are several of these forms on a page
    joint = choice(gettext_lazy("Joint"))
    done = choice(gettext_lazy("How it is"), [("yes", gettext_lazy("As it must be: sealed, or left open")),
                                              ("no", gettext_lazy("Not as it must be"))])
    product = choice(gettext_lazy("Product"), required=False)
    conditions = choice(gettext_lazy("Conditions"), required=False)
    note = line(gettext_lazy("Note"), required=False)

    def offer(self) -> None:
        self.choices("joint", self.at.joints)
        self.choices("product", [NO_CHOICE, *self.at.products])
        self.choices("conditions", [NO_CHOICE, *self.at.conditions])

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        rule, place, side = (*values["joint"].split(":"), "", "")[:3]
        if rule not in dict(Joint.RULES):
            raise Invalid(_("Say which joint."), fields={"joint": _("one of those offered")})
        joints.do_joint(act, opening.pk, place=place[:60], side=side[:20], rule=rule, product=values["product"],
                        conditions_id=_uuid(values["conditions"], "conditions"), done=values["done"] == "yes",
                        note=values["note"], entry_id=self.entry_id)
        return _("Joint recorded.")


def _uuid(text: str, name: str) -> uuid.UUID | None:
    if not text:
        return None
    try:
        return uuid.UUID(text)
    except ValueError as why:
        raise Invalid(_("There is no such record."), fields={name: _("one of those offered")}) from why


# ---- waits, events, parts, items, hours ------------------------------------------------------------------


class WaitForm(ActForm):
    name, may, target = "wait", "raise a wait", "about"
    section = "waits"
    button = gettext_lazy("Raise the wait")
    what_for = line(gettext_lazy("What for"))
    owed_by_kind = choice(gettext_lazy("Who owes it"), [(k, phrases.PARTIES[k]) for k, _label in Party.KINDS])
    expected_day = day(gettext_lazy("Expected"), required=False)
    inspection = hidden(kind=forms.UUIDField, required=False)
    about = hidden(required=False)  # what it is raised from: there are several of these forms on a page

    def offer(self) -> None:
        self.from_today("expected_day")

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        waits.raise_wait(act, opening.pk, what_for=values["what_for"], owed_by_kind=values["owed_by_kind"],
                         expected_day=values["expected_day"], inspection_id=values["inspection"],
                         entry_id=self.entry_id)
        return _("Waiting since now. The opening does not advance until it is cleared.")


class ClearWaitForm(ActForm):
    name, may, target = "clear-wait", "clear a wait", "wait"
    section = "waits"
    button = gettext_lazy("Clear it")
    wait = hidden(kind=forms.UUIDField)
    version = hidden(kind=forms.IntegerField)
    how = line(gettext_lazy("How it was cleared"))
    standby_hours = number_of_hours(gettext_lazy("Hours the crew stood by"), required=False)

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        _of_opening(opening, "waits", values["wait"])
        waits.clear_wait(act, values["wait"], how=values["how"], version=values["version"],
                         standby_minutes=round((values["standby_hours"] or 0) * 60))
        return _("Cleared.")


class EventForm(ActForm):
    name, may = "event", "note an event"
    section = "events"
    button = gettext_lazy("Note it")
    kind = choice(gettext_lazy("What happened"), [(k, phrases.EVENTS[k]) for k, _label in Event.KINDS])
    note = line(gettext_lazy("Note"), required=False)

    def carry_out(self, act: Act, opening: Opening) -> str:
        work.note_event(act, opening.pk, self.cleaned_data["kind"], note=self.cleaned_data["note"],
                        entry_id=self.entry_id)
        return _("Noted. What was read before it is to be read again.")


class SetAsideForm(ActForm):
    name, may = "set-aside", "set a part aside"
    section = "parts"
    button = gettext_lazy("Set aside")
    what = line(gettext_lazy("Part"), most=160, hint=gettext_lazy("track cover, head block, screw plugs"))
    where_kept = line(gettext_lazy("Where it is kept"), most=160, required=False)

    def carry_out(self, act: Act, opening: Opening) -> str:
        closing.set_part_aside(act, opening.pk, what=self.cleaned_data["what"],
                               where_kept=self.cleaned_data["where_kept"], entry_id=self.entry_id)
        return _("Listed: it must go back.")


class PutBackForm(ActForm):
    name, may, target = "put-back", "set a part aside", "part"
    section = "parts"
    button = gettext_lazy("Back in place")
    part = hidden(kind=forms.UUIDField)
    note = line(gettext_lazy("Note"), most=160, required=False)

    def carry_out(self, act: Act, opening: Opening) -> str:
        _of_opening(opening, "set_aside_parts", self.cleaned_data["part"])
        closing.put_part_back(act, self.cleaned_data["part"], note=self.cleaned_data["note"])
        return _("Back in place.")


class PunchForm(ActForm):
    name, may = "punch", "raise a punch item"
    section = "items"
    button = gettext_lazy("Raise the item")
    what = line(gettext_lazy("What is left to put right"))
    owner = number_choice(gettext_lazy("Whose"), required=True)
    due_day = day(gettext_lazy("By when"))
    panel = number_choice(gettext_lazy("Panel"))
    place = line(gettext_lazy("Where"), most=60, required=False)
    cause = choice(gettext_lazy("Caused by"), [(k, phrases.CAUSES[k]) for k, _label in PunchItem.CAUSES],
                   required=False)

    def offer(self) -> None:
        self.choices("owner", [(p.pk, p.name) for p in self.at.people])
        self.choices("panel", self.at.panel_choices)
        self.from_today("due_day")

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        item = closing.raise_punch_item(
            act, opening.pk, what=values["what"], owner_id=values["owner"], due_day=values["due_day"],
            panel_id=values["panel"], place=values["place"], cause=values["cause"], entry_id=self.entry_id)
        return _("Raised as no. %d.") % item.number


class ClosePunchForm(ActForm):
    name, may, target = "close-item", "close a punch item", "item"
    section = "items"
    button = gettext_lazy("Close it")
    item = hidden(kind=forms.UUIDField)
    version = hidden(kind=forms.IntegerField)
    how = line(gettext_lazy("How it was put right"))

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        _of_opening(opening, "punch_items", values["item"])
        item = closing.close_punch_item(act, values["item"], how=values["how"], version=values["version"])
        return _("No. %d is closed.") % item.number


class HoursForm(ActForm):
    name, may = "hours", "report hours"
    section = "hours"
    button = gettext_lazy("Report")
    work_step = number_choice(gettext_lazy("Work"), required=True)
    day = day(gettext_lazy("Day"))
    hours = number_of_hours(gettext_lazy("Person-hours"))
    note = line(gettext_lazy("Note"), required=False)

    def offer(self) -> None:
        self.choices("work_step", self.at.steps)

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        _of_opening(opening, "work_steps", values["work_step"])
        work.report_hours(act, values["work_step"], day=values["day"], minutes=round(values["hours"] * 60),
                          note=values["note"], entry_id=self.entry_id)
        return _("Hours reported.")


# ---- parts and custody ----------------------------------------------------------------------------------


def number_of(label: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, min_value=0, max_value=parts.MOST,
                              widget=forms.TextInput(attrs={"inputmode": "numeric"}))


class ListPartsForm(ActForm):
    name, may = "list-parts", "keep office records"
    section = "material"
    template = "dashboard/_button_form.html"
    button = gettext_lazy("List the parts from the unit")
    unit = hidden(kind=forms.IntegerField)
    version = hidden(kind=forms.IntegerField)

    def carry_out(self, act: Act, opening: Opening) -> str:
        unit = getattr(opening, "unit", None)
        if unit is None or unit.pk != self.cleaned_data["unit"]:
            raise Invalid(_("This opening has no such unit."))
        parts.make_parts(act, unit.pk, version=self.cleaned_data["version"])
        return _("Parts listed.")


class PartCameForm(ActForm):
    name, may, target = "part-came", "receive a delivery", "part"
    section = "material"
    button = gettext_lazy("Record what came")
    part = hidden(kind=forms.IntegerField)
    whole = number_of(gettext_lazy("Came whole"))
    short = number_of(gettext_lazy("Short"))
    damaged = number_of(gettext_lazy("Damaged"))
    more_came = forms.BooleanField(label=gettext_lazy("More came than is lacking"), required=False)
    note = line(gettext_lazy("Note"), required=False)

    def offer(self) -> None:
        if not self.is_bound:  # asked where it is needed
            del self.fields["more_came"]

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        if not Part.objects.filter(pk=values["part"], unit__opening=opening).exists():
            raise Invalid(_("There is no such part in this opening."))
        arrival = parts.note_part_came(
            act, values["part"], whole=values["whole"] or 0, short=values["short"] or 0,
            damaged=values["damaged"] or 0, note=values["note"], more_came=values["more_came"],
            entry_id=self.entry_id)
        return _("%s: recorded.") % arrival.part.name


class HandOverForm(ActForm):
    name, may = "hand-over", "hand over an opening"
    section = "custody"
    button = gettext_lazy("Hand it over")
    holder = choice(gettext_lazy("Who has it now"), [(k, phrases.HOLDERS[k]) for k, _label in Custody.HOLDERS])
    who = line(gettext_lazy("Name, trade"), most=160, required=False)
    condition = several_lines(gettext_lazy("In what condition"), most=400)

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        custody.hand_over(act, opening.pk, holder=values["holder"], who=values["who"], condition=values["condition"],
                          entry_id=self.entry_id)
        if values["holder"] == custody.OTHER_TRADES:
            return _("Handed over. What was read before it is to be read again.")
        return _("Handed over.")


class WallForm(ActForm):
    """Somebody of the builder's side saw the figures that stood beside the form."""

    name, may = "wall", walls.MAY
    section = "wall"
    button = gettext_lazy("They saw it")
    seen = hidden(required=False)
    who = line(gettext_lazy("Who saw it"), most=160)
    trade = line(gettext_lazy("Of which trade"), most=160, hint=gettext_lazy("the builder, drywall, joinery"))
    photo = forms.FileField(label=gettext_lazy("Photo of the signed sheet"), required=False,
                            widget=forms.ClearableFileInput(attrs={"accept": "image/*"}))

    def carry_out(self, act: Act, opening: Opening) -> str:
        values, picture = self.cleaned_data, self.cleaned_data.get("photo")
        with carry_out(act):  # a photo that cannot be read takes the signature back with it
            kept = None if picture is None else photos.store_photo(
                act, opening.pk, picture.read(), caption=_("Wall sheet, signed"), entry_id=after(self.entry_id))
            walls.countersign_wall(act, opening.pk, name=values["who"], trade=values["trade"], seen=values["seen"],
                                   photo_id=None if kept is None else kept.pk, entry_id=self.entry_id)
        return _("Countersigned.")


def _of_opening(opening: Opening, name: str, key: Any) -> None:
    if not getattr(opening, name).filter(pk=key).exists():
        raise Invalid(_("This opening has no such record."))


FORMS: dict[str, type[ActForm]] = {form.name: form for form in (
    AdvanceForm, PassOverForm, StepBackForm, ReleaseForm, AcceptForm, CountersignForm, SettleForm, PanelForm,
    QuickPanelForm, ConfirmForm, PhotoForm, JointForm, WaitForm, ClearWaitForm, EventForm, SetAsideForm, PutBackForm,
    PunchForm, ClosePunchForm, HoursForm, ListPartsForm, PartCameForm, HandOverForm, WallForm)}
