"""Which glaze went on a piece."""

from django import forms

from studio.forms.web.fields import FigureInput, LengthField
from studio.models import GlazeCoat
from studio.models.glazes import MOST_COATS, THICKEST_MM, THINNEST_MM


class CoatForm(forms.ModelForm):
    """One glaze and how it went on, of however many pieces."""

    thickness_mm = LengthField(
        label="Thickness, dry",
        lowest_mm=THINNEST_MM,
        highest_mm=THICKEST_MM,
        required=False,
        help_text="By a needle scratched to the clay where it does not show; may stay empty.",
    )

    class Meta:
        model = GlazeCoat
        fields = ("glaze", "part", "way", "coats", "thickness_mm", "note")
        help_texts = {"glaze": "As its bucket or jar says."}
        widgets = {
            "glaze": forms.TextInput(attrs={"list": "glaze-names", "autocomplete": "off"}),
            "coats": FigureInput(attrs={"class": "short", "min": "1", "max": MOST_COATS}),
        }

    def __init__(self, *args, names, **kwargs):
        super().__init__(*args, **kwargs)
        self.names = list(names)
        self.fields["way"].choices = [("", "not told"), *GlazeCoat.Way.choices]

    def clean_glaze(self):
        """One spelling a glaze: the one that the section has used before."""
        typed = " ".join(self.cleaned_data["glaze"].split())
        known = {name.casefold(): name for name in self.names}
        return known.get(typed.casefold(), typed)

    def clean_coats(self):
        coats = self.cleaned_data["coats"]
        if coats is not None and not 1 <= coats <= MOST_COATS:
            raise forms.ValidationError(f"One to {MOST_COATS} coats; empty if nobody counted.")
        return coats


class GlazeCoatForm(CoatForm):
    """One glaze on one part of a piece."""

    def __init__(self, *args, piece, **kwargs):
        super().__init__(*args, **kwargs)
        self.piece = piece
        self.instance.piece = piece

    def clean(self):
        data = super().clean()
        others = self.piece.glazes.exclude(pk=self.instance.pk)
        glaze, part = data.get("glaze"), data.get("part")
        if glaze and part and others.filter(glaze=glaze, part=part).exists():
            self.add_error("glaze", "This glaze is noted there already. Change that note instead.")
        return data
