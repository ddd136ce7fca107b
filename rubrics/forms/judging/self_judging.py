"""The rubric as a student fills it in for the own piece."""

from django import forms

from rubrics.forms.judging.levels import LevelsForm
from rubrics.judging.marking.mark_record import STEP_LENGTH
from rubrics.judging.self_judging import OwnJudgement

WORDS_LENGTH = 600


class OwnJudgementForm(LevelsForm):
    """A level a criterion, each with its descriptor; what worked; what to try."""

    worked = forms.CharField(
        label="What worked",
        required=False,
        max_length=WORDS_LENGTH,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="One sentence. Say what you see or what you measured.",
    )
    to_try = forms.CharField(
        label="What to try next time",
        required=False,
        max_length=STEP_LENGTH,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="One thing you can do with your hands.",
    )

    def __init__(self, *args, criteria, judged=None, **kwargs):
        if judged is not None:
            kwargs |= {
                "chosen": judged.levels,
                "initial": {"worked": judged.worked, "to_try": judged.to_try},
            }
        super().__init__(*args, criteria=criteria, **kwargs)

    def judged(self) -> OwnJudgement:
        """What was filled in."""
        return OwnJudgement(self.chosen(), self.cleaned_data["worked"], self.cleaned_data["to_try"])

    def clean(self):
        data = super().clean()
        # What was judged before can be taken back whole; nothing at all is no judgement.
        if not self.initial and not any(value for value in data.values()):
            raise forms.ValidationError("Choose a level for one thing at least, or write a word.")
        return data
