"""Logs made by construction: what went into them is known."""

import numpy as np

# Climb to 600 °C in 8 h, then at 100 °C/h to 1222, held for 20 min, cooled in 13 h.
CORNERS_MIN = (0, 480, 853.2, 873.2, 1653)
CORNERS_C = (20, 600, 1222, 1222, 80)


def line(step_min: float = 1.0, corners_min=CORNERS_MIN, corners_c=CORNERS_C):
    """Minutes and °C of the firing above, or of another."""
    minutes = np.arange(0, corners_min[-1], step_min)
    return minutes, np.interp(minutes, corners_min, corners_c)


def elapsed(minutes, celsius, head: str = "minutes,temp °C", digits: int = 1) -> bytes:
    """A file of elapsed minutes."""
    rows = [f"{a:g},{b:.{digits}f}" for a, b in zip(minutes, celsius, strict=True)]
    return "\n".join([head, *rows]).encode()


def clocked(minutes, celsius, start_min: int = 480, head: str = "time,temp C") -> bytes:
    """A file with a clock that knows no date."""
    rows = []
    for minute, heat in zip(minutes, celsius, strict=True):
        at = round((start_min + minute) * 60) % 86400
        rows.append(f"{at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d},{heat:.1f}")
    return "\n".join([head, *rows]).encode()
