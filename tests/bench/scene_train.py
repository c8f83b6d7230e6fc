"""How ``far.onnx.xz`` and ``near.onnx.xz`` of ``insertgen/photo`` are made: networks learnt from scenes with exact masks.

Run: python -m tests.bench.scene_train far|near --rendered FOLDER [--rendered FOLDER]... [--photos DIR]... [--half DIR]... [--share S]
     [--steps N] [--rate R] [--seed N] [--threads N] [--start STATE] --state STATE [--out FILE]

``far`` sees a photo at working size and tells item from bench; ``near`` sees tiles at the photo's own size, with the
rough log odds, and tells where the boundary runs. FOLDER holds what ``render_scenes`` wrote. Of samples a share S comes
from photos: from all under ``--photos``, and under ``--half`` from scenes whose name has an even SHA-1, so that the
others can judge. ``--start`` goes on from an earlier state. Needs the packages ``torch`` and ``onnx``; runs on two
cores. Same scenes and arguments, nearly the same weights: sums run in no fixed order.
"""

from __future__ import annotations

import argparse
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from tests.bench.learning import drawn_ahead, learnt, packed, stacked, with_learning
from tests.bench.scene_vary import Float, Scene, far_sample, near_sample, photographed, reduced, rendered

BATCH = {"far": 4, "near": 16}
PHOTO_SCALE = 1 / 3  # of a 2400 px photo: the working size
# of rendered scenes, and of photos; near tiles of scenes are enlarged to the size that shade and rims have in a photo
SCALES = {"far": ((0.4, 0.9), (0.7, 1.3)), "near": ((0.8, 2.4), (0.7, 1.4))}
SHUFFLED = 1500  # near samples waiting, so that a batch is of many scenes
OF_ONE = 6  # near samples drawn from a scene in a row


def block(wide: int, narrow: int, stride: int = 1, spread: int = 1) -> nn.Sequential:
    return nn.Sequential(nn.Conv2d(wide, narrow, 3, stride, spread, spread, bias=False), nn.BatchNorm2d(narrow), nn.ReLU(inplace=True))


class Levels(nn.Module):
    """From coarse to fine with skips (Ronneberger, Fischer, Brox 2015); ``halved``: the finest level at half the size."""

    def __init__(self, planes: int, widths: tuple[int, ...], *, halved: bool, answers: int = 1) -> None:
        super().__init__()
        stem = [block(planes, 16, 2), block(16, widths[0])] if halved else [block(planes, widths[0])]
        self.stem = nn.Sequential(*stem)
        steps = list(itertools.pairwise(widths))
        self.down = nn.ModuleList(nn.Sequential(block(a, b, 2), block(b, b)) for a, b in steps)
        self.middle = nn.Sequential(block(widths[-1], widths[-1], 1, 2), block(widths[-1], widths[-1], 1, 4 if halved else 1), block(widths[-1], widths[-1]))
        self.up = nn.ModuleList(nn.Sequential(block(b + a, a), block(a, a)) for a, b in reversed(steps))
        self.last = nn.ConvTranspose2d(widths[0], answers, 4, 2, 1) if halved else nn.Conv2d(widths[0], answers, 3, padding=1)

    def forward(self, planes: Tensor) -> Tensor:
        return self.raised(*self.lowered(planes))

    def lowered(self, planes: Tensor) -> tuple[list[Tensor], Tensor]:
        """All levels but the coarsest, and that."""
        levels = [self.stem(planes)]
        for down in self.down:
            levels.append(down(levels[-1]))
        return levels, self.middle(levels.pop())

    def raised(self, levels: list[Tensor], seen: Tensor) -> Tensor:
        for up in self.up:
            seen = up(torch.cat([functional.interpolate(seen, scale_factor=2, mode="nearest"), levels.pop()], 1))
        odds: Tensor = self.last(seen)
        return odds


def network(kind: str) -> Levels:
    return Levels(6, (24, 32, 48, 64, 96), halved=True) if kind == "far" else Levels(7, (16, 24, 32, 48), halved=False)


Pool = list[tuple[list[Scene], float, tuple[float, float]]]  # scenes, share of the samples, scales


def samples(kind: str, pool: Pool, seed: int) -> Iterator[tuple[Float, Float]]:
    rng = np.random.default_rng(seed)
    shares = np.array([share for _, share, _ in pool])
    while True:
        scenes, _, scales = pool[rng.choice(len(pool), p=shares / shares.sum())]
        pick, also = (scenes[rng.integers(len(scenes))] for _ in range(2))
        if kind == "far":
            yield far_sample(pick, also, scales, rng)
        else:
            for _ in range(OF_ONE):
                yield near_sample(pick, scales, rng)


def batches(kind: str, pool: Pool, seed: int) -> Iterator[tuple[Tensor, Tensor]]:
    """Near samples shuffled."""
    ahead = drawn_ahead(samples(kind, pool, seed), 64)
    rng, held = np.random.default_rng(seed + 1), []
    while True:
        while len(held) < (SHUFFLED if kind == "near" else BATCH[kind]):
            held.append(next(ahead))
        planes, share = stacked(held.pop(int(rng.integers(len(held)))) for _ in range(BATCH[kind]))
        yield planes, share[:, None]


def loss_of(kind: str, odds: Tensor, share: Tensor) -> Tensor:
    """Cross entropy; for ``far`` with the overlap of areas (Dice 1945), so that small items count."""
    entropy = functional.binary_cross_entropy_with_logits(odds, share)
    if kind == "near":
        return entropy
    likely = torch.sigmoid(odds)
    common, every = (likely * share).sum((1, 2, 3)), (likely + share).sum((1, 2, 3))
    return 3 * entropy + (1 - (2 * common + 50) / (every + 50)).mean()


def learn(kind: str, pool: Pool, given: argparse.Namespace) -> nn.Module:
    torch.manual_seed(given.seed)
    torch.set_num_threads(given.threads)
    fresh = network(kind)
    if given.start:
        fresh.load_state_dict(torch.load(given.start))
    return learnt(kind, fresh, network(kind), batches(kind, pool, given.seed), lambda planes, share: (loss_of(kind, fresh(planes), share),), given)


def _pool(kind: str, given: argparse.Namespace) -> Pool:
    of_scenes, of_photos = SCALES[kind]
    ready: Callable[[Scene], Scene] = (lambda scene: reduced(scene, PHOTO_SCALE)) if kind == "far" else (lambda scene: scene)
    photos = [ready(one) for folder in given.photos for one in photographed(folder, half=False)]
    photos += [ready(one) for folder in given.half for one in photographed(folder, half=True)]
    pool: Pool = [([scene for folder in given.rendered for scene in rendered(folder)], 1.0 - given.share if photos else 1.0, of_scenes)]
    if photos:
        pool.append((photos, given.share, of_photos))
    print(", ".join(f"{len(scenes)} scenes, share {share:g}" for scenes, share, _ in pool), flush=True)
    return pool


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("kind", choices=("far", "near"))
    parser.add_argument("--rendered", type=Path, action="append", required=True)
    parser.add_argument("--photos", type=Path, action="append", default=[])
    parser.add_argument("--half", type=Path, action="append", default=[])
    parser.add_argument("--share", type=float, default=0.5)
    given = with_learning(parser).parse_args()
    cv2.setNumThreads(1)
    net = learn(given.kind, _pool(given.kind, given), given)
    if given.out is not None:
        given.out.write_bytes(packed(net, 6 if given.kind == "far" else 7))


if __name__ == "__main__":
    main()
