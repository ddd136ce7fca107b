"""What a teacher changes in the last look at one piece: sentences, reasons, whose doing."""

from __future__ import annotations

from django import forms

from rubrics.forms.judging.judging import WordsForm
from rubrics.judging.last_look import LastLook
from rubrics.judging.marking.mark_record import REASON_LENGTH, STRENGTH_LENGTH
from rubrics.models import Mark
from studio.models import Outcome


class LastLookForm(WordsForm):
    """The sentences that go out, reasons where they are missing, whose doing an outcome was."""

    version = forms.IntegerField(min_value=0)
    strength = forms.CharField(required=False, max_length=STRENGTH_LENGTH)
    seen_strength = forms.CharField(required=False)

    def __init__(self, *args, look: LastLook, **kwargs):
        super().__init__(*args, **kwargs)
        self.look = look
        for each in look.unreasoned:
            pk = each.criterion.pk
            self.fields[f"reason_{pk}"] = forms.ChoiceField(
                choices=[("", ""), *Mark.Reason.choices], required=False
            )
            self.fields[f"reason_text_{pk}"] = forms.CharField(
                max_length=REASON_LENGTH, required=False
            )
        for outcome in look.to_rule:
            self.fields[f"doing_{outcome.pk}"] = forms.ChoiceField(
                choices=Outcome.Doing.choices, required=False
            )

    def sentences(self) -> dict[str, str]:
        """What :func:`rubrics.judging.marking.set_words` takes."""
        names = ("words", "next_step", "strength")
        return {each: self.cleaned_data[each] for name in names for each in (name, f"seen_{name}")}

    def reasons(self) -> list[tuple]:
        """Criteria with the reason that was given, those without one left out."""
        given = [
            (
                each.criterion,
                self.cleaned_data[f"reason_{each.criterion.pk}"],
                self.cleaned_data[f"reason_text_{each.criterion.pk}"],
            )
            for each in self.look.unreasoned
        ]
        return [(criterion, reason, text) for criterion, reason, text in given if reason or text]

    def rulings(self) -> list[tuple[Outcome, str]]:
        """Outcomes with whose doing each is held to be."""
        pairs = [(each, self.cleaned_data[f"doing_{each.pk}"]) for each in self.look.to_rule]
        return [(outcome, doing) for outcome, doing in pairs if doing]
