"""A figure together with how it came about."""

from __future__ import annotations

from dataclasses import dataclass

MM, ML, DEG, GRAM = "mm", "ml", "°", "g"


@dataclass(frozen=True, slots=True)
class FormulaStep:
    """One figure: its name, the formula in words, the same with its numbers, and the result."""

    key: str
    name: str
    formula: str
    numbers: str
    result: float
    unit: str = MM


def n(value: float) -> str:
    """A number inside a formula: two places at most, without the zeros it drags along."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
