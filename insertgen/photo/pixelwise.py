"""How likely each pixel is of the item, judged by itself: small networks, learnt from photos whose item was known.

The first sees colour, texture and edges of a pixel against the bench's own; the second sees that and what the
first says of the surroundings (auto-context: Tu, Bai 2010). Learnt on rendered photos whose items were given
other colours at random (by ``tests/bench/pixelwise_train.py``), so that no colour is an item's.
"""

from __future__ import annotations

import io
from functools import cache
from importlib.resources import files

import numpy as np

from insertgen.photo.features import context, features, line_of, off_line
from insertgen.photo.light import Float
from insertgen.photo.network import Committee, Network
from insertgen.photo.odds import BENCH, chance
from insertgen.photo.surface import Surface

__all__ = ["log_odds", "network", "read_networks"]

_STRIP = 65536


@cache
def network(name: str) -> Committee:
    """Networks of the package's ``weights.npz``: ``alone``, ``around`` or ``across``."""
    return read_networks(files("insertgen.photo").joinpath("weights.npz").read_bytes(), name)


def read_networks(stored: bytes, name: str) -> Committee:
    """The networks of one name in such a file."""
    arrays = np.load(io.BytesIO(stored), allow_pickle=False)
    members: list[Network] = []
    while f"{name}{len(members)}_count" in arrays:
        key = f"{name}{len(members)}_"
        layers = tuple((arrays[f"{key}weight{at}"], arrays[f"{key}offset{at}"]) for at in range(int(arrays[f"{key}count"])))
        members.append(Network(arrays[f"{key}shift"], arrays[f"{key}scale"], layers))
    return Committee(tuple(members))


def log_odds(surface: Surface) -> Float:
    """log(item / bench) per working pixel; far below 0 on paper."""
    shape = surface.paper.shape
    seen = features(surface)
    rows = seen.reshape(-1, seen.shape[2])
    first = network("alone")(rows).reshape(shape)
    first[surface.paper] = BENCH
    likely = chance(first)
    around = context(likely).reshape(len(rows), -1)
    bench = ~surface.paper.ravel()
    line = line_of(rows, bench, likely.ravel())
    second = np.empty(len(rows), np.float32)
    for start in range(0, len(rows), _STRIP):  # all at once they would fill the memory
        part = slice(start, start + _STRIP)
        second[part] = network("around")(np.concatenate([rows[part], around[part], off_line(rows[part], line)], axis=1))
    second[surface.paper.ravel()] = BENCH
    return second.reshape(shape)
