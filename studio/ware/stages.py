"""The stages of a piece, in the order in which it goes through them. Each word is the trade's."""

STAGES = ("wet", "leather-hard", "bone dry", "bisque", "glazed")
"""Wet is as cut."""

WET, LEATHER_HARD, BONE_DRY, BISQUE, GLAZED = STAGES

LATER_STAGES = STAGES[1:]
"""What a clay shrinks to, counted from wet."""

SOFT_STAGES = (WET, LEATHER_HARD)
"""The clay still yields, so that a fault can be mended."""

UNFIRED_STAGES = (*SOFT_STAGES, BONE_DRY)

FIRED_STAGES = (BISQUE, GLAZED)

STAGE_PLACE = {stage: place for place, stage in enumerate(STAGES)}
"""Place of each stage in the order, from 0."""

NEAREST_STAGES = {
    stage: tuple(sorted(STAGES, key=lambda other: abs(STAGE_PLACE[other] - STAGE_PLACE[stage])))
    for stage in STAGES
}
"""For each stage all stages, itself first, then its neighbours: where else a size may be read."""

FIRED = "fired"
"""What a file name may say of a piece that is bisque or glazed."""

STAGE_WORDS = {
    "wet": WET,
    "leather": LEATHER_HARD,
    "leatherhard": LEATHER_HARD,
    "dry": BONE_DRY,
    "bonedry": BONE_DRY,
    "bisque": BISQUE,
    "biscuit": BISQUE,
    "glazed": GLAZED,
}
"""A stage as one word of a file name."""
