"""What a measuring sheet asks for first: what rubric and plan use; the rest is a key away."""

from dataclasses import dataclass, replace

from studio.measuring.sheet import SheetRow
from studio.models import Project
from studio.projects.signals import measures_asked
from studio.ware.quantities import DIMENSIONS
from studio.ware.stages import GLAZED
from studio.ware.stations import TITLES, Column, StationSet, station_set

SAME = {"wall_end": "wall_thickness"}
"""A quantity that says the same as another, in its own way."""


@dataclass(frozen=True, slots=True)
class AskedQuantities:
    """Quantities that somebody leans on; None where nobody said, and then all are asked for."""

    quantities: frozenset[str] | None = None

    def wants(self, column: Column) -> bool:
        """Whether a column is asked for. Sizes on the sheet are the plan's, which uses them."""
        if self.quantities is None or column.quantity == "dimension":
            return True
        quantity = SAME.get(column.quantity, column.quantity)
        return bool({quantity, f"{quantity}:{column.name}"} & self.quantities)

    @property
    def is_size_given(self) -> bool:
        """Whether a size may follow from other readings: nobody leans on the sizes themselves."""
        return self.quantities is not None and "dimension" not in self.quantities

    @property
    def more_sizes(self) -> list[str]:
        """Sizes that are leaned on beside those planned."""
        names = (each.partition(":")[2] for each in self.quantities or ())
        return sorted(name for name in names if name in DIMENSIONS)

    def sets(self, stage: str) -> list[str]:
        """Keys of the sheets that are asked for at a stage, in their order."""
        return [
            key
            for key in TITLES
            if any(map(self.wants, station_set(key).columns))
            # Nobody pours water into soft clay.
            and (key != "water" or stage == GLAZED or self.quantities is None)
        ]


def asked_of(project: Project) -> AskedQuantities:
    """What the rubric of a project needs; the judgement says so, where it is installed."""
    answers = [answer for _, answer in measures_asked.send(sender=None, project=project)]
    said = [answer for answer in answers if answer is not None]
    return AskedQuantities(frozenset().union(*said) if said else None)


def narrow(
    chosen: StationSet, lines: list[SheetRow], asked: AskedQuantities
) -> tuple[StationSet, int]:
    """A sheet with the columns that are asked for, and how many it leaves out of its rows.

    A column stays in which anything is read or was typed. A sheet of which nothing is asked for,
    opened by hand, is whole.
    """
    if not any(map(asked.wants, chosen.columns)):
        return chosen, 0
    kept = [
        place
        for place, column in enumerate(chosen.columns)
        if asked.wants(column) or any(line.cells[place].is_used for line in lines)
    ]
    for line in lines:
        line.cells = [line.cells[place] for place in kept]
    columns = tuple(chosen.columns[place] for place in kept)
    return replace(chosen, columns=columns), len(chosen.columns) - len(columns)
