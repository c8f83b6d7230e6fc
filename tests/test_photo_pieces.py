"""Pieces of likely pixels made into one item, and what else lies there."""

from __future__ import annotations

import re

import numpy as np
import pytest

from insertgen.errors import PhotoError
from insertgen.photo.bystanders import part_left_out, refuse_bystanders
from insertgen.photo.pieces import at_frame, filled, item_pieces, pieces_as_one, with_near_parts


def laid(*boxes: tuple[int, int, int, int], inside: float = 4.0, outside: float = -6.0) -> np.ndarray:
    """Log odds with boxes (top, bottom, left, right) of item."""
    odds = np.full((200, 300), outside, np.float32)
    for top, bottom, left, right in boxes:
        odds[top:bottom, left:right] = inside
    return odds


def seen(*boxes: tuple[int, int, int, int]) -> list[np.ndarray]:
    return item_pieces(laid(*boxes) > 0, laid(*boxes))


def test_the_most_certain_piece_comes_first_and_crumbs_are_none() -> None:
    odds = laid((20, 40, 20, 60), (100, 150, 100, 200), (5, 9, 280, 284))
    pieces = item_pieces(odds > 0, odds)
    assert [int(piece.sum()) for piece in pieces] == [50 * 100, 20 * 40]


def test_pieces_a_few_pixels_apart_are_one() -> None:
    """And hang together: the gap of 4 px is filled but for the corners that a disc does not reach."""
    (piece,) = seen((50, 80, 50, 100), (50, 80, 104, 150))
    assert 30 * 96 + 24 * 4 < piece.sum() <= 30 * 100


@pytest.mark.parametrize(("gap", "parts"), [(25.0, 1), (15.0, 2)])
def test_a_part_nearer_than_the_gap_is_of_the_item(gap: float, parts: int) -> None:
    odds = laid((50, 80, 50, 100), (50, 80, 120, 150))
    item, *others = with_near_parts(item_pieces(odds > 0, odds), odds, gap)
    assert 1 + len(others) == parts
    assert bool(item[60, 110]) is (parts == 1), "bridged where it belongs, else not"


def test_a_part_joined_by_what_may_be_item_is_of_it_however_far() -> None:
    odds = laid((50, 80, 50, 100), (50, 80, 180, 250))
    odds[60:70, 100:180] = -1.0
    item, *others = with_near_parts(item_pieces(odds > 0, odds), odds, 5.0)
    assert not others
    assert item[65, 140]



def test_bridges_are_as_narrow_as_they_can_be() -> None:
    parts = seen((50, 80, 50, 100), (50, 80, 112, 150))
    joined = pieces_as_one(parts)
    assert joined[65, 105]
    assert 30 * 88 + 20 * 12 <= joined.sum() <= 30 * 100, "the gap is filled to the parts' own width, no wider"


def test_a_ring_is_filled_and_the_frame_is_felt() -> None:
    region = laid((50, 100, 50, 100)) > 0
    region[60:90, 60:90] = False
    assert filled(region).sum() == 50 * 50
    assert not at_frame(region, 3)
    region[70, :52] = True
    assert at_frame(region, 3)


@pytest.mark.parametrize(
    ("other", "words"),
    [((20, 60, 150, 250), "two items"), ((20, 60, 230, 300), "touches the edge"), ((20, 30, 200, 212), ""), ((60, 80, 130, 160), "")],
)
def test_what_else_lies_there_is_refused_if_large_and_apart(other: tuple[int, int, int, int], words: str) -> None:
    """Pixels of 1 mm2: a second thing of a quarter of the item's area, 12 mm off and more; a chip or a near part is none. Named by a place of each, photo px."""
    odds = laid((100, 180, 50, 120), other)
    pieces = item_pieces(odds > 0, odds)
    if not words:
        refuse_bystanders(pieces, odds, 1.0, "photo.jpg", lambda px: 2 * px)
        return
    with pytest.raises(PhotoError, match=words) as refused:
        refuse_bystanders(pieces, odds, 1.0, "photo.jpg", lambda px: 2 * px)
    places = [(int(x) // 2, int(y) // 2) for x, y in re.findall(r"near (\d+),(\d+)", str(refused.value))]
    boxes = [other] if len(places) == 1 else [(100, 180, 50, 120), other]
    for (x, y), (top, bottom, left, right) in zip(places, boxes, strict=True):
        assert left < x < right
        assert top < y < bottom


@pytest.mark.parametrize(
    ("part", "odds_there", "told"),
    [
        ((20, 60, 130, 200), 2.0, True),
        ((20, 60, 130, 200), -2.0, True),  # likelier bench, but not as surely as the bench is
        ((20, 60, 130, 200), -5.0, False),
        ((20, 24, 130, 240), 2.0, False),  # a pencil line
        ((20, 32, 130, 142), 2.0, False),  # a chip
        ((150, 180, 120, 126), 2.0, False),  # its own rim
    ],
)
def test_a_part_beside_the_item_is_told(part: tuple[int, int, int, int], odds_there: float, told: bool) -> None:
    item = laid((100, 180, 50, 120)) > 0
    odds = np.maximum(laid((100, 180, 50, 120)), laid(part, inside=odds_there))
    assert part_left_out(item, [], odds, np.zeros_like(item)) is told


def test_another_item_and_paper_are_no_part() -> None:
    item, odds = laid((100, 180, 50, 120)) > 0, laid((100, 180, 50, 120), (20, 60, 130, 200))
    other = laid((20, 60, 130, 200)) > 0
    assert not part_left_out(item, [item, other], odds, np.zeros_like(item))
    assert not part_left_out(item, [], odds, other)
