"""Witness cones as read: a select for each shelf and cone."""

from django import forms

from studio.firing.cones import Cone, ConeError, cone
from studio.models import WitnessCone


class ConesForm(forms.Form):
    """How each cone bent, shelf by shelf; empty where none stood."""

    def __init__(self, data=None, *, shelves: int, cones: list[Cone], read):
        super().__init__(data)
        self.cones = cones
        self.rows: list[tuple[int, list[str]]] = []
        before = {(each.shelf, each.cone): each.bend for each in read}
        for shelf in range(shelves, 0, -1):
            names = []
            for each in cones:
                name = f"shelf-{shelf}-cone-{each}"
                self.fields[name] = forms.ChoiceField(
                    required=False,
                    label=f"Cone {each} on shelf {shelf}",
                    choices=[("", "none"), *WitnessCone.Bend.choices],
                    initial=before.get((shelf, each.name), ""),
                )
                names.append(name)
            self.rows.append((shelf, names))

    def table(self):
        """Rows of (shelf, its fields), the highest shelf first, for a template."""
        return [(shelf, [self[name] for name in names]) for shelf, names in self.rows]

    def read(self) -> dict[tuple[int, str], str]:
        """The bends by (shelf, cone), once valid."""
        return {
            (shelf, each.name): self.cleaned_data[name]
            for shelf, names in self.rows
            for each, name in zip(self.cones, names, strict=True)
            if self.cleaned_data[name]
        }


def cones_to_read(planned: Cone | None, read, more: str = "") -> tuple[list[Cone], str]:
    """The planned cone with its softer and harder neighbour, those read, and one asked for.

    Returns the cones in order, and a sentence where the one asked for is none.
    """
    chosen = {cone(each.cone) for each in read}
    if planned is not None:
        # Guide, firing and guard cone: three a shelf (common practice, no source).
        around = (planned.neighbour(-1), planned, planned.neighbour(1))
        chosen |= {each for each in around if each is not None}
    problem = ""
    if more.strip():
        try:
            chosen.add(cone(more))
        except ConeError as error:
            problem = str(error)
    return sorted(chosen), problem
