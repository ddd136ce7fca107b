"""Batches as large as a teacher's, filled as one inspection fills them."""

from studio.models import Reading
from tests.factories import make_piece, make_student


def make_batch(judged, count: int, *, start: int = 0):
    for number in range(start, start + count):
        student = make_student(judged.section, f"Student {number}")
        piece = make_piece(judged.project, student, f"B-{number:03}")
        fill(piece)


def fill(piece):
    """About what an inspection of a cup reads: 31 values at two stages."""
    rows = []

    def add(quantity, value, *, stage="leather-hard", name="", height=None, azimuth=None):
        station = f"{name} {height} {azimuth}"
        rows.append(
            Reading(
                piece=piece,
                stage=stage,
                quantity=quantity,
                value=value,
                typed=str(value),
                name=name,
                height_mm=height,
                azimuth_deg=azimuth,
                station=station,
            )
        )

    for azimuth in range(0, 360, 45):
        add("rim_height", 95 + azimuth / 200, azimuth=azimuth)
    for azimuth in range(0, 360, 90):
        for height in (20, 50, 80):
            add("wall_thickness", 6 + azimuth / 400, height=height, azimuth=azimuth)
    add("seam_open", 3, name="seam", height=10)
    add("seam_step", 0.6, name="seam", height=40)
    add("handle_top", 80, azimuth=3)
    add("handle_bottom", 30, azimuth=0)
    for side in "1234":
        add("foot_side", 60 + int(side) / 4, name=side)
    add("dimension", 108, stage="wet", name="height")
    add("dimension", 105, name="height")
    add("dimension", 94, stage="glazed", name="height")
    Reading.objects.bulk_create(rows)
