"""The craft checks: numpy in, frozen results out. No Django, no rows, no rubric."""
