"""Checks as fragments and drawings."""
