"""How every large network is learnt and stored: one way of descent, batches drawn ahead, one format."""

from __future__ import annotations

import argparse
import io
import lzma
import queue
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import cv2
import numpy as np
import onnx
import torch
from numpy.typing import NDArray
from onnx import numpy_helper
from torch import Tensor, nn

Float = NDArray[np.float32]
Sample = tuple[Float, ...]  # what is seen, and what is true
Loss = Callable[..., tuple[Tensor, ...]]  # of what is seen and what is true: what is made less, then what is only said

KEPT = 0.998  # of the running mean of the weights, a step


def with_learning(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    """With the options of how to learn: of every network's script."""
    parser.add_argument("--steps", type=int, default=3000)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--state", type=Path, required=True)
    parser.add_argument("--out", type=Path)
    return parser


def drawn_ahead(samples: Iterable[Sample], count: int = 48) -> Iterator[Sample]:
    """Samples drawn by a thread while others are learnt from."""
    waiting: queue.Queue[Sample] = queue.Queue(count)

    def draw() -> None:
        for one in samples:
            waiting.put(one)

    threading.Thread(target=draw, daemon=True).start()
    while True:
        yield waiting.get()


def stacked(chosen: Iterable[Sample]) -> tuple[Tensor, ...]:
    """The planes, and what else a sample has."""
    planes, *others = (torch.from_numpy(np.stack(part)) for part in zip(*chosen, strict=True))
    return planes.to(memory_format=torch.channels_last), *others


def learnt(
    name: str, fresh: nn.Module, mean: nn.Module, batches: Iterable[tuple[Tensor, ...]], loss_of: Loss,
    given: argparse.Namespace, *, kept: float = KEPT, decay: float = 1e-3,
) -> nn.Module:  # fmt: skip
    """AdamW (Loshchilov, Hutter 2019), the rate falling along a half cosine; ``mean`` is the running mean of the weights."""
    fresh = fresh.to(memory_format=torch.channels_last)
    mean.load_state_dict(fresh.state_dict())
    descent = torch.optim.AdamW(fresh.parameters(), lr=given.rate, weight_decay=decay)
    begun, said = time.time(), []
    for step, batch in enumerate(batches):
        for group in descent.param_groups:
            group["lr"] = given.rate * min(1.0, (step + 1) / 100) * (0.5 * (1 + np.cos(np.pi * step / given.steps)) + 0.005)
        losses = loss_of(*batch)
        descent.zero_grad()
        losses[0].backward()  # type: ignore[no-untyped-call]  # torch leaves it without types
        nn.utils.clip_grad_norm_(fresh.parameters(), 1.0)
        descent.step()
        said.append([float(loss.detach()) for loss in losses])
        blend(mean, fresh, min(kept, (step + 1) / (step + 20)))
        if (step + 1) % 50 == 0:
            figures = ", ".join(f"{figure:.4f}" for figure in np.mean(said[-50:], axis=0))
            print(f"{name} {step + 1} of {given.steps}: {figures}, {(time.time() - begun) / 60:.1f} min", flush=True)
            torch.save(mean.state_dict(), given.state)
        if step + 1 >= given.steps:
            break
    torch.save(mean.state_dict(), given.state)
    return mean.eval()


@torch.no_grad()
def blend(mean: nn.Module, fresh: nn.Module, kept: float) -> None:
    for old, new in zip(mean.state_dict().values(), fresh.state_dict().values(), strict=True):
        if old.dtype.is_floating_point:
            old.mul_(kept).add_(new, alpha=1 - kept)
        else:
            old.copy_(new)


def packed(net: nn.Module, planes: int, *, free: bool = True, side: int = 128, beside: int = 0) -> bytes:
    """The open exchange format, weights rounded to half precision, compressed.

    Sizes ``free``, or ``side``, for OpenCV to change: with pools it cannot read free ones. ``beside``: features of the whole.
    """
    shown = {"planes": torch.randn(1, planes, side, side)} | ({"beside": torch.randn(1, beside, 1, 1)} if beside else {})
    file = io.BytesIO()
    axes = {"planes": {0: "n", 2: "h", 3: "w"}, "odds": {0: "n", 2: "h", 3: "w"}} if free else {}
    torch.onnx.export(net, tuple(shown.values()), file, input_names=list(shown), output_names=["odds"], opset_version=13, dynamo=False, dynamic_axes=axes)
    model = onnx.load_from_string(file.getvalue())
    for weights in model.graph.initializer:
        values = numpy_helper.to_array(weights)
        if values.dtype == np.float32:
            weights.CopyFrom(numpy_helper.from_array(values.astype(np.float16).astype(np.float32), weights.name))
    _compare(model.SerializeToString(), net, shown)
    return lzma.compress(model.SerializeToString(), preset=9)


def _compare(stored: bytes, net: nn.Module, shown: dict[str, Tensor]) -> None:
    reader = cv2.dnn.readNetFromONNX(np.frombuffer(stored, np.uint8))
    for name, values in shown.items():
        reader.setInput(values.numpy(), name)
    with torch.no_grad():
        off = float(np.abs(reader.forward() - net(*shown.values()).numpy()).max())
    print(f"read back by OpenCV {cv2.__version__}: log odds differ by {off:.4f} at most", flush=True)
