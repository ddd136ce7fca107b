"""Fonts, scripts, direction and shaping of printed text, for every PDF of both apps.

Pure; no page layout.
"""
