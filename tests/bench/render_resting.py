"""Invented things that rest on the bench by two places of theirs, to learn how high their edges stand: sizes drawn at random.

Tapers, paddles and mallets of any proportion: that what is thin at one end leans is then learnt of more than of
screwdrivers and chisels.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from tests.bench.render_bright import bar, chisel, router_bit
from tests.bench.render_materials import Random, some_material
from tests.bench.render_thin import pointed
from tests.bench.render_tools import circle, hammer, handle, plate, rounded, screwdriver, turned


def tapered(rng: Random) -> None:
    """Turned from one end to the other: a cone, a club, a spindle; now and then flattened, or with a ferrule."""
    length, thick = rng.uniform(70, 280), rng.uniform(4, 22)
    knots = np.sort(rng.uniform(0, 1, int(rng.integers(0, 3))))
    x = np.linspace(0, 1, 48)
    radius = np.interp(x, np.concatenate([[0], knots, [1]]), thick * rng.uniform(0.05, 1, len(knots) + 2))
    radius = np.maximum(radius * thick / radius.max(), 0.4)
    ends = np.minimum(1, np.minimum(x, 1 - x) * length / rng.uniform(0.5, 8) + 0.3)
    material, squash = some_material(rng, (3, 3, 2, 4)), rng.choice([1.0, 1.0, rng.uniform(0.4, 1.2)])
    turned((x - 0.5) * length, radius * np.sqrt(ends), thick * squash, material, sides=int(rng.choice([4, 6, 8, 40, 40, 40])), squash=squash)
    if rng.random() < 0.4:
        at, wide = rng.uniform(0.1, 0.9), rng.uniform(0.02, 0.1)
        around = np.interp(np.array([at - wide, at + wide]), x, radius) * rng.uniform(1.0, 1.2)
        turned((np.array([at - wide, at + wide]) - 0.5) * length, around, thick * squash, some_material(rng), squash=squash)


def paddle(rng: Random) -> None:
    """A thick grip, flat or round, and a flat blade of any width out of its middle: a scraper, a spreader, a rasp, a brush."""
    grip, r, blade = rng.uniform(50, 130), rng.uniform(5, 16), rng.uniform(30, 200)
    wide, thick = rng.uniform(5, 75), rng.uniform(0.8, 7)
    middle = r * rng.uniform(0.6, 1.4)
    if rng.random() < 0.6:
        x, radius = handle(rng, grip, r)
        turned(x - grip, radius, r, some_material(rng, (0.5, 3, 2, 5)), sides=int(rng.choice([6, 8, 40, 40])), squash=rng.uniform(0.6, 1.0))
    else:
        plate([rounded(grip, rng.uniform(14, 40), rng.uniform(3, 12)) + np.array([-grip / 2, 0])], 2 * r, rng.uniform(0.5, r * 0.9), 0, some_material(rng, (0.5, 4, 2, 4)))
    neck, root = rng.uniform(3, 14), rng.uniform(-0.1, 0.5) * blade
    end = wide * rng.uniform(0.1, 1.0)
    ring = np.array([[-8, -neck / 2], [max(root, 0), -neck / 2], [max(root, 0) + 6, -wide / 2], [blade, -end / 2], [blade, end / 2], [max(root, 0) + 6, wide / 2], [max(root, 0), neck / 2], [-8, neck / 2]])
    plate([ring], thick, rng.uniform(0.2, 0.45) * thick, middle - thick / 2, some_material(rng, (6, 1, 1, 2)))
    if rng.random() < 0.3:  # bristles, or a block at the end
        plate([rounded(rng.uniform(15, 40), wide, rng.uniform(0, 4)) + np.array([blade, 0])], thick * rng.uniform(1.2, 4), 0.6, middle - thick, some_material(rng, (1, 2, 4, 3)))


def mallet(rng: Random) -> None:
    """A head, round or square, lying across or along, and a handle of any thickness."""
    head, r, length = rng.uniform(15, 60), rng.uniform(8, 26), rng.uniform(80, 240)
    stick = r * rng.uniform(0.25, 0.9)
    x, radius = handle(rng, length, stick)
    turned(x - length, radius, r, some_material(rng, (1, 2, 1, 5)), squash=rng.uniform(0.7, 1.0))
    across = math.pi / 2 if rng.random() < 0.7 else 0.0
    sizes = r * np.array([rng.uniform(0.6, 1), 1, rng.uniform(0.8, 1), 1, rng.uniform(0.6, 1)])
    turned(np.linspace(-head, head, 5), sizes, r, some_material(rng, (3, 2, 3, 3)), across, sides=int(rng.choice([4, 8, 40, 40])))
    if rng.random() < 0.3:
        plate([circle(stick * rng.uniform(0.3, 0.6), -length * 0.9)], 2 * stick, 0.5, r - stick, some_material(rng))


RESTING_TOOLS: tuple[Callable[[Random], None], ...] = (screwdriver, screwdriver, chisel, chisel, chisel, pointed, hammer, router_bit)
#: Of any proportion.
LYING_TOOLS: tuple[Callable[[Random], None], ...] = (tapered, tapered, tapered, paddle, paddle, paddle, mallet, mallet, screwdriver, bar)
