"""A rubric's levels as a person chooses them, each with its descriptor."""

from collections.abc import Mapping

from django import forms


class LevelsForm(forms.Form):
    """A level a criterion; any may be left out."""

    def __init__(self, *args, criteria, chosen: Mapping[int, int] | None = None, **kwargs):
        levels = {f"level_{pk}": str(number) for pk, number in (chosen or {}).items()}
        kwargs["initial"] = levels | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.criteria = criteria
        for each in criteria:
            self.fields[f"level_{each.pk}"] = forms.ChoiceField(
                label=each.name,
                required=False,
                widget=forms.RadioSelect,
                choices=[
                    *(
                        (str(level.number), f"{level.name}: {level.descriptor}")
                        for level in sorted(each.levels.all(), key=lambda level: -level.number)
                    ),
                    ("", "Not judged"),
                ],
            )

    def levels(self):
        """The criteria's fields, in their order."""
        return [self[f"level_{each.pk}"] for each in self.criteria]

    def chosen(self) -> dict[int, int]:
        """Level numbers by criterion id."""
        data = self.cleaned_data
        return {
            each.pk: int(data[f"level_{each.pk}"])
            for each in self.criteria
            if data.get(f"level_{each.pk}")
        }
