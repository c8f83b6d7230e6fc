"""Samples to learn from: scenes turned, scaled, given other colours, light, shade, noise and focus."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.body import body_planes
from insertgen.photo.brink import close_planes
from insertgen.photo.light import log_light, to_linear
from insertgen.photo.scene import DARK, planes_of
from insertgen.photo.surface import smooth_surface
from tests.bench.pixelwise_train import is_open

Float = NDArray[np.float32]
Picture = NDArray[np.uint8]
Random = np.random.Generator


@dataclass(frozen=True)
class Scene:
    """A photo (h x w x 3), its item's mask (h x w, 0..255), places on the item's boundary (n x 2, x and y), and those on its thin parts."""

    rgb: Picture
    mask: Picture
    edge: NDArray[np.float64]
    thin: NDArray[np.float64]


def photographed(folder: Path, *, half: bool) -> Iterator[Scene]:
    """All photos of the ``truth.json`` under a folder; with ``half`` only of scenes that may be learnt from."""
    for file in sorted(folder.rglob("truth.json")):
        if half and not is_open(file.parent.name):
            continue
        for shot in json.loads(file.read_text(encoding="utf-8"))["photos"]:
            yield _scene(file.parent / shot["file"], file.parent / shot["toolmask"])


def rendered(folder: Path) -> Iterator[Scene]:
    """What `render_scenes` wrote to a folder."""
    for mask in sorted(folder.glob("*_mask.png"), key=lambda file: int(file.stem.split("_")[0])):
        yield _scene(folder / f"{mask.stem.split('_')[0]}.jpg", mask)


def _scene(photo: Path, mask_file: Path) -> Scene:
    rgb = np.asarray(cv2.imread(str(photo)), np.uint8)[:, :, ::-1]
    mask = np.asarray(cv2.imread(str(mask_file), cv2.IMREAD_GRAYSCALE), np.uint8)
    rings, _ = cv2.findContours((mask > 127).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    edge = np.concatenate([ring[:, 0] for ring in rings if len(ring) > 30]).astype(np.float64)
    columns, rows = edge.astype(int).T
    thin = edge[_opened(mask, 1 + 2 * round(THIN * max(mask.shape) / 2))[rows, columns] < 128]
    return Scene(np.ascontiguousarray(rgb), mask, edge, thin)


def _opened(mask: Picture, width: int) -> Picture:
    """Without what is thinner (px)."""
    return np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))), np.uint8)


def reduced(scene: Scene, scale: float) -> Scene:
    rgb = np.asarray(cv2.resize(scene.rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8)
    mask = np.asarray(cv2.resize(scene.mask, rgb.shape[1::-1], interpolation=cv2.INTER_AREA), np.uint8)
    return Scene(rgb, mask, scene.edge * scale, scene.thin * scale)


# ---- place -------------------------------------------------------------------------------------


def moved(scene: Scene, rng: Random, size: tuple[int, int], scale: float, about: NDArray[np.float64]) -> tuple[Picture, Picture]:
    """Picture and mask of a size (width, height), turned and now and then mirrored, ``about`` in the middle."""
    turn_deg = rng.uniform(0, 360) if rng.random() < 0.5 else rng.choice([0, 90, 180, 270]) + rng.normal(0, 3)
    matrix = cv2.getRotationMatrix2D((0, 0), float(turn_deg), scale)
    if rng.random() < 0.5:
        matrix[:, 0] *= -1
    matrix[:, 2] = np.array(size) / 2 - matrix[:, :2] @ about
    rgb, mask = scene.rgb, scene.mask
    if scale < 0.7:
        rgb, mask = (np.asarray(cv2.GaussianBlur(one, (0, 0), 0.35 / scale), np.uint8) for one in (rgb, mask))
    rgb, mask = (
        np.asarray(cv2.warpAffine(one, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101), np.uint8)
        for one in (rgb, mask)
    )
    return rgb, mask


# ---- light -------------------------------------------------------------------------------------


def encoded(light: Float) -> Picture:
    light = np.clip(light, 0, 1)
    return np.round(255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(light, 1 / 2.4) - 0.055)).astype(np.uint8)


def waves(rng: Random, shape: tuple[int, ...], coarse: int) -> Float:
    """Smooth noise, about standard normal; ``coarse`` px from one free value to the next."""
    few = rng.standard_normal((max(2, shape[0] // coarse), max(2, shape[1] // coarse)), np.float32)
    return np.asarray(cv2.resize(few, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), np.float32)


def _grown(rng: Random, spread: float, count: int = 3) -> Float:
    return np.exp(rng.normal(0, spread, count)).astype(np.float32)


def recoloured(light: Float, mask: Picture, rng: Random) -> Float:
    """The item in other colours, its bright and dark parts apart: near the bench's own, grey, or any."""
    item, soft = mask > 127, (mask / np.float32(255))[..., None]
    if item.sum() < 30:
        return light
    bench = np.median(light[::3, ::3][~item[::3, ::3]], axis=0)
    bright = np.log(light.mean(axis=2) + np.float32(0.01))
    cut = np.quantile(bright[item], rng.uniform(0.2, 0.8)) if rng.random() < 0.6 else -9.0
    upper = 1 / (1 + np.exp(-np.clip((bright - cut) * 8, -20, 20)))
    factor = np.ones_like(light)
    for part in (upper, 1 - upper):
        own = light[item & (part > 0.5)]
        if rng.random() < 0.35 or len(own) < 20:
            continue
        middle, kind = np.maximum(np.median(own, axis=0), 0.003), rng.random()
        if kind < 0.25:
            change = bench / middle * _grown(rng, 0.3, 1) * _grown(rng, 0.1)
        else:
            change = bench.mean() / middle.mean() * np.exp(rng.normal(-0.3, 0.7)) * _grown(rng, 0.1 if kind < 0.6 else 0.6)
        factor *= 1 + part[..., None] * (np.clip(change, 0.05, 12).astype(np.float32) - 1)
    return np.asarray(light * (1 + soft * (factor - 1)), np.float32)


def drawn(mask: Picture, rng: Random) -> Float:
    """Bench and item without any texture, as a drawing has them; half of them of one hue, only darker or brighter."""
    soft, bench, item = (mask / np.float32(255))[..., None], rng.uniform(0.05, 0.9, 3), rng.uniform(0.01, 0.9, 3)
    if rng.random() < 0.5:
        bench = np.clip(bench.mean() * _grown(rng, 0.1), 0.05, 0.9)
        item = np.clip(bench * rng.choice([0.08, 0.2, 0.4, 0.6, 2.0]) * _grown(rng, 0.05), 0.005, 0.95)
    return np.asarray(bench * (1 - soft) + item * soft, np.float32)


def lit(rgb: Picture, mask: Picture, rng: Random) -> Picture:
    """Other colours of the item, shade from outside, fall-off, colour of light, exposure, noise, focus, compression."""
    light = drawn(mask, rng) if rng.random() < 0.1 else to_linear(rgb)
    if rng.random() < 0.25:
        light = recoloured(light, mask, rng)
    if rng.random() < 0.3:
        shade = np.clip((waves(rng, mask.shape, int(rng.uniform(80, 250))) - rng.uniform(0.3, 1.5)) / rng.uniform(0.02, 0.5), 0, 1)
        light = light * (1 - np.float32(rng.uniform(0.2, 0.6)) * shade)[..., None]
    if rng.random() < 0.5:
        light = light * np.exp(np.float32(rng.uniform(0, 0.3)) * waves(rng, mask.shape, max(mask.shape) // 2))[..., None]
    light = light * _grown(rng, 0.15) * np.float32(np.exp(rng.uniform(-0.5, 0.25)))
    if rng.random() < 0.5:
        grain = rng.standard_normal(light.shape, np.float32) * np.float32(rng.uniform(0, 0.015))
        light = light + grain * np.sqrt(np.maximum(light, np.float32(0.002)))
    seen = encoded(np.clip(light, 0, 1) ** np.float32(np.exp(rng.normal(0, 0.12))))
    kind = rng.random()
    if kind < 0.3:
        seen = np.asarray(cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.3, 1.0)), np.uint8)
    elif kind < 0.5:
        soft = cv2.GaussianBlur(seen, (0, 0), 1.0).astype(np.float32)
        seen = np.clip(seen * np.float32(1.6) - np.float32(0.6) * soft, 0, 255).astype(np.uint8)
    if rng.random() < 0.3:
        _, packed = cv2.imencode(".jpg", seen, [cv2.IMWRITE_JPEG_QUALITY, int(rng.uniform(60, 96))])
        seen = np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR), np.uint8)
    return seen


def laid_on(rgb: Picture, mask: Picture, other: Picture, other_mask: Picture, rng: Random) -> tuple[Picture, Picture]:
    """The item of another scene laid on this bench with a made-up shadow, if there is room; both are items then."""
    least = min(int((mask > 127).sum()), int((other_mask > 127).sum()))
    if ((mask > 127) & (other_mask > 127)).sum() >= 0.3 * least:
        return rgb, mask
    soft = other_mask / np.float32(255)
    way = np.array([[1, 0, rng.normal(0, 12)], [0, 1, rng.normal(0, 12)]], np.float32)
    shadow = cv2.GaussianBlur(cv2.warpAffine(soft, way, soft.shape[::-1]), (0, 0), rng.uniform(0.8, 12))
    contact = cv2.GaussianBlur(soft, (0, 0), rng.uniform(2, 6))
    darker = np.clip(1 - rng.uniform(0.1, 0.7) * shadow - rng.uniform(0, 0.25) * contact, 0.05, 1)[..., None]
    light = to_linear(rgb) * darker * (1 - soft[..., None]) + to_linear(other) * soft[..., None]
    return encoded(np.asarray(light, np.float32)), np.maximum(mask, other_mask)


def scribed(rgb: Picture, mask: Picture, rng: Random) -> Picture:
    """Thin lines drawn on the bench, dark or pale, some of which pass under the item or end at it."""
    lines, (height, width) = np.zeros(mask.shape, np.uint8), mask.shape
    item = np.argwhere(mask > 127)
    for _ in range(rng.integers(1, 4)):
        at = item[rng.integers(len(item))][::-1] if len(item) and rng.random() < 0.7 else rng.uniform(0, 1, 2) * [width, height]
        way, (back, ahead) = rng.uniform(0, 7), rng.uniform(0, 1, 2) * max(mask.shape)
        line = np.array([math.cos(way), math.sin(way)])
        ends = [tuple(int(16 * value) for value in end) for end in (at - back * line, at + ahead * line)]
        fine = np.zeros_like(lines)
        cv2.line(fine, ends[0], ends[1], int(rng.uniform(80, 256)), 1 if rng.random() < 0.7 else 2, cv2.LINE_AA, 4)
        lines = np.maximum(lines, fine)
    share = (lines / np.float32(255) * (1 - mask / np.float32(255)))[..., None]
    factor = np.float32(np.exp(rng.uniform(0.3, 1.2) * rng.choice([-1, 1])))
    light = to_linear(rgb)
    return encoded(np.asarray(light * (1 + share * (factor - 1)), np.float32))


# ---- samples -----------------------------------------------------------------------------------

FAR_SIZE = (384, 288)
BODY_SIZE, BODY_FILLS = (416, 320), (150.0, 380.0)  # px; the item's longer side
NEAR_SIDE = 128
THIN = 0.01  # of the photo's longer side: wires, points
THIN_FEWEST, THIN_SHARE = 60, 0.4  # px of boundary, and how often a near sample is about one of them


def far_sample(pick: Scene, also: Scene, scales: tuple[float, float], rng: Random) -> tuple[Float, Float]:
    """Planes (6 x h x w) and share of item (h x w) as the far network sees them; of ``also`` now and then the item."""

    def placed(scene: Scene) -> tuple[Picture, Picture]:
        size = np.array(FAR_SIZE)
        about = scene.edge.min(axis=0) / 2 + scene.edge.max(axis=0) / 2
        scale = rng.uniform(*scales) * (rng.uniform(0.6, 1.0) if rng.random() < 0.15 else 1.0)
        about = about + rng.uniform(-0.3, 0.3, 2) * size / scale
        if rng.random() < 0.06:
            about = rng.uniform(0, 1, 2) * scene.mask.shape[::-1]
        return moved(scene, rng, FAR_SIZE, scale, about)

    rgb, mask = placed(pick)
    if rng.random() < 0.15:
        rgb, mask = laid_on(rgb, mask, *placed(also), rng)
    tone = log_light(lit(rgb, mask, rng), DARK)
    every = np.ones(mask.shape, bool)
    return planes_of(tone, tone - smooth_surface(tone, ~every), every), mask / np.float32(255)


def body_sample(pick: Scene, also: Scene, rng: Random) -> tuple[Float, Float]:
    """Planes (6 x h x w) and share of item as the network of one thing sees them: most of the item and what lies round it."""

    def placed(scene: Scene) -> tuple[Picture, Picture]:
        low, high = scene.edge.min(axis=0), scene.edge.max(axis=0)
        scale = float(np.exp(rng.uniform(*np.log(BODY_FILLS)))) / float((high - low).max())
        about = (low + high) / 2 + rng.uniform(-0.12, 0.12, 2) * np.array(BODY_SIZE) / scale
        return moved(scene, rng, BODY_SIZE, scale, about)

    rgb, mask = placed(pick)
    if rng.random() < 0.1:
        rgb, mask = laid_on(rgb, mask, *placed(also), rng)
    if rng.random() < 0.25:
        rgb = scribed(rgb, mask, rng)
    rgb = lit(rgb, mask, rng)
    every = np.ones(mask.shape, bool)
    return body_planes(rgb, smooth_surface(log_light(rgb, DARK), ~every), every), mask / np.float32(255)


def near_sample(pick: Scene, scales: tuple[float, float], rng: Random) -> tuple[Float, Float]:
    """Planes (7 x h x w) and share of item as the near network sees them, about a place on the boundary."""
    edge = pick.thin if len(pick.thin) > THIN_FEWEST and rng.random() < THIN_SHARE else pick.edge
    about = edge[rng.integers(len(edge))] + rng.normal(0, 14, 2)
    rgb, mask = moved(pick, rng, (NEAR_SIDE, NEAR_SIDE), rng.uniform(*scales), about)
    if rng.random() < 0.2:
        rgb = scribed(rgb, mask, rng)
    rough = _rough(_without_thin(mask, rng) if rng.random() < 0.5 else mask, rng)
    tone = log_light(lit(rgb, mask, rng), DARK)
    bench = rough < max(-2.0, float(np.quantile(rough, 0.2)) + 0.01)
    return close_planes(tone, rough, bench), mask / np.float32(255)


def _without_thin(mask: Picture, rng: Random) -> Picture:
    """Less wires and points, which those who judge the whole lose; but not less most of what is to be seen."""
    width = int(rng.uniform(6, 20))
    solid = _opened(mask, width)
    return solid if (solid > 127).sum() > 0.6 * (mask > 127).sum() else mask


def _rough(mask: Picture, rng: Random) -> Float:
    """Log odds as the far network might give them: boundary bent, blurred, pieces missing or too much."""
    shape = mask.shape
    columns, rows = np.meshgrid(*(np.arange(count, dtype=np.float32) for count in shape[::-1]))
    bend, coarse = np.float32(rng.choice([0, 1, 2, 4, 8], p=[0.15, 0.25, 0.3, 0.2, 0.1]) * rng.uniform(0.5, 1.5)), int(rng.uniform(12, 50))
    likely = cv2.remap(
        mask, columns + bend * waves(rng, shape, coarse), rows + bend * waves(rng, shape, coarse), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    ) / np.float32(255)
    if rng.random() < 0.25:
        wrong = waves(rng, shape, int(rng.uniform(12, 40))) > rng.uniform(1.2, 2.2)
        likely = np.where(wrong, 1 - likely if rng.random() < 0.5 else rng.uniform(0, 1), likely).astype(np.float32)
    likely = cv2.GaussianBlur(likely, (0, 0), rng.uniform(1.5, 5))
    odds = np.log((likely + 0.005) / (1.005 - likely)) * rng.uniform(0.4, 1.2) + rng.uniform(0, 1) * waves(rng, shape, 30)
    return np.clip(odds, -6, 6).astype(np.float32)
