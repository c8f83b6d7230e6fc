"""Photos drawn with a known camera: sheets with squares on a plain bench, in linear light, averaged down."""

from __future__ import annotations

import cv2
import numpy as np

FINE = 4  # drawn so many times larger, then averaged: area sampling, as a sensor does
SCENE = (1000, 750)
TURNS = (0.0, 0.4, 0.785, 1.3, 2.6)
SPOTS = ((-78.0, 52.0), (80.0, 50.0), (0.0, 2.0), (-80.0, -52.0), (76.0, -54.0))  # mm
SIDE = 40.0
#: Outer edge of the content on a sheet of 300 px, pixel centres at integers.
SHEET_CORNERS = np.array([[49.5, 49.5], [249.5, 49.5], [249.5, 249.5], [49.5, 249.5]])


def encoded(light: np.ndarray) -> np.ndarray:
    """8-bit sRGB of linear light (IEC 61966-2-1)."""
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(255 * np.clip(value, 0, 1)).astype(np.uint8)


def sheet_with(content: np.ndarray) -> np.ndarray:
    """A pale sheet with 200 px of content in the middle of 300."""
    sheet = np.full((300, 300), 0.75)
    sheet[50:250, 50:250] = content
    return sheet


def code(number: int) -> np.ndarray:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return np.where(cv2.aruco.generateImageMarker(dictionary, number, 198) > 0, 0.75, 0.04)


def over_the_bench(focal: float, distance: float, tilt: tuple[float, float]) -> np.ndarray:
    """Homography K [r1 r2 t] from bench mm (y up) to pixels (Hartley, Zisserman 8.1); the lens's axis meets (0, 0)."""
    turn = cv2.Rodrigues(np.array([*tilt, 0.0]))[0] @ np.diag([1.0, -1.0, -1.0])
    matrix = np.array([[focal, 0, (SCENE[0] - 1) / 2], [0, focal, (SCENE[1] - 1) / 2], [0, 0, 1.0]])
    return np.asarray(matrix @ np.column_stack([turn[:, 0], turn[:, 1], [0, 0, distance]]))


def on_bench(spot: tuple[float, float], turn: float) -> np.ndarray:
    """Sheet pixels to bench mm: 200 px of content are one side; the sheet's y runs down, the bench's up."""
    scale = SIDE / 200.0
    cos, sin = scale * np.cos(turn), scale * np.sin(turn)
    about = np.array([[1, 0, -149.5], [0, 1, -149.5], [0, 0, 1.0]])
    return np.array([[cos, sin, spot[0]], [sin, -cos, spot[1]], [0, 0, 1.0]]) @ about


def scene(count: int, *, coded: bool, bench_to_px: np.ndarray, bench: float = 0.35) -> tuple[np.ndarray, np.ndarray]:
    """Photo of so many sheets on a bench, and their corners, count x 4 x 2."""
    large = (SCENE[0] * FINE, SCENE[1] * FINE)
    up = np.array([[FINE, 0, (FINE - 1) / 2], [0, FINE, (FINE - 1) / 2], [0, 0, 1.0]])
    whole, corners = np.full(large[::-1], np.float32(bench)), []
    for number in range(count):
        content = cv2.resize(code(7 * number), (200, 200), interpolation=cv2.INTER_NEAREST)
        sheet = sheet_with(content if coded else np.full((200, 200), 0.04))
        to_px = bench_to_px @ on_bench(SPOTS[number], TURNS[number])
        warped = cv2.warpPerspective(sheet.astype(np.float32), up @ to_px, large, flags=cv2.INTER_LINEAR)
        covered = cv2.warpPerspective(np.ones_like(sheet, np.uint8), up @ to_px, large, flags=cv2.INTER_NEAREST)
        whole = np.where(covered > 0, warped, whole)
        corners.append(cv2.perspectiveTransform(SHEET_CORNERS[None], to_px)[0])
    small = cv2.GaussianBlur(cv2.resize(whole, SCENE, interpolation=cv2.INTER_AREA), (0, 0), 0.7)
    return np.repeat(encoded(small)[:, :, None], 3, axis=2), np.array(corners)
