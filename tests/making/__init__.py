"""Tests of making."""
