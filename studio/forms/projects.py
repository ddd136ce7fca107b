"""Projects, their plans, their pieces' codes, and stages for many at once."""

import re

from django import forms

from studio.forms.fields import DateInput, FigureInput, LengthField, UnitMixin
from studio.models import Clay, Plan, PlannedSize, Project, Stage
from studio.models.pieces import CODE_LENGTH
from studio.starter_plans import STARTER_PLANS

SPARE_SIZES = 1
WHOLE_TURN_DEG, FINGERS_OF_A_HAND, MOST_DARTS = 360, 4, 12
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


class PlanForm(UnitMixin, forms.ModelForm):
    """What the piece should come out as, but for its sizes."""

    slab_mm = LengthField(
        label="Slab thickness, wet",
        lowest_mm=1,
        highest_mm=60,
        help_text="Quarter-inch sticks give 6.35 mm.",
    )

    class Meta:
        model = Plan
        fields = (
            "clay",
            "slab_mm",
            "dart_count",
            "fingers",
            "handle_from_seam_deg",
            "capacity_ml",
            "line_ml",
        )
        labels = {
            "dart_count": "Darts in the foot",
            "fingers": "Fingers through the handle",
            "handle_from_seam_deg": "Handle, counted from the seam [°]",
            "capacity_ml": "Capacity to the brim [ml]",
            "line_ml": "Capacity to the line [ml]",
        }
        help_texts = {
            "dart_count": "0 for a round foot.",
            "fingers": "0 for a piece without a handle.",
        }
        widgets = {
            "dart_count": forms.NumberInput(attrs={"class": "short", "min": "0", "max": "12"}),
            "fingers": forms.NumberInput(attrs={"class": "short", "min": "0", "max": "4"}),
            "handle_from_seam_deg": FigureInput(attrs={"class": "short", "step": "any"}),
            "capacity_ml": FigureInput(attrs={"class": "short", "step": "any", "min": "0"}),
            "line_ml": FigureInput(attrs={"class": "short", "step": "any", "min": "0"}),
        }

    def __init__(self, *args, clays, unit="mm", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["clay"].queryset = clays
        self.fields["clay"].empty_label = "not chosen yet"
        self.take_unit(unit)

    def clean_fingers(self):
        fingers = self.cleaned_data["fingers"]
        if fingers > FINGERS_OF_A_HAND:
            raise forms.ValidationError("A hand has four fingers to put through a handle.")
        return fingers

    def clean_handle_from_seam_deg(self):
        angle = self.cleaned_data["handle_from_seam_deg"]
        if not -WHOLE_TURN_DEG <= angle <= WHOLE_TURN_DEG:
            raise forms.ValidationError("An angle lies within a turn, from -360 to 360 degrees.")
        return angle

    def clean_dart_count(self):
        count = self.cleaned_data["dart_count"]
        if count > MOST_DARTS:
            raise forms.ValidationError(f"Up to {MOST_DARTS} darts can be planned.")
        return count

    def clean(self):
        data = super().clean()
        brim, line = data.get("capacity_ml"), data.get("line_ml")
        for name in ("capacity_ml", "line_ml"):
            if data.get(name) is not None and data[name] <= 0:
                self.add_error(name, "A capacity is more than zero; leave it empty if not planned.")
        if brim and line and line > brim:
            self.add_error("line_ml", "The line lies below the brim, so it holds less.")
        return data


class PlannedSizeForm(UnitMixin, forms.ModelForm):
    """One planned size of the fired piece."""

    fired_mm = LengthField(label="Fired size", lowest_mm=0.5, highest_mm=2000)
    height_mm = LengthField(
        label="At height", lowest_mm=0, highest_mm=2000, required=False, help_text="Fired."
    )

    class Meta:
        model = PlannedSize
        fields = ("name", "fired_mm", "height_mm")
        labels = {"name": "What"}

    def clean(self):
        data = super().clean()
        if data.get("name") == "diameter" and data.get("height_mm") is None:
            self.add_error("height_mm", "Write the height at which this diameter is taken.")
        if data.get("name") not in {None, "", "diameter"} and data.get("height_mm") is not None:
            self.add_error("height_mm", "Only a diameter at a height has one. Leave it empty.")
        return data


class BaseSizes(forms.BaseInlineFormSet):
    """All planned sizes: each once."""

    def __init__(self, *args, unit="mm", **kwargs):
        self.unit = unit
        super().__init__(*args, **kwargs)

    def add_fields(self, form, index):
        super().add_fields(form, index)
        form.take_unit(self.unit)

    def clean(self):
        super().clean()
        seen = set()
        for form in self.forms:
            data = getattr(form, "cleaned_data", {})
            if not data.get("name") or data.get("DELETE"):
                continue
            key = (data["name"], data.get("height_mm"))
            if key in seen:
                form.add_error("name", "This size is planned twice. Remove one of the two.")
            seen.add(key)


SizeForms = forms.inlineformset_factory(
    Plan,
    PlannedSize,
    form=PlannedSizeForm,
    formset=BaseSizes,
    extra=SPARE_SIZES,
    max_num=30,
    can_delete=True,
)


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
        taken = {code.casefold() for code in self.section.pieces.values_list("code", flat=True)}
        for student, code in self.codes():
            if code.casefold() in taken:
                self.add_error(
                    f"code-{student.pk}",
                    f"{code} stands on another piece of this section. Take another code.",
                )
            taken.add(code.casefold())
        if not self.errors and not self.codes():
            raise forms.ValidationError("No student has a code, so there is nothing to begin.")
        return data


class StageForm(forms.Form):
    """A stage for the pieces that are ticked."""

    stage = forms.ChoiceField(choices=Stage, label="are now")
    pieces = forms.ModelMultipleChoiceField(
        None,
        error_messages={
            "required": "Tick the pieces that have come further.",
            "invalid_choice": "One of the pieces is not in this project.",
        },
    )

    def __init__(self, *args, project, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pieces"].queryset = project.pieces.all()
