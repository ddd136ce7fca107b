"""Forms of rubrics."""
