"""How likely each pixel is of the item: what is said pixel by pixel, of the whole scene, and of the one thing in it, together."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy as np

from insertgen.photo import pixelwise
from insertgen.photo.light import Float
from insertgen.photo.load import Photo
from insertgen.photo.nearer import nearer_odds
from insertgen.photo.odds import BENCH
from insertgen.photo.pieces import item_pieces
from insertgen.photo.scene import look_at_scene, odds_of
from insertgen.photo.surface import Surface
from insertgen.photo.thin_parts import with_thin_parts

__all__ = ["log_odds"]

_BY_PIXEL, _BY_SCENE, _BY_BODY = 0.2, 0.2, 0.6  # shares of the voices
_MOST = 5.0  # log odds that a voice may put in: however sure, it is not to outvote the others


def log_odds(surface: Surface, photo: Photo | None) -> Float:
    """log(item / bench) per working pixel: mean of three voices that err apart; far below 0 on paper.

    The small networks measure every pixel against the bench and lose wooden handles on wood, and dark walls to their
    shade; the one that sees the scene knows how a tool hangs together and takes shade under a shaft for tool; the
    one that looks at what was found knows a body best, and counts for three. Where they differ, the surer prevails.

    Parameters
    ----------
    surface : Surface
    photo : Photo or None
        None: the first voice alone, since a photo less that of its bench looks like no scene.
    """
    if photo is None:
        return pixelwise.log_odds(surface)
    scene = look_at_scene(photo, surface)
    with ThreadPoolExecutor(1) as aside:  # both leave the interpreter to others nearly all the time
        said = aside.submit(odds_of, scene)
        by_pixel = pixelwise.log_odds(surface)
        odds = said.result()
    found = item_pieces(np.asarray(odds > 0), odds)
    nearer = nearer_odds(photo, scene, odds, found[0]) if found else odds  # not beside the others: it takes most memory
    of_scene, of_body = (cv2.resize(_capped(voice), by_pixel.shape[::-1], interpolation=cv2.INTER_LINEAR) for voice in (odds, nearer))
    result = np.asarray(_BY_PIXEL * _capped(by_pixel) + _BY_SCENE * of_scene + _BY_BODY * of_body, np.float32)
    result = with_thin_parts(result, np.asarray(of_body, np.float32))
    result[surface.paper] = BENCH
    return result


def _capped(odds: Float) -> Float:
    return np.clip(odds, np.float32(-_MOST), np.float32(_MOST))
