"""One key pressed on a judging page, and the words for the student."""

from __future__ import annotations

from django import forms

from rubrics.judging.marking.mark_record import REASON_LENGTH, STEP_LENGTH, WHY_LENGTH
from rubrics.models import Mark

LEVELS = [(number, number) for number in (4, 3, 2, 1)]


class MarkForm(forms.Form):
    """What one save of a mark asks for: one action, and what goes along with it."""

    version = forms.IntegerField(
        min_value=0,
        error_messages={"required": "The page did not say which version it showed: reload it."},
    )
    level = forms.TypedChoiceField(choices=LEVELS, coerce=int, empty_value=None, required=False)
    accept = forms.BooleanField(required=False)
    excused = forms.BooleanField(required=False)
    clear = forms.BooleanField(required=False)
    reason = forms.ChoiceField(choices=[("", ""), *Mark.Reason.choices], required=False)
    reason_text = forms.CharField(max_length=REASON_LENGTH, required=False)
    note = forms.CharField(required=False)
    why = forms.CharField(max_length=WHY_LENGTH, required=False)

    ACTIONS = ("level", "accept", "excused", "clear")

    def clean(self):
        cleaned = super().clean()
        asked = [name for name in self.ACTIONS if cleaned.get(name)]
        if len(asked) > 1:
            raise forms.ValidationError("Choose one thing: a level, or to excuse the piece.")
        if not asked and not any(self.says(name) for name in ("reason", "reason_text", "note")):
            raise forms.ValidationError("Nothing was chosen: press 1 to 4, or give a reason.")
        cleaned["action"] = asked[0] if asked else "reason"
        return cleaned

    def says(self, name: str) -> bool:
        """Whether the field was sent at all; an empty one that was sent clears what stood."""
        return name in self.data


class WordsForm(forms.Form):
    """The teacher's words and the one next step, with what the page showed of them."""

    words = forms.CharField(required=False)
    next_step = forms.CharField(required=False, max_length=STEP_LENGTH)
    seen_words = forms.CharField(required=False)
    seen_next_step = forms.CharField(required=False)
    why = forms.CharField(max_length=WHY_LENGTH, required=False)


def seen_suggestions(text: str) -> dict[int, int] | None:
    """Read "7:3,9:4", piece by suggested level as the page showed them; None for an empty page.

    Raises
    ------
    ValueError
        Anything else.
    """
    if not text:
        return None
    return {int(piece): int(level) for piece, level in (p.split(":") for p in text.split(","))}
