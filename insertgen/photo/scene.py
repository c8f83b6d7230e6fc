"""How likely each pixel is of an item, by a network that sees the whole photo.

A convolutional network with skips between its levels (Ronneberger, Fischer, Brox 2015), learnt on rendered scenes
of invented tools of any form and colour (by ``tests/bench/scene_train.py``), asked in two mirrored views.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.photo.convolution import run
from insertgen.photo.light import Float
from insertgen.photo.load import Bool, Photo
from insertgen.photo.odds import BENCH
from insertgen.photo.surface import Surface, reduced_light, smooth_surface

__all__ = ["DARK", "Scene", "look_at_scene", "mirrored_odds", "odds_of", "planes_of"]

_SIDE = 800  # px of the longer side: the size that the network learnt at
DARK = 0.02  # added to the light that the large networks see, see `log_light`
_LEAST_SCATTER = (0.006, 0.002, 0.002)  # log light of brightness and two hues: drawn benches have none
_VIEWS = ((1, 1), (-1, -1))


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """The photo at the network's size.

    Attributes
    ----------
    scale : float
        Pixels of the scene per photo pixel.
    tone, level : float32 arrays, h x w x 3
        Log light (red, green, blue), and the bench's smooth surface.
    paper : bool array, h x w
        Squares and the sheets they are printed on.
    """

    scale: float
    tone: Float
    level: Float
    paper: Bool

    def to_photo(self, px: Float) -> Float:
        return (px + 0.5) / self.scale - 0.5


def look_at_scene(photo: Photo, surface: Surface) -> Scene:
    """The photo reduced, with what ``surface`` found to be paper."""
    scale = min(1.0, _SIDE / max(photo.rgb.shape))
    tone = reduced_light(photo, scale, DARK)
    paper = cv2.resize(surface.paper.astype(np.float32), tone.shape[1::-1], interpolation=cv2.INTER_LINEAR) > 0.5
    return Scene(scale, tone, smooth_surface(tone, paper), np.asarray(paper))


def planes_of(tone: Float, departure: Float, bench: Bool) -> Float:
    """What the network sees (6 x h x w): log light, and how far it departs from the bench by the bench's own scatter.

    Pale steel on pale paper differs by a few hundredths, on wood the grain by more: a threshold, learnt or not, needs
    the scatter. Of brightness and two hues apart, since grain and shade have little hue.

    Parameters
    ----------
    tone : float32 array, h x w x 3
        Log light.
    departure : float32 array, h x w x 3
        The same less the bench's smooth surface.
    bench : bool array, h x w
        Pixels that are mostly bench.
    """
    bright = departure.mean(axis=2)
    split = np.stack([bright, departure[:, :, 0] - bright, departure[:, :, 2] - bright], axis=-1)
    smooth = cv2.GaussianBlur(split, (0, 0), 1.0)[bench][::5]
    middle = np.median(smooth, axis=0)
    scatter = np.maximum(1.4826 * np.median(np.abs(smooth - middle), axis=0), _LEAST_SCATTER)
    planes = np.concatenate([tone - np.median(tone[bench][::5], axis=0), np.arcsinh((split - middle) / scatter) / 2], axis=2)
    return np.asarray(planes.transpose(2, 0, 1), np.float32)


def odds_of(scene: Scene) -> Float:
    """log(item / bench) per pixel of the scene; far below 0 on paper."""
    odds = mirrored_odds(planes_of(scene.tone, scene.tone - scene.level, ~scene.paper))
    odds[scene.paper] = BENCH
    return odds


def mirrored_odds(planes: Float) -> Float:
    """Mean of the log odds of two mirrored views."""
    total = np.zeros(planes.shape[1:], np.float32)
    for down, right in _VIEWS:
        total += run("far", planes[:, ::down, ::right])[0][::down, ::right]
    return total / np.float32(len(_VIEWS))
