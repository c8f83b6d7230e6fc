"""The camera over the bench: against OpenCV's projection, closed forms, and squares drawn by a known camera."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.errors import PhotoError
from insertgen.photo.agree import agree
from insertgen.photo.bench import Known, solve_bench
from insertgen.photo.camera import Camera, Lens
from insertgen.photo.corners import Corners
from insertgen.photo.light import luminance
from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.squares import Candidate, find_squares
from insertgen.photo.trace import trace_photo
from tests.photo_scene import SCENE, SHEET_CORNERS, SIDE, SPOTS, TURNS, encoded, on_bench, over_the_bench, scene

CENTRE = (1199.5, 899.5)
tilts = st.floats(-0.4, 0.4)
cameras = st.builds(
    lambda focal, k1, height, a, b: Camera(Lens(focal, CENTRE, k1), height, (a, b)),
    st.floats(1500, 2500), st.floats(-0.08, 0.08), st.floats(300, 900), tilts, tilts,
)  # fmt: skip
PLACES = np.array([[-90.0, 60.0, 0.3], [95.0, 70.0, 1.1], [-70.0, -80.0, 2.0], [100.0, -60.0, -0.4]])


def corners_of(places: np.ndarray, side: float) -> np.ndarray:
    """Corners of squares, clockwise as the photo shows them, from the definition of a rotation."""
    half = side / 2
    return np.array([
        [(x + c * math.cos(t) - s * math.sin(t), y + c * math.sin(t) + s * math.cos(t), 0.0)
         for c, s in ((-half, half), (half, half), (half, -half), (-half, -half))]
        for x, y, t in places
    ])  # fmt: skip


def candidates(quads: np.ndarray) -> list[Candidate]:
    return [Candidate(Corners(quad, 0.05, 0.1, 10.0), coded=False) for quad in quads]


@given(cameras)
@settings(max_examples=60, deadline=None)
def test_projection_is_opencvs(camera: Camera) -> None:
    points = np.random.default_rng(3).uniform(-150, 150, (40, 3)) * [1, 1, 0.2]
    # in a frame turned over beforehand: close to half a turn Rodrigues' formula cannot be undone exactly
    vector = np.array([*camera.tilt, 0.0])
    turn, _ = cv2.Rodrigues(vector)
    shift = turn @ np.array([0, 0, camera.height])
    matrix = np.array([[camera.lens.focal_px, 0, CENTRE[0]], [0, camera.lens.focal_px, CENTRE[1]], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(points * [1, -1, -1], vector, shift, matrix, np.array([camera.lens.k1, 0, 0, 0, 0]))
    assert np.allclose(camera.project(points), theirs.reshape(-1, 2), atol=1e-6)


@given(cameras, st.floats(0, 100))
@settings(max_examples=60, deadline=None)
def test_casting_undoes_projecting(camera: Camera, height: float) -> None:
    flat = np.random.default_rng(5).uniform(-120, 120, (30, 2))
    pixels = camera.project(np.c_[flat, np.full(30, height)])
    assert np.allclose(camera.cast(pixels, height), flat, atol=1e-3)


@given(cameras, st.floats(1, 100))
@settings(max_examples=60, deadline=None)
def test_parallax_by_similar_triangles(camera: Camera, height: float) -> None:
    """Seen from D, a cast onto the plane at h lies (D - h) / D as far from the foot as one onto the bench."""
    pixels = np.random.default_rng(7).uniform([600, 450], [1800, 1350], (30, 2))
    share = (camera.height - height) / camera.height
    assert np.allclose(camera.cast(pixels, height), camera.cast(pixels) * share, rtol=1e-9)


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("tilt", [(0.0, 0.0), (0.12, -0.08), (-0.25, 0.2)])
def test_solution_finds_the_camera_that_drew_the_squares(count: int, tilt: tuple[float, float]) -> None:
    true = Camera(Lens(1800.0, CENTRE), 520.0, tilt)
    quads = true.project(corners_of(PLACES[:count], 40.0))
    found = solve_bench(quads, np.full(count, 0.05), 40.0, Known(1800.0, True, CENTRE), fit_lens=count > 1)
    assert found.camera.height == pytest.approx(true.height, rel=1e-3)
    assert found.camera.tilt_deg == pytest.approx(true.tilt_deg, abs=0.1)
    assert found.side == pytest.approx([40.0] * count, abs=0.01)


@pytest.mark.parametrize("k1", [-0.06, 0.05])
def test_four_squares_carry_the_lens(k1: float) -> None:
    true = Camera(Lens(1800.0, CENTRE, k1), 520.0, (0.15, -0.1))
    quads = true.project(corners_of(PLACES, 40.0))
    known = Known(1800.0, True, CENTRE)
    bent = solve_bench(quads, np.full(4, 0.05), 40.0, known, fit_lens=True)
    straight = solve_bench(quads, np.full(4, 0.05), 40.0, known, fit_lens=False)
    assert bent.camera.lens.k1 == pytest.approx(k1, abs=0.01)
    assert bent.residual_px.max() < 0.1 < straight.residual_px.max()


def test_without_exif_a_tilted_view_of_four_squares_tells_the_focal_length() -> None:
    true = Camera(Lens(1650.0, CENTRE), 480.0, (0.35, -0.2))
    quads = true.project(corners_of(PLACES, 40.0))
    found = solve_bench(quads, np.full(4, 0.05), 40.0, Known(1800.0, False, CENTRE), fit_lens=True)
    assert found.camera.lens.focal_px == pytest.approx(1650.0, rel=0.02)


def test_a_square_of_another_size_is_left_out_and_named() -> None:
    true = Camera(Lens(1800.0, CENTRE), 520.0, (0.1, -0.05))
    quads = true.project(corners_of(PLACES, 40.0))
    quads[2] = true.project(corners_of(PLACES[2:3], 50.0))[0]
    solution, fits = agree(candidates(quads), 40.0, Known(1800.0, True, CENTRE), "photo.jpg")
    assert [fit.used for fit in fits] == [True, True, False, True]
    assert "50.0 mm" in fits[2].why
    assert solution.camera.height == pytest.approx(520.0, rel=2e-3)


def test_two_squares_of_two_sizes_contradict_each_other() -> None:
    true = Camera(Lens(1800.0, CENTRE), 520.0, (0.1, -0.05))
    quads = true.project(np.concatenate([corners_of(PLACES[:1], 40.0), corners_of(PLACES[1:2], 50.0)]))
    with pytest.raises(PhotoError, match="contradict each other"):
        agree(candidates(quads), 40.0, Known(1800.0, True, CENTRE), "photo.jpg")


@pytest.mark.parametrize(("focal_35mm", "warned"), [(26.0, False), (52.0, True)])
def test_a_lens_that_the_squares_contradict_is_said(focal_35mm: float, warned: bool) -> None:
    folder = Path(__file__).parent / "data" / "photos" / "A2_bevel"
    shot = replace(load_photo((folder / "photo.jpg").read_bytes(), "photo.jpg"), focal_35mm=focal_35mm)
    mask = load_silhouette((folder / "photo_toolmask.png").read_bytes(), "mask.png", shot)
    said = trace_photo(shot, square=40.0, height=20.0, silhouette=mask).warnings
    assert any("the squares do not agree" in warning for warning in said) == warned


# ---- whole photos drawn with a known camera ------------------------------------------------------

FOCAL_35MM = 35.0
FOCAL = FOCAL_35MM * math.hypot(*SCENE) / math.hypot(36.0, 24.0)  # px, by the diagonal of film
DISTANCE = 340.0  # mm
MIDDLE = ((SCENE[0] - 1) / 2, (SCENE[1] - 1) / 2)


def shot_of(rgb: np.ndarray) -> Photo:
    return Photo("drawn.png", "0" * 64, rgb, FOCAL_35MM)


LONG, WIDE = 90.0, 40.0  # mm; clear of the four squares at the corners


def mask_of_plate(height: float) -> np.ndarray:
    """Pixels of a plate that floats at a height, seen straight from above: similar triangles, no drawing library.

    Turned by 0.3, so that its edges cut pixels everywhere and not all alike.
    """
    x, y = np.meshgrid(np.arange(SCENE[0]) - MIDDLE[0], np.arange(SCENE[1]) - MIDDLE[1])
    reach, c, s = FOCAL / (DISTANCE - height), math.cos(0.3), math.sin(0.3)
    return (np.abs(c * x + s * y) < LONG / 2 * reach) & (np.abs(c * y - s * x) < WIDE / 2 * reach)


@pytest.fixture(scope="module")
def straight_down() -> Photo:
    seen, squares = scene(5, coded=False, bench_to_px=over_the_bench(FOCAL, DISTANCE, (0.0, 0.0)))
    x0, y0 = squares[2].min(axis=0).astype(int) - 60  # the sheet in the middle, where the plate is
    x1, y1 = squares[2].max(axis=0).astype(int) + 60
    seen[y0:y1, x0:x1] = seen[0, 0]
    return shot_of(seen)


def test_a_pixel_straight_down_is_distance_over_focal_length(straight_down: Photo) -> None:
    """The pinhole's closed form, D / f; the squares' sheets lie on the bench."""
    traced = trace_photo(straight_down, square=SIDE, silhouette=mask_of_plate(0.0))
    assert traced.mm_per_pixel == pytest.approx(DISTANCE / FOCAL, rel=1e-3)
    assert traced.camera_height == pytest.approx(DISTANCE, rel=0.02)  # EXIF says the focal length in whole mm only
    assert traced.tilt_deg < 1.0
    assert (traced.length, traced.width) == pytest.approx((LONG, WIDE), abs=DISTANCE / FOCAL)  # a pixel
    assert math.sqrt(traced.area) == pytest.approx(math.sqrt(LONG * WIDE), rel=2e-3)


@pytest.mark.parametrize("height", [5.0, 20.0, 60.0])
def test_an_edge_above_the_bench_is_cast_too_large_by_parallax(height: float, straight_down: Photo) -> None:
    """D / (D - h) by similar triangles; the height of the edge, given, undoes it."""
    silhouette = mask_of_plate(height)
    flat = trace_photo(straight_down, square=SIDE, silhouette=silhouette, edge_height=0.0)
    undone = trace_photo(straight_down, square=SIDE, silhouette=silhouette, edge_height=height)
    assert flat.length / undone.length == pytest.approx(DISTANCE / (DISTANCE - height), rel=2e-3)
    # sizes by the area, in which single pixels do not count
    assert math.sqrt(flat.area / (LONG * WIDE)) == pytest.approx(DISTANCE / (DISTANCE - height), rel=2e-3)
    assert math.sqrt(undone.area / (LONG * WIDE)) == pytest.approx(1.0, rel=2e-3)
    unknown = trace_photo(straight_down, square=SIDE, silhouette=silhouette)
    assert unknown.error_per_10mm == pytest.approx(unknown.length * 10 / (DISTANCE - 10), rel=2e-3)
    assert any("height" in warning for warning in unknown.warnings)


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (0.2, -0.1), (-0.15, 0.3)])
@pytest.mark.parametrize("coded", [False, True], ids=["plain", "coded"])
def test_the_plane_map_is_opencvs(tilt: tuple[float, float], coded: bool) -> None:
    """Against `cv2.findHomography` from the same corners, as found, to the places they were drawn at.

    The two bench frames differ by turn and shift (Kabsch 1976), taken out over the corners.
    """
    to_px = over_the_bench(FOCAL, DISTANCE, tilt)
    found, _ = find_squares(luminance(scene(5, coded=coded, bench_to_px=to_px)[0]))
    solution, _ = agree(found, SIDE, Known(FOCAL, True, MIDDLE), "drawn.png")
    pixels = np.vstack([square.corners.px for square in found])
    sheets = [on_bench(spot, turn) for spot, turn in zip(SPOTS, TURNS, strict=True)]
    drawn_at = np.vstack([cv2.perspectiveTransform(SHEET_CORNERS[None], sheet)[0] for sheet in sheets])
    seen_at = cv2.perspectiveTransform(drawn_at[None], to_px)[0]
    nearest = np.linalg.norm(seen_at[None] - pixels[:, None], axis=2).argmin(axis=1)
    theirs, _ = cv2.findHomography(pixels, drawn_at[nearest])
    x, y = np.meshgrid(np.linspace(-70, 70, 15), np.linspace(-45, 45, 11))
    probes = cv2.perspectiveTransform(np.stack([x.ravel(), y.ravel()], axis=1)[None], to_px)[0]
    true = cv2.perspectiveTransform(probes[None], theirs)[0]
    move = rigid_move(solution.camera.cast(pixels), drawn_at[nearest])
    assert np.linalg.norm(move(solution.camera.cast(probes)) - true, axis=1).max() < 0.05  # mm


def rigid_move(points: np.ndarray, onto: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    here, there = points.mean(axis=0), onto.mean(axis=0)
    left, _, right = np.linalg.svd((points - here).T @ (onto - there))
    turn = left @ np.diag([1.0, np.linalg.det(left @ right)]) @ right
    return lambda other: (other - here) @ turn + there


def test_a_dark_block_of_another_size_is_left_out_and_named() -> None:
    """A block of 60 mm straight on a plain bench looks like a square; it is none of those of 40 mm."""
    to_px = over_the_bench(FOCAL, DISTANCE, (0.05, 0.1))
    rgb, _ = scene(5, coded=True, bench_to_px=to_px)
    painted = rgb.copy()
    for half, light in ((48.0, 0.35), (30.0, 0.04)):  # the middle square's sheet hidden by bench, then the block
        corners = half * np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]])
        spots = np.round(cv2.perspectiveTransform(corners[None], to_px)).astype(np.int32)
        cv2.fillPoly(painted, [spots], [int(encoded(np.array(light)))] * 3)
    found, _ = find_squares(luminance(painted))
    assert [square.coded for square in found].count(False) == 1
    _, fits = agree(found, SIDE, Known(FOCAL, True, MIDDLE), "drawn.png")
    assert [fit.used for fit in fits if fit.coded] == [True] * 4
    assert [fit.why[:11] for fit in fits if not fit.used] == ["measures 60"]
