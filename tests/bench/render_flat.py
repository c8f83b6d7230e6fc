"""Invented things that lie flat on the bench, to learn how high their edges stand: cases, blocks, discs, plates, broad blades.

A case's wall is upright and its edges are rounded; a flat thing's edge stands near its middle wherever the camera is. Learnt of leaning
things alone, a network tells of both that they lean. Sizes are drawn at random.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.bench.render_bright import bright, flat_steel
from tests.bench.render_materials import Random, rubber, some_material
from tests.bench.render_tools import (
    blob,
    circle,
    handle,
    hex_key,
    on_base,
    plate,
    rounded,
    scissors,
    square_and_bevel,
    turned,
    upright,
    wrench,
)


def case(rng: Random) -> None:
    """A rounded case as of a tape: upright walls, corners of two sizes, a clip or a dial on its face, a tongue, a band of rubber."""
    size, tall, shell = rng.uniform(40, 95), rng.uniform(15, 55), some_material(rng, (1, 6, 2, 1))
    wide = size * rng.uniform(0.65, 1.05)
    low = rng.uniform(0.2, 0.5) * min(size, wide)
    ring = rounded(size, wide, rng.uniform(0.04, 0.5) * min(size, wide))
    if rng.random() < 0.5:  # one half of it rounder than the other
        other = rounded(size, wide, low)
        ring = np.vstack([other[other[:, 1] >= 0], ring[ring[:, 1] < 0]])
        ring = ring[np.argsort(np.arctan2(ring[:, 1], ring[:, 0]))]
    bevel = rng.uniform(0.5, 9)
    if rng.random() < 0.4:  # two shells, a band between them
        share = rng.uniform(0.2, 0.8)
        plate([ring], tall * share, bevel, 0, shell)
        plate([ring * rng.uniform(0.94, 1.0)], tall * (1 - share) + 0.3, bevel, tall * share - 0.3, some_material(rng))
    else:
        plate([ring], tall, bevel, 0, shell)
    if rng.random() < 0.4:
        plate([ring * rng.uniform(1.0, 1.06)], tall * rng.uniform(0.15, 0.5), rng.uniform(0.3, 3), tall * rng.uniform(0.1, 0.4), rubber(rng))
    if rng.random() < 0.6:
        upright([size * rng.uniform(0.1, 0.35)], [rng.uniform(0.5, 3)], tall, some_material(rng))
    elif rng.random() < 0.6:
        plate([rounded(size * rng.uniform(0.4, 0.8), rng.uniform(8, 20), rng.uniform(1, 6))], rng.uniform(1, 4), 0.4, tall, some_material(rng, (4, 2, 1, 0)), rng.uniform(0, 7))
    if rng.random() < 0.6:
        reach = rng.uniform(4, 30)
        plate([rounded(reach + 20, rng.uniform(10, 24), 1)], rng.uniform(0.6, 5), 0.2, rng.uniform(0, 4), some_material(rng, (4, 3, 1, 0)), 0, (size / 2 + reach / 2 - 10, -wide / 2 + 14))


def block(rng: Random) -> None:
    """A box, a round tin, a puck, or what a battery or a honing block looks like; another on or beside it now and then."""
    size, tall = rng.uniform(25, 120), rng.uniform(4, 70)
    shape = rng.random()
    ring = circle(size / 2) if shape < 0.3 else blob(rng, size) if shape < 0.45 else rounded(size, size * rng.uniform(0.25, 1), size * rng.uniform(0, 0.12))
    plate([ring], tall, rng.uniform(0.1, 0.4) * tall if rng.random() < 0.3 else rng.uniform(0.1, 2), 0, some_material(rng))
    if rng.random() < 0.4:
        plate([ring * rng.uniform(0.4, 0.95)], rng.uniform(0.1, 0.5) * tall + 0.5, 0.4, tall - 0.2, some_material(rng))
    if rng.random() < 0.3:
        plate([rounded(size * rng.uniform(0.3, 1), size * rng.uniform(0.1, 0.4), 3)], tall * rng.uniform(0.2, 1.2), 0.5, 0, some_material(rng), rng.uniform(0, 7), rng.uniform(-0.5, 0.5, 2) * size)


def disc(rng: Random) -> None:
    """A thin disc, ring or washer: a blade, a backing pad."""
    r = rng.uniform(8, 75)
    rings = [circle(r)]
    if rng.random() < 0.75:
        rings.append(circle(r * rng.uniform(0.08, 0.7)))
    plate(rings, rng.uniform(1, 14), 0.3, 0, bright(rng) if rng.random() < 0.4 else some_material(rng))


def broad_blade(rng: Random) -> None:
    """A blade about as wide as its handle, of any colour: the thin end is not the narrow one."""
    grip, r, blade = rng.uniform(80, 140), rng.uniform(8, 17), rng.uniform(50, 160)
    wide, thick = 2 * r * rng.uniform(0.7, 1.6), rng.uniform(1.5, 7)
    x, radius = handle(rng, grip, r)
    turned(x - grip, radius, r, some_material(rng, (0.5, 4, 1, 5)), sides=int(rng.choice([6, 8, 40, 40])))
    shoulder, middle = rng.uniform(0, 25), r * rng.uniform(0.6, 1.3)
    ring = np.array([[-6, -r * 0.4], [shoulder, -r * 0.4], [shoulder + rng.uniform(1, 15), -wide / 2], [blade, -wide / 2], [blade, wide / 2], [shoulder + rng.uniform(1, 15), wide / 2], [shoulder, r * 0.4], [-6, r * 0.4]])
    plate([ring], thick, rng.uniform(0.1, 0.45) * thick, middle - thick / 2, bright(rng) if rng.random() < 0.4 else some_material(rng, (3, 4, 1, 0)))
    if rng.random() < 0.5:
        turned(np.array([-rng.uniform(6, 16), 2]), np.array([r * 0.9, r * rng.uniform(0.5, 0.9)]), r, some_material(rng, (6, 2, 1, 0)))


FLAT_TOOLS: tuple[Callable[[Random], None], ...] = (
    case, case, case, case, case, block, block, disc, broad_blade, broad_blade, broad_blade, wrench, wrench, scissors, scissors, flat_steel, hex_key, square_and_bevel, on_base, on_base,
)  # fmt: skip
