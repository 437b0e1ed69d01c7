"""The forms by which the office gives work to a crew, changes it, takes it back, and notes who was told.

Days are typed step by step; what goes along goes with the steps that lift. Each form reads what was typed; what may
be and what stands against it is for the act to say. Refused, all that was typed stays.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import words
from dashboard.forms.acts import choice, day, hidden, line, number_of_hours
from dashboard.forms.plain import PlainForm
from dashboard.measures import Reader, typed_hours
from dashboard.planning.weeks import day_span
from jobs.acts import Act
from jobs.errors import NotThere, SomeoneWasFaster
from jobs.models import Assignment, Crew, Equipment, Opening, WorkStep
from jobs.services.giving import Lot, give, mark_of
from jobs.services.planning import change_assignment, take_back, tell

PENCILLED, INKED = "pencilled", "inked"
FIELDS = {"crew_id": "crew", "planned_minutes": "hours", "work_step": None}
ONCE = dt.timedelta(minutes=2)  # told again so soon it is the same press of the button


class PlanForm(PlainForm):
    """`do` says which act it is."""

    do: ClassVar[str]
    button: ClassVar[Any]

    def take_refusal(self, why: Any) -> None:
        for name, right in why.fields.items():
            place = FIELDS.get(name, name)
            self.add_error(place if place in self.fields else None, right)

    def put(self, name: str, value: Any) -> None:
        """What the page knows now, where what was sent is of yesterday."""
        if self.is_bound:
            self.data = self.data.copy()
            self.data[name] = str(value)


def firmness() -> forms.ChoiceField:
    return forms.ChoiceField(
        label=gettext_lazy("How firm"), initial=PENCILLED, widget=forms.RadioSelect,
        choices=[(PENCILLED, gettext_lazy("pencilled: it may still move")), (INKED, gettext_lazy("inked: it stands"))])


def knowing() -> forms.BooleanField:
    return forms.BooleanField(label=gettext_lazy("Ink it all the same: what stands against it is known"),
                              required=False)


def along(label: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(label=label, required=False, widget=forms.CheckboxSelectMultiple)


class GiveForm(PlanForm):
    """Each chosen step with its first and last day."""

    do, button = "give", gettext_lazy("Give it")
    stood = hidden(required=False)
    crew = choice(gettext_lazy("Crew"))

    def __init__(self, *args: Any, steps: Sequence[WorkStep], crews: Iterable[Crew], equipment: Sequence[Equipment],
                 given: Iterable[Assignment], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "give-%s"
        self.steps = steps
        self.mark = mark_of(one for one in given if one.work_step_id in {step.pk for step in steps})
        self.fields["crew"].widget.choices = [(crew.pk, crew.name) for crew in crews]
        self.initial.setdefault("stood", self.mark)
        for step in steps:
            said = words.stage(step.stage)
            self.fields[f"start_{step.pk}"] = day(_("%s: first day") % said)
            self.fields[f"end_{step.pk}"] = day(_("%s: last day") % said)
            self.fields[f"hours_{step.pk}"] = number_of_hours(_("%(step)s: hours, if not %(planned)s") % {
                "step": said, "planned": typed_hours(step.planned_minutes)}, required=False)
        self._offer_equipment(equipment)
        self.fields["firmness"], self.fields["knowing"] = firmness(), knowing()

    def _offer_equipment(self, equipment: Sequence[Equipment]) -> None:
        lifting = ", ".join(words.stage(step.stage).lower() for step in self.with_equipment)
        self.fields["equipment"] = along(_("What goes along: %s") % lifting)
        self.fields["equipment"].choices = [(str(one.pk), one.name) for one in equipment]
        if not equipment:
            del self.fields["equipment"]

    @classmethod
    def taken(cls, sent: QueryDict, steps: Sequence[WorkStep]) -> QueryDict:
        """What the button of a week sends, as the form by hand sends it: who, which days, what goes along."""
        crew, days, gear, firm = (sent.get("taken", "").split(";") + [""] * 4)[:4]
        filled = sent.copy()
        filled["crew"], filled["firmness"] = crew, firm
        filled.setlist("equipment", [pk for pk in gear.split(",") if pk])
        for step, part in zip(steps, days.split(","), strict=False):
            filled[f"start_{step.pk}"], _, filled[f"end_{step.pk}"] = part.partition("/")
        return filled

    @property
    def with_equipment(self) -> list[WorkStep]:
        """The steps that lift or bring panels in; where none does, all of them."""
        return [step for step in self.steps if step.lifting_grams is not None or step.to_bring_in] or list(self.steps)

    def clean(self) -> dict[str, Any]:
        values = super().clean()
        for step in self.steps:
            start, end = values.get(f"start_{step.pk}"), values.get(f"end_{step.pk}")
            if start and end and end < start:
                self.add_error(f"end_{step.pk}", _("the first day or later"))
        return values

    def carry_out(self, act: Act, opening: Opening, reader: Reader) -> str:
        values = self.cleaned_data
        gear = tuple(int(pk) for pk in values.get("equipment", ()))
        lots = [Lot(step.pk, values[f"start_{step.pk}"], values[f"end_{step.pk}"],
                    _minutes(values[f"hours_{step.pk}"]), gear if step in self.with_equipment else ())
                for step in self.steps]
        made = give(act, opening.pk, lots, crew_id=_number(values["crew"]), stood=values["stood"],
                    firmness=values["firmness"], knowing=values["knowing"])
        first, last = min(one.start_day for one in made), max(one.end_day for one in made)
        return _said(values["firmness"], made[0].crew, first, last, reader)


class OfAssignment(PlanForm):
    """Of work that is given: which, and as of which version it was read."""

    assignment = hidden(kind=forms.IntegerField)
    version = hidden(kind=forms.IntegerField)

    def __init__(self, *args: Any, of: Assignment | None, **kwargs: Any) -> None:
        self.of = of
        super().__init__(*args, **kwargs)
        if of is not None:
            self.auto_id = f"{self.do}-{of.pk}-%s"
            self.initial = {"assignment": of.pk, "version": of.version, **self.initial}

    @property
    def pk(self) -> int:
        return self.cleaned_data["assignment"]

    @property
    def version_read(self) -> int:
        return self.cleaned_data["version"]

    def typed(self, reader: Reader) -> Iterable[str]:
        """What was typed, for somebody whom it is handed back to."""
        return ()


class ChangeForm(OfAssignment):
    do, button = "change", gettext_lazy("Change it")
    crew = choice(gettext_lazy("Crew"))
    start_day = day(gettext_lazy("First day"))
    end_day = day(gettext_lazy("Last day"))
    hours = number_of_hours(gettext_lazy("Hours"))

    def __init__(self, *args: Any, crews: Iterable[Crew] = (), equipment: Sequence[Equipment] = (),
                 **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [(crew.pk, crew.name) for crew in crews]
        if self.of is not None and self.of.crew_id not in dict(offered):
            offered.append((self.of.crew_id, self.of.crew.name))
        self.fields["crew"].widget.choices = offered
        self.fields["equipment"] = along(gettext_lazy("What goes along"))
        self.fields["equipment"].choices = [(str(one.pk), one.name) for one in equipment]
        if not equipment:
            del self.fields["equipment"]
        self.fields["firmness"], self.fields["knowing"] = firmness(), knowing()
        if self.of is not None:
            self.initial = {**stands_as(self.of), **self.initial}

    def carry_out(self, act: Act, opening: Opening, reader: Reader) -> str:
        values = self.cleaned_data
        asked = {"crew_id": _number(values["crew"]), "start_day": values["start_day"], "end_day": values["end_day"],
                 "planned_minutes": round(values["hours"] * 60), "firmness": values["firmness"]}
        if "equipment" in values:
            asked["equipment"] = sorted(int(pk) for pk in values["equipment"])
        try:
            changed = change_assignment(act, self.pk, asked, version=self.version_read, knowing=values["knowing"])
        except SomeoneWasFaster:
            changed = self._had(asked)
            if changed is None:
                raise
        return _said(changed.firmness, changed.crew, changed.start_day, changed.end_day, reader)

    def typed(self, reader: Reader) -> Iterable[str]:
        values = self.cleaned_data
        yield _("Typed: %(crew)s, %(days)s, %(hours)s hours.") % {
            "crew": dict(self.fields["crew"].widget.choices).get(_number(values["crew"]), values["crew"]),
            "days": day_span(values["start_day"], values["end_day"], reader), "hours": values["hours"]}

    def _had(self, asked: Mapping[str, Any]) -> Assignment | None:
        """Sent twice: the version after the one that was read stands as this form asks."""
        found = Assignment.objects.select_related("crew").filter(pk=self.pk, version=self.version_read + 1).first()
        if found is None or any(getattr(found, name) != value for name, value in asked.items() if name != "equipment"):
            return None
        gear = sorted(found.equipment.values_list("pk", flat=True))
        return found if asked.get("equipment", gear) == gear else None


class TellForm(OfAssignment):
    do, button = "tell", gettext_lazy("Note that they were told")
    whom = line(gettext_lazy("Who was told"), most=160)

    def carry_out(self, act: Act, opening: Opening, reader: Reader) -> str:
        whom = self.cleaned_data["whom"]
        try:
            tell(act, self.pk, whom=whom, version=self.version_read)
        except SomeoneWasFaster:
            had = Assignment.objects.filter(pk=self.pk, version=self.version_read + 1, told_whom=whom.strip(),
                                            told_by=act.user, told_at__gte=act.now - ONCE)
            if not had.exists():
                raise
        return _("Noted: %s was told.") % whom

    def typed(self, reader: Reader) -> Iterable[str]:
        yield _("Typed: %s was told.") % self.cleaned_data["whom"]


class TakeBackForm(OfAssignment):
    do, button = "take-back", gettext_lazy("Take it back")

    def carry_out(self, act: Act, opening: Opening, reader: Reader) -> str:
        with suppress(NotThere):  # taken back already: that is what was asked for
            take_back(act, self.pk, version=self.version_read)
        return _("Taken back.")


OF_ASSIGNMENT: dict[str, type[OfAssignment]] = {form.do: form for form in (ChangeForm, TellForm, TakeBackForm)}


def stands_as(one: Assignment) -> dict[str, Any]:
    """What a form is filled in with, so that it changes nothing but what is changed in it."""
    return {"crew": one.crew_id, "start_day": one.start_day, "end_day": one.end_day,
            "hours": typed_hours(one.planned_minutes), "firmness": one.firmness,
            "equipment": [str(piece.pk) for piece in one.equipment.all()]}


def _said(firm: str, crew: Crew, first: dt.date, last: dt.date, reader: Reader) -> str:
    said = _("Inked: %(crew)s, %(days)s.") if firm == INKED else _("Pencilled: %(crew)s, %(days)s.")
    return said % {"crew": crew.name, "days": day_span(first, last, reader)}


def _minutes(typed: Decimal | None) -> int | None:
    return None if typed is None else round(typed * 60)


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 19 else 0
