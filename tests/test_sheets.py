"""Drawings of the new ways to store, against closed forms, judged by shapely."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from shapely import Polygon

from insertgen.geometry.arcs import flatten
from insertgen.items.resolve import items_of
from insertgen.model.drawing import Drawing, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.item import Wanted
from insertgen.model.job import Blank, Cutter, Cutting, Stock, Template, Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.shape import Disc, Part, Rectangle, Shape, Slot, Store
from insertgen.rules import drill_sizes
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw
from insertgen.sheets.kerf import beam_path
from insertgen.sheets.template import template_opening

INCH = 25.4
BUSH = Template("bush", 5 / 8 * INCH, Cutter(INCH / 4), 6.0)


def tray(*wanted: Wanted, **other: object) -> Tray:
    plain = Tray(
        name="t", slug="t", inside=(301, 201), blank=Blank(300, 200), stack=(Stock("mdf", 18.0),), glued_first=True,
        edge_sawn=True, cutting=Cutting("router", Cutter(6.35, 30), drill_sizes()), web=6, margin=8, floor=3, play=0.5,
        finger_room=20, clearance=1, slack=0.35, least_gap=0.08, wanted=wanted,
    )  # fmt: skip
    plain = replace(plain, **other)  # type: ignore[arg-type]
    return replace(plain, items=items_of(plain))


def want(solid: object, **other: object) -> Wanted:
    return Wanted(Shape("thing", solid), "job.toml, line 7", **other)  # type: ignore[arg-type]


def drawn(where: Tray, *poses: Pose) -> Drawing:
    seats = [seat_for(item, where) for item in where.items]
    placements = tuple(
        Placement(item.id, item.name, item.name, pose, False)
        for item, pose in zip(where.items, poses, strict=True)
    )
    return draw(where, seats, Layout(where.slug, 0, 1, False, where.blank, placements, ()))


def paths(sheet: SheetDrawing, operation: Operation) -> list[Contour | Circle]:
    return [entity.path for layer in sheet.layers if layer.operation is operation for entity in layer.entities]


def region(path: Contour | Circle) -> Polygon:
    if isinstance(path, Circle):
        return shapely.Point(path.centre).buffer(path.diameter / 2, quad_segs=256)
    return Polygon(flatten(path, 0.0005))


def test_a_disc_in_a_corner_is_sawn_out_to_the_walls() -> None:
    """Radius r = 63.5 about (r - play): two straights and a quarter turn; area (2r - p)^2 less the wood in the outer corner."""
    where = tray(want(Disc(125), store=Store.CORNER))
    centre = 62.5 + 1 - 0.5
    sheet = drawn(where, Pose(centre, centre)).sheets[0]
    assert paths(sheet, Operation.EDGE) == []
    (outside,) = paths(sheet, Operation.OUTSIDE)
    reach, radius = centre + 63.5, 63.5
    due = 300 * 200 - (reach**2 - (1 - math.pi / 4) * radius**2)
    assert region(outside).area == pytest.approx(due, abs=8)  # the fit takes up to 0.04 mm along 350 mm
    item = shapely.Point(centre, centre).buffer(62.5, quad_segs=256)
    assert region(outside).distance(item) == pytest.approx(1.0, abs=0.05)
    assert region(outside).distance(item) >= 0.999


def test_two_corners_with_a_sliver_between_leave_none() -> None:
    where = tray(want(Disc(100), store=Store.CORNER, count=2), blank=Blank(206, 200), inside=(207, 201))
    at = 50.5
    sheet = drawn(where, Pose(at, at), Pose(206 - at, at)).sheets[0]
    (outside,) = paths(sheet, Operation.OUTSIDE)
    wood = region(outside)
    # 206 - 2 x 101.5 = 3 mm of wood between them, less than the web of 6: gone
    assert not wood.intersects(shapely.box(100, 0, 106, 60))
    # nothing of it is thinner than the web but square corners
    assert wood.difference(wood.buffer(-2.9).buffer(2.9 + (math.sqrt(2) - 1) * 3)).area < 1e-6


def test_a_slot_goes_through_insert_and_base_and_says_its_fence() -> None:
    blade = (
        Part(Outline(((-80, -6), (80, -6), (80, 6), (-80, 6))), 0, 45),
        Part(Outline(((-90, -40), (90, -40), (90, 40), (-90, 40))), 45, 150),
    )
    where = tray(want(blade, store=Store.SLOT), base=Stock("hdf", 6.0))
    drawing = drawn(where, Pose(150, 70))
    assert drawing.base is not None
    (slot,), (again,) = paths(drawing.sheets[0], Operation.SLOT), paths(drawing.base, Operation.SLOT)
    assert slot == again
    width = 14.0
    # a straight slot that holds a 160 x 12 block with 1 mm all round: its ends' centres at the block's ends
    assert region(slot).bounds == pytest.approx((150 - 80 - 7, 70 - 7, 150 + 80 + 7, 70 + 7), abs=1e-6)
    assert region(slot).area == pytest.approx(160 * width + math.pi * 49, abs=0.05)
    (fence,) = drawing.fences
    assert (fence.edge, fence.distance, fence.shift) == ("front", pytest.approx(63.0), pytest.approx(14 - 6.35))
    ends = [(hole.bore.use, hole.at, hole.bore.diameter) for hole in drawing.holes]
    assert ends == [("slot-end", (70.0, 70.0), 14.0), ("slot-end", (230.0, 70.0), 14.0)]
    assert all("base too" in hole.bore.note for hole in drawing.holes)


def test_the_fence_of_a_slot_as_wide_as_its_cutter() -> None:
    """Edge to the slot's middle, less half the cutter."""
    where = tray(want(Slot(100, 4.35), store=Store.SLOT, depth=30.0))
    (fence,) = drawn(where, Pose(250, 100, 90)).fences
    assert (fence.edge, fence.shift) == ("right", 0.0)
    assert fence.distance == pytest.approx((300 - 250) - 6.35 / 2)


def test_a_bush_of_5_8_and_a_cutter_of_1_4_leave_3_16() -> None:
    assert BUSH.offset == pytest.approx(3 / 16 * INCH, abs=1e-12)
    opening = template_opening(Circle((0.0, 0.0), 50.0), BUSH)
    assert opening == Circle((0.0, 0.0), pytest.approx(50 + 2 * 4.7625))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "solid",
    [Rectangle(120, 60, 12), (Part(Outline(((0, 0), (90, 0), (90, 25), (25, 25), (25, 80), (0, 80)))),)],
)
def test_what_the_template_lets_the_router_cut_covers_the_pocket(solid: object) -> None:
    where = tray(want(solid, grips=()), cutting=replace(tray().cutting, template=BUSH))
    drawing = drawn(where, Pose(150, 100))
    (template,) = drawing.templates
    (opening,) = paths(template, Operation.THROUGH)
    pocket = region(paths(drawing.sheets[0], Operation.POCKET)[0])
    way = region(opening).buffer(-BUSH.diameter / 2, quad_segs=128)
    cut = way.buffer(BUSH.cutter.diameter / 2, quad_segs=128)
    assert pocket.difference(cut).area < 0.02
    # wood corners that stick out are rounded by the offset: at 90 degrees offset (sqrt 2 - 1) deep
    assert cut.difference(pocket.buffer(BUSH.offset * (math.sqrt(2) - 1) + 0.06)).area < 0.02
    # the L's one corner of wood is square: offset (1/sin(45) - 1); a rectangle has none
    assert [one.by for one in drawing.rounded] == (
        [pytest.approx(BUSH.offset * (math.sqrt(2) - 1), abs=0.05)] if not isinstance(solid, Rectangle) else []
    )
    outer = region(paths(template, Operation.OUTSIDE)[0])
    assert outer.bounds == (-50, -50, 350, 250)
    assert region(paths(template, Operation.EDGE)[0]).bounds == (0, 0, 300, 200)


def test_near_openings_and_nested_steps_go_on_templates_of_their_own() -> None:
    pad = (
        Part(Outline(((-20, -20), (20, -20), (20, 20), (-20, 20))), 0, 9),
        Part(Outline(((-30, -30), (30, -30), (30, 30), (-30, 30))), 9, 118),
    )
    where = tray(
        want(pad, depth=15.0),
        want(Disc(40, 8), count=2, grips=()),
        cutting=replace(tray().cutting, template=BUSH),
    )
    # two discs 8 mm apart: 8 - 2 x 4.76 < 0 of template between them
    drawing = drawn(where, Pose(60, 100), Pose(150, 100), Pose(200, 100))
    on = [
        [entity.placement for layer in t.layers for entity in layer.entities if entity.placement]
        for t in drawing.templates
    ]
    assert [sheet.name for sheet in drawing.templates] == ["template-1", "template-2"]
    assert sorted(on[0] + on[1]) == ["t/01", "t/01", "t/02", "t/03"]
    for template in drawing.templates:
        openings = [region(path) for path in paths(template, Operation.THROUGH)]
        assert all(a.distance(b) >= 6 for k, a in enumerate(openings) for b in openings[:k])


def test_kerf_by_the_published_example() -> None:
    """Drawing 2.0 x 4.0, kerf 0.2: cut on the line, the opening comes out 2.2 x 4.2, the part 1.8 x 3.8."""
    block = Contour(((0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 4.0, 0.0), (0.0, 4.0, 0.0)))
    inner = region(beam_path(block, -0.2))
    outer = region(beam_path(block, 0.2))
    assert inner.bounds == pytest.approx(
        (0.1, 0.1, 1.9, 3.9), abs=0.011
    )  # and so the opening comes out 2.0 x 4.0
    assert outer.bounds == pytest.approx((-0.1, -0.1, 2.1, 4.1), abs=0.011)


def test_what_is_no_wider_than_the_beam_has_no_path() -> None:
    """A block of 2.0 x 4.0 is gone at a kerf of 2.0; two of 4 x 4 joined by a neck of 1 x 1 fall apart at 1.2, and hold at 0.8."""
    block = Contour(((0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 4.0, 0.0), (0.0, 4.0, 0.0)))
    assert beam_path(block, -1.9) is not None
    assert beam_path(block, -2.1) is None
    assert beam_path(Circle((0.0, 0.0), 2.0), -2.0) is None
    corners = [(0, 0), (4, 0), (4, 1.5), (5, 1.5), (5, 0), (9, 0), (9, 4), (5, 4), (5, 2.5), (4, 2.5), (4, 4), (0, 4)]
    dumbbell = Contour(tuple((float(x), float(y), 0.0) for x, y in corners))
    assert beam_path(dumbbell, -0.8) is not None
    assert beam_path(dumbbell, -1.2) is None
    # a slot of 1 mm that runs out of a wider place: at 1.2 only the wider place is left of it
    keyhole = Contour(tuple((float(x), float(y), 0.0) for x, y in [(0, 0), (4, 0), (4, 1.5), (20, 1.5), (20, 2.5), (4, 2.5), (4, 4), (0, 4)]))
    assert beam_path(keyhole, -0.8) is not None
    assert beam_path(keyhole, -1.2) is None


def test_a_laser_draws_every_sheet_by_itself() -> None:
    cutting = Cutting("laser", Cutter(0.0), drill_sizes())
    stack = (Stock("ply", 6.0, kerf=0.2), Stock("ply", 3.0), Stock("hdf", 3.0))
    where = tray(
        want(Rectangle(100, 40, 20), depth=9.0, grips=()), want(Disc(30, 20), depth=6.0), want(Disc(20), store=Store.THROUGH),
        cutting=cutting, stack=stack, glued_first=False,
    )  # fmt: skip
    drawing = drawn(where, Pose(80, 60), Pose(200, 60), Pose(250, 150))
    assert [sheet.name for sheet in drawing.sheets] == ["sheet-1", "sheet-2", "sheet-3"]
    on = [
        sorted(entity.placement for layer in sheet.layers for entity in layer.entities if entity.placement)
        for sheet in drawing.sheets
    ]
    assert on == [["t/01", "t/02", "t/03"], ["t/01", "t/03"], ["t/03"]]
    assert {layer.name for sheet in drawing.sheets for layer in sheet.layers} == {"THROUGH", "EDGE"}
    widths = [
        region(path).bounds for sheet in drawing.sheets[:2] for path in paths(sheet, Operation.THROUGH)[:1]
    ]
    # 102 wide; drawn half the kerf smaller on either side where the sheet has one
    assert [right - left for left, _, right, _ in widths] == [
        pytest.approx(101.8, abs=0.1),
        pytest.approx(102, abs=0.1),
    ]
    assert widths[1][2] - widths[0][2] == pytest.approx(0.1, abs=0.02)


def test_a_sawn_cut_gets_a_start_hole_in_its_waste() -> None:
    hand = Cutting("hand", Cutter(0.0), drill_sizes())
    where = tray(want(Rectangle(100, 40), store=Store.THROUGH, grips=()), cutting=hand)
    drawing = drawn(where, Pose(100, 100))
    (hole,) = drawing.holes
    assert (hole.bore.use, hole.bore.diameter, hole.through) == ("start", 10.0, True)
    (opening,) = paths(drawing.sheets[0], Operation.THROUGH)
    assert region(opening).buffer(-1).covers(shapely.Point(hole.at).buffer(hole.bore.diameter / 2))
    assert paths(drawing.sheets[0], Operation.BORE) == []


def test_posts_are_bored_beside_what_lies_there() -> None:
    where = tray(want(Rectangle(160, 20, 12), store=Store.POSTS))
    drawing = drawn(where, Pose(150, 100, 90))
    bores = paths(drawing.sheets[0], Operation.BORE)
    assert len(bores) == len(drawing.holes) == 4
    body = shapely.box(140, 20, 160, 180)
    for bore in bores:
        assert region(bore).distance(body) == pytest.approx(1.0, abs=0.01)
    (mark,) = drawing.marks
    assert (mark.depth, mark.through) == (0.0, False)


def test_nested_steps_are_one_opening_where_all_go_through() -> None:
    pad = (Part(_square(20), 0, 9), Part(_square(30), 9, 60))
    stack = (Stock("ply", 6.0), Stock("ply", 6.0), Stock("ply", 6.0))
    laser = Cutting("laser", Cutter(0.0), drill_sizes())
    drawing = drawn(tray(want(pad, depth=12.0, grips=()), cutting=laser, stack=stack, glued_first=False), Pose(100, 100))
    spans = [[region(path).bounds for path in paths(sheet, Operation.THROUGH)] for sheet in drawing.sheets]
    widths = [[right - left for left, _, right, _ in sheet] for sheet in spans]
    assert widths == [[pytest.approx(62, abs=0.1)], [pytest.approx(42, abs=0.1)], []]


def _square(half: float) -> Outline:
    return Outline(((-half, -half), (half, -half), (half, half), (-half, half)))
