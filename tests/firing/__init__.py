"""Tests of firing."""
