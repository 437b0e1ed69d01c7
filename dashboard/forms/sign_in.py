from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class SignInForm(forms.Form):
    username = forms.CharField(label=_("Name"), max_length=150, widget=forms.TextInput(
        attrs={"autocomplete": "username", "autocapitalize": "none", "autofocus": True, "spellcheck": "false"}))
    password = forms.CharField(label=_("Password"), max_length=400, strip=False, widget=forms.PasswordInput(
        attrs={"autocomplete": "current-password"}))
