"""Tests of lettering."""
