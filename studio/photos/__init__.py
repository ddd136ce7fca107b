"""Photographs kept, filed, measured by the camera and confirmed by hand.

The measuring itself is in ``camera``.
"""
