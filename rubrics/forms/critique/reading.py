"""One box as it is sent by a script, and all five as a form without one."""

from __future__ import annotations

from django import forms

from rubrics.critique.writing import Written
from rubrics.models import Remark
from rubrics.models.critique import MOST_LETTERS


class BoxForm(forms.Form):
    """The words of a box and where they point. Nothing is stripped: a draft stays as it was."""

    text = forms.CharField(
        required=False,
        strip=False,
        max_length=MOST_LETTERS,
        error_messages={
            "max_length": f"A box holds {MOST_LETTERS} letters; this has more. Cut it down."
        },
    )
    place = forms.ChoiceField(choices=[("", ""), *Remark.Place.choices], required=False)
    photo = forms.IntegerField(required=False, min_value=1)
    x = forms.FloatField(required=False)
    y = forms.FloatField(required=False)
    version = forms.IntegerField(
        min_value=0,
        error_messages={"required": "The page did not say which version it showed: reload it."},
    )

    def written(self) -> Written:
        data = self.cleaned_data
        text = data["text"].replace("\r\n", "\n")
        return Written(text, data["place"], data["photo"], data["x"], data["y"])

    def sentence(self) -> str:
        """All that is wrong, as a sentence."""
        return " ".join(each for errors in self.errors.values() for each in errors)


def box_forms(posted) -> dict[str, BoxForm]:
    """The boxes that a page sent, by key: those whose version stands in it."""
    return {
        box: BoxForm(posted, prefix=box) for box in Remark.Box.values if f"{box}-version" in posted
    }
