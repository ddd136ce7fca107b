"""Class lists from files: the file, what its columns hold, which class goes where."""

from collections.abc import Sequence

from django import forms

from studio.forms.web.fields import ManyFilesField, ManyFilesInput
from studio.models import Section
from studio.people.oneroster import MOST_BYTES as MOST_PACKAGE_BYTES
from studio.people.oneroster import RosterClass
from studio.people.roster_file import LABELS, Layout, RosterColumn
from studio.people.tables import MOST_BYTES, Table

MEGA = 1024 * 1024
MOST_FILES = 20
EXAMPLES = 3
"""So many cells of a column stand beside the question what it holds."""


class ListForm(forms.Form):
    """A class list as CSV or XLSX."""

    file = forms.FileField(
        label="Class list",
        help_text="CSV or XLSX, as the school's office or a spreadsheet saves it.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.xlsx"}),
        error_messages={
            "empty": "The file is empty. Choose another.",
            "required": "Choose a file.",
        },
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has more than {MOST_BYTES // MEGA} MB. Keep only the class list in it."
            )
        return file


class LayoutForm(forms.Form):
    """What each column of the list holds, filled in by the guess."""

    has_head = forms.BooleanField(label="The first row holds headings", required=False)

    def __init__(self, *args, table: Table, layout: Layout, **kwargs):
        super().__init__(*args, **kwargs)
        self.table = table
        self.fields["has_head"].initial = layout.has_head
        for at, column in enumerate(layout.columns):
            self.fields[f"column-{at}"] = forms.ChoiceField(
                label=f"Column {at + 1} holds the",
                choices=list(LABELS.items()),
                initial=column,
                required=False,
                widget=forms.Select(attrs={"class": "medium"}),
            )

    def columns(self):
        """Each column's field beside its first cells."""
        for at in range(self.table.width):
            cells = [
                row.cells[at] for row in self.table.rows[: EXAMPLES + 1] if at < len(row.cells)
            ]
            yield self[f"column-{at}"], cells

    def layout(self) -> Layout:
        """What was chosen, once valid."""
        chosen = [RosterColumn(self.cleaned_data[f"column-{at}"]) for at in range(self.table.width)]
        return Layout(tuple(chosen), self.cleaned_data["has_head"])


class PackageForm(forms.Form):
    """The files of a OneRoster export."""

    files = ManyFilesField(
        label="OneRoster 1.1 files",
        help_text="The ZIP, or manifest.csv, classes.csv, users.csv and enrollments.csv together.",
        widget=ManyFilesInput(attrs={"accept": ".zip,.csv", "multiple": True}),
        error_messages={"required": "Choose the ZIP or the files.", "empty": "A file is empty."},
    )

    def clean_files(self):
        files = self.cleaned_data["files"]
        if len(files) > MOST_FILES:
            raise forms.ValidationError(f"These are more than {MOST_FILES} files. Send the ZIP.")
        if sum(file.size for file in files) > MOST_PACKAGE_BYTES:
            raise forms.ValidationError(
                f"The files have more than {MOST_PACKAGE_BYTES // MEGA} MB together."
            )
        return files


class ClassesForm(forms.Form):
    """Into which own section each class of the register goes."""

    def __init__(
        self, *args, classes: Sequence[RosterClass], sections: Sequence[Section], **kwargs
    ):
        super().__init__(*args, **kwargs)
        self.classes, self.sections = classes, {str(section.pk): section for section in sections}
        choices = [("", "leave out"), *((str(s.pk), str(s)) for s in sections)]
        for at, each in enumerate(classes):
            self.fields[f"class-{at}"] = forms.ChoiceField(
                label=f"Put {each.title} into",
                choices=choices,
                initial=self._likely(each),
                required=False,
                widget=forms.Select(attrs={"class": "medium"}),
            )

    def _likely(self, each: RosterClass) -> str:
        """The section that was this class before, else the one of its name."""
        for pk, section in self.sections.items():
            if section.sourced_id == each.sourced_id:
                return pk
        named = [
            pk for pk, s in self.sections.items() if s.name.casefold() == each.title.casefold()
        ]
        return named[0] if len(named) == 1 else ""

    def rows(self):
        """Each class beside its field."""
        return [(each, self[f"class-{at}"]) for at, each in enumerate(self.classes)]

    def clean(self):
        cleaned = super().clean()
        chosen = [value for value in cleaned.values() if value]
        for at, _each in enumerate(self.classes):
            value = cleaned.get(f"class-{at}")
            if value and chosen.count(value) > 1:
                self.add_error(f"class-{at}", "Two classes go into this section. Choose one.")
        return cleaned

    def pairs(self) -> list[tuple[RosterClass, Section]]:
        """The classes that go somewhere, once valid."""
        chosen = ((each, self.cleaned_data[f"class-{at}"]) for at, each in enumerate(self.classes))
        return [(each, self.sections[pk]) for each, pk in chosen if pk]
