"""Tests of families."""
