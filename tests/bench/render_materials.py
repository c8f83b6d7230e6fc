"""What rendered things are made of: metal, plastic, rubber, wood, and benches; colours drawn at random."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import bpy
import numpy as np
from numpy.typing import NDArray

Random = np.random.Generator
Points = NDArray[np.float64]

def new_nodes(name: str) -> tuple[Any, Any, Any, Any]:
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    nodes, links = material.node_tree.nodes, material.node_tree.links
    return material, nodes, links, nodes["Principled BSDF"]


def colour_of(rgb: Sequence[float]) -> tuple[float, float, float, float]:
    return (float(rgb[0]), float(rgb[1]), float(rgb[2]), 1.0)


def any_colour(rng: Random) -> Points:
    """Linear RGB: saturated, grey or dark."""
    hue, strong, light = rng.random(), rng.random() ** 0.5, math.exp(rng.uniform(-3.5, -0.3))
    wheel = np.clip(np.abs((hue * 6 + np.array([0, 4, 2])) % 6 - 3) - 1, 0, 1)
    return np.clip(light * (1 - strong + strong * wheel * 1.6), 0.005, 0.9)


def wood_colour(rng: Random) -> Points:
    light = math.exp(rng.uniform(-2.2, -0.6))
    return np.clip(light * np.array([1.0, rng.uniform(0.55, 0.85), rng.uniform(0.25, 0.6)]), 0.01, 0.9)


def _coordinates(nodes: Any, links: Any, scale: Sequence[float], turn: float) -> Any:
    where, mapping = nodes.new("ShaderNodeTexCoord"), nodes.new("ShaderNodeMapping")
    links.new(where.outputs["Object"], mapping.inputs["Vector"])
    mapping.inputs["Scale"].default_value = tuple(scale)
    mapping.inputs["Rotation"].default_value = (0, 0, turn)
    return mapping.outputs["Vector"]


def _noise(nodes: Any, links: Any, vector: Any, scale: float, detail: float = 6, distortion: float = 0) -> Any:
    noise = nodes.new("ShaderNodeTexNoise")
    links.new(vector, noise.inputs["Vector"])
    noise.inputs["Scale"].default_value = scale
    noise.inputs["Detail"].default_value = detail
    noise.inputs["Distortion"].default_value = distortion
    return noise.outputs[0]


def _ramp(nodes: Any, links: Any, value: Any, low: float, high: float, dark: Sequence[float], pale: Sequence[float]) -> Any:
    ramp = nodes.new("ShaderNodeValToRGB")
    links.new(value, ramp.inputs[0])
    first, last = ramp.color_ramp.elements
    first.position, last.position = low, high
    first.color, last.color = colour_of(dark), colour_of(pale)
    return ramp.outputs[0]


def _times(nodes: Any, links: Any, one: Any, other: Any, share: float = 1.0) -> Any:
    mix = nodes.new("ShaderNodeMixRGB")
    mix.blend_type = "MULTIPLY"
    mix.inputs[0].default_value = share
    links.new(one, mix.inputs[1])
    links.new(other, mix.inputs[2])
    return mix.outputs[0]


def _grain(nodes: Any, links: Any, rng: Random, colour: Points, turn: float, fine: float = 1.0) -> Any:
    """Long noise along the grain, some of it waved, and pores."""
    long = _coordinates(nodes, links, (fine * rng.uniform(0.2, 0.6), fine * rng.uniform(2, 6), fine), turn)
    depth = rng.uniform(0.3, 0.85)
    bands = _noise(nodes, links, long, rng.uniform(0.8, 3), 8, rng.uniform(0, 3))
    colours = _ramp(nodes, links, bands, 0.3, 0.7, colour * depth, colour)
    pores = _noise(nodes, links, _coordinates(nodes, links, (fine * 2, fine * 60, fine), turn), 3, 3)
    return _times(nodes, links, colours, _ramp(nodes, links, pores, 0.3, 0.5, [rng.uniform(0.6, 0.95)] * 3, [1, 1, 1]))


def _rough(bsdf: Any, roughness: float, metal: float = 0.0) -> None:
    bsdf.inputs["Roughness"].default_value = roughness
    bsdf.inputs["Metallic"].default_value = metal


def metal(rng: Random) -> Any:
    material, nodes, links, bsdf = new_nodes("metal")
    tint = np.array([1.0, rng.uniform(0.9, 1.0), rng.uniform(0.82, 1.0)]) if rng.random() < 0.85 else np.array([0.9, 0.65, 0.3])
    colour = tint * rng.uniform(0.15, 0.9)
    _rough(bsdf, rng.uniform(0.08, 0.55), 1.0 if rng.random() < 0.85 else 0.6)
    vector = _coordinates(nodes, links, (1, rng.uniform(1, 20), 1), rng.uniform(0, 3))
    shade = _noise(nodes, links, vector, rng.uniform(2, 12))
    links.new(_ramp(nodes, links, shade, 0.3, 0.7, colour * rng.uniform(0.5, 1), colour), bsdf.inputs["Base Color"])
    return material


def plastic(rng: Random) -> Any:
    material, _, _, bsdf = new_nodes("plastic")
    bsdf.inputs["Base Color"].default_value = colour_of(any_colour(rng))
    _rough(bsdf, rng.uniform(0.1, 0.7))
    return material


def rubber(rng: Random) -> Any:
    material, _, _, bsdf = new_nodes("rubber")
    bsdf.inputs["Base Color"].default_value = colour_of(np.full(3, rng.uniform(0.008, 0.06)))
    _rough(bsdf, rng.uniform(0.4, 0.9))
    return material


def wood(rng: Random) -> Any:
    material, nodes, links, bsdf = new_nodes("wood")
    links.new(_grain(nodes, links, rng, wood_colour(rng), 0.0, 2.0), bsdf.inputs["Base Color"])
    _rough(bsdf, rng.uniform(0.25, 0.7))
    return material


def flat(colour: Sequence[float], roughness: float = 0.8) -> Any:
    material, _, _, bsdf = new_nodes("flat")
    bsdf.inputs["Base Color"].default_value = colour_of(colour)
    _rough(bsdf, roughness)
    return material


def some_material(rng: Random, weights: Sequence[float] = (4, 4, 2, 3)) -> Any:
    share = np.array(weights, float)
    return (metal, plastic, rubber, wood)[rng.choice(4, p=share / share.sum())](rng)


def bench_material(rng: Random) -> Any:
    """Plain board, fibre board, or planks; some stained."""
    material, nodes, links, bsdf = new_nodes("bench")
    kind, turn = rng.choice(["plain", "fibre", "planks", "board"], p=[0.3, 0.2, 0.3, 0.2]), rng.uniform(0, math.pi)
    if kind == "plain":
        grey = math.exp(rng.uniform(-2.5, -0.15)) * np.clip(1 + rng.normal(0, 0.08, 3), 0.6, 1.3)
        vector = _coordinates(nodes, links, (1, 1, 1), turn)
        colours = _ramp(nodes, links, _noise(nodes, links, vector, rng.uniform(1, 300)), 0.2, 0.8, grey * rng.uniform(0.9, 1), grey)
    elif kind == "fibre":
        brown = wood_colour(rng)
        vector = _coordinates(nodes, links, (1, 1, 1), turn)
        speckle = _noise(nodes, links, vector, rng.uniform(50, 400), 4)
        colours = _ramp(nodes, links, speckle, 0.3, 0.7, brown * rng.uniform(0.7, 0.95), brown)
        broad = _noise(nodes, links, vector, rng.uniform(0.5, 2))
        colours = _times(nodes, links, colours, _ramp(nodes, links, broad, 0.2, 0.8, [0.85] * 3, [1] * 3))
    else:
        colours = _grain(nodes, links, rng, wood_colour(rng), turn)
        if kind == "planks":
            colours = _times(nodes, links, colours, _planks(nodes, links, rng, turn))
    if rng.random() < 0.4:
        blots = _noise(nodes, links, _coordinates(nodes, links, (1, 1, 1), turn), rng.uniform(0.8, 3), 6, rng.uniform(0, 1))
        at = rng.uniform(0.55, 0.68)
        stain = np.full(3, rng.uniform(0.3, 0.8)) * (1 + rng.normal(0, 0.05, 3))
        colours = _times(nodes, links, colours, _ramp(nodes, links, blots, at, at + rng.uniform(0.01, 0.15), [1] * 3, stain))
    links.new(colours, bsdf.inputs["Base Color"])
    _rough(bsdf, rng.uniform(0.25, 0.95))
    return material


def sheet_material(rng: Random) -> Any:
    """A plain pale sheet, near white or tinted a little, with next to no texture."""
    material, nodes, links, bsdf = new_nodes("sheet")
    pale = rng.uniform(0.35, 0.85) * np.clip(1 + rng.normal(0, 0.05, 3), 0.85, 1.12)
    speckle = _noise(nodes, links, _coordinates(nodes, links, (1, 1, 1), 0.0), rng.uniform(1, 300))
    links.new(_ramp(nodes, links, speckle, 0.2, 0.8, pale * rng.uniform(0.94, 1), pale), bsdf.inputs["Base Color"])
    _rough(bsdf, rng.uniform(0.5, 0.95))
    return material


def _planks(nodes: Any, links: Any, rng: Random, turn: float) -> Any:
    brick = nodes.new("ShaderNodeTexBrick")
    links.new(_coordinates(nodes, links, (1, 1, 1), turn), brick.inputs["Vector"])
    tone = rng.uniform(0.75, 1.0)
    brick.inputs["Color1"].default_value = colour_of([1, 1, 1])
    brick.inputs["Color2"].default_value = colour_of([tone, tone * rng.uniform(0.93, 1.05), tone])
    brick.inputs["Mortar"].default_value = colour_of([rng.uniform(0.2, 0.8)] * 3)
    brick.inputs["Scale"].default_value = 1.0
    brick.inputs["Mortar Size"].default_value = rng.uniform(0.003, 0.012)
    brick.inputs["Brick Width"].default_value = rng.uniform(5, 30)
    brick.inputs["Row Height"].default_value = rng.uniform(0.6, 2.0)
    return brick.outputs[0]
