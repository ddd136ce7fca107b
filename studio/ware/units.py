"""Sizes as hands write them: text in, exact millimetres, degrees or grams out, and back.

What is taken: ``6.4``, ``6,4``, ``6.4 mm``, ``0.64 cm``, ``0.25in``, ``1/4 in``, ``3 1/8"``,
``3-1/8"``, ``3⅛″``, ``4.5°``, ``4° 30′``, ``352 g``, ``350 ml``. A bare number takes the unit it
is offered. What could be read in two ways is refused with a sentence, never guessed: a bare
fraction among millimetres, ``1,250``, feet, ounces.
"""

import re
import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

LENGTH, ANGLE, MASS = "mm", "deg", "g"

MM_PER_INCH = Decimal("25.4")
"""Exact: NIST SP 811 (2008), appendix B.8, inch."""

WATER_G_PER_ML = Decimal("0.9982067")
"""Density of air-free water at 20 °C [g/ml]: CIPM formula, Tanaka et al., Metrologia 38 (2001) 301.

A volume of water typed in ml is kept as this mass. The buoyancy of air, which makes a scale show
about 0.1 % less than the mass, is left out here: it is below the step of a kitchen scale.
"""

UNITS_OF = {LENGTH: ("mm", "cm", "in"), ANGLE: ("deg",), MASS: ("g", "ml")}
"""The units a file may name, for each base unit."""

FACTORS = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "in": MM_PER_INCH,
    "deg": Decimal(1),
    "g": Decimal(1),
    "kg": Decimal(1000),
    "ml": WATER_G_PER_ML,
}
"""What one of the unit is in its base unit."""

BASE_OF = {
    "mm": LENGTH,
    "cm": LENGTH,
    "in": LENGTH,
    "deg": ANGLE,
    "g": MASS,
    "kg": MASS,
    "ml": MASS,
}

LONGEST_TEXT = 36
"""More signs than this are no size, and would not fit the record of what was typed."""

_WORDS = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "in": ("in", "inch", "inches", '"', "''", '""'),
    "deg": ("deg", "degree", "degrees", "°"),
    "g": ("g", "gram", "grams", "gramme", "grammes"),
    "kg": ("kg", "kilogram", "kilograms"),
    "ml": ("ml", "millilitre", "millilitres", "milliliter", "milliliters"),
}
_UNIT_OF_WORD = {word: unit for unit, words in _WORDS.items() for word in words}
_AMBIGUOUS = {
    "'": 'feet and minutes are not used here; write inches as 3 in or 3"',
    "ft": "feet are not used here; write inches or millimetres",
    "oz": "an ounce may be weight or volume; write g or ml",
    "floz": "fluid ounces differ from land to land; write ml",
    "m": "metres are not used here; write mm or cm",
}
_SIGNS = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "„": '"', "′": "'", "’": "'", "‘": "'"}
    | {"−": "-", "–": "-", "⁄": "/", "∕": "/", "º": "°", "˚": "°", "٫": "."}
    # The wide forms that an East Asian keyboard writes.
    | {chr(0xFF01 + i): chr(0x21 + i) for i in range(94)}
)
_NUMBER = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_ENTRY = re.compile(
    rf"""(?P<sign>[+-]?)\s*
    (?: (?:(?P<whole>[0-9]+)(?:\s+|-|\s*\+\s*))? (?P<above>[0-9]+)\s*/\s*(?P<below>[0-9]+)
      | (?P<number>{_NUMBER}) )
    \s*(?P<unit>[^0-9.,/+-]*?)\.?\s*$""",
    re.VERBOSE,
)
_DEGREES_MINUTES = re.compile(
    r"(?P<sign>[+-]?)\s*(?P<degrees>[0-9]+)\s*°\s*(?P<minutes>[0-9]+)\s*'"
)
_GROUPED = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_VULGAR = re.compile(r"([0-9]?)\s*([¼½¾⅐-⅞])")


class UnitError(ValueError):
    """The text is no size; the message is a sentence that says how to mend it."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A size in its base unit, exactly, and as it was written with its unit."""

    value: Decimal
    typed: str
    unit: str


def parse_measure(
    text: str,
    base: str,
    default_unit: str | None = None,
    *,
    decimal_comma: bool = False,
    unit_is_stated: bool = False,
) -> Measured:
    """Read one size.

    Parameters
    ----------
    text : str
        As a hand wrote it.
    base : str
        The base unit wanted: ``"mm"``, ``"deg"`` or ``"g"``.
    default_unit : str, optional
        What a bare number means; the base unit unless told otherwise.
    decimal_comma : bool
        The source is known to write decimal commas, so that ``1,250`` is 1.25.
    unit_is_stated : bool
        ``default_unit`` stands beside this very number, so that a fraction is no guess.

    Returns
    -------
    Measured
        The value in the base unit, and the text with its unit.

    Raises
    ------
    UnitError
        Empty, not a number, a unit of another kind, or ambiguous.
    """
    default_unit = default_unit or base
    said = " ".join(text.split())
    plain = _plain(text)
    if not plain:
        raise UnitError("Nothing was written here.")
    if len(plain) > LONGEST_TEXT:
        raise UnitError(f"“{said[:LONGEST_TEXT]}…” is too long for a size.")
    if base == ANGLE and (match := _DEGREES_MINUTES.fullmatch(plain)):
        return _from_minutes(match, said)
    match = _ENTRY.fullmatch(plain)
    if not match:
        raise UnitError(f"“{said}” is not a size. Write a number such as {_example(base)}.")
    unit = _unit(match["unit"], base, default_unit, said)
    bare = not match["unit"].strip()
    if bare and match["above"] and unit != "in" and not unit_is_stated:
        raise UnitError(
            f"“{said}” is a fraction without a unit. Write {said} in, or a decimal number."
        )
    amount = _amount(match, said, decimal_comma=decimal_comma)
    if base != ANGLE and amount < 0:
        raise UnitError(f"“{said}” is below zero; a size never is.")
    return Measured(_to_base(amount, unit), f"{_number_text(match)} {unit}", unit)


def parse_length(text: str, default_unit: str = "mm") -> Decimal:
    """Read a length; a bare number takes ``default_unit``. Returns millimetres [mm], exactly.

    Raises
    ------
    UnitError
        With a sentence that says how to mend it.
    """
    return parse_measure(text, LENGTH, default_unit).value


def unit_named(word: str) -> str | None:
    """The unit a word or sign stands for, or None."""
    return _UNIT_OF_WORD.get(_plain(word).rstrip(".").replace(" ", ""))


def format_measure(value: float | Decimal, unit: str, *, places: int | None = None) -> str:
    """Write a value given in its base unit as text in ``unit``, with the unit.

    Inches that are whole 64ths are written as a fraction, others with three decimals;
    millimetres with two, degrees with one, grams and millilitres with one. ``places`` overrides.
    """
    return f"{format_number(value, unit, places=places)}{'°' if unit == 'deg' else f' {unit}'}"


FRACTION_STEP = 64
"""The finest fraction of an inch that a ruler or a drawing uses (common practice, no source)."""

DIGITS_TOLD = 80
"""More than the longest text (LONGEST_TEXT) in any unit with its decimals."""

_PLACES = {"mm": 2, "cm": 3, "in": 3, "deg": 1, "g": 1, "kg": 4, "ml": 1}


def format_number(value: float | Decimal, unit: str, *, places: int | None = None) -> str:
    """Like :func:`format_measure` without the unit."""
    step = Decimal(1).scaleb(-(_PLACES[unit] if places is None else places))
    # What is far out of range is still told back in full.
    with localcontext(prec=DIGITS_TOLD):
        exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
        amount = exact / FACTORS[unit]
        if unit == "in" and places is None and (text := _as_fraction(amount)):
            return text
        rounded = amount.quantize(step, rounding=ROUND_HALF_UP)
    if places is None:
        rounded = rounded.normalize()
    return f"{rounded + 0:f}"


def _as_fraction(inches: Decimal) -> str | None:
    """Inches as a mixed fraction where they are whole 64ths, else None."""
    parts = inches * FRACTION_STEP
    # A float that went through millimetres is off by some 1e-13 of a 64th; a real size by more.
    if abs(parts - parts.to_integral_value()) > Decimal("1e-6"):
        return None
    fraction = Fraction(int(parts.to_integral_value()), FRACTION_STEP)
    sign, fraction = ("-" if fraction < 0 else ""), abs(fraction)
    whole, rest = divmod(fraction.numerator, fraction.denominator)
    tail = f"{rest}/{fraction.denominator}" if rest else ""
    return sign + " ".join(part for part in (str(whole) if whole or not rest else "", tail) if part)


def _plain(text: str) -> str:
    """One form for the many signs that mean the same."""
    text = text.strip().replace('\\"', '"').translate(_SIGNS)
    text = "".join(str(unicodedata.decimal(sign, sign)) for sign in text)
    return " ".join(_VULGAR.sub(_spell_vulgar, text).lower().split())


def _spell_vulgar(match: re.Match) -> str:
    """Write ⅛ as 1/8, apart from a whole number before it."""
    fraction = unicodedata.normalize("NFKC", match[2]).replace("⁄", "/")
    return f"{match[1]} {fraction}" if match[1] else fraction


def _unit(word: str, base: str, default_unit: str, said: str) -> str:
    word = word.strip().rstrip(".").replace(" ", "")
    if not word:
        return default_unit
    unit = _UNIT_OF_WORD.get(word)
    known = ", ".join(UNITS_OF[base])
    if unit is None:
        reason = _AMBIGUOUS.get(word, f"“{word}” is not a unit used here")
        raise UnitError(f"“{said}”: {reason}. Known here: {known}.")
    if BASE_OF[unit] != base:
        raise UnitError(f"“{said}” is in {unit}, but this is read in {known}.")
    return unit


def _number_text(match: re.Match) -> str:
    sign = "-" if match["sign"] == "-" else ""
    if match["number"]:
        return sign + _with_point(match["number"])
    whole = f"{match['whole']} " if match["whole"] else ""
    return f"{sign}{whole}{match['above']}/{match['below']}"


def _amount(match: re.Match, said: str, *, decimal_comma: bool) -> Fraction:
    sign = -1 if match["sign"] == "-" else 1
    if match["above"]:
        above, below = int(match["above"]), int(match["below"])
        if below == 0:
            raise UnitError(f"“{said}” divides by nothing. Write a fraction such as 1/4 in.")
        if match["whole"] and above >= below:
            raise UnitError(f"“{said}”: the fraction behind a whole number is below one.")
        return sign * (int(match["whole"] or 0) + Fraction(above, below))
    number = match["number"]
    if not decimal_comma and _GROUPED.fullmatch(number):
        whole = number.replace(",", "")
        point = number.replace(",", ".")
        raise UnitError(f"“{said}” can be read as {point} or as {whole}. Write the one you mean.")
    return sign * Fraction(_with_point(number))


def _with_point(number: str) -> str:
    """One way to write a decimal number, so that it reads the same wherever it comes back in."""
    whole, _, decimals = number.replace(",", ".").partition(".")
    return f"{whole or 0}.{decimals}" if decimals else whole or "0"


def _to_base(amount: Fraction, unit: str) -> Decimal:
    exact = amount * Fraction(FACTORS[unit])
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def _from_minutes(match: re.Match, said: str) -> Measured:
    minutes = int(match["minutes"])
    if minutes >= 60:
        raise UnitError(f"“{said}”: a degree has 60 minutes.")
    amount = int(match["degrees"]) + Fraction(minutes, 60)
    value = _to_base(-amount if match["sign"] == "-" else amount, "deg")
    return Measured(value, f"{match['sign']}{match['degrees']}° {minutes}'", "deg")


def _example(base: str) -> str:
    return {
        LENGTH: "6.4, 6.4 mm or 1/4 in",
        ANGLE: "4.5 or 4.5°",
        MASS: "352 g or 350 ml",
    }[base]
