"""Log odds at the photo's own size, close to the rough edge of an item, by a network that sees the edge and its surroundings.

A convolutional network as in `scene`, but of tiles at full size, and told what is roughly item; learnt likewise. It is asked
twice: its own first word is a better guess of the item than the rough one, above all where that one was far off.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.photo.camera import Array
from insertgen.photo.convolution import run
from insertgen.photo.corners import sample
from insertgen.photo.light import Float, log_light
from insertgen.photo.load import Bool, Photo
from insertgen.photo.scene import DARK, planes_of
from insertgen.photo.surface import Surface

__all__ = ["Brink", "close_planes", "look_closely"]

_SIDE = 2400  # px: the network learnt at no more than that
_REACH = 16  # px of that, inwards from the rough edge
_BEYOND = 48  # and outwards: what stands out of the item and is thin, the rough odds may not know
_MARGIN = 48
_TILE, _LAP = 256, 24  # px: tiles that are looked at, and how far they lap over
_ROUGH = 3.0  # the network was given rough log odds in these units
_CAP = 6.0
_FEWEST = 500  # px of bench to measure against
_LOOKS = 2  # the second is told what the first one said
_UNSURE = 2.0  # rough log odds nearer 0 than that are looked at as well


@dataclass(frozen=True, slots=True, eq=False)
class Brink:
    """Log odds (h x w) of a window of the photo: ``unit`` photo px a pixel, ``low`` its corner."""

    odds: Float
    low: Array
    unit: float

    def at(self, places: Array) -> Float:
        """Log odds at places (photo px, n x m x 2)."""
        return np.asarray(sample(self.odds, (places - self.low + 0.5) / self.unit - 0.5), np.float32)


def look_closely(photo: Photo, surface: Surface, odds: Float, region: Bool) -> Brink:
    """The window round a region (bool, working size): the network's second word near its edge, ``odds`` (working size) elsewhere."""
    unit = max(1.0, max(photo.rgb.shape) / _SIDE)
    rows, columns = (np.nonzero(region.any(axis=axis))[0] for axis in (1, 0))
    corners = surface.to_photo(np.array([[columns[0], rows[0]], [columns[-1], rows[-1]]], float))
    low = np.maximum(np.floor(corners[0]) - _MARGIN * unit, 0).astype(int)
    high = np.minimum(np.ceil(corners[1]) + _MARGIN * unit, [photo.width_px, photo.height_px]).astype(int)
    seen = photo.rgb[low[1] : high[1], low[0] : high[0]]
    size = (round(seen.shape[1] / unit), round(seen.shape[0] / unit))
    if unit > 1.0:
        seen = np.asarray(cv2.resize(seen, size, interpolation=cv2.INTER_AREA), np.uint8)
    places = surface.to_work((np.stack(np.meshgrid(np.arange(size[0]), np.arange(size[1])), axis=-1) + 0.5) * unit - 0.5 + low)
    rough = np.asarray(np.clip(sample(odds, places), -_CAP, _CAP), np.float32)
    core = np.asarray(sample(region.astype(np.float32), places) > 0.5)
    around = rough < -_UNSURE
    planes = close_planes(log_light(seen, DARK), rough, around if around.sum() > _FEWEST else np.ones_like(around))
    band, said = _band(core, rough), rough
    for _ in range(_LOOKS):
        planes[-1] = np.clip(said, -_CAP, _CAP) / np.float32(_ROUGH)
        said = _in_tiles(planes, rough, band)
    return Brink(said, low.astype(float), unit)


def close_planes(tone: Float, rough: Float, bench: Bool) -> Float:
    """What the network sees (7 x h x w): `scene.planes_of` of the window alone, and the rough log odds."""
    middle = np.median(tone[bench][::5], axis=0)
    return np.concatenate([planes_of(tone, tone - middle, bench), rough[None] / np.float32(_ROUGH)])


def _band(region: Bool, rough: Float) -> Bool:
    within, beyond = (cv2.distanceTransform(side.astype(np.uint8), cv2.DIST_L2, 5) for side in (region, ~region))
    return np.asarray((beyond <= _BEYOND) & ((within <= _REACH) | (np.abs(rough) < _UNSURE)))


def _in_tiles(planes: Float, rough: Float, band: Bool) -> Float:
    result = rough.copy()
    height, width = band.shape
    step = _TILE - 2 * _LAP
    for top in range(0, height, step):
        for left in range(0, width, step):
            inner = (slice(top, min(top + step, height)), slice(left, min(left + step, width)))
            if not band[inner].any():
                continue
            first = (max(top - _LAP, 0), max(left - _LAP, 0))
            outer = (slice(first[0], min(top + step + _LAP, height)), slice(first[1], min(left + step + _LAP, width)))
            said = run("near", planes[:, outer[0], outer[1]])[0]
            said = said[inner[0].start - first[0] : inner[0].stop - first[0], inner[1].start - first[1] : inner[1].stop - first[1]]
            result[inner] = np.where(band[inner], said, result[inner])
    return result
