"""What the records say: checks, rubrics, marks, feedback. Not what was made (studio)."""
