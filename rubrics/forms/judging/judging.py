"""One key pressed on a judging page, and the words for the student."""

from __future__ import annotations

from django import forms

from rubrics.judging.marking.mark_record import REASON_LENGTH, STEP_LENGTH, WHY_LENGTH
from rubrics.models import Mark

LEVELS = [(number, number) for number in (4, 3, 2, 1)]
EXCUSED, NONE = "excused", "none"
CHOSEN = [*((str(number), str(number)) for number, _ in LEVELS), (EXCUSED, EXCUSED), (NONE, NONE)]
"""What a page can show as chosen for a mark."""


class MarkForm(forms.Form):
    """What one save of a mark asks for: one decision, and what goes along with it.

    A decision is taken only together with ``chosen``, what the page showed as chosen when it was
    sent: a level that the reader did not see chosen is refused, not stored. A form without a
    script sends ``chosen`` alone, its checked field; a script sends the key's decision beside it.
    """

    version = forms.IntegerField(
        min_value=0,
        error_messages={"required": "The page did not say which version it showed: reload it."},
    )
    level = forms.TypedChoiceField(choices=LEVELS, coerce=int, empty_value=None, required=False)
    chosen = forms.ChoiceField(choices=[("", ""), *CHOSEN], required=False)
    excused = forms.BooleanField(required=False)
    clear = forms.BooleanField(required=False)
    reason = forms.ChoiceField(choices=[("", ""), *Mark.Reason.choices], required=False)
    reason_text = forms.CharField(max_length=REASON_LENGTH, required=False)
    note = forms.CharField(required=False)
    why = forms.CharField(max_length=WHY_LENGTH, required=False)

    ACTIONS = ("level", "excused", "clear")
    BESIDE = ("reason", "reason_text", "note")

    def clean(self):
        cleaned = super().clean()
        asked = [name for name in self.ACTIONS if cleaned.get(name)]
        if len(asked) > 1:
            raise forms.ValidationError("Choose one thing: a level, or to excuse the piece.")
        chosen = cleaned.get("chosen")
        if asked:
            self._refuse_unseen(self._decision(asked[0]), chosen)
        elif not chosen and not any(self.says(name) for name in self.BESIDE):
            raise forms.ValidationError("Nothing was chosen: press 1 to 4, or give a reason.")
        cleaned["action"] = self._action(asked, chosen)
        if cleaned["action"] == "level" and not asked:
            cleaned["level"] = int(chosen)
        return cleaned

    def _decision(self, action: str) -> str:
        """A decision as the word by which a page shows it chosen."""
        words = {"excused": EXCUSED, "clear": NONE}
        return words.get(action) or str(self.cleaned_data["level"])

    def _action(self, asked: list[str], chosen: str) -> str:
        if asked or not chosen:
            return asked[0] if asked else "reason"
        return {EXCUSED: "excused", NONE: "clear"}.get(chosen, "level")

    @staticmethod
    def _refuse_unseen(decision: str, chosen: str) -> None:
        if decision == chosen:
            return
        said = {EXCUSED: "excused", NONE: "not judged", "": "nothing"}
        wanted, shown = (said.get(word, f"level {word}") for word in (decision, chosen or ""))
        raise forms.ValidationError(
            f"Not saved: {wanted} was sent while the page showed {shown} as chosen. "
            "What was stored stands; reload the page and choose again."
        )

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


def seen_ids(text: str) -> frozenset[int] | None:
    """Read "7,9", ids that a page showed; None where the page says nothing.

    Raises
    ------
    ValueError
        Anything else.
    """
    return frozenset(int(each) for each in text.split(",")) if text else None


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
