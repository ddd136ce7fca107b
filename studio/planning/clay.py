"""How much clay to weigh out for a plan."""

from __future__ import annotations

from .formula_steps import GRAM, FormulaStep, n
from .shape import Cup
from .wish import STRAP_MM, STRAP_WIDTH_MM, Wish

WET_DENSITY_G_ML = 1.9
"""Plastic clay, ready to work: 1.8 to 2.0 g/ml by body and water (common practice, no source)."""

TRIM_MM = 15.0
"""What a slab is rolled wider than its pattern on every side (common practice, no source). [mm]"""

WASTE_SHARE = 0.2
"""Clay beyond the piece for trimming, scoring and slip, where nothing is cut from a slab (common
practice, no source)."""

STRAPS_MADE = 2
"""At least two handles are made for each piece (common practice, no source)."""


def clay_steps(wish: Wish, cup: Cup, cut: dict[str, float]) -> list[FormulaStep]:
    """The clay in the piece as it stands wet, and the clay to weigh out for it.

    Parameters
    ----------
    cut : dict
        Results of the steps before, by key. [mm]
    """
    strap_ml = cut.get("strap_length_mm", 0.0) * STRAP_WIDTH_MM * STRAP_MM / 1000
    body_ml = cup.clay_ml() / (1 - wish.shrinkage) ** 3
    in_piece = WET_DENSITY_G_ML * (body_ml + strap_ml)
    handles_ml = STRAPS_MADE * strap_ml
    if wish.is_slab:
        wall = (cut["sheet_length_mm"] + 2 * TRIM_MM) * (cut["sheet_height_mm"] + 2 * TRIM_MM)
        base = (cut["base_side_mm"] + 2 * TRIM_MM) ** 2
        wall_ml = wall * wish.slab_mm / 1000
        base_ml = base * max(wish.slab_mm, cut["base_thickness_mm"]) / 1000
        how = f"(wall + base, rolled {n(TRIM_MM)} mm wider all round" + (
            f" + {STRAPS_MADE} straps) × density" if strap_ml else ") × density"
        )
        numbers = f"({n(wall_ml)} + {n(base_ml)} + {n(handles_ml)}) × {n(WET_DENSITY_G_ML)}"
        out = WET_DENSITY_G_ML * (wall_ml + base_ml + handles_ml)
    else:
        how = f"(piece + {WASTE_SHARE:.0%} for trimming and slip" + (
            f" + {STRAPS_MADE} straps) × density" if strap_ml else ") × density"
        )
        numbers = f"({n(body_ml)} × {n(1 + WASTE_SHARE)} + {n(handles_ml)}) × {n(WET_DENSITY_G_ML)}"
        out = WET_DENSITY_G_ML * (body_ml * (1 + WASTE_SHARE) + handles_ml)
    return [
        FormulaStep(
            "clay_in_piece_g",
            "Clay in the piece, wet",
            f"volume of wall and base{' and strap' if strap_ml else ''}, wet, × density of "
            "plastic clay in g/ml (common practice: 1.8 to 2.0)",
            f"({n(body_ml)} + {n(strap_ml)}) × {n(WET_DENSITY_G_ML)}",
            in_piece,
            GRAM,
        ),
        FormulaStep("clay_out_g", "Clay to weigh out", how, numbers, out, GRAM),
    ]
