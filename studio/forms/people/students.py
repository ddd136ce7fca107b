"""Class lists, one student, and a student's login."""

from collections.abc import Mapping, Sequence

from django import forms
from django.contrib.auth import get_user_model

from studio.forms.web.versioned import VersionedMixin
from studio.models import Enrolment, Student
from studio.people import act_log, roster
from studio.people.roster import ADD, JOIN, LEAVE_OUT, MOVE, Case

STAYS, HAS_LEFT = "stays", "has left"

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


def answers_to(proposal: roster.RosterProposal, leaves: str = "") -> tuple[tuple[str, str], ...]:
    """What can be done with one line; ``leaves`` names the own sections it may be moved from."""
    answers = ANSWERS[proposal.case]
    if leaves:
        answers = (*answers[:1], (MOVE, f"Move here; leaves {leaves}"), *answers[1:])
    if proposal.case == Case.ALIKE and proposal.known is not None and proposal.known.section:
        answers = (*answers[:1], (JOIN, "Add: the same person"), *answers[1:])
    return answers


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
    """What to do with each line of a list, and with those the list does not have.

    ``leaves`` says for a student's key which own sections they would leave when moved.
    """

    def __init__(
        self,
        *args,
        proposals: list[roster.RosterProposal],
        absent: Sequence[Student] = (),
        leaves: Mapping[int, str] | None = None,
        **kwargs,
    ):
        super().__init__(*args, **kwargs)
        self.proposals, self.absent = proposals, absent
        for proposal in proposals:
            told = (leaves or {}).get(proposal.known.pk, "") if proposal.known else ""
            choices = answers_to(proposal, told if proposal.case == Case.ELSEWHERE else "")
            self.fields[f"line-{proposal.line.place}"] = _answer(
                f"What to do with {proposal.line.name}", choices
            )
        for student in absent:
            self.fields[f"absent-{student.pk}"] = _answer(
                f"What to do with {student.name}",
                ((STAYS, "Stays in the section"), (HAS_LEFT, "Has left; the work is kept")),
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

    def not_listed(self):
        """Students of the section whom the list does not have, each beside its field."""
        return [(student, self[f"absent-{student.pk}"]) for student in self.absent]

    def leaving(self) -> list[Student]:
        return [s for s in self.absent if self.cleaned_data[f"absent-{s.pk}"] == HAS_LEFT]

    def answers(self) -> list[tuple[roster.RosterProposal, str]]:
        return [
            (proposal, self.cleaned_data[f"line-{proposal.line.place}"])
            for proposal in self.proposals
        ]


def _answer(label: str, choices) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=choices,
        initial=choices[0][0],
        widget=forms.Select(attrs={"class": "medium"}),
    )


class StudentForm(VersionedMixin, forms.ModelForm):
    """Name, number, and the private note of each own section that the student is in now."""

    class Meta:
        model = Student
        fields = ("name", "school_id")
        error_messages = {"school_id": {"unique": "Another student has this school number."}}

    def __init__(self, *args, enrolments: Sequence[Enrolment], **kwargs):
        self.enrolments = {f"note-{each.section_id}": each for each in enrolments}
        super().__init__(*args, **kwargs)
        for name, each in self.enrolments.items():
            self.fields[name] = Enrolment._meta.get_field("note").formfield(
                widget=forms.Textarea(attrs={"rows": 4}), initial=each.note
            )
            if len(self.enrolments) > 1:
                self.fields[name].label = f"Private note on access, {each.section.name}"

    def standing(self) -> dict[str, str]:
        notes = {name: each.note for name, each in self.enrolments.items()}
        return super().standing() | notes

    def clean_school_id(self):
        number = " ".join(self.cleaned_data["school_id"].split())
        others = Student.objects.exclude(pk=self.instance.pk)
        if number and others.filter(school_id=number).exists():
            raise forms.ValidationError(
                "Another student has this school number. Check it in the school's register."
            )
        return number

    def keep(self, *, by) -> None:
        """Save what changed, with a line in the log that says what it was, but no note."""
        changed = [name for name in self._meta.fields if name in self.changed_data]
        self.save()
        if changed:
            said = ", ".join(str(self.fields[name].label).lower() for name in changed)
            act_log.note(act_log.Kind.CHANGED, [self.instance], by=by, detail=said)
        for name, each in self.enrolments.items():
            if each.note != self.cleaned_data[name]:
                each.note = self.cleaned_data[name]
                each.save(update_fields=["note"])
                act_log.note_in_section(act_log.Kind.NOTE, self.instance, each.section, by=by)


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
