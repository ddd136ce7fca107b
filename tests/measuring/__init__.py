"""Tests of measuring."""
