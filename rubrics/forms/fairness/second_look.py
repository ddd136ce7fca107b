"""Opening a second look, judging in it, and settling what differs."""

from django import forms

from rubrics.forms.judging.levels import LevelsForm
from rubrics.judging.marking.mark_record import WHY_LENGTH

PRECISIONS = ((0.2, "± 20 %"), (0.15, "± 15 %"), (0.1, "± 10 %"), (0.05, "± 5 %"))
"""Half an interval of a share of equal levels, 95 %."""


class OpenLookForm(forms.Form):
    """Who looks, and how closely the agreement is wanted to be known."""

    within = forms.TypedChoiceField(
        label="Know the share of equal levels to",
        coerce=float,
        choices=PRECISIONS,
        initial=0.2,
        help_text="The closer, the more pieces are drawn: 15 at least, at most all.",
    )
    username = forms.CharField(
        label="User name of a colleague",
        max_length=150,
        required=False,
        help_text="Left empty, you look yourself, a day after your last mark on the sample.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )


class SecondLevelsForm(LevelsForm):
    """The levels of one piece, chosen without knowing the first."""

    def clean(self):
        data = super().clean()
        if not any(data.values()):
            raise forms.ValidationError("Choose a level for one criterion at least.")
        return data


class SettleForm(forms.Form):
    """The level that a difference is settled at, and why."""

    place = forms.IntegerField(min_value=1)
    criterion = forms.IntegerField(min_value=1)
    level = forms.TypedChoiceField(
        coerce=int,
        choices=[(number, number) for number in (4, 3, 2, 1)],
        error_messages={"required": "Choose the level at which the difference is settled."},
    )
    why = forms.CharField(
        max_length=WHY_LENGTH, error_messages={"required": "Say in a few words why."}
    )
