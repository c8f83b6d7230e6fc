"""Lines on the bench that run into the item, drawn by OpenCV: closed forms of width and length; one shipped photo."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import pytest

from insertgen.photo.bench_lines import bench_lines
from insertgen.photo.trace import trace_photo
from tests.photo_edit import facts, mask, photo, square_areas
from tests.photo_score import polygon, score, true_outline

MM = 0.3  # of a pixel


def handle() -> np.ndarray:
    body = np.zeros((400, 600), np.uint8)
    cv2.rectangle(body, (100, 160), (300, 240), 1, -1)
    return body


def with_bar(length: float, width: float, end: float | None = None, way_deg: float = 20.0) -> np.ndarray:
    """The handle and a bar from its right end, mm; ``end``: its width there."""
    body, end = handle(), width if end is None else end
    line = np.array([math.cos(math.radians(way_deg)), math.sin(math.radians(way_deg))])
    aside, root = np.array([-line[1], line[0]]), np.array([295.0, 200.0])
    corners = [root + aside * width / 2 / MM, root + line * length / MM + aside * end / 2 / MM]
    corners += [root + line * length / MM - aside * end / 2 / MM, root - aside * width / 2 / MM]
    cv2.fillPoly(body, [np.round(np.array(corners) * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return body


@pytest.mark.parametrize("way_deg", [0.0, 20.0, 45.0, 80.0])
def test_a_line_goes_and_the_item_stays(way_deg: float) -> None:
    body = with_bar(40, 0.7, way_deg=way_deg) > 0
    lines = bench_lines(body, MM)
    kept, item = body & ~lines, handle() > 0
    assert (item & ~kept).sum() <= 4  # px of a corner
    assert (kept & ~item).sum() * MM**2 < 3.0  # mm2 of line that still stand at the item


@pytest.mark.parametrize(
    ("length", "width", "end"),
    [
        (60.0, 2.0, None),  # the shaft of a small screwdriver
        (12.0, 0.7, None),  # a pin
        (80.0, 3.0, 0.3),  # the point of an awl
        (60.0, 1.4, 0.2),  # a scriber
    ],
)
def test_thin_parts_of_tools_stay(length: float, width: float, end: float | None) -> None:
    assert not bench_lines(with_bar(length, width, end) > 0, MM).any()


def test_a_thing_that_is_all_thin_stays() -> None:
    body = np.zeros((400, 600), np.uint8)
    cv2.line(body, (50, 50), (500, 300), 1, 3)
    assert not bench_lines(body > 0, MM).any()


def test_a_wire_held_at_both_ends_stays() -> None:
    body = handle()
    cv2.rectangle(body, (450, 160), (560, 240), 1, -1)
    cv2.line(body, (300, 200), (450, 200), 1, 2)
    assert not bench_lines(body > 0, MM).any()


@pytest.mark.parametrize("darker", [0.4, 2.2])
def test_a_shipped_photo_with_lines_drawn_up_to_the_item(darker: float) -> None:
    """Two lines, pencil or scratch, end at the wrench; truth: the exact outline in its truth.json. The networks see through these alone."""
    name = "A1_wrench"
    shot, solid = photo(name), mask(name)
    places = np.argwhere(solid)
    lines = np.zeros(solid.shape, np.uint8)
    for way, end in ((np.array([-1.0, 0.3]), places[0]), (np.array([1.0, -0.4]), places[-1])):
        cv2.line(lines, [int(v) for v in end[::-1]], [int(v) for v in (end + 400 * way)[::-1]], 255, 3, cv2.LINE_AA)
    share = (lines / 255.0 * ~solid * ~square_areas(name, 1.6))[..., None]
    drawn = np.clip(shot.rgb * (1 + share * (darker ** (1 / 2.2) - 1)), 0, 255).astype(np.uint8)
    found = trace_photo(replace(shot, rgb=drawn), square=facts(name)["side_mm"], height=facts(name)["tool"]["height_mm"])
    assert score(polygon(found.outline), true_outline(facts(name))).mean < 1.0  # mm
