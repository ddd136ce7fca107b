"""The figures of the craft checks that a criterion may lean on, in a teacher's words."""

# key of the figure: (what a teacher reads, unit)
JUDGEABLE = {
    "wall_evenness.spread_mm": ("Wall: thickest minus thinnest", "mm"),
    "wall_evenness.plan_match_mm": ("Wall: mean away from the plan", "mm"),
    "rim_level.rise_mm": ("Rim: highest minus lowest", "mm"),
    "rim_level.tilt_deg": ("Rim: tilt", "°"),
    "rim_level.flatness_mm": ("Rim: waviness", "mm"),
    "seam_join.open_fraction": ("Seam: open share of the join", ""),
    "seam_join.longest_open_mm": ("Seam: longest open part", "mm"),
    "seam_join.largest_step_mm": ("Seam: largest step", "mm"),
    "handle_alignment.lean_deg": ("Handle: lean", "°"),
    "handle_alignment.twist_deg": ("Handle: twist", "°"),
    "handle_alignment.placement_deg": ("Handle: away from its planned place", "°"),
    "shrinkage.difference": ("Shrinkage: away from the plan", ""),
    "squared_foot.side_spread_mm": ("Foot: longest minus shortest side", "mm"),
    "squared_foot.diagonal_difference_mm": ("Foot: difference of the diagonals", "mm"),
    "squared_foot.rock_mm": ("Foot: rock on a flat table", "mm"),
    "capacity.difference_ml": ("Capacity: away from the plan", "ml"),
}
