"""Pegs, by hand from the table of dowels (common practice, no source); 1 in = 25.4 mm exactly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.items.peg import peg_for
from insertgen.model.item import Dowel
from insertgen.model.shape import RingPile
from insertgen.rules import DOWELS


@pytest.mark.parametrize(
    ("bore", "name"),
    [
        (8.0, "1/4 in"),  # 5/16 in is 7.94: 0.06 under
        (8.2, "8 mm"),
        (12.7, "12 mm"),  # 1/2 in would be tight
        (4.7625, "4 mm"),
        (3.2, "3 mm"),
        (200.0, "1 in"),
    ],
)
def test_the_thickest_dowel_that_slides(bore: float, name: str) -> None:
    assert peg_for(RingPile(bore, 250, 7), 30, "").name == name


def test_length_is_depth_pile_and_grip() -> None:
    assert peg_for(RingPile(8, 22, 7, pile=3), 30, "") == Dowel("1/4 in", 6.35, 30 + 21 + 6)


@given(st.floats(3.2, 40))
def test_it_slides_and_none_thicker_would(bore: float) -> None:
    peg = peg_for(RingPile(bore, 50, 7), 30, "")
    assert bore - peg.diameter >= 0.2 - 1e-6
    assert all(bore - diameter < 0.2 for _, diameter in DOWELS if diameter > peg.diameter)


def test_no_dowel_is_thin_enough() -> None:
    with pytest.raises(
        JobError, match=r"^job, line 9: a ring with a bore of 3\.1 mm \(1/8 in\) goes over no dowel"
    ):
        peg_for(RingPile(3.1, 10, 2), 30, "job, line 9")
