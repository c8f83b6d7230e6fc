"""Holes as they are seen close: which of those that were found or may be holes are bench, and which stay in doubt."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.brink import Brink
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["settled_holes"]

_SURE = 1.5  # median log odds of a place by the network that sees the photo's own pixels; beyond that it settles it
_LIKE_ITEM = 3.0  # beyond that a hole found by its hue and edges is a mark on the item, and not worth a word
_NARROW = 16.0  # working px, half its width: that far the network sees the rim; deeper inside it repeats what it is told
_RIM = 2  # working px of item round a hole, at least


def settled_holes(body: Bool, found: Bool, doubted: Bool, brink: Brink, surface: Surface) -> tuple[Bool, Bool]:
    """The holes, and the places that stay in doubt; each place as a whole, by its median. One in doubt that is a hole goes as far as it is seen.

    A slot of a few working pixels is mostly edge there. What was found as a hole by its hue and edges is none, if it looks like
    the item from near; by a little, and it stays in doubt. In 109 photos that may be opened there were three such (medians of 1.2 to 5.4); of
    42 true holes all but one, of 94 px beside a bow of wire (0.6), had medians below -6. In 37 rendered since there was one more (2.0): the lit
    part of a slot in deep shade.

    Parameters
    ----------
    body, found, doubted : bool arrays, h x w
        The item, holes filled, and the places in it; working px.
    brink : Brink
        The close look; both must have been seen.
    surface : Surface
    """
    holes, doubts, opened = found.copy(), doubted.copy(), np.zeros_like(found)
    for place, said in _said(found, brink, surface):
        if said > 0:
            holes &= ~place
            doubts |= place & (said < _LIKE_ITEM)
    for place, said in _said(doubted, brink, surface):
        if cv2.distanceTransform(place.astype(np.uint8), cv2.DIST_L2, 5).max() > _NARROW or abs(said) < _SURE:
            continue
        doubts &= ~place
        if said < 0:
            opened |= place
    return (holes | _grown(opened, body, brink, surface) if opened.any() else holes), doubts


def _grown(opened: Bool, body: Bool, brink: Brink, surface: Surface) -> Bool:
    """The places with what is seen as bench beside them."""
    near = cv2.dilate(opened.astype(np.uint8), np.ones((2 * int(_NARROW) + 1,) * 2, np.uint8)) > 0
    beside = near & (cv2.erode(body.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=_RIM) > 0)
    rows, columns = np.nonzero(beside)
    bench = opened.copy()
    bench[rows, columns] |= brink.at(surface.to_photo(np.stack([columns, rows], axis=-1)[None].astype(float)))[0] < 0
    label = cv2.connectedComponents(bench.astype(np.uint8), connectivity=4)[1]
    return np.asarray(np.isin(label, label[opened]) & bench)


def _said(places: Bool, brink: Brink, surface: Surface) -> list[tuple[Bool, float]]:
    count, label = cv2.connectedComponents(places.astype(np.uint8), connectivity=4)
    apart = [np.asarray(label == at) for at in range(1, count)]
    return [(place, float(np.median(brink.at(surface.to_photo(np.argwhere(place)[None, :, ::-1].astype(float)))))) for place in apart]
