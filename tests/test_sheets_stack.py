"""Sheets cut one by one: depths split over them, dowels that hold them in one way only. Figures by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.files.job import read_job
from insertgen.items.resolve import items_of
from insertgen.model.drawing import Drawing
from insertgen.model.figures import Circle, Pose
from insertgen.model.item import Step
from insertgen.model.job import KeepOut, Stock, Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.shape import Shape
from insertgen.rules import drill_sizes
from insertgen.seats.seat import seat_for
from insertgen.sheets.deep import depth_as_cut
from insertgen.sheets.draw import draw
from tests.build_values import box_outline, pocket_item, shank_item, tray_of

SQUARE, INNER = box_outline(-30, -30, 30, 30), box_outline(-15, -15, 15, 15)


def stack(*thickness: float, floor: float = 3.0, tray: Tray | None = None, **changes: object) -> Tray:
    one = tray or tray_of(floor=floor)
    sheets = tuple(Stock("mdf", each) for each in thickness)
    return replace(one, stack=sheets, glued_first=False, **changes)  # type: ignore[arg-type]


def drawn(tray: Tray, *poses: Pose) -> Drawing:
    seats = [seat_for(item, tray) for item in tray.items]
    places = tuple(Placement(item.id, item.name, "", pose, True) for item, pose in zip(tray.items, poses, strict=True))
    return draw(tray, seats, Layout(tray.slug, 0, 0, False, tray.blank, places, ()))


def layers(drawing: Drawing) -> list[list[tuple[str, int]]]:
    return [
        [(layer.name, sum(one.placement != "test-tray/D1" and one.placement != "test-tray/D2" for one in layer.entities)) for layer in sheet.layers]
        for sheet in drawing.sheets
    ]


def test_each_depth_in_the_sheets_that_it_reaches() -> None:
    stepped = pocket_item(SQUARE, depth=24.0, steps=(Step(SQUARE, 10.0, False), Step(INNER, 24.0, False)), grips=())
    bit = shank_item(10.0, id="test-tray/02", tag="02", depth=27.0)
    whole = pocket_item(INNER, id="test-tray/03", tag="03", depth=30.0, through=True, steps=(Step(INNER, 30.0, True),), grips=())
    one = drawn(stack(18.0, 12.0, tray=tray_of(stepped, bit, whole)), Pose(80, 100), Pose(200, 100), Pose(280, 100))
    assert layers(one) == [
        [("BORE_THROUGH", 1), ("POCKET_10MM", 1), ("THROUGH", 2), ("EDGE", 1)],
        [("BORE_9MM", 1), ("POCKET_6MM", 1), ("THROUGH", 1), ("EDGE", 1)],
    ]
    rows = [(hole.sheet, hole.depth, hole.through, hole.when) for hole in one.holes if hole.tag == "02"]
    assert rows == [(1, 18.0, True, "before-glue"), (2, 9.0, False, "before-glue")]


@pytest.mark.parametrize(("asked", "cut"), [
    (12.0, 12.0), (15.0, 15.0), (15.01, 18.0), (16.0, 18.0), (18.0, 18.0), (18.04, 18.0), (18.5, 18.5), (20.0, 20.0),
    (24.5, 27.0), (30.0, 30.0), (42.0, 42.0),
])  # fmt: skip
def test_less_than_the_floor_over_a_face_is_cut_through(asked: float, cut: float) -> None:
    """18 + 9 + 18 mm, floor 3: faces at 18 and 27."""
    assert depth_as_cut(stack(18.0, 9.0, 18.0), asked, "") == cut


def test_nothing_below_to_be_the_floor_is_refused() -> None:
    with pytest.raises(JobError, match=r"leave 1 mm of sheet 1.*at most 15 mm.*thicker sheet at the bottom"):
        depth_as_cut(stack(18.0, 2.0), 17.0, "job.toml, line 9: 01 thing")


def test_what_is_cut_deeper_is_said_and_stands_lower() -> None:
    item = pocket_item(SQUARE, depth=16.0, top=20.0, grips=())
    one = drawn(stack(18.0, 18.0, tray=tray_of(item)), Pose(150, 120))
    (said,) = one.tray.items
    assert (said.asked_depth, said.depth, said.top) == (16.0, 18.0, 18.0)
    assert one.marks[0].depth == 18.0


def shape(name: str) -> Shape:
    raise AssertionError(name)


def test_pegs_and_posts_are_as_much_longer() -> None:
    """A peg asked 16 mm deep goes 18 mm deep, posts of 1/4 in (2.5 diameters: 15.875 mm) too; both stand out as far as ever."""
    text = (
        'format = 1\nname = "x"\nunits = "mm"\n[cutting]\nwith = "router"\ncutter = { diameter = "1/4 in" }\n'
        '[stock.mdf]\nthickness = 18\n[[tray]]\nname = "test tray"\ninside = [300, 200]\nstack = ["mdf", "mdf"]\nassembly = "cut-first"\n'
        '[[tray.item]]\nname = "ring"\nring = { bore = 8, diameter = 22, thickness = 7 }\ndepth = 16\n'
        '[[tray.item]]\nname = "wrench"\nrectangle = { length = 150, width = 20, height = 6 }\nstore = "posts"\n'
    )
    tray = read_job(text, "job.toml", shape).trays[0]
    tray = replace(tray, items=items_of(tray))
    before = tray.items
    one = drawn(tray, Pose(60, 140), Pose(180, 60))
    ring, wrench = one.tray.items
    assert ring.peg is not None
    assert before[0].peg is not None
    assert ring.peg.length - before[0].peg.length == pytest.approx(2.0)
    assert [post.stock.length for post in wrench.posts] == pytest.approx([18.0 + 20.0] * 4)  # POST_STAND out of the face
    notes = {hole.tag: hole.bore.note for hole in one.holes}
    assert notes["01"] == "dowel 1/4 in x 31 mm"  # 18 + one ring of 7 + 6 to take hold of
    assert notes["02"] == "dowel 1/4 in x 38 mm"
    assert all(hole.depth == 18.0 and hole.through for hole in one.holes if hole.tag in ("01", "02"))


# ---- dowels ------------------------------------------------------------------------------------


def dowels(drawing: Drawing) -> list[tuple[float, float]]:
    return sorted({hole.at for hole in drawing.holes if hole.bore.use == "dowel"})


def misses(places: Sequence[tuple[float, float]], width: float, depth: float) -> float:
    """How far a sheet laid on wrongly is off at the best of its wrong ways."""
    ways = [lambda x, y: (width - x, depth - y), lambda x, y: (width - x, y), lambda x, y: (x, depth - y)]
    if width == depth:
        ways += [lambda x, y: (y, x), lambda x, y: (depth - y, width - x), lambda x, y: (depth - y, x), lambda x, y: (y, width - x)]
    return min(max(min(math.dist(way(*place), other) for other in places) for place in places) for way in ways)


@settings(max_examples=25, deadline=None)
@given(st.integers(150, 700), st.integers(150, 500), st.integers(60, 90), st.booleans())
def test_dowels_hold_a_sheet_one_way_and_keep_clear(width: int, depth: int, at: int, square: bool) -> None:
    depth = width if square else depth
    items = pocket_item(SQUARE, depth=24.0, grips=()), shank_item(10.0, id="test-tray/02", tag="02", depth=12.0)
    one = drawn(stack(18.0, 12.0, tray=tray_of(*items, width=float(width), depth=float(depth))), Pose(at, at), Pose(width - 30.0, depth - 30.0))
    places = dowels(one)
    assert len(places) == (3 if max(width, depth) >= 400 else 2)
    assert misses(places, width, depth) >= 10.0 - 1e-9
    cuts = [
        shapely.box(at - 31, at - 31, at + 31, at + 31), shapely.Point(width - 30.0, depth - 30.0).buffer(5.0),
    ]  # fmt: skip
    wide = next(hole.bore.diameter for hole in one.holes if hole.bore.use == "dowel")
    for place in places:
        hole = shapely.Point(place).buffer(wide / 2, quad_segs=64)
        assert all(hole.distance(cut) >= 6.0 - 0.05 for cut in cuts)
        assert min(place[0], place[1], width - place[0], depth - place[1]) - wide / 2 >= 8.0 - 1e-9
    for sheet, depth_due, through in zip(one.sheets, (18.0, 9.0), (True, False), strict=True):
        found = [
            (entity.path.centre, layer.depth, layer.through)
            for layer in sheet.layers
            for entity in layer.entities
            if isinstance(entity.path, Circle) and entity.placement is not None and "/D" in entity.placement
        ]
        assert sorted(found) == [(place, depth_due, through) for place in places]


def test_dowels_keep_clear_of_what_is_kept_free() -> None:
    keep = KeepOut((0.0, 0.0), (350.0, 60.0), "rail")
    one = drawn(stack(18.0, 12.0, keep_out=(keep,)))
    assert all(y >= 60 + 6 + 3 for _, y in dowels(one))


def test_no_room_for_dowels_is_refused_with_what_to_do() -> None:
    keep = tuple(KeepOut((x, 0.0), (12.0, 250.0), "rail") for x in range(0, 350, 20))
    with pytest.raises(JobError, match=r"no place for 2 registration dowels.*keep_out.*glue-first"):
        drawn(stack(18.0, 12.0, keep_out=keep))


@pytest.mark.parametrize(("bottom", "floor", "fits"), [(6.0, 3.0, True), (5.9, 3.0, False), (3.0, 0.0, True)])
def test_the_bottom_sheet_keeps_its_floor(bottom: float, floor: float, fits: bool) -> None:
    tray = stack(18.0, bottom, floor=floor)
    if not fits:
        with pytest.raises(JobError, match=r"test tray: the bottom sheet of 5\.9 mm .* thicker sheet at the bottom, a smaller floor"):
            drawn(tray)
        return
    lowest = [hole for hole in drawn(tray).holes if hole.sheet == 2]
    assert {(hole.depth, hole.through) for hole in lowest} == {(bottom - floor, floor == 0)}


def test_the_dowel_is_one_that_is_milled_else_one_that_a_drill_fits() -> None:
    """The cutter of 6.35 mm mills from 7.35 mm on: 5/16 in; a shop with an 8 mm cutter takes 10 mm; by hand 6 mm."""
    def chosen(tray: Tray) -> tuple[float, str | None]:
        bore = next(hole.bore for hole in drawn(tray).holes if hole.bore.use == "dowel")
        return round(bore.wanted, 2), bore.drill.name if bore.drill else None

    assert chosen(stack(18.0, 18.0)) == (7.94, None)
    assert chosen(stack(18.0, 18.0, tray=tray_of(cutter=8.0))) == (10.0, None)
    by_hand = tray_of(machine="hand", cutter=0.0)
    assert chosen(stack(18.0, 18.0, tray=by_hand)) == (6.0, "6 mm")
    few = tuple(drill for drill in drill_sizes() if drill.name in ("17/64 in", "3/8 in", "1/2 in"))
    assert chosen(stack(18.0, 18.0, cutting=replace(by_hand.cutting, drills=few))) == (9.53, "3/8 in")


def test_no_drill_for_any_dowel_is_refused() -> None:
    by_hand = tray_of(machine="hand", cutter=0.0)
    few = tuple(drill for drill in drill_sizes() if drill.name == "17/64 in")
    with pytest.raises(JobError, match=r"no owned drill makes a hole for a registration dowel.*glue-first"):
        drawn(stack(18.0, 18.0, cutting=replace(by_hand.cutting, drills=few)))


def test_a_cutter_that_does_not_reach_leaves_the_holes_to_a_drill() -> None:
    short = tray_of()
    short = replace(short, cutting=replace(short.cutting, cutter=replace(short.cutting.cutter, reach=15.0)))
    bores = {hole.bore.drill for hole in drawn(stack(18.0, 18.0, tray=short)).holes}
    assert all(drill is not None for drill in bores)


def test_a_laser_s_sheets_have_none() -> None:
    assert dowels(drawn(stack(6.0, 6.0, tray=tray_of(machine="laser")))) == []
