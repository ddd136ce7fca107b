"""What a piece is meant to be, in its maker's choices and words."""

from django import forms

from studio.forms.web.fields import FigureInput
from studio.forms.web.versioned import VersionedMixin
from studio.models import Piece
from studio.ware.hands import LEAST_FINGER_MM, MOST_FINGER_MM


class IntentForm(VersionedMixin, forms.ModelForm):
    """A title, four choices and a hand that the evidence can speak to, and free words."""

    class Meta:
        model = Piece
        fields = (
            "title",
            "intent_seam",
            "intent_accent",
            "intent_rim",
            "intent_handle",
            "finger_breadth_mm",
            "intent",
        )
        labels = {
            "intent_seam": "The seam",
            "intent_accent": "Where the eye should go first",
            "intent_rim": "The rim",
            "intent_handle": "The handle",
            "finger_breadth_mm": "How broad is your index finger, at its middle joint? [mm]",
            "intent": "What do you want of this piece?",
        }
        help_texts = {
            "finger_breadth_mm": "Only if the handle is for your hand or one you can measure. "
            "Empty: as the project plans it.",
            "intent": "How it should feel, who it is for, what you try for the first time.",
        }
        widgets = {
            "finger_breadth_mm": FigureInput(attrs={"class": "short", "step": "0.5"}),
            "intent": forms.Textarea(attrs={"rows": 4}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("intent_seam", "intent_accent", "intent_rim", "intent_handle"):
            field = self.fields[name]
            field.choices = [("", "not decided yet"), *[c for c in field.choices if c[0]]]

    def clean_finger_breadth_mm(self):
        breadth = self.cleaned_data["finger_breadth_mm"]
        if breadth is not None and not LEAST_FINGER_MM <= breadth <= MOST_FINGER_MM:
            raise forms.ValidationError(
                f"A finger is {LEAST_FINGER_MM:g} to {MOST_FINGER_MM:g} mm broad; "
                "measure across the middle joint again."
            )
        return breadth
