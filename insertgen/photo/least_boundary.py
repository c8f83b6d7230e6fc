"""A region whose boundary is short and runs on edges, weighed against what each pixel says of itself.

Minimises ``sum w |grad u| + sum f u`` over u in [0, 1], whose rounded minimum is
the best region (Chan, Esedoglu, Nikolova 2006), by the primal-dual method of
Chambolle and Pock (2011).
"""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.light import Float

__all__ = ["least_boundary"]


def least_boundary(weight: Float, cost: Float, iterations: int) -> Float:
    """u in [0, 1], h x w, that nearly minimises ``sum weight |grad u| + sum cost u``."""
    u = (cost < 0).astype(np.float32)
    bar = u.copy()
    px, py = np.zeros_like(weight), np.zeros_like(weight)
    step = np.float32(1 / np.sqrt(8))  # both steps: step^2 |grad|^2 <= 1, |grad|^2 = 8
    for _ in range(iterations):
        px[:, :-1] += step * (bar[:, 1:] - bar[:, :-1])
        py[:-1] += step * (bar[1:] - bar[:-1])
        shrink = np.minimum(1.0, weight / np.maximum(cv2.magnitude(px, py), np.float32(1e-9)))
        px *= shrink
        py *= shrink
        pull = px + py
        pull[:, 1:] -= px[:, :-1]
        pull[1:] -= py[:-1]
        fresh = np.clip(u + step * (pull - cost), 0.0, 1.0)
        bar = 2 * fresh - u
        u = fresh
    return u
