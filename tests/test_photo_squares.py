"""Squares drawn with a known homography and averaged down: found to a part of a pixel; what is no square is not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from insertgen.photo.light import luminance
from insertgen.photo.paths import best_path
from insertgen.photo.squares import find_squares

FINE = 4  # drawn so many times larger, then averaged: area sampling, as a sensor does


def encoded(light: np.ndarray) -> np.ndarray:
    """8-bit sRGB of linear light (IEC 61966-2-1)."""
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(255 * np.clip(value, 0, 1)).astype(np.uint8)


def drawn(sheet: np.ndarray, homography: np.ndarray, size: tuple[int, int], bench: float) -> np.ndarray:
    """Photo (rgb) of a sheet of linear light lying on a plain bench; homography takes sheet to photo pixels."""
    up = np.array([[FINE, 0, (FINE - 1) / 2], [0, FINE, (FINE - 1) / 2], [0, 0, 1.0]])
    large = (size[0] * FINE, size[1] * FINE)
    whole = cv2.warpPerspective(sheet.astype(np.float32), up @ homography, large, flags=cv2.INTER_LINEAR, borderValue=-1)
    whole = np.where(whole < 0, np.float32(bench), whole)
    small = cv2.GaussianBlur(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), (0, 0), 0.7)
    return np.repeat(encoded(small)[:, :, None], 3, axis=2)


def sheet_with(content: np.ndarray) -> np.ndarray:
    """A pale sheet with 200 px of content in the middle of 300."""
    sheet = np.full((300, 300), 0.75)
    sheet[50:250, 50:250] = content
    return sheet


def code(number: int) -> np.ndarray:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return np.where(cv2.aruco.generateImageMarker(dictionary, number, 198 + 2 * 0) > 0, 0.75, 0.04)


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
        assert np.hypot(*(true - corner).T).min() < 0.15  # px


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
