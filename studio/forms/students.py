"""Class lists, one student, and a student's login."""

from django import forms
from django.contrib.auth import get_user_model

from studio import roster
from studio.models import Student
from studio.roster import Case

ADD, JOIN, LEAVE_OUT = "add", "join", "leave out"

# What can be done with a pasted line, the first of each being what is done unless told otherwise.
ANSWERS = {
    Case.NEW: ((ADD, "Add"), (LEAVE_OUT, "Leave out")),
    Case.ALIKE: ((ADD, "Add: another person"), (LEAVE_OUT, "Leave out")),
    Case.HERE: ((LEAVE_OUT, "Leave out"), (ADD, "Add: another person of this name")),
    Case.LEFT: ((JOIN, "Let come back"), (ADD, "Add: another person"), (LEAVE_OUT, "Leave out")),
    Case.ELSEWHERE: (
        (JOIN, "Add: the same person"),
        (ADD, "Add: another person"),
        (LEAVE_OUT, "Leave out"),
    ),
    Case.TWICE: ((LEAVE_OUT, "Leave out"), (ADD, "Add: another person of this name")),
    Case.CLASH: ((LEAVE_OUT, "Leave out"),),
}


class PasteForm(forms.Form):
    """Many students at once, a line each. ``lines`` are the parsed lines once valid."""

    names = forms.CharField(
        label="Class list",
        max_length=30_000,
        widget=forms.Textarea(
            attrs={
                "rows": 8,
                "placeholder": "Amara Okafor\nBao Nguyen, 20418",
                "spellcheck": "false",
            }
        ),
        help_text="One student a line: name, or name and school number with a comma between. "
        "Two columns copied from a spreadsheet work as well.",
        error_messages={"required": "Paste or write at least one name."},
    )

    def clean_names(self):
        text = self.cleaned_data["names"]
        try:
            self.lines = roster.parse(text)
        except roster.RosterError as error:
            raise forms.ValidationError(str(error)) from None
        return text


class RosterForm(forms.Form):
    """What to do with each pasted line. Take the answers with ``answers``."""

    def __init__(self, *args, proposals: list[roster.Proposal], **kwargs):
        super().__init__(*args, **kwargs)
        self.proposals = proposals
        for proposal in proposals:
            self.fields[f"line-{proposal.line.place}"] = forms.ChoiceField(
                label=f"What to do with {proposal.line.name}",
                choices=ANSWERS[proposal.case],
                initial=ANSWERS[proposal.case][0][0],
                widget=forms.Select(attrs={"class": "medium"}),
            )

    def _rows(self, *, are_new: bool):
        return [
            (proposal, self[f"line-{proposal.line.place}"])
            for proposal in self.proposals
            if (proposal.case == Case.NEW) == are_new
        ]

    def asked(self):
        """The lines that need a look, each beside its field."""
        return self._rows(are_new=False)

    def plain(self):
        """The lines that are plainly new, each beside its field."""
        return self._rows(are_new=True)

    def answers(self) -> list[tuple[roster.Proposal, str]]:
        return [
            (proposal, self.cleaned_data[f"line-{proposal.line.place}"])
            for proposal in self.proposals
        ]


class StudentForm(forms.ModelForm):
    """Name, number and the private note."""

    class Meta:
        model = Student
        fields = ("name", "school_id", "accommodations")
        widgets = {"accommodations": forms.Textarea(attrs={"rows": 4})}
        error_messages = {"school_id": {"unique": "Another student has this school number."}}

    def clean_school_id(self):
        number = " ".join(self.cleaned_data["school_id"].split())
        others = Student.objects.exclude(pk=self.instance.pk)
        if number and others.filter(school_id=number).exists():
            raise forms.ValidationError(
                "Another student has this school number. Check it in the school's register."
            )
        return number


class LoginForm(forms.Form):
    """The user name of a new login."""

    username = forms.CharField(
        label="User name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
        error_messages={"required": "Write a user name."},
    )

    def clean_username(self):
        name = self.cleaned_data["username"].strip().lower()
        for check in get_user_model()._meta.get_field("username").validators:
            try:
                check(name)
            except forms.ValidationError:
                raise forms.ValidationError(
                    "A user name has letters, figures and . + - _ only, without a space."
                ) from None
        return name
