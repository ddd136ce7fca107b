"""Forms of readings."""
