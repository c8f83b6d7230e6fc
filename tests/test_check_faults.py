"""Every fault a drawing can have, put in one at a time: the code, the placement, the place and the figure."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ezdxf
import pytest
import shapely

from insertgen.check.tray import check_tray
from insertgen.model.figures import Pose
from insertgen.model.finding import Severity
from insertgen.model.job import Cutter, KeepOut
from insertgen.model.layout import LeftOut, LeftOutReason
from insertgen.rules import FINDINGS
from tests.test_check_made import (
    AT,
    BORES,
    CUTTER,
    DEPTH,
    L_SHAPE,
    POCKETS,
    THICKNESS,
    WIDTH,
    cut_of,
    edited,
    judged,
    laid,
    listed,
    made,
    made_from,
    the,
    with_item,
    without,
)

R = CUTTER / 2
C = 1.0  # the shop's clearance
FIT = 0.06  # openings are drawn up to 0.02 mm large, with a cutter 0.04 mm larger
FLOOR_LEFT = THICKNESS - 3.0


def points(one: Any) -> list[tuple[float, float]]:
    return [(x, y) for x, y in one.get_points("xy")]


def line_of(one: Any) -> shapely.Geometry:
    """A written contour or circle as a line, by ezdxf's own flattening."""
    if one.dxftype() == "CIRCLE":
        return shapely.Point(tuple(one.dxf.center)[:2]).buffer(one.dxf.radius, quad_segs=256).exterior
    if not one.closed:
        one = one.copy()
        one.closed = True
    vertices = [tuple(point)[:2] for point in ezdxf.path.make_path(one).flattening(0.001)]
    return shapely.LinearRing(vertices)


def inside_of(one: Any) -> shapely.Polygon:
    return shapely.Polygon(line_of(one))


def redrawn(one: Any, ring: Any) -> None:
    """Put straight pieces in place of a contour or circle."""
    space, layer = one.get_layout(), one.dxf.layer
    space.delete_entity(one)
    space.add_lwpolyline(list(ring), format="xy", close=True, dxfattribs={"layer": layer})


# ---- wood and room -------------------------------------------------------------------------------


def test_two_heads_in_the_same_room() -> None:
    layout = laid(t06=Pose(AT["05"][0] + 15, AT["05"][1]))
    other = made_from(made().tray, layout)
    one = the(judged(other.dxf, layout=layout, holes=other.holes), "overlap", "05",
              place=(AT["05"][0] + 7.5, AT["05"][1]), figure=0.0)  # fmt: skip
    assert one.others == ("test-tray/06",)


def test_two_heads_nearer_than_fingers_need() -> None:
    # heads of 20 mm, 29 mm apart: 9 mm between them
    layout = laid(t06=Pose(AT["05"][0] + 29, AT["05"][1]))
    other = made_from(made().tray, layout)
    the(judged(other.dxf, layout=layout, holes=other.holes), "overlap", "05",
        place=(AT["05"][0] + 14.5, AT["05"][1]), figure=9.0, limit=20.0)  # fmt: skip


@pytest.mark.parametrize(("tag", "corner"), [("01", (25.0, 30.0)), ("06", (205.0, 145.0)), ("10", (300.0, 210.0))])
def test_a_thing_on_a_keep_out(tag: str, corner: tuple[float, float]) -> None:
    tray = replace(made().tray, keep_out=(KeepOut(corner, (10.0, 10.0), "screw of the pull"),))
    one = the(judged(tray=tray), "overlap", tag, place=shapely.box(*corner, corner[0] + 10, corner[1] + 10))
    assert "screw of the pull" in one.message


def test_wood_too_thin_at_a_keep_out() -> None:
    # right side of the L's foot at x = 100; the cut goes 1 mm beyond; the keep-out begins at 104
    tray = replace(made().tray, keep_out=(KeepOut((104.0, 25.0), (10.0, 8.0), "screw"),))
    the(judged(tray=tray), "web-thin", "01", place=shapely.box(100.9, 25, 104.1, 33), figure=3.0, within=FIT, limit=6.0)


def test_a_thin_web() -> None:
    # from the L's right side, x = 100 + 1, to a disc of 72 mm whose middle lies level with the foot's back: 4 mm
    layout = laid(t02=Pose(100 + C + 4 + 36, 45.0))
    other = made_from(made().tray, layout)
    one = the(judged(other.dxf, layout=layout), "web-thin", "01", place=shapely.LineString([(103, 42), (103, 46)]), figure=4.0, within=FIT, limit=6.0)
    assert one.others == ("test-tray/02",)


@pytest.mark.parametrize(("x", "y", "place"), [
    (45 + C + 5, AT["03"][1], shapely.box(0, 120, 5.1, 180)),
    (AT["03"][0], DEPTH - 20 - C - 5, shapely.box(10, DEPTH - 5.1, 120, DEPTH)),
])  # fmt: skip
def test_a_thin_margin(x: float, y: float, place: shapely.Polygon) -> None:
    layout = laid(t03=Pose(x, y))
    the(judged(made_from(made().tray, layout).dxf, layout=layout), "margin-thin", "03", place=place, figure=5.0,
        within=FIT, limit=8.0)  # fmt: skip


@pytest.mark.parametrize("tag", POCKETS)
def test_a_thin_floor(tag: str) -> None:
    data = edited(lambda space: cut_of(space, tag).dxf.set("layer", "POCKET_16-5MM"))
    place = line_of(cut_of(ezdxf.read(io.StringIO(made().dxf.decode())).modelspace(), tag))
    if tag == "02":  # a round cut's place is its middle
        place = shapely.Point(AT[tag])
    found = judged(data)
    the(found, "floor-thin", tag, place=place, figure=1.5, limit=3.0)
    the(found, "depth-wrong", tag, place=place, figure=16.5)


# ---- does the item go in? ------------------------------------------------------------------------


@pytest.mark.parametrize("tag", POCKETS)
def test_a_seat_shrunk_by_a_millimetre_binds(tag: str) -> None:
    drawn: list[shapely.Geometry] = []

    def shrink(space: Any) -> None:
        one = cut_of(space, tag)
        ring = inside_of(one).buffer(-1.0, quad_segs=64).exterior
        drawn.append(ring)
        redrawn(one, ring.coords[:-1])

    # Closed form: in a square corner r - (r - c) / sin(45 deg) is left, less the 1 mm; a round item keeps c - 1.
    left = C - 1 if tag == "02" else R - (R - C) / math.sin(math.pi / 4) - 1
    the(judged(edited(shrink)), "item-bound", tag, place=drawn[0], figure=left, within=FIT)


def dented(vertices: list[tuple[float, ...]], tag: str, by: float) -> list[tuple[float, ...]]:
    """The front wall pushed in over some 10 mm, with slopes a cutter can follow."""
    y = min(vertex[1] for vertex in vertices)
    for at, (here, there) in enumerate(zip(vertices, vertices[1:] + vertices[:1], strict=True)):
        if here[2] == 0 and abs(here[1] - y) < 1e-3 and abs(there[1] - y) < 1e-3 and abs(here[0] - there[0]) > 60:
            x, way = AT[tag][0], math.copysign(1, there[0] - here[0])
            run = [(-5 - 10 * by, 0.0), (-5.0, by), (5.0, by), (5 + 10 * by, 0.0)]
            return [*vertices[: at + 1], *((x + way * along, y + up, 0.0) for along, up in run), *vertices[at + 1 :]]
    raise AssertionError("no straight front wall")


def push_in(tag: str, by: float) -> Callable[[Any], None]:
    def edit(space: Any) -> None:
        one = cut_of(space, tag)
        one.set_points(dented(list(one.get_points("xyb")), tag, by), format="xyb")

    return edit


@pytest.mark.parametrize("tag", ["01", "03"])
def test_a_wall_pushed_in(tag: str) -> None:
    x, front = AT[tag][0], AT[tag][1] - (30 if tag == "01" else 20)
    wall = shapely.box(x - 5.1, front - 0.5, x + 5.1, front - 0.3)
    the(judged(edited(push_in(tag, 0.6))), "item-bound", tag, place=wall, figure=C - 0.6, within=0.03, limit=C)


def test_a_mirrored_cut_binds() -> None:
    """The L drawn mirrored, as from below."""
    layout = laid(t01=Pose(*AT["01"], mirror=True))
    other = made_from(made().tray, layout)
    one = the(judged(other.dxf), "item-bound", "01")
    assert one.figure is not None
    assert one.figure < -10
    # the layout saying so too makes it no better: the job asks for no mirror
    assert "item-bound" in [one.code for one in judged(other.dxf, layout=layout)]


def test_a_pose_mirrored_in_the_layout_alone() -> None:
    """The drawing still does what the job asks; the layout does not say so."""
    found = judged(layout=laid(t01=Pose(*AT["01"], mirror=True)))
    one = the(found, "file-changed", "01")
    assert one.file == "layout.json"
    assert [one.severity for one in found] == [Severity.WARNING]


def test_a_whole_tray_mirrored() -> None:
    def mirror(space: Any) -> None:
        for one in space:
            if one.dxftype() == "CIRCLE":
                x, y, z = one.dxf.center
                one.dxf.center = (WIDTH - x, y, z)
            else:
                one.set_points([(WIDTH - x, y, -b) for x, y, b in one.get_points("xyb")], format="xyb")

    found = judged(edited(mirror))
    wrong = {one.placement for one in found if one.severity is Severity.ERROR}
    assert {f"test-tray/{tag}" for tag in (*POCKETS, "04", *BORES)} <= wrong, listed(found)


# ---- the cutter ----------------------------------------------------------------------------------


def test_sharp_corners() -> None:
    (x, y), (half, deep) = AT["03"], (45 + C, 20 + C)
    corners = [(x - half, y - deep), (x + half, y - deep), (x + half, y + deep), (x - half, y + deep)]
    data = edited(lambda space: redrawn(cut_of(space, "03"), corners))
    # A square opened by a disc loses (4 - pi) r^2, a quarter of it in each corner (closed form).
    lost = (4 - math.pi) * R**2 / 4
    the(judged(data), "cutter-too-big", "03", place=shapely.MultiPoint(corners), figure=lost, within=0.05)


def test_a_notch_too_narrow() -> None:
    def edit(space: Any) -> None:
        one = cut_of(space, "03")
        x, y = AT["03"]
        notched = inside_of(one).union(shapely.box(x - 1, y + 15, x + 1, y + 26))
        redrawn(one, notched.exterior.coords[:-1])

    x, y = AT["03"]
    tip = shapely.LineString([(x - 1, y + 26), (x + 1, y + 26)])
    # 2 mm wide, 5 mm beyond the wall, and the two corners beside its mouth that the cutter rounds not
    the(judged(edited(edit)), "cutter-too-big", "03", place=tip, figure=2 * 5.0, within=0.5)


def test_a_cutter_too_short_for_the_through_cut() -> None:
    tray = replace(made().tray, cutting=replace(made().tray.cutting, cutter=Cutter(CUTTER, 17.0)))
    the(judged(tray=tray), "cutter-too-short", "04", figure=THICKNESS, limit=17.0)


def test_a_cutter_too_short_for_a_pocket() -> None:
    tray = replace(made().tray, cutting=replace(made().tray.cutting, cutter=Cutter(CUTTER, 11.0)))
    found = [one.placement for one in judged(tray=tray) if one.code == "cutter-too-short"]
    # the block's pocket is 12 mm deep, the pencil's opening 18 mm; milled bores are 15 mm deep
    assert {"test-tray/03", "test-tray/04"} <= set(found)
    assert not {"test-tray/01", "test-tray/02", "test-tray/05"} & set(found)


# ---- bores ---------------------------------------------------------------------------------------


def move(tag: str, dx: float, dy: float) -> Callable[[Any], None]:
    def edit(space: Any) -> None:
        one = cut_of(space, tag)
        x, y, z = one.dxf.center
        one.dxf.center = (x + dx, y + dy, z)

    return edit


@pytest.mark.parametrize("tag", BORES)
def test_a_bore_moved(tag: str) -> None:
    (x, y) = AT[tag]
    found = judged(edited(move(tag, 1.2, -1.6)))  # by 2 mm
    the(found, "hole-moved", tag, place=(x + 1.2, y - 1.6), figure=2.0)
    assert len(found) == 1, listed(found)  # the schedule is right, and nothing is said of it


@pytest.mark.parametrize(("code", "by"), [("hole-tight", -0.4), ("hole-loose", 1.6)])
@pytest.mark.parametrize("tag", ["05", "06", "07"])
def test_a_bore_of_another_width(tag: str, code: str, by: float) -> None:
    wanted = made().item(tag).bore
    assert wanted is not None
    data = edited(lambda space: cut_of(space, tag).dxf.set("radius", (wanted + by) / 2))
    found = judged(data)
    the(found, code, tag, place=AT[tag], figure=wanted + by)
    assert len(found) == 1, listed(found)


# ---- contours ------------------------------------------------------------------------------------


@pytest.mark.parametrize("tag", ["01", "03", "04"])
def test_a_contour_opened(tag: str) -> None:
    last: list[tuple[float, float]] = []

    def edit(space: Any) -> None:
        one = cut_of(space, tag)
        one.closed = False
        last.append(points(one)[-1])

    found = judged(edited(edit))
    the(found, "contour-open", tag, place=last[0])
    assert len(found) == 1, listed(found)


def again(vertices: list[Any], how: str) -> list[Any]:
    if how == "another start":
        return vertices[3:] + vertices[:3]
    if how == "reversed":  # a bulge belongs to the segment that starts at its vertex, and turns with it
        turned = vertices[::-1]
        return [(x, y, -turned[(at + 1) % len(turned)][2]) for at, (x, y, _) in enumerate(turned)]
    return vertices


@pytest.mark.parametrize(("tag", "how"), [
    ("01", "same start"), ("01", "another start"), ("01", "reversed"), ("01", "other layer"), ("03", "reversed"),
    ("04", "another start"), ("04", "other layer"),
])  # fmt: skip
def test_a_contour_doubled(tag: str, how: str) -> None:
    where: list[shapely.Geometry] = []

    def edit(space: Any) -> None:
        one = cut_of(space, tag)
        where.append(line_of(one))
        layer = "POCKET_5MM" if how == "other layer" else one.dxf.layer
        copy = again(list(one.get_points("xyb")), how)
        space.add_lwpolyline(copy, format="xyb", close=True, dxfattribs={"layer": layer})

    found = judged(edited(edit))
    one = the(found, "contour-doubled", tag, place=where[0])
    assert len(found) == 1, listed(found)
    assert how != "other layer" or one.layer == "POCKET_5MM"


def test_a_circle_doubled() -> None:
    found = judged(edited(lambda space: space.add_circle(AT["06"], cut_of(space, "06").dxf.radius,
                                                         dxfattribs={"layer": cut_of(space, "06").dxf.layer})))  # fmt: skip
    the(found, "contour-doubled", "06", place=AT["06"])
    assert len(found) == 1, listed(found)


def test_a_contour_that_crosses_itself() -> None:
    (x, y), (half, deep) = AT["03"], (46.0, 21.0)
    bow = [(x - half, y - deep), (x + half, y - deep), (x - half, y + deep), (x + half, y + deep)]
    data = edited(lambda space: redrawn(cut_of(space, "03"), bow))
    found = judged(data)
    the(found, "contour-crossed", "03", place=(x, y))
    assert len(found) == 1, listed(found)


def test_a_crumb() -> None:
    corner: list[tuple[float, float]] = []

    def edit(space: Any) -> None:
        one = cut_of(space, "03")
        vertices = list(one.get_points("xyb"))
        at = next(number for number, vertex in enumerate(vertices) if vertex[2] == 0)
        x, y, _ = vertices[at]
        toward = vertices[(at + 1) % len(vertices)]
        reach = math.dist((x, y), toward[:2])
        step = (x + (toward[0] - x) * 0.004 / reach, y + (toward[1] - y) * 0.004 / reach, 0.0)
        corner.append((x, y))
        one.set_points([*vertices[: at + 1], step, *vertices[at + 1 :]], format="xyb")

    found = judged(edited(edit))
    the(found, "crumb", "03", place=corner[0], figure=0.004, within=0.001)
    assert [one.severity for one in found] == [Severity.WARNING]


@pytest.mark.parametrize("layer", ["0", "Pocket_10mm", "POCKET_10,5MM"])
def test_a_layer_that_names_no_operation(layer: str) -> None:
    found = judged(edited(lambda space: cut_of(space, "01").dxf.set("layer", layer)))
    assert the(found, "layer-unknown", "01").remedy == "move it to the layer POCKET_10MM"
    assert len(found) == 1, listed(found)


@pytest.mark.parametrize(("tag", "layer", "figure"), [
    ("01", "POCKET_3MM", 3.0), ("02", "POCKET_9MM", 9.0), ("03", "THROUGH", THICKNESS), ("04", "POCKET_12MM", 12.0),
    ("05", "BORE_12MM", 12.0), ("06", "BORE_THROUGH", THICKNESS), ("01", "EDGE", 0.0),
])  # fmt: skip
def test_a_cut_on_a_layer_of_another_depth(tag: str, layer: str, figure: float) -> None:
    one = the(judged(edited(lambda space: cut_of(space, tag).dxf.set("layer", layer))), "depth-wrong", tag, figure=figure)
    assert one.layer == layer
    assert made().item(tag).through or "move it to the layer" in one.remedy


def test_a_cut_that_leaves_the_blank() -> None:
    layout = laid(t03=Pose(WIDTH - 45 - C + 4, AT["03"][1] + 55))
    other = made_from(made().tray, replace(layout, placements=tuple(one for one in layout.placements if one.id[-2:] != "10")))
    found = judged(other.dxf, layout=other.layout)
    errors = {one.placement for one in found if one.severity is Severity.ERROR}
    outside = [one for one in found if one.code == "outside-blank"]
    assert [one.placement for one in outside] == ["test-tray/03"], listed(found)
    assert outside[0].figure == pytest.approx(4.0, abs=FIT)
    assert outside[0].at is not None
    assert abs(outside[0].at[0] - (WIDTH + 4)) < 0.1
    assert errors == {"test-tray/03", "test-tray/10"}  # the plane without a place in this layout


# ---- the file ------------------------------------------------------------------------------------


def reheaded(before: str, after: str) -> bytes:
    text = made().dxf.decode()
    assert text.count(before) == 1
    return text.replace(before, after).encode()


@pytest.mark.parametrize(("before", "after", "said"), [
    ("$INSUNITS\n 70\n4\n", "$INSUNITS\n 70\n1\n", "1"),
    ("$INSUNITS\n 70\n4\n", "$INSUNITS\n 70\n6\n", "6"),
    ("$MEASUREMENT\n 70\n1\n", "$MEASUREMENT\n 70\n0\n", "metric"),
    ("$EXTMAX\n 10\n350.0\n", "$EXTMAX\n 10\n355.0\n", "355"),
    ("$EXTMAX\n", "$EXTNAX\n", "EXTMAX"),
])  # fmt: skip
def test_a_header_that_does_not_say_millimetres(before: str, after: str, said: str) -> None:
    one = the(judged(reheaded(before, after)), "units-wrong", None)
    assert said in one.message


def test_a_drawing_a_25th_of_its_size() -> None:
    def scale(space: Any) -> None:
        for one in space:
            if one.dxftype() == "CIRCLE":
                x, y, z = one.dxf.center
                one.dxf.center, one.dxf.radius = (x / 25.4, y / 25.4, z), one.dxf.radius / 25.4
            else:
                one.set_points([(x / 25.4, y / 25.4, b) for x, y, b in one.get_points("xyb")], format="xyb")

    one = the(judged(edited(scale)), "units-wrong", None, figure=WIDTH / 25.4, limit=WIDTH)
    assert "inch" in one.message + one.remedy


def test_a_text_a_spline_and_a_line() -> None:
    layer = {"layer": "POCKET_10MM"}
    text = judged(edited(lambda space: space.add_text("01", dxfattribs=layer | {"insert": (5.0, 6.0)})))
    the(text, "entity-odd", None, place=(5.0, 6.0))
    the(judged(edited(lambda space: space.add_line((5, 6), (20, 6), dxfattribs=layer))), "entity-odd", None, place=(5.0, 6.0))
    spline = judged(edited(lambda space: space.add_spline([(5, 6), (9, 9), (12, 6)], dxfattribs=layer)))
    assert "SPLINE" in the(spline, "entity-odd", None).message


@pytest.mark.parametrize(("tag", "what", "value"), [
    ("01", "elevation", 2.0), ("02", "center", (*AT["02"], 3.0)), ("06", "extrusion", (0, 0, -1)),
    ("03", "extrusion", (0, 0, -1)), ("04", "const_width", 0.5),
])  # fmt: skip
def test_a_cut_that_does_not_lie_flat(tag: str, what: str, value: Any) -> None:
    place = line_of(cut_of(ezdxf.read(io.StringIO(made().dxf.decode())).modelspace(), tag))
    found = judged(edited(lambda space: cut_of(space, tag).dxf.set(what, value)))
    the(found, "entity-odd", tag, place=place)
    assert len(found) == 1, listed(found)


def test_an_arc_of_more_than_a_half_circle() -> None:
    start: list[tuple[float, float]] = []

    def edit(space: Any) -> None:
        one = cut_of(space, "04")
        vertices = list(one.get_points("xyb"))
        at = max(range(len(vertices)), key=lambda number: abs(vertices[number][2]))
        start.append(vertices[at][:2])
        vertices[at] = (*vertices[at][:2], 1.3)
        one.set_points(vertices, format="xyb")

    found = judged(edited(edit))
    the(found, "entity-odd", "04", place=start[0])
    assert len(found) == 1, listed(found)


def test_a_bore_drawn_as_a_polyline() -> None:
    def edit(space: Any) -> None:
        one = cut_of(space, "06")
        redrawn(one, line_of(one).coords[:-1:16])

    the(judged(edited(edit)), "entity-odd", "06", place=AT["06"])


def test_no_drawing_at_all() -> None:
    for data in (b"", b"no drawing", made().dxf[: len(made().dxf) // 2]):
        found = judged(data)
        assert [(one.code, one.file) for one in found] == [("entity-odd", "sheet-1.dxf")], listed(found)
    found = check_tray(made().tray, made().layout, {}, made().holes)
    assert [(one.code, one.file) for one in found] == [("cut-missing", "sheet-1.dxf")]


# ---- too few, too many ---------------------------------------------------------------------------


@pytest.mark.parametrize("tag", ["01", "02", "04", "06", "09"])
def test_a_cut_deleted(tag: str) -> None:
    found = judged(edited(lambda space: space.delete_entity(cut_of(space, tag))))
    the(found, "cut-missing", tag, place=AT[tag])
    assert len(found) == 1, listed(found)


def test_an_edge_deleted() -> None:
    found = judged(edited(lambda space: space.delete_entity(cut_of(space, "edge"))))
    one = the(found, "cut-missing", None)
    assert one.layer == "EDGE"
    assert len(found) == 1, listed(found)


def test_an_edge_for_reference_where_the_machine_should_cut_it() -> None:
    one = the(judged(tray=replace(made().tray, edge_sawn=False)), "cut-missing", None)
    assert "OUTSIDE_THROUGH" in one.remedy


def test_an_edge_of_another_size() -> None:
    def edit(space: Any) -> None:
        one = cut_of(space, "edge")
        one.set_points([(x, min(y, DEPTH - 3), b) for x, y, b in one.get_points("xyb")], format="xyb")

    corners = shapely.MultiPoint([(0, DEPTH), (WIDTH, DEPTH)])  # what the drawn edge leaves out
    the(judged(edited(edit)), "entity-odd", None, place=corners, figure=3.0)


def test_a_cut_of_nobodys() -> None:
    spot = (230.0, 220.0)
    found = judged(edited(lambda space: space.add_circle(spot, 4, dxfattribs={"layer": "BORE_15MM"})))
    the(found, "cut-extra", None, place=spot)
    ring = [(220, 210), (240, 210), (240, 230), (220, 230)]
    found = judged(edited(lambda space: space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "THROUGH"})))
    the(found, "cut-extra", None, place=shapely.LinearRing(ring))


def test_a_second_cut_in_a_seat() -> None:
    found = judged(edited(lambda space: space.add_circle(AT["02"], 20, dxfattribs={"layer": "POCKET_12MM"})))
    the(found, "cut-extra", "02", place=AT["02"])


# ---- the layout and the job ----------------------------------------------------------------------


@pytest.mark.parametrize("why", list(LeftOutReason))
def test_an_item_left_out(why: LeftOutReason) -> None:
    layout = replace(made().layout, placements=without("03"), left_out=(LeftOut("test-tray/03", why),))
    other = made_from(made().tray, layout)
    found = judged(other.dxf, layout=layout)
    one = the(found, "left-out", "03")
    assert len(found) == 1, listed(found)
    if why is LeftOutReason.TOO_TALL:  # 25 mm, seated 12 mm deep in 18 mm
        assert "31 mm" in one.message
        assert "120 mm" in one.message
    if why is LeftOutReason.TOO_BIG:
        assert "90 x 40 mm" in one.message
        assert "350 mm by 250 mm" in one.message


def test_an_item_the_layout_forgets() -> None:
    layout = replace(made().layout, placements=without("03"))
    other = made_from(made().tray, layout)
    the(judged(other.dxf, layout=layout), "cut-missing", "03")


def test_a_placement_of_nobodys() -> None:
    stranger = replace(made().layout.placements[0], id="test-tray/99")
    layout = replace(made().layout, placements=(*made().layout.placements, stranger))
    found = judged(layout=layout)
    assert [(one.code, one.placement) for one in found] == [("cut-extra", "test-tray/99")]


@pytest.mark.parametrize("tag", ["01", "06"])
def test_a_seat_deeper_than_the_stack_allows(tag: str) -> None:
    tray = with_item(tag, depth=22.0)
    other = made_from(tray)
    one = the(judged(other.dxf, tray=tray, holes=other.holes), "too-deep", tag, figure=22.0, limit=FLOOR_LEFT)
    assert "25 mm" in one.remedy  # 22 and a floor of 3


@pytest.mark.parametrize("tag", ["05", "10"])
def test_an_item_that_stands_too_tall(tag: str) -> None:
    found = judged(tray=with_item(tag, top=110.0))
    the(found, "too-tall", tag, place=AT[tag], figure=THICKNESS + 110.0, limit=120.0)
    assert len(found) == 1, listed(found)


def test_an_outline_of_large_error() -> None:
    tray = with_item("01", expected_error=2.0)
    other = made_from(tray)
    found = judged(other.dxf, tray=tray, holes=other.holes)
    assert "error-large" in [one.code for one in found]
    the(found, "error-large", "01", figure=2.0)


def test_a_blank_larger_than_the_bed() -> None:
    tray = replace(made().tray, cutting=replace(made().tray.cutting, bed=(300.0, 300.0)))
    found = judged(tray=tray)
    the(found, "bed-small", None, figure=WIDTH, limit=300.0)
    # turned, it may go on
    tray = replace(made().tray, cutting=replace(made().tray.cutting, bed=(255.0, 400.0)))
    assert judged(tray=tray) == ()


def test_findings_come_errors_first_and_with_their_code_s_severity() -> None:
    def edit(space: Any) -> None:
        cut_of(space, "05").dxf.set("radius", 6.0)
        move("09", 2.0, 0.0)(space)

    found = judged(edited(edit))
    assert [(one.code, one.severity) for one in found] == [
        ("hole-moved", Severity.ERROR), ("hole-loose", Severity.WARNING),
    ]  # fmt: skip
    assert all(one.severity is FINDINGS[one.code].severity for one in found)


def test_the_square_is_no_mirror_image_of_itself() -> None:
    """Or the tests of mirroring could not fail."""
    ring = shapely.Polygon(L_SHAPE)
    other = shapely.Polygon([(-x, y) for x, y in L_SHAPE])
    assert shapely.area(ring.symmetric_difference(other)) > 100
