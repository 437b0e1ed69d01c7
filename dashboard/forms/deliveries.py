"""What the office says of a delivery: what it is, from whom, when it comes, and which parts of which openings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases
from dashboard.forms.acts import NO_CHOICE, day, hidden, line, number_choice
from dashboard.forms.plain import PlainForm
from dashboard.opening.material import part_state
from jobs.models import Delivery, Job, Opening, Party
from jobs.models.base import new_id
from units.models import Part

OF_ONE_KIND = (("frame", ("sill", "head", "lock-jamb", "interlock")), ("panels", ("panel",)), ("covers", ("cover",)),
               ("cartridges", ("cartridge",)), ("others", ("other",)))
KINDS_OF = dict(OF_ONE_KIND)


@dataclass(frozen=True, slots=True)
class PartLine:
    pk: int
    name: str
    said: str  # here, short, or which other delivery brings it
    ticked: bool
    was: bool


class DeliveryForm(PlainForm):
    """`offered`: the parts that are shown to be ticked one by one; of others nothing is said."""

    what = line(gettext_lazy("What it is"), hint=gettext_lazy("sill, head and jambs; panels; track covers"))
    supplier = number_choice(gettext_lazy("From"))
    expected_day = day(gettext_lazy("Expected"), required=False)
    openings = forms.TypedMultipleChoiceField(label=gettext_lazy("For which openings"), coerce=int, required=False,
                                              widget=forms.CheckboxSelectMultiple)
    kinds = forms.MultipleChoiceField(
        label=gettext_lazy("Put on it"), required=False, widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("of the openings ticked, all such parts that no delivery brings yet"))
    version = hidden(kind=forms.IntegerField, required=False)
    entry = hidden(required=False)

    def __init__(self, *args: Any, job: Job, today: dt.date, offered: Sequence[Part] = (),
                 delivery: Delivery | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.job, self.offered, self.delivery = job, offered, delivery
        self.fields["openings"].choices = [(o.pk, str(o.tag) + (f", {o.location}" if o.location else ""))
                                           for o in Opening.objects.filter(job=job).order_by("tag")]
        self.fields["kinds"].choices = [(name, phrases.PARTS_TOGETHER[name]) for name, _kinds in OF_ONE_KIND]
        self.fields["supplier"].widget.choices = [NO_CHOICE, *_suppliers(delivery)]
        if delivery is None or delivery.expected_day is None or delivery.expected_day >= today:
            self.fields["expected_day"].widget.attrs["min"] = today.isoformat()

    @classmethod
    def fresh(cls, delivery: Delivery | None, **more: Any) -> DeliveryForm:
        shown = {"entry": new_id()} if delivery is None else {
            "what": delivery.what, "supplier": delivery.supplier_id, "expected_day": delivery.expected_day,
            "openings": [o.pk for o in delivery.openings.all()], "version": delivery.version}
        return cls(initial=shown, delivery=delivery, **more)

    def clean_supplier(self) -> Party | None:
        key = self.cleaned_data["supplier"]
        found = None if key is None else Party.objects.filter(pk=key).first()
        if key is not None and found is None:
            raise forms.ValidationError(_("one of those offered"))
        return found

    def values(self) -> dict[str, Any]:
        read = self.cleaned_data
        return {"job": self.job, "what": read["what"], "supplier": read["supplier"],
                "expected_day": read["expected_day"],
                "openings": list(Opening.objects.filter(job=self.job, pk__in=read["openings"]))}

    @property
    def kinds_chosen(self) -> list[str]:
        return [kind for name in self.cleaned_data["kinds"] for kind in KINDS_OF[name]]

    @property
    def said(self) -> dict[str, str]:
        """What stands in its fields, in words, to be laid beside another's."""
        found = {str(self[name].label): str(self[name].value() or "") for name in ("what", "expected_day")}
        for name in ("supplier", "openings"):
            chosen = self[name].value() or ()
            keys = {str(key) for key in (chosen if isinstance(chosen, (list, tuple)) else [chosen])}
            offered = self.fields[name].widget.choices
            found[str(self[name].label)] = ", ".join(str(said) for key, said in offered if str(key) in keys)
        return {**found, _("Parts"): ", ".join(
            f"{part.unit.opening.tag} {part.name}" for part in self.offered if part.pk in self.ticked)}

    # ---- part by part -----------------------------------------------------------------------------------

    @property
    def was(self) -> set[int]:
        """The parts that were on it when this was shown."""
        return self._keys("was") if self.is_bound else {
            part.pk for part in self.offered if self.delivery and part.delivery_id == self.delivery.pk}

    @property
    def ticked(self) -> set[int]:
        return self._keys("brings") if self.is_bound else self.was

    def _keys(self, name: str) -> set[int]:
        known = {str(part.pk): part.pk for part in self.offered}
        return {known[text] for text in self.data.getlist(name) if text in known}

    @property
    def by_opening(self) -> list[tuple[Opening, list[PartLine], int]]:
        ticked, was, found = self.ticked, self.was, {}
        for part in self.offered:
            lines = found.setdefault(part.unit.opening, [])
            lines.append(PartLine(part.pk, part.name, self._said(part), part.pk in ticked, part.pk in was))
        return [(opening, lines, sum(one.ticked for one in lines)) for opening, lines in found.items()]

    def _said(self, part: Part) -> str:
        other = part.delivery is not None and (self.delivery is None or part.delivery_id != self.delivery.pk)
        said = _("now with: %s") % part.delivery.what if other else ""
        return ", ".join(filter(None, (part_state(part), said)))


def _suppliers(delivery: Delivery | None) -> list[tuple[int, str]]:
    """Suppliers first; whoever else brings something stays who they were."""
    found = list(Party.objects.filter(kind="supplier").order_by("name", "pk").values_list("pk", "name")[:500])
    if delivery is not None and delivery.supplier is not None and delivery.supplier_id not in dict(found):
        found.append((delivery.supplier_id, delivery.supplier.name))
    return found
