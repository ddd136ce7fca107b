"""Tests of ware."""
