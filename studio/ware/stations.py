"""Which stations a measuring sheet asks for. Pure: no Django, no models.

A set is a row of columns for one sheet. Azimuth 0 is where the handle is planned; counting goes
counter-clockwise seen from above. Places are named as one stands with the handle towards one, as
they are when the readings are told: 90 is on the right, 180, where the seam usually runs, the back.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from studio.ware.quantities import DIMENSIONS, ENDS, JOINS, QUANTITIES, station_of

SIDES = {
    0: "handle",
    45: "right of handle",
    90: "right",
    135: "back right",
    180: "back",
    225: "back left",
    270: "left",
    315: "left of handle",
}
"""Names of the places round a piece, with the handle towards you."""

SIDE_LETTERS = {"h": 0, "r": 90, "b": 180, "l": 270}
"""One key for each of the four sides: handle, right, back, left."""


def side_azimuth(text: str) -> int | None:
    """The azimuth that a side's name or letter means [°]; None where the text is no side.

    Two letters are the place between: ``br`` is the back right.
    """
    word = " ".join(text.lower().split())
    by_name = {name: azimuth for azimuth, name in SIDES.items()}
    between = {"hr": 45, "rh": 45, "br": 135, "rb": 135, "bl": 225, "lb": 225, "hl": 315, "lh": 315}
    return SIDE_LETTERS.get(word, between.get(word, by_name.get(word)))


def side_letters(azimuth: float) -> str:
    """What a hand writes for a side, such as ``b`` or ``br``; the angle where it is between."""
    between = {45: "hr", 135: "br", 225: "bl", 315: "hl"}
    letters = {side: letter for letter, side in SIDE_LETTERS.items()} | between
    return letters.get(azimuth, f"{azimuth:g}")


_VALUE_AND_SIDE = re.compile(r"(.*(?:[0-9.\"″]|mm|cm|in))\s*([hrbl]{1,2})", re.IGNORECASE)


def split_side(text: str) -> tuple[str, str]:
    """A value and the side written behind it: ``5.8b`` is 5.8 at the back; "" where none is."""
    match = _VALUE_AND_SIDE.fullmatch(text.strip())
    if match is None or side_azimuth(match[2]) is None:
        return text, ""
    return match[1], match[2]


USUAL_HEIGHT_MM = 90.0
"""Planned height of a cup where the plan names none [mm] (common practice, no source)."""

MID, THIRDS = (0.5,), (0.2, 0.5, 0.8)
"""Where along the planned height a wall is read: clear of the foot's and the rim's rounding."""

HEIGHT_STEP_MM = 5.0
"""Stations are set to whole steps, so that a hand finds them again with a ruler [mm]."""

NOTHING_AT_0 = frozenset({"seam_open", "seam_step", "foot_gap"})
"""Quantities of which most pieces have none, and of which one looks whether there is any."""

NOTHING_SAID = {
    "seam": "all closed, the rest 0",
    "darts": "all closed, the rest 0",
    "foot": "stands flat, no gap",
    "handle": "straight and in its place",
}

FROM_THE_FIRST = frozenset({"rim_height", "foot_side", "foot_diagonal"})
"""Quantities that a hand may note as what they are more or less than the first of the piece."""

SLOTS_OPEN = 2
"""So many open parts of one join fit the sheet; more come in by file."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a sheet.

    A column is a fixed station, or a slot: the ``slot``-th reading of its quantity and name, whose
    place is typed beside it. ``where`` names that second field: ``"height_mm"``,
    ``"azimuth_deg"`` or "". ``by_side`` says that a side is named there rather than measured.
    """

    key: str
    quantity: str
    label: str
    note: str = ""
    name: str = ""
    height_mm: float | None = None
    azimuth_deg: float | None = None
    where: str = ""
    where_label: str = ""
    slot: int | None = None
    by_side: bool = False

    @property
    def station(self) -> str:
        return station_of(QUANTITIES[self.quantity], self.name, self.height_mm, self.azimuth_deg)

    @property
    def is_nothing_at_0(self) -> bool:
        """Whether a 0 says that nothing is there: closed, level, flat."""
        return self.quantity in NOTHING_AT_0 and not self.slot

    @property
    def closes(self) -> str:
        """The join of which a 0 here says that all of it is closed; "" elsewhere."""
        return self.name if self.quantity == "seam_open" and not self.slot else ""

    @property
    def follows(self) -> str:
        """The join of which nothing is left to say here once it is closed; "" elsewhere."""
        is_more = self.quantity == "seam_through" or (self.quantity == "seam_open" and self.slot)
        return self.name if is_more else ""

    @property
    def is_alike(self) -> bool:
        """Whether the row's first reading of this quantity serves as the mark for the others."""
        return self.quantity in FROM_THE_FIRST

    @property
    def said(self) -> str:
        """The column's heading in one line."""
        return f"{self.label}, {self.note}" if self.note else self.label


@dataclass(frozen=True, slots=True)
class StationSet:
    """A sheet: its columns, the check they make possible and the drawing beside them."""

    key: str
    title: str
    hint: str
    check: str
    drawing: str
    columns: tuple[Column, ...] = field(default=())

    @property
    def quantities(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(column.quantity for column in self.columns))

    @property
    def is_alike(self) -> bool:
        """Whether a row's readings are noted by what they are more or less than its first."""
        return any(column.is_alike for column in self.columns)

    @property
    def nothing(self) -> str:
        """What the key for "nothing there" says of a row; "" where nothing can be said so."""
        return NOTHING_SAID.get(self.key, "")

    @property
    def units(self) -> set[str]:
        """Base units of what is read here."""
        return {QUANTITIES[quantity].unit for quantity in self.quantities}


TITLES = {
    "wall-4": "Wall, 4 places",
    "wall-12": "Wall, 12 places",
    "wall-ends": "Wall, thinnest and thickest",
    "rim-4": "Rim, 4 places",
    "rim-8": "Rim, 8 places",
    "sizes": "Sizes",
    "handle": "Handle",
    "seam": "Seam",
    "darts": "Darts",
    "foot": "Foot",
    "water": "Water",
}
USUAL_SET = "wall-4"


def wall_heights(planned_height_mm: float | None, shares: tuple[float, ...]) -> list[float]:
    """Heights at which to read a wall [mm], in whole steps of the planned height."""
    height = planned_height_mm or USUAL_HEIGHT_MM
    steps = (max(1, round(share * height / HEIGHT_STEP_MM)) for share in shares)
    return sorted({step * HEIGHT_STEP_MM for step in steps})


def station_set(
    key: str,
    *,
    planned: Mapping[tuple[str, float | None], float] | None = None,
    heights_read: Iterable[float] = (),
) -> StationSet:
    """Build one set.

    Parameters
    ----------
    key : str
        One of ``TITLES``.
    planned : mapping, optional
        (size, height or None) to planned size [mm]: the sizes a sheet asks for.
    heights_read : iterable of float
        Heights at which walls of this batch were read before, the most used first; the sheet
        follows them, so that nothing that was read drops out of sight. [mm]

    Raises
    ------
    KeyError
        There is no such set.
    """
    planned = planned or {}
    makers = {
        "wall-4": lambda: _wall(key, planned, MID, heights_read),
        "wall-12": lambda: _wall(key, planned, THIRDS, heights_read),
        "wall-ends": _wall_ends,
        "rim-4": lambda: _rim(key, 90),
        "rim-8": lambda: _rim(key, 45),
        "sizes": lambda: _sizes(planned),
        "handle": _handle,
        "seam": _seam,
        "darts": _darts,
        "foot": _foot,
        "water": _water,
    }
    return makers[key]()


_WALL_KEY = re.compile(r"z([0-9]{1,4}(?:\.[0-9]{1,2})?)-(0|90|180|270)")
_SIZE_KEY = re.compile(r"([a-z][a-z0-9_]*?)(?:-z([0-9]{1,4}(?:\.[0-9]{1,2})?))?")


def column_of(set_key: str, column_key: str) -> Column:
    """The column that a sheet sent back.

    Raises
    ------
    KeyError
        No sheet of that name has such a column.
    """
    if set_key.startswith("wall") and (match := _WALL_KEY.fullmatch(column_key)):
        return _wall_column(float(match[1]), int(match[2]), alone=True)
    if set_key == "sizes" and (match := _SIZE_KEY.fullmatch(column_key)) and match[1] in DIMENSIONS:
        return _size_column(match[1], float(match[2]) if match[2] else None)
    return {column.key: column for column in station_set(set_key).columns}[column_key]


def heights_in(column_keys: Iterable[str]) -> list[float]:
    """Heights of the wall columns among some keys [mm], each once."""
    matches = (_WALL_KEY.fullmatch(key) for key in column_keys)
    return sorted({float(match[1]) for match in matches if match})


def _wall_column(height: float, azimuth: int, *, alone: bool) -> Column:
    return Column(
        key=f"z{height:g}-{azimuth}",
        quantity="wall_thickness",
        label=SIDES[azimuth].capitalize(),
        note=f"{height:g} up" if azimuth == 0 or alone else f"{height:g}",
        height_mm=height,
        azimuth_deg=float(azimuth),
    )


def _size_column(name: str, height: float | None) -> Column:
    return Column(
        key=name if height is None else f"{name}-z{height:g}",
        quantity="dimension",
        label=DIMENSIONS[name],
        note="" if height is None else f"{height:g} up",
        name=name,
        height_mm=height,
    )


def _wall(key, planned, shares, heights_read) -> StationSet:
    wanted = len(shares)
    followed = list(dict.fromkeys(heights_read))[:wanted]
    usual = wall_heights(planned.get(("height", None)), shares)
    # The heights nobody has read yet and that lie farthest from those somebody has.
    spare = sorted(
        (height for height in usual if height not in followed),
        key=lambda height: -min((abs(height - other) for other in followed), default=0.0),
    )
    heights = sorted([*followed, *spare[: wanted - len(followed)]])
    columns = tuple(
        _wall_column(height, azimuth, alone=wanted == 1)
        for height in heights
        for azimuth in (0, 90, 180, 270)
    )
    up = ", ".join(f"{height:g}" for height in heights)
    hint = (
        f"Callipers on the wall {up} mm above the table, with the handle towards you: at the "
        "handle, on the right, at the back, on the left. To bring the right side to you, turn the "
        "piece clockwise. Skip raised texture."
    )
    return StationSet(key, TITLES[key], hint, "wall_evenness", "wall", columns)


def _wall_ends() -> StationSet:
    columns = tuple(
        Column(
            key=end,
            quantity="wall_end",
            label=end.capitalize(),
            name=end,
            where="azimuth_deg",
            where_label="side",
            slot=0,
            by_side=True,
        )
        for end in ENDS
    )
    hint = (
        "Run the callipers all the way round, at foot, middle and rim, and note the thinnest and "
        "the thickest place with its side, the handle towards you: h handle, r right, b back, "
        "l left, or two letters between. Leave no side out: it counts as looked at all round."
    )
    return StationSet("wall-ends", TITLES["wall-ends"], hint, "wall_evenness", "ends", columns)


def _rim(key, step) -> StationSet:
    columns = tuple(
        Column(
            key=f"az{azimuth}",
            quantity="rim_height",
            label=SIDES[azimuth].capitalize(),
            note=f"{azimuth}°",
            azimuth_deg=float(azimuth),
        )
        for azimuth in range(0, 360, step)
    )
    hint = (
        "Height gauge on a flat table, with the handle towards you: from the handle to the right "
        "and on all round. To bring the right side to you, turn the piece clockwise. Leave no half "
        "of the rim unread."
    )
    return StationSet(key, TITLES[key], hint, "rim_level", "rim", columns)


USUAL_SIZES = ("height", "rim_diameter", "max_diameter", "base_thickness")


def _sizes(planned) -> StationSet:
    wanted = list(planned) or [(name, None) for name in USUAL_SIZES]
    columns = tuple(_size_column(name, height) for name, height in wanted)
    hint = "The same places at every stage, so that the shrinkage can be told."
    return StationSet("sizes", TITLES["sizes"], hint, "shrinkage", "sizes", columns)


def _handle() -> StationSet:
    side = {"where": "azimuth_deg", "where_label": "side, °", "slot": 0}
    columns = (
        Column("top", "handle_top", "Top", "height", **side),
        Column("bottom", "handle_bottom", "Bottom", "height", **side),
        Column("twist", "handle_twist", "Twist", "°"),
        Column("opening-height", "handle_opening", "Opening", "height", name="height"),
        Column("opening-depth", "handle_opening", "Opening", "depth", name="depth"),
    )
    hint = (
        "For each attachment the height of its middle, and how many degrees it sits to the right "
        "of the planned place as you face it; to the left with a minus."
    )
    return StationSet("handle", TITLES["handle"], hint, "handle_alignment", "handle", columns)


def _open_slots(join: str, slots: int, label: str) -> list[Column]:
    return [
        Column(
            f"{join}-open{slot + 1}",
            "seam_open",
            label if slots == 1 else f"{label} {slot + 1}",
            "length",
            name=join,
            where="height_mm",
            where_label="starts at",
            slot=slot,
        )
        for slot in range(slots)
    ]


def _seam() -> StationSet:
    at = {"where": "height_mm", "where_label": "at"}
    columns = (
        Column(
            "seam-length",
            "seam_length",
            "Join",
            "length",
            name="seam",
            where="azimuth_deg",
            where_label="side, °",
            slot=0,
        ),
        *_open_slots("seam", SLOTS_OPEN, "Open"),
        Column(
            "seam-through",
            "seam_through",
            "Through",
            "length",
            name="seam",
            where="height_mm",
            where_label="starts at",
            slot=0,
        ),
        Column("seam-step", "seam_step", "Step", "largest", name="seam", slot=0, **at),
        Column("on", "seam_thickness", "Thickness", "on the join", name="seam", slot=0, **at),
        Column("beside", "seam_thickness", "Thickness", "beside", name="beside", slot=0, **at),
    )
    hint = (
        "Lengths along the join, counted from the foot. Where nothing is open write 0: "
        "then it is known that somebody looked."
    )
    return StationSet("seam", TITLES["seam"], hint, "seam_join", "seam", columns)


def _darts() -> StationSet:
    columns = []
    for number, join in enumerate(JOINS[1:], start=1):
        columns.append(
            Column(f"{join}-length", "seam_length", f"Dart {number}", "length", name=join, slot=0)
        )
        columns.extend(_open_slots(join, 1, "Open"))
        columns.append(Column(f"{join}-step", "seam_step", "Step", "largest", name=join, slot=0))
    hint = (
        "Darts from the handle to the right and on all round; lengths from the middle of the foot "
        "outward."
    )
    return StationSet("darts", TITLES["darts"], hint, "seam_join", "darts", tuple(columns))


def _foot() -> StationSet:
    columns = (
        *(Column(f"side{n}", "foot_side", f"Side {n}", name=str(n)) for n in range(1, 5)),
        *(Column(f"diagonal{n}", "foot_diagonal", f"Diagonal {n}", name=str(n)) for n in (1, 2)),
        *(Column(f"gap{n}", "foot_gap", f"Gap {n}", name=str(n)) for n in range(1, 5)),
    )
    hint = (
        "Sides from the handle to the right and on all round; gap 1 is at the corner before "
        "side 1. "
        "Feelers under the corner on a flat table."
    )
    return StationSet("foot", TITLES["foot"], hint, "squared_foot", "foot", columns)


def _water() -> StationSet:
    columns = (
        Column("brim", "water_mass", "To the brim", "g", name="brim"),
        Column("line", "water_mass", "To the line", "g", name="line"),
    )
    hint = (
        "Weigh the water, glazed ware only. Millilitres are taken too and kept as the mass of "
        "water at 20 °C (0.9982 g/ml)."
    )
    return StationSet("water", TITLES["water"], hint, "capacity", "water", columns)
