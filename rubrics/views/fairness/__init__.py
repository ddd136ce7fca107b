"""Pages of fair grading."""
