"""The forms of a call: taken while talking; the trip, what was turned, and what it turned out to be."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, ClassVar

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases, words
from dashboard.forms.acts import NO_CHOICE, ActForm, Ground, choice, day, hidden, line, number_choice, several_lines
from dashboard.measures import Reader
from inspections.calc.force import newtons
from inspections.models import Callback, ReturnTrip
from inspections.services import afterwards, photos
from jobs.acts import Act
from jobs.calc import reading
from jobs.calc.verdict import BadInput
from jobs.errors import Invalid
from jobs.models import Crew, Opening
from jobs.services.once import made_once

ANOTHER_DAY = "another"
TURNS = re.compile(r"(?P<down>[-\u2212]?)\s*(?P<whole>\d{1,2}(?:\.\d{1,3})?(?![\d/]))?\s*(?P<part>\d{1,2}/(?:2|4|8))?",
                   re.ASCII)
MOST_TURNS = 64  # eighths of a turn, more than any roller has


class CallForm(ActForm):
    """What somebody hears on the telephone, in the order one asks."""

    name, may = "log-call", "log a callback"
    button = gettext_lazy("Log the call")
    severity = forms.ChoiceField(
        label=gettext_lazy("How bad is it?"), choices=list(phrases.SEVERITIES.items()), widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose how bad it is, as it sounds."),
                        "invalid_choice": gettext_lazy("One of those below.")})
    symptom = several_lines(gettext_lazy("What they see"), most=400, hint=gettext_lazy("in their own words"))
    panel = number_choice(gettext_lazy("Panel"))
    caller = line(gettext_lazy("Who calls"), most=120, required=False, hint=gettext_lazy("name and number"))
    best_time = line(gettext_lazy("Best time"), most=120, required=False,
                     hint=gettext_lazy("to call back, to come by"))
    made: Callback

    def offer(self) -> None:
        self.choices("panel", self.at.panel_choices)
        self.fields["symptom"].widget.attrs["autofocus"] = not self.is_bound  # they are talking already

    @property
    def url(self) -> str:
        return reverse("call", args=[self.at.opening.pk])

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        self.made = made_once(act, _form_id(self), Callback, lambda: afterwards.log_callback(
            act, opening.pk, severity=values["severity"], symptom=values["symptom"], caller=values["caller"],
            best_time=values["best_time"], panel_id=values["panel"]))
        return _("%s is logged. Now book the trip, and read out what can be looked at meanwhile.") % self.made.number


def _form_id(form: ActForm) -> str:
    return str(form.entry_id or "")


@dataclass(frozen=True)
class CallGround(Ground):
    """And of one callback."""

    call: Callback | None = None
    crews: Sequence[Crew] = ()
    trips: Sequence[ReturnTrip] = ()
    reader: Reader = field(default_factory=Reader)


class OnCall(ActForm):
    """On one callback."""

    may = "log a callback"

    def __init__(self, *args: Any, at: CallGround, **kwargs: Any) -> None:
        self.call, self.reader = at.call, at.reader
        super().__init__(*args, at=at, **kwargs)

    @property
    def url(self) -> str:
        return reverse(f"callback-{self.name}", args=[self.call.pk])

    def offer_crews(self) -> None:
        self.choices("crew", [NO_CHOICE, *((crew.pk, crew.name) for crew in self.at.crews)])


class BookTripForm(OnCall):
    """A free day of a crew, touched in its week; or any other day."""

    name, section = "book-trip", "trips"
    button = gettext_lazy("Book the trip")
    slot = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)
    crew = number_choice(gettext_lazy("Crew, for another day"))
    day = day(gettext_lazy("Another day"), required=False)
    arrival = line(gettext_lazy("When they are there"), most=60, required=False,
                   hint=gettext_lazy("as agreed with the owner"))
    bring = line(gettext_lazy("What to bring"), required=False)

    def offer(self) -> None:
        self.offer_crews()
        self.from_today("day")

    def clean(self) -> dict[str, Any]:
        values = super().clean()
        slot = values.get("slot") or ""
        touched = slot not in ("", ANOTHER_DAY)
        if "day" in self.errors:
            return values
        if touched and (values.get("day") or values.get("crew")):
            self.add_error("day", _("A day in a crew's week is touched above, and another one is given here. "
                                    "Choose Another day above, or leave these two empty."))
        elif not values.get("day"):
            try:
                crew, _sep, chosen = slot.partition(":")
                values["crew"], values["day"] = int(crew), dt.date.fromisoformat(chosen)
            except ValueError:
                self.add_error("day", _("Touch a day in a crew's week above, or give another one here."))
        return values

    @property
    def chosen(self) -> str:
        return self.data.get("slot", "") if self.is_bound else ""

    @property
    def another_day(self) -> str:
        return ANOTHER_DAY

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        trip = made_once(act, _form_id(self), ReturnTrip, lambda: afterwards.book_return_trip(
            act, self.call.pk, day=values["day"], crew_id=values["crew"], arrival=values["arrival"],
            bring=values["bring"], alone=True))
        day = self.reader.whole_day(trip.day)
        if trip.crew is None:
            return _("Trip booked for %s. No crew is named yet: it stays with what needs somebody.") % day
        return _("Trip booked: %(day)s, %(who)s.") % {"day": day, "who": trip.crew.name}


class ChangeTripForm(OnCall):
    name, target, section = "change-trip", "trip", "trips"
    button = gettext_lazy("Change the trip")
    trip, version = hidden(kind=forms.IntegerField), hidden(kind=forms.IntegerField)
    crew = number_choice(gettext_lazy("Crew"))
    day = day(gettext_lazy("Day"))
    arrival = line(gettext_lazy("When they are there"), most=60, required=False)
    bring = line(gettext_lazy("What to bring"), required=False)

    def offer(self) -> None:
        self.offer_crews()
        self.from_today("day")

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        afterwards.change_return_trip(act, _trip_of(self), {
            "day": values["day"], "crew_id": values["crew"], "arrival": values["arrival"], "bring": values["bring"]},
            version=values["version"])
        return _("Trip changed. Tell the owner.")


class TripMadeForm(OnCall):
    name, target, section = "trip-made", "trip", "trips"
    button = gettext_lazy("They were there")
    trip, version = hidden(kind=forms.IntegerField), hidden(kind=forms.IntegerField)
    outcome = line(gettext_lazy("What came of it"), hint=gettext_lazy("put right, nobody home, a part to be ordered"))

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        afterwards.finish_return_trip(act, _trip_of(self), outcome=values["outcome"], version=values["version"])
        return _("Trip made. The callback stays open until it is closed with its finding.")


def _trip_of(form: OnCall) -> int:
    trip = form.cleaned_data["trip"]
    if not form.call.return_trips.filter(pk=trip).exists():
        raise Invalid(_("This callback has no such trip."))
    return trip


def _amount(label: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=24, required=False)


class AdjustForm(OnCall):
    """What was turned, and how it was before and after: a reading that was not taken stays empty."""

    name, may, section = "adjust", "log an adjustment", "adjustments"
    template = "dashboard/_adjust_form.html"
    button = gettext_lazy("Log the adjustment")
    what = line(gettext_lazy("What was adjusted"), hint=gettext_lazy("rollers, strike, interlock, weep"))
    panel = number_choice(gettext_lazy("Panel"))
    trip = number_choice(gettext_lazy("On which trip"))
    near, far = _amount(gettext_lazy("Near roller, turns up")), _amount(gettext_lazy("Far roller, turns up"))
    note = line(gettext_lazy("Note"), most=400, required=False)

    READ: ClassVar[Mapping[str, Any]] = {
        "top": gettext_lazy("Reveal, top"), "middle": gettext_lazy("Reveal, middle"),
        "bottom": gettext_lazy("Reveal, bottom"), "start_n": gettext_lazy("Force to start"),
        "keep_moving_n": gettext_lazy("Force to keep moving"),
    }

    def offer(self) -> None:
        self.choices("panel", self.at.panel_choices)
        self.choices("trip", [NO_CHOICE, *(
            (trip.pk, self.reader.day(trip.day)) for trip in self.at.trips if trip.day <= self.at.today)])
        for when in ("before", "after"):
            for name, label in self.READ.items():
                self.fields[f"{when}_{name}"] = _amount(label)

    @property
    def amounts(self) -> str:
        """What a bare number is, in the reader's units."""
        if self.reader.in_inches:
            return _("A bare number is in inches, of a force in pounds (lbf). In newtons write 56 N, "
                     "in millimetres 9 mm.")
        return _("A bare number is in millimetres, of a force in newtons.")

    @property
    def first_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("what", "panel", "trip", "near", "far")]

    @property
    def pairs(self) -> list[tuple[Any, forms.BoundField, forms.BoundField]]:
        return [(label, self[f"before_{name}"], self[f"after_{name}"]) for name, label in self.READ.items()]

    def clean(self) -> dict[str, Any]:
        values = super().clean()
        for when in ("before", "after"):
            values[when] = self._read(when, values)
        values["turns"] = [turn for turn in map(self._turn, ("near", "far")) if turn]
        return values

    def _read(self, when: str, values: Mapping[str, Any]) -> dict[str, Any]:
        sent = {name: values.get(f"{when}_{name}") or "" for name in self.READ}
        read = {name: self._in_units(f"{when}_{name}", name, text) for name, text in sent.items() if text}
        gaps = {name: read.pop(name) for name in ("top", "middle", "bottom") if name in read}
        return {"gaps": gaps, **read} if gaps else read

    def _in_units(self, field: str, name: str, text: str) -> str:
        """As somebody would write it down: a length with its unit, a force in newtons."""
        try:
            if name.endswith("_n"):
                plain = text.strip().replace(".", "", 1).isdecimal()
                return f"{float(newtons(f'{text} lbf' if plain and self.reader.in_inches else text, field)):.1f}"
            return self.reader.taped(reading.length(text, field, unit=self.reader.units))
        except BadInput as why:
            in_pounds = name.endswith("_n") and self.reader.in_inches
            self.add_error(field, _("pounds, such as 12.5; or newtons, such as 56 N") if in_pounds
                           else words.right(why.right, self.reader))
            return ""

    def _turn(self, roller: str) -> dict[str, Any] | None:
        text = (self.cleaned_data.get(roller) or "").strip()
        if not text:
            return None
        read = TURNS.fullmatch(text)
        eighths = 8 * sum((Fraction(read[part]) for part in ("whole", "part") if read[part]), Fraction()) if read else 0
        if not 0 < eighths <= MOST_TURNS or eighths.denominator != 1:
            self.add_error(roller, _("turns in eighths, such as 1 3/8; with a minus for down"))
            return None
        return {"roller": roller, "eighths": int(eighths) * (-1 if read["down"] else 1)}

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        afterwards.log_adjustment(
            act, opening.pk, what=values["what"], turns=values["turns"], before=values["before"],
            after=values["after"], note=values["note"], panel_id=values["panel"], callback_id=self.call.pk,
            trip_id=values["trip"], entry_id=self.entry_id)
        return _("Adjustment logged.")


class CallPhotoForm(OnCall):
    name, may, section = "photo", "add photos", "photos"
    button = gettext_lazy("Add the photo")
    caption = line(gettext_lazy("What it shows"), required=False)
    photo = forms.FileField(label=gettext_lazy("Photo"), widget=forms.ClearableFileInput(attrs={"accept": "image/*"}))

    def carry_out(self, act: Act, opening: Opening) -> str:
        photos.store_photo(act, opening.pk, self.cleaned_data["photo"].read(), about="callback", about_id=self.call.pk,
                           caption=self.cleaned_data["caption"], entry_id=self.entry_id)
        return _("Photo added.")


class CloseCallForm(OnCall):
    """With what it turned out to be: what callbacks teach comes from here."""

    name, section = "close", "close"
    button = gettext_lazy("Close the callback")
    version = hidden(kind=forms.IntegerField)
    finding = several_lines(gettext_lazy("What it was"), most=400)
    whose = choice(gettext_lazy("Whose"), [NO_CHOICE, *((k, v) for k, v in phrases.WHOSE.items() if k)])

    def carry_out(self, act: Act, opening: Opening) -> str:
        values = self.cleaned_data
        closed = afterwards.close_callback(act, self.call.pk, finding=values["finding"], whose=values["whose"],
                                           version=values["version"])
        return _("%s is closed.") % closed.number


CALL_FORMS: dict[str, type[OnCall]] = {form.name: form for form in (
    BookTripForm, ChangeTripForm, TripMadeForm, AdjustForm, CallPhotoForm, CloseCallForm)}
