"""Photographs of a batch: taken in, filed, and the paper they are taken on."""

from django import forms

from studio.forms.photos.files import PHOTOS
from studio.forms.web.fields import (
    LengthField,
    ManyFilesField,
    ManyFilesInput,
    RowsField,
    UnitMixin,
)
from studio.models import MatPrint, Photo, Stage
from studio.models.photos import MAT_BAR_RANGE_MM

PICTURES = "image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif"


class IntakeForm(forms.Form):
    """Photos of any piece of a section."""

    files = ManyFilesField(
        **PHOTOS,
        widget=ManyFilesInput(attrs={"accept": PICTURES}),
        help_text="JPEG, PNG, WebP or HEIC, as the phone or camera wrote them.",
    )


class ChangeManyForm(forms.Form):
    """The same said of several photos at once; what is left empty stays as it is."""

    photos = RowsField(
        queryset=Photo.objects.none(),
        error_messages={
            "required": "Tick the photos that this is said of.",
            "invalid_choice": "One of these photos is not here any more. Load the page again.",
        },
    )
    piece = forms.ModelChoiceField(
        queryset=None,
        required=False,
        empty_label="the piece they have",
        label="File with",
        error_messages={"invalid_choice": "This piece is not here any more. Load the page again."},
    )
    stage = forms.ChoiceField(
        choices=[("", "the stage they have"), *Stage.choices], required=False, label="Stage"
    )
    view = forms.ChoiceField(
        choices=[("", "the view they have"), *Photo.View.choices], required=False, label="Taken"
    )

    def __init__(self, *args, photos, pieces, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["photos"].queryset = photos
        self.fields["piece"].queryset = pieces

    def clean(self):
        data = super().clean()
        if "photos" in data and not any(data.get(key) for key in ("piece", "stage", "view")):
            raise forms.ValidationError("Choose a piece, a stage or a view for the ticked photos.")
        return data


class CheckBarForm(UnitMixin, forms.ModelForm):
    """How long the mat's check bar came out."""

    bar_mm = LengthField(
        label="The bar measures",
        lowest_mm=MAT_BAR_RANGE_MM[0],
        highest_mm=MAT_BAR_RANGE_MM[1],
        help_text="A true print has 100 mm. Sizes from photos are corrected by what you write.",
        error_messages={"required": "Write what the ruler says, such as 98.5 mm."},
    )

    class Meta:
        model = MatPrint
        fields = ("bar_mm",)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # A bar is read off a ruler in millimetres whatever the class measures cups in.
        self.take_unit("mm")
