"""Trends and agreement against published figures and general libraries."""
