"""Forms of fair grading."""
