"""Invented tools with thin parts to render: bows of wire, slender points, legs, deep slots; sizes drawn at random.

At the scale at which a photo is looked at a wire is 2 or 3 pixels wide; it may close a hole.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.bench.render_bright import bar, bright, flat_steel
from tests.bench.render_materials import Points, Random, metal, some_material
from tests.bench.render_tools import (
    bowed,
    circle,
    handle,
    plate,
    rounded,
    tube,
    turned,
    upright,
    wrench,
)


def _turned_by(points: Points, turn: float) -> Points:
    """About the axis through 0, 0."""
    c, s = math.cos(turn), math.sin(turn)
    return np.hstack([points[:, :2] @ np.array([[c, s], [-s, c]]), points[:, 2:]])


def _steel(rng: Random) -> Any:
    return bright(rng) if rng.random() < 0.5 else metal(rng)


def _bow(rng: Random, first: Points, second: Points, z: float, material: Any) -> None:
    """A spring of wire from one arm to the other, its bend round or pointed, or a leaf on each side that meets the other."""
    middle = (first + second) / 2
    away = middle / max(float(np.linalg.norm(middle)), 1e-6)
    end = middle + away * rng.uniform(10, 40)
    r, swell = rng.uniform(0.5, 1.4), rng.uniform(0.0, 0.35)
    for start, sign in ((first, 1), (second, -1)):
        side = np.array([away[1], -away[0]])
        way = 1.0 if (start - middle) @ side > 0 else -1.0
        meet = end + way * side * rng.uniform(0, 0.6)
        path = bowed(start, meet, -way * swell, z, z)
        tube(path, np.full(len(path), r), material)
        if rng.random() < 0.5 and sign > 0:
            rounded_end = end + rng.uniform(0.5, 3) * np.stack([np.cos(np.linspace(0, 2 * np.pi, 20, endpoint=False)), np.sin(np.linspace(0, 2 * np.pi, 20, endpoint=False))], 1)
            tube(np.hstack([rounded_end, np.full((20, 1), z)]), np.full(20, r), material, closed=True)


def sprung_scissors(rng: Random) -> None:
    """Long points, rings or loops for the fingers, a bow of wire between the arms."""
    spread, blade, arm, wide = rng.uniform(0.2, 0.8), rng.uniform(40, 140), rng.uniform(25, 70), rng.uniform(6, 16)
    steel, grip = _steel(rng), some_material(rng, (1, 6, 2, 0))
    ends, r2, looped = [], rng.uniform(2.5, 5.5), rng.random() < 0.75
    for sign, z in ((1, 0.3), (-1, 2.8)):
        turn = sign * spread / 2
        back = wide * rng.uniform(0.3, 0.6)
        tip = rng.uniform(0.2, 1.2)
        plate([np.array([[-arm * 0.6, -wide * 0.25], [0, -wide * 0.4], [blade * 0.5, -back * 0.7], [blade, -tip / 2], [blade, tip / 2], [blade * 0.5, back * 0.7], [0, wide * 0.4], [-arm * 0.6, wide * 0.25]])], 2.4, 0.4, z, steel, turn)
        ends.append(_turned_by(np.array([[-arm * rng.uniform(0.1, 0.5), 0.0]]), turn)[0])
        t, r = np.linspace(0, 2 * np.pi, 48, endpoint=False), rng.uniform(9, 18)
        if looped:
            ring = np.stack([-arm - r + r * rng.uniform(1, 1.7) * np.cos(t), -sign * r * rng.uniform(0.8, 1.2) + r * np.sin(t), np.full(48, max(r2, 3.5))], 1)
            tube(_turned_by(ring, turn), np.full(48, r2) * (1 + 0.2 * np.cos(t)), grip, closed=True)
        path = bowed((-arm * 0.25, 0), (-arm - r * (0.2 if looped else 3), -sign * rng.uniform(1, 12)), rng.uniform(-0.08, 0.08), 4, 4)
        tube(_turned_by(path, turn), np.linspace(rng.uniform(1.5, 3.5), r2 * 1.2, len(path)), grip)
    _bow(rng, ends[0], ends[1], rng.uniform(1.5, 5), _steel(rng))
    upright([rng.uniform(3, 6)], [2], 5.0, metal(rng))


def sprung_pliers(rng: Random) -> None:
    """Slender jaws, sleeves, two leaves or a wire that hold them open."""
    spread, jaw, grips, tall = rng.uniform(10, 35), rng.uniform(25, 70), rng.uniform(60, 120), rng.uniform(7, 12)
    steel, sleeve = _steel(rng), some_material(rng, (1, 6, 2, 0))
    ends = []
    for sign in (1, -1):
        gap = sign * rng.uniform(0, 3)
        plate([np.array([[-8, sign * -5], [jaw * 0.3, sign * 7], [jaw, sign * rng.uniform(0.8, 3) + gap], [jaw, gap * 0.8], [6, sign * -2], [-8, sign * 8]])], tall * 0.8, 1.2, 1, steel)
        path = bowed((-2, sign * 5), (-grips, sign * (8 + spread)), -sign * rng.uniform(0.02, 0.14), tall / 2, tall / 2)
        thick = rng.uniform(3.5, 6.5)
        tube(path, np.full(len(path), thick * 0.7), steel)
        tube(path[6:], np.concatenate([np.full(len(path) - 8, thick), [thick * 0.9, thick * 0.6]]), sleeve)
        ends.append(path[rng.integers(3, 12), :2])
    if np.linalg.norm(ends[0] - ends[1]) > 6:
        _bow(rng, ends[0], ends[1], tall / 2, _steel(rng))
    upright([rng.uniform(6, 10), rng.uniform(3, 5)], [tall, 1], 0, steel)


def dividers(rng: Random) -> None:
    """Two legs that end in needles, an arc or a screw between them, a knob on top."""
    spread, leg, tall = rng.uniform(0.1, 0.9), rng.uniform(70, 200), rng.uniform(3, 8)
    steel, points = some_material(rng, (6, 2, 1, 1)), _steel(rng)
    arc = leg * rng.uniform(0.25, 0.5)
    for sign in (1, -1):
        turn = sign * spread / 2
        wide, needle = rng.uniform(3, 9), leg * rng.uniform(0.08, 0.3)
        plate([np.array([[-4, -wide / 2], [leg - needle, -wide * 0.3], [leg - needle, wide * 0.3], [-4, wide / 2]])], tall, 0.8, 0, steel, turn)
        path = _turned_by(np.array([[leg - needle - 4, 0, tall / 2], [leg - needle * 0.4, 0, tall / 2], [leg, 0, tall / 2]]), turn)
        thick = rng.uniform(0.7, 1.6)
        tube(path, np.array([thick, thick, 0.15]), points)
    way = np.linspace(-spread / 2 - rng.uniform(0, 0.3), spread / 2 + rng.uniform(0, 0.3), 24)
    bend = np.stack([arc * np.cos(way), arc * np.sin(way), np.full(24, tall / 2)], 1) if rng.random() < 0.6 else np.stack([np.full(24, arc), arc * np.tan(way), np.full(24, tall / 2)], 1)
    tube(bend, np.full(24, rng.uniform(0.8, 2)), _steel(rng))
    turned(np.array([-rng.uniform(12, 25), -2]), np.full(2, rng.uniform(2, 5)), tall / 2 + 2, metal(rng))
    upright([rng.uniform(5, 9)], [rng.uniform(1, 3)], tall, steel)


def pointed(rng: Random) -> None:
    """An awl, scriber or marking knife: a handle and a slender point."""
    grip, r, long = rng.uniform(60, 120), rng.uniform(5, 15), rng.uniform(25, 110)
    x, radius = handle(rng, grip, r)
    turned(x - grip, radius, r, some_material(rng, (1, 3, 2, 5)), sides=int(rng.choice([6, 8, 40, 40])))
    if rng.random() < 0.5:
        thick = rng.uniform(1, 4)
        turned(np.array([-3, long * rng.uniform(0.2, 0.9), long]), np.array([thick, thick * rng.uniform(0.5, 1), 0.15]), r, _steel(rng), sides=int(rng.choice([4, 24])))
    else:
        wide, side = rng.uniform(4, 22), rng.choice([-1.0, 0.0, 1.0])
        plate([np.array([[-3, -wide / 3], [long * rng.uniform(0.3, 0.7), -wide / 2], [long, side * wide / 2 - 0.2], [long, side * wide / 2 + 0.2], [long * rng.uniform(0.3, 0.7), wide / 2], [-3, wide / 3]])],
              rng.uniform(1, 3), 0.3, r - 1, _steel(rng))


def slotted(rng: Random) -> None:
    """A thick piece with slots and holes through it, deep enough that their ground lies in shade."""
    length, wide, tall = rng.uniform(60, 200), rng.uniform(22, 60), rng.uniform(6, 28)
    count = int(rng.integers(1, 4))
    holes = []
    for at in range(count):
        room = length / count
        middle = (at + 0.5) * room - length / 2
        hole = circle(wide * rng.uniform(0.1, 0.32)) if rng.random() < 0.4 else rounded(room * rng.uniform(0.3, 0.75), wide * rng.uniform(0.12, 0.4), wide)
        holes.append(hole + np.array([middle, rng.uniform(-0.1, 0.1) * wide]))
    plate([rounded(length, wide, rng.uniform(0, 0.5) * wide), *holes], tall, rng.uniform(0.2, 3), 0, some_material(rng, (3, 3, 2, 4)))
    if rng.random() < 0.5:
        x, radius = handle(rng, rng.uniform(60, 120), rng.uniform(7, 14))
        turned(x + length * 0.45, radius, max(tall / 2, float(radius.max())), some_material(rng, (1, 3, 2, 4)))


THIN_TOOLS: tuple[Callable[[Random], None], ...] = (
    sprung_scissors, sprung_scissors, sprung_scissors, sprung_scissors, sprung_pliers, dividers, pointed, pointed, slotted, slotted, bar, flat_steel, wrench,
)  # fmt: skip
