"""Pages of rubrics."""
