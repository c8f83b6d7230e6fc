"""The stored networks, run by OpenCV, against another reader of the same open format: onnxruntime (from the registry)."""

from __future__ import annotations

import lzma

import numpy as np
import onnxruntime
import pytest

from insertgen.photo.convolution import run, stored
from insertgen.photo.edge_heights import SIDE
from insertgen.photo.form import FEATURES

PLANES = {"far": 6, "near": 7, "edge": 10, "body": 6}
BESIDE = {"edge": FEATURES}


OF_ONE_SIZE = {"edge": [(SIDE, SIDE), (SIDE - 11, SIDE - 18)]}


@pytest.mark.parametrize(("name", "size"), [(name, size) for name in sorted(PLANES) for size in OF_ONE_SIZE.get(name, [(128, 128), (117, 110)])])
def test_both_readers_say_the_same(name: str, size: tuple[int, int]) -> None:
    """To a thousandth of a log odd; sizes that the network does not take are filled up by mirroring, then cut."""
    rng = np.random.default_rng(3)
    planes = rng.normal(size=(PLANES[name], *size)).astype(np.float32)
    beside = rng.normal(size=BESIDE[name]).astype(np.float32) if name in BESIDE else None
    session = onnxruntime.InferenceSession(lzma.decompress(stored(name)), providers=["CPUExecutionProvider"])
    padded = np.pad(planes, ((0, 0), (0, -size[0] % 32), (0, -size[1] % 32)), mode="symmetric")
    given = {"planes": padded[None]} | ({} if beside is None else {"beside": beside[None, :, None, None]})
    (odds,) = session.run(None, given)
    assert np.abs(run(name, planes, beside) - odds[0, :, : size[0], : size[1]]).max() < 1e-3
