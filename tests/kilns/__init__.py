"""Tests of kilns."""
