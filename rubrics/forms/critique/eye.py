"""Three anchor cups chosen, and the levels that one person gives them."""

from __future__ import annotations

from django import forms

from rubrics.critique.eye import CUPS

OPEN = "-"
MOST_TYPED = 60
"""Signs in a field: far more than a rubric has criteria."""


class CupsForm(forms.Form):
    """Three pieces with photos, of any class this teacher teaches."""

    def __init__(self, *args, pieces, **kwargs):
        super().__init__(*args, **kwargs)
        choices = [("", "choose a piece"), *((piece.pk, _told(piece)) for piece in pieces)]
        for number in range(1, CUPS + 1):
            self.fields[f"cup{number}"] = forms.TypedChoiceField(
                label=f"Cup {number}", choices=choices, coerce=int
            )

    def chosen(self) -> list[int]:
        return [self.cleaned_data[f"cup{number}"] for number in range(1, CUPS + 1)]


def _told(piece) -> str:
    return f"{piece.code}, {piece.project.title}, {piece.stage} ({piece.section.name})"


class EyeForm(forms.Form):
    """A level a criterion, for one cup after the other."""

    def __init__(self, *args, cups, criteria, given=None, **kwargs):
        given = given or {}
        kwargs["initial"] = {
            _name(cup, criterion): str(level) for (cup, criterion), level in given.items()
        }
        super().__init__(*args, **kwargs)
        self.cups, self.criteria = cups, criteria
        for cup in cups:
            for criterion in criteria:
                self.fields[_name(cup.pk, criterion.pk)] = forms.ChoiceField(
                    label=criterion.name,
                    required=False,
                    widget=forms.RadioSelect,
                    choices=[
                        (str(level.number), f"{level.name}: {level.descriptor}")
                        for level in sorted(criterion.levels.all(), key=lambda each: -each.number)
                    ],
                )

    def of_cup(self, cup):
        """The fields of one cup, in the order of the criteria."""
        return [self[_name(cup.pk, criterion.pk)] for criterion in self.criteria]

    def levels(self) -> dict[tuple[int, int], int]:
        """What was chosen, by (cup id, criterion id)."""
        return {
            (cup.pk, criterion.pk): int(chosen)
            for cup in self.cups
            for criterion in self.criteria
            if (chosen := self.cleaned_data.get(_name(cup.pk, criterion.pk)))
        }


class PaperForm(forms.Form):
    """A row a student, a field a cup: the levels in the order of the criteria, as “4 3 - 2”."""

    def __init__(self, *args, students, cups, criteria, given=None, **kwargs):
        given = given or {}
        super().__init__(*args, **kwargs)
        self.students, self.cups, self.criteria = students, cups, criteria
        for student in students:
            levels = given.get(student.pk, {})
            for cup in cups:
                known = [levels.get((cup.pk, each.pk)) for each in criteria]
                self.fields[_on_paper(student, cup)] = forms.CharField(
                    label=f"{student.name}, cup {cup.number}",
                    required=False,
                    max_length=MOST_TYPED,
                    initial=" ".join(str(one or OPEN) for one in known) if any(known) else "",
                    widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
                )

    def rows(self):
        """Each student with the fields, cup by cup."""
        return [
            (student, [self[_on_paper(student, cup)] for cup in self.cups])
            for student in self.students
        ]

    def clean(self):
        found = {student: {} for student in self.students}
        for student in self.students:
            for cup in self.cups:
                name = _on_paper(student, cup)
                try:
                    found[student] |= self._read(cup, self.cleaned_data.get(name, ""))
                except forms.ValidationError as error:
                    self.add_error(name, error)
        self.answers = found
        return self.cleaned_data

    def _read(self, cup, typed: str) -> dict[tuple[int, int], int]:
        signs = [sign for sign in typed if not sign.isspace() and sign not in ",;/"]
        if not signs:
            return {}
        known = {str(level.number) for each in self.criteria for level in each.levels.all()}
        wrong = sorted({sign for sign in signs if sign not in known and sign != OPEN})
        if wrong:
            raise forms.ValidationError(
                f"{', '.join(wrong)}: a level is one of {', '.join(sorted(known))}, "
                f"and {OPEN} what was left open."
            )
        if len(signs) != len(self.criteria):
            letters = " ".join(each.letter for each in self.criteria)
            raise forms.ValidationError(
                f"{len(signs)} levels for {len(self.criteria)} criteria: type one for each of "
                f"{letters}, and {OPEN} for one that was left open."
            )
        return {
            (cup.pk, criterion.pk): int(sign)
            for criterion, sign in zip(self.criteria, signs, strict=True)
            if sign != OPEN
        }


def _on_paper(student, cup) -> str:
    return f"paper-{student.pk}-{cup.pk}"


def _name(cup: int, criterion: int) -> str:
    return f"level-{cup}-{criterion}"
