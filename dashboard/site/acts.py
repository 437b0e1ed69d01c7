"""What a person may do on site, told to a telephone as entries it can make by itself: the forms of the pages, field by
field, with the name that each has in what `site-entries` takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django import forms

from dashboard.forms import acts
from dashboard.forms.acts import ActForm

# How a value is turned from what was typed into what is sent.
TEXT, WHOLE, YES, MINUTES, SEVERAL = "text", "whole", "yes", "minutes", "several"


@dataclass(frozen=True, slots=True)
class AsEntry:
    """`sent`: the fields of the form by the names they have in the entry's data, and how each is sent. `about`: the
    form's field that names what it is about; none where that is the opening."""

    entry: str
    sent: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    about: tuple[str, str] | None = None


def _same(*names: str, how: str = TEXT) -> dict[str, tuple[str, str]]:
    return {name: (name, how) for name in names}


ENTRIES: dict[type[ActForm], AsEntry] = {
    acts.AdvanceForm: AsEntry("stage-change", _same("to")),
    acts.StepBackForm: AsEntry("step-back", _same("to", "reason")),
    acts.ReleaseForm: AsEntry("hold-point"),
    acts.AcceptForm: AsEntry("acceptance", {**_same("accepted_by", "how"), **_same("subject_to", how=SEVERAL)}),
    acts.PanelForm: AsEntry("panel-change", _same("what", "reason"), ("panel", "panel")),
    acts.QuickPanelForm: AsEntry("panel-change", _same("what"), ("panel", "panel")),
    acts.ConfirmForm: AsEntry("confirmation", _same("answer", "looked_at", "stands_at")),
    acts.JointForm: AsEntry("joint", {**_same("product", "note"), "done": ("done", YES),
                                      "conditions": ("conditions_id", TEXT)}),
    acts.WaitForm: AsEntry("wait", {**_same("what_for", "owed_by_kind", "expected_day"),
                                    "inspection": ("inspection_id", TEXT)}),
    acts.ClearWaitForm: AsEntry("wait-cleared", {**_same("how"), "standby_hours": ("standby_minutes", MINUTES)},
                                ("wait", "wait")),
    acts.EventForm: AsEntry("event", _same("kind", "note")),
    acts.SetAsideForm: AsEntry("part-set-aside", _same("what", "where_kept")),
    acts.PutBackForm: AsEntry("part-put-back", _same("note"), ("part", "part")),
    acts.PunchForm: AsEntry("punch-item", {**_same("what", "due_day", "place", "cause"), "owner": ("owner_id", WHOLE),
                                           "panel": ("panel_id", WHOLE)}),
    acts.ClosePunchForm: AsEntry("punch-item-closed", _same("how"), ("item", "punch_item")),
    acts.HoursForm: AsEntry("time-report", {**_same("day", "note"), "hours": ("minutes", MINUTES)},
                            ("work_step", "work_step")),
    acts.PartCameForm: AsEntry("part-came", {**_same("note"), **_same("whole", "short", "damaged", how=WHOLE)},
                               ("part", "unit_part")),
    acts.HandOverForm: AsEntry("custody", _same("holder", "who", "condition")),
    acts.WallForm: AsEntry("wall-agreement", {**_same("seen", "trade"), "who": ("name", TEXT)}),
}
NUMBERED = ("panel", "unit_part", "work_step")  # what is named by a whole number


def act_told(form: ActForm | None, **fixed: Any) -> dict[str, Any] | None:
    """The act as an entry to be filled in; `fixed`: of its data what is known already. None where nobody may do it."""
    if form is None:
        return None
    how = ENTRIES[type(form)]
    told: dict[str, Any] = {"entry": how.entry, "button": str(form.button), "data": dict(fixed), "fields": []}
    for name, bound in form.fields.items():
        sent_as = how.sent.get(name)
        value = form.get_initial_for_field(bound, name)
        if how.about is not None and name == how.about[0] and _is_hidden(bound):
            told["about"] = [how.about[1], _number(value) if how.about[1] in NUMBERED else str(value)]
        elif how.about is not None and name == how.about[0]:
            told["fields"].append({**_field(name, bound, value, WHOLE), "about": how.about[1]})
        elif sent_as is None or sent_as[0] in fixed:
            continue
        elif _is_hidden(bound):
            if value not in (None, ""):
                told["data"][sent_as[0]] = str(value)
        else:
            told["fields"].append(_field(sent_as[0], bound, value, sent_as[1]))
    if "photo" in form.fields:
        told["photo"] = str(form.fields["photo"].label)
    return told


def _is_hidden(bound: forms.Field) -> bool:
    return isinstance(bound.widget, forms.HiddenInput)


def _number(value: Any) -> int | None:
    return None if value in (None, "") else int(value)


def _field(name: str, bound: forms.Field, value: Any, sent_as: str) -> dict[str, Any]:
    told: dict[str, Any] = {"name": name, "label": str(bound.label), "how": _how(bound), "as": sent_as}
    if bound.required:
        told["needed"] = True
    if bound.help_text:
        told["hint"] = str(bound.help_text)
    if getattr(bound, "max_length", None):
        told["most"] = bound.max_length
    choices = getattr(bound, "choices", None) or getattr(bound.widget, "choices", None)
    if choices:
        told["choices"] = [[str(key), str(said)] for key, said in choices]
    if value not in (None, ""):
        told["value"] = value.isoformat() if hasattr(value, "isoformat") else str(value)
    return told


def _how(bound: forms.Field) -> str:
    widget = bound.widget
    for kinds, how in (((forms.CheckboxSelectMultiple,), "ticks"), ((forms.Select,), "choice"),
                       ((forms.Textarea,), "lines"), ((forms.DateInput,), "day")):
        if isinstance(widget, kinds):
            return how
    return "number" if isinstance(bound, forms.DecimalField | forms.IntegerField) else "line"
