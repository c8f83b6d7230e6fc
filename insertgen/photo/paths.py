"""The best closed path through a strip of values: dynamic programming."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from insertgen.photo.camera import Array

__all__ = ["best_path"]

_REACH = 2  # steps sideways from one row to the next
_LEAD_IN = 80  # rows run twice, so that the ends meet: the start is forgotten long before


def best_path(gain: Array, stiffness: float) -> NDArray[np.intp]:
    """Column per row of greatest total gain less ``stiffness`` a step sideways; the last row is next to the first.

    Amini, Weymouth, Jain 1990, dynamic programming for active contours.
    """
    count, width = gain.shape
    lead = min(count, _LEAD_IN)
    rows = np.concatenate([gain[-lead:], gain, gain[:lead]])
    moves = np.abs(np.arange(-_REACH, _REACH + 1))
    cost = (stiffness * moves * np.where(moves > 1, 1.5, 1.0))[:, None]
    back = np.zeros((len(rows), width), np.intp)
    padded = np.full(width + 2 * _REACH, -1e9)
    around = sliding_window_view(padded, width)
    columns = np.arange(width)
    padded[_REACH:-_REACH] = rows[0]
    for row in range(1, len(rows)):
        options = around - cost
        choice = options.argmax(axis=0)
        back[row] = choice
        padded[_REACH:-_REACH] = options[choice, columns] + rows[row]
    path = np.empty(len(rows), np.intp)
    path[-1] = int(padded[_REACH:-_REACH].argmax())
    for row in range(len(rows) - 1, 0, -1):
        path[row - 1] = path[row] + back[row, path[row]] - _REACH
    return path[lead : lead + count]
