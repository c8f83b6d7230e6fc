"""Small networks of dense layers, asked together: numbers of a pixel to how likely it is of the item."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from insertgen.photo.light import Float

__all__ = ["Committee", "Network"]

_STRIP = 65536
_CERTAIN = -5.0  # log odds below which the first member is not contradicted: most of a bench, and it saves time


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


@dataclass(frozen=True, slots=True)
class Committee:
    """Networks that learnt from different photos; the mean of their log odds errs less than any one."""

    members: tuple[Network, ...]

    def __call__(self, x: Float) -> Float:
        """Log odds for rows of x, n x inputs."""
        odds = self.members[0](x)
        open_to_doubt = odds > _CERTAIN
        if len(self.members) > 1 and open_to_doubt.any():
            rows = x[open_to_doubt]
            total = odds[open_to_doubt] + sum(member(rows) for member in self.members[1:])
            odds[open_to_doubt] = total / len(self.members)
        return odds
