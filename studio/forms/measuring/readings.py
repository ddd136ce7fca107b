"""One cell of the measuring sheet, and a file of readings."""

from django import forms

from studio.measuring.readings_csv import MOST_BYTES
from studio.models import Stage
from studio.ware.stations import TITLES

LONGEST_CELL = 60


class CellForm(forms.Form):
    """What a saved cell sends. Values stay text here; ``studio.measuring.entries`` reads them."""

    piece = forms.IntegerField()
    stage = forms.ChoiceField(choices=Stage.choices)
    set = forms.ChoiceField(choices=list(TITLES.items()))
    column = forms.CharField(max_length=60)
    value = forms.CharField(max_length=LONGEST_CELL, required=False)
    where = forms.CharField(max_length=LONGEST_CELL, required=False)
    base = forms.IntegerField(required=False)
    instrument = forms.IntegerField(required=False)


class FileForm(forms.Form):
    """A file of readings to look at."""

    file = forms.FileField(
        label="CSV file",
        help_text="Comma, semicolon or tab between the cells; points or commas in the numbers.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,text/csv"}),
        error_messages={"empty": "The file is empty. Choose another."},
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file is larger than {MOST_BYTES // 1024 // 1024} MB. Split it by stage."
            )
        return file
