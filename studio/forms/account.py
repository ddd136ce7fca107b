"""Signing in and the password."""

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import PasswordChangeForm

from studio import sign_in_guard


class SignInForm(forms.Form):
    """Name and password. ``user`` is who they belong to, once the form is valid."""

    username = forms.CharField(
        label="User name",
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "autofocus": True}
        ),
        error_messages={"required": "Write your user name."},
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Write your password."},
    )

    def __init__(self, *args, request=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.request, self.user = request, None

    def clean(self):
        data = super().clean()
        name, password = data.get("username"), data.get("password")
        if not (name and password):
            return data
        if sign_in_guard.must_wait(name):
            raise forms.ValidationError(
                "Too many tries with this name. "
                f"Wait {sign_in_guard.MINUTES} minutes and try again, or "
                "ask your teacher for a new password."
            )
        self.user = authenticate(self.request, username=name, password=password)
        if self.user is None:
            sign_in_guard.note_failure(name)
            raise forms.ValidationError(
                "This name and password do not go together. "
                "Capitals count in the password; check the Caps Lock key."
            )
        sign_in_guard.forget(name)
        return data


class PasswordForm(PasswordChangeForm):
    """The old password and the new one twice."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["old_password"].label = "Password now"
        self.fields["old_password"].widget.attrs["autofocus"] = True
        self.fields["new_password1"].label = "New password"
        self.fields["new_password1"].help_text = (
            "At least 8 characters, not only figures, and nothing like your name. "
            "Three or four words that you do not say in this order are easy to keep in mind."
        )
        self.fields["new_password2"].label = "New password once more"
        self.fields["new_password2"].help_text = ""
