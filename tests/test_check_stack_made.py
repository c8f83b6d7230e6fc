"""Stacks of any sheets and depths as the stages before make them: the check, which splits depths by itself, has nothing to say."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.check.tray import check_tray
from insertgen.errors import JobError
from insertgen.exchange.dxf import write_dxf
from insertgen.model.figures import Pose
from insertgen.model.item import Step
from insertgen.model.job import Stock, Tray
from insertgen.model.layout import Layout, Placement
from insertgen.output.holes import holes_csv
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw
from tests.build_values import box_outline, pocket_item, shank_item, tray_of

WIDE, DEEP = box_outline(-30, -20, 30, 20), box_outline(-18, -10, 18, 10)
AT = (Pose(70.0, 70.0), Pose(180.0, 60.0, 90.0), Pose(280.0, 80.0), Pose(70.0, 180.0), Pose(200.0, 190.0))

thickness = st.integers(12, 40).map(lambda halves: halves / 2)
shares = st.floats(0.05, 1.0)


def tray_with(sheets: list[float], floor: float, parts: tuple[float, float, float, float], machine: str) -> Tray:
    most = sum(sheets) - floor
    deep, shallow, bored, flat = (round(share * most, 1) for share in parts)
    stepped = pocket_item(WIDE, depth=deep, steps=(Step(WIDE, round(deep * parts[1], 1), False), Step(DEEP, deep, False)), grips=None)
    whole = pocket_item(
        DEEP, id="test-tray/02", tag="02", depth=sum(sheets), through=True, steps=(Step(DEEP, sum(sheets), True),), grips=()
    )
    bit = shank_item(10.0, id="test-tray/03", tag="03", depth=bored)
    round_one = pocket_item(disc_diameter=50.0, id="test-tray/04", tag="04", depth=shallow, grips=())
    block = pocket_item(DEEP, id="test-tray/05", tag="05", depth=flat, grips=())
    one = tray_of(stepped, whole, bit, round_one, block, floor=floor, machine=machine)
    cutting = replace(one.cutting, cutter=replace(one.cutting.cutter, reach=None))
    return replace(one, stack=tuple(Stock("mdf", each) for each in sheets), glued_first=False, cutting=cutting)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(thickness, min_size=2, max_size=4), st.sampled_from([0.0, 2.0, 3.0, 5.0]), st.tuples(shares, shares, shares, shares),
    st.sampled_from(["router", "hand"]),
)  # fmt: skip
def test_any_stack_is_clean(sheets: list[float], floor: float, parts: tuple[float, float, float, float], machine: str) -> None:
    tray = tray_with(sheets, floor, parts, machine)
    seats = [seat_for(item, tray) for item in tray.items]
    places = tuple(Placement(item.id, item.name, "", pose, False) for item, pose in zip(tray.items, AT, strict=True))
    layout = Layout(tray.slug, 0, 0, False, tray.blank, places, ())
    try:
        drawing = draw(tray, seats, layout)
    except JobError as error:
        if "thicker sheet at the bottom" not in str(error):  # nothing else may stop it
            raise
        return
    files = {f"{sheet.name}.dxf": write_dxf(sheet) for sheet in drawing.sheets}
    found = check_tray(tray, layout, files, holes_csv(drawing))
    assert [(one.code, one.file, one.placement, one.message) for one in found] == []
    assert len(files) == len(sheets)
