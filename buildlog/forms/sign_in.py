"""Forms for coming in: password, first account, joining a device, PIN."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import UsernameField

from buildlog.core.codes import as_meant

CODE_ATTRS = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


class PasswordForm(forms.Form):
    """A lead's name and password."""

    username = UsernameField(
        label="Name", max_length=150, widget=forms.TextInput({"autocomplete": "username", "autofocus": True})
    )
    password = forms.CharField(
        label="Password", strip=False, max_length=4096,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )  # fmt: skip


class ChangePasswordForm(forms.Form):
    """The password in force and the one to come."""

    current = forms.CharField(
        label="Current password", strip=False, max_length=4096,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )  # fmt: skip
    new = forms.CharField(
        label="New password", strip=False, max_length=4096,
        help_text="At least 8 characters; avoid common passwords.",
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )  # fmt: skip


class FirstAccountForm(forms.Form):
    """The owner's account, with the code from the console."""

    code = forms.CharField(
        label="Code from the console",
        help_text="It stands where the app was started, three groups of four.",
        widget=forms.TextInput(attrs=CODE_ATTRS),
    )
    username = forms.CharField(label="Your name", max_length=80, widget=forms.TextInput({"autocomplete": "username"}))
    password = forms.CharField(
        label="Password",
        strip=False,
        help_text="At least 8 characters, not a common one.",
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )


class JoinForm(forms.Form):
    """One device comes in with its one-time code."""

    c = forms.CharField(label="Code", max_length=20, widget=forms.TextInput(attrs=CODE_ATTRS))
    name = forms.CharField(
        label="Name of this device",
        max_length=60,
        help_text="As it stands on its back, or whose phone it is.",
        widget=forms.TextInput({"autocomplete": "off"}),
    )

    def clean_c(self) -> str:
        return as_meant(self.cleaned_data["c"])


class CodeForm(forms.Form):
    """The code alone, for a device that cannot scan."""

    c = forms.CharField(label="Code from the lead's screen", max_length=20, widget=forms.TextInput(attrs=CODE_ATTRS))


class PinForm(forms.Form):
    """A helper's six digits."""

    pin = forms.RegexField(
        r"^\s*\d{6}\s*$",
        label="Your PIN",
        help_text="Six digits; the lead gives them to you.",
        error_messages={"invalid": "A PIN has six digits: type all six."},
        widget=forms.PasswordInput(
            {"inputmode": "numeric", "autocomplete": "one-time-code", "maxlength": 6, "autofocus": True, "class": "pin"}
        ),
    )


class CurrentPinForm(PinForm):
    """The PIN in force, asked for before a new one is issued."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pin = self.fields["pin"]
        pin.label, pin.help_text = "Current PIN", "Six digits."
        pin.widget.attrs.pop("autofocus")  # the keypad would hide the page
