"""What else lies on the bench: a second item, or something that the frame cuts off.

A thing has a sharp edge and is thicker than a scratch; stains and shade are soft,
pencil lines and scratches thin.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.errors import PhotoError
from insertgen.photo.boundary import rings_of_mask
from insertgen.photo.contour import sharpness
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["refuse_bystanders"]

_UNLIKE = 5.0  # times the bench's usual scatter
_THICK = 9  # working px: no scratch is
_SHARP = 0.6  # mean sharpness of its edge, 0..1
_SHARE = 0.25  # of the item's area: what is smaller may be a chip or a screw
_APART = 31  # working px: what lies nearer may be the item's own shade or gloss
_LEAST = 300  # working px


def refuse_bystanders(rgb: NDArray[np.uint8], surface: Surface, item: Bool | None, name: str) -> None:
    """
    Raises
    ------
    PhotoError
        A second thing lies on the bench, or one touches the edge of the photo.
    """
    height, width = surface.paper.shape
    count, label, stats, _ = cv2.connectedComponentsWithStats(_unlike_bench(surface))
    near = np.zeros((height, width), bool)
    if item is not None:
        near = cv2.dilate(item.astype(np.uint8), np.ones((_APART, _APART), np.uint8)) > 0
    least = _LEAST if item is None else max(_LEAST, _SHARE * float(item.sum()))
    for at in range(1, count):
        x, y, w, h, area = (int(value) for value in stats[at])
        thing = np.asarray(label == at)
        if area < least or bool((thing & near).any()) or not _is_sharp(rgb, surface, thing):
            continue
        if x <= 2 or y <= 2 or x + w >= width - 2 or y + h >= height - 2:
            raise PhotoError(
                f"{name}: something on the bench touches the edge of the photo; move the camera or the item so that "
                "all of it is in the picture with bench all round, clear other things away, and take the photo again"
            )
        if item is not None:
            raise PhotoError(
                f"{name}: two items lie on the bench; leave one, clear the other away, and take the photo again"
            )


def _unlike_bench(surface: Surface) -> NDArray[np.uint8]:
    blurred = cv2.GaussianBlur(surface.departure, (0, 0), 1.5)
    bench = surface.departure[~surface.paper]
    middle = np.median(bench, axis=0)
    scatter = np.maximum(1.4826 * np.median(np.abs(bench - middle), axis=0), 0.02)
    off = np.sqrt((((blurred - middle) / scatter) ** 2).mean(axis=2))
    unlike = ((off > _UNLIKE) & ~surface.paper).astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_THICK, _THICK))
    return np.asarray(cv2.morphologyEx(unlike, cv2.MORPH_OPEN, disc), np.uint8)


def _is_sharp(rgb: NDArray[np.uint8], surface: Surface, thing: Bool) -> bool:
    ring = surface.to_photo(rings_of_mask(thing).outer)
    return sharpness(rgb, ring, max(rgb.shape) / 2400.0)[0] >= _SHARP
