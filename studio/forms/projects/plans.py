"""A project's plan: how the piece is built, and its sizes."""

from django import forms

from studio.forms.web.fields import FigureInput, LengthField, UnitMixin
from studio.models import Plan, PlannedSize
from studio.planning.wish import SLAB, SQUARE, not_square
from studio.ware.hands import HANDS, LEAST_FINGER_MM, MOST_FINGER_MM

SPARE_SIZES = 1
WHOLE_TURN_DEG, FINGERS_OF_A_HAND = 360, 4
FLATTEST_BEVEL_DEG, SQUARE_CUT_DEG = 20, 90


class PlanForm(UnitMixin, forms.ModelForm):
    """What the piece should come out as, but for its sizes."""

    slab_mm = LengthField(
        label="Slab or wall thickness, wet",
        lowest_mm=1,
        highest_mm=60,
        help_text="Quarter-inch sticks give 6.35 mm.",
    )

    wall_mm = LengthField(
        label="Wall, fired",
        lowest_mm=1,
        highest_mm=60,
        required=False,
        help_text="Write it to let the wet thickness follow.",
    )
    dart_depth_mm = LengthField(
        label="Dart depth, fired",
        lowest_mm=1,
        highest_mm=2000,
        required=False,
        help_text="Empty: a third of the height. Below a shoulder the wall leans in; measure the "
        "diameter there too.",
    )
    dart_width_mm = LengthField(
        label="Dart width, cut wet along a straight foot",
        lowest_mm=0.5,
        highest_mm=500,
        required=False,
        help_text="Write it to let the foot side follow.",
    )
    finger_breadth_mm = LengthField(
        label="Breadth of a finger",
        lowest_mm=LEAST_FINGER_MM,
        highest_mm=MOST_FINGER_MM,
        required=False,
        help_text=(
            "Index finger at its middle joint, of the hand the piece is for: "
            + ", ".join(f"{hand.name} {hand.finger_breadth_mm:g} mm" for hand in HANDS)
            + ". A student may say their own with the piece."
        ),
    )
    bevel_deg = forms.FloatField(
        label="Bevel of the ends [°]",
        required=False,
        widget=FigureInput(attrs={"class": "short", "step": "any", "min": "20", "max": "90"}),
        help_text="45 is usual; 90 is a butt join without overlap.",
    )
    seam = forms.ChoiceField(
        label="Seam stands",
        choices=(("corner", "on a corner of the foot"), ("side", "in the middle of a side")),
        required=False,
    )
    follows = forms.ChoiceField(
        label="What follows from the rest",
        choices=(
            ("", "nothing: tell me whether the sizes agree"),
            ("capacity_ml", "the capacity"),
            ("height_mm", "the height"),
            ("rim_diameter_mm", "the rim diameter"),
            ("foot_side_mm", "the foot side"),
        ),
        required=False,
        help_text="It is worked out from what you hold, and kept with the plan.",
    )
    line_below_mm = LengthField(
        label="Line, below the rim, fired",
        lowest_mm=0.5,
        highest_mm=1000,
        required=False,
        help_text="Write it to let the capacity to the line follow.",
    )

    class Meta:
        model = Plan
        fields = (
            "building",
            "clay",
            "slab_mm",
            "dart_count",
            "dart_depth_mm",
            "has_whole_wall_darts",
            "has_drawn_rim",
            "bevel_deg",
            "fingers",
            "finger_breadth_mm",
            "handle_from_seam_deg",
            "capacity_ml",
            "line_ml",
        )
        labels = {
            "building": "It is built of",
            "dart_count": "Darts in the foot",
            "has_whole_wall_darts": "Darts as long as the wall",
            "fingers": "Fingers through the handle",
            "handle_from_seam_deg": "Handle, counted from the seam [°]",
            "capacity_ml": "Capacity to the brim [ml]",
            "line_ml": "Capacity to the line [ml]",
        }
        help_texts = {
            "building": "Only slabs have a pattern; the others have sizes and clay to weigh out.",
            "dart_count": "4 square the foot; 0 for a round one.",
            "has_whole_wall_darts": "The wall then leans in evenly from rim to foot.",
            "fingers": "0 for a piece without a handle.",
        }
        widgets = {
            "dart_count": forms.NumberInput(attrs={"class": "short", "min": "0", "max": "4"}),
            "fingers": forms.NumberInput(attrs={"class": "short", "min": "0", "max": "4"}),
            "handle_from_seam_deg": FigureInput(attrs={"class": "short", "step": "any"}),
            "capacity_ml": FigureInput(attrs={"class": "short", "step": "any", "min": "0"}),
            "line_ml": FigureInput(attrs={"class": "short", "step": "any", "min": "0"}),
        }

    def __init__(self, *args, clays, unit="mm", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["clay"].queryset = clays
        self.fields["clay"].empty_label = "not chosen yet"
        self.fields["seam"].initial = "corner" if self.instance.seam_on_corner else "side"
        self.take_unit(unit)

    def clean_bevel_deg(self):
        angle = self.cleaned_data["bevel_deg"]
        if angle is None:
            return self.instance.bevel_deg
        if not FLATTEST_BEVEL_DEG <= angle <= SQUARE_CUT_DEG:
            raise forms.ValidationError(
                f"A bevel lies between {FLATTEST_BEVEL_DEG} and {SQUARE_CUT_DEG} degrees."
            )
        return angle

    def save(self, commit=True):
        if self.cleaned_data["seam"]:
            self.instance.seam_on_corner = self.cleaned_data["seam"] == "corner"
        return super().save(commit)

    def clean_fingers(self):
        fingers = self.cleaned_data["fingers"]
        if fingers > FINGERS_OF_A_HAND:
            raise forms.ValidationError("A hand has four fingers to put through a handle.")
        return fingers

    def clean_finger_breadth_mm(self):
        breadth = self.cleaned_data["finger_breadth_mm"]
        return self.instance.finger_breadth_mm if breadth is None else breadth

    def clean_handle_from_seam_deg(self):
        angle = self.cleaned_data["handle_from_seam_deg"]
        if not -WHOLE_TURN_DEG <= angle <= WHOLE_TURN_DEG:
            raise forms.ValidationError("An angle lies within a turn, from -360 to 360 degrees.")
        return angle

    def clean(self):
        data = super().clean()
        darts = data.get("dart_count")
        if data.get("building") == SLAB and darts not in (None, 0, SQUARE):
            self.add_error("dart_count", not_square(darts))
        if data.get("has_whole_wall_darts") and data.get("dart_depth_mm"):
            self.add_error(
                "dart_depth_mm", "Darts are as long as the wall, or of this depth. Leave one out."
            )
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


class ProjectCopyForm(forms.Form):
    """Where a project is copied to, and its title there."""

    section = forms.ModelChoiceField(
        None,
        label="Into the section",
        error_messages={"required": "Choose the section that is to get the copy."},
    )
    title = forms.CharField(max_length=120)

    def __init__(self, *args, source, sections, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["section"].queryset = sections
        self.fields["title"].initial = source.title
