"""Rows of measure, error, u and trust against the truth of rendered photographs; their table."""

import json
from pathlib import Path

import numpy as np

FIXTURES = Path(__file__).parents[2] / "fixtures" / "photos"
LARGE = Path(__file__).parents[3] / "shared" / "photos-k4"
SIDE = {
    "height_mm": lambda c: c["height_mm"],
    "rim_width_mm": lambda c: c["rim_width_view_mm"],
    "foot_width_mm": lambda c: c["foot_width_view_mm"],
    "max_width_mm": lambda c: c["max_width_view_mm"],
    "rim_tilt_deg": lambda c: c["rim_tilt_view_deg"],
    "lean_deg": lambda c: c["lean_view_deg"],
    "handle_reach_mm": lambda c: c["handle"]["reach_mm"],
    "handle_top_mm": lambda c: c["handle"]["attach_top_z_mm"],
    "handle_bottom_mm": lambda c: c["handle"]["attach_bottom_z_mm"],
    "opening_height_mm": lambda c: c["handle"]["opening_height_mm"],
    "opening_depth_mm": lambda c: c["handle"]["opening_depth_mm"],
}
TOP = {
    "rim_diameter_mm": lambda c: c["rim_diameter_mm"],
    "out_of_round_mm": lambda c: c["rim_out_of_round_mm"],
    "handle_azimuth_deg": lambda c: c["handle"]["azimuth_deg"],
    "handle_twist_deg": lambda c: c["handle"]["twist_deg"],
}


def truth_of(folder: Path) -> dict:
    """Records of a set by file name."""
    return {t["file"]: t for t in json.loads((folder / "truth.json").read_text())}


def rows(readings, truth):
    """(measure, error, u, trusted, record) of every measure with a truth; error None if unread."""
    for r in readings:
        record = truth[r.file]
        for name, true in (SIDE if record["view"] == "side" else TOP).items():
            if "handle" not in record["cup"] or (
                record["cup"]["handle"] is None and ("handle" in name or "opening" in name)
            ):
                continue
            m = r.measures.get(name)
            if m is None:
                yield name, None, None, False, record
                continue
            off = m.value - true(record["cup"])
            off = (off + 180) % 360 - 180 if "azimuth" in name else off
            yield name, off, m.u, m.trusted, record


def table(found):
    """Lines: share trusted, errors of what is trusted, coverage of U = 2u, worst |error| / U."""
    yield (
        f"{'measure':<20}{'n':>5}{'trusted':>9}{'median':>8}{'p90':>7}{'worst':>7}"
        f"{'in U':>7}{'worst/U':>9}{'med U':>7}"
    )
    for name in [*SIDE, *TOP]:
        mine = [f for f in found if f[0] == name]
        if not mine:
            continue
        held = [f for f in mine if f[3]]
        line = f"{name:<20}{len(mine):>5}{len(held) / len(mine):>9.0%}"
        if held:
            off, full = np.abs([f[1] for f in held]), 2 * np.array([f[2] for f in held])
            line += f"{np.median(off):>8.2f}{np.percentile(off, 90):>7.2f}{off.max():>7.2f}"
            line += f"{np.mean(off <= full):>7.0%}{(off / full).max():>9.1f}{np.median(full):>7.2f}"
        yield line
