"""The photo mat on paper. Its places come from :mod:`studio.camera.mat`, which reads it too."""

from __future__ import annotations

import math

from studio.camera import mat

from .sheets import LIGHT_GREY, Paper, PdfSheet, draw_cells

THIN_MM = 0.3
CROSS_HALF_MM = 2.0
"""Half the length of the arms of the cross at the origin, short enough to hide under any foot."""
TICK_STEP_DEG = 10
BAR_HEIGHT_MM = 2.0
NOTE_SIZE_PT = 6.5
NOTE_BASELINE_MM = mat.CHECK_BAR_CENTRE_MM[1] - 0.8
"""Level with the bar: above it begins the markers' white, below it the printer's margin."""
NOTE_GAP_MM = 3.0


def mat_pdf(paper: Paper) -> bytes:
    """The photo mat as one landscape page at true size.

    Parameters
    ----------
    paper : Paper
        The sheet it is printed on; the mat is the same on each.

    Returns
    -------
    bytes
        A PDF that asks its reader not to scale it.
    """
    width, height = paper.long_mm, paper.short_mm
    sheet = PdfSheet(width, height, origin=(width / 2, height / 2), title="Photo mat")
    _draw_placing_marks(sheet)
    for marker_id, (x, y) in mat.CENTRES_MM.items():
        half = mat.MARKER_SIDE_MM / 2
        black = mat.marker_cells(marker_id) == 0
        draw_cells(sheet, black, x - half, y - half, mat.MARKER_SIDE_MM, ground=True)
    _draw_check_bar(sheet)
    return sheet.finish()


def tick_azimuths() -> list[int]:
    """Azimuths of the degree ring's ticks: those that no marker's white border touches. [°]"""
    return [az for az in range(0, 360, TICK_STEP_DEG) if not _touches_a_marker(az)]


def _touches_a_marker(azimuth_deg: float) -> bool:
    reach = mat.MARKER_SIDE_MM / 2 + mat.MARKER_WHITE_MM
    return any(
        abs(x - cx) < reach and abs(y - cy) < reach
        for x, y in _tick_ends(azimuth_deg)
        for cx, cy in mat.CENTRES_MM.values()
    )


def _tick_ends(azimuth_deg: float):
    angle = math.radians(azimuth_deg)
    return [(r * math.cos(angle), r * math.sin(angle)) for r in mat.TICK_RADII_MM]


def _draw_placing_marks(sheet: PdfSheet) -> None:
    for radius in mat.RING_RADII_MM:
        sheet.circle(0, 0, radius, width=THIN_MM, grey=LIGHT_GREY)
    sheet.line(-CROSS_HALF_MM, 0, CROSS_HALF_MM, 0, width=THIN_MM, grey=LIGHT_GREY)
    sheet.line(0, -CROSS_HALF_MM, 0, CROSS_HALF_MM, width=THIN_MM, grey=LIGHT_GREY)
    for azimuth in tick_azimuths():
        (x0, y0), (x1, y1) = _tick_ends(azimuth)
        sheet.line(x0, y0, x1, y1, width=THIN_MM, grey=LIGHT_GREY)


def _draw_check_bar(sheet: PdfSheet) -> None:
    x, y = mat.CHECK_BAR_CENTRE_MM
    half = mat.CHECK_BAR_MM / 2
    sheet.rectangle(x - half, y - BAR_HEIGHT_MM / 2, mat.CHECK_BAR_MM, BAR_HEIGHT_MM)
    sheet.words(
        x - half - NOTE_GAP_MM,
        NOTE_BASELINE_MM,
        f"Print at 100 %, not “fit to page”. This bar is {mat.CHECK_BAR_MM:g} mm long:",
        size=NOTE_SIZE_PT,
        at="right",
    )
    sheet.words(
        x + half + NOTE_GAP_MM,
        NOTE_BASELINE_MM,
        "Measured: ______ mm. If it differs, type it in on the site.",
        size=NOTE_SIZE_PT,
    )
