"""The one item of a photo: its rings in pixels, and how sure they are."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.boundary import Boundary, rings_of_mask
from insertgen.photo.camera import Array, Camera
from insertgen.photo.contour import snap
from insertgen.photo.load import Bool, Photo
from insertgen.photo.regions import find_region
from insertgen.photo.surface import Surface, look_at_bench

__all__ = ["Silhouette", "find_item", "from_mask"]

_LEAST_ITEM = 150.0  # mm2 on the bench: a 12 mm disc and more
_SECOND_ITEM = 0.15  # of the first one's area
_LEAST_HOLE = 20.0  # mm2: smaller ones are not looked for in a photo
_FRAME_GAP = 2  # working px
_SIGMA_MASK = 0.5
_SIGMA_SHARP, _SIGMA_WEAK = 0.5, 6.0  # px: on a clear edge, and where there is none to speak of
_WEAK_SHARE = 0.15
_MARK = "check the outline in the picture"


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """Rings in the photo.

    Attributes
    ----------
    boundary : Boundary
    sigma_px : float
        Standard error of the boundary's place, estimated.
    warnings : tuple of str
        Doubts about what is item and what is bench.
    """

    boundary: Boundary
    sigma_px: float
    warnings: tuple[str, ...] = ()


def from_mask(mask: Bool, name: str) -> Silhouette:
    """Rings of a mask made by hand.

    Raises
    ------
    PhotoError
        It touches the frame, or shows more than one item.
    """
    count, label, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8))
    areas = stats[1:, cv2.CC_STAT_AREA]
    order = np.argsort(-areas)
    if count > 2 and areas[order[1]] > _SECOND_ITEM * areas[order[0]]:
        raise PhotoError(f"{name}: the silhouette shows more than one item; paint one item white, all else black")
    mask = label == 1 + int(order[0])
    if _at_frame(mask, 1):
        raise PhotoError(f"{name}: the silhouette touches the edge of the photo; the whole item must be in it")
    return Silhouette(rings_of_mask(mask, least_hole=8.0), _SIGMA_MASK)


def find_item(photo: Photo, quads: list[Array], camera: Camera) -> Silhouette:
    """The one item that lies on the bench.

    Parameters
    ----------
    photo : Photo
    quads : list of arrays, 4 x 2
        Squares to leave out, pixels.
    camera : Camera
        For sizes on the bench.

    Raises
    ------
    PhotoError
        No item, two, or one at the frame.
    """
    surface = look_at_bench(photo, quads)
    region, _ = find_region(surface)
    mm2 = (camera.mm_per_pixel(np.array([photo.width_px / 2, photo.height_px / 2])) / surface.scale) ** 2
    mask = _one_item(region, mm2, photo.name)
    mask = _with_holes(mask, _LEAST_HOLE / mm2)
    rough = rings_of_mask(mask, least_hole=0.5 * _LEAST_HOLE / mm2)
    return _on_edges(photo, surface, rough)


def _one_item(region: Bool, mm2: float, name: str) -> Bool:
    whole = cv2.morphologyEx(region.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, label, stats, _ = cv2.connectedComponentsWithStats(whole)
    areas = stats[1:, cv2.CC_STAT_AREA] * mm2
    if count < 2 or areas.max() < _LEAST_ITEM:
        raise PhotoError(
            f"{name}: no item was found on the bench; lay it on a plain sheet of another colour, in soft light, and "
            "take the photo again, or give its silhouette"
        )
    order = np.argsort(-areas)
    if len(order) > 1 and areas[order[1]] > max(_SECOND_ITEM * areas[order[0]], _LEAST_ITEM):
        raise PhotoError(
            f"{name}: more than one item was found ({areas[order[0]]:.0f} and {areas[order[1]]:.0f} mm2); clear the bench "
            "of all but one item and its squares, or lay it on a plain sheet"
        )
    mask = label == 1 + int(order[0])
    if _at_frame(mask, _FRAME_GAP):
        raise PhotoError(
            f"{name}: the item touches the edge of the photo; take it again from farther away, with bench all round"
        )
    return np.asarray(mask)


def _at_frame(mask: Bool, gap: int) -> bool:
    return bool(mask[:gap].any() or mask[-gap:].any() or mask[:, :gap].any() or mask[:, -gap:].any())


def _with_holes(mask: Bool, least: float) -> Bool:
    """Small holes filled: gloss on the item far oftener than bench."""
    count, label, stats, _ = cv2.connectedComponentsWithStats((~mask).astype(np.uint8), connectivity=4)
    small = np.nonzero(stats[:, cv2.CC_STAT_AREA] < least)[0]
    del count
    return np.asarray(mask | np.isin(label, small[small > 0]))


def _on_edges(photo: Photo, surface: Surface, rough: Boundary) -> Silhouette:
    unit = max(photo.rgb.shape) / 2400.0
    reference = 0.02
    rings = [snap(photo.rgb, surface.to_photo(ring), reference, unit) for ring in (rough.outer, *rough.holes)]
    strength = np.concatenate([ring.strength for ring in rings])
    weak = float((strength < 0.35).mean())
    said = () if weak < _WEAK_SHARE else (f"{100 * weak:.0f} % of the outline lies on no clear edge; {_MARK}",)
    sigma = float(np.hypot(_SIGMA_SHARP, _SIGMA_WEAK * weak))
    return Silhouette(Boundary(rings[0].ring, tuple(ring.ring for ring in rings[1:])), sigma * unit, said)
