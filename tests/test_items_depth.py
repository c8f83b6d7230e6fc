"""Depths by the rules of the trade the program states (common practice, no source), worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.items.depth import SeatDepth, height_of, seat_depth, top_above_face
from insertgen.model.figures import Outline
from insertgen.model.job import Blank, Cutter, Cutting, Stock, Tray
from insertgen.model.shape import Collet, Disc, Part, Rectangle, RingPile, Shank, Shape, Slot, Solid, Store

TRIANGLE = Outline(((-5, -5), (5, -5), (0, 5)))


def _tray(thickness: float = 18, floor: float = 3) -> Tray:
    return Tray(
        name="t", slug="t", inside=(301, 201), blank=Blank(300, 200), stack=(Stock("mdf", thickness),),
        glued_first=True, edge_sawn=True, cutting=Cutting("router", Cutter(6.35), ()), web=6, margin=8, floor=floor,
        play=0.5, finger_room=20, clearance=1, slack=0.35, least_gap=0.1,
    )  # fmt: skip


def _shape(solid: Solid, height: float | None = None) -> Shape:
    return Shape("thing", solid, height=height)


@pytest.mark.parametrize(
    ("solid", "store", "depth"),
    [
        (Disc(50, 20), Store.POCKET, 10),  # half of it
        (Disc(50, 8), Store.POCKET, 6),  # at least 6
        (Disc(50, 4), Store.POCKET, 4),  # never deeper than it is high
        (Disc(50, 60), Store.POCKET, 15),  # stack less floor
        (Disc(50), Store.POCKET, 12),  # unknown height
        (Rectangle(50, 20, 22), Store.POCKET, 11),
        (Slot(50, 20), Store.POCKET, 12),
        ((Part(TRIANGLE, 0, 26),), Store.POCKET, 13),
        ((Part(TRIANGLE),), Store.POCKET, 12),
        (Shank(6.35, 20), Store.BORE, 15),
        (Collet(8, 20, 14, 28), Store.BORE, 14),
        (Collet(8, 20, 14, 40), Store.BORE, 15),
        (RingPile(8, 22, 7), Store.PEG, 15),
        (Disc(50, 20), Store.BORE, 10),
        (Disc(50, 20), Store.STAND, 0),
    ],
)
def test_default_depth(solid: Solid, store: Store, depth: float) -> None:
    assert seat_depth(_shape(solid), store, None, _tray(), "") == SeatDepth(depth, False)


def test_through_is_the_whole_stack() -> None:
    assert seat_depth(_shape(Slot(50, 20)), Store.THROUGH, None, _tray(), "") == SeatDepth(18, True)


@pytest.mark.parametrize(
    ("asked", "floor", "through"),
    [
        (5.0, 3.0, False),
        (18.0, 3.0, False),
        (18.0, 0.0, True),
        (17.9, 0.0, False),
        (25.0, 0.0, False),
        (25.0, 3.0, False),
    ],
)
def test_a_depth_asked_for_is_taken_and_never_silently_through(
    asked: float, floor: float, through: bool
) -> None:
    tray = _tray(floor=floor)
    assert seat_depth(_shape(Disc(50, 20)), Store.POCKET, asked, tray, "") == SeatDepth(asked, through)


def test_without_a_floor_a_bit_is_bored_for_through() -> None:
    assert seat_depth(_shape(Shank(6.35, 20)), Store.BORE, None, _tray(floor=0), "") == SeatDepth(18, True)


@given(st.floats(0.1, 500), st.floats(4, 60))
def test_a_default_depth_leaves_the_floor(height: float, thickness: float) -> None:
    sits = seat_depth(_shape(Disc(50, height)), Store.POCKET, None, _tray(thickness), "")
    assert 0 < sits.depth <= min(thickness - 3, height)
    assert not sits.through


def test_what_cannot_be_deep() -> None:
    with pytest.raises(JobError, match=r'^job, line 3: depth = 5 mm goes not with store = "through"'):
        seat_depth(_shape(Disc(50, 20)), Store.THROUGH, 5, _tray(), "job, line 3")
    with pytest.raises(JobError, match=r"^job, line 3: the stack of 3 mm leaves nothing above a floor of 3 mm"):
        seat_depth(_shape(Disc(50, 20)), Store.POCKET, None, _tray(3), "job, line 3")


@pytest.mark.parametrize(
    ("shape", "store", "depth", "top"),
    [
        (_shape(Disc(50, 20)), Store.POCKET, 10, 10),
        (_shape(Disc(50, 20)), Store.STAND, 0, 20),
        (_shape(Disc(50, 5)), Store.POCKET, 8, 0),
        (_shape(Disc(50)), Store.POCKET, 12, None),
        (_shape((Part(TRIANGLE),), height=118), Store.POCKET, 12, 106),
        (_shape(Slot(50, 20)), Store.THROUGH, 18, None),
        (_shape(Slot(50, 20), height=60), Store.THROUGH, 18, 42),
        (_shape(Shank(6.35, 20, 16, 38)), Store.BORE, 15, 39),  # 23 mm of shank and the head
        (_shape(Shank(6.35, 20, 16, 12)), Store.BORE, 15, 16),  # the head rests on the face
        (_shape(Shank(6.35, 20, 16)), Store.BORE, 15, None),
        (_shape(Shank(6.35, 20, None, 38)), Store.BORE, 15, None),
        (_shape(Shank(6.35, 20), height=70), Store.BORE, 15, 55),
        (_shape(Shank(6.35, 20, 16, 38)), Store.STAND, 0, 54),
        (_shape(Collet(8, 20, 14, 28)), Store.BORE, 14, 14),
        (_shape(RingPile(8, 22, 7, 3)), Store.PEG, 15, 27),  # 21 mm of rings, 6 mm of peg to take them by
        (_shape(RingPile(8, 22, 7, 3)), Store.STAND, 0, 21),
    ],
)
def test_how_far_it_stands_out(shape: Shape, store: Store, depth: float, top: float | None) -> None:
    assert top_above_face(shape, store, depth) == top


def test_height_said_wins_over_height_of_the_parts() -> None:
    assert height_of(_shape((Part(TRIANGLE, 0, 25),))) == 25
    assert height_of(_shape((Part(TRIANGLE, 0, 25),), height=118)) == 118
    assert height_of(_shape((Part(TRIANGLE, 0, 25), Part(TRIANGLE, 25)))) is None
