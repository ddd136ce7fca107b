"""A piece's readings as a page shows them: by stage, with history and planned sizes."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from studio.models import Photo, Piece, Reading
from studio.projects.plan_sizes import at_stage_mm
from studio.ware.quantities import DIMENSIONS, QUANTITIES
from studio.ware.stages import STAGE_PLACE, STAGES
from studio.ware.units import format_measure


@dataclass(frozen=True, slots=True)
class PieceEntry:
    """One place that was read: the reading that counts, and the ones before it."""

    label: str
    place: str
    text: str
    current: Reading | None
    earlier: tuple[tuple[Reading, str], ...] = ()


@dataclass(slots=True)
class StageSheet:
    """What was read at one stage, and how many readings are a question still."""

    stage: str
    entries: list[PieceEntry] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A planned size at the piece's stage beside what was read. [mm]"""

    label: str
    planned_mm: float
    read_mm: float | None

    @property
    def difference_text(self) -> str:
        """With its sign, to a tenth; a dash where nothing was read."""
        if self.read_mm is None:
            return "–"
        return f"{self.read_mm - self.planned_mm:+.1f}".replace("-", "−")


def photos_of(piece: Piece) -> list[Photo]:
    """The photos as a page shows them: the chosen one, then by stage, the latest first, side view
    before the others."""
    views = list(Photo.View)
    return sorted(
        piece.photos.in_order(),
        key=lambda photo: (
            not photo.chosen,
            -STAGE_PLACE.get(photo.stage, -1),
            views.index(photo.view),
        ),
    )


def readings_of(piece: Piece) -> list[Reading]:
    """All readings, superseded ones too, in one query."""
    return list(piece.readings.select_related("made_by", "instrument").order_by("pk"))


def by_stage(readings: Iterable[Reading]) -> list[StageSheet]:
    """Group readings by stage, the latest stage first, then by place in the order of measuring."""
    order = {key: place for place, key in enumerate(QUANTITIES)}
    places: dict[tuple, list[Reading]] = {}
    for reading in readings:
        key = (reading.stage, reading.quantity, reading.station, reading.source)
        places.setdefault(key, []).append(reading)
    sheets = {stage: StageSheet(stage) for stage in reversed(STAGES)}
    for stage, quantity, station, source in sorted(
        places,
        key=lambda key: (order.get(key[1], len(order)), _station_order(places[key][0])),
    ):
        sheets[stage].entries.append(_entry(places[stage, quantity, station, source]))
    return [sheet for sheet in sheets.values() if sheet.entries]


def _station_order(reading: Reading) -> tuple:
    return (reading.name, reading.height_mm or 0, reading.azimuth_deg or 0)


def _entry(readings: list[Reading]) -> PieceEntry:
    current = next((each for each in readings if each.superseded_at is None), None)
    first = readings[-1]
    earlier = [each for each in readings if each is not current]
    return PieceEntry(
        label=QUANTITIES[first.quantity].label,
        place=place_words(first),
        text=_text(current) if current else "taken back",
        current=current,
        earlier=tuple((each, _text(each)) for each in reversed(earlier)),
    )


def spoken_name(name: str) -> str:
    """A place's name as people say it: "dart 2" of "dart2", "beside the seam" of "beside"."""
    if name == "beside":
        return "beside the seam"
    return re.sub(r"(?<=[a-z])(?=[0-9])", " ", name.replace("_", " "))


def place_words(reading: Reading) -> str:
    """Where on the piece, in words: “1 · 45 mm up · 90°”."""
    words = []
    if reading.name:
        words.append(DIMENSIONS.get(reading.name, spoken_name(reading.name)))
    if reading.height_mm is not None:
        words.append(f"{reading.height_mm:g} mm up")
    if reading.azimuth_deg is not None:
        words.append(f"at {reading.azimuth_deg:g}°")
    return ", ".join(words)


def _text(reading: Reading) -> str:
    return format_measure(reading.value, QUANTITIES[reading.quantity].unit)


def plan_rows(piece: Piece, readings: Iterable[Reading]) -> list[PlanRow]:
    """Planned sizes at the piece's stage beside the sizes read there; none without a clay."""
    plan = getattr(piece.project, "plan", None)
    if plan is None or plan.clay is None:
        return []
    percents = {each.stage: float(each.percent) for each in plan.clay.shrinkages.all()}
    total, here = percents.get("glazed"), percents.get(piece.stage)
    if piece.stage == STAGES[0]:
        here = 0.0
    if total is None or here is None:
        return []
    sizes: dict[tuple, list[float]] = {}
    for reading in readings:
        if reading.superseded_at is None and reading.stage == piece.stage:
            if reading.quantity == "dimension":
                sizes.setdefault((reading.name, reading.height_mm), []).append(reading.value)
            elif reading.quantity == "foot_side":
                sizes.setdefault(("foot_side", None), []).append(reading.value)
    rows = []
    for size in plan.sizes.all():
        values = sizes.get((size.name, size.height_mm))
        label = size.get_name_display()
        if size.height_mm is not None:
            label = f"Diameter at {size.height_mm:g} mm"
        rows.append(
            PlanRow(
                label,
                at_stage_mm(size.fired_mm, here, total),
                sum(values) / len(values) if values else None,
            )
        )
    return rows
