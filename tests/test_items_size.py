"""Sizes as legends show them; 1 in = 25.4 mm exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.items.size import diameter_text, size_text
from insertgen.model.figures import Outline
from insertgen.model.shape import Collet, Disc, Part, Rectangle, RingPile, Shank, Slot, Solid
from insertgen.units import parse_length


@pytest.mark.parametrize(
    ("solid", "text"),
    [
        (Disc(125), "dia 125 mm"),
        (Disc(133.35), "dia 5-1/4 in"),
        (Disc(127), "dia 127 mm"),  # 5 in, but a whole number of mm too
        (Rectangle(120, 60, 30), "120 x 60 mm"),
        (Rectangle(120.04, 60.25), "120 x 60.2 mm"),
        (Slot(100, 12.5), "100 x 12.5 mm"),
        (Shank(6.35, 35), "1/4 in shank, 35 mm head"),
        (Collet(12.7, 21, None, 31.5, "ER20"), "1/2 in bore, ER20 collet"),
        (Collet(8, 20, 14, 28), "8 mm bore, 20 mm collet"),
        (RingPile(8, 22, 7), "8 mm bore, dia 22 mm ring"),
        (RingPile(4.7625, 12.7, 5, 3), "3/16 in bore, dia 1/2 in ring, pile of 3"),
        ((Part(Outline(((-107.51, -17), (107.5, -17), (0, 17.2)))),), "215 x 34.2 mm"),
    ],
)
def test_size(solid: Solid, text: str) -> None:
    assert size_text(solid) == text


@given(st.integers(1, 640))
def test_every_64th_is_said_in_inches_unless_it_is_whole_millimetres(count: int) -> None:
    exact = Fraction(count, 64) * Fraction(254, 10)
    text = diameter_text(float(exact))
    assert text.endswith(
        " mm" if exact.denominator == 1 or abs(exact - round(exact)) < Fraction(5, 1000) else " in"
    )
    assert parse_length(text) == pytest.approx(float(exact), abs=0.005)


@given(st.floats(0.01, 900))
def test_what_is_said_is_near_what_is(diameter: float) -> None:
    said = diameter_text(diameter)
    assert parse_length(said, zero=True) == pytest.approx(diameter, abs=0.0101)
