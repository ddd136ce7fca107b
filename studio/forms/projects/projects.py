"""Projects, their pieces' codes, and stages for many at once."""

import re

from django import forms

from studio.forms.web.fields import DateInput, RowsField
from studio.models import Clay, Project, Stage
from studio.models.pieces import CODE_LENGTH
from studio.projects.pieces import why_taken
from studio.projects.starter_plans import STARTER_PLANS

CODE = re.compile(r"^[A-Za-z0-9][A-Za-z0-9-]*\Z")
PREFIX_LENGTH = CODE_LENGTH - 4


class ProjectForm(forms.ModelForm):
    """A section's task."""

    class Meta:
        model = Project
        fields = ("number", "title", "brief", "begun_on", "due_on")
        labels = {"begun_on": "Begins on", "due_on": "Due on"}
        widgets = {
            "number": forms.NumberInput(attrs={"class": "short", "min": "1"}),
            "brief": forms.Textarea(attrs={"rows": 4}),
            "begun_on": DateInput(),
            "due_on": DateInput(),
        }

    def __init__(self, *args, section, **kwargs):
        super().__init__(*args, **kwargs)
        self.section = section
        self.instance.section = section

    def clean_number(self):
        number = self.cleaned_data["number"]
        others = self.section.projects.exclude(pk=self.instance.pk)
        if others.filter(number=number).exists():
            raise forms.ValidationError(
                f"The section has a project {number} already. Take the next number."
            )
        return number

    def clean(self):
        data = super().clean()
        begun, due = data.get("begun_on"), data.get("due_on")
        if begun and due and due < begun:
            self.add_error("due_on", "It is due before it begins. Check the two dates.")
        return data


class NewProjectForm(ProjectForm):
    """A new project, from a starter plan."""

    starter = forms.ChoiceField(
        label="Start from",
        choices=[(plan.key, plan.title) for plan in STARTER_PLANS.values()],
        widget=forms.RadioSelect,
        initial=next(iter(STARTER_PLANS)),
        error_messages={"required": "Choose the plan to start from; every size can be changed."},
    )
    clay = forms.ModelChoiceField(
        Clay.objects.none(),
        required=False,
        empty_label="not chosen yet",
        help_text="Its shrinkage tells the wet sizes from the fired ones.",
    )

    field_order = ("starter", "number", "title", "clay", "begun_on", "due_on", "brief")

    class Meta(ProjectForm.Meta):
        help_texts = {
            "title": "Leave it empty to take the plan's.",
            "brief": "What the class is asked to make. Leave it empty to take the plan's.",
        }

    def __init__(self, *args, clays, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["clay"].queryset = clays
        self.fields["title"].required = False

    def clean(self):
        data = super().clean()
        plan = STARTER_PLANS.get(data.get("starter"))
        if plan:
            data["title"] = data.get("title") or plan.title
            data["brief"] = data.get("brief") or plan.brief
        return data


class PrefixForm(forms.Form):
    """How the proposed codes begin."""

    prefix = forms.RegexField(
        CODE,
        label="Codes begin with",
        strip=True,
        max_length=PREFIX_LENGTH,
        widget=forms.TextInput(attrs={"class": "short", "autocapitalize": "characters"}),
        error_messages={"invalid": "Letters, figures and hyphens, a letter or figure first."},
    )


class CodesForm(forms.Form):
    """A code for each student's piece; an empty one means no piece."""

    def __init__(self, *args, section, students, proposed, **kwargs):
        super().__init__(*args, **kwargs)
        self.section, self.students = section, students
        for student in students:
            self.fields[f"code-{student.pk}"] = forms.RegexField(
                CODE,
                label=student.name,
                required=False,
                strip=True,
                max_length=CODE_LENGTH,
                initial=proposed.get(student.pk, ""),
                widget=forms.TextInput(
                    attrs={"class": "short", "autocomplete": "off", "spellcheck": "false"}
                ),
                error_messages={"invalid": "Letters, figures and hyphens only."},
            )

    def rows(self):
        """Each student beside the field of the code."""
        return [(student, self[f"code-{student.pk}"]) for student in self.students]

    def codes(self) -> list[tuple]:
        """The students who get a piece, with its code."""
        pairs = [(s, self.cleaned_data.get(f"code-{s.pk}")) for s in self.students]
        return [(student, code) for student, code in pairs if code]

    def clean(self):
        data = super().clean()
        taken = why_taken(self.section, (code for _, code in self.codes()))
        for student, code in self.codes():
            if where := taken.get(code.casefold()):
                self.add_error(
                    f"code-{student.pk}",
                    f"{code} stands on another piece of {where}. Take another code.",
                )
            taken[code.casefold()] = "this section"
        if not self.errors and not self.codes():
            raise forms.ValidationError("No student has a code, so there is nothing to begin.")
        return data


class StageForm(forms.Form):
    """A stage for the pieces that are ticked."""

    stage = forms.ChoiceField(choices=Stage, label="are now")
    pieces = RowsField(
        None,
        error_messages={
            "required": "Tick the pieces that have come further.",
            "invalid_choice": "One of the pieces is not in this project.",
        },
    )

    def __init__(self, *args, project, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pieces"].queryset = project.pieces.all()
