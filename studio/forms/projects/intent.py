"""What a piece is meant to be, in its maker's choices and words."""

from django import forms

from studio.models import Piece


class IntentForm(forms.ModelForm):
    """A title, three choices that the evidence can speak to, and free words."""

    class Meta:
        model = Piece
        fields = ("title", "intent_seam", "intent_accent", "intent_handle", "intent")
        labels = {
            "intent_seam": "The seam",
            "intent_accent": "Where the eye should go first",
            "intent_handle": "The handle",
            "intent": "What do you want of this piece?",
        }
        help_texts = {
            "intent": "How it should feel, who it is for, what you try for the first time."
        }
        widgets = {"intent": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("intent_seam", "intent_accent", "intent_handle"):
            field = self.fields[name]
            field.choices = [("", "not decided yet"), *[c for c in field.choices if c[0]]]
