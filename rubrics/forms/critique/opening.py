"""How a critique is opened, who is kept apart, who is absent."""

from __future__ import annotations

from django import forms

from rubrics.models import Critique
from rubrics.models.critique import GROUPS, READERS
from studio.forms.web.fields import RowsField
from studio.models import Section, Stage, Student
from studio.ware.stages import FIRED_STAGES

TURN_HELP = "In seconds."
SOFT = (Stage.WET, Stage.LEATHER_HARD)


class PiecesField(RowsField):
    """Pieces told by code, maker and stage."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, piece):
        return f"{piece.code} {piece.student.name}, {piece.stage}"


GROUPED = "groups-of-"
HOW = [
    *((str(n), f"{n} readers a piece, dealt one by one") for n in READERS),
    *((f"{GROUPED}{n}", f"Groups of {n} round one table") for n in GROUPS),
]


class OpenForm(forms.ModelForm):
    """Kind, how the readers come about, names; whose pieces, and who is absent."""

    readers = forms.ChoiceField(
        label="Who looks at whom",
        choices=HOW,
        initial=f"{GROUPED}{GROUPS[-1]}",
        widget=forms.RadioSelect,
        help_text="Dealt, every piece gets as many, and everybody reads as many. In a group each "
        "looks at the pieces of all the others; where the number does not divide, some groups "
        "have one more or one fewer.",
    )
    pieces = PiecesField(
        queryset=None,
        label="Pieces to show",
        error_messages={"required": "Choose the pieces that are shown."},
    )
    absent = RowsField(
        queryset=None,
        label="Absent today",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="They read nothing; their pieces are read all the same.",
    )

    class Meta:
        model = Critique
        fields = (
            "kind",
            "names_hidden",
            "shows_unflagged",
            "maker_first_s",
            "group_s",
            "maker_last_s",
        )
        widgets = {"kind": forms.RadioSelect}
        help_texts = {
            "names_hidden": "Readers see a code, makers see words. You see both.",
            "maker_first_s": TURN_HELP,
            "group_s": TURN_HELP,
            "maker_last_s": TURN_HELP,
        }

    def __init__(self, *args, pieces, **kwargs):
        super().__init__(*args, **kwargs)
        ids = [piece.pk for piece in pieces]
        shown = pieces[0]._meta.model.objects.filter(pk__in=ids) if pieces else None
        self.fields["pieces"].queryset = (
            shown.select_related("student").in_order() if shown is not None else None
        ) or Critique.objects.none()
        soft = [piece.pk for piece in pieces if piece.stage in SOFT]
        fired = [piece.pk for piece in pieces if piece.stage in FIRED_STAGES]
        self.fields["pieces"].initial = soft or ids
        self.fields["kind"].initial = (
            Critique.Kind.MIDDLE if soft or not fired else Critique.Kind.FINISHED
        )
        self.fields["kind"].choices = Critique.Kind.choices
        self.fields["absent"].queryset = Student.objects.filter(
            pk__in=[piece.student_id for piece in pieces]
        )
        for name in ("maker_first_s", "group_s", "maker_last_s"):
            self.fields[name].widget.attrs["class"] = "short"

    def _post_clean(self):
        # Before the model is asked: the one choice stands for two of its fields.
        how = self.cleaned_data.get("readers", "")
        if how.startswith(GROUPED):
            self.instance.group_size = int(how.removeprefix(GROUPED))
            self.instance.readers = self.instance.group_size - 1
        elif how:
            self.instance.group_size, self.instance.readers = None, int(how)
        super()._post_clean()


class AbsentForm(forms.Form):
    """Readers who are away; what they have not sent goes to others."""

    absent = RowsField(
        queryset=None,
        widget=forms.CheckboxSelectMultiple,
        label="Away",
        error_messages={"required": "Choose who is away."},
    )

    def __init__(self, *args, readers, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["absent"].queryset = readers


class BackForm(forms.Form):
    """Readers who were away and are here again."""

    back = RowsField(
        queryset=None,
        widget=forms.CheckboxSelectMultiple,
        label="Back",
        error_messages={"required": "Choose who is back."},
    )

    def __init__(self, *args, readers, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["back"].queryset = readers


class ApartForm(forms.Form):
    """Two students who never read each other's work."""

    one = forms.ModelChoiceField(queryset=None, label="Keep apart")
    other = forms.ModelChoiceField(queryset=None, label="and")

    def __init__(self, *args, section: Section, **kwargs):
        super().__init__(*args, **kwargs)
        listed = section.students.filter(enrolments__section=section, enrolments__left_on=None)
        for field in self.fields.values():
            field.queryset = listed
            field.empty_label = "choose a student"
