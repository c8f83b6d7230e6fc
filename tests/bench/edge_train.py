"""How ``edge.onnx.xz`` of ``insertgen/photo`` is made: a network learnt from rendered scenes whose meshes tell how high edges stand.

Run: python -m tests.bench.edge_train --rendered FOLDER [--rendered FOLDER]... [--steps N] [--rate R] [--seed N]
     [--threads N] [--start STATE] --state STATE [--out FILE]

FOLDER holds what ``render_scenes`` wrote, much of it with ``--settled`` and ``--tools tall``, ``resting`` or ``lying``. No photo is learnt from. Needs the packages
``torch`` and ``onnx``. Same scenes and arguments, nearly the same weights: sums run in no fixed order.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from insertgen.photo.edge_heights import LEAST_SPREAD, SIDE, planes_of, view_of, with_form
from insertgen.photo.form import FEATURES, ROWS, WHOLE
from insertgen.photo.light import Float
from tests.bench.learning import drawn_ahead, learnt, packed, stacked, with_learning
from tests.bench.scene_train import Levels

BATCH = 8
WIDE = 448  # px: of the picture that views are cut from
ALL_PLANES, ITEM, ALONG = 10, 3, 8
WIDTHS, COARSEST = (16, 32, 48, 64, 80), 32  # px of the view to one of the coarsest level
POINTS = 512  # of the edge, a scene


class Heights(Levels):
    """With a say on the item as a whole: how it leans from its thin end to its broad one.

    What a place looks like does not tell it: a chisel's tip lies on the bench because its handle, far off, is thick.
    """

    def __init__(self) -> None:
        super().__init__(ALL_PLANES, WIDTHS, halved=True, answers=2)
        self.lean = nn.Sequential(nn.Conv2d(FEATURES + 2 * WIDTHS[-1], 64, 1), nn.ReLU(), nn.Conv2d(64, 64, 1), nn.ReLU(), nn.Conv2d(64, 6, 1))

    def forward(self, planes: Tensor, stations: Tensor) -> Tensor:
        levels, seen = self.lowered(planes)
        item, along = planes[:, ITEM : ITEM + 1], planes[:, ALONG : ALONG + 1]
        # what the coarsest level sees in the item: on the whole, and more towards which end of it
        parts = functional.avg_pool2d(torch.cat([item, item * along], 1), COARSEST)
        sees = parts.flatten(2) @ seen.flatten(2).transpose(1, 2) / (SIDE / COARSEST)
        level, slope, bend = self.lean(torch.cat([stations, sees.reshape(-1, 2 * WIDTHS[-1], 1, 1)], 1)).chunk(3, 1)
        return self.raised(levels, seen) + level + slope * along + bend * along * along


@dataclass(frozen=True, eq=False)
class Pose:
    """A camera without lens distortion, as `insertgen.photo.edge_heights.Pose` asks for."""

    turn: np.ndarray
    place: np.ndarray
    focal_px: float
    centre_px: np.ndarray

    @property
    def foot(self) -> tuple[float, float]:
        return float(self.place[0]), float(self.place[1])

    @property
    def height(self) -> float:
        return float(self.place[2])

    def cast(self, px: np.ndarray, height: float = 0.0) -> np.ndarray:
        rays = np.column_stack([(px - self.centre_px) / self.focal_px, np.ones(len(px))]) @ self.turn
        return np.asarray(self.place[:2] + rays[:, :2] * ((height - self.place[2]) / rays[:, 2:]))

    def project(self, points: np.ndarray) -> np.ndarray:
        seen = (points - self.place) @ self.turn.T
        return np.asarray(seen[:, :2] / seen[:, 2:] * self.focal_px + self.centre_px)


@dataclass(frozen=True, eq=False)
class Scene:
    """An item as the network sees it, the picture twice as far across, so that it may be turned and moved.

    ``points``: n x 6, place in the picture, way out of the item there, share of the height, parallax across the edge, px.
    """

    planes: np.ndarray  # 7 x WIDE x WIDE, see `planes_of`
    points: Float


def scenes_of(folder: Path) -> Iterator[Scene]:
    for file in sorted(folder.glob("*_edge.npz")):
        told = np.load(file)
        if len(told["edge"]) < 40:
            continue
        stem = file.name.removesuffix("_edge.npz")
        rgb = np.ascontiguousarray(cv2.imread(str(folder / f"{stem}.jpg"))[:, :, ::-1])
        rings = rings_of(cv2.imread(str(folder / f"{stem}_mask.png"), cv2.IMREAD_GRAYSCALE))
        yield scene_of(rgb, rings, Pose(told["turn"], told["place"], float(told["focal_px"]), told["centre_px"]), told)


def rings_of(mask: np.ndarray) -> list[np.ndarray]:
    """The outer ring and the holes, pixels."""
    fine = cv2.resize(mask, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR) > 127
    found, tree = cv2.findContours(fine.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer = max((at for at in range(len(found)) if tree[0][at][3] < 0), key=lambda at: cv2.contourArea(found[at]))
    chosen = [outer, *(at for at in range(len(found)) if tree[0][at][3] == outer and len(found[at]) > 12)]
    return [(found[at][:, 0].astype(float) + 0.5) / 2 - 0.5 for at in chosen]


def scene_of(rgb: np.ndarray, rings: list[np.ndarray], pose: Pose, told: Any) -> Scene:
    height, edge = float(told["height"]), told["edge"][:, :2].astype(float)
    view = view_of(pose, rings[0], height)
    planes = planes_of(view, pose, rgb, rings, WIDE)
    shift = (WIDE - SIDE) / 2
    at, further = (view.of_bench(pose.cast(px, view.plane)) for px in (edge, edge + told["out"]))
    out = further - at
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    rise = view.of_bench(pose.cast(edge, height)) - view.of_bench(pose.cast(edge, 0.0))
    across = np.abs((rise * out).sum(axis=1))
    share = np.clip(told["heights"] / height, 0, 1)
    return Scene(planes.astype(np.float16), np.column_stack([at + shift, out, share, across]).astype(np.float32))


def shaken(rng: np.random.Generator) -> np.ndarray:
    """Turned, enlarged and moved a little, mirrored half of the times: matrix 2 x 3 from the wide picture."""
    turn, scale = rng.normal(0, 0.15), np.exp(rng.uniform(-0.25, 0.12))
    cos, sin = scale * np.cos(turn), scale * np.sin(turn)
    matrix = np.array([[cos, -sin], [sin, cos]])
    if rng.random() < 0.5:
        matrix = np.diag([-1.0, 1.0]) @ matrix
    return np.column_stack([matrix, (SIDE - 1) / 2 - matrix @ np.full(2, (WIDE - 1) / 2) + rng.uniform(-12, 12, 2)])


def tinted(planes: Float, rng: np.random.Generator) -> None:
    """Light, hue and noise as of another lamp and camera; the item's edge a little off, as it is found."""
    planes[:3] *= rng.uniform(0.7, 1.3)
    planes[:3] += rng.normal(0, 0.15, (3, 1, 1)) + rng.normal(0, 0.3)
    if rng.random() < 0.5:
        planes[:3] = planes[:3][rng.permutation(3)]
    if rng.random() < 0.6:
        grey = planes[:3].mean(axis=0)
        planes[:3] = grey + (planes[:3] - grey) * rng.uniform(0, 2.2)
    if rng.random() < 0.5:
        planes[:3] = cv2.GaussianBlur(planes[:3].transpose(1, 2, 0), (0, 0), rng.uniform(0.3, 1.5)).transpose(2, 0, 1)
    planes[:3] += rng.normal(0, rng.uniform(0, 0.06), planes[:3].shape)
    if rng.random() < 0.5:
        wander = cv2.GaussianBlur(rng.normal(0, 1, (SIDE, SIDE)).astype(np.float32), (0, 0), rng.uniform(2, 10))
        wander = np.clip(wander * 0.25 / max(float(wander.std()), 1e-6), -0.33, 0.33)  # at the edge only
        soft = cv2.GaussianBlur(planes[3], (0, 0), rng.uniform(0.8, 1.6))
        planes[3] = np.clip((soft - 0.5 + wander) * 3 + 0.5, 0, 1)


def doubted(stations: Float, rng: np.random.Generator) -> Float:
    """A little off; and now and then without what is told of off-sets, light, unevenness or hue, so that widths alone must do."""
    slices = stations[:-WHOLE].reshape(ROWS, -1).copy()
    slices[1:] *= rng.random((ROWS - 1, 1)) > np.array([[0.15], [0.3], [0.3], [0.3]])
    told = np.concatenate([slices.ravel(), stations[-WHOLE:]])
    return (told + rng.normal(0, 0.03, told.shape)).astype(np.float32)


def sample_of(scene: Scene, rng: np.random.Generator) -> tuple[Float, Float, Float]:
    """Planes, stations, and POINTS x 4: place in the view as torch takes it (-1 to 1), share of the height, how much it matters."""
    matrix, told_height = shaken(rng), np.exp(rng.normal(0, 0.02))
    size = np.sqrt(abs(np.linalg.det(matrix[:, :2])))
    wide = np.ascontiguousarray(scene.planes.transpose(1, 2, 0), np.float32)
    layers = [cv2.warpAffine(wide[:, :, first:last], matrix, (SIDE, SIDE), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE) for first, last in ((0, 4), (4, 7))]
    planes = np.concatenate(layers, axis=2).transpose(2, 0, 1).copy()
    planes[4:6] = np.tensordot(matrix[:, :2] * told_height, planes[4:6], 1)
    planes[6] *= size * told_height
    tinted(planes, rng)
    pick = scene.points[rng.integers(len(scene.points), size=POINTS)].astype(float)
    at = pick[:, :2] @ matrix[:, :2].T + matrix[:, 2]
    across = pick[:, 5] * size
    matters = (across + 0.1) / (across.mean() + 0.1) ** 0.8
    planes, stations = with_form(planes)
    return planes, doubted(stations, rng)[:, None, None], np.column_stack([(2 * at + 1) / SIDE - 1, np.clip(pick[:, 4] / told_height, 0, 1), matters]).astype(np.float32)


def samples(scenes: list[Scene], seed: int) -> Iterator[tuple[Float, Float, Float]]:
    rng = np.random.default_rng(seed)
    while True:
        yield sample_of(scenes[rng.integers(len(scenes))], rng)


def batches(scenes: list[Scene], seed: int) -> Iterator[tuple[Tensor, ...]]:
    ahead = drawn_ahead(samples(scenes, seed))
    while True:
        yield stacked(next(ahead) for _ in range(BATCH))


def loss_of(answer: Tensor, points: Tensor) -> tuple[Tensor, Tensor]:
    """How far the share is off, and the negative log likelihood of that distance by a Laplace distribution; and the distance, all as it matters.

    Were the share learnt by the likelihood too, it would be learnt the less, the less sure it is: things that lean stayed level.
    """
    told = functional.grid_sample(answer, points[:, :, None, :2], align_corners=False)[..., 0]
    share, spread = torch.sigmoid(told[:, 0]), LEAST_SPREAD + torch.sigmoid(told[:, 1])
    away, matters = (share - points[:, :, 2]).abs(), points[:, :, 3]
    unsure = away.detach() / spread + torch.log(spread)
    return ((8 * away + unsure) * matters).mean(), (away * matters).sum() / matters.sum()


def learn(scenes: list[Scene], given: argparse.Namespace) -> nn.Module:
    torch.manual_seed(given.seed)
    torch.set_num_threads(given.threads)
    fresh = Heights()
    if given.start:
        fresh.load_state_dict(torch.load(given.start))
    return learnt("edge", fresh, Heights(), batches(scenes, given.seed), lambda planes, stations, points: loss_of(fresh(planes, stations), points), given, decay=1e-2)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rendered", type=Path, action="append", required=True)
    given = with_learning(parser).parse_args()
    cv2.setNumThreads(1)
    scenes = [scene for folder in given.rendered for scene in scenes_of(folder)]
    print(f"{len(scenes)} scenes", flush=True)
    net = learn(scenes, given)
    if given.out is not None:
        given.out.write_bytes(packed(net, ALL_PLANES, free=False, side=SIDE, beside=FEATURES))


if __name__ == "__main__":
    main()
