"""One piece, what its maker wants of it, and what came of it."""

from django import forms

from studio.forms.web.fields import DateInput
from studio.forms.web.versioned import VersionedMixin
from studio.models import Outcome, Piece
from studio.projects.pieces import why_taken
from studio.ware.outcomes import DEFECTS


class PieceForm(VersionedMixin, forms.ModelForm):
    """Code, stage and state of a piece."""

    class Meta:
        model = Piece
        fields = ("code", "stage", "stage_since", "state", "intent")
        labels = {"stage_since": "Since", "intent": "What the student wants of it"}
        widgets = {
            "code": forms.TextInput(attrs={"class": "short", "spellcheck": "false"}),
            "stage_since": DateInput(),
            "intent": forms.Textarea(attrs={"rows": 3}),
        }

    def clean_code(self):
        code = self.cleaned_data["code"].strip()
        if not code.isascii() or not all(sign.isalnum() or sign == "-" for sign in code):
            raise forms.ValidationError("Letters, figures and hyphens only, as K3-07.")
        if code.startswith("-"):
            raise forms.ValidationError("A code begins with a letter or a figure.")
        # A code that stands may stand elsewhere too, from before; a new one is one in the house.
        if code.casefold() != self.instance.code.casefold():
            taken = why_taken(self.instance.section, [code], but=self.instance)
            if where := taken.get(code.casefold()):
                raise forms.ValidationError(f"{code} stands on another piece of {where}.")
        return code


class OutcomeForm(forms.ModelForm):
    """What came of a piece. Whose doing it is may be left to the trade's usual answer."""

    kind = forms.ChoiceField(
        label="What",
        choices=[("", "choose")]
        + [
            (d.word, f"{d.word} ({d.cause})" if d.word != "sound" else d.word)
            for d in DEFECTS.values()
        ],
        error_messages={"required": "Choose what came of the piece."},
    )
    doing = forms.ChoiceField(
        label="Whose doing",
        required=False,
        choices=[("", "as is usual for it"), *Outcome.Doing.choices],
        help_text="Look at the photo before the fire, the place in the kiln and the neighbours. "
        "You rule.",
    )

    class Meta:
        model = Outcome
        fields = ("kind", "stage", "severity", "doing", "note")
        labels = {"stage": "Seen when", "severity": "How grave"}

    def __init__(self, *args, piece, **kwargs):
        super().__init__(*args, **kwargs)
        self.piece = piece
        self.instance.piece = piece
        kind = self.instance.kind
        if kind and kind not in DEFECTS:
            # Noted under a word of its own, say by an import: it stays on offer.
            self.fields["kind"].choices = [*self.fields["kind"].choices, (kind, kind)]

    def clean(self):
        data = super().clean()
        kind, stage = data.get("kind"), data.get("stage")
        if kind and not data.get("doing"):
            defect = DEFECTS.get(kind)
            data["doing"] = defect.doing if defect else Outcome.Doing.UNCLEAR
        others = self.piece.outcomes.exclude(pk=self.instance.pk)
        if kind and stage and others.filter(kind=kind, stage=stage).exists():
            self.add_error(
                "kind", "This is noted for this stage already. Change that note instead."
            )
        return data
