"""What a register wants of the results, and a rubric that comes in."""

from django import forms

from rubrics.exports.case import MOST_BYTES
from rubrics.exports.oneroster import RegisterKeys
from studio.models.people import SOURCED_ID_LENGTH


class AskedForm(forms.Form):
    """Keys of the school's register for these results."""

    category = forms.CharField(
        label="Its key of the category",
        max_length=SOURCED_ID_LENGTH,
        required=False,
        help_text="categorySourcedId. Empty: one of our own, which the register may not know.",
    )
    period = forms.CharField(
        label="Its key of the grading period",
        max_length=SOURCED_ID_LENGTH,
        required=False,
        help_text="gradingPeriodSourcedId. Empty: one of our own.",
    )
    only_scored = forms.BooleanField(
        label="Leave out who has no score",
        required=False,
        help_text="For a register that refuses a row without one. No 0 is ever made up.",
    )

    def asked(self) -> RegisterKeys:
        return RegisterKeys(**self.cleaned_data)


class CaseForm(forms.Form):
    """A rubric as CASE JSON."""

    file = forms.FileField(
        label="CASE file",
        help_text="JSON with a CFRubric.",
        widget=forms.ClearableFileInput(attrs={"accept": ".json,application/json"}),
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has more than {MOST_BYTES // 1024 // 1024} MB; a rubric is small."
            )
        return file
