"""Firings, loading, unloading and kiln history as records.

Cones, ramps and logs themselves are in ``firing``.
"""
