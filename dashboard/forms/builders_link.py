"""The forms about the builder's link: made, revoked, its reports taken note of; and the builder's own."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard.forms.acts import ActForm, day, hidden
from dashboard.forms.plain import PlainForm
from inspections.models import CorrectionReport
from inspections.services import builders_link
from jobs.acts import Act
from jobs.errors import Invalid
from jobs.models import Opening


class LinkForm(ActForm):
    name, may, section = "builder-link", builders_link.MAY_KEEP, "builder"
    button = gettext_lazy("Make the link")
    until = day(gettext_lazy("It holds until the end of"))

    def offer(self) -> None:
        self.from_today("until")

    def carry_out(self, act: Act, opening: Opening) -> str:
        builders_link.make_link(act, opening.pk, until=self.cleaned_data["until"], entry_id=self.entry_id)
        return _("The link is made. Open its address below, and send it to the builder.")


class RevokeLinkForm(ActForm):
    name, may, section, target = "revoke-builder-link", builders_link.MAY_KEEP, "builder", "link"
    button = gettext_lazy("Revoke it: it opens nothing any more")
    link = hidden(kind=forms.UUIDField)

    def carry_out(self, act: Act, opening: Opening) -> str:
        if not opening.builder_links.filter(pk=self.cleaned_data["link"]).exists():
            raise Invalid(_("This opening has no such record."))
        builders_link.revoke_link(act, self.cleaned_data["link"])
        return _("Revoked. It opens nothing any more.")


class TakeNoteForm(ActForm):
    name, may, section, target = "note-correction", builders_link.MAY_NOTE, "builder", "report"
    button = gettext_lazy("Seen: it will be read again")
    report = hidden(kind=forms.UUIDField)

    def carry_out(self, act: Act, opening: Opening) -> str:
        if not CorrectionReport.objects.filter(pk=self.cleaned_data["report"], link__opening=opening).exists():
            raise Invalid(_("This opening has no such record."))
        builders_link.take_note(act, self.cleaned_data["report"])
        return _("Taken note of. Now it is for the crew to read it again.")


LINK_FORMS: dict[str, type[ActForm]] = {form.name: form for form in (LinkForm, RevokeLinkForm, TakeNoteForm)}


class CorrectedForm(PlainForm):
    """Filled in by somebody who has no account."""

    entry = forms.UUIDField(widget=forms.HiddenInput, required=False)
    note = forms.CharField(
        label=gettext_lazy("What was done"), max_length=builders_link.LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=gettext_lazy("What was ground, filled or moved, and where."),
        error_messages={"required": gettext_lazy("Say what was ground, filled or moved, and where.")})
    photo = forms.FileField(
        label=gettext_lazy("Photo"), required=False, allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": "image/*"}),
        help_text=gettext_lazy("With a level or a tape in view."))
