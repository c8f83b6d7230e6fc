"""Outlines and the camera held against exact truth; photos that cannot be traced are refused.

Truth: scenes rendered for this project (tests/data/photos, README there), which know where every point is. The
acceptance figures are the project's own: 0.2 mm mean over three photos with the exact mask, 1 mm on each without.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from shapely import affinity

from insertgen.errors import InsertgenError, PhotoError
from insertgen.photo.load import load_photo, load_silhouette
from insertgen.photo.trace import Trace, trace_photo
from tests.photo_edit import facts, grown, mask, painted_over, photo, square_areas, with_second_item
from tests.photo_score import facts_of, pixels_off, polygon, score, sides, true_outline

NAMES = ("A1_wrench", "A2_bevel", "A3_scissors", "A7_pliers")
ACCEPTANCE = NAMES[:3]


def by_mask(name: str, **heights: float) -> Trace:
    return trace_photo(photo(name), square=facts(name)["side_mm"], silhouette=mask(name), **heights)


@pytest.fixture(scope="module")
def masked() -> dict[str, Trace]:
    return {name: by_mask(name, height=facts(name)["tool"]["height_mm"]) for name in NAMES}


@pytest.fixture(scope="module", params=NAMES)
def alone(request: pytest.FixtureRequest) -> tuple[str, Trace]:
    """Traced from the photo alone: 4 s each, so once for all tests."""
    name: str = request.param
    return name, trace_photo(photo(name), square=facts(name)["side_mm"], height=facts(name)["tool"]["height_mm"])


# ---- the scorer itself, by closed forms --------------------------------------------------------


def test_a_moved_figure_scores_nothing() -> None:
    true = true_outline(facts("A2_bevel"))
    moved = affinity.translate(affinity.rotate(true, 133.0, origin=(5, 9)), 210.0, -88.0)
    assert score(moved, true).worst < 0.01


def test_a_grown_disc_is_off_by_its_growth() -> None:
    # distance between concentric circles of radii 30 and 30.7; 0.001 for the chords of 4 x 256 segments
    small, large = (shapely.Point(3, 4).buffer(radius, quad_segs=256) for radius in (30.0, 30.7))
    found = score(large, small)
    assert (found.mean, found.p95, found.worst) == pytest.approx((0.7, 0.7, 0.7), abs=0.002)
    assert found.length_off == pytest.approx(1.4, abs=0.002)


# ---- the exact mask: geometry alone ------------------------------------------------------------


def test_geometry_alone_is_within_a_fifth_of_a_millimetre(masked: dict[str, Trace]) -> None:
    means = {name: score(polygon(masked[name].outline), true_outline(facts(name))).mean for name in ACCEPTANCE}
    assert sum(means.values()) / len(means) <= 0.2, means


def test_a_mirror_error_would_show(masked: dict[str, Trace]) -> None:
    true, mine = true_outline(facts("A2_bevel")), polygon(masked["A2_bevel"].outline)
    mirrored = affinity.scale(mine, -1, 1, origin=(0, 0))
    assert score(mirrored, true).mean >= 2 * score(mine, true).mean


@pytest.mark.parametrize("name", NAMES)
def test_the_outline_stands_in_the_shape_frame(name: str, masked: dict[str, Trace]) -> None:
    shape = polygon(masked[name].outline)
    x0, y0, x1, y1 = shape.bounds
    assert shapely.is_valid_reason(shape) == "Valid Geometry"
    assert (x0 + x1, y0 + y1) == pytest.approx((0, 0), abs=0.02)
    assert x1 - x0 > y1 - y0


@pytest.mark.parametrize("name", NAMES)
def test_the_measures_are_the_outlines_own(name: str, masked: dict[str, Trace]) -> None:
    """By shapely, from the outline: its points were thinned within 0.05 mm."""
    traced, shape = masked[name], polygon(masked[name].outline)
    assert (traced.length, traced.width) == pytest.approx(sides(shape), abs=0.11)
    assert traced.area == pytest.approx(shape.area, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_corners_of_squares_are_the_truths(name: str, masked: dict[str, Trace]) -> None:
    true = np.array(facts(name)["photos"][0]["squares_px"])
    fits = masked[name].squares
    assert sum(fit.used for fit in fits) == len(fits) == len(true)
    assert {fit.coded for fit in fits} == {facts(name)["square_kind"] == "coded"}
    for fit in fits:
        mine = np.array(fit.corners_px)
        off = np.linalg.norm(true.reshape(-1, 1, 2) - mine, axis=2)
        assert off.min(axis=0).max() <= 0.3  # px
        assert len(set(off.argmin(axis=0))) == 4


# since chisels lean, flat things are told a little worse: 0.104 and 0.108 of the height
TOO_FAR = pytest.mark.xfail(reason="the edge is told half a millimetre too high, and one too low", strict=True)


@pytest.mark.parametrize("name", NAMES)
def test_the_camera_is_the_truths(name: str, masked: dict[str, Trace]) -> None:
    camera, traced = facts(name)["photos"][0]["camera"], masked[name]
    assert traced.camera_height == pytest.approx(camera["camera_height_mm"], rel=0.02)
    assert traced.tilt_deg == pytest.approx(camera["tilt_deg"], abs=1.0)


def test_the_size_on_the_bench_is_opencvs() -> None:
    """Rings cast onto the bench against `cv2.findHomography` from the true corners to their true places."""
    name = "A2_bevel"
    pixels = np.array(facts(name)["photos"][0]["squares_px"]).reshape(-1, 2)
    places = np.array([square["corners_mm"] for square in facts(name)["squares"]]).reshape(-1, 2)
    homography, _ = cv2.findHomography(pixels, places)
    flat = by_mask(name, edge_height=0.0)
    ring = cv2.perspectiveTransform(flat.outline_px[0].reshape(-1, 1, 2), homography).reshape(-1, 2)
    assert (flat.length, flat.width) == pytest.approx(sides(shapely.Polygon(ring)), rel=2e-3)


@pytest.mark.parametrize("name", [*(pytest.param(name, marks=TOO_FAR) for name in ("A1_wrench", "A3_scissors")), "A2_bevel", "A7_pliers"])
def test_the_mean_height_of_the_edge_is_as_the_solid_s(name: str, masked: dict[str, Trace]) -> None:
    """Within a tenth of the overall height; of ``profile_height_mm``, the mean over the edge by the solid itself."""
    tool = facts(name)["tool"]
    assert abs(masked[name].edge_height - tool["profile_height_mm"]) < 0.1 * tool["height_mm"]


# ---- the photo alone ---------------------------------------------------------------------------


def test_the_photo_alone_is_within_a_millimetre(alone: tuple[str, Trace]) -> None:
    name, traced = alone
    assert score(polygon(traced.outline), true_outline(facts(name))).mean <= 1.0


def test_the_photo_alone_in_the_shape_frame(alone: tuple[str, Trace]) -> None:
    _, traced = alone
    shape = polygon(traced.outline)
    x0, y0, x1, y1 = shape.bounds
    assert shapely.is_valid_reason(shape) == "Valid Geometry"
    assert (x0 + x1, y0 + y1) == pytest.approx((0, 0), abs=0.02)
    assert x1 - x0 > y1 - y0
    assert traced.expected_error > 0


# ---- photos that cannot be traced: the good ones with their pixels edited ----------------------


# Cut through the item between the squares, so that no square is cut: (rows or columns kept). Of A1 the right part:
# cutting moves the middle of the picture away from the lens's axis, and its left part then fails at the squares.
CROPS: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "A1_wrench": lambda rgb: rgb[:, 1245:],
    "A2_bevel": lambda rgb: rgb[:1140],
}
BAD: dict[str, tuple[str, Callable[[str], np.ndarray], str]] = {
    "no square": ("A1_wrench", lambda name: painted_over(name, square_areas(name, 1.9)), "no dark square"),
    "item at the frame, right": ("A1_wrench", lambda name: CROPS[name](photo(name).rgb), "touches the edge of the photo"),
    "item at the frame, top": ("A2_bevel", lambda name: CROPS[name](photo(name).rgb), "touches the edge of the photo"),
    "two wrenches": ("A1_wrench", with_second_item, "two items"),
    # 50 px: the item with the shade at its foot
    "no wrench": ("A1_wrench", lambda name: painted_over(name, grown(mask(name), 50)), "no item was found"),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_a_photo_that_cannot_be_traced_is_refused(kind: str) -> None:
    name, edit, said = BAD[kind]
    shot = replace(photo(name), rgb=np.ascontiguousarray(edit(name)))
    with pytest.raises(PhotoError, match=said) as refused:
        trace_photo(shot, square=facts(name)["side_mm"], height=facts(name)["tool"]["height_mm"])
    assert str(refused.value).startswith(f"{name}.jpg: ")


def test_a_silhouette_at_the_frame_is_refused() -> None:
    top = int(np.flatnonzero(mask("A1_wrench").any(axis=1))[0])
    with pytest.raises(PhotoError, match="touches the edge"):
        trace_photo(photo("A1_wrench"), square=40.0, silhouette=np.roll(mask("A1_wrench"), -top, axis=0))


def test_a_silhouette_of_two_items_is_refused() -> None:
    both = mask("A1_wrench") | np.roll(mask("A1_wrench"), 520, axis=1)
    with pytest.raises(PhotoError, match="more than one item"):
        trace_photo(photo("A1_wrench"), square=40.0, silhouette=both)


LENGTHS: dict[str, tuple[dict[str, float], str]] = {
    "height and edge height": ({"height": 5.0, "edge_height": 5.0}, "not both"),
    "edge above the camera": ({"edge_height": 600.0}, "near the camera"),
    "half the height above the camera": ({"height": 1000.0}, "near the camera"),
    "zero square": ({"square": 0.0}, "square of 0 mm"),
    "negative square": ({"square": -40.0}, "square of -40 mm"),
    "NaN square": ({"square": math.nan}, "square of nan mm"),
    "infinite square": ({"square": math.inf}, "square of inf mm"),
    "NaN height": ({"height": math.nan}, "height nan mm"),
    "negative edge height": ({"edge_height": -1.0}, "height -1 mm"),
}


@pytest.mark.parametrize("kind", LENGTHS)
def test_lengths_that_cannot_be(kind: str) -> None:
    """A1 was taken from 519 mm above the bench."""
    wrong, said = LENGTHS[kind]
    with pytest.raises(InsertgenError, match=said):
        trace_photo(photo("A1_wrench"), **{"square": 40.0, **wrong}, silhouette=mask("A1_wrench"))


# ---- photos rendered with other things and other light (tests/data/rendered), which no network learnt from ------------------


def rendered(name: str) -> tuple[Trace, float]:
    """The trace, and the silhouette's mean distance from the exact one, px of a 2400 px photo."""
    folder = Path(__file__).parent / "data" / "rendered" / name
    known = facts_of(folder)
    shot = load_photo((folder / "photo.jpg").read_bytes(), "photo.jpg")
    exact = load_silhouette((folder / "photo_toolmask.png").read_bytes(), "photo_toolmask.png", shot)
    found = trace_photo(shot, square=known["side_mm"], height=known["tool"]["height_mm"])
    return found, pixels_off(found.outline_px, exact)[0] * 2400 / shot.width_px


def test_a_plate_of_the_hue_of_its_bench_keeps_its_edge() -> None:
    """By its colours alone it passes for shade: judged by the narrow look alone, the outline stood 4 px inside a clear edge."""
    assert rendered("A3")[1] < 1.2


def test_a_scratch_under_a_router_bit_is_no_part_of_it() -> None:
    """It made a 63 mm bit 198 mm long, without a word."""
    found, _ = rendered("C2")
    assert found.length < 85
    assert any("thin line" in said for said in found.warnings)
    assert any("check the outline" in said for said in found.warnings)  # shade beyond the shank's end is still taken in


def test_scratches_that_cross_at_a_tip_are_no_part_of_it() -> None:
    """4.2 px before the network of bodies knew lines."""
    assert rendered("B13")[1] < 3.0


def test_the_points_of_pale_blades_on_a_pale_sheet_are_kept() -> None:
    """27 mm of a blade were cut off; 17 mm of the other still are: a point 2 px wide in half a millimetre a pixel."""
    found, off = rendered("A36")
    assert off < 3.0
    assert len(found.outline_px) == 3
