"""Photographs in, and what is said of one."""

from django import forms

from studio.forms.web.fields import ManyFilesField, ManyFilesInput
from studio.models import Photo, Stage

MOST_AT_ONCE = 24
PHOTOS = {
    "label": "Photos",
    "most": MOST_AT_ONCE,
    "allow_empty_file": True,  # the reader of pictures says what is wrong with each
    "error_messages": {"required": "Choose at least one photo."},
}


class PhotosForm(forms.Form):
    """New photos of one piece."""

    files = ManyFilesField(
        **PHOTOS,
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
