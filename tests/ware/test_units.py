"""Sizes as hands write them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.ware.units import (
    FACTORS,
    UnitError,
    format_measure,
    format_number,
    parse_length,
    parse_measure,
)

# 1 in = 25.4 mm exactly: NIST SP 811 (2008), appendix B.8. The products are exact.
INCHES = [
    ("1/4 in", "6.35"),
    ("1/8 in", "3.175"),
    ("1/16 in", "1.5875"),
    ('3 1/8"', "79.375"),
    ("0.25in", "6.35"),
    ("3⅛ in", "79.375"),
    ("3 ⅛″", "79.375"),
    ("3-1/8 inches", "79.375"),
    ("¼”", "6.35"),
    ("1⁄4 in.", "6.35"),
    ("3''", "76.2"),
    ('1/4\\"', "6.35"),
]


@pytest.mark.parametrize(("text", "millimetres"), INCHES)
def test_inches_are_exact(text, millimetres):
    assert parse_length(text) == Decimal(millimetres)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("6.4", "6.4"),
        ("6.4 mm", "6.4"),
        ("6,4", "6.4"),
        ("0,250", "0.25"),
        (".5", "0.5"),
        ("5.", "5"),
        ("+6.4", "6.4"),
        ("0.64 cm", "6.4"),
        ("６.４ mm", "6.4"),
        ("  6.4\u00a0mm ", "6.4"),
        ("0", "0"),
    ],
)
def test_millimetres_as_hands_write_them(text, millimetres):
    assert parse_length(text) == Decimal(millimetres)


def test_bare_number_takes_the_unit_of_the_section_and_a_typed_unit_wins():
    assert parse_length("0.25", "in") == Decimal("6.35")
    assert parse_length("1/4", "in") == Decimal("6.35")
    assert parse_length("6.4 mm", "in") == Decimal("6.4")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Nothing was written here."),
        ("nan", "is not a size"),
        ("inf", "is not a size"),
        ("Infinity", "is not a size"),
        ("1e3", "is not a size"),
        ("six", "is not a size"),
        ("1.2.3", "is not a size"),
        ("1,234.5", "is not a size"),
        ("6 . 4", "is not a size"),
        ("--3", "is not a size"),
        ("-3", "below zero"),
        ("1/0 in", "divides by nothing"),
        ("3 9/8 in", "below one"),
        ("1/4", "fraction without a unit"),
        ("1,250", "can be read as 1.250 or as 1250"),
        ("3'", "feet and minutes are not used here"),
        ("12 oz", "an ounce may be weight or volume"),
        ("6.4 parsec", "is not a unit used here"),
        ("10²", "is not a unit used here"),
        ("6.4 g", "is in g, but this is read in mm, cm, in"),
        ("4°", "is in deg"),
        ("9" * 60, "too long"),
    ],
)
def test_what_is_no_length_is_refused_with_a_sentence(text, said):
    with pytest.raises(UnitError, match=said):
        parse_length(text)


def test_a_source_with_decimal_commas_may_group_by_three():
    assert parse_measure("1,250", "mm", decimal_comma=True).value == Decimal("1.25")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("4.5°", "4.5"), ("-3", "-3"), ("−3 deg", "-3"), ("4° 30′", "4.5"), ("4º", "4"), ("90", "90")],
)
def test_angles(text, degrees):
    assert parse_measure(text, "deg").value == Decimal(degrees)


def test_an_angle_has_sixty_minutes():
    with pytest.raises(UnitError, match="60 minutes"):
        parse_measure("4° 75'", "deg")


def test_masses_and_millilitres_of_water():
    assert parse_measure("352 g", "g").value == 352
    assert parse_measure("0.352 kg", "g").value == 352
    # Water at 20 °C is 998.2067 kg/m³: CIPM formula, Tanaka et al., Metrologia 38 (2001) 301.
    assert parse_measure("1000 ml", "g").value == Decimal("998.2067")
    with pytest.raises(UnitError, match="is in mm"):
        parse_measure("352 mm", "g")


def test_what_was_typed_is_kept_with_its_unit():
    assert parse_measure("6,40", "mm").typed == "6.40 mm"
    assert parse_measure("3⅛", "mm", "in").typed == "3 1/8 in"
    assert parse_measure("-3", "deg").typed == "-3 deg"


@pytest.mark.parametrize(
    ("millimetres", "unit", "text"),
    [
        (79.375, "in", "3 1/8 in"),
        (6.35, "in", "1/4 in"),
        (25.4, "in", "1 in"),
        (6.4, "in", "0.252 in"),
        (0, "in", "0 in"),
        (6.4, "mm", "6.4 mm"),
        (100, "mm", "100 mm"),
        (79.375, "mm", "79.38 mm"),
        (-0.04, "deg", "0°"),
        (352, "g", "352 g"),
    ],
)
def test_sizes_are_written_in_the_unit_of_the_section(millimetres, unit, text):
    assert format_measure(millimetres, unit) == text


@given(st.decimals(min_value=0, max_value=2000, places=3), st.sampled_from(["mm", "cm", "in"]))
def test_every_decimal_comes_back_exactly(number, unit):
    measured = parse_measure(f"{number:f} {unit}", "mm")
    assert measured.value == number * FACTORS[unit]
    assert parse_measure(measured.typed, "mm") == measured


@given(st.integers(0, 80), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_every_fraction_of_an_inch_comes_back_exactly(whole, below, data):
    above = data.draw(st.integers(1, below - 1))
    text = f"{whole} {above}/{below}" if whole else f"{above}/{below}"
    exact = (whole + Fraction(above, below)) * Fraction(127, 5)
    value = parse_length(f'{text}"')
    assert Fraction(value) == exact
    assert parse_length(format_number(value, "in"), "in") == value


@given(st.text(max_size=50), st.sampled_from(["mm", "deg", "g"]))
def test_any_text_is_a_finite_size_or_a_sentence(text, base):
    try:
        measured = parse_measure(text, base)
    except UnitError:
        return
    assert measured.value.is_finite()
    assert parse_measure(measured.typed, base).value == measured.value
