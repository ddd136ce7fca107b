"""Tests of people."""
