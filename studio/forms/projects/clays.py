"""A clay body and how much it shrinks."""

from itertools import pairwise

from django import forms

from studio.models import Clay
from studio.projects.starter_clays import LATER_STAGES, STARTER_SPREAD


class ClayForm(forms.ModelForm):
    """A clay of one's own, with the shrinkage from wet to each later stage."""

    class Meta:
        model = Clay
        fields = ("name", "maturing_cone", "absorption_percent")
        labels = {"absorption_percent": "Absorption when mature [%]"}
        widgets = {
            "maturing_cone": forms.TextInput(attrs={"class": "short"}),
            "absorption_percent": forms.NumberInput(
                attrs={"class": "short", "step": "0.01", "min": "0"}
            ),
        }

    def __init__(self, *args, owner, shrinkages=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.owner = owner
        shrinkages = shrinkages or {}
        for stage in LATER_STAGES:
            percent, spread = shrinkages.get(stage, (None, STARTER_SPREAD))
            self.fields[f"percent-{stage.name}"] = forms.DecimalField(
                label=f"Wet to {stage.label} [%]",
                required=False,
                initial=percent,
                min_value=-2,
                max_value=33,
                max_digits=4,
                decimal_places=2,
                widget=forms.NumberInput(attrs={"class": "short", "step": "0.01"}),
            )
            self.fields[f"spread-{stage.name}"] = forms.DecimalField(
                label=f"Spread to {stage.label} [points]",
                required=False,
                initial=spread,
                min_value=0.01,
                max_value=10,
                max_digits=4,
                decimal_places=2,
                widget=forms.NumberInput(attrs={"class": "short", "step": "0.01"}),
            )

    def rows(self):
        """Each stage with its two fields."""
        return [
            (stage.label, self[f"percent-{stage.name}"], self[f"spread-{stage.name}"])
            for stage in LATER_STAGES
        ]

    def general(self):
        """The fields that are not about shrinkage."""
        return [self[name] for name in self.Meta.fields]

    def shrinkages(self) -> dict[str, tuple]:
        """Shrinkage and spread by stage, for the stages that were filled in."""
        return {
            stage: (
                self.cleaned_data[f"percent-{stage.name}"],
                self.cleaned_data[f"spread-{stage.name}"] or STARTER_SPREAD,
            )
            for stage in LATER_STAGES
            if self.cleaned_data.get(f"percent-{stage.name}") is not None
        }

    def clean_name(self):
        name = self.cleaned_data["name"].strip()
        others = Clay.objects.filter(owner=self.owner, name__iexact=name)
        if others.exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("You have a clay of this name. Give this one another.")
        return name

    def clean(self):
        data = super().clean()
        glazed = LATER_STAGES[-1]
        if not self.errors and data.get(f"percent-{glazed.name}") is None:
            self.add_error(
                f"percent-{glazed.name}",
                "Without the shrinkage to glazed no wet size can be told. "
                "Take it from the supplier's sheet or your own test bars.",
            )
        given = [
            (stage, data[f"percent-{stage.name}"])
            for stage in LATER_STAGES
            if data.get(f"percent-{stage.name}") is not None
        ]
        for (before, less), (stage, more) in pairwise(given):
            # Bisque may give back what drying took, by a point at most (common practice).
            if more < less - 1:
                self.add_error(
                    f"percent-{stage.name}",
                    f"Counted from wet, {stage.label} should not be less than {before.label}. "
                    "Each figure is the whole shrinkage up to that stage.",
                )
        return data
