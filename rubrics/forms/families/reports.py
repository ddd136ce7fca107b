"""The words of a page for a family, and how a section's pages are printed."""

from __future__ import annotations

from django import forms

from rubrics.families.conference_times import FEWEST_MINUTES, MOST_MINUTES
from rubrics.families.languages import languages
from rubrics.models import Report
from studio.models import Student

A_TIME = "Write a time such as 17:40."
LARGEST_VERSION = 2**31 - 1
"""What a column of whole numbers holds in either database."""


class ReportForm(forms.ModelForm):
    """The teacher's words for one page; what is empty is taken from what was published."""

    family_language = forms.ChoiceField(label="The family reads", choices=languages)
    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=LARGEST_VERSION)

    class Meta:
        model = Report
        fields = ("strength", "strength_too", "next_step", "student_words", "words")
        widgets = {
            "strength": forms.Textarea(attrs={"rows": 2}),
            "strength_too": forms.Textarea(attrs={"rows": 2}),
            "next_step": forms.Textarea(attrs={"rows": 2}),
            "student_words": forms.Textarea(attrs={"rows": 4}),
            "words": forms.Textarea(attrs={"rows": 6}),
        }


ORDERS = (("name", "name"), ("code", "code of the latest piece"), ("time", "conference time"))


class PrintForm(forms.Form):
    """How to print a section."""

    order = forms.ChoiceField(label="In order of", choices=ORDERS, initial="name")
    paper = forms.ChoiceField(choices=(("letter", "Letter"), ("a4", "A4")), initial="letter")
    inks = forms.ChoiceField(
        label="Ink", choices=(("colour", "colour"), ("grey", "grey")), initial="colour"
    )
    more = forms.BooleanField(
        label="A second page for the pieces before", required=False, initial=True
    )


class FillTimesForm(forms.Form):
    """The day of a conference and how its times follow one another."""

    on = forms.DateField(
        label="Day",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Write a date such as 2026-11-30.", "required": "Which day?"},
    )
    first = forms.TimeField(
        label="First at",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": A_TIME, "required": "When does the first begin?"},
    )
    minutes = forms.IntegerField(
        label="Minutes each", initial=10, min_value=FEWEST_MINUTES, max_value=MOST_MINUTES
    )
    pause_from = forms.TimeField(
        label="Break from",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": A_TIME},
    )
    pause_until = forms.TimeField(
        label="until",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": A_TIME},
    )

    def clean(self):
        told = super().clean()
        pause = told.get("pause_from"), told.get("pause_until")
        if (pause[0] is None) != (pause[1] is None) and not self.errors:
            raise forms.ValidationError("A break wants both of its times, or neither.")
        told["pause"] = None if None in pause else pause
        return told


class TimesForm(forms.Form):
    """A conference time and a language beside each student."""

    def __init__(self, *args, students: list[Student], times: dict, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.students = students
        for student in students:
            self.fields[f"time-{student.pk}"] = forms.TimeField(
                label=f"Conference time of {student.name}",
                required=False,
                initial=times.get(student.pk),
                widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
                error_messages={"invalid": A_TIME},
            )
            self.fields[f"language-{student.pk}"] = forms.ChoiceField(
                label=f"The family of {student.name} reads",
                choices=languages,
                initial=student.family_language,
            )

    def times(self) -> dict:
        return {each.pk: self.cleaned_data[f"time-{each.pk}"] for each in self.students}

    def new_languages(self) -> list[Student]:
        """Students whose family's language was changed, with the new one set."""
        changed = []
        for student in self.students:
            told = self.cleaned_data[f"language-{student.pk}"]
            if told != student.family_language:
                student.family_language = told
                changed.append(student)
        return changed
