"""Invented tools of bright steel to render: router bits, twist drills, punches, chisels, collets; sizes drawn at random.

Their round shanks mirror the bench beside them, so that their dark side looks much like shade.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from tests.bench.render_materials import Random, metal, plastic, rubber, some_material
from tests.bench.render_tools import (
    U,
    handle,
    plate,
    pliers,
    rounded,
    scissors,
    screwdriver,
    square_and_bevel,
    turned,
    wrench,
)


def bright(rng: Random) -> Any:
    """Steel, ground or polished: smoother and paler than most metal."""
    material = metal(rng)
    surface = material.node_tree.nodes["Principled BSDF"]
    surface.inputs["Roughness"].default_value = rng.uniform(0.05, 0.4)
    surface.inputs["Metallic"].default_value = 1.0
    return material


def _shank(rng: Random, length: float, r: float, z: float, material: Any) -> None:
    """From -length to 0, its end broken."""
    chamfer = rng.uniform(0.1, 0.25) * r
    turned(np.array([-length, -length + chamfer, 0]), np.array([r - chamfer, r, r]), z, material)


def router_bit(rng: Random) -> None:
    """Shank, body turned to a profile with two wings of carbide on it, now and then a bearing at the tip or the shank."""
    r, length = rng.choice([3.0, 3.175, 4.0, 6.0, 6.35]), rng.uniform(25, 45)
    long, wide = rng.uniform(8, 40), r * rng.uniform(0.8, 3.5)
    body = some_material(rng, (3, 5, 2, 0))
    x = np.linspace(0, 1, 24)
    profile = {
        "straight": np.full(24, 1.0), "cove": 1 - 0.6 * np.sqrt(np.clip(1 - (1 - x) ** 2, 0, 1)), "round": np.sqrt(np.clip(1.02 - x**2, 0.02, 1)),
        "taper": 1 - rng.uniform(0.2, 0.8) * x, "dovetail": 0.6 + 0.4 * x, "wave": 0.65 + 0.35 * np.sin(x * rng.uniform(3, 7) + rng.uniform(0, 6)),
    }[str(rng.choice(["straight", "cove", "round", "taper", "dovetail", "wave"]))]  # fmt: skip
    z = max(r, wide)
    _shank(rng, length, r, z, bright(rng))
    core = np.concatenate([[0.0], long * x]), np.concatenate([[r * 0.9], np.maximum(wide * profile * rng.uniform(0.55, 0.92), 1.0)])
    turned(*core, z, body)
    edge = np.stack([long * x, np.maximum(wide * profile, 1.2)], axis=1)
    for side in (1, -1):
        wing = np.vstack([edge * [1, side], [[long, 0], [0, 0]]])
        thing = plate([wing[:: side]], rng.uniform(1.5, 3), 0.1, 0, bright(rng))
        thing.rotation_euler[0] = rng.uniform(-0.9, 0.9)
        thing.location = (0, 0, U * z)
    end = float(max(profile[-1] * wide, 1.2))
    if rng.random() < 0.35:
        turned(np.array([long, long + rng.uniform(3, 6)]), np.full(2, min(end * rng.uniform(0.7, 1.1), z)), z, bright(rng))
        turned(np.array([long + 3, long + 8]), np.full(2, rng.uniform(1.5, 3)), z, metal(rng))
    elif rng.random() < 0.2:
        turned(np.array([-8, -8 + rng.uniform(4, 7)]), np.full(2, min(r * rng.uniform(1.6, 2.2), z)), z, bright(rng))


def bar(rng: Random) -> None:
    """A twist drill, punch or pin: bright round bar of one to three diameters, its end pointed, flat or round."""
    r, length = rng.uniform(1.5, 9), rng.uniform(40, 150)
    steps = rng.integers(1, 4)
    at = np.sort(rng.uniform(0, length, steps - 1))
    sizes = r * np.concatenate([[1.0], rng.uniform(0.5, 1.0, steps - 1)])
    for first, last, size in zip([0.0, *at], [*at, length], sizes, strict=True):
        turned(np.array([first, first + 0.2 * size, last]), np.array([0.85, 1, 1]) * size, r, bright(rng) if rng.random() < 0.8 else some_material(rng, (2, 1, 3, 0)))
    if rng.random() < 0.6:
        turned(np.array([length, length + rng.uniform(0.3, 2) * r]), np.array([sizes[-1], 0.2]), r, bright(rng))


def chisel(rng: Random) -> None:
    """Flat blade with bevelled sides, neck, ferrule, turned handle."""
    blade, neck, grip = rng.uniform(60, 140), rng.uniform(8, 35), rng.uniform(90, 140)
    wide, r = rng.uniform(5, 40), rng.uniform(9, 16)
    steel, thick = bright(rng), rng.uniform(2.5, 6)
    z = r + rng.uniform(-0.3, 0.2) * r
    plate([np.array([[neck, -wide * 0.35], [neck + 12, -wide / 2], [neck + blade, -wide / 2], [neck + blade, wide / 2], [neck + 12, wide / 2], [neck, wide * 0.35]])], thick, rng.uniform(0.2, 1.6), z - thick / 2, steel)
    turned(np.array([-4, neck + 2]), np.array([rng.uniform(4, 7), rng.uniform(3, 5)]), r, steel)
    x, radius = handle(rng, grip, r)
    turned(x - grip, radius, r, some_material(rng, (0, 3, 1, 6)), sides=int(rng.choice([8, 40, 40])))
    if rng.random() < 0.7:
        turned(np.array([-rng.uniform(8, 16), 1]), np.array([r * 0.9, r * 0.7]), r, bright(rng))
    if rng.random() < 0.4:
        turned(np.array([-grip - 2, -grip + 6]), np.full(2, r * 0.8), r, bright(rng))


def collet(rng: Random) -> None:
    """A short turned sleeve: cone, groove, nut."""
    r = rng.uniform(6, 14)
    z = r * 1.25
    turned(np.array([0, 1, rng.uniform(12, 25)]), np.array([r * 0.9, r, r * rng.uniform(0.6, 0.95)]), z, bright(rng))
    turned(np.array([-rng.uniform(6, 14), 0]), np.full(2, z), z, bright(rng), sides=int(rng.choice([6, 40])))


def flat_steel(rng: Random) -> None:
    """A bare blade, rule or cutter: bright, thin, slots and holes in it."""
    length, wide = rng.uniform(50, 250), rng.uniform(12, 50)
    slots = []
    for _ in range(rng.integers(0, 3)):
        slot = rounded(length * rng.uniform(0.06, 0.25), wide * rng.uniform(0.12, 0.4), wide)
        slots.append(slot + np.array([rng.uniform(-0.33, 0.33) * length, 0]))
    if len(slots) == 2 and abs(slots[0].mean(0)[0] - slots[1].mean(0)[0]) < 0.27 * length:
        slots.pop()
    plate([rounded(length, wide, rng.uniform(0, 0.5) * wide), *slots], rng.uniform(0.8, 5), 0.2, rng.uniform(0, 8) * (rng.random() < 0.5), bright(rng))
    if rng.random() < 0.3:
        plate([rounded(rng.uniform(0.1, 0.3) * length, wide * rng.uniform(1, 1.6), 4)], rng.uniform(4, 14), 1, 0, plastic(rng) if rng.random() < 0.5 else rubber(rng), 0, (length * 0.5, 0))


BRIGHT_TOOLS: tuple[Callable[[Random], None], ...] = (
    router_bit, router_bit, router_bit, router_bit, bar, bar, chisel, chisel, collet, flat_steel, flat_steel, scissors, scissors, pliers, screwdriver, square_and_bevel, wrench,
)  # fmt: skip
#: What lies in a drawer of bits.
BIT_TOOLS: tuple[Callable[[Random], None], ...] = (router_bit, router_bit, router_bit, router_bit, router_bit, bar, collet)
