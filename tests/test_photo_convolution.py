"""The stored networks, run by OpenCV, against another reader of the same open format: onnxruntime (from the registry)."""

from __future__ import annotations

import lzma

import numpy as np
import onnxruntime
import pytest

from insertgen.photo.convolution import run, stored

PLANES = {"far": 6, "near": 7, "edge": 8, "body": 6}


@pytest.mark.parametrize("name", sorted(PLANES))
@pytest.mark.parametrize("size", [(128, 128), (117, 110)])
def test_both_readers_say_the_same(name: str, size: tuple[int, int]) -> None:
    """To a thousandth of a log odd; sizes that the network does not take are filled up by mirroring, then cut."""
    planes = np.random.default_rng(3).normal(size=(PLANES[name], *size)).astype(np.float32)
    session = onnxruntime.InferenceSession(lzma.decompress(stored(name)), providers=["CPUExecutionProvider"])
    padded = np.pad(planes, ((0, 0), (0, -size[0] % 32), (0, -size[1] % 32)), mode="symmetric")
    (odds,) = session.run(None, {"planes": padded[None]})
    assert np.abs(run(name, planes) - odds[0, :, : size[0], : size[1]]).max() < 1e-3
