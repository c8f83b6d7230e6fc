"""Figures of the proof against closed forms, on contours drawn by hand: nothing of the seats' room is used."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from insertgen.check.tray import check_tray
from insertgen.exchange.dxf import write_dxf
from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import rectangle
from insertgen.model.drawing import Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.output.holes import COLUMNS
from tests.build_values import pocket_item, shank_item, tray_of
from tests.test_check_faults import move, push_in
from tests.test_check_made import AT, edited, judged, listed, only

NO_HOLES = ",".join(COLUMNS) + "\n"


def proved(tray: Tray, path: Contour | Circle, pose: Pose, layer: str = "POCKET_10MM") -> tuple[Finding, ...]:
    """Findings on a tray of one item whose cut is ``path``, blank frame."""
    item = tray.items[0]
    sheet = SheetDrawing(1, "mdf", tray.thickness, (
        Layer(layer, Operation.POCKET, 10.0, False, (Entity(path, item.id),)),
        Layer("EDGE", Operation.EDGE, tray.thickness, True, (Entity(rectangle(tray.blank.width, tray.blank.depth), None),)),
    ))  # fmt: skip
    layout = Layout(tray.slug, 0, 0, False, tray.blank, (Placement(item.id, item.name, "", pose, False),), ())
    return check_tray(tray, layout, {"sheet-1.dxf": write_dxf(sheet)}, NO_HOLES)


# ---- the gap in a corner ---------------------------------------------------------------------------

SIDE = 70.0


def rhombus(angle: float) -> list[tuple[float, float]]:
    """Sides of 70 mm; inside angle ``angle`` (radians) left and right, the rest to pi in front and behind."""
    across, deep = SIDE * math.cos(angle / 2), SIDE * math.sin(angle / 2)
    return [(across, 0.0), (0.0, deep), (-across, 0.0), (0.0, -deep)]


def followed(angle: float, radius: float, clearance: float, at: tuple[float, float]) -> Contour:
    """The rhombus a ``clearance`` larger all round, each corner rounded by a cutter of ``radius``.

    In a corner of inside angle t the walls meet c / sin(t/2) beyond the item's
    corner and are tangent to the arc r / tan(t/2) from there (closed forms).
    The arc turns by pi - t, so its bulge is tan((pi - t) / 4).
    """
    corners = rhombus(angle)
    vertices = []
    for number, (x, y) in enumerate(corners):
        t = angle if number % 2 == 0 else math.pi - angle
        out = 1 + clearance / math.sin(t / 2) / math.hypot(x, y)
        tip = x * out, y * out
        for sign, bulge in ((-1, math.tan((math.pi - t) / 4)), (1, 0.0)):
            nx, ny = corners[(number + sign) % 4]
            share = radius / math.tan(t / 2) / SIDE
            vertices.append((at[0] + tip[0] + (nx - x) * share, at[1] + tip[1] + (ny - y) * share, bulge))
    return Contour(tuple(vertices))


def sharp_item(angle: float, clearance: float, least_gap: float) -> Item:
    return pocket_item(Outline(tuple(rhombus(angle))), clearance=clearance, least_gap=least_gap)


@given(
    degrees=st.floats(35, 90),
    radius=st.sampled_from([1.5, 3.0, 3.175, 6.35]),
    share=st.floats(0.1, 0.9),
)
@settings(max_examples=25, deadline=None)
def test_the_gap_a_cutter_leaves_in_a_corner(degrees: float, radius: float, share: float) -> None:
    """r - (r - c) / sin(t / 2), found within 0.01 mm, at the corner's bisector."""
    t, c = math.radians(degrees), share * radius
    left = radius - (radius - c) / math.sin(t / 2)
    tray = tray_of(sharp_item(t, c, least_gap=left + 0.05), cutter=2 * radius)
    found = proved(tray, followed(t, radius, c, (170, 120)), Pose(170, 120))
    assert [one.code for one in found] == ["item-bound"], listed(found)
    assert found[0].figure == pytest.approx(left, abs=0.01)
    assert found[0].at is not None
    if degrees < 80:  # at 90 degrees all four corners are alike
        tip = SIDE * math.cos(t / 2) + left
        assert min(math.dist(found[0].at, (170 + side * tip, 120)) for side in (1, -1)) < 0.1


@given(degrees=st.floats(35, 90), radius=st.sampled_from([1.5, 3.175, 6.35]), share=st.floats(0.1, 0.9))
@settings(max_examples=15, deadline=None)
def test_what_the_cutter_can_do_is_enough(degrees: float, radius: float, share: float) -> None:
    """The same contour with a least gap just below what is left: no finding, the gap due along the straights is there."""
    t, c = math.radians(degrees), share * radius
    left = radius - (radius - c) / math.sin(t / 2)
    tray = tray_of(sharp_item(t, c, least_gap=left - 0.01), cutter=2 * radius)
    assert proved(tray, followed(t, radius, c, (170, 120)), Pose(170, 120)) == ()


@given(degrees=st.floats(35, 90), less=st.floats(0.1, 0.5))
@settings(max_examples=15, deadline=None)
def test_a_contour_for_a_smaller_cutter_than_there_is(degrees: float, less: float) -> None:
    """Corners of radius r' lose (r^2 - r'^2)(cot(t/2) - (pi - t)/2) to a cutter of r (two tangents and a sector)."""
    t, wide = math.radians(degrees), 3.175
    radius = wide - 0.02 - less  # the proof lets 0.02 mm pass
    lost = ((wide - 0.02) ** 2 - radius**2) * (1 / math.tan(t / 2) - (math.pi - t) / 2)
    assume(lost > 0.15)
    tray = tray_of(sharp_item(t, 1.2, least_gap=-5.0), cutter=2 * wide)
    found = proved(tray, followed(t, radius, 1.2, (170, 120)), Pose(170, 120))
    assert [one.code for one in found] == ["cutter-too-big"], listed(found)
    assert found[0].figure == pytest.approx(lost, rel=0.05, abs=0.01)


# ---- distances -------------------------------------------------------------------------------------


@given(turn=st.floats(0, 2 * math.pi), far=st.floats(0.06, 14))
@settings(max_examples=25, deadline=None)
def test_a_bore_moved_anywhere(turn: float, far: float) -> None:
    dx, dy = far * math.cos(turn), far * math.sin(turn)
    x, y = AT["06"]
    some = only("05", "06", "07", "09")
    found = judged(edited(move("06", dx, dy), some.dxf), tray=some.tray, layout=some.layout, holes=some.holes)
    assert [(one.code, one.placement) for one in found] == [("hole-moved", "test-tray/06")], listed(found)
    assert found[0].figure == pytest.approx(far, abs=0.01)
    assert found[0].at == pytest.approx((x + dx, y + dy), abs=0.01)


@given(by=st.floats(0.1, 3.3))
@settings(max_examples=25, deadline=None)
def test_a_wall_pushed_in_by_any_amount(by: float) -> None:
    """The gap left is the clearance less that amount, negative where the wall stands in the item."""
    some = only("03")
    found = judged(edited(push_in("03", by), some.dxf), tray=some.tray, layout=some.layout, holes=some.holes)
    mine = [one for one in found if one.code == "item-bound"]
    assert [one.placement for one in mine] == ["test-tray/03"], listed(found)
    assert mine[0].figure == pytest.approx(1.0 - by, abs=0.03)


@given(off=st.floats(0, 0.99), turn=st.floats(0, 2 * math.pi))
@settings(max_examples=20, deadline=None)
def test_a_round_seat_off_its_middle(off: float, turn: float) -> None:
    """A disc of radius a in a round hole of radius a + c, off by e, has a gap of c - e (closed form)."""
    tray = tray_of(pocket_item(disc_diameter=50.0, least_gap=0.1))
    at = (150 + off * math.cos(turn), 120 + off * math.sin(turn))
    found = proved(tray, Circle(at, 52.0), Pose(150, 120))
    if off < 0.04:
        assert found == ()
    elif off > 0.06:
        assert [one.code for one in found] == ["item-bound"], listed(found)
        assert found[0].figure == pytest.approx(1 - off, abs=0.02)
        assert found[0].at is not None
        wall = shapely.Point(at).buffer(26, quad_segs=256).exterior
        assert shapely.distance(wall, shapely.Point(found[0].at)) < 0.01


@given(apart=st.floats(0.5, 5.9), turn=st.floats(0, 2 * math.pi))
@settings(max_examples=20, deadline=None)
def test_the_web_between_two_bores(apart: float, turn: float) -> None:
    """Distance of the middles less both radii; the heads are as wide as the shanks, and ask for no room."""
    one = shank_item(10.0, head=9.0, room_gap=0.0, depth=15.0)
    two = replace(one, id="test-tray/02", tag="02")
    tray = tray_of(one, two)
    far = 10.0 + apart
    poses = (Pose(150, 120), Pose(150 + far * math.cos(turn), 120 + far * math.sin(turn)))
    layer = layer_name(Operation.BORE, 15.0, through=False)
    sheet = SheetDrawing(1, "mdf", 18.0, (
        Layer(layer, Operation.BORE, 15.0, False, tuple(Entity(Circle((pose.x, pose.y), 10.0), None) for pose in poses)),
        Layer("EDGE", Operation.EDGE, 18.0, True, (Entity(rectangle(tray.blank.width, tray.blank.depth), None),)),
    ))  # fmt: skip
    placements = tuple(Placement(item.id, item.name, "", pose, False) for item, pose in zip(tray.items, poses, strict=True))
    layout = Layout(tray.slug, 0, 0, False, tray.blank, placements, ())
    found = [each for each in check_tray(tray, layout, {"sheet-1.dxf": write_dxf(sheet)}, NO_HOLES)
             if each.file != "holes.csv"]  # fmt: skip
    assert [each.code for each in found] == ["web-thin"], listed(found)
    assert found[0].figure == pytest.approx(apart, abs=0.01)
    middle = ((poses[0].x + poses[1].x) / 2, (poses[0].y + poses[1].y) / 2)
    assert found[0].at == pytest.approx(middle, abs=0.1)


def test_the_trays_that_the_random_tests_break_are_clean() -> None:
    for some in (only("03"), only("05", "06", "07", "09")):
        assert judged(some.dxf, tray=some.tray, layout=some.layout, holes=some.holes) == ()
