"""Whether a square lies on the item, or the item on a square."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.agree import SquareFit
from insertgen.photo.camera import Array

__all__ = ["refuse_on_item"]

_DEPTH = 0.1  # of the square's side: how far a corner may seem to lie in the item


def refuse_on_item(fits: tuple[SquareFit, ...], ring: Array, name: str) -> None:
    """
    Raises
    ------
    PhotoError
        A square that is used lies in the outline (ring, n x 2 px), or reaches into it.
    """
    body = ring.astype(np.float32).reshape(-1, 1, 2)
    for at, fit in enumerate(fits, 1):
        quad = np.array(fit.corners_px)
        side = float(np.linalg.norm(quad - np.roll(quad, -1, axis=0), axis=1).mean())
        spots = [*quad, quad.mean(axis=0)]
        depth = max(cv2.pointPolygonTest(body, (float(x), float(y)), True) for x, y in spots)
        if fit.used and depth > _DEPTH * side:
            raise PhotoError(
                f"{name}: square {at} lies on the item, or the item on it; lay squares on the bench beside the item, "
                "not touching it, and take the photo again"
            )
