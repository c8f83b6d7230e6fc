"""Squares drawn with a known homography and averaged down: found to a part of a pixel; what is no square is not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from insertgen.photo.light import luminance
from insertgen.photo.paths import best_path
from insertgen.photo.squares import find_squares
from tests.photo_scene import FINE, SCENE, code, encoded, over_the_bench, scene, sheet_with


def drawn(sheet: np.ndarray, homography: np.ndarray, size: tuple[int, int], bench: float) -> np.ndarray:
    """Photo (rgb) of a sheet of linear light lying on a plain bench; homography takes sheet to photo pixels."""
    up = np.array([[FINE, 0, (FINE - 1) / 2], [0, FINE, (FINE - 1) / 2], [0, 0, 1.0]])
    large = (size[0] * FINE, size[1] * FINE)
    whole = cv2.warpPerspective(sheet.astype(np.float32), up @ homography, large, flags=cv2.INTER_LINEAR, borderValue=-1)
    whole = np.where(whole < 0, np.float32(bench), whole)
    small = cv2.GaussianBlur(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), (0, 0), 0.7)
    return np.repeat(encoded(small)[:, :, None], 3, axis=2)


def view(turn: float, lean: float) -> np.ndarray:
    cos, sin = np.cos(turn), np.sin(turn)
    about = np.array([[1, 0, -149.5], [0, 1, -149.5], [0, 0, 1.0]])
    return np.array([[1, 0, 420], [0, 1, 310], [0, 0, 1.0]]) @ np.array(
        [[cos, -sin, 0], [sin, cos, 0], [lean, lean / 2, 1]]
    ) @ about  # fmt: skip


@pytest.mark.parametrize("turn", [0.0, 0.3, 0.8, 2.5, -1.9])
@pytest.mark.parametrize("lean", [0.0, 4e-4])
@pytest.mark.parametrize("bench", [0.7, 0.2])
def test_corners_where_the_homography_puts_them(turn: float, lean: float, bench: float) -> None:
    homography = view(turn, lean)
    found, cut = find_squares(luminance(drawn(sheet_with(np.full((200, 200), 0.04)), homography, (840, 620), bench)))
    assert (len(found), cut) == (1, [])
    assert not found[0].coded
    edge = np.array([[49.5, 49.5], [249.5, 49.5], [249.5, 249.5], [49.5, 249.5]])
    true = cv2.perspectiveTransform(edge[None], homography)[0]
    for corner in found[0].corners.px:
        assert np.hypot(*(true - corner).T).min() < 0.1  # px


@pytest.mark.parametrize("number", [0, 7, 33])
def test_coded_squares_are_read_at_any_turn(number: int) -> None:
    content = cv2.resize(code(number), (200, 200), interpolation=cv2.INTER_NEAREST)
    for turn in (0.1, 1.7, 3.3, 4.9):
        found, _ = find_squares(luminance(drawn(sheet_with(content), view(turn, 2e-4), (840, 620), 0.3)))
        assert [square.coded for square in found] == [True]


def chessboard() -> np.ndarray:
    board = (np.add.outer(np.arange(300) // 50, np.arange(300) // 50) % 2).astype(float)
    return np.where(board > 0, 0.75, 0.04)


def frame_only() -> np.ndarray:
    content = np.full((200, 200), 0.04)
    content[40:160, 40:160] = 0.75
    return sheet_with(content)


def rectangle() -> np.ndarray:
    sheet = np.full((300, 300), 0.75)
    sheet[110:190, 40:260] = 0.04
    return sheet


@pytest.mark.parametrize(
    "sheet",
    [chessboard(), frame_only(), rectangle(), np.full((300, 300), 0.04)],
    ids=["chessboard", "hollow", "long", "without paper"],
)
def test_what_is_no_reference_square(sheet: np.ndarray) -> None:
    bench = 0.03 if sheet.max() < 0.1 else 0.4
    assert find_squares(luminance(drawn(sheet, view(0.4, 1e-4), (840, 620), bench)))[0] == []


def test_printed_text_is_no_square() -> None:
    picture = np.full((620, 840, 3), 225, np.uint8)
    for row in range(8):
        cv2.putText(picture, "DO NOT SIT #8 [] BOX", (20, 60 + 70 * row), cv2.FONT_HERSHEY_SIMPLEX, 2.0, (20, 20, 20), 12)
    assert find_squares(luminance(picture))[0] == []


def test_a_square_that_the_frame_cuts_is_told_apart() -> None:
    homography = np.array([[1, 0, -130.0], [0, 1, 160], [0, 0, 1]])
    found, cut = find_squares(luminance(drawn(sheet_with(np.full((200, 200), 0.04)), homography, (840, 620), 0.3)))
    assert (found, len(cut)) == ([], 1)


def test_best_path_is_the_best_of_all_paths() -> None:
    """Against every closed path of a small strip, tried one by one."""
    generator = np.random.default_rng(11)
    gain = generator.random((5, 4))
    stiffness = 0.15

    def value(path: tuple[int, ...]) -> float:
        steps = np.abs(np.diff([*path, path[0]]))
        if steps.max() > 2:
            return -np.inf
        return float(gain[np.arange(5), list(path)].sum() - (stiffness * steps * np.where(steps > 1, 1.5, 1.0)).sum())

    best = max(np.ndindex(*(4,) * 5), key=value)
    assert value(tuple(best_path(gain, stiffness))) == pytest.approx(value(best), abs=0.02)


# ---- several squares under one camera ------------------------------------------------------------

@pytest.mark.parametrize("coded", [False, True], ids=["plain", "coded"])
@pytest.mark.parametrize(("count", "tilt"), [(1, (0.3, 0.1)), (3, (-0.1, 0.25)), (5, (0.0, 0.0)), (5, (0.25, -0.2))])
def test_every_square_at_any_turn_under_perspective(count: int, tilt: tuple[float, float], coded: bool) -> None:
    rgb, true = scene(count, coded=coded, bench_to_px=over_the_bench(1000.0, 320.0, tilt))
    found, cut = find_squares(luminance(rgb))
    assert (len(found), cut) == (count, [])
    assert {square.coded for square in found} == {coded}
    off = np.array([np.linalg.norm(true.reshape(-1, 1, 2) - square.corners.px, axis=2) for square in found])
    assert len(np.unique(off.argmin(axis=1))) == 4 * count
    assert off.min(axis=1).max() <= 0.1  # px


def test_no_square_on_a_bare_bench() -> None:
    grain = np.random.default_rng(2).normal(0.35, 0.02, SCENE[::-1])
    assert find_squares(luminance(np.repeat(encoded(grain)[:, :, None], 3, axis=2))) == ([], [])


def dark_thing(kind: str) -> np.ndarray:
    """A dark thing of 60 mm straight on the bench, no paper round it."""
    sheet = np.full((300, 300), 0.35)
    if kind == "disc":
        cv2.circle(sheet, (150, 150), 100, 0.04, -1)
    elif kind == "long block":
        sheet[110:190, 40:260] = 0.04
    elif kind == "jaw":
        cv2.fillPoly(sheet, [np.array([[50, 60], [250, 40], [220, 250], [120, 160], [70, 240]])], 0.04)
    else:  # rounded block
        sheet[50:250, 85:215] = sheet[85:215, 50:250] = 0.04
        for x, y in ((85, 85), (214, 85), (214, 214), (85, 214)):
            cv2.circle(sheet, (x, y), 35, 0.04, -1)
    return sheet


@pytest.mark.parametrize("kind", ["disc", "long block", "jaw", "rounded block"])
@pytest.mark.parametrize("turn", [0.0, 0.5])
def test_a_dark_thing_is_no_square(kind: str, turn: float) -> None:
    rgb = drawn(dark_thing(kind), view(turn, 1e-4), (840, 620), 0.35)
    assert find_squares(luminance(rgb))[0] == []
