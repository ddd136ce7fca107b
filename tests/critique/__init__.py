"""Critiques: dealing, writing, the gate, answers, anchor cups, papers, and who sees what."""
