"""The camera over the bench: against OpenCV's projection, closed forms, and squares drawn by a known camera."""

from __future__ import annotations

import math
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
from insertgen.photo.load import load_photo, load_silhouette
from insertgen.photo.squares import Candidate
from insertgen.photo.trace import trace_photo

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
