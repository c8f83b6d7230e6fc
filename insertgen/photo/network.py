"""A small network of dense layers: numbers of a pixel to how likely it is of the item."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from insertgen.photo.light import Float

__all__ = ["Network"]

_STRIP = 65536


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Layers of (weights in x out, offsets), rectified between; first ``x`` is shifted and scaled."""

    shift: Float
    scale: Float
    layers: tuple[tuple[Float, Float], ...]

    def __call__(self, x: Float) -> Float:
        """Log odds for rows of x, n x inputs."""
        out = np.empty(len(x), np.float32)
        for row in range(0, len(x), _STRIP):
            value = (x[row : row + _STRIP] - self.shift) * self.scale
            for at, (weight, offset) in enumerate(self.layers):
                value = value @ weight + offset
                if at < len(self.layers) - 1:
                    np.maximum(value, 0.0, out=value)
            out[row : row + _STRIP] = value[:, 0]
        return out
