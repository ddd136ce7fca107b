"""The demo's clay on the test bench: bars and weighings, invented, through the same functions."""

from studio.models import AbsorptionTest, Clay
from studio.projects import clay_tests

# Lengths of a line marked at 100 mm wet, by stage [mm]; the fifth bar is not fired yet.
BARS = {
    "1": {"wet": 100.0, "leather-hard": 99.0, "bone dry": 93.9, "bisque": 93.6, "glazed": 86.6},
    "2": {"wet": 100.0, "leather-hard": 98.9, "bone dry": 94.2, "bisque": 93.5, "glazed": 86.9},
    "3": {"wet": 100.0, "leather-hard": 99.1, "bone dry": 94.0, "bisque": 93.4, "glazed": 86.3},
    "4": {"wet": 100.0, "leather-hard": 99.0, "bone dry": 94.1, "bisque": 93.7, "glazed": 86.7},
    "5": {"wet": 100.0, "leather-hard": 98.8, "bone dry": 93.8},
}
# Dry, soaked, hung in water [g].
WEIGHINGS = {
    "chip 1": (84.2, 86.1, 49.6),
    "chip 2": (91.5, 93.4, 53.8),
    "chip 3": (77.9, 79.7, 45.9),
}


def add_tests(clay: Clay) -> None:
    """Give a clay its invented bars and weighings; its planned figures stay as they are."""
    for label, lengths in BARS.items():
        clay_tests.keep_bar(clay, label, lengths)
    for label, (dry, soaked, suspended) in WEIGHINGS.items():
        AbsorptionTest.objects.create(
            clay=clay, label=label, dry_g=dry, soaked_g=soaked, suspended_g=suspended
        )
