"""Text to mm: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import UnitError
from insertgen.units import format_inch, format_length, format_mm, parse_length


@pytest.mark.parametrize(
    "text",
    ["1-3/8 in", "1 3/8 in", "1-3/8in", "1 3/8 inch", "1 3/8 inches", '1-3/8"', "1-3/8''", "1-3/8″", "1-3/8”",
     "1⅜ in", "1 ⅜ in", "1.375 in", "1.375 IN", "1-3/8 in.", "0' 1-3/8\"", "34.925 mm", "34.925mm", "3.4925 cm"],
)  # fmt: skip
def test_every_common_spelling_of_an_inch_size(text: str) -> None:
    assert parse_length(text) == 34.925  # 11/8 x 25.4, exactly


@pytest.mark.parametrize(("text", "mm"), [("1' 2-1/2\"", 368.3), ("2 ft", 609.6), (".5 in", 12.7), ("5. mm", 5.0)])
def test_other_lengths(text: str, mm: float) -> None:
    assert parse_length(text) == mm


def test_bare_numbers_take_the_unit_of_the_file() -> None:
    assert parse_length(14, unit="in") == 355.6
    assert parse_length("14", unit="in") == 355.6
    assert parse_length(0.1, unit="in") == 2.54  # the decimal, not its binary neighbour
    assert parse_length("38 mm", unit="in") == 38.0


@pytest.mark.parametrize(
    ("value", "said"),
    [("", "not a length"), ("abc", "not a length"), ("12", "no unit"), (12, "no unit"), ("5 furlong", "unknown unit"),
     ("1/0 in", "divides by zero"), ("12,5 mm", "comma"), ("5 in 3 in", "two lengths"), ("-3 mm", "below zero"),
     ("0 mm", "is zero"), ("20 m", "longest length"), ("9" * 400 + " mm", "longest length"), ("1e3 mm", "unknown unit"), (True, "finite")],
)  # fmt: skip
def test_refusals_say_why(value: str | float, said: str) -> None:
    with pytest.raises(UnitError, match=said) as caught:
        parse_length(value)
    assert str(value)[:30] in str(caught.value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_length_is_infinite(value: float) -> None:
    with pytest.raises(UnitError, match="finite"):
        parse_length(value, unit="mm")


def test_zero_and_negative_only_where_allowed() -> None:
    assert parse_length("0 mm", zero=True) == 0
    assert parse_length("-3 mm", negative=True) == -3
    with pytest.raises(UnitError):
        parse_length("-3 mm", zero=True)


@given(st.integers(1, 64 * 300))
def test_inch_fractions_round_trip(parts: int) -> None:
    mm = float(Fraction(parts, 64) * Fraction(254, 10))
    assert parse_length(f"{format_inch(mm)} in") == mm


@given(st.floats(0.01, 5000))
def test_the_nearest_64th_is_within_half_a_64th(mm: float) -> None:
    shown = format_inch(mm)
    back = 0.0 if shown == "0" else parse_length(f"{shown} in")
    assert abs(back - mm) <= 25.4 / 128 + 1e-9


def test_formats() -> None:
    assert format_mm(-0.001) == "0"
    assert format_mm(100.0) == "100"
    assert format_length(6.35) == "6.35 mm (1/4 in)"
