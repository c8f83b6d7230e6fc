"""Photos taken badly, drawn with a known camera: the right size, or a clear refusal or warning."""

from __future__ import annotations

import io
import math
import sys
import types
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from PIL import Image

from insertgen.errors import InsertgenError, PhotoError
from insertgen.photo.light import luminance
from insertgen.photo.load import Photo, load_photo
from insertgen.photo.squares import find_squares
from insertgen.photo.trace import Trace, trace_photo
from tests.photo_scene import SCENE, SIDE, encoded, over_the_bench, scene

FOCAL_35MM = 35.0
FOCAL = FOCAL_35MM * math.hypot(*SCENE) / math.hypot(36.0, 24.0)  # px, by the diagonal of film
DISTANCE = 340.0
TO_PX = over_the_bench(FOCAL, DISTANCE, (0.1, -0.08))
LONG, WIDE = 60.0, 40.0


@pytest.fixture(scope="module")
def drawn() -> tuple[np.ndarray, np.ndarray]:
    """Photo of five squares (the middle one too), and their corners."""
    return scene(5, coded=False, bench_to_px=TO_PX)


def shot_of(rgb: np.ndarray, focal_35mm: float | None = FOCAL_35MM) -> Photo:
    return Photo("drawn.png", "0" * 64, np.ascontiguousarray(rgb), focal_35mm)


def plate(x: float, y: float, long: float = LONG, wide: float = WIDE) -> np.ndarray:
    """Pixels that see a plate on the bench, its middle at (x, y): each pixel's own ray, no drawing library."""
    u, v = np.meshgrid(np.arange(SCENE[0]), np.arange(SCENE[1]))
    rays = np.stack([u, v, np.ones_like(u)], axis=-1) @ np.linalg.inv(TO_PX).T
    spots = rays[..., :2] / rays[..., 2:]
    return np.asarray((np.abs(spots[..., 0] - x) < long / 2) & (np.abs(spots[..., 1] - y) < wide / 2))


def traced(rgb: np.ndarray, *, focal_35mm: float | None = FOCAL_35MM, turns: int = 0, **how: float) -> Trace:
    """A plate 60 x 40 mm above the middle square, where nothing else lies."""
    mask = plate(0.0, 55.0)
    shot = shot_of(np.rot90(rgb, turns), focal_35mm)
    return trace_photo(shot, square=SIDE, silhouette=np.ascontiguousarray(np.rot90(mask, turns)), **({"edge_height": 0.0} | how))  # type: ignore[arg-type]


def right(seen: Trace, within: float = 3e-3) -> bool:
    """By the area, in which single pixels of the mask (0.35 mm) do not count; length and width to a pixel and a half."""
    size = math.sqrt(seen.area / (LONG * WIDE))
    return abs(size - 1) < within and abs(seen.length - LONG) < 0.5 and abs(seen.width - WIDE) < 0.5


def mirror_like(rgb: np.ndarray) -> np.ndarray:
    """A lamp mirrored in the bench and a sheen across it, not on the squares."""
    x, y = np.meshgrid(np.arange(SCENE[0]), np.arange(SCENE[1]))
    lamp = 150 * np.exp(-(((x - 500) / 60) ** 2 + ((y - 120) / 40) ** 2)) + 30 * x / SCENE[0]
    return np.clip(rgb + lamp[:, :, None], 0, 255).astype(np.uint8)


def moved(rgb: np.ndarray, by: int) -> np.ndarray:
    """Motion blur sideways, in linear light."""
    light = np.where(rgb / 255 <= 0.04045, rgb / 255 / 12.92, ((rgb / 255 + 0.055) / 1.055) ** 2.4)
    return encoded(cv2.blur(light, (by, 1)))


def with_chessboard_and_text(rgb: np.ndarray) -> np.ndarray:
    picture = rgb.copy()
    board = np.where(np.add.outer(np.arange(150) // 25, np.arange(150) // 25) % 2, 215, 30).astype(np.uint8)
    picture[550:700, 430:580] = board[:, :, None]
    picture[20:140, 330:700] = 225
    cv2.putText(picture, "NO 8 BOX", (345, 105), cv2.FONT_HERSHEY_SIMPLEX, 2.0, (25, 25, 25), 12)
    return picture


@pytest.mark.parametrize("turns", [0, 1, 2, 3], ids=["as taken", "portrait", "upside-down", "portrait, the other way"])
def test_the_phone_may_be_held_anyhow(turns: int, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    assert right(traced(drawn[0], turns=turns))


def test_a_mirror_like_bench(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    assert right(traced(mirror_like(drawn[0])))


@pytest.mark.parametrize("by", [3, 7, 15])
def test_motion_blur_is_measured_right_or_refused_or_warned_of(by: int, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    if by > 10:  # the squares' edges are gone
        with pytest.raises(PhotoError, match=r"take the photo again|all in the photo"):
            traced(moved(drawn[0], by))
        return
    seen = traced(moved(drawn[0], by))
    assert right(seen) or any("hold the camera still" in said for said in seen.warnings), (seen.length, seen.width)


def test_a_chessboard_and_print_beside_the_item_are_no_squares(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    picture = with_chessboard_and_text(drawn[0])
    assert len(find_squares(luminance(picture))[0]) == 5
    assert right(traced(picture))


def test_without_exif_the_squares_tell_and_it_is_said(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    seen = traced(drawn[0], focal_35mm=None)
    assert right(seen, 6e-3)
    assert any("does not tell its focal length" in said for said in seen.warnings)


def test_wrong_exif_is_noticed_under_a_tilt() -> None:
    """70 mm typed by an editor, 35 mm the lens: the squares' perspective contradicts it."""
    to_px = over_the_bench(FOCAL, DISTANCE, (0.3, -0.2))
    rgb, _ = scene(5, coded=False, bench_to_px=to_px)
    mask = cv2.warpPerspective(np.ones((40, 60), np.uint8), to_px @ np.array([[1, 0, -30.0], [0, 1, 35], [0, 0, 1]]), SCENE) > 0
    seen = trace_photo(shot_of(rgb, 70.0), square=SIDE, silhouette=mask, edge_height=0.0)
    assert any("the squares do not agree" in said for said in seen.warnings)


def test_a_tape_that_contradicts_the_lens_is_said(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    assert not any("as typed" in said for said in traced(drawn[0], camera_height=DISTANCE).warnings)
    assert any("700 mm as typed" in said for said in traced(drawn[0], camera_height=700.0).warnings)


@pytest.mark.parametrize(("x", "y"), [(0.0, 2.0), (15.0, 12.0)], ids=["square on the item", "item over a square"])
def test_item_and_square_may_not_lie_on_each_other(x: float, y: float, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    """The middle square lies at (0, 2), 40 mm wide."""
    with pytest.raises(PhotoError, match="lies on the item, or the item on it"):
        trace_photo(shot_of(drawn[0]), square=SIDE, silhouette=plate(x, y, 90.0, 70.0), edge_height=0.0)


def test_squares_on_one_side_are_said() -> None:
    rgb, _ = scene(2, coded=False, bench_to_px=TO_PX)
    below = trace_photo(shot_of(rgb), square=SIDE, silhouette=plate(0.0, -55.0), edge_height=0.0)
    between = trace_photo(shot_of(rgb), square=SIDE, silhouette=plate(0.0, 50.0), edge_height=0.0)
    assert any("all on one side" in said for said in below.warnings)
    assert not any("all on one side" in said for said in between.warnings)


def test_one_square_and_an_item_off_the_middle_are_said() -> None:
    rgb, _ = scene(1, coded=False, bench_to_px=TO_PX)
    far = trace_photo(shot_of(rgb), square=SIDE, silhouette=plate(95.0, -70.0, 40.0, 25.0), edge_height=0.0)
    near = trace_photo(shot_of(rgb), square=SIDE, silhouette=plate(0.0, 0.0, 40.0, 25.0), edge_height=0.0)
    assert any("put the item in the middle" in said for said in far.warnings)
    assert not any("put the item in the middle" in said for said in near.warnings)
    assert far.expected_error > near.expected_error


LENGTHS: dict[str, tuple[dict[str, float], str]] = {
    "squares below the bench": ({"squares_at": -5.0}, "squares at -5 mm"),
    "camera under the squares": ({"squares_at": 300.0, "camera_height": 310.0}, "at least 50 mm above the squares"),
    "camera nowhere": ({"camera_height": math.nan}, "camera height nan mm"),
}


@pytest.mark.parametrize("kind", LENGTHS)
def test_heights_that_cannot_be(kind: str, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    wrong, said = LENGTHS[kind]
    with pytest.raises(InsertgenError, match=said):
        traced(drawn[0], **wrong)


# ---- HEIC --------------------------------------------------------------------------------------

HEIC = b"\x00\x00\x00\x18ftypheic" + bytes(500)


def test_heic_without_its_extra_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    with pytest.raises(PhotoError, match=r"IMG_1\.HEIC: .*pip install 'insertgen\[heic\]'"):
        load_photo(HEIC, "IMG_1.HEIC")


def reader(picture: Callable[[], Image.Image]) -> types.ModuleType:
    """Stands in for the optional library, which need not be installed here: `open_heif(file).to_pillow()`, `.size`."""
    module = types.ModuleType("pillow_heif")

    def open_heif(file: io.BytesIO) -> types.SimpleNamespace:
        assert file.read(12)[4:] == b"ftypheic"
        return types.SimpleNamespace(size=picture().size, to_pillow=picture)

    module.open_heif = open_heif  # type: ignore[attr-defined]
    return module


def test_heic_pixels_and_lens_come_from_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    rgb = np.random.default_rng(1).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    picture = Image.fromarray(rgb)
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 28  # FocalLengthIn35mmFilm, EXIF 2.32
    picture.info["exif"] = exif.tobytes()
    monkeypatch.setitem(sys.modules, "pillow_heif", reader(lambda: picture))
    photo = load_photo(HEIC, "IMG_1.HEIC")
    assert np.array_equal(photo.rgb, rgb)
    assert photo.focal_35mm == 28.0


def test_a_damaged_heic_is_refused_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def damaged() -> Image.Image:
        raise ValueError("Invalid input: Unspecified")

    module = reader(damaged)
    monkeypatch.setitem(sys.modules, "pillow_heif", module)
    with pytest.raises(PhotoError, match=r"IMG_1\.HEIC: the HEIC photo is damaged"):
        load_photo(HEIC, "IMG_1.HEIC")


