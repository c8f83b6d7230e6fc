"""The bench's own shadow line: how its hue changes where less light falls on it, learnt from the photo.

In logarithms of light a shadow moves the colours of a surface along one line (Finlayson, Hordley, Lu, Drew 2006);
what lies off that line is no shadow, however dark.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from insertgen.photo.light import Float

__all__ = ["ShadowLine", "shadow_line"]

_DARKER = 0.05  # log light below the bench: less is no shadow
_DEEPEST = 1.5  # log light: what is darker says no more
_HELD = 40.0  # pixels of one unit of darkness that the usual line counts for
_USUAL = (-0.02, 0.02)  # red and blue per log light of darkness: skylight in shadows is bluer; no source


@dataclass(frozen=True, slots=True)
class ShadowLine:
    """Hue (red, blue: log light less brightness) of the bench per log light of brightness lost."""

    red: float
    blue: float

    def off(self, bright: Float, red: Float, blue: Float) -> tuple[Float, Float]:
        """How far hues lie off the line; brighter than the bench there is no line, and the bench's own hue counts."""
        dark = np.clip(-bright, 0.0, _DEEPEST)
        return red - np.float32(self.red) * dark, blue - np.float32(self.blue) * dark


def shadow_line(bright: Float, red: Float, blue: Float, likely: Float) -> ShadowLine:
    """Fit to what is darker than the bench and unlikely of the item (``likely`` 0..1); any shape, all the same.

    Least squares through the bench's own colour; held towards the usual line where there is little shadow.
    """
    dark = np.clip(-bright, 0.0, _DEEPEST)
    weight = np.where(dark > _DARKER, (1 - likely) ** 4, 0.0) * dark
    total = float((weight * dark).sum()) + _HELD
    slopes = (
        (float((weight * hue).sum()) + _HELD * usual) / total for hue, usual in zip((red, blue), _USUAL, strict=True)
    )
    return ShadowLine(*slopes)
