"""A look at the one thing that was found, by a network that learnt from everyday photos what a thing is.

The published network U2-Net in its small form (Qin et al., Pattern Recognition 2020), learnt on for tools and their
shadows (by ``tests/bench/body_train.py``). It tells a body from the shade it throws where surfaces alone do not: the
dark side of a wall seen aslant is of the thing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from insertgen.photo.convolution import run
from insertgen.photo.light import Float, log_light
from insertgen.photo.load import Bool
from insertgen.photo.scene import DARK, planes_of

__all__ = ["body_odds", "body_planes"]

# of everyday photos (ImageNet), red, green, blue of 0..1: what the published network learnt with
_MIDDLE = np.array([0.485, 0.456, 0.406], np.float32)
_SCATTER = np.array([0.229, 0.224, 0.225], np.float32)


def body_planes(rgb: NDArray[np.uint8], level: Float, bench: Bool) -> Float:
    """What the network sees (6 x h x w): the picture, and how far it departs from the bench by the bench's own scatter.

    Parameters
    ----------
    rgb : uint8 array, h x w x 3
    level : float32 array, h x w x 3
        Log light of the bench's smooth surface.
    bench : bool array, h x w
        Pixels that are mostly bench.
    """
    tone = log_light(rgb, DARK)
    seen = (rgb.astype(np.float32) / 255 - _MIDDLE) / _SCATTER
    return np.concatenate([seen.transpose(2, 0, 1), planes_of(tone, tone - level, bench)[3:]])


def body_odds(rgb: NDArray[np.uint8], level: Float, bench: Bool) -> Float:
    """log(item / bench) per pixel, the mean of two mirrored views; arguments as for `body_planes`."""
    planes = body_planes(rgb, level, bench)
    total = np.zeros(planes.shape[1:], np.float32)
    for way in (1, -1):
        total += run("body", planes[:, :, ::way])[0][:, ::way]
    return total / np.float32(2)
