"""The networks that see more than a pixel, and how they are run."""

from __future__ import annotations

import lzma
from functools import cache
from importlib.resources import files

import cv2
import numpy as np

from insertgen.photo.light import Float

__all__ = ["run", "stored"]

_STRIDE = 32  # sides of what a network sees are multiples of this


def stored(name: str) -> bytes:
    """``far``, ``near`` or ``edge``: a file of the package in the open exchange format for networks (ONNX), compressed."""
    return files("insertgen.photo").joinpath(f"{name}.onnx.xz").read_bytes()


@cache
def _network(name: str) -> cv2.dnn.Net:
    return cv2.dnn.readNetFromONNX(np.frombuffer(lzma.decompress(stored(name)), np.uint8))


def run(name: str, planes: Float, beside: Float | None = None) -> Float:
    """Answers (answers x h x w) to planes (planes x h x w), filled up by mirroring to what the network takes.

    ``beside``: features of the whole, if the network takes any.
    """
    height, width = planes.shape[1:]
    down, right = -height % _STRIDE, -width % _STRIDE
    filled = np.pad(planes, ((0, 0), (0, down), (0, right)), mode="symmetric")
    network = _network(name)
    network.setInput(np.ascontiguousarray(filled[None], np.float32), "planes")
    if beside is not None:
        network.setInput(np.ascontiguousarray(beside[None, :, None, None], np.float32), "beside")
    return np.asarray(network.forward()[0, :, :height, :width], np.float32)
