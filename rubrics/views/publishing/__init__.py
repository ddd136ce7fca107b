"""Pages of what was published."""
