"""Sections, their people and their grade scale."""

from django import forms

from studio.models import GradeBand, Section

SPARE_BANDS = 2


class SectionForm(forms.ModelForm):
    """A class group in a term."""

    class Meta:
        model = Section
        fields = ("name", "term", "school", "unit")
        widgets = {"unit": forms.RadioSelect}
        error_messages = {"name": {"required": "Give the section a name, such as Bell 4."}}


class ShareForm(forms.Form):
    """With whom to share."""

    username = forms.CharField(
        label="User name of the department head",
        max_length=150,
        help_text="A head reads everything in the section and changes nothing.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
        error_messages={"required": "Write the head's user name."},
    )


class GradeBandForm(forms.ModelForm):
    """A label and the percentage from which it is given."""

    class Meta:
        model = GradeBand
        fields = ("label", "from_percent")
        labels = {"label": "Grade", "from_percent": "From [%]"}
        widgets = {
            "label": forms.TextInput(attrs={"class": "short"}),
            "from_percent": forms.NumberInput(
                attrs={"class": "short", "step": "0.01", "min": "0", "max": "100"}
            ),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # A row that was emptied is a grade taken away, so both fields or neither.
        for field in self.fields.values():
            field.required = False

    def clean_from_percent(self):
        edge = self.cleaned_data["from_percent"]
        if edge is not None and not 0 <= edge <= 100:
            raise forms.ValidationError("A percentage lies between 0 and 100.")
        return edge

    def clean(self):
        data = super().clean()
        if data.get("label") and data.get("from_percent") is None:
            if "from_percent" not in self.errors:
                self.add_error("from_percent", "Write from which percentage it is given.")
        elif data.get("from_percent") is not None and not data.get("label"):
            self.add_error("label", "Write the grade.")
        return data

    def _post_clean(self):
        """No row of its own is checked or built: the scale is written whole."""


class BaseGradeScale(forms.BaseFormSet):
    """The whole scale: it starts at 0, no label and no edge stands twice, and it falls."""

    def bands(self) -> list[tuple]:
        """The rows that count, as they stand, from the top."""
        return [
            (form.cleaned_data["label"], form.cleaned_data["from_percent"])
            for form in self.forms
            if form.cleaned_data.get("label") and not form.cleaned_data.get("DELETE")
        ]

    def clean(self):
        if any(self.errors):
            return
        bands = self.bands()
        labels = [label.casefold() for label, _ in bands]
        edges = [edge for _, edge in bands]
        if not bands:
            raise forms.ValidationError("A scale needs at least one grade.")
        if len(set(labels)) < len(labels):
            raise forms.ValidationError("One grade stands twice. Each grade has one row.")
        if len(set(edges)) < len(edges):
            raise forms.ValidationError(
                "Two grades begin at the same percentage. Let them begin apart."
            )
        if edges != sorted(edges, reverse=True):
            raise forms.ValidationError(
                "The percentages should fall from the top row down. Put the best grade first."
            )
        if edges[-1] != 0:
            raise forms.ValidationError(
                f"The last grade begins at {edges[-1]:g} %, so that work below it would have none. "
                "Let the last grade begin at 0."
            )


def grade_scale_forms(section: Section, data=None):
    """The section's scale as a table of fields."""
    make = forms.formset_factory(
        GradeBandForm,
        formset=BaseGradeScale,
        can_delete=True,
        extra=SPARE_BANDS,
        max_num=20,
        validate_max=True,
    )
    initial = list(section.grade_bands.order_by("-from_percent").values("label", "from_percent"))
    return make(data, initial=initial, prefix="bands")
