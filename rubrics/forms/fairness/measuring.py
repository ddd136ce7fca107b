"""Beginning a study of the measuring, and typing or pasting its readings."""

from django import forms

from rubrics.fairness.measuring import LONGEST_NAME, MOST_CUPS, empty_grid
from rubrics.models import MeasuringStudy
from studio import access

MOST_PEOPLE, MOST_REPEATS = 12, 10
LONGEST_GRID = 20_000


class BeginStudyForm(forms.ModelForm):
    """What is measured with what, by whom and how often; makes the empty grid."""

    people = forms.CharField(
        max_length=MOST_PEOPLE * LONGEST_NAME,
        help_text="Initials or numbers, parted by commas: P1, P2, P3. Students may measure too.",
        error_messages={"required": "Say who measures: two people at least."},
    )
    cups = forms.IntegerField(min_value=3, max_value=MOST_CUPS, initial=5, label="How many cups")
    repeats = forms.IntegerField(
        min_value=1,
        max_value=MOST_REPEATS,
        initial=2,
        label="How often each measures every cup",
        help_text="Without looking at the earlier figures, the cups in another order.",
    )

    class Meta:
        model = MeasuringStudy
        fields = ("title", "quantity", "instrument")
        labels = {"title": "Name of the study", "quantity": "What is measured"}
        help_texts = {"instrument": "Your own one can take the repeatability over."}

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.user = user
        self.fields["instrument"].queryset = access.instruments(user)

    def clean_people(self):
        people = [" ".join(name.split()) for name in self.cleaned_data["people"].split(",")]
        people = list(dict.fromkeys(filter(None, people)))
        if not 2 <= len(people) <= MOST_PEOPLE:
            raise forms.ValidationError(f"Name 2 to {MOST_PEOPLE} people, parted by commas.")
        return people

    def save(self, commit=True):
        data = self.cleaned_data
        self.instance.owner = self.user
        self.instance.typed = empty_grid(data["people"], data["cups"], data["repeats"])
        return super().save(commit)


class StudyGridForm(forms.ModelForm):
    """The readings as a grid of text; whatever is typed is kept."""

    class Meta:
        model = MeasuringStudy
        fields = ("typed", "instrument")
        labels = {"typed": "Readings"}
        help_texts = {
            "typed": "The cups in the first line, then a line for every round of a person. "
            "Columns are parted by tabs, as a spreadsheet copies them, or by semicolons."
        }
        widgets = {"typed": forms.Textarea(attrs={"rows": 14, "class": "grid-text"})}

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["instrument"].queryset = access.instruments(user)
        self.fields["typed"].max_length = LONGEST_GRID
        self.fields["typed"].strip = False
