"""The photo with what was made of it drawn on top."""

from __future__ import annotations

import io
import math

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont, ImageOps
from scipy.ndimage import gaussian_filter1d

from insertgen.photo.camera import Array
from insertgen.photo.load import Photo
from insertgen.photo.trace import SquareFit, Trace

__all__ = ["draw_overlay"]

_LONGEST = 1600
_BITS = 6  # of a colour: the rest is the camera's noise, and half of the file
_HALO = (255, 255, 255)
# up to so many mm off (19 of 20 points are nearer), how it is said, and its ink; told apart by the colour-blind too
_GRADES = (
    (1.0, "sure to 1 mm", (0, 70, 180)),
    (2.0, "sure to 2 mm", (200, 0, 90)),
    (math.inf, "doubtful: may be off by more than 2 mm", (235, 125, 0)),
)
_SMOOTH = 6.0  # points of the ring: no speckles
_USED, _LEFT_OUT = (0, 110, 40), (190, 60, 0)
_TICK = 10.0  # mm between ticks


def draw_overlay(photo: Photo, trace: Trace, also: tuple[str, ...] = ()) -> bytes:
    """PNG of the photo (at most 1600 px) with outline, 10 mm ticks, squares and sizes; same input, same bytes.

    The outline's colour tells how far off it may be there, which the panel of sizes says in words.
    ``also`` are further lines for the panel of sizes.
    """
    scale = min(1.0, _LONGEST / max(photo.width_px, photo.height_px))
    size = (max(1, round(photo.width_px * scale)), max(1, round(photo.height_px * scale)))
    picture = Image.fromarray(photo.rgb).resize(size, Image.Resampling.LANCZOS)
    picture = ImageOps.posterize(picture, _BITS)
    draw = ImageDraw.Draw(picture)
    unit = max(size) / _LONGEST
    font = ImageFont.load_default(max(14.0, 24 * unit))
    rings = [_scaled(ring, scale) for ring in trace.outline_px]
    grades = [_grades(trace, at, len(ring)) for at, ring in enumerate(rings)]
    for ring in rings:
        _closed(draw, ring, _HALO, max(1, round(7 * unit)))
    for ring, grade in zip(rings, grades, strict=True):
        _graded(draw, ring, grade, max(1, round(3 * unit)))
    _ticks(draw, rings[0], grades[0], _TICK / trace.mm_per_pixel * scale, unit)
    for number, fit in enumerate(trace.squares, 1):
        _square(draw, fit, number, scale, unit, font)
    drawn = np.vstack([*rings, *(_scaled(np.array(fit.corners_px), scale) for fit in trace.squares)])
    _sizes(draw, trace, also, drawn, size, unit, font)
    file = io.BytesIO()
    picture.save(file, "PNG", compress_level=6)
    return file.getvalue()


def _grades(trace: Trace, which: int, count: int) -> NDArray[np.intp]:
    """Grade of each point of a ring."""
    limits = [limit for limit, _, _ in _GRADES[:-1]]
    if which >= len(trace.point_errors) or len(trace.point_errors[which]) != count:
        return np.full(count, int(np.searchsorted(limits, trace.expected_error)))
    smooth = gaussian_filter1d(trace.point_errors[which], _SMOOTH, mode="wrap")
    return np.asarray(np.searchsorted(limits, smooth), np.intp)


def _graded(draw: ImageDraw.ImageDraw, ring: Array, grades: NDArray[np.intp], width: int) -> None:
    """The ring in runs of one grade."""
    points = [(float(x), float(y)) for x, y in [*ring, ring[0]]]
    starts = np.flatnonzero(np.diff(grades, prepend=-1))
    for start, end in zip(starts, [*starts[1:], len(ring)], strict=True):
        draw.line(points[start : end + 1], fill=_GRADES[grades[start]][2], width=width, joint="curve")


def _scaled(points: Array, scale: float) -> Array:
    scaled: Array = (points + 0.5) * scale - 0.5
    return scaled


def _closed(draw: ImageDraw.ImageDraw, ring: Array, colour: tuple[int, int, int], width: int) -> None:
    points = [(float(x), float(y)) for x, y in ring]
    draw.line([*points, points[0], points[1]], fill=colour, width=width, joint="curve")


def _ticks(draw: ImageDraw.ImageDraw, ring: Array, grades: NDArray[np.intp], step: float, unit: float) -> None:
    """Short marks outward every 10 mm along the outline, every fifth longer."""
    closed = np.vstack([ring, ring[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    x, y = ring.T
    outward = 1.0 if np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y) > 0 else -1.0
    for number in range(int(length[-1] / step) + 1):
        at = number * step
        here = np.array([np.interp(at, length, closed[:, axis]) for axis in (0, 1)])
        ahead = np.array([np.interp((at + 3 * unit) % length[-1], length, closed[:, axis]) for axis in (0, 1)])
        along = ahead - here
        out = np.array([along[1], -along[0]]) * outward / max(float(np.linalg.norm(along)), 1e-6)
        tip = here + out * (22 if number % 5 == 0 else 12) * unit
        ink = _GRADES[grades[min(int(np.searchsorted(length, at)), len(ring) - 1)]][2]
        for width, colour in ((5, _HALO), (2, ink)):
            draw.line([tuple(here), tuple(tip)], fill=colour, width=max(1, round(width * unit)))


def _square(
    draw: ImageDraw.ImageDraw, fit: SquareFit, number: int, scale: float, unit: float, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:  # fmt: skip
    corners = _scaled(np.array(fit.corners_px), scale)
    colour = _USED if fit.used else _LEFT_OUT
    _closed(draw, corners, _HALO, max(1, round(7 * unit)))
    _closed(draw, corners, colour, max(1, round(3 * unit)))
    words = f"{number}: used" if fit.used else f"{number}: left out, {fit.why}"
    low, high = corners.min(axis=0), corners.max(axis=0)
    box = draw.textbbox((0, 0), words, font=font, stroke_width=3)
    x = min(max(4.0, float(low[0])), draw.im.size[0] - box[2] - 4.0)
    below = float(high[1]) + 12 * unit
    y = below if below + box[3] < draw.im.size[1] - 4 else float(low[1]) - box[3] - 14 * unit
    draw.text((x, y), words, fill=colour, font=font, stroke_width=max(2, round(3 * unit)), stroke_fill=_HALO)


def _sizes(
    draw: ImageDraw.ImageDraw, trace: Trace, also: tuple[str, ...], drawn: Array, size: tuple[int, int], unit: float,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:  # fmt: skip
    lines = [
        *also,
        f"length {trace.length:.1f} mm, width {trace.width:.1f} mm",
        f"expected error {trace.expected_error:.1f} mm; ticks every {_TICK:g} mm",
    ]
    if trace.warnings:
        count = len(trace.warnings)
        lines.append(f"{count} warning{'s' * (count > 1)}: read the report")
    inks = [None] * len(lines) + [ink for _, _, ink in _GRADES]
    lines += [words for _, words, _ in _GRADES]
    boxes = [draw.textbbox((0, 0), line, font=font) for line in lines]
    step, swatch = math.ceil(34 * unit), math.ceil(44 * unit)
    width, height = max(box[2] for box in boxes) + swatch + round(24 * unit), step * len(lines) + round(18 * unit)
    corner = _free_corner(drawn, size, width, height)
    draw.rectangle([corner, (corner[0] + width, corner[1] + height)], fill=_HALO, outline=(60, 60, 60))
    for number, (line, ink) in enumerate(zip(lines, inks, strict=True)):
        x, y = corner[0] + 12 * unit, corner[1] + 8 * unit + step * number
        if ink is not None:
            draw.line([(x, y + step / 2), (x + swatch - 10 * unit, y + step / 2)], fill=ink, width=max(2, round(6 * unit)))
            x += swatch
        draw.text((x, y), line, fill=(0, 0, 0), font=font)


def _free_corner(drawn: Array, size: tuple[int, int], width: float, height: float) -> tuple[float, float]:
    """The corner of the picture whose panel hides fewest points of outline and squares."""
    right, low = size[0] - width - 8.0, size[1] - height - 8.0
    corners = [(8.0, 8.0), (right, 8.0), (8.0, low), (right, low)]

    def hidden(corner: tuple[float, float]) -> int:
        start = np.array(corner)
        inside = (drawn >= start - 20).all(axis=1) & (drawn <= start + np.array([width + 20, height + 50])).all(
            axis=1
        )
        return int(inside.sum())

    return min(corners, key=hidden)
