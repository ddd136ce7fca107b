"""Three anchor cups chosen, and the levels that one person gives them."""

from __future__ import annotations

from django import forms

from rubrics.critique.eye import CUPS


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


def _name(cup: int, criterion: int) -> str:
    return f"level-{cup}-{criterion}"
