"""The points that a hand can place on a photo, and what no point tells."""

SIDE_POINTS = {
    "rim_left": "Rim, left edge",
    "rim_far": "Rim, top of the far lip",
    "rim_right": "Rim, right edge",
    "rim_near": "Rim, top of the near lip",
    "max_left": "Widest, left",
    "max_right": "Widest, right",
    "foot_left": "Foot, left edge",
    "foot_near": "Foot, nearest point",
    "foot_right": "Foot, right edge",
    "handle_out": "Handle, outermost point",
}
RIM_POINTS = tuple(f"rim_{k}" for k in range(8))
TOP_POINTS = {
    **{name: f"Rim, place {k + 1} of 8" for k, name in enumerate(RIM_POINTS)},
    "handle_root": "Handle, middle of the strap at the wall",
    "handle_tip": "Handle, middle of the strap at its tip",
}
POINTS = {"side": SIDE_POINTS, "top": TOP_POINTS}

_FOOT = ("foot_left", "foot_right", "foot_near")
_RIM = ("rim_left", "rim_right", "rim_near", "rim_far")
NEEDS: dict[str, tuple[str, ...]] = {
    "height_mm": (*_FOOT, *_RIM),
    "rim_width_mm": (*_FOOT, *_RIM),
    "foot_width_mm": _FOOT,
    "max_width_mm": (*_FOOT, "max_left", "max_right"),
    "rim_tilt_deg": (*_FOOT, *_RIM),
    "lean_deg": (*_FOOT, *_RIM),
    "handle_reach_mm": (*_FOOT, "handle_out"),
    "rim_diameter_mm": RIM_POINTS,
    "out_of_round_mm": RIM_POINTS,
    "handle_azimuth_deg": (*RIM_POINTS, "handle_root"),
    "handle_twist_deg": (*RIM_POINTS, "handle_root", "handle_tip"),
}
"""The points that a size stands on."""

# What a picture does not tell: value and standard deviation. Ours (common
# practice, no source).
UNKNOWNS = {
    "lip_mm": (2.7, 0.4),
    "lean_away_mm": (0.0, 1.3),
    "foot_depth_mm": (0.0, 1.0),  # a foot that is not quite as deep as it is wide
    "handle_turn_deg": (0.0, 15.0),  # out of the picture's plane
    "root_share": (0.82, 0.06),  # the upper attachment's height, as a share of the cup's
    "tip_share": (0.55, 0.10),
}
