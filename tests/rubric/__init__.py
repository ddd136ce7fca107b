"""Tests of rubric."""
