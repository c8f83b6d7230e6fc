"""What the user says of the photo: a place on the item, a place on the bench, where to look."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool, Photo
from insertgen.photo.surface import Surface

__all__ = ["NO_HINTS", "Hints", "check_hints", "fits_hints", "holds_any", "mended_holes", "reaches_crop", "with_hints"]

_SURE = 6.0  # log odds at a place named
_SPREAD = 4.0  # log odds added where the same surface goes on
_DISC = 5  # working px round a place
_ALIKE = 3.0  # times the scatter of colours in the disc: the same surface
_LEAST_SCATTER = (0.06, 0.02, 0.02)  # log light: brightness, two hues
_EDGE = 2.0  # times the disc's strongest edge stops the spread
_LEAST_CROP = 100  # px


@dataclass(frozen=True, slots=True)
class Hints:
    """Places in pixels of the photo shown upright, from its top left corner.

    Attributes
    ----------
    inside, outside : tuples of (x, y)
        Places on the item (not in a hole), and on the bench (or its shade).
    crop : (x0, y0, x1, y1) or None
        The item is in here.
    """

    inside: tuple[tuple[float, float], ...] = ()
    outside: tuple[tuple[float, float], ...] = ()
    crop: tuple[float, float, float, float] | None = None

    def __bool__(self) -> bool:
        return bool(self.inside or self.outside or self.crop)


NO_HINTS = Hints()


def check_hints(hints: Hints, photo: Photo, quads: list[Array]) -> None:
    """Refuse hints that cannot be meant.

    Raises
    ------
    PhotoError
        A place beyond the photo or the crop, on a square, or named twice with both meanings; a crop with no area.
    """
    size = f"the photo upright is {photo.width_px} x {photo.height_px} px, counted from its top left corner"
    if hints.crop is not None:
        x0, y0, x1, y1 = hints.crop
        if not (0 <= x0 < x1 <= photo.width_px and 0 <= y0 < y1 <= photo.height_px):
            raise PhotoError(
                f"{photo.name}: --crop {_words(hints.crop)} is not within the photo; {size}; give x0,y0,x1,y1 with "
                "x0 < x1 and y0 < y1"
            )
        if min(x1 - x0, y1 - y0) < _LEAST_CROP:
            raise PhotoError(f"{photo.name}: --crop {_words(hints.crop)} is under {_LEAST_CROP} px wide or high; take in the whole item")
    for option, places in (("--inside", hints.inside), ("--outside", hints.outside)):
        for place in places:
            _check_place(option, place, hints, photo, quads, size)
    for place in hints.inside:
        near = [other for other in hints.outside if np.hypot(place[0] - other[0], place[1] - other[1]) < 4.0]
        if near:
            raise PhotoError(f"{photo.name}: {_words(place)} is said to be inside and outside; mend one of the two")


def _check_place(option: str, place: tuple[float, float], hints: Hints, photo: Photo, quads: list[Array], size: str) -> None:
    x, y = place
    if not (0 <= x < photo.width_px and 0 <= y < photo.height_px):
        raise PhotoError(f"{photo.name}: {option} {_words(place)} is not in the photo; {size}")
    if option == "--inside" and hints.crop is not None and not (hints.crop[0] <= x <= hints.crop[2] and hints.crop[1] <= y <= hints.crop[3]):
        raise PhotoError(f"{photo.name}: --inside {_words(place)} lies beyond --crop {_words(hints.crop)}")
    for number, quad in enumerate(quads, 1):
        if option == "--inside" and cv2.pointPolygonTest(quad.astype(np.float32).reshape(-1, 1, 2), (x, y), False) >= 0:
            raise PhotoError(f"{photo.name}: --inside {_words(place)} lies on reference square {number}; name a place on the item")


def with_hints(surface: Surface, odds: Float, hints: Hints) -> Float:
    """Log odds with the places named made certain, and likelier where the same surface goes on from them."""
    result = odds.copy()
    for sign, places in ((1.0, hints.inside), (-1.0, hints.outside)):
        for place in places:
            result += np.float32(sign * _SPREAD) * _same_surface(surface, place)
    for sign, places in ((1.0, hints.inside), (-1.0, hints.outside)):
        for place in places:
            result[_disc(surface, place)] = sign * _SURE
    if hints.crop is not None:
        result[~_window(surface, hints.crop)] = -_SURE
    return result


def fits_hints(surface: Surface, region: Bool, hints: Hints, holes: Bool | None = None) -> bool:
    """Whether a region holds every place named inside, none named outside, and keeps to the crop."""
    solid = region if holes is None else region & ~holes
    ok = all(solid[_spot(surface, place)] for place in hints.inside)
    ok = ok and not any(solid[_spot(surface, place)] for place in hints.outside)
    if ok and hints.crop is not None:
        ok = not bool((region & ~_window(surface, hints.crop)).any())
    return ok


def mended_holes(surface: Surface, odds: Float, body: Bool, holes: Bool, hints: Hints) -> Bool:
    """Holes in ``body`` less those named inside, and with what is likely bench round each place named outside."""
    result = holes.copy()
    for place in hints.inside:
        if result[_spot(surface, place)]:
            result &= ~_piece(result, _spot(surface, place))
    within = cv2.erode(body.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    for place in hints.outside:
        if within[_spot(surface, place)] and not result[_spot(surface, place)]:
            result |= _piece(within & (odds < 0), _spot(surface, place))
    return result


def _piece(region: Bool, spot: tuple[int, int]) -> Bool:
    _, label = cv2.connectedComponents(region.astype(np.uint8), connectivity=4)
    return np.asarray((label == label[spot]) & region)


def holds_any(surface: Surface, region: Bool, places: tuple[tuple[float, float], ...]) -> bool:
    """Whether any of the places lies in the region."""
    return any(bool(region[_spot(surface, place)]) for place in places)


def reaches_crop(surface: Surface, region: Bool, hints: Hints) -> bool:
    """Whether the region goes on beyond the crop's edge, as far as can be seen: it touches it."""
    if hints.crop is None:
        return False
    inner = cv2.erode(_window(surface, hints.crop).astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=0) > 0
    return bool((region & ~inner).any())


def _spot(surface: Surface, place: tuple[float, float]) -> tuple[int, int]:
    x, y = np.round(surface.to_work(np.array(place))).astype(int)
    height, width = surface.paper.shape
    return int(np.clip(y, 0, height - 1)), int(np.clip(x, 0, width - 1))


def _disc(surface: Surface, place: tuple[float, float]) -> Bool:
    spot = np.zeros(surface.paper.shape, np.uint8)
    row, column = _spot(surface, place)
    cv2.circle(spot, (column, row), _DISC, 1, -1)
    return np.asarray(spot > 0)


def _same_surface(surface: Surface, place: tuple[float, float]) -> Float:
    """1 where colours like those at the place go on from it without an edge between, else 0."""
    bright = surface.departure.mean(axis=2)
    colours = np.stack([bright, surface.departure[:, :, 0] - bright, surface.departure[:, :, 2] - bright], axis=-1)
    colours = cv2.GaussianBlur(colours, (0, 0), 1.5)
    disc = _disc(surface, place)
    middle = np.median(colours[disc], axis=0)
    scatter = np.maximum(colours[disc].std(axis=0), _LEAST_SCATTER)
    alike = (np.abs(colours - middle) < _ALIKE * scatter).all(axis=2)
    alike &= surface.edge < _EDGE * max(float(np.percentile(surface.edge[disc], 95)), 0.01)
    _, label = cv2.connectedComponents((alike | disc).astype(np.uint8), connectivity=4)
    return np.asarray(label == label[_spot(surface, place)], np.float32)


def _window(surface: Surface, crop: tuple[float, float, float, float]) -> Bool:
    low = np.maximum(np.floor(surface.to_work(np.array(crop[:2]))).astype(int), 0)
    high = np.ceil(surface.to_work(np.array(crop[2:]))).astype(int)
    window = np.zeros(surface.paper.shape, bool)
    window[low[1] : high[1] + 1, low[0] : high[0] + 1] = True
    return window


def _words(numbers: tuple[float, ...]) -> str:
    return ",".join(f"{number:g}" for number in numbers)
