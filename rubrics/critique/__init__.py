"""Critique: who reads whom, what is written, the teacher's gate, what makers answer, anchor cups.

Every write to these records is here, atomic. No page, and no word list outside ``wording``.
"""
