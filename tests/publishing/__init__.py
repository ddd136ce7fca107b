"""Tests of publishing."""
