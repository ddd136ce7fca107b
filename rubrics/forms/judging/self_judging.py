"""The rubric as a student fills it in for the own piece."""

from django import forms

from rubrics.judging.marking.mark_record import STEP_LENGTH
from rubrics.judging.self_judging import OwnJudgement

WORDS_LENGTH = 600


class OwnJudgementForm(forms.Form):
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
            kwargs["initial"] = {"worked": judged.worked, "to_try": judged.to_try} | {
                f"level_{pk}": str(number) for pk, number in judged.levels.items()
            }
        super().__init__(*args, **kwargs)
        self.criteria = criteria
        for each in criteria:
            self.fields[f"level_{each.pk}"] = forms.ChoiceField(
                label=each.name,
                required=False,
                widget=forms.RadioSelect,
                choices=[
                    *(
                        (str(level.number), f"{level.name}: {level.descriptor}")
                        for level in sorted(each.levels.all(), key=lambda level: -level.number)
                    ),
                    ("", "Not judged"),
                ],
            )

    def levels(self):
        """The criteria's fields, in their order."""
        return [self[f"level_{each.pk}"] for each in self.criteria]

    def judged(self) -> OwnJudgement:
        """What was filled in."""
        data = self.cleaned_data
        return OwnJudgement(
            {
                each.pk: int(data[f"level_{each.pk}"])
                for each in self.criteria
                if data.get(f"level_{each.pk}")
            },
            data["worked"],
            data["to_try"],
        )

    def clean(self):
        data = super().clean()
        # What was judged before can be taken back whole; nothing at all is no judgement.
        if not self.initial and not any(value for value in data.values()):
            raise forms.ValidationError("Choose a level for one thing at least, or write a word.")
        return data
