"""Photographs in, and what is said of one."""

from django import forms

from studio.models import Photo, Stage

MOST_AT_ONCE = 24


class ManyFilesInput(forms.ClearableFileInput):
    """Several files in one input."""

    allow_multiple_selected = True


class ManyFilesField(forms.FileField):
    """Every file of the input, as a list."""

    widget = ManyFilesInput

    def clean(self, data, initial=None):
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files:
            raise forms.ValidationError("Choose at least one photo.")
        if len(files) > MOST_AT_ONCE:
            raise forms.ValidationError(
                f"These are {len(files)} photos; up to {MOST_AT_ONCE} are taken at once."
            )
        return list(files)


class PhotosForm(forms.Form):
    """New photos of one piece."""

    files = ManyFilesField(
        label="Photos",
        widget=ManyFilesInput(
            attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,image/heif"}
        ),
        help_text="JPEG, PNG, WebP or HEIC; several at once. "
        "Place and camera are taken out of the file before it is kept.",
    )
    stage = forms.ChoiceField(choices=Stage, label="The piece is")
    view = forms.ChoiceField(choices=Photo.View, label="Taken", widget=forms.RadioSelect)


class PhotoForm(forms.ModelForm):
    """What is said of a photo."""

    class Meta:
        model = Photo
        fields = ("view", "stage", "caption")
        labels = {"view": "Taken", "stage": "The piece is"}
