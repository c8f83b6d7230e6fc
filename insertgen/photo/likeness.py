"""How likely each pixel is of the item: what is said pixel by pixel, and what is said of the whole scene, together."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy as np

from insertgen.photo import pixelwise
from insertgen.photo.light import Float
from insertgen.photo.load import Photo
from insertgen.photo.nearer import with_nearer_look
from insertgen.photo.odds import BENCH
from insertgen.photo.pieces import item_pieces
from insertgen.photo.scene import look_at_scene, odds_of
from insertgen.photo.surface import Surface

__all__ = ["log_odds"]


def log_odds(surface: Surface, photo: Photo | None) -> Float:
    """log(item / bench) per working pixel: mean of two voices that err apart; far below 0 on paper.

    The small networks measure every pixel against the bench and lose wooden handles on wood; the large one knows how
    a tool hangs together and takes shade under a shaft for tool. Where they differ, the surer one prevails.

    Parameters
    ----------
    surface : Surface
    photo : Photo or None
        None: the first voice alone, since a photo less that of its bench looks like no scene.
    """
    if photo is None:
        return pixelwise.log_odds(surface)
    with ThreadPoolExecutor(1) as aside:  # both leave the interpreter to others nearly all the time
        of_scene = aside.submit(_of_scene, photo, surface)
        by_pixel = pixelwise.log_odds(surface)
        return np.asarray((by_pixel + of_scene.result()) / 2, np.float32)


def _of_scene(photo: Photo, surface: Surface) -> Float:
    scene = look_at_scene(photo, surface)
    odds = odds_of(scene)
    found = item_pieces(np.asarray(odds > 0), odds)
    if found:
        odds = with_nearer_look(photo, scene, odds, found[0])
    result = np.asarray(cv2.resize(odds, surface.paper.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)
    result[surface.paper] = BENCH
    return result
