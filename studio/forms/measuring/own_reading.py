"""One station that a student reads."""

from django import forms

from studio.forms.measuring.readings import LONGEST_CELL


class OwnReadingForm(forms.Form):
    """What the page of one station sends; the value stays text here."""

    value = forms.CharField(max_length=LONGEST_CELL, required=False)
    where = forms.CharField(max_length=LONGEST_CELL, required=False)
    base = forms.IntegerField(required=False)
    take = forms.CharField(max_length=LONGEST_CELL, required=False)
    stand = forms.BooleanField(required=False)
