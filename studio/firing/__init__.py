"""Pure: cones, planned ramps, controller logs and what a kiln does over time; numpy alone.

No Django, no model: numbers in [°C], [min] and [°C/h], frozen results out.
"""
