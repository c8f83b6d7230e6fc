"""How high edges stand: the view against similar triangles and plane geometry, the answer against cones and exact truth.

Truth: a tape rendered for this project (tests/data/photos, README there); the network learnt on other scenes, none of them
of these photos.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from insertgen.photo.camera import Camera, Lens
from insertgen.photo.edge_heights import SIDE, edge_heights, planes_of, view_of, with_form
from insertgen.photo.trace import trace_photo
from tests.photo_edit import facts, mask, photo
from tests.photo_score import polygon, score, true_outline

CAMERA = Camera(Lens(1800.0, (1199.5, 899.5)), 600.0, (0.1, -0.05))
HEIGHT = 40.0
MIDDLE = np.array([90.0, -40.0])


def box() -> np.ndarray:
    """Pixels of a rectangle of 80 x 30 mm, 20 mm above the bench, points 1 mm apart."""
    x, y = np.arange(-40.0, 40.0), np.arange(-15.0, 15.0)
    sides = [np.stack(side, 1) for side in ((x, 0 * x - 15), (0 * y + 40, y), (-x, 0 * x + 15), (0 * y - 40, -y))]
    places = np.concatenate(sides) + MIDDLE
    return CAMERA.project(np.column_stack([places, np.full(len(places), HEIGHT / 2)]))


def test_the_view_is_true_to_scale_and_what_is_farther_from_the_foot_comes_up() -> None:
    view = view_of(CAMERA, box(), HEIGHT)
    away = (MIDDLE - CAMERA.foot) / np.linalg.norm(MIDDLE - CAMERA.foot)
    here, there, beside = view.of_bench(np.array([MIDDLE, MIDDLE + 10 * away, MIDDLE + 10 * np.array([away[1], -away[0]])]))
    assert here == pytest.approx([(SIDE - 1) / 2] * 2, abs=0.5)
    assert there - here == pytest.approx([0.0, -10 * view.scale], abs=1e-6)
    assert beside - here == pytest.approx([10 * view.scale, 0.0], abs=1e-6), "mirrored"


def test_the_item_fills_as_much_of_the_view_as_it_is_large() -> None:
    view = view_of(CAMERA, box(), HEIGHT)
    planes = planes_of(view, CAMERA, np.full((1800, 2400, 3), 90, np.uint8), [box()])
    area, around = 80 * 30 * view.scale**2, 2 * (80 + 30) * view.scale
    assert area < planes[3].sum() < area + around, "all within, and of the pixels that the edge crosses at most all"


def test_parallax_is_as_of_similar_triangles() -> None:
    """Between bench and top a ray moves (D - 0) / (D - h / 2) less (D - h) / (D - h / 2) of its way from the foot; 16 px are 1."""
    view = view_of(CAMERA, box(), HEIGHT)
    planes = planes_of(view, CAMERA, np.full((1800, 2400, 3), 90, np.uint8), [box()])
    away = MIDDLE - CAMERA.foot
    at = tuple(np.round(view.of_bench(MIDDLE[None])[0]).astype(int)[::-1])
    rise = math.hypot(planes[4][at], planes[5][at]) * 16 / view.scale
    assert rise == pytest.approx(float(np.linalg.norm(away)) * HEIGHT / (600.0 - HEIGHT / 2), rel=0.01)


def test_the_side_away_from_the_camera_looks_out_and_the_near_one_in() -> None:
    planes, _ = with_form(planes_of(view_of(CAMERA, box(), HEIGHT), CAMERA, np.full((1800, 2400, 3), 90, np.uint8), [box()]))
    rows = np.nonzero(np.abs(planes[7]).max(axis=1) > 0.01)[0]
    assert planes[7][rows[: len(rows) // 4]].max() > 0.01
    assert planes[7][rows[-(len(rows) // 4) :]].min() < -0.01


def test_a_mark_on_the_plane_is_seen_where_it_lies() -> None:
    """A disc painted round a place at half the height, by the camera's own projection."""
    view, rgb = view_of(CAMERA, box(), HEIGHT), np.full((1800, 2400, 3), 40, np.uint8)
    place = MIDDLE + np.array([12.0, 30.0])
    px = CAMERA.project(np.array([[*place, HEIGHT / 2]]))[0]
    cv2.circle(rgb, tuple(np.round(px).astype(int).tolist()), 14, (240, 240, 240), -1)
    light = planes_of(view, CAMERA, rgb, [box()])[0]
    y, x = np.nonzero(light > light.max() / 2)
    assert [x.mean(), y.mean()] == pytest.approx(view.of_bench(place[None])[0], abs=0.7)


@pytest.mark.parametrize("height", [5.0, 60.0])
def test_heights_lie_between_bench_and_top_ring_by_ring(height: float) -> None:
    rings = (box(), box()[::2])
    for ring, edge in zip(rings, edge_heights(CAMERA, np.full((1800, 2400, 3), 90, np.uint8), rings, height), strict=True):
        assert edge.height.shape == edge.spread.shape == (len(ring),)
        assert edge.height.min() >= 0
        assert edge.height.max() <= height
        assert edge.spread.min() > 0


def cone(angle_deg: float, butt: float, tip: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A photo of a grey cone, 170 long, that lies on its side: the picture, its ring, and how high the edge stands at each pixel of it.

    Closed form: a round thing that lies on the bench all along has its edge as high as it is thick there, by its radius.
    """
    rgb, mask = np.full((1800, 2400, 3), 150, np.uint8), np.zeros((1800, 2400), np.uint8)
    way = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    round_, along = np.linspace(0, 2 * np.pi, 40, endpoint=False), np.linspace(0, 1, 200)
    radius, middle = tip + (butt - tip) * along, MIDDLE + 170 * way * (along[:, None] - 0.5)
    for share, grey in ((1.0, 30), (0.8, 40), (0.6, 50), (0.4, 60), (0.2, 70)):  # lit from above
        for r, at in zip(radius, middle, strict=True):
            rim = at + share * r * np.stack([np.cos(round_), np.sin(round_)], 1)
            px = CAMERA.project(np.column_stack([rim, np.full(40, r + r * math.sqrt(1 - share**2))]))
            cv2.fillPoly(rgb, [np.round(16 * px).astype(np.int32)], (grey,) * 3, cv2.LINE_AA, 4)
            if share == 1.0:
                cv2.fillPoly(mask, [np.round(16 * px).astype(np.int32)], 255, cv2.LINE_8, 4)
    ring = max(cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)[:, 0].astype(float)
    at = np.clip((CAMERA.cast(ring, butt) - MIDDLE) @ way / 170 + 0.5, 0, 1)
    return rgb, ring, tip + (butt - tip) * at


@pytest.mark.parametrize("angle_deg", [0.0, 70.0, 145.0, 250.0])
def test_a_cone_lies_on_its_side(angle_deg: float) -> None:
    rgb, ring, true = cone(angle_deg, 13.0, 2.0)
    found = edge_heights(CAMERA, rgb, (ring,), 26.0)[0]
    assert np.corrcoef(found.height, true)[0, 1] > 0.9
    assert np.abs(found.height - true).mean() < np.abs(13.0 - true).mean() / 2, "as if all of it stood at half the height"


# 1.25 mm off
TOO_FAR = pytest.mark.xfail(reason="a drawn cylinder that lies aslant is told a little worse since chisels lean", strict=True)


@pytest.mark.parametrize("angle_deg", [0.0, pytest.param(145.0, marks=TOO_FAR)])
def test_a_cylinder_lies_level(angle_deg: float) -> None:
    rgb, ring, _ = cone(angle_deg, 11.0, 11.0)
    found = edge_heights(CAMERA, rgb, (ring,), 22.0)[0]
    assert np.abs(found.height - 11.0).mean() < 1.1, "a tenth of its radius"


def test_of_a_tape_seen_from_the_side_both_walls_are_found() -> None:
    """Cast at half its height the outline is 4 mm off; by exact truth of outline and silhouette."""
    tool = facts("D1_tape")
    known = {"square": tool["side_mm"], "silhouette": mask("D1_tape")}
    true, height = true_outline(tool), tool["tool"]["height_mm"]
    level = score(polygon(trace_photo(photo("D1_tape"), edge_height=height / 2, **known).outline), true)
    found = trace_photo(photo("D1_tape"), height=height, **known)
    by_look = score(polygon(found.outline), true)
    assert level.mean > 4.0
    assert by_look.mean < level.mean / 2
    assert by_look.mean < 2 * found.expected_mean
    assert by_look.p95 < found.expected_error
