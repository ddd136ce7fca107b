"""Signing in and the password."""

import math
from datetime import timedelta

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm
from django.utils import timezone

from studio.people import sign_in_codes, sign_in_guard

CHOOSING = (
    "At least 8 characters, not only figures, and nothing like your name. "
    "Three or four words that you do not say in this order are easy to keep in mind."
)


MINUTE = 60
"""Seconds: a shorter wait is told in seconds."""


class SignInForm(forms.Form):
    """Name and password, or a one-time code in its place.

    Once valid, ``user`` is who the password belongs to, or ``code`` the code that was typed.
    """

    username = forms.CharField(
        label="User name",
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "autofocus": True}
        ),
        error_messages={"required": "Write your user name."},
    )
    password = forms.CharField(
        label="Password, or the code from your slip",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Write your password, or the code from your slip."},
    )

    shared = forms.BooleanField(
        label="This is a shared computer",
        required=False,
        help_text="Then you are signed out when the browser closes, and after 30 minutes without "
        "a page.",
    )

    def __init__(self, *args, request=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.request, self.user, self.code = request, None, None

    def clean(self):
        data = super().clean()
        name, password = data.get("username"), data.get("password")
        if not (name and password):
            return data
        # A teacher's new code works at once, whoever spent the tries of this name.
        self.code = sign_in_codes.find_at_once(name, password)
        if self.code is not None:
            return data
        address = sign_in_guard.address_of(self.request)
        until = sign_in_guard.take_try(name, address)
        if until is not None:
            raise forms.ValidationError(
                "Too many tries with this name from here. "
                f"Wait {_said_wait(until - timezone.now())} and try again, or "
                "ask your teacher for a new code: it works at once."
            )
        self.user = authenticate(self.request, username=name, password=password)
        if self.user is None:
            self.code = sign_in_codes.find(name, password)
        if self.user is None and self.code is None:
            raise forms.ValidationError(
                "This name and password do not go together. "
                "Capitals count in a password; check the Caps Lock key. "
                "A code from a slip works once: ask your teacher for a new one if yours was used."
            )
        sign_in_guard.forget(name, address)
        return data


def _said_wait(wait: timedelta) -> str:
    """“20 seconds”, “4 minutes”: never less than it is."""
    seconds = max(1, math.ceil(wait.total_seconds()))
    if seconds <= MINUTE:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    return f"{math.ceil(seconds / MINUTE)} minutes"


class PasswordForm(PasswordChangeForm):
    """The old password and the new one twice."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["old_password"].label = "Password now"
        self.fields["old_password"].widget.attrs["autofocus"] = True
        self.fields["new_password1"].label = "New password"
        self.fields["new_password1"].help_text = CHOOSING
        self.fields["new_password2"].label = "New password once more"
        self.fields["new_password2"].help_text = ""


class ChoosePasswordForm(SetPasswordForm):
    """The first password of one's own, twice."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].label = "Your password"
        self.fields["new_password1"].help_text = CHOOSING
        self.fields["new_password1"].widget.attrs["autofocus"] = True
        self.fields["new_password2"].label = "Your password once more"
        self.fields["new_password2"].help_text = ""
