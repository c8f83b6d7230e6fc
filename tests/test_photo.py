"""Photos: read upright once, squares to millimetres, outlines held against exact truth.

Truth: scenes rendered for this project (tests/data/photos). Outside sources: OpenCV's own reading of EXIF
orientation, `cv2.findHomography`, and the closed form of parallax D / (D - h).
"""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PIL import Image

from insertgen.errors import InsertgenError, PhotoError
from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.overlay import draw_overlay
from insertgen.photo.trace import Trace, trace_photo

PHOTOS = Path(__file__).parent / "data" / "photos"
NAMES = ("A1_wrench", "A2_bevel", "A3_scissors")


def truth(name: str) -> dict:  # type: ignore[type-arg]
    return json.loads((PHOTOS / name / "truth.json").read_text())  # type: ignore[no-any-return]


def photo(name: str) -> Photo:
    return load_photo((PHOTOS / name / "photo.jpg").read_bytes(), f"{name}.jpg")


def traced_with_mask(name: str, **heights: float) -> Trace:
    shot, facts = photo(name), truth(name)
    mask = load_silhouette((PHOTOS / name / "photo_toolmask.png").read_bytes(), "mask.png", shot)
    return trace_photo(shot, square=facts["side_mm"], silhouette=mask, **heights)


@pytest.fixture(scope="module")
def by_mask() -> dict[str, Trace]:
    return {name: traced_with_mask(name, height=truth(name)["tool"]["height_mm"]) for name in NAMES}


# ---- reading -----------------------------------------------------------------------------------


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_orientation_is_applied_once(orientation: int, tmp_path: Path) -> None:
    grey = np.zeros((420, 640, 3), np.uint8)
    grey[:210, :320, 0] = 200  # one corner red, one green: no two turns look alike
    grey[210:, 320:, 1] = 200
    exif = Image.Exif()
    exif[0x0112] = orientation
    file = tmp_path / "photo.jpg"
    Image.fromarray(grey).save(file, quality=95, exif=exif)
    ours = load_photo(file.read_bytes(), "photo.jpg").rgb
    theirs = cv2.cvtColor(cv2.imread(str(file)), cv2.COLOR_BGR2RGB)  # OpenCV applies it itself
    assert ours.shape == theirs.shape
    assert np.abs(ours.astype(int) - theirs).mean() < 2


def test_the_focal_length_is_by_the_diagonal_of_film() -> None:
    shot, camera = photo("A1_wrench"), truth("A1_wrench")["photos"][0]["camera"]
    # 26 mm of a 43.27 mm diagonal: the renderer's own fx
    assert shot.focal_px == pytest.approx(camera["fx"], rel=1e-3)


def test_silhouettes_that_cannot_be() -> None:
    shot = photo("A1_wrench")
    for shape, value, said in (((900, 1200), 255, "900|size"), (shot.rgb.shape[:2], 0, "black|white"), (shot.rgb.shape[:2], 255, "black|white")):
        file = io.BytesIO()
        Image.fromarray(np.full(shape, value, np.uint8)).save(file, "PNG")
        with pytest.raises(PhotoError, match=said):
            load_silhouette(file.getvalue(), "mask.png", shot)


# ---- millimetres -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_corners_camera_and_squares_are_the_truths(name: str, by_mask: dict[str, Trace]) -> None:
    facts, traced = truth(name), by_mask[name]
    camera = facts["photos"][0]["camera"]
    true = np.array(facts["photos"][0]["squares_px"]).reshape(-1, 2)
    assert sum(fit.used for fit in traced.squares) == facts["n_squares"]
    for fit in traced.squares:
        for corner in fit.corners_px:
            assert np.hypot(*(true - corner).T).min() < 0.4  # px
        assert fit.side == pytest.approx(facts["side_mm"], abs=0.15)
    assert traced.tilt_deg == pytest.approx(camera["tilt_deg"], abs=1.0)
    assert traced.camera_height == pytest.approx(camera["camera_height_mm"], rel=0.02)


def test_the_plane_map_against_a_homography(by_mask: dict[str, Trace]) -> None:
    """Lengths on the bench by our camera, and by OpenCV's homography fitted to the true places of the corners."""
    facts = truth("A2_bevel")
    pixels = np.array(facts["photos"][0]["squares_px"]).reshape(-1, 2)
    places = np.array([square["corners_mm"] for square in facts["squares"]]).reshape(-1, 2)
    homography, _ = cv2.findHomography(pixels, places)
    flat = traced_with_mask("A2_bevel", edge_height=0.001)
    rings = cv2.perspectiveTransform(flat.outline_px[0].reshape(-1, 1, 2), homography).reshape(-1, 2)
    theirs = shapely.Polygon(rings).minimum_rotated_rectangle
    xs = np.array(theirs.exterior.coords)
    sides = sorted((math.dist(xs[0], xs[1]), math.dist(xs[1], xs[2])))
    assert (flat.width, flat.length) == pytest.approx(sides, rel=2e-3)


def test_parallax_is_the_closed_form(by_mask: dict[str, Trace]) -> None:
    # seen from D, an edge at height h cast onto the bench is D / (D - h) too large
    flat, raised = traced_with_mask("A2_bevel", edge_height=0.001), traced_with_mask("A2_bevel", edge_height=30.0)
    assert flat.camera_height is not None
    expected = flat.camera_height / (flat.camera_height - 30.0)
    assert flat.length / raised.length == pytest.approx(expected, rel=2e-3)
    assert flat.error_per_10mm == pytest.approx(flat.length * 10 / (flat.camera_height - 10), rel=0.02)


# ---- refusals ----------------------------------------------------------------------------------


def _with(shot: Photo, rgb: np.ndarray) -> Photo:
    return replace(shot, rgb=np.ascontiguousarray(rgb))


def _refused(shot: Photo, name: str, said: str) -> None:
    with pytest.raises(PhotoError, match=said):
        trace_photo(shot, square=truth(name)["side_mm"], height=truth(name)["tool"]["height_mm"])


def _mask(name: str) -> np.ndarray:
    return cv2.imread(str(PHOTOS / name / "photo_toolmask.png"), cv2.IMREAD_GRAYSCALE) > 127


def test_a_square_cut_off() -> None:
    shot = photo("A1_wrench")
    lowest = max(np.max(np.array(square)[:, 0]) for square in truth("A1_wrench")["photos"][0]["squares_px"])
    _refused(_with(shot, shot.rgb[:, : int(lowest) - 40]), "A1_wrench", "cut off")


@pytest.mark.parametrize("name", ["A2_bevel"])
def test_an_item_at_the_frame(name: str) -> None:
    shot, mask = photo(name), _mask(name)
    columns = np.nonzero(mask)[1]
    grown = cv2.dilate(mask.astype(np.uint8), np.ones((41, 41), np.uint8)) > 0
    # the item moved to the right until the frame cuts it, squares left where they are
    step = mask.shape[1] - int(columns.max()) + 60
    move = np.array([[1, 0, step], [0, 1, 0]], np.float32)
    size = mask.shape[::-1]
    there = cv2.warpAffine(grown.astype(np.uint8), move, size) > 0
    small = cv2.inpaint(cv2.resize(shot.rgb, None, fx=0.25, fy=0.25), cv2.resize(grown.astype(np.uint8), None, fx=0.25, fy=0.25), 5, cv2.INPAINT_TELEA)
    rgb = shot.rgb.copy()
    rgb[grown] = cv2.resize(small, size)[grown]
    rgb[there] = cv2.warpAffine(shot.rgb, move, size)[there]
    _refused(_with(shot, rgb), name, "edge of the photo")


def test_lengths_that_cannot_be() -> None:
    shot = photo("A1_wrench")
    for wrong in ({"square": 0.0}, {"square": math.nan}, {"height": 5.0, "edge_height": 5.0}, {"edge_height": 5000.0}):
        with pytest.raises(InsertgenError):
            trace_photo(shot, **({"square": 40.0} | wrong))  # type: ignore[arg-type]


def test_a_tall_item_is_said_to_be_tall_for_its_photo() -> None:
    """An edge at 0.8 h, cast onto 0.5 h, lies r 0.3 h / (D - 0.8 h) off: no photo's own figures used."""
    low, tall = traced_with_mask("A2_bevel", height=5.0), traced_with_mask("A2_bevel", height=80.0)
    assert low.camera_height is not None
    assert low.length / 2 * 24 / (low.camera_height - 64) > 3  # the limit that is warned of
    assert any("tall for this photo" in said for said in tall.warnings)
    assert not any("tall for this photo" in said for said in low.warnings)
    with pytest.raises(InsertgenError, match="near the camera"):
        traced_with_mask("A2_bevel", height=450.0)


# ---- the picture -------------------------------------------------------------------------------


def test_the_overlay_is_a_picture_with_the_outline_on_it(by_mask: dict[str, Trace]) -> None:
    shot = photo("A1_wrench")
    data = draw_overlay(shot, by_mask["A1_wrench"])
    assert data == draw_overlay(shot, by_mask["A1_wrench"])
    drawn = np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)
    assert max(drawn.shape) <= 1600
    plain = cv2.resize(shot.rgb, drawn.shape[1::-1], interpolation=cv2.INTER_AREA).astype(int)
    ring = (by_mask["A1_wrench"].outline_px[0] * drawn.shape[1] / shot.rgb.shape[1]).astype(int)
    changed = np.abs(drawn - plain).sum(axis=2)
    assert changed[ring[:, 1], ring[:, 0]].mean() > 3 * np.median(changed) + 30
