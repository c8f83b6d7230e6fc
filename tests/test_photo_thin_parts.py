"""Thin strips drawn in pixels: closed forms of what is a point of the item, a line on the bench, or neither."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.photo.thin_parts import with_thin_parts


def odds(*shapes: tuple[tuple[int, int], tuple[int, int], int]) -> np.ndarray:
    """A block, and bars given by both ends and a width: 4 there, -4 elsewhere."""
    item = np.zeros((300, 500), np.uint8)
    cv2.rectangle(item, (100, 100), (250, 200), 1, -1)
    for start, end, width in shapes:
        cv2.line(item, start, end, 1, width)
    return np.where(item > 0, np.float32(4), np.float32(-4))


BAR = ((240, 150), (300, 170), 3)
BLOCK = odds()


def test_a_point_that_the_body_has_is_added() -> None:
    result = with_thin_parts(BLOCK, odds(BAR))
    assert np.array_equal(result > 0, odds(BAR) > 0)
    assert result.max() == BLOCK.max()
    assert np.all(result[(BLOCK < 0) & (result > 0)] < 4), "not as sure as the rest"


def test_a_line_that_the_body_has_not_is_taken_away() -> None:
    result = with_thin_parts(odds(BAR), BLOCK)
    assert np.array_equal(result > 0, BLOCK > 0)


@pytest.mark.parametrize(
    "bar",
    [
        ((240, 150), (254, 150), 3),  # too short: an edge that the voices see differently
        ((240, 150), (290, 150), 21),  # too wide: a part, or a shade
        ((300, 150), (360, 150), 3),  # does not start at the item
    ],
)
def test_what_is_short_wide_or_apart_is_left_to_all_voices(bar: tuple[tuple[int, int], tuple[int, int], int]) -> None:
    for all_voices, body in ((BLOCK, odds(bar)), (odds(bar), BLOCK)):
        assert np.array_equal(with_thin_parts(all_voices, body), all_voices)


def test_a_short_line_stays_where_a_short_point_is_added() -> None:
    """A wrong point costs little; a part that is taken away is lost."""
    short = ((240, 150), (262, 150), 3)
    assert np.array_equal(with_thin_parts(BLOCK, odds(short)) > 0, odds(short) > 0)
    assert np.array_equal(with_thin_parts(odds(short), BLOCK), odds(short))


@given(st.integers(0, 300), st.integers(0, 200), st.integers(1, 12), st.booleans())
def test_where_all_agree_nothing_changes(x: int, y: int, width: int, bent: bool) -> None:
    bars = [((240, 150), (150 + x, 50 + y), width), ((120, 120), (x, y), width)][: 1 + bent]
    same = odds(*bars)
    assert np.array_equal(with_thin_parts(same, same), same)
