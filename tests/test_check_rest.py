"""Faults that no single cut shows: teeth of wood, surplus files, things placed twice, spoilt bytes, what comes later."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.check.tray import check_tray
from insertgen.model.figures import Pose
from insertgen.model.finding import Finding
from insertgen.model.job import Stock
from tests.test_check_faults import inside_of, points, redrawn
from tests.test_check_made import (
    AT,
    BORES,
    WIDTH,
    Made,
    cut_of,
    edited,
    judged,
    laid,
    listed,
    made,
    made_from,
    only,
    the,
    with_item,
)


def judge(one: Made, data: bytes) -> tuple[Finding, ...]:
    return check_tray(one.tray, one.layout, {"sheet-1.dxf": data}, one.holes)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.8])
@pytest.mark.parametrize("deep", [0.3, 0.95, 1.2, 2.0, 3.0])
def test_a_tooth_of_wood_in_a_seat(deep: float, share: float) -> None:
    """A triangle standing into the block's straight wall, 1 mm off the item: its tip is the place, and the
    gap there is 1 mm less its height, whether it only comes near or bites (plane geometry)."""
    places: list[tuple[float, float]] = []

    def tooth(space: Any) -> None:
        cut = cut_of(space, "03")
        whole = inside_of(cut)
        x0, y0, _, y1 = whole.bounds
        y = y0 + 6 + share * (y1 - y0 - 12)
        wood = shapely.Polygon([(x0 - 1, y - 3), (x0, y - 3), (x0 + deep, y), (x0, y + 3), (x0 - 1, y + 3)])
        redrawn(cut, whole.difference(wood).exterior.coords[:-1])
        places.append((x0 + deep, y))

    one = only("03", "05")
    item_side = AT["03"][0] - 45.0
    found = judge(one, edited(tooth, one.dxf))
    the(found, "item-bound", "03", place=places[0], figure=item_side - places[0][0])


@pytest.mark.parametrize(
    ("tag", "before", "after"),
    [("01", "POCKET", "BORE"), ("02", "POCKET", "BORE"), ("04", "THROUGH", "BORE_THROUGH"), ("07", "BORE", "POCKET")],
)
def test_the_right_depth_but_another_operation(tag: str, before: str, after: str) -> None:
    def rename(space: Any) -> None:
        cut = cut_of(space, tag)
        assert cut.dxf.layer.startswith(before)
        cut.dxf.layer = cut.dxf.layer.replace(before, after)

    the(judged(edited(rename)), "entity-odd", tag)


def test_files_that_should_not_be_there() -> None:
    """A block glued first is one drawing; another sheet beside it would be cut too."""
    one = only("03", "05")
    found = check_tray(one.tray, one.layout, {"sheet-1.dxf": one.dxf, "sheet-2.dxf": one.dxf}, one.holes)
    assert [(finding.code, finding.file) for finding in found] == [("cut-extra", "sheet-2.dxf")]


def test_a_thing_placed_twice() -> None:
    one = only("03", "05")
    again = replace(one.layout.placements[0], pose=Pose(250.0, 150.0))
    layout = replace(one.layout, placements=(*one.layout.placements, again))
    found = check_tray(one.tray, layout, {"sheet-1.dxf": one.dxf}, one.holes)
    # it is pinned too, so the second pose is not the job's
    assert [finding.code for finding in found] == ["cut-extra", "file-changed"], listed(found)
    assert {finding.placement for finding in found} == {"test-tray/03"}


def test_a_thing_that_stands_over_the_edge() -> None:
    """The plane is 40 mm long: with its middle 15 mm from the right it reaches 5 mm over."""
    tray = with_item("10", pinned=None)
    found = judged(tray=tray, layout=laid(t10=Pose(WIDTH - 15, 215)))
    edge = shapely.LineString([(WIDTH + 5, 200), (WIDTH + 5, 230)])  # 30 mm wide
    the(found, "overlap", "10", place=edge, figure=5.0)


def test_a_spreadsheet_that_drops_leading_zeros() -> None:
    one = only(*BORES)
    holes = one.holes.replace("\n0", "\n")
    assert holes != one.holes
    assert check_tray(one.tray, one.layout, {"sheet-1.dxf": one.dxf}, holes) == ()


def test_a_glued_stack_is_judged_as_one_block() -> None:
    two = (Stock("mdf", 12.0), Stock("mdf", 6.0))
    glued = replace(made().tray, stack=two)
    other = made_from(glued)
    assert judged(other.dxf, tray=glued, holes=other.holes) == ()
    # bored before the glue, or so the schedule made for one sheet lets it be
    assert {(one.code, one.file) for one in judged(tray=glued)} == {("entity-odd", "holes.csv")}


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 30_000), st.binary(min_size=1, max_size=6))
def test_spoilt_bytes_are_findings_never_exceptions(at: int, patch: bytes) -> None:
    one = only("05")
    at %= len(one.dxf)
    judge(one, one.dxf[:at] + patch + one.dxf[at + len(patch) :])
    cut_off = judge(one, one.dxf[: at // 2])  # the entities stand in the second half
    assert cut_off


def test_a_contour_all_of_whose_points_are_one() -> None:
    def collapse(space: Any) -> None:
        cut = cut_of(space, "03")
        redrawn(cut, [points(cut)[0]] * 4)

    one = only("03", "05")
    found = judge(one, edited(collapse, one.dxf))
    assert "cut-missing" in {finding.code for finding in found if finding.placement == "test-tray/03"}


@pytest.mark.parametrize("far", [2e4, 1e9, -1e12, float("nan"), float("inf")])
def test_a_point_that_lies_kilometres_away(far: float) -> None:
    """Measuring along such a side took all memory; now the contour is none, and its item has no cut."""

    def stretch(space: Any) -> None:
        cut = cut_of(space, "03")
        cut.set_points([(far, y, b) if number == 1 else (x, y, b) for number, (x, y, b) in enumerate(cut.get_points("xyb"))], format="xyb")

    one = only("03", "05")
    found = judge(one, edited(stretch, one.dxf))
    assert {(each.code, each.file) for each in found} >= {("entity-odd", "sheet-1.dxf"), ("cut-missing", "sheet-1.dxf")}
