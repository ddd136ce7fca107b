"""What is said of each check: one module a check, whole sentences with named places for numbers.

A sentence is never glued from pieces: each stands complete in the code, so that it can be
translated as it stands. The only words put in are numbers with their unit and adverbials of place.
"""
