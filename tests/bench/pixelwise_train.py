"""How ``insertgen/photo/weights.npz`` is made: three small networks learnt from photos with exact masks.

Run: python -m tests.bench.pixelwise_train [SCENES...] [--half FOLDER] [--rounds N] [--seed N] [--held-out FOLDER]

SCENES are folders of scenes (``truth.json``, photos, masks), all of them learnt from; of a ``--half`` folder only
the scenes whose name has an even SHA-1, so that the rest can judge. Every photo is learnt from as it is and so
many times more with its item given other colours, patch by patch, and other light and noise: no colour is an
item's. ``alone`` tells item from bench by what can be said of a pixel, ``around`` adds what ``alone`` says of its
surroundings, ``across`` judges places on a line across the edge. Later networks learn from what earlier ones say
of photos of tools they have not seen. Of each kind five are learnt and asked together, one from all scenes and one
without each group of tools. With ``--held-out`` the network that never saw a group is also written by itself to that
folder, one file a group, for ``trace_bench --held-out``. Same scenes, rounds and seed, same weights.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import itertools
import json
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from insertgen.photo import odds as odds_of
from insertgen.photo import pixelwise
from insertgen.photo.boundary import normals, resample, rings_of_mask
from insertgen.photo.corners import sample
from insertgen.photo.features import context, features, line_of, off_line
from insertgen.photo.light import luminance, to_linear
from insertgen.photo.load import Photo, load_photo
from insertgen.photo.network import Network
from insertgen.photo.pieces import item_pieces, smooth_region
from insertgen.photo.profiles import Departures, profile_rows
from insertgen.photo.squares import find_squares
from insertgen.photo.surface import WORK_SIDE, Surface, look_at_bench

Float = NDArray[np.float32]

#: Tools left out together: a network is judged on tools unlike those it learnt from.
GROUPS = (
    ("wrench", "hex", "drill"),
    ("bevel", "trysquare", "router"),
    ("scissors", "screwdriver", "chisel"),
    ("pliers", "hammer", "tape", "sander", "plane"),
)
HIDDEN = {"alone": (64, 32), "around": (64, 32), "across": (48, 24)}
EPOCHS, BATCH, RATE, DECAY = 6, 4096, 4e-3, 1e-5
JITTER = 0.05  # of an input's scatter: added while learning
FAR = 100  # working px round the item that are kept whole
ACROSS = 7  # px to either side of the edge


def group_of(name: str) -> int:
    """Number of the group of tools a scene's name tells of.

    >>> group_of("B3_hexkey_b"), group_of("D1_sander")
    (0, 3)
    """
    return next(at for at, words in enumerate(GROUPS) if any(word in name for word in words))


def is_open(name: str) -> bool:
    """Whether a scene of a halved folder may be learnt from."""
    return int(hashlib.sha1(name.encode()).hexdigest(), 16) % 2 == 0


@dataclass(frozen=True)
class Scene:
    """A photo to learn from: working size, its squares, its mask (0..255), and the number that seeds its variations."""

    name: str
    photo: Photo
    mask: NDArray[np.uint8]
    quads: list[NDArray[np.float64]]

    @property
    def group(self) -> int:
        return group_of(self.name)

    def seeded(self, seed: int, turn: int) -> np.random.Generator:
        return np.random.default_rng([seed, zlib.crc32(self.name.encode()), turn])


def scenes_of(folder: Path, *, half: bool) -> Iterator[Scene]:
    for file in sorted(folder.rglob("truth.json")):
        if half and not is_open(file.parent.name):
            continue
        shots = json.loads(file.read_text(encoding="utf-8"))["photos"]
        for shot in shots[::2]:  # of five photos of one item, three
            photo = load_photo((file.parent / shot["file"]).read_bytes(), f"{file.parent.name}/{shot['file']}")
            mask = cv2.imread(str(file.parent / shot["toolmask"]), cv2.IMREAD_GRAYSCALE)
            found, _ = find_squares(luminance(photo.rgb))
            yield Scene(photo.name, photo, np.asarray(mask, np.uint8), [candidate.corners.px for candidate in found])


def small(scene: Scene) -> Scene:
    scale = WORK_SIDE / max(scene.mask.shape)
    rgb = np.asarray(cv2.resize(scene.photo.rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8)
    mask = np.asarray(cv2.resize(scene.mask, rgb.shape[1::-1], interpolation=cv2.INTER_AREA), np.uint8)
    quads = [(quad + 0.5) * scale - 0.5 for quad in scene.quads]
    return replace(scene, photo=replace(scene.photo, rgb=rgb), mask=mask, quads=quads)


# ---- other colours, light and noise ------------------------------------------------------------


def varied(scene: Scene, rng: np.random.Generator) -> Scene:
    """The item in other colours, patch by patch; other exposure, noise and focus of the whole."""
    light = to_linear(scene.photo.rgb)
    soft = (scene.mask / np.float32(255))[..., None]
    item = scene.mask > 127
    bench = _bench_beside(light, scene.mask)
    patches = _patches(light, item, rng)
    factor = np.ones_like(light)
    for patch in range(int(patches.max()) + 1):
        of_patch = light[(patches == patch) & item]
        if len(of_patch) < 20 or rng.random() < 0.1:
            continue
        change = _other_colour(of_patch, bench, rng)
        blurred = cv2.GaussianBlur((patches == patch).astype(np.float32), (0, 0), 0.8)[..., None]
        factor *= 1 + blurred * (change - 1)
    light = np.asarray(light * (1 + soft * (factor - 1)) * np.float32(np.exp(rng.uniform(-0.5, 0.2))), np.float32)
    noise = rng.normal(0, 1, light.shape).astype(np.float32) * np.float32(rng.uniform(0, 0.012))
    rgb = _encoded(light + noise * np.sqrt(np.maximum(light, np.float32(0.002))))
    if rng.random() < 0.5:
        rgb = np.asarray(cv2.GaussianBlur(rgb, (0, 0), rng.uniform(0.3, 0.7)), np.uint8)
    return replace(scene, photo=replace(scene.photo, rgb=rgb))


def _bench_beside(light: Float, mask: NDArray[np.uint8]) -> Float:
    on = (mask > 0).astype(np.uint8)
    reach = 2 * (max(mask.shape) // 30) + 1
    near = cv2.dilate(on, np.ones((reach, reach), np.uint8)) > on
    return np.asarray(np.median(light[near], axis=0), np.float32)


def _patches(light: Float, item: NDArray[np.bool_], rng: np.random.Generator) -> NDArray[np.intp]:
    """Each pixel's patch: one to three clusters of colour (k-means)."""
    dark = np.log(light + np.float32(0.01))
    bright = dark.mean(axis=2)
    colours = np.dstack([bright * 0.5, (dark[..., 0] - bright) * 2, (dark[..., 2] - bright) * 2])
    colours = np.asarray(cv2.GaussianBlur(colours, (0, 0), 1.5), np.float32)
    of_item = colours[item]
    some = of_item[rng.choice(len(of_item), min(4000, len(of_item)), replace=False)]
    cv2.setRNGSeed(int(rng.integers(1 << 30)))
    _, _, middles = cv2.kmeans(some, int(rng.integers(1, 4)), None, (3, 20, 1e-3), 1, cv2.KMEANS_PP_CENTERS)  # type: ignore[call-overload]  # the stubs want labels where OpenCV takes None
    away = [((colours - middle) ** 2).sum(axis=2) for middle in middles]
    return np.asarray(np.argmin(np.stack(away), axis=0))


def _other_colour(patch: Float, bench: Float, rng: np.random.Generator) -> Float:
    """Factors a channel: near the bench's own colour, grey, or any."""
    middle, kind = np.median(patch, axis=0), rng.random()
    if kind < 0.25:
        change = bench / middle * np.exp(rng.normal(0, 0.3)) * np.exp(rng.normal(0, 0.08, 3))
    else:
        change = bench.mean() / middle * np.exp(rng.normal(-0.3, 0.7)) * np.exp(rng.normal(0, 0.08 if kind < 0.55 else 0.8, 3))
    return np.asarray(change * min(1.0, 0.95 / float(np.percentile(patch * change, 90))), np.float32)


def _encoded(light: Float) -> NDArray[np.uint8]:
    light = np.clip(light, 0, 1)
    return np.round(255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(light, 1 / 2.4) - 0.055)).astype(np.uint8)


# ---- what is learnt from -----------------------------------------------------------------------


@dataclass(frozen=True)
class Seen:
    """Of one variation, around the item: features, mask, paper; and features of some pixels far away."""

    group: int
    near: NDArray[np.float16]
    mask: NDArray[np.uint8]
    paper: NDArray[np.bool_]
    far: NDArray[np.float16]


def seen(scene: Scene, rng: np.random.Generator) -> Seen:
    surface = look_at_bench(scene.photo, scene.quads)
    every = features(surface).astype(np.float16)
    rows, columns = np.nonzero(scene.mask > 25)
    window = (slice(max(0, rows.min() - FAR), rows.max() + FAR), slice(max(0, columns.min() - FAR), columns.max() + FAR))
    away = ~surface.paper
    away[window] = False
    at = np.flatnonzero(away.ravel())
    flat = every.reshape(-1, every.shape[2])
    edgy = surface.crisp.ravel()[at]
    strong = at[edgy >= np.percentile(edgy, 95)]
    chosen = np.concatenate([rng.choice(at, 1000), rng.choice(strong, 1000)])
    return Seen(scene.group, every[window], scene.mask[window], surface.paper[window], flat[chosen])


def chosen_pixels(one: Seen, rng: np.random.Generator) -> NDArray[np.intp]:
    """Many beside the boundary, as many of the item and the bench about it; mixed pixels only by the far draw."""
    on = (one.mask > 25).astype(np.uint8)
    full, none = one.mask >= 230, (on == 0) & ~one.paper
    outside = cv2.distanceTransform(1 - on, cv2.DIST_L2, 5)
    inside = cv2.distanceTransform(full.astype(np.uint8), cv2.DIST_L2, 5)
    wanted = ((none & (outside < 6), 900), (full & (inside < 6), 900), (none & (outside < 80), 1800), (full, 1800))
    picks = []
    for where, count in wanted:
        at = np.flatnonzero(where.ravel())
        picks.append(rng.choice(at, min(count, len(at)), replace=False))
    return np.concatenate(picks)


def alone_rows(one: Seen, rng: np.random.Generator) -> tuple[NDArray[np.float16], Float]:
    at = chosen_pixels(one, rng)
    x = np.concatenate([one.near.reshape(-1, one.near.shape[2])[at], one.far[::2]])
    return x, np.concatenate([one.mask.ravel()[at] > 127, np.zeros(len(one.far[::2]))]).astype(np.float32)


def around_rows(one: Seen, alone: Network, rng: np.random.Generator) -> tuple[NDArray[np.float16], Float]:
    flat = one.near.reshape(-1, one.near.shape[2]).astype(np.float32)
    first = alone(flat).reshape(one.mask.shape)
    first[one.paper] = odds_of.BENCH
    likely = odds_of.chance(first)
    bench = ~one.paper.ravel()
    line = line_of(flat, bench, likely.ravel())
    at = chosen_pixels(one, rng)
    said = context(likely).reshape(len(flat), -1)
    x = np.concatenate([flat[at], said[at], off_line(flat[at], line)], axis=1)
    far = one.far[::4].astype(np.float32)
    speck = odds_of.chance(alone(far))
    lonely = np.zeros((len(far), said.shape[1]), np.float32)  # a speck on the bench: nothing like it around
    for column, share in ((0, 1.0), (1, 0.3), (2, 0.1), (5, 1.0), (7, 1.0)):
        lonely[:, column] = speck * share
    x = np.concatenate([x, np.concatenate([far, lonely, off_line(far, line)], axis=1)]).astype(np.float16)
    return x, np.concatenate([one.mask.ravel()[at] > 127, np.zeros(len(far))]).astype(np.float32)


def across_rows(scene: Scene, rng: np.random.Generator) -> tuple[NDArray[np.float16], Float]:
    """Places across rings that lie within a few px of the true ones: true ones bent, and those found."""
    surface = look_at_bench(scene.photo, scene.quads)
    odds = pixelwise.log_odds(surface)
    true = rings_of_mask(scene.mask > 127, least_hole=60.0)
    tree = cKDTree(np.vstack([true.outer, *true.holes]))
    x, y = [], []
    for ring, sign in [*_bent(true.outer, true.holes, rng), *_found(surface, odds)]:
        smooth = gaussian_filter1d(resample(ring, 1.0), 1.5, axis=0, mode="wrap")
        out = sign * normals(smooth)
        near = np.flatnonzero(tree.query(smooth)[0] < ACROSS - 0.5)
        if len(near) < 10:
            continue
        near = rng.choice(near, min(len(near), 700), replace=False)
        rows = profile_rows(Departures(scene.photo.rgb, surface, odds, smooth, 1.0), smooth[near], out[near], ACROSS, 1.0)
        places = smooth[near][:, None] + np.arange(-ACROSS, ACROSS + 1)[None, :, None] * out[near][:, None]
        covered = sample((scene.mask / np.float32(255)).astype(np.float32), places)
        pick = rng.random(covered.shape) < 0.35
        x.append(rows[pick].astype(np.float16))
        y.append(covered[pick].astype(np.float32))
    return np.concatenate(x), np.concatenate(y)


Rings = list[tuple[NDArray[np.float64], float]]


def _bent(outer: NDArray[np.float64], holes: tuple[NDArray[np.float64], ...], rng: np.random.Generator) -> Rings:
    bent: Rings = []
    for ring, sign in ((outer, 1.0), *((hole, -1.0) for hole in holes)):
        smooth = gaussian_filter1d(resample(ring, 2.0), 2, axis=0, mode="wrap")
        wave = gaussian_filter1d(rng.normal(size=len(smooth)), rng.uniform(4, 30), mode="wrap")
        bent.append((smooth + np.clip(2.5 * wave / wave.std(), -5, 5)[:, None] * normals(smooth), sign))
    return bent


def _found(surface: Surface, odds: Float) -> Rings:
    pieces = item_pieces(smooth_region(surface, odds), odds)
    if not pieces:
        return []
    rough = rings_of_mask(pieces[0], least_hole=15.0)
    return [(surface.to_photo(rough.outer), 1.0), *((surface.to_photo(hole), -1.0) for hole in rough.holes)]


# ---- learning ----------------------------------------------------------------------------------


def learn(x: NDArray[np.float16], y: Float, hidden: tuple[int, ...], seed: int) -> Network:
    """Least cross entropy by Adam (Kingma, Ba 2015), the rate falling along a half cosine."""
    rng = np.random.default_rng(seed)
    some = x[::7].astype(np.float64)
    shift, scale = some.mean(axis=0).astype(np.float32), (1 / (some.std(axis=0) + 1e-3)).astype(np.float32)
    sizes = [x.shape[1], *hidden, 1]
    values: list[Float] = []
    for wide, narrow in itertools.pairwise(sizes):
        values += [rng.normal(0, np.sqrt(2 / wide), (wide, narrow)).astype(np.float32), np.zeros(narrow, np.float32)]
    mean, square = [np.zeros_like(v) for v in values], [np.zeros_like(v) for v in values]
    steps, step = EPOCHS * (len(x) // BATCH), 0
    for _ in range(EPOCHS):
        order = rng.permutation(len(x))
        for start in range(0, len(x) - BATCH + 1, BATCH):
            at, step = order[start : start + BATCH], step + 1
            rows = (x[at].astype(np.float32) - shift) * scale
            rows += rng.normal(0, JITTER, rows.shape).astype(np.float32)
            rate = RATE * 0.5 * (1 + np.cos(np.pi * step / steps))
            for which, slope in enumerate(_slopes(values, rows, y[at])):
                mean[which] = 0.9 * mean[which] + 0.1 * slope
                square[which] = 0.999 * square[which] + 0.001 * slope**2
                ahead = mean[which] / (1 - 0.9**step) / (np.sqrt(square[which] / (1 - 0.999**step)) + 1e-8)
                values[which] = (values[which] - rate * ahead).astype(np.float32)
    return Network(shift, scale, tuple(zip(values[::2], values[1::2], strict=True)))


def _slopes(values: list[Float], rows: Float, y: Float) -> list[Float]:
    layers = len(values) // 2
    acts = [rows]
    for layer in range(layers):
        out = acts[-1] @ values[2 * layer] + values[2 * layer + 1]
        acts.append(np.maximum(out, 0) if layer < layers - 1 else out)
    back = ((odds_of.chance(acts[-1][:, 0]) - y) / len(y))[:, None].astype(np.float32)
    slopes: list[Float] = []
    for layer in reversed(range(layers)):
        slopes = [acts[layer].T @ back + DECAY * values[2 * layer], back.sum(axis=0), *slopes]
        if layer:
            back = (back @ values[2 * layer].T) * (acts[layer] > 0)
    return slopes


Parts = list[tuple[int, NDArray[np.float16], Float]]


def learn_groups(what: str, parts: Parts, seed: int) -> dict[int | None, Network]:
    """A network of all parts (None), and one without each group; says how well those do on what they never saw."""
    networks: dict[int | None, Network] = {}
    for left_out in (None, *range(len(GROUPS))):
        kept = [part for part in parts if part[0] != left_out]
        network = learn(np.concatenate([x for _, x, _ in kept]), np.concatenate([y for _, _, y in kept]), HIDDEN[what], seed)
        judged = [part for part in parts if left_out is None or part[0] == left_out]
        odds = network(np.concatenate([x for _, x, _ in judged]).astype(np.float32)) if judged else np.zeros(0)
        y = np.concatenate([y for _, _, y in judged]) if judged else np.zeros(0)
        loss, right = np.mean(np.logaddexp(0, odds) - y * odds), np.mean((odds > 0) == (y > 0.5))
        whom = "all, on what it learnt from" if left_out is None else f"without {', '.join(GROUPS[left_out])}, on those"
        print(f"{what:7} {whom}: log loss {loss:.4f}, right {100 * right:.1f} %", flush=True)
        networks[left_out] = network
    return networks


def _write(file: Path, committees: dict[str, list[Network]]) -> None:
    """As `numpy.savez_compressed` does, but with no times in it: same networks, same bytes."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, members in committees.items():
            for number, network in enumerate(members):
                arrays = {"shift": network.shift, "scale": network.scale, "count": np.array(len(network.layers))}
                for at, (weight, offset) in enumerate(network.layers):
                    arrays |= {f"weight{at}": weight, f"offset{at}": offset}
                for what, array in arrays.items():
                    data = io.BytesIO()
                    np.save(data, array, allow_pickle=False)
                    packed.writestr(zipfile.ZipInfo(f"{name}{number}_{what}.npy"), data.getvalue(), zipfile.ZIP_DEFLATED)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenes", type=Path, nargs="*")
    parser.add_argument("--half", type=Path, action="append", default=[])
    parser.add_argument("--rounds", type=int, default=6, help="variations of each photo beside the photo itself")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--held-out", type=Path)
    parser.add_argument("--out", type=Path, default=Path("insertgen/photo/weights.npz"))
    given = parser.parse_args()
    scenes = [one for folder in given.scenes for one in scenes_of(folder, half=False)]
    scenes += [one for folder in given.half for one in scenes_of(folder, half=True)]
    if not scenes:
        parser.error("no truth.json in these folders")
    networks = train(scenes, given.rounds, given.seed)
    groups = range(len(GROUPS))
    _write(given.out, {what: [networks[what][at] for at in (None, *groups)] for what in HIDDEN})
    if given.held_out is not None:
        given.held_out.mkdir(parents=True, exist_ok=True)
        for group in groups:
            _write(given.held_out / f"{group}.npz", {what: [networks[what][group]] for what in HIDDEN})


def train(scenes: list[Scene], rounds: int, seed: int) -> dict[str, dict[int | None, Network]]:
    looks: list[Seen] = []
    for scene in scenes:
        little = small(scene)
        for turn in range(rounds + 1):
            rng = little.seeded(seed, turn)
            looks.append(seen(little if turn == 0 else varied(little, rng), rng))
        print(f"seen {scene.name}", flush=True)
    alone = learn_groups("alone", [(one.group, *alone_rows(one, np.random.default_rng([seed, at, 1]))) for at, one in enumerate(looks)], seed + 1)
    around = learn_groups(
        "around",
        [(one.group, *around_rows(one, alone[one.group], np.random.default_rng([seed, at, 2]))) for at, one in enumerate(looks)],
        seed + 2,
    )
    del looks
    parts: Parts = []
    shipped = pixelwise.network
    for scene in scenes:
        known = {"alone": alone[scene.group], "around": around[scene.group]}
        pixelwise.network = known.__getitem__  # type: ignore[assignment]  # networks learnt without this family, in place of the shipped ones
        for turn in range(rounds // 2 + 1):
            rng = scene.seeded(seed, 1000 + turn)
            parts.append((scene.group, *across_rows(scene if turn == 0 else varied(scene, rng), rng)))
        print(f"across {scene.name}", flush=True)
    pixelwise.network = shipped
    return {"alone": alone, "around": around, "across": learn_groups("across", parts, seed + 3)}


if __name__ == "__main__":
    main()
