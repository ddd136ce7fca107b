"""Ticked remarks of the gate, and a maker's answer to one."""

from __future__ import annotations

from django import forms

from rubrics.critique.answering import Answered
from rubrics.models import Remark
from rubrics.models.critique import WHY_LENGTH
from studio.web.row_ids import row_id


def seen_remarks(texts) -> list[tuple[int, int]]:
    """Pairs of id and version from “12:3”; what is anything else is left out."""
    found = []
    for text in texts:
        remark, _colon, version = text.partition(":")
        pair = (row_id(remark), row_id(version))
        if None not in pair:
            found.append(pair)
    return found


class AnswerForm(forms.Form):
    """Kept, changed or not, and why; before and after from the piece's photos."""

    answer = forms.ChoiceField(
        choices=Remark.Answer.choices,
        widget=forms.RadioSelect,
        label="What you make of it",
        error_messages={"required": "Choose one: kept, changed, or not taken up."},
    )
    why = forms.CharField(
        label="Why, in a few words",
        required=False,
        max_length=WHY_LENGTH,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    before = forms.TypedChoiceField(label="Before", required=False, coerce=int, empty_value=None)
    after = forms.TypedChoiceField(label="After", required=False, coerce=int, empty_value=None)
    helped = forms.BooleanField(label="This one helped me", required=False)

    def __init__(self, *args, photos, remark, **kwargs):
        kwargs.setdefault("prefix", f"r{remark.pk}")
        kwargs.setdefault(
            "initial",
            {
                "answer": remark.answer,
                "why": remark.why,
                "before": remark.before_id,
                "after": remark.after_id,
                "helped": remark.helped,
            },
        )
        super().__init__(*args, **kwargs)
        choices = [("", "no photo"), *((photo.pk, _told(photo, n)) for n, photo in photos)]
        self.fields["before"].choices = self.fields["after"].choices = choices

    def answered(self) -> Answered:
        data = self.cleaned_data
        return Answered(data["answer"], data["why"], data["before"], data["after"], data["helped"])

    def sentence(self) -> str:
        """All that is wrong, as a sentence."""
        return " ".join(each for errors in self.errors.values() for each in errors)


def _told(photo, number: int) -> str:
    day = f", {photo.taken_at:%d %b}" if photo.taken_at else ""
    stage = f", {photo.stage}" if photo.stage else ""
    return f"Photo {number}: {photo.get_view_display()}{stage}{day}"
