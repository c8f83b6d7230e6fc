"""What can be said of a pixel without knowing the item: colour, texture and edges against the bench's own."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from insertgen.photo.enclosure import enclosed_at, enclosure, levels
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.shade import ShadowLine, shadow_line
from insertgen.photo.surface import Surface

__all__ = ["COUNT", "context", "features", "line_of", "off_line"]

_SCALES = (1.0, 3.0, 8.0)  # working px, blur of colours
_UNITS = (0.5, 0.15, 0.15)  # log light: brightness, two hues
_OFF_LINE = 0.05  # log light
_TEXTURE = (2.0, 6.0)
_CONTEXT = (2.0, 6.0, 16.0, 40.0)
COUNT = 28


def features(surface: Surface) -> Float:
    """h x w x COUNT, each of the order of 1; nothing in them tells one direction of the photo from another."""
    every = np.empty((COUNT, *surface.paper.shape), np.float32)  # plane by plane in memory: written pixel by pixel it takes twice the time
    for at, plane in enumerate(_planes(surface)):
        every[at] = plane
    return every.transpose(1, 2, 0)


def _planes(surface: Surface) -> Iterator[Float]:
    bright = surface.departure.mean(axis=2)
    red, blue = surface.departure[:, :, 0] - bright, surface.departure[:, :, 2] - bright
    bench = ~surface.paper
    noise = []
    for sigma in _SCALES:
        for channel, unit in zip((bright, red, blue), _UNITS, strict=True):
            smooth = cv2.GaussianBlur(channel, (0, 0), sigma)
            yield np.arcsinh(smooth / np.float32(unit))
            if sigma == _SCALES[0]:
                noise.append(_scatter(smooth[bench]))
    hue = np.hypot(*(
        cv2.GaussianBlur(channel, (0, 0), 1.0) / np.float32(usual) for channel, usual in ((red, noise[1]), (blue, noise[2]))
    ))  # fmt: skip
    yield np.log(hue + np.float32(0.5))
    yield np.arcsinh(cv2.GaussianBlur(bright, (0, 0), 1.0) / np.float32(noise[0])) * np.float32(0.5)
    fine = bright - cv2.GaussianBlur(bright, (0, 0), 4.0)
    tint = blue - red - cv2.GaussianBlur(blue - red, (0, 0), 4.0)
    for channel in (fine, tint):
        for sigma in _TEXTURE:
            rough = np.sqrt(cv2.GaussianBlur(channel**2, (0, 0), sigma))
            yield np.log((rough + np.float32(1e-3)) / np.float32(np.median(rough[bench]) + 1e-3))
    for edge in (surface.edge, surface.crisp, surface.sharp):
        strong = max(float(np.percentile(edge[bench], 95)), 0.004)
        yield np.log1p(edge / np.float32(strong))
        yield np.log1p(np.asarray(cv2.dilate(edge, np.ones((9, 9), np.uint8)), np.float32) / np.float32(strong))
    for edge in (surface.edge, surface.crisp):
        enclosed = enclosure(edge, levels(edge, surface.paper))
        strong = max(float(np.percentile(edge[bench], 97)), 0.01)
        yield np.log1p(enclosed / np.float32(strong))
        yield np.log1p(enclosed * np.float32(20.0))
    yield np.full(bright.shape, np.log(noise[0] / 0.05), np.float32)
    yield np.full(bright.shape, np.log(noise[1] / 0.01), np.float32)
    yield np.full(bright.shape, np.log(float(np.percentile(surface.crisp[bench], 97)) / 0.02 + 0.05), np.float32)


def context(likely: Float) -> Float:
    """h x w x 8: what an earlier guess (0..1) says of the pixel's surroundings (auto-context: Tu, Bai 2010)."""
    found: list[Float] = [likely]
    for sigma in _CONTEXT:
        small = cv2.resize(likely, None, fx=1 / 4, fy=1 / 4, interpolation=cv2.INTER_AREA) if sigma > 8 else likely
        smooth = cv2.GaussianBlur(small, (0, 0), sigma / 4 if sigma > 8 else sigma)
        large = cv2.resize(smooth, likely.shape[::-1], interpolation=cv2.INTER_LINEAR) if sigma > 8 else smooth
        found.append(np.asarray(large, np.float32))
    # weakest barrier: from how probable a level on is the pixel walled in
    found.append(_walled(likely))
    kernel = np.ones((5, 5), np.uint8)
    found.append(np.asarray(cv2.erode(likely, kernel), np.float32))
    found.append(np.asarray(cv2.dilate(likely, kernel), np.float32))
    return np.stack(found, axis=-1)


def line_of(rows: Float, bench: Bool, likely: Float) -> ShadowLine:
    """The bench's shadow line, from the rows of `features` that are ``bench`` (bool, n) and an earlier guess (n)."""
    return shadow_line(*_colours(rows, 1, bench), likely[bench])


def off_line(rows: Float, line: ShadowLine) -> Float:
    """n x 5: how far the colours of rows of `features` lie off the bench's shadow line, at two blurs."""
    found = []
    for scale in (0, 1):
        found += [np.arcsinh(off / np.float32(_OFF_LINE)) for off in line.off(*_colours(rows, scale))]
    found.append(np.log(np.hypot(found[2], found[3]) + np.float32(0.1)))
    return np.stack(found, axis=-1).astype(np.float32)


def _colours(rows: Float, scale: int, chosen: Bool | slice = slice(None)) -> tuple[Float, Float, Float]:
    """Brightness and two hues (log light) back from rows of `features`."""
    values = [np.sinh(rows[:, 3 * scale + at][chosen]) * np.float32(unit) for at, unit in enumerate(_UNITS)]
    return values[0], values[1], values[2]


def _walled(likely: Float) -> Float:
    result = likely.copy()
    for level in (0.2, 0.4, 0.6, 0.8):
        inside = enclosed_at(likely, level)
        result[inside] = np.maximum(result[inside], level)
    return result


def _scatter(values: Float) -> float:
    return max(1.4826 * float(np.median(np.abs(values - np.median(values)))), 0.003)
