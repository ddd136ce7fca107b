"""An instrument of one's own: name, unit, smallest step, repeatability."""

import math

from django import forms

from studio.models import Instrument
from studio.ware.quantities import LENGTH
from studio.ware.units import UnitError, format_number, parse_measure

COARSEST = {"mm": 50, "deg": 45, "g": 500}
"""A smallest step above this is a slip of the pen [unit]."""


class StepField(forms.CharField):
    """A size in the instrument's unit, as a hand writes it; read once the unit is known."""

    widget = forms.TextInput(attrs={"class": "short", "inputmode": "decimal"})


class InstrumentForm(forms.ModelForm):
    """Add or change an own instrument."""

    resolution = StepField(
        label="Smallest step",
        max_length=20,
        help_text="Such as 0.1, 0.5 mm or 1/16 in. A bare number takes the unit above.",
    )
    repeatability = StepField(
        max_length=20,
        help_text="Standard deviation of reading one spot ten times. Not known: half the step.",
    )

    class Meta:
        model = Instrument
        fields = ("name", "unit", "resolution", "repeatability")

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self._user = user
        self.fields["unit"].label = "What it reads"
        self.fields["unit"].widget.choices = [
            ("mm", "lengths (mm)"),
            ("deg", "angles (°)"),
            ("g", "mass (g)"),
        ]
        if self.instance.pk:
            for name in ("resolution", "repeatability"):
                self.initial[name] = (
                    format_number(
                        getattr(self.instance, name), self.instance.unit, places=STEP_PLACES
                    )
                    .rstrip("0")
                    .rstrip(".")
                )

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        if "\\" in name or not name.isprintable():
            raise forms.ValidationError("Write the name without line breaks and backslashes.")
        if name.lower() == "photo":
            raise forms.ValidationError("“photo” marks readings from photographs; choose another.")
        taken = Instrument.objects.filter(name__iexact=name).exclude(pk=self.instance.pk)
        if taken.filter(owner=self._user).exists() or taken.filter(owner=None).exists():
            raise forms.ValidationError(f"There is an instrument called {name} already.")
        return name

    def clean(self):
        cleaned = super().clean()
        unit = cleaned.get("unit") or LENGTH
        for name in ("resolution", "repeatability"):
            text = cleaned.get(name)
            if not text:
                continue
            try:
                value = float(parse_measure(text, unit).value)
            except UnitError as error:
                self.add_error(name, str(error))
                continue
            if name == "resolution" and value <= 0:
                self.add_error(name, "The smallest step is above zero.")
            elif not math.isfinite(value) or value > COARSEST[unit]:
                self.add_error(name, f"That is coarser than {COARSEST[unit]} {unit}. Look again.")
            else:
                cleaned[name] = value
        return cleaned

    def save(self, commit=True):
        self.instance.owner = self._user
        return super().save(commit)


STEP_PLACES = 4
"""Enough for 1/16 in = 1.5875 mm."""
