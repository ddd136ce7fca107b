"""Kilns, firings and what a controller was told."""

from django import forms

from studio.firing.cones import ORDER, ConeError, cone
from studio.firing.ramp import ROOM_C, RampError, Segment, plan_ramp
from studio.forms.web.fields import DateInput, FigureInput
from studio.models import Firing, Kiln
from studio.models.firings import FASTEST_C_PER_H, HOTTEST_C, LONGEST_HOLD_MIN, MOST_SHELVES

FAHRENHEIT, CELSIUS = "F", "C"
BLANK_SEGMENTS, MOST_SEGMENTS = 4, 20
MOST_LOG_MB = 20


class KilnForm(forms.ModelForm):
    """A kiln of one's own."""

    class Meta:
        model = Kiln
        fields = ("name", "shelves")
        help_texts = {"shelves": "Counted from the bottom: 1 is the lowest."}
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "shelves": forms.NumberInput(attrs={"class": "short", "min": "1", "max": MOST_SHELVES}),
        }

    def __init__(self, *args, owner, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.owner = owner

    def clean_name(self):
        name = self.cleaned_data["name"].strip()
        others = Kiln.objects.filter(owner=self.instance.owner).exclude(pk=self.instance.pk)
        if others.filter(name__iexact=name).exists():
            raise forms.ValidationError("You have a kiln of that name. Add what tells them apart.")
        return name

    def clean_shelves(self):
        shelves = self.cleaned_data["shelves"]
        if not 1 <= shelves <= MOST_SHELVES:
            raise forms.ValidationError(f"A kiln has 1 to {MOST_SHELVES} shelves.")
        return shelves


class FiringForm(forms.ModelForm):
    """Kind, cone and day of a firing."""

    unit = forms.ChoiceField(
        label="The ramp below is written in",
        choices=[(CELSIUS, "°C and °C an hour"), (FAHRENHEIT, "°F and °F an hour")],
    )

    class Meta:
        model = Firing
        fields = ("kind", "planned_cone", "fired_on", "note")
        labels = {"planned_cone": "Planned cone", "fired_on": "Day"}
        help_texts = {
            "planned_cone": "With its zero where it has one: 06 and 6 are 224 °C apart.",
        }
        widgets = {
            "planned_cone": forms.TextInput(
                attrs={"class": "short", "list": "cones", "autocomplete": "off"}
            ),
            "fired_on": DateInput(),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def clean_planned_cone(self):
        text = self.cleaned_data["planned_cone"]
        if not text.strip():
            return ""
        try:
            return cone(text).name
        except ConeError as error:
            raise forms.ValidationError(str(error)) from None


class SegmentForm(forms.Form):
    """One segment of the ramp, in the unit that the firing's form tells."""

    rate = forms.FloatField(
        required=False, label="Rate an hour", widget=FigureInput(attrs={"step": "any", "min": "0"})
    )
    target = forms.FloatField(
        required=False, label="Target", widget=FigureInput(attrs={"step": "any", "min": "0"})
    )
    hold = forms.FloatField(
        required=False, label="Hold [min]", widget=FigureInput(attrs={"step": "any", "min": "0"})
    )

    def clean(self):
        data = super().clean()
        if data.get("target") is None and (data.get("rate") is not None or data.get("hold")):
            self.add_error("target", "Where does this segment lead? Tell its target.")
        return data


class RampForms(forms.BaseFormSet):
    """The segments as rows; rows without a target are left out."""

    unit = CELSIUS

    def segments(self) -> list[Segment]:
        """The segments in °C, once the forms are valid."""
        return [self._segment(form.cleaned_data) for form in self._told()]

    def _told(self):
        return [form for form in self.forms if form.cleaned_data.get("target") is not None]

    def _segment(self, data) -> Segment:
        rate, target = data.get("rate"), data["target"]
        if self.unit == FAHRENHEIT:
            target = (target - 32) / 1.8
            rate = None if rate is None else rate / 1.8
        return Segment(rate, target, data.get("hold") or 0.0)

    def clean(self):
        if any(self.errors):
            return
        for form in self._told():
            for name, sentence in self._problems(self._segment(form.cleaned_data)):
                form.add_error(name, sentence)
        try:
            if self._told():
                plan_ramp(self.segments())
        except RampError as error:
            raise forms.ValidationError(str(error)) from None

    def _problems(self, each: Segment):
        if not 0 < each.target_c <= HOTTEST_C:
            hint = "" if self.unit == FAHRENHEIT else " Is it written in °F?"
            yield "target", f"A target lies above 0 and up to {HOTTEST_C} °C.{hint}"
        if each.rate_c_per_h is not None and not 0 < each.rate_c_per_h <= FASTEST_C_PER_H:
            yield (
                "rate",
                f"Above 0 and up to {FASTEST_C_PER_H} °C an hour. Leave it empty for full speed.",
            )
        if each.hold_min > LONGEST_HOLD_MIN:
            yield "hold", f"A hold is told in minutes, up to {LONGEST_HOLD_MIN}."


RampFormSet = forms.formset_factory(
    SegmentForm, formset=RampForms, extra=BLANK_SEGMENTS, max_num=MOST_SEGMENTS, absolute_max=40
)


def ramp_initial(segments) -> list[dict]:
    """The rows that show planned segments, in °C."""
    return [
        {"rate": s.rate_c_per_h, "target": s.target_c, "hold": s.hold_min or None} for s in segments
    ]


CONES = ORDER
START_WORDS = f"Counted from a room of {ROOM_C:g} °C."


class LoadForm(forms.Form):
    """Pieces by code: typed, pasted, or scanned from the slips."""

    codes = forms.CharField(
        label="Codes",
        max_length=4000,
        widget=forms.Textarea(
            attrs={"rows": 2, "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={"required": "Type or scan at least one code."},
        help_text="As many as you like, with spaces or one a line. A slip's QR code holds the same "
        "text, so a scanner can type it.",
    )

    def __init__(self, *args, kiln, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shelf"] = ShelfField(kiln)


class ShelfField(forms.TypedChoiceField):
    """A shelf of a kiln, or none told; the highest stands first, as in the kiln."""

    def __init__(self, kiln, **kwargs):
        shelves = [(n, f"shelf {n}") for n in range(kiln.shelves, 0, -1)]
        super().__init__(
            choices=[("", "not told"), *shelves],
            coerce=int,
            empty_value=None,
            required=False,
            label="Shelf",
            **kwargs,
        )


class LogForm(forms.Form):
    """A controller's log."""

    file = forms.FileField(
        label="The controller's file",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.log,text/csv,text/plain"}),
        error_messages={"required": "Choose the file first."},
        help_text="CSV with a time and a temperature in each line.",
    )
    unit = forms.ChoiceField(
        label="Its temperatures are in",
        required=False,
        choices=[("", "what the file says"), (CELSIUS, "°C"), (FAHRENHEIT, "°F")],
    )
