"""The figures of the craft checks that a criterion may lean on, in a teacher's words."""

# key of the figure: (what a teacher reads, unit)
JUDGEABLE = {
    "wall_evenness.scaled_spread_mm": (
        "Wall: thickest minus thinnest, on the scale of 12 readings",
        "mm",
    ),
    "wall_evenness.spread_mm": ("Wall: thickest minus thinnest", "mm"),
    "wall_evenness.too_thin_mm": ("Wall: thinnest place under what can be trusted", "mm"),
    "wall_evenness.too_thick_mm": ("Wall: thickest place over what a wall should be", "mm"),
    "wall_evenness.plan_match_mm": ("Wall: mean away from the plan", "mm"),
    "rim_level.rise_deg": ("Rim: rise across its width", "°"),
    "rim_level.rise_mm": ("Rim: highest minus lowest", "mm"),
    "rim_level.tilt_deg": ("Rim: tilt", "°"),
    "rim_level.flatness_mm": ("Rim: waviness", "mm"),
    "rim_level.out_of_round_mm": ("Rim: out of round", "mm"),
    "seam_join.open_fraction": ("Seam: open share of the join", ""),
    "seam_join.longest_open_mm": ("Seam: longest open part", "mm"),
    "seam_join.largest_step_mm": ("Seam: largest step", "mm"),
    "handle_alignment.lean_deg": ("Handle: lean", "°"),
    "handle_alignment.twist_deg": ("Handle: twist", "°"),
    "handle_alignment.placement_deg": ("Handle: away from its planned place", "°"),
    "handle_alignment.opening_short_mm": ("Handle: opening too small for the fingers by", "mm"),
    "shrinkage.difference": ("Shrinkage: away from the plan", ""),
    "squared_foot.side_spread_mm": ("Foot: longest minus shortest side", "mm"),
    "squared_foot.diagonal_difference_mm": ("Foot: difference of the diagonals", "mm"),
    "squared_foot.rock_mm": ("Foot: rock on a flat table", "mm"),
    "squared_foot.largest_gap_mm": ("Foot: largest gap under a corner", "mm"),
    "capacity.difference_ml": ("Capacity: away from the plan", "ml"),
    "capacity.difference_fraction": ("Capacity: share away from the plan", ""),
}

SETTLED_BY = {
    "wall_evenness": (
        "read the wall at twelve places with a calliper, on fired clay if it can wait"
    ),
    "rim_level": "read the rim at eight places with a height gauge",
    "seam_join": "read the open part and the step with a calliper",
    "handle_alignment": (
        "read both attachments again on a degree mat, and the angle with a protractor"
    ),
    "shrinkage": "read two fine marks, 100 mm apart when wet, with a calliper",
    "squared_foot": "read sides and diagonals with a calliper, and the gaps with feelers on glass",
    "capacity": "weigh the water to the brim on a scale that shows 1 g",
}
"""Which reading, with which instrument, settles a check that was read too roughly."""
