"""Removing a student: the name is written out, so that nobody does it by one press."""

from django import forms

from studio.models import Student


class RemovalForm(forms.Form):
    """The name of the student who goes."""

    name = forms.CharField(
        label="Write the student's name",
        max_length=Student._meta.get_field("name").max_length,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Write the name to confirm."},
    )

    def __init__(self, *args, student: Student, **kwargs):
        super().__init__(*args, **kwargs)
        self.student = student
        self.fields["name"].help_text = f"As it stands here: {student.name}"

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        if name != self.student.name:
            raise forms.ValidationError(
                f"This is not the name of the student who would go: {self.student.name}."
            )
        return name
