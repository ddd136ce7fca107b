"""Tests of projects."""
