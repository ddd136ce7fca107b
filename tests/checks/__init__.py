"""Tests of checks."""
