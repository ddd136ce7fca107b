"""Files out and in."""
