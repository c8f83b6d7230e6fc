"""How well squares measure real photographs of a chessboard, some of its squares being the reference.

Run: python -m tests.bench.lens_bench DIR [--square 25] [--columns 9] [--rows 6]

DIR holds photos (left*.jpg, right*.jpg) like those of the OpenCV samples (Debian: package opencv-doc, examples/data;
square_size 0.025 by left_intrinsics.yml). For every photo: one, two and four dark squares near the board's corners
are the reference, their corners by `cv2.findChessboardCornersSB`; then every inner corner of the board is cast onto
its plane and laid on the true grid by turn and shift (Kabsch 1976), no scale. Mean and worst distance in mm:
uncorrected (lens taken as straight), corrected (bend solved for), as the program decides between the two, and by
the lens that `cv2.calibrateCamera` finds from all photos of that camera and all corners, pose from the same
squares (`cv2.solvePnP`): an independent figure. Nothing tells the focal length: these photos have no EXIF.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.agree import choose_lens
from insertgen.photo.bench import USUAL_FOCAL_35MM, Known, Solution, solve_bench
from insertgen.photo.load import FILM_DIAGONAL

Array = NDArray[np.float64]

_SIGMA = 0.1  # px, of the corners found
_WAYS = ("uncorrected", "corrected", "as decided", "calibrated")


@dataclass(frozen=True)
class Board:
    """Inner corners seen, rows x columns x 2 px, and which squares between them are dark."""

    name: str
    corners: Array
    dark: dict[tuple[int, int], Array]
    size: tuple[int, int]


@dataclass(frozen=True)
class Calibrated:
    matrix: Array
    bends: Array


def board_in(file: Path, columns: int, rows: int) -> Board | None:
    grey = cv2.imread(str(file), cv2.IMREAD_GRAYSCALE)
    if grey is None:
        return None
    found, corners = cv2.findChessboardCornersSB(grey, (columns, rows), flags=cv2.CALIB_CB_ACCURACY)
    if not found:
        return None
    grid = corners.reshape(rows, columns, 2).astype(np.float64)
    quads = {
        (row, column): np.array([grid[row, column], grid[row, column + 1], grid[row + 1, column + 1], grid[row + 1, column]])
        for row in range(rows - 1) for column in range(columns - 1)
    }  # fmt: skip
    light = {
        key: float(grey[round(quad[:, 1].mean()), round(quad[:, 0].mean())]) for key, quad in quads.items()
    }
    middle = (max(light.values()) + min(light.values())) / 2
    dark = {key: _clockwise(quads[key]) for key, value in light.items() if value < middle}
    return Board(file.name, grid, dark, (grey.shape[1], grey.shape[0]))


def _clockwise(quad: Array) -> Array:
    return quad if cv2.contourArea(quad.astype(np.float32), oriented=True) > 0 else quad[::-1].copy()


def calibrate(boards: list[Board], side: float) -> Calibrated:
    grid = _grid(boards[0], side)
    objects = [np.c_[grid, np.zeros(len(grid))].astype(np.float32) for _ in boards]
    pixels = [board.corners.reshape(-1, 2).astype(np.float32) for board in boards]
    off, matrix, bends, _, _ = cv2.calibrateCamera(objects, pixels, boards[0].size, None, None)  # type: ignore[call-overload]  # the stubs want arrays where OpenCV takes None
    print(
        f"calibrateCamera: {len(boards)} photos, rms {off:.2f} px, focal length {matrix[0, 0]:.0f} px, middle "
        f"{matrix[0, 2]:.0f}, {matrix[1, 2]:.0f}, k1 {bends.ravel()[0]:.3f}, k2 {bends.ravel()[1]:.3f}"
    )
    return Calibrated(matrix, bends)


def _grid(board: Board, side: float) -> Array:
    rows, columns, _ = board.corners.shape
    return side * np.array([[column, row] for row in range(rows) for column in range(columns)], np.float64)


def reference(board: Board, count: int) -> list[tuple[int, int]]:
    """Dark squares nearest to the board's corners: one, two opposite ones, four."""
    rows, columns = board.corners.shape[0] - 2, board.corners.shape[1] - 2
    ends = [(0, 0), (rows, columns), (0, columns), (rows, 0)]
    picked = [
        min(board.dark, key=lambda key: (abs(key[0] - r) + abs(key[1] - c), key)) for r, c in ends[:count]
    ]
    return list(dict.fromkeys(picked))


def misses(spots: Array, grid: Array) -> tuple[float, float]:
    """Mean and worst distance after the best turn and shift; the photo's board may be numbered mirrored."""
    results = []
    for mirror in ([1.0, 1.0], [1.0, -1.0]):
        here, there = spots * mirror, grid
        left, _, right = np.linalg.svd((here - here.mean(axis=0)).T @ (there - there.mean(axis=0)))
        turn = left @ np.diag([1.0, np.sign(np.linalg.det(left @ right))]) @ right
        off = np.linalg.norm((here - here.mean(axis=0)) @ turn - there + there.mean(axis=0), axis=1)
        results.append((float(off.mean()), float(off.max())))
    return min(results)


def by_calibration(board: Board, picked: list[tuple[int, int]], lens: Calibrated, side: float) -> Array:
    """Board x, y of every corner: pose by `cv2.solvePnP` from the reference squares, rays cut with the plane."""
    spots = [[(c, r), (c + 1, r), (c + 1, r + 1), (c, r + 1)] for r, c in picked]
    objects = side * np.array(spots, np.float64).reshape(-1, 2)
    pixels = np.array([board.corners[r, c] for square in spots for c, r in square])
    flat = np.c_[objects, np.zeros(len(objects))]
    _, turn, shift = cv2.solvePnP(flat, pixels, lens.matrix, lens.bends, flags=cv2.SOLVEPNP_ITERATIVE)
    matrix, _ = cv2.Rodrigues(turn)
    slopes = cv2.undistortPoints(board.corners.reshape(-1, 1, 2), lens.matrix, lens.bends).reshape(-1, 2)
    to_board = np.linalg.inv(np.column_stack([matrix[:, 0], matrix[:, 1], shift.ravel()]))
    seen = np.c_[slopes, np.ones(len(slopes))] @ to_board.T
    return np.asarray(seen[:, :2] / seen[:, 2:])


def judge(board: Board, count: int, lens: Calibrated, side: float) -> list[tuple[float, float]]:
    picked = reference(board, count)
    quads = np.array([board.dark[key] for key in picked])
    width, height = board.size
    focal = USUAL_FOCAL_35MM * float(np.hypot(width, height)) / FILM_DIAGONAL
    known = Known(focal, False, ((width - 1) / 2, (height - 1) / 2))
    sigmas, grid, pixels = np.full(len(quads), _SIGMA), _grid(board, side), board.corners.reshape(-1, 2)
    solutions: list[Solution] = [
        solve_bench(quads, sigmas, side, known, fit_lens=False), solve_bench(quads, sigmas, side, known, fit_lens=True),
        choose_lens(quads, sigmas, side, known),
    ]  # fmt: skip
    spots = [solution.camera.cast(pixels) for solution in solutions]
    return [misses(each, grid) for each in (*spots, by_calibration(board, picked, lens, side))]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--square", type=float, default=25.0, help="mm")
    parser.add_argument("--columns", type=int, default=9, help="inner corners along the board")
    parser.add_argument("--rows", type=int, default=6)
    arguments = parser.parse_args()
    for camera in ("left", "right"):
        files = sorted(arguments.folder.glob(f"{camera}[0-9]*.jpg"))
        boards = [
            board for file in files if (board := board_in(file, arguments.columns, arguments.rows)) is not None
        ]
        print(f"\n{camera}: board found in {len(boards)} of {len(files)} photos")
        if not boards:
            continue
        lens = calibrate(boards, arguments.square)
        print(
            f"{'mean / worst, mm':16} "
            + "  ".join(f"{f'{count}: {way}':>16}" for count in (1, 2, 4) for way in _WAYS)
        )
        table = []
        for board in boards:
            figures = [pair for count in (1, 2, 4) for pair in judge(board, count, lens, arguments.square)]
            table.append(figures)
            print(
                f"{board.name:16} " + "  ".join(f"{mean:8.2f} {worst:7.2f}" for mean, worst in figures),
                flush=True,
            )
        medians = np.median(np.array(table), axis=0)
        print(f"{'median':16} " + "  ".join(f"{mean:8.2f} {worst:7.2f}" for mean, worst in medians))


if __name__ == "__main__":
    main()
