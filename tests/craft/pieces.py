"""Invented pieces with a full set of readings, for tests of the craft checks."""

import math
import random

from rubrics.craft.plan import Plan
from rubrics.craft.readings import Reading

PLAN = Plan()


def reading(quantity, stage, value, name="", *, height=None, azimuth=None, u=None):
    u = PLAN.uncertainty_of(quantity, stage) if u is None else u
    return Reading(quantity, stage, value, u, name, height, azimuth)


def full_piece(seed=0, stage="leather-hard"):
    """A cup about as planned: every check's readings, from wet to glazed."""
    rng = random.Random(seed)

    def near(value, sd):
        return round(value + rng.gauss(0, sd), 2)

    def size(name, at):
        wet = PLAN.planned_mm(name, "wet") * (1 + offsets[name])
        return wet * (1 - PLAN.shrinkage_to(at))

    offsets = {name: rng.gauss(0, 0.01) for name in PLAN.sizes_mm}
    wall = PLAN.planned_wall_mm(stage)
    readings = [
        reading("wall_thickness", stage, near(wall, 0.4), height=z, azimuth=az)
        for z in (10, 45, 80)
        for az in (0, 90, 180, 270)
    ]
    readings += [
        reading("rim_height", stage, near(size("height", stage), 0.6), azimuth=az)
        for az in range(0, 360, 45)
    ]
    readings += [
        reading("dimension", at, near(size(name, at), 0.3), name)
        for at in ("wet", stage, "glazed")
        for name in ("height", "rim_diameter", "foot_side", "base_thickness")
    ]
    readings += [
        reading("seam_length", stage, 103.0, "seam"),
        reading("seam_open", stage, near(3, 0.5), "seam", height=20),
        reading("seam_step", stage, abs(near(0.6, 0.2)), "seam", height=30),
        reading("seam_step", stage, abs(near(0.4, 0.2)), "seam", height=70),
        reading("seam_thickness", stage, near(wall, 0.3), "seam", height=50),
        reading("seam_thickness", stage, near(wall, 0.3), "beside", height=50),
    ]
    readings += [
        reading("seam_length", stage, near(25, 0.5), f"dart{number}") for number in (1, 2, 3, 4)
    ]
    readings += [
        reading("handle_top", stage, near(82, 1), azimuth=near(2, 1.5)),
        reading("handle_bottom", stage, near(28, 1), azimuth=near(0, 1.5)),
        reading("handle_twist", stage, near(0, 2)),
        reading("handle_opening", "glazed", near(52, 2), "height"),
        reading("handle_opening", "glazed", near(28, 2), "depth"),
    ]
    side = size("foot_side", stage)
    diagonal = side * math.sqrt(2) - 2 * (math.sqrt(2) - 1) * 8
    readings += [reading("foot_side", stage, near(side, 0.7), str(k)) for k in (1, 2, 3, 4)]
    readings += [reading("foot_diagonal", stage, near(diagonal, 0.7), str(k)) for k in (1, 2)]
    readings += [
        reading("foot_gap", stage, gap, str(k)) for k, gap in enumerate((0, 0.2, 0, 0.1), 1)
    ]
    readings += [reading("water_mass", "glazed", near(280, 15), "brim")]
    return readings
