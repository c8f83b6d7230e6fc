"""Parts to nested steps, posts, partners and laser depths, against what follows from their definitions."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from insertgen.errors import JobError
from insertgen.items.resolve import items_of
from insertgen.model.figures import Outline
from insertgen.model.item import Item, Turn, Wanted
from insertgen.model.job import Blank, Cutter, Cutting, Stock, Tray
from insertgen.model.shape import (
    Disc,
    Part,
    Post,
    PostKind,
    Rectangle,
    RingPile,
    Shank,
    Shape,
    Slot,
    Solid,
    Store,
)

MDF = Stock("mdf", 18.0)
TRAY = Tray(
    name="t", slug="t", inside=(401, 301), blank=Blank(400, 300), stack=(MDF,), glued_first=True, edge_sawn=True,
    cutting=Cutting("router", Cutter(6.35), ()), web=6, margin=8, floor=3, play=0.5, finger_room=20, clearance=1,
    slack=0.35, least_gap=0.1,
)  # fmt: skip


def square(half: float, at: tuple[float, float] = (0.0, 0.0)) -> Outline:
    x, y = at
    return Outline(((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)))


def only(solid: Solid, tray: Tray = TRAY, *, shape: dict[str, object] | None = None, **wanted: object) -> Item:
    thing = Shape("thing", solid, **(shape or {}))  # type: ignore[arg-type]
    (item,) = items_of(replace(tray, wanted=(Wanted(thing, "job.toml, line 7", **wanted),)))  # type: ignore[arg-type]
    return item


PAD_AND_BODY = (Part(square(20), 0, 9), Part(square(30), 9, 118))


def test_the_opening_at_each_depth_holds_every_part_that_passes_there() -> None:
    item = only(PAD_AND_BODY, depth=15.0)
    assert [(step.depth, step.through, max(step.outline.outer)[0]) for step in item.steps] == [(6, False, 30), (15, False, 20)]
    assert item.outline == item.steps[0].outline
    assert item.top == 103  # 118 - 15


def test_what_is_above_the_face_takes_room_only() -> None:
    item = only(PAD_AND_BODY, depth=8.0)
    assert [(step.depth, max(step.outline.outer)[0]) for step in item.steps] == [(8, 20)]
    assert max(item.room.outer)[0] == 30


def test_a_narrower_part_above_a_wider_one_needs_no_step_of_its_own() -> None:
    item = only((Part(square(30), 0, 5), Part(square(20), 5, 60)), depth=14.0)
    assert [(step.depth, max(step.outline.outer)[0]) for step in item.steps] == [(14, 30)]


@given(
    st.lists(st.tuples(st.floats(5, 60), st.floats(1, 30)), min_size=1, max_size=5),
    st.floats(1, 15),
)
def test_steps_are_nested_and_hold_what_passes(bands: list[tuple[float, float]], depth: float) -> None:
    parts, bottom = [], 0.0
    for half, high in bands:
        parts.append(Part(square(half), bottom, bottom + high))
        bottom += high
    item = only(tuple(parts), depth=depth)
    shapes = [Polygon(step.outline.outer) for step in item.steps]
    assert item.steps[-1].depth == pytest.approx(depth)
    for upper, lower in zip(item.steps, item.steps[1:], strict=False):
        assert upper.depth < lower.depth
    for upper, lower in pairwise(shapes):
        assert upper.buffer(1e-6).covers(lower)
    for part in parts:
        if depth - part.bottom > 1e-6:  # passes down to there: every step no deeper than that holds it
            for step, shape in zip(item.steps, shapes, strict=True):
                if step.depth <= depth - part.bottom + 1e-6:
                    assert shape.buffer(0.06).covers(Polygon(part.outline.outer))


def test_through_steps_end_where_their_parts_do() -> None:
    item = only(PAD_AND_BODY, store=Store.THROUGH)
    assert [(step.depth, step.through) for step in item.steps] == [(9, False), (18, True)]


def test_a_corner_and_a_slot_are_one_straight_cut() -> None:
    corner = only(PAD_AND_BODY, store=Store.CORNER)
    assert [(step.depth, step.through, max(step.outline.outer)[0]) for step in corner.steps] == [(18, True, 30)]
    blade = (Part(square(4), 0, 45), Part(square(60), 45, 200))
    slot = only(blade, store=Store.SLOT)
    assert [(step.depth, step.through, max(step.outline.outer)[0]) for step in slot.steps] == [(18, True, 4)]
    assert (slot.hang, slot.top) == (45 - 18, 155)
    based = only(blade, replace(TRAY, base=Stock("hdf", 6.0)), store=Store.SLOT)
    assert based.hang == 45 - 18 - 6


def test_a_slot_must_know_how_far_it_reaches() -> None:
    with pytest.raises(JobError, match=r"line 7: .* goes through a slot, and how far is not known"):
        only(Slot(100, 8), store=Store.SLOT)
    assert only(Slot(100, 8), store=Store.SLOT, depth=30.0).hang == 12
    with pytest.raises(JobError, match='turn = "any" goes not with store = "slot"'):
        only(Slot(100, 8), store=Store.SLOT, depth=30.0, turn=Turn.ANY)


def test_parts_that_do_not_hang_together_below_the_face() -> None:
    legs = (Part(square(5), 0, 5), Part(square(5, (40, 0)), 5, 10), Part(square(60), 10, 50))
    with pytest.raises(JobError, match="do not hang together"):
        only(legs, depth=8.0)


def test_posts_of_the_program_stand_by_the_item_on_both_sides() -> None:
    item = only(Rectangle(160, 20, 12), store=Store.POSTS, clearance=0.5)
    body = shapely.box(-80, -10, 80, 10)
    assert len(item.posts) == 4
    for post in item.posts:
        gap = body.distance(shapely.Point(post.at)) - post.stock.diameter / 2
        assert gap == pytest.approx(0.5, abs=0.01)
        assert abs(post.at[0]) == pytest.approx(40)
        assert (post.bore, post.depth) == (6.35, 15.0)
        assert post.stock.length == 15 + 20
    assert item.on_face
    assert (item.depth, item.steps, item.top) == (0, (), 20)
    room = Polygon(item.room.outer)
    assert room.covers(body)
    assert all(room.buffer(0.01).covers(shapely.Point(post.at).buffer(3.17)) for post in item.posts)


def test_posts_asked_for_are_taken_as_they_are() -> None:
    posts = (Post((0, 14), 4.0, PostKind.PIN), Post((0, -14), 2.0, PostKind.NAIL))
    item = only(Rectangle(160, 20, 12), shape={"posts": posts}, store=Store.POSTS)
    assert [(post.at, post.bore) for post in item.posts] == [((0, 14), 4.0), ((0, -14), pytest.approx(1.6))]
    with pytest.raises(JobError, match=r"the post at 0, 11 .* leaves 0 mm to the item"):
        only(Rectangle(160, 20, 12), shape={"posts": (Post((0, 11), 4.0),)}, store=Store.POSTS)
    with pytest.raises(JobError, match='there are posts, but store = "pocket"'):
        only(Rectangle(160, 20, 12), shape={"posts": posts})


@pytest.mark.parametrize(
    ("solid", "settings", "due"),
    [
        (Rectangle(100, 40, 20), {}, None),
        (Rectangle(100, 40, 60), {"depth": 15.0}, ()),  # stands 45 mm above the face: lifted by itself
        (Rectangle(100, 40, 40), {"depth": 15.0}, ()),  # 25 mm just so
        (Rectangle(100, 40, 39.9), {"depth": 15.0}, None),
        (Disc(30, 8), {}, ()),  # would stand in its own recess
        (Rectangle(100, 40, 20), {"grips": ()}, ()),
        (Rectangle(100, 40, 20), {"grips": ((0.0, 30.0),)}, ((0.0, 30.0),)),
        (Rectangle(100, 40, 20), {"store": Store.CORNER}, ()),
        (Rectangle(100, 40, 20), {"store": Store.THROUGH}, None),
    ],
)
def test_who_gets_finger_recesses(solid: Solid, settings: dict[str, object], due: object) -> None:
    assert only(solid, **settings).grips == due


def test_a_grip_with_a_bore_is_refused() -> None:
    with pytest.raises(JobError, match=r'not with store = "bore"'):
        only(Shank(6.35, 20.0), grips=((0.0, 9.0),))


def test_spare_bearings_are_kept_by_their_bit() -> None:
    bit, bearing = Shape("round-over", Shank(6.35, 22, 13, 32)), Shape("bearing", RingPile(5, 12, 4))
    wanted = (
        Wanted(bit, "w 1", count=2),
        Wanted(bearing, "w 2", count=3, beside="round-over"),
        Wanted(Shape("washer", RingPile(5, 12, 1)), "w 3", beside="Round-Over"),
    )
    items = items_of(replace(TRAY, wanted=wanted))
    assert [item.beside for item in items] == [None, None, "t/01", "t/02", "t/01", "t/01"]


@pytest.mark.parametrize(
    ("beside", "expected"),
    [("roundover", 'do you mean "round-over"'), ("bearing", "no other item"), ("spare", 'is itself kept beside "round-over"')],
)
def test_partners_that_cannot_be(beside: str, expected: str) -> None:
    bit, bearing = Shape("round-over", Shank(6.35, 22, 13, 32)), Shape("bearing", RingPile(5, 12, 4))
    wanted = (
        Wanted(bit, "w 1"),
        Wanted(Shape("spare", RingPile(5, 12, 1)), "w 3", beside="round-over"),
        Wanted(bearing, "w 2", beside=beside),
    )
    with pytest.raises(JobError, match=expected):
        items_of(replace(TRAY, wanted=wanted))


def test_a_lining_is_added_to_walls_and_bores() -> None:
    lined = replace(TRAY, lining=0.3)
    assert only(Rectangle(100, 40, 20), lined).clearance == pytest.approx(1.3)
    assert only(Shank(6.35, 20.0), lined).bore == pytest.approx(6.35 + 0.35 + 0.6)
    assert only(RingPile(8, 22, 7), lined).bore == 6.35  # a glued peg gets none


@pytest.mark.parametrize(
    ("stack", "asked", "depth", "through", "told"),
    [
        ((6.0, 3.0, 3.0), 7.0, 6.0, False, 7.0),
        ((6.0, 3.0, 3.0), 8.0, 9.0, False, 8.0),
        ((6.0, 3.0, 3.0), 30.0, 9.0, False, 30.0),
        ((6.0, 3.0, 3.0), 9.0, 9.0, False, None),
        ((6.0,), 4.0, 6.0, True, 4.0),
    ],
)
def test_a_laser_takes_the_nearest_sheet_face(
    stack: tuple[float, ...], asked: float, depth: float, through: bool, told: float | None
) -> None:
    laser = replace(TRAY, stack=tuple(Stock("ply", thick) for thick in stack), cutting=Cutting("laser", Cutter(0.0), ()))
    item = only(Rectangle(100, 40, 20), laser, depth=asked)
    assert (item.depth, item.through, item.asked_depth) == (depth, through, told)
    assert [(step.depth, step.through) for step in item.steps] == [(depth, through)]


def test_a_laser_leaves_a_floor() -> None:
    laser = replace(TRAY, stack=(Stock("ply", 3.0),) * 2, floor=4.0, cutting=Cutting("laser", Cutter(0.0), ()))
    with pytest.raises(JobError, match="no face of this stack leaves a floor of 4 mm"):
        only(Rectangle(100, 40, 20), laser, depth=2.0)


def test_a_lift_out_hole_is_laid_out_like_a_thing() -> None:
    (hole,) = items_of(replace(TRAY, lift_out=25.0))
    assert (hole.id, hole.tag, hole.store, hole.through, hole.clearance) == ("t/L", "L", Store.THROUGH, True, 0.0)
    assert max(hole.outline.outer)[0] == 12.5


def test_a_laser_cuts_every_step_to_a_sheet_face() -> None:
    stack = (Stock("ply", 6.0), Stock("ply", 6.0), Stock("ply", 3.0))
    laser = replace(TRAY, stack=stack, cutting=Cutting("laser", Cutter(0.0), ()))
    # the pad to 12 mm; the body, 9 mm higher, reaches down to 3 mm: through the first sheet
    item = only(PAD_AND_BODY, laser, depth=12.0)
    assert [(step.depth, max(step.outline.outer)[0]) for step in item.steps] == [(6, 30), (12, 20)]
    # the body reaches down to 7 mm: through the second sheet too, as does the pad
    thin = (Part(square(20), 0, 5), Part(square(30), 5, 60))
    item = only(thin, laser, depth=12.0)
    assert [(step.depth, max(step.outline.outer)[0]) for step in item.steps] == [(12, 30)]
