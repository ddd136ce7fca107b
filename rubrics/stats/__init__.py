"""Trends, agreement, drift, measuring studies, dealing and samples. Pure: arrays in, frozen out."""
