"""Last time's places: held to the last bit, told by name and shape, given up only where they cannot hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from insertgen.arrange.arrange import arrange
from insertgen.files.layout import read_layout, write_layout
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Turn
from insertgen.model.layout import Layout, LeftOutReason, Unmet, Wish
from insertgen.model.seat import Seat
from tests.arrange_values import bit, corner, faults, keep_out, pocket, rectangle, round_outline, tray

AMPLE = 600.0
ELL = Outline(((-60, -25), (60, -25), (60, -5), (-40, -5), (-40, 25), (-60, 25)))


def _named(*seats: Seat) -> tuple[Seat, ...]:
    """Numbered in order, named by what they are."""
    result = []
    for number, seat in enumerate(seats, 1):
        points = seat.item.outline.outer
        name = f"{seat.item.store} of {len(points)} corners, {max(x for x, _ in points):g} to the right"
        result.append(replace(seat, item=replace(seat.item, id=f"test-tray/{number:02d}", tag=f"{number:02d}", name=name)))
    return tuple(result)


LONG, ROUND, SHANK = pocket(1, rectangle(110, 30)), pocket(1, round_outline(60)), bit(1)
CORNER = corner(1, rectangle(70, 40))
FIRST = _named(pocket(1, ELL), LONG, ROUND, ROUND, SHANK, SHANK, CORNER)


@pytest.fixture(scope="module")
def before() -> Layout:
    layout = arrange(tray(), FIRST, seed=2, seconds=AMPLE)
    assert layout.left_out == ()
    return read_layout(write_layout(layout), "layout.json")  # as a later build gets it


def _poses(layout: Layout) -> dict[str, Pose]:
    return {one.id: one.pose for one in layout.placements}


def test_with_nothing_new_it_is_the_same_to_the_last_bit(before: Layout) -> None:
    """Whatever the seed and the ceiling."""
    assert arrange(tray(), FIRST, seed=9, seconds=0.0, before=before) == before


def test_one_more_in_the_middle_of_the_job_moves_nobody(before: Layout) -> None:
    new = pocket(1, rectangle(30, 25))
    seats = _named(pocket(1, ELL), LONG, ROUND, new, ROUND, SHANK, SHANK, CORNER)
    layout = arrange(tray(), seats, seconds=AMPLE, before=before)
    assert layout.left_out == layout.unmet == ()
    assert faults(tray(), seats, layout) == []
    old, now = list(_poses(before).values()), _poses(layout)
    del now["test-tray/04"]
    assert list(now.values()) == old


def test_what_is_taken_out_leaves_the_others_where_they_are(before: Layout) -> None:
    old = _poses(before)
    same = tuple(seat for seat in FIRST if seat.item.id != "test-tray/01")
    layout = arrange(tray(), same, seconds=AMPLE, before=before)
    assert _poses(layout) == {name: pose for name, pose in old.items() if name != "test-tray/01"}


def test_only_as_many_alike_as_there_were_keep_places(before: Layout) -> None:
    seats = _named(pocket(1, ELL), LONG, ROUND, ROUND, ROUND, SHANK, SHANK, CORNER)
    layout = arrange(tray(), seats, seconds=AMPLE, before=before)
    assert faults(tray(), seats, layout) == []
    old, now = _poses(before), _poses(layout)
    assert (now["test-tray/03"], now["test-tray/04"]) == (old["test-tray/03"], old["test-tray/04"])
    assert now["test-tray/05"] not in old.values()


def test_what_has_grown_into_a_neighbour_moves_and_is_said(before: Layout) -> None:
    """Same name, other size: 110 x 30 became 110 x 60."""
    longer = replace(FIRST[1].item, outline=rectangle(110, 60), room=rectangle(110, 60))
    seats = (FIRST[0], replace(FIRST[1], item=longer, opening=(longer.outline,)), *FIRST[2:])
    layout = arrange(tray(), seats, seconds=AMPLE, before=before)
    assert faults(tray(), seats, layout) == []
    moved = {name for name, pose in _poses(layout).items() if pose != _poses(before)[name]}
    assert moved <= {one.id for one in layout.unmet if one.wish is Wish.KEEP} | {one.id for one in layout.left_out}
    assert len(moved) <= 1


def test_a_new_pin_on_a_place_takes_it(before: Layout) -> None:
    at = _poses(before)["test-tray/01"]
    pin = pocket(8, rectangle(30, 30), pinned=Pose(at.x, at.y))
    seats = (*FIRST, replace(pin, item=replace(pin.item, name="pin")))
    layout = arrange(tray(), seats, seconds=AMPLE, before=before)
    assert faults(tray(), seats, layout) == []
    lost = [one for one in layout.unmet if one.wish is Wish.KEEP]
    assert Unmet("test-tray/01", Wish.KEEP, ("test-tray/08",)) in lost
    kept = set(_poses(before)) - {one.id for one in lost}
    assert {name: _poses(layout)[name] for name in kept} == {name: _poses(before)[name] for name in kept}


def test_a_turn_no_longer_allowed_is_given_up(before: Layout) -> None:
    turned = [one for one in before.placements if one.pose.angle_deg % 360 not in (0.0,)]
    assert turned, "some thing of this layout must lie turned for the test to say anything"
    name = turned[0].id
    seats = tuple(
        replace(seat, item=replace(seat.item, turn=Turn.FIXED)) if seat.item.id == name else seat for seat in FIRST
    )
    layout = arrange(tray(), seats, seconds=AMPLE, before=before)
    assert Unmet(name, Wish.KEEP) in layout.unmet
    assert all(one.pose.angle_deg == 0 for one in layout.placements if one.id == name)


def test_a_new_keep_out_moves_only_what_it_covers(before: Layout) -> None:
    at = _poses(before)["test-tray/03"]
    where = tray(350, 250, keep_out(at.x - 5, at.y - 5, 10, 10))
    layout = arrange(where, FIRST, seconds=AMPLE, before=before)
    assert faults(where, FIRST, layout) == []
    assert [one.id for one in layout.unmet if one.wish is Wish.KEEP] == ["test-tray/03"]


def test_what_was_left_out_is_tried_again_and_nothing_else_moves() -> None:
    """Two discs of 150 are all that go in (see test_arrange_arrange); the third stays out."""
    seats = _named(*(pocket(n, round_outline(150)) for n in (1, 2, 3)))
    first = arrange(tray(), seats, seconds=AMPLE)
    assert [one.why for one in first.left_out] == [LeftOutReason.NO_ROOM]
    assert arrange(tray(), seats, seed=5, seconds=AMPLE, before=first) == first
