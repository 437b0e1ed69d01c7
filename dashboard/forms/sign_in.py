from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from dashboard.forms.plain import PlainForm


class SignInForm(forms.Form):
    username = forms.CharField(label=_("Name"), max_length=150, widget=forms.TextInput(
        attrs={"autocomplete": "username", "autocapitalize": "none", "autofocus": True, "spellcheck": "false"}))
    password = forms.CharField(label=_("Password"), max_length=400, strip=False, widget=forms.PasswordInput(
        attrs={"autocomplete": "current-password"}))


class PasswordForm(PlainForm):
    old = forms.CharField(label=_("Password until now"), max_length=400, strip=False, widget=forms.PasswordInput(
        attrs={"autocomplete": "current-password"}))
    password = forms.CharField(
        label=_("New password"), max_length=200, strip=False,
        help_text=_("ten characters or more, not one in common use"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}))
    again = forms.CharField(label=_("New password, once more"), max_length=200, strip=False,
                            widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}))

    def clean(self) -> dict[str, str]:
        typed = super().clean()
        if "again" in typed and typed.get("password", typed["again"]) != typed["again"]:
            self.add_error("again", _("The two are not the same."))
        return typed
