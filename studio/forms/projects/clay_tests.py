"""Test bars and weighings of a clay, as they are read."""

from django import forms

from studio.forms.web.fields import FigureInput, LengthField, UnitMixin
from studio.models import AbsorptionTest, Stage
from studio.models.clay_tests import LONGEST_MARKED_MM, SHORTEST_MARKED_MM
from studio.planning.bars import BarError, absorption
from studio.ware.shrinkage import is_plausible, linear_shrinkage

MARKED_MM = 100.0


class BarForm(UnitMixin, forms.Form):
    """One bar: its label and the length of its marked line at each stage."""

    label = forms.CharField(
        label="Bar", max_length=20, required=False, widget=forms.TextInput(attrs={"class": "short"})
    )

    def __init__(self, *args, bar=None, unit="mm", **kwargs):
        self.bar = bar
        initial = {} if bar is None else {r.stage: r.length_mm for r in bar.readings.all()}
        super().__init__(*args, initial={"label": bar.label if bar else ""}, **kwargs)
        for stage in Stage:
            self.fields[stage.name] = LengthField(
                label=stage.label,
                lowest_mm=SHORTEST_MARKED_MM,
                highest_mm=LONGEST_MARKED_MM,
                required=False,
                initial=initial.get(stage),
            )
        self.take_unit(unit)

    def lengths(self) -> dict[str, float]:
        """Length by stage, for the stages that were read. [mm]"""
        read = {stage: self.cleaned_data.get(stage.name) for stage in Stage}
        return {stage: length for stage, length in read.items() if length is not None}

    @property
    def is_empty(self) -> bool:
        return not self.cleaned_data.get("label") and not self.lengths()

    def clean(self):
        data = super().clean()
        lengths = {stage: data.get(stage.name) for stage in Stage if data.get(stage.name)}
        if lengths and not data.get("label"):
            self.add_error(
                "label", "Name the bar as it is scratched in, so that it is known again."
            )
        wet = lengths.get(Stage.WET)
        if wet is None and lengths and Stage.WET.name not in self.errors:
            self.add_error(Stage.WET.name, "Write the wet length too; shrinkage counts from there.")
        for stage, length in lengths.items():
            if wet and not is_plausible(linear_shrinkage(wet, length)):
                self.add_error(
                    stage.name,
                    f"{length:g} mm of {wet:g} mm wet is no shrinkage of a clay. Read it again.",
                )
        return data


class WeighingForm(forms.ModelForm):
    """Three masses of one fired piece."""

    class Meta:
        model = AbsorptionTest
        fields = ("label", "dry_g", "soaked_g", "suspended_g")
        labels = {
            "label": "Piece",
            "dry_g": "Dry [g]",
            "soaked_g": "Soaked, wiped [g]",
            "suspended_g": "Hung in water [g]",
        }
        widgets = {
            "label": forms.TextInput(attrs={"class": "short"}),
            **{
                name: FigureInput(attrs={"class": "short", "step": "any", "min": "0"})
                for name in ("dry_g", "soaked_g", "suspended_g")
            },
        }

    def __init__(self, *args, clay, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.clay = clay

    def clean_label(self):
        label = self.cleaned_data["label"].strip()
        others = self.instance.clay.absorption_tests.exclude(pk=self.instance.pk)
        if others.filter(label=label).exists():
            raise forms.ValidationError("A piece of this name was weighed already. Name it anew.")
        return label

    def clean(self):
        data = super().clean()
        masses = [data.get(name) for name in ("dry_g", "soaked_g", "suspended_g")]
        if None not in masses:
            try:
                absorption(*masses)
            except BarError as error:
                raise forms.ValidationError(str(error)) from None
        return data
