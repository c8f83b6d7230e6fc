"""Every finding code, and a fault of which the check must say it: by code, by whose it is, and by its place.

Further faults, with their figures and limits, are in the tests of each judge.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import ezdxf
import pytest
import shapely

from insertgen.check.hashes import check_hashes
from insertgen.check.tray import check_tray
from insertgen.model.figures import Pose
from insertgen.model.finding import Finding, Severity
from insertgen.model.job import Cutter, KeepOut
from insertgen.model.layout import LeftOut, LeftOutReason, Unmet, Wish
from insertgen.model.shape import Disc, Store
from insertgen.rules import FINDINGS
from tests.build_values import box_outline, drawn, placed, polygon, schedule, seat_item, tray_of
from tests.test_check_faults import C, dented, line_of, redrawn
from tests.test_check_made import (
    AT,
    BORES,
    CUTTER,
    WIDTH,
    cut_of,
    edited,
    judged,
    laid,
    listed,
    made,
    made_from,
    with_item,
    without,
)

Findings = tuple[Finding, ...]
Place = shapely.Geometry | tuple[float, float] | None


@dataclass(frozen=True)
class Fault:
    """``tags``: whose it is, () for nobody's; ``place``: that the finding's lies on, None where it has none."""

    code: str
    made: Callable[[], Findings]
    tags: tuple[str, ...] = ()
    place: Place = None
    file: str = "sheet-1.dxf"


def whole() -> Any:
    return ezdxf.read(io.StringIO(made().dxf.decode())).modelspace()


def outline_of(tag: str) -> shapely.Geometry:
    return line_of(cut_of(whole(), tag))


def each(edit: Callable[[Any], None]) -> Callable[[], Findings]:
    return lambda: judged(edited(edit))


# ---- edits of a drawing --------------------------------------------------------------------------


def opened(space: Any) -> None:
    cut_of(space, "01").closed = False


def gapped(space: Any) -> None:
    """The block's contour in two runs with 0.3 mm between them on either side."""
    one = cut_of(space, "03")
    vertices, layer = list(one.get_points("xyb")), one.dxf.layer
    half = len(vertices) // 2
    first, second = vertices[:half], vertices[half:]
    (x, y, _), (x2, y2, _) = first[-1], second[-1]
    first[-1], second[-1] = (x + 0.2, y + 0.2, 0.0), (x2 + 0.2, y2 + 0.2, 0.0)
    space.delete_entity(one)
    for run in (first, second):
        space.add_lwpolyline(run, format="xyb", close=False, dxfattribs={"layer": layer})


def doubled(space: Any) -> None:
    one = cut_of(space, "04")
    space.add_lwpolyline(list(one.get_points("xyb")), format="xyb", close=True, dxfattribs={"layer": one.dxf.layer})


def crossed(space: Any) -> None:
    (x, y), (wide, deep) = AT["03"], (46.0, 21.0)
    redrawn(cut_of(space, "03"), [(x - wide, y - deep), (x + wide, y - deep), (x - wide, y + deep), (x + wide, y + deep)])


def crumbed(space: Any) -> None:
    one = cut_of(space, "03")
    (x, y, bulge), *rest = list(one.get_points("xyb"))
    if bulge:  # the crumb goes before an arc, on its tangent as good as anywhere
        one.set_points([(x, y, 0.0), (x, y + 0.006, bulge), *rest], format="xyb")
    else:
        one.set_points([(x, y, 0.0), (x + 0.006 if rest[0][0] > x else x - 0.006, y, 0.0), *rest], format="xyb")


def flipped(space: Any) -> None:
    """Every arc of the block's contour to the other side of its chord."""
    one = cut_of(space, "03")
    one.set_points([(x, y, -b) for x, y, b in one.get_points("xyb")], format="xyb")


def one_layer(space: Any) -> None:
    for one in space:
        one.dxf.layer = "POCKET_10MM"


def mirrored(space: Any) -> None:
    for one in space:
        if one.dxftype() == "CIRCLE":
            x, y, z = one.dxf.center
            one.dxf.center = (WIDTH - x, y, z)
        else:
            one.set_points([(WIDTH - x, y, -b) for x, y, b in one.get_points("xyb")], format="xyb")


def in_inches(space: Any) -> None:
    for one in space:
        if one.dxftype() == "CIRCLE":
            x, y, z = one.dxf.center
            one.dxf.center, one.dxf.radius = (x / 25.4, y / 25.4, z), one.dxf.radius / 25.4
        else:
            one.set_points([(x / 25.4, y / 25.4, b) for x, y, b in one.get_points("xyb")], format="xyb")


def beyond(space: Any) -> None:
    """The block's pocket, 92 mm wide, so far to the left that it leaves the blank by 6 mm."""
    one = cut_of(space, "03")
    one.set_points([(x - 25.0, y, b) for x, y, b in one.get_points("xyb")], format="xyb")


def sharp(space: Any) -> None:
    (x, y), (wide, deep) = AT["03"], (46.0, 21.0)
    redrawn(cut_of(space, "03"), [(x - wide, y - deep), (x + wide, y - deep), (x + wide, y + deep), (x - wide, y + deep)])


def moved(space: Any) -> None:
    one = cut_of(space, "05")
    x, y, z = one.dxf.center
    one.dxf.center = (x + 2.0, y, z)


def widened(by: float) -> Callable[[Any], None]:
    def edit(space: Any) -> None:
        one = cut_of(space, "06")
        one.dxf.radius += by / 2

    return edit


def headless(old: str, new: str) -> Callable[[], Findings]:
    return lambda: judged(made().dxf.decode().replace(old, new).encode())


def relaid(tag: str, pose: Pose) -> Callable[[], Findings]:
    def run() -> Findings:
        layout = laid(**{f"t{tag}": pose})
        other = made_from(made().tray, layout)
        return judged(other.dxf, layout=layout, holes=other.holes)

    return run


def another_tray(**changes: object) -> Callable[[], Findings]:
    return lambda: judged(tray=replace(made().tray, **changes))  # type: ignore[arg-type]  # any field of a tray, of its own type


def seated(tag: str, **changes: object) -> Callable[[], Findings]:
    def run() -> Findings:
        tray = with_item(tag, **changes)
        other = made_from(tray)
        return judged(other.dxf, tray=tray, holes=other.holes)

    return run


def short_cutter() -> Findings:
    return judged(tray=replace(made().tray, cutting=replace(made().tray.cutting, cutter=Cutter(CUTTER, 17.0))))


def left_out() -> Findings:
    layout = replace(made().layout, placements=without("03"), left_out=(LeftOut("test-tray/03", LeftOutReason.NO_ROOM),))
    return judged(made_from(made().tray, layout).dxf, layout=layout)


def unmet() -> Findings:
    layout = replace(made().layout, unmet=(Unmet("test-tray/03", Wish.FRONT, ("test-tray/01",)), Unmet("test-tray/02", Wish.KEEP)))
    return judged(layout=layout)


def two_corners() -> Findings:
    """Two seats sawn out of the front edge, a tongue of 3 mm between them that the drawing leaves standing."""
    wide = box_outline(-20, -15, 20, 15)
    items = [seat_item(Store.CORNER, Disc(40.0), wide, id=f"test-tray/0{number}", tag=f"0{number}") for number in (1, 2)]
    tray = replace(tray_of(*items, machine="laser"), edge_sawn=False)  # a beam, of no width here, turns any corner
    at = (Pose(100.0, 15.6), Pose(145.0, 15.6))
    rim = polygon((0, 0), (79, 0), (79, 32), (121, 32), (121, 0), (124, 0), (124, 32), (166, 32), (166, 0), (350, 0), (350, 250), (0, 250))
    file = drawn(tray, {"OUTSIDE_THROUGH": [rim]}, edge="OUTSIDE_THROUGH")
    return check_tray(tray, placed(tray, *at), {"sheet-1.dxf": file}, schedule())


KEEP = (KeepOut((25.0, 30.0), (10.0, 10.0), "screw"),)
SPOT = (230.0, 220.0)
LAYER = {"layer": "POCKET_10MM"}
RING = [(220, 210), (240, 210), (240, 230), (220, 230)]


def wall(tag: str) -> Callable[[Any], None]:
    def edit(space: Any) -> None:
        one = cut_of(space, tag)
        one.set_points(dented(list(one.get_points("xyb")), tag, 0.6), format="xyb")

    return edit


FAULTS = {
    "wrong units in the header": Fault("units-wrong", headless("$INSUNITS\n 70\n4\n", "$INSUNITS\n 70\n1\n")),
    "no units in the header": Fault("units-wrong", headless("$INSUNITS\n", "$INZUNITS\n")),
    "a drawing in inches": Fault("units-wrong", each(in_inches)),
    "missing extents": Fault("units-wrong", headless("$EXTMAX\n", "$EXTNAX\n")),
    "an open contour": Fault("contour-open", each(opened), ("01",), outline_of("01")),
    "a contour with gaps": Fault("contour-open", each(gapped), ("03",), shapely.box(15, 125, 120, 175)),
    "a contour drawn twice": Fault("contour-doubled", each(doubled), ("04",), outline_of("04")),
    "a contour that crosses itself": Fault("contour-crossed", each(crossed), ("03",), AT["03"]),
    "a crumb under 0.01 mm": Fault("crumb", each(crumbed), ("03",), outline_of("03")),
    "a text": Fault("entity-odd", each(lambda space: space.add_text("01", dxfattribs=LAYER | {"insert": SPOT})), (), SPOT),
    "a spline": Fault("entity-odd", each(lambda space: space.add_spline([SPOT, (240, 222), (250, 219)], dxfattribs=LAYER)), (), SPOT),
    "a spline of poles": Fault(
        "entity-odd", each(lambda space: space.add_open_spline([SPOT, (240, 222), (250, 219), (235, 210)], dxfattribs=LAYER)), (), SPOT
    ),
    "an ellipse": Fault("entity-odd", each(lambda space: space.add_ellipse(SPOT, (9, 0), 0.5, dxfattribs=LAYER)), (), SPOT),
    "an arc by itself": Fault("entity-odd", each(lambda space: space.add_arc(SPOT, 5, 0, 90, dxfattribs=LAYER)), (), SPOT),
    "a line by itself": Fault("entity-odd", each(lambda space: space.add_line(SPOT, (240, 220), dxfattribs=LAYER)), (), SPOT),
    "a hatch": Fault("entity-odd", each(lambda space: space.add_hatch(dxfattribs=LAYER).paths.add_polyline_path(RING)), (), (220, 210)),
    "a polyline in space": Fault("entity-odd", each(lambda space: space.add_polyline3d(RING, dxfattribs=LAYER)), (), (220, 210)),
    "a solid": Fault("entity-odd", each(lambda space: space.add_solid(RING, dxfattribs=LAYER)), (), (220, 210)),
    "a point": Fault("entity-odd", each(lambda space: space.add_point(SPOT, dxfattribs=LAYER)), (), SPOT),
    "a cut off the plane": Fault("entity-odd", each(lambda space: cut_of(space, "02").dxf.set("center", (*AT["02"], 3.0))), ("02",), outline_of("02")),
    "everything on one layer": Fault("depth-wrong", each(one_layer), ("02", "03", "04", *BORES)),
    "a layer that names nothing": Fault("layer-unknown", each(lambda space: cut_of(space, "01").dxf.set("layer", "0")), ("01",), outline_of("01")),
    "a pocket on another depth's layer": Fault("depth-wrong", each(lambda space: cut_of(space, "01").dxf.set("layer", "POCKET_3MM")), ("01",), outline_of("01")),
    "too thin a floor": Fault("floor-thin", each(lambda space: cut_of(space, "01").dxf.set("layer", "POCKET_16-5MM")), ("01",), outline_of("01")),
    "flipped arcs": Fault("item-bound", each(flipped), ("03",), outline_of("03").buffer(CUTTER)),
    "a wall pushed in": Fault("item-bound", each(wall("01")), ("01",), shapely.box(50, 20, 70, 30)),
    "sharp corners": Fault("cutter-too-big", each(sharp), ("03",), shapely.MultiPoint([(19, 129), (111, 129), (111, 171), (19, 171)])),
    "a short cutter": Fault("cutter-too-short", short_cutter, ("04",), outline_of("04")),
    "a bore moved": Fault("hole-moved", each(moved), ("05",), (AT["05"][0] + 2.0, AT["05"][1])),
    "a bore too narrow": Fault("hole-tight", each(widened(-0.4)), ("06",), AT["06"]),
    "a bore too wide": Fault("hole-loose", each(widened(1.6)), ("06",), AT["06"]),
    "a cut missing": Fault("cut-missing", each(lambda space: space.delete_entity(cut_of(space, "04"))), ("04",), AT["04"]),
    "a cut of nobody's": Fault("cut-extra", each(lambda space: space.add_lwpolyline(RING, close=True, dxfattribs=LAYER)), (), shapely.LinearRing(RING)),
    "a contour outside the blank": Fault("outside-blank", each(beyond), ("03",), shapely.box(-6.1, 125, -5.9, 175)),
    "a mirrored tray": Fault("item-bound", each(mirrored), ("01", "03")),
    "two heads in one place": Fault("overlap", relaid("06", Pose(AT["05"][0] + 15, AT["05"][1])), ("05",), (AT["05"][0] + 7.5, AT["05"][1])),
    "a thing on a keep-out": Fault("overlap", another_tray(keep_out=KEEP), ("01",), shapely.box(25, 30, 35, 40)),
    "a thin web": Fault("web-thin", relaid("02", Pose(100 + C + 4 + 36, 45.0)), ("01",), shapely.box(100, 40, 106, 50)),
    "a thin margin": Fault("margin-thin", relaid("03", Pose(45 + C + 5, AT["03"][1])), ("03",), shapely.box(0, 120, 5.2, 180)),
    "a tongue that breaks off": Fault("sliver", two_corners, (), shapely.box(121, 0, 124, 1)),
    "a seat too deep": Fault("too-deep", seated("01", depth=22.0), ("01",), file=""),
    "a thing too tall": Fault("too-tall", lambda: judged(tray=with_item("05", top=110.0)), ("05",), AT["05"], file=""),
    "a large error": Fault("error-large", seated("01", expected_error=2.0), ("01",), file=""),
    "a small bed": Fault("bed-small", another_tray(cutting=replace(made().tray.cutting, bed=(300.0, 300.0))), (), file=""),
    "a thing left out": Fault("left-out", left_out, ("03",), file="layout.json"),
    "a wish in vain": Fault("wish-unmet", unmet, ("03",), AT["03"], file="layout.json"),
    "a pose turned over in the layout": Fault(
        "file-changed", lambda: judged(layout=laid(t01=Pose(*AT["01"], mirror=True))), ("01",), AT["01"], file="layout.json"
    ),
    "a file changed since": Fault(
        "file-changed", lambda: check_hashes((("test-tray/sheet-1.dxf", "0" * 64),), lambda _: b"other"), file="test-tray/sheet-1.dxf"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_each_fault_is_convicted_by_code_and_place(name: str) -> None:
    fault = FAULTS[name]
    found = fault.made()
    mine = [one for one in found if one.code == fault.code]
    assert mine, listed(found)
    whose = {one.placement for one in mine}
    assert {f"test-tray/{tag}" for tag in fault.tags} <= whose, listed(found)
    if not fault.tags:
        assert None in whose, listed(found)
    assert all((one.file or "") == fault.file for one in mine if fault.file), listed(found)
    assert all(one.severity is FINDINGS[fault.code].severity and one.remedy for one in mine)
    if fault.place is not None:
        spot = shapely.Point(fault.place) if isinstance(fault.place, tuple) else fault.place
        assert any(one.at is not None and shapely.distance(spot, shapely.Point(one.at)) <= 0.1 for one in mine), mine


def test_every_code_has_a_fault_that_shows_it() -> None:
    assert {fault.code for fault in FAULTS.values()} == set(FINDINGS)


def test_the_tray_itself_is_clean_so_that_each_fault_is_the_only_one() -> None:
    assert judged() == ()
    assert {one.severity for one in two_corners()} == {Severity.WARNING}


def test_of_two_runs_with_gaps_between_them_the_gap_is_said() -> None:
    gaps = [one.figure for one in FAULTS["a contour with gaps"].made() if one.code == "contour-open"]
    assert gaps
    assert all(gap is not None and gap > 1.0 for gap in gaps)  # each run ends far from where it began


def test_everything_on_one_layer_is_said_of_the_edge_too() -> None:
    said = FAULTS["everything on one layer"].made()
    assert [one.layer for one in said if one.placement is None] == ["POCKET_10MM"], listed(said)
    assert {one.placement for one in said} >= {f"test-tray/{tag}" for tag in ("02", "03", "04", *BORES)}
    assert "test-tray/01" not in {one.placement for one in said}, "its pocket is 10 mm deep"
