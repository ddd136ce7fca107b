"""The rubric editor: name and levels on top, then one form a criterion."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Fieldset, Layout
from django import forms
from django.forms import BaseFormSet, formset_factory

from rubrics.checks.register import judgeable
from rubrics.models import Criterion, Level, Rubric
from rubrics.models.rubrics import LONGEST_DESCRIPTOR
from rubrics.rubric.versions import CriterionContent, LevelContent, LimitContent

NUMBERS = (4, 3, 2, 1)
LIMIT_SLOTS = 6
"""So many figures a criterion may lean on: more than four no teacher explains to a student."""
SPARE_CRITERIA = 1
MOST_CRITERIA = 20
LIMIT_PLACES = 3
LAST = MOST_CRITERIA * 100
"""Where a criterion without a place stands: after every place that can be written."""


def figure_choices() -> list[tuple[str, str]]:
    """The figures to lean on, each with its unit; asked for when a form is made."""
    return [("", "none")] + [
        (key, f"{figure.label} [{figure.unit or 'share, 0.05 is 5 %'}]")
        for key, figure in judgeable().items()
    ]


def _longest(model, name: str) -> int:
    return model._meta.get_field(name).max_length


class HeadForm(forms.Form):
    """Name of the rubric; name and points of its four levels."""

    name = forms.CharField(
        label="Name of the rubric",
        max_length=_longest(Rubric, "name"),
        error_messages={"required": "A rubric needs a name, such as “Slab cup”."},
    )

    seen = forms.CharField(required=False, widget=forms.HiddenInput)
    """Fingerprint of the rubric as the page showed it."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for number in NUMBERS:
            self.fields[f"level_{number}"] = forms.CharField(
                label=f"Level {number} is called",
                max_length=_longest(Level, "name"),
                error_messages={"required": f"Level {number} needs a name."},
            )
            self.fields[f"points_{number}"] = forms.DecimalField(
                label="Points",
                min_value=0,
                max_value=100,
                decimal_places=2,
                error_messages={
                    "required": f"Say what level {number} is worth.",
                    "invalid": "Write the points as a number, such as 85.",
                    "min_value": "Points go from 0 to 100.",
                    "max_value": "Points go from 0 to 100.",
                },
            )
        self.helper = _helper(
            Layout(
                Field("seen"),
                Field("name"),
                Fieldset(
                    "The four levels, for every criterion",
                    *(
                        Div(Field(f"level_{n}"), Field(f"points_{n}"), css_class="level-head")
                        for n in NUMBERS
                    ),
                    css_class="levels-head",
                ),
            )
        )

    def clean(self):
        cleaned = super().clean()
        points = [cleaned.get(f"points_{number}") for number in NUMBERS]
        if None in points:
            return cleaned
        for higher, lower, number in zip(points, points[1:], NUMBERS[1:], strict=False):
            if lower > higher:
                self.add_error(
                    f"points_{number}", "A lower level is never worth more than the one above it."
                )
        if points[0] == 0:
            self.add_error("points_4", "The highest level has to be worth something.")
        return cleaned


class CriterionForm(forms.Form):
    """One criterion: what it is, its four descriptors, the figures it leans on."""

    position = forms.IntegerField(
        label="Place",
        required=False,
        min_value=1,
        max_value=99,
        error_messages={
            "invalid": "Write its place as a whole number; left empty, it comes last.",
            "min_value": "Places are counted from 1.",
        },
    )
    letter = forms.CharField(
        label="Letter",
        max_length=_longest(Criterion, "letter"),
        error_messages={"required": "Give it a letter, such as B."},
    )
    name = forms.CharField(
        label="Name",
        max_length=_longest(Criterion, "name"),
        error_messages={"required": "Give the criterion a name."},
    )
    group = forms.ChoiceField(
        label="Kind", choices=Criterion.Group.choices, initial=Criterion.Group.CRAFT
    )
    weight = forms.DecimalField(
        label="Weight",
        max_digits=5,
        decimal_places=2,
        error_messages={
            "required": "Say what it weighs.",
            "invalid": "Write the weight as a number, such as 15.",
        },
    )
    description = forms.CharField(
        label="What is looked at",
        required=False,
        max_length=LONGEST_DESCRIPTOR,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for number in NUMBERS:
            self.fields[f"descriptor_{number}"] = forms.CharField(
                label=f"Level {number} looks like",
                max_length=LONGEST_DESCRIPTOR,
                widget=forms.Textarea(attrs={"rows": 3}),
                error_messages={"required": f"Say what level {number} looks like."},
            )
        for slot in range(1, LIMIT_SLOTS + 1):
            self.fields[f"figure_{slot}"] = forms.ChoiceField(
                label="Figure", choices=figure_choices, required=False
            )
            for bound, number in zip("abc", (4, 3, 2), strict=True):
                self.fields[f"{bound}_{slot}"] = forms.DecimalField(
                    label=f"{number} up to",
                    required=False,
                    min_value=0,
                    max_digits=7,
                    decimal_places=LIMIT_PLACES,
                    error_messages={
                        "invalid": "Write the limit as a number, such as 2 or 0.5.",
                        "min_value": "A limit is never below 0.",
                    },
                )
        self.helper = _helper(_criterion_layout(self._slots_in_use()))

    def _slots_in_use(self) -> int:
        """The last slot with anything in it: every one up to it is shown."""
        names = {
            slot: (f"figure_{slot}", *(f"{bound}_{slot}" for bound in "abc"))
            for slot in range(1, LIMIT_SLOTS + 1)
        }
        used = [
            slot
            for slot, fields in names.items()
            if any(self[name].value() not in (None, "") for name in fields)
        ]
        return max(used, default=0)

    def clean_weight(self):
        weight = self.cleaned_data["weight"]
        if weight <= 0:
            raise forms.ValidationError("A weight is above 0; to leave it out, remove it.")
        return weight

    def clean_letter(self):
        return self.cleaned_data["letter"].strip().upper()

    def clean(self):
        cleaned = super().clean()
        seen = set()
        for slot in range(1, LIMIT_SLOTS + 1):
            self._clean_slot(slot, seen)
        return cleaned

    def _clean_slot(self, slot: int, seen: set[str]) -> None:
        cleaned = self.cleaned_data
        figure = cleaned.get(f"figure_{slot}")
        names = [f"{bound}_{slot}" for bound in "abc"]
        if any(name in self.errors for name in names):
            return
        bounds = [cleaned.get(name) for name in names]
        if not figure:
            if any(bound is not None for bound in bounds):
                self.add_error(f"figure_{slot}", "Say which figure these limits are for.")
            return
        if figure in seen:
            self.add_error(f"figure_{slot}", "This figure has limits already.")
        seen.add(figure)
        if None in bounds:
            lacking = names[bounds.index(None)]
            self.add_error(lacking, "A figure needs all three limits.")
        elif not bounds[0] <= bounds[1] <= bounds[2]:
            self.add_error(names[1], "The limits rise from level 4 to level 2.")

    def content(self, head: dict) -> CriterionContent:
        """What was filled in, with names and points of the levels from the head."""
        data = self.cleaned_data
        return CriterionContent(
            letter=data["letter"],
            name=data["name"],
            weight=data["weight"],
            group=data["group"],
            description=data["description"],
            levels=[
                LevelContent(
                    number,
                    head[f"level_{number}"],
                    head[f"points_{number}"],
                    data[f"descriptor_{number}"],
                )
                for number in NUMBERS
            ],
            limits=[
                LimitContent(data[f"figure_{slot}"], *(data[f"{bound}_{slot}"] for bound in "abc"))
                for slot in range(1, LIMIT_SLOTS + 1)
                if data.get(f"figure_{slot}")
            ],
        )


class BaseCriteria(BaseFormSet):
    """All criteria together: at least one, every letter once."""

    def clean(self):
        if any(self.errors):
            return
        kept = self.kept
        if not kept:
            raise forms.ValidationError("A rubric needs at least one criterion.")
        letters = [form.cleaned_data["letter"] for form in kept]
        for form, letter in zip(kept, letters, strict=True):
            if letters.count(letter) > 1:
                form.add_error("letter", f"Two criteria have the letter {letter}.")

    @property
    def kept(self) -> list[CriterionForm]:
        """Forms that were filled in and not removed, in the order of their places."""
        filled = [
            form for form in self.forms if form.cleaned_data and not form.cleaned_data.get("DELETE")
        ]
        # Two at one place keep the order in which they stand on the page.
        return sorted(filled, key=lambda form: form.cleaned_data.get("position") or LAST)

    def add_fields(self, form, index):
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = "Remove this criterion"

    @property
    def weight_sum(self) -> Decimal:
        """The sum of the weights as they stand in the forms."""
        return sum((_weight(form) for form in self.forms), Decimal(0))


def _weight(form: CriterionForm) -> Decimal:
    value = form["weight"].value()
    try:
        weight = Decimal(str(value))
    except ArithmeticError:
        return Decimal(0)
    return weight if weight.is_finite() else Decimal(0)


CriteriaForms = formset_factory(
    CriterionForm,
    formset=BaseCriteria,
    extra=SPARE_CRITERIA,
    can_delete=True,
    max_num=MOST_CRITERIA,
    absolute_max=MOST_CRITERIA + SPARE_CRITERIA,
    validate_max=True,
)


def initial_of(name: str, criteria: Sequence[CriterionContent]) -> tuple[dict, list[dict]]:
    """What the head and the criteria start from."""
    head: dict = {"name": name}
    for level in criteria[0].levels if criteria else ():
        head[f"level_{level.number}"] = level.name
        head[f"points_{level.number}"] = _short(level.points)
    return head, [_initial(place, each) for place, each in enumerate(criteria, start=1)]


def _initial(place: int, content: CriterionContent) -> dict:
    initial = {
        "position": place,
        "letter": content.letter,
        "name": content.name,
        "group": content.group,
        "weight": _short(content.weight),
        "description": content.description,
    }
    for level in content.levels:
        initial[f"descriptor_{level.number}"] = level.descriptor
    for slot, limit in enumerate(content.limits, start=1):
        initial[f"figure_{slot}"] = limit.figure
        for bound in "abc":
            initial[f"{bound}_{slot}"] = _short(getattr(limit, bound))
    return initial


def _short(number: Decimal) -> Decimal:
    """Without trailing noughts and without an exponent."""
    return Decimal(f"{number.normalize():f}")


def _helper(layout: Layout) -> FormHelper:
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    helper.layout = layout
    return helper


class MoreFigures(Div):
    """Slots that are still empty, folded away."""

    template = "rubrics/parts/more_figures.html"


def _criterion_layout(filled: int) -> Layout:
    """The layout of a criterion with so many figures filled in; the empty slots are folded."""
    slots = [
        Div(
            Field(f"figure_{slot}"),
            *(Field(f"{bound}_{slot}") for bound in "abc"),
            css_class="limit-row",
        )
        for slot in range(1, LIMIT_SLOTS + 1)
    ]
    spare = slots[filled:]
    return Layout(
        Div(
            Field("letter"),
            Field("name"),
            Field("group"),
            Field("weight", data_weight=""),
            Field("position"),
            css_class="criterion-head",
        ),
        Field("description"),
        Div(*(Field(f"descriptor_{number}") for number in NUMBERS), css_class="descriptors"),
        Fieldset(
            "Figures it leans on",
            HTML(
                '<p class="hint">Each figure suggests a level; the lowest of them is suggested. '
                "Without a figure it is judged by eye.</p>"
            ),
            *slots[:filled],
            *([MoreFigures(*spare)] if spare else []),
            css_class="limits",
        ),
        Field("DELETE"),
    )
