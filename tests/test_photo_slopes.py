"""Slopes of the camera and of the bench's residuals, against differences taken by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize._numdiff import approx_derivative  # type: ignore[import-untyped]  # scipy's own differences, no stubs

from insertgen.photo import bench
from insertgen.photo.camera import Array, Camera, Lens
from insertgen.photo.slopes import slopes_of

POINTS = np.array([[-80.0, 40.0, 0.0], [120.0, -30.0, 12.0], [5.0, 5.0, 30.0]])
TILTS = st.floats(-0.5, 0.5)


def camera_of(values: Array) -> Camera:
    """Of log focal length, k1, height, turn, two tilts, two of the foot."""
    log_focal, k1, height, turn, *rest = (float(value) for value in values)
    return Camera(Lens(2000 * np.exp(log_focal), (1200.0, 900.0), k1), height, (rest[0], rest[1]), (rest[2], rest[3]), turn)


@given(TILTS, TILTS, st.floats(-3, 3), st.floats(-0.1, 0.1))
def test_pixels_move_as_differences_say(a: float, b: float, turn: float, k1: float) -> None:
    values = np.array([0.02, k1, 600.0, turn, a, b, 20.0, -35.0])
    moves = slopes_of(camera_of(values), POINTS)
    by = np.concatenate([np.stack([moves.log_focal, moves.k1, moves.height, moves.turn], axis=-1), moves.tilt, moves.foot], axis=-1)
    differences = approx_derivative(lambda x: camera_of(x).project(POINTS).ravel(), values, method="3-point")
    assert by.reshape(-1, 8) == pytest.approx(differences, rel=1e-5, abs=1e-3)


def test_a_point_s_own_slopes() -> None:
    camera = camera_of(np.array([0.0, 0.05, 600.0, 0.4, 0.2, -0.1, 3.0, 4.0]))
    for point, moves in zip(POINTS, slopes_of(camera, POINTS).point, strict=True):
        assert moves == pytest.approx(approx_derivative(lambda x: camera.project(x[None])[0], point, method="3-point"), rel=1e-6)


def test_a_camera_that_looks_straight_down_has_slopes_of_tilt() -> None:
    # closed form: tilted by a small angle about x, the point below moves by focal length times that angle
    moves = slopes_of(Camera(Lens(2000.0, (0.0, 0.0)), 500.0, (0.0, 0.0)), np.zeros((1, 3)))
    assert moves.tilt[0] == pytest.approx(np.array([[0.0, 2000.0], [-2000.0, 0.0]]), abs=1e-9)


@pytest.mark.parametrize("fit_lens", [True, False])
@pytest.mark.parametrize("tape", [None, 640.0])
def test_residuals_of_two_photos(*, fit_lens: bool, tape: float | None) -> None:
    rng = np.random.default_rng(5)
    known = bench.Known(2000.0, focal_from_exif=True, centre_px=(1200.0, 900.0), k1=0.01, squares_at=12.0, tape=tape)
    views = [bench.View(rng.uniform(200, 2000, (3, 4, 2)), np.full(3, 0.1), (0, 1, 2)), bench.View(rng.uniform(200, 2000, (2, 4, 2)), np.full(2, 0.3), (2, 0))]
    places = np.c_[rng.uniform(-100, 100, (3, 2)), rng.uniform(-2, 2, 3)]
    unknown = np.concatenate([[0.01, 0.02, 3.0, -2.0, np.log(0.3), 0.1, -0.2, np.log(0.35), -0.1, 0.3, 20.0, -30.0, 0.4], places.ravel()])
    given_too = (views, 40.0, known, fit_lens)
    differences = approx_derivative(bench._residuals, unknown, method="3-point", args=given_too)
    assert bench._slopes(unknown, *given_too) == pytest.approx(differences, rel=1e-4, abs=1e-2)
