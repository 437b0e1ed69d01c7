"""What a form says at a field that cannot be right: in plain words, what would be."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

WRITTEN = (forms.TextInput, forms.Textarea)
ASKED = ((forms.CheckboxInput, _("Tick it.")), ((forms.Select, forms.RadioSelect), _("Choose one of them.")),
         (forms.DateInput, _("Give a day.")), (forms.FileInput, _("Choose a file.")))
WRITE_IT = _("Write it here: it may not stay empty.")


class PlainForm(forms.Form):
    """What is pasted is never cut off without a word, as a browser does at `maxlength`: too much is said to be so."""

    required_css_class = "needed"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field.widget, WRITTEN):
                field.widget.attrs.pop("maxlength", None)

    def full_clean(self) -> None:
        for field in self.fields.values():
            field.error_messages = {**_plain(field), **_own(field)}
        super().full_clean()


def _plain(field: forms.Field) -> dict[str, Any]:
    asked = next((said for kinds, said in ASKED if isinstance(field.widget, kinds)), WRITE_IT)
    most = _("At most %(limit_value)d characters; these are %(show_value)d.")
    invalid = field.error_messages.get("invalid")
    if isinstance(field, forms.DateField):
        invalid = _("A day, such as 2026-12-01.")
    elif isinstance(field, forms.DecimalField):
        invalid = _("A number, such as 1.5.")
    return {**field.error_messages, "required": asked, "max_length": most, "invalid": invalid}


def _own(field: forms.Field) -> dict[str, Any]:
    """What this field says of itself, in words that are not its kind's."""
    kinds = {code: said for kind in reversed(type(field).__mro__)
             for code, said in getattr(kind, "default_error_messages", {}).items()}
    return {code: said for code, said in field.error_messages.items() if said != kinds.get(code)}
