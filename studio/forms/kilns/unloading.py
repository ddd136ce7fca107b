"""What came out of a kiln, noted for many pieces at once."""

from django import forms

from studio.forms.web.fields import FigureInput
from studio.models import Firing, Outcome
from studio.models.firings import HOTTEST_C
from studio.ware.outcomes import DEFECTS, SOUND


class FindingForm(forms.Form):
    """One finding for the ticked pieces. Whose doing may be left to the trade's usual answer."""

    kind = forms.ChoiceField(
        label="What",
        choices=[
            ("", "choose"),
            (SOUND, SOUND),
            *((d.word, f"{d.word} ({d.cause})") for d in DEFECTS.values() if d.word != SOUND),
        ],
        error_messages={"required": "Choose what came of them."},
    )
    severity = forms.TypedChoiceField(
        label="How grave", choices=Outcome.Severity.choices, coerce=int, initial=1
    )
    doing = forms.ChoiceField(
        label="Whose doing",
        required=False,
        choices=[("", "as is usual for it"), *Outcome.Doing.choices],
        help_text="The list proposes; you rule. It can be changed at the piece later.",
    )
    note = forms.CharField(label="Note", required=False, max_length=240)
    photo = forms.FileField(
        label="Photo",
        required=False,
        widget=forms.ClearableFileInput(attrs={"accept": "image/*", "capture": "environment"}),
        help_text="Of one piece; tick only that one.",
    )
    hurt = forms.MultipleChoiceField(
        label="Neighbours it hurt", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args, loads, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["hurt"].choices = [(str(load.pk), load.piece.code) for load in loads]


class OpeningForm(forms.ModelForm):
    """At what temperature the kiln was first opened."""

    opened_c = forms.FloatField(
        label="Temperature by the pyrometer when it was first opened [°C]",
        required=False,
        min_value=0,
        max_value=HOTTEST_C,
        widget=FigureInput(attrs={"class": "short", "step": "any", "min": "0"}),
        error_messages={
            "min_value": "A pyrometer shows zero or more.",
            "max_value": f"No kiln here goes beyond {HOTTEST_C} °C. Is it written in °F?",
        },
    )

    class Meta:
        model = Firing
        fields = ("opened_c",)
