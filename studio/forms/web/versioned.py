"""A form that does not undo what another window saved while it was open."""

from hashlib import sha256

from django import forms

STOOD = "stood"
LONGEST_QUOTE = 200
"""Signs of a value that are quoted in the sentence; the rest is on the page."""


class VersionedMixin:
    """Sends back a seal of what stood when the page was shown; another one is told, not undone.

    The row has to be locked and read afresh before the form is made of it. What the person entered
    stays; sent again, it takes the place of what was read meanwhile.
    """

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self._standing = self.standing()
        self._seal = sha256(repr(sorted(self._standing.items())).encode()).hexdigest()
        self.fields[STOOD] = forms.CharField(
            required=False, widget=forms.HiddenInput, initial=self._seal
        )

    def standing(self) -> dict[str, str]:
        """What stands on record, by field."""
        return {name: str(self[name].initial or "") for name in self._meta.fields}

    def clean(self):
        data = super().clean()
        sent = self.cleaned_data.pop(STOOD, "")
        if sent and sent != self._seal:
            self.data = self.data.copy()
            self.data[self.add_prefix(STOOD)] = self._seal
            now = [
                f"{self.fields[name].label}: “{said[:LONGEST_QUOTE]}”"
                for name, said in self._standing.items()
                if said != str(self.cleaned_data.get(name) or "")
            ]
            told = f" There stands now: {'; '.join(now)}." if now else ""
            raise forms.ValidationError(
                "Another window saved this while yours was open, so nothing was changed yet."
                f"{told} Save again to put what is below in its place."
            )
        return data
