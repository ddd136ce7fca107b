"""Pages of readings."""
