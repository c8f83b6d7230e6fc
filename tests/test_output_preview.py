"""The preview picture: what colour is where, and that texts keep off one another."""

from __future__ import annotations

import dataclasses
import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from insertgen.output.picture import PAPER, THROUGH, WOOD
from insertgen.output.preview import preview_png
from insertgen.output.spots import Ground
from tests.test_output_drawings import bench, crowded, rack


@pytest.fixture(scope="module")
def picture():
    return np.asarray(Image.open(io.BytesIO(preview_png(bench()))))


def frame(pixels):
    """Left, top and scale of the blank, found by its wood tone."""
    wood = (np.abs(pixels.astype(int) - WOOD).max(axis=2) < 3).sum(axis=1), (np.abs(pixels.astype(int) - WOOD).max(axis=2) < 3).sum(axis=0)
    rows, columns = (np.flatnonzero(count > 5) for count in wood)
    return columns[0], columns[-1], rows[0], rows[-1]


def colour(pixels, point, blank):
    left, right, top, low = frame(pixels)
    x = left + point[0] / blank.width * (right - left)
    y = low - point[1] / blank.depth * (low - top)
    return tuple(int(value) for value in pixels[round(y), round(x)])


def test_known_places(picture):
    blank = bench().blank
    assert colour(picture, (340.0, 440.0), blank) == pytest.approx(WOOD, abs=4)
    assert colour(picture, (240.0, 30.0), blank) == pytest.approx(THROUGH, abs=4)  # the battery charger
    assert tuple(picture[5, 5]) == PAPER


def test_deeper_is_darker(picture):
    blank = bench().blank
    depths = {6.35: (130.0, 145.0), 9.0: (120.0, 255.0), 12.5: (260.0, 400.0), 15.0: (100.0, 30.0), 16.0: (172.0, 200.0)}
    light = [sum(colour(picture, depths[depth], blank)) for depth in sorted(depths)]
    assert light == sorted(light, reverse=True)
    assert len(set(light)) == len(light)
    assert sum(WOOD) > light[0]
    assert light[-1] > sum(THROUGH)


def test_front_is_at_the_bottom(picture):
    # asymmetric on purpose: the charger is front right, and nothing is cut back left of it at the same place mirrored
    blank = bench().blank
    dark = [colour(picture, point, blank) for point in ((240.0, 30.0), (109.0, 30.0), (240.0, 419.0))]
    assert [sum(value) < 250 for value in dark] == [True, False, False]


@pytest.mark.parametrize("make", [bench, rack, crowded])
def test_size_bytes_and_no_metadata(make):
    data = preview_png(make())
    assert data == preview_png(make())
    with Image.open(io.BytesIO(data)) as seen:
        assert seen.format == "PNG"
        assert 1000 <= seen.width <= 1650
        assert not seen.info
    kinds, at = [], 8
    while at < len(data):  # PNG (ISO 15948): length, type, data, check sum
        length = int.from_bytes(data[at : at + 4], "big")
        kinds.append(data[at + 4 : at + 8])
        at += 12 + length
    assert set(kinds) == {b"IHDR", b"IDAT", b"IEND"}


def test_scale_bars(picture):
    left, right, _, low = frame(picture)
    # the outline of the blank, 2 px, is drawn on its edges: half of it is not wood on either side
    scale = (right - left + 1 + 2) / bench().blank.width
    dark = (picture.max(axis=2) < 100)[low + 15 :]
    lengths = sorted(longest for longest in map(longest_run, dark) if longest > 40 * scale)
    assert lengths[0] == pytest.approx(50 * scale, abs=2)
    assert lengths[-1] == pytest.approx(50.8 * scale, abs=2)
    assert lengths[-1] > lengths[0]


def longest_run(row):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def test_a_cut_through_the_top_sheet_alone_is_no_hole():
    drawing = bench()
    through, edge = drawing.sheets[0].layers[-2:]
    below = dataclasses.replace(through, entities=tuple(one for one in through.entities if one.placement == "bench/05"))
    sheets = (drawing.sheets[0], dataclasses.replace(drawing.sheets[0], number=2, layers=(below, edge)))
    marks = tuple(dataclasses.replace(mark, through=False, depth=9.0) if mark.tag == "08" else mark for mark in drawing.marks)
    pixels = np.asarray(Image.open(io.BytesIO(preview_png(dataclasses.replace(drawing, sheets=sheets, marks=marks)))))
    assert sum(colour(pixels, (240.0, 30.0), drawing.blank)) > sum(THROUGH) + 100
    assert colour(pixels, (92.0, 100.0), drawing.blank) == pytest.approx(THROUGH, abs=4)  # the steel rule stays one


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(2, 30), st.floats(2, 12), st.floats(0, 100), st.floats(0, 80)), max_size=12))
def test_boxes_set_down_on_the_ground_never_overlap(wanted):
    ground = Ground((0.0, 0.0, 100.0, 80.0))
    boxes = []
    for width, height, x, y in wanted:
        found = ground.spot(width, height, (x, y))
        if found is None:
            continue
        box = (found[0] - width / 2, found[1] - height / 2, found[0] + width / 2, found[1] + height / 2)
        assert box[0] >= -1e-9
        assert box[1] >= -1e-9
        assert box[2] <= 100 + 1e-9
        assert box[3] <= 80 + 1e-9
        for other in boxes:
            assert box[0] >= other[2] - 1e-9 or other[0] >= box[2] - 1e-9 or box[1] >= other[3] - 1e-9 or other[1] >= box[3] - 1e-9
        boxes.append(box)
        ground.take_box(*box)
