"""The words of a page for a family, and how a section's pages are printed."""

from __future__ import annotations

from django import forms

from rubrics.families.languages import languages
from rubrics.models import Report
from studio.models import Student

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
                error_messages={"invalid": "Write a time such as 17:40."},
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
