"""How well photos are traced: every photo of every truth.json under DIR, without and with its exact mask.

Run: python -m tests.bench.trace_bench [DIR...] [--open DIR] [--closed DIR] [--only WORDS] [--held-out FOLDER]

A line a photo: squares used and seen; mean, 95th percentile and worst boundary distance (mm, both ways, after the
best rigid move); the same with the exact mask as silhouette; the ratio of the means; length and width error; the
silhouette's mean and 95th percentile against the mask in pixels; holes of 20 mm2 and more right or not; expected
against measured mean and 95th percentile; seconds; peak megabytes so far; flagged or not. Then a line a band, and
one of all. Nothing is fitted to the truth but place and turn.

``--open`` and ``--closed`` take of a folder only the scenes whose name has an even or an odd SHA-1: the networks
that tell item from bench learnt from the open ones. ``--held-out`` is a folder written by ``pixelwise_train --held-out``: each
photo is then traced by networks that never saw a tool of its group.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from scipy.stats import spearmanr

from insertgen.errors import PhotoError
from insertgen.photo import pixelwise
from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.network import Committee
from insertgen.photo.trace import Trace, trace_photo
from tests.bench.pixelwise_train import group_of, is_open
from tests.photo_score import Score, facts_of, pixels_off, polygon, score, true_outline

GROSS = 3.0  # mm: a mean distance beyond this is another outline than the item's
DOUBTS = ("check the outline", "tall for this photo")
TIMES, MORE = 1.5, 0.2  # of the exact mask's mean, and mm: what a silhouette may add before it should be flagged


@dataclass(frozen=True)
class Judged:
    """One photo; ``found`` None: refused, ``by_mask`` None: refused even with the mask."""

    found: Score | None
    by_mask: Score | None
    traced: Trace | None
    seconds: float
    text: str

    @property
    def flagged(self) -> bool:
        """Not to be trusted, by the program's own word: by what it sees, or by how tall the item is for the photo."""
        return self.traced is not None and any(said in warning for warning in self.traced.warnings for said in DOUBTS)

    @property
    def too_far(self) -> bool:
        return bool(self.found and self.by_mask and self.found.mean > TIMES * self.by_mask.mean + MORE)


def judge(photo: Photo, mask_file: Path, facts: dict[str, Any]) -> Judged:
    known = {"square": facts["side_mm"], "height": facts["tool"]["height_mm"]}
    true = true_outline(facts)
    mask = load_silhouette(mask_file.read_bytes(), mask_file.name, photo)
    by_mask: Score | None = None
    try:
        by_mask = score(polygon(trace_photo(photo, silhouette=mask, **known).outline), true)
        masked = f"mask {by_mask.mean:5.2f} {by_mask.p95:5.2f} {by_mask.worst:5.2f}"
    except PhotoError as error:
        masked = f"mask refused: {error}"
    start = time.perf_counter()
    try:
        traced = trace_photo(photo, **known)
    except PhotoError as error:
        return Judged(None, by_mask, None, time.perf_counter() - start, f"refused: {error}  {masked}")
    seconds = time.perf_counter() - start
    found = score(polygon(traced.outline), true)
    off, off95 = pixels_off(traced.outline_px, mask)
    ratio = f"{found.mean / by_mask.mean:5.1f}" if by_mask else "    -"
    judged = Judged(found, by_mask, traced, seconds, "")
    text = (
        f"{sum(fit.used for fit in traced.squares)}/{len(traced.squares)} squares  {found.mean:6.2f} {found.p95:6.2f} "
        f"{found.worst:6.2f}  {masked}  ratio {ratio}  length {found.length_off:+6.2f} width {found.width_off:+6.2f}  "
        f"px {off:5.2f} {off95:6.2f}  holes {'right' if found.holes_right else 'WRONG'}  expected {traced.expected_mean:5.2f} "
        f"{traced.expected_error:5.2f} measured {found.mean:5.2f} {found.p95:5.2f}  {seconds:4.1f} s {_megabytes():4.0f} MB"
        f"{'  flagged' if judged.flagged else '  TOO FAR' if judged.too_far else ''}"
    )
    return Judged(found, by_mask, traced, seconds, text)


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def summary(name: str, every: list[Judged]) -> str:
    found = [(one, one.found, one.traced) for one in every if one.found is not None and one.traced is not None]
    masks = [one.by_mask for one in every if one.by_mask is not None]
    gross = [one for one, score, _ in found if score.mean > GROSS]
    count = len(found)
    near = sum(0.5 <= score.mean / traced.expected_mean <= 2.0 for _, score, traced in found)
    lines = (
        f"{name}: {len(every)} photos, {len(every) - count} refused",
        f"  median mean {_median(s.mean for _, s, _ in found)}, p95 {_median(s.p95 for _, s, _ in found)}, greatest mean "
        f"{_most(s.mean for _, s, _ in found)}; by mask {_median(s.mean for s in masks)}, {_median(s.p95 for s in masks)}, "
        f"{_most(s.mean for s in masks)}; median ratio {_median(s.mean / one.by_mask.mean for one, s, _ in found if one.by_mask)}",
        f"  flagged {_share(sum(one.flagged for one, _, _ in found), count)}; over {TIMES:g} x mask + {MORE:g} mm: "
        f"{_share(sum(one.too_far for one, _, _ in found), count)}, of them not flagged "
        f"{sum(one.too_far and not one.flagged for one, _, _ in found)}; mean over {GROSS:g} mm: {len(gross)}, not flagged "
        f"{sum(not one.flagged for one in gross)}",
        f"  holes right {_share(sum(s.holes_right for _, s, _ in found), count)}; expected covers measured p95 "
        f"{_share(sum(t.expected_error >= s.p95 for _, s, t in found), count)}, mean within a factor of 2 {_share(near, count)}, "
        f"Spearman {_spearman([(t.expected_mean, s.mean) for _, s, t in found])}; median "
        f"{_median(one.seconds for one, _, _ in found)} s",
    )
    return "\n".join(lines)


def _spearman(pairs: list[tuple[float, float]]) -> str:
    if len(pairs) < 3:
        return "-"
    return f"{float(spearmanr([a for a, _ in pairs], [b for _, b in pairs]).statistic):.2f}"


def _median(values: Iterable[float]) -> str:
    listed = list(values)
    return f"{statistics.median(listed):.2f}" if listed else "-"


def _most(values: Iterable[float]) -> str:
    return f"{max(values, default=float('nan')):.2f}"


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole} ({100 * part / whole:.0f} %)" if whole else "-"


@cache
def _networks(file: Path, name: str) -> Committee:
    return pixelwise.read_networks(file.read_bytes(), name)


def _hold_out(folder: Path, scene: str) -> None:
    file = folder / f"{group_of(scene)}.npz"
    pixelwise.network = lambda name: _networks(file, name)  # type: ignore[assignment]  # networks that never saw this family, in place of the shipped ones


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="*")
    parser.add_argument("--open", type=Path, action="append", default=[], help="of this folder, the scenes learnt from")
    parser.add_argument("--closed", type=Path, action="append", default=[], help="of this folder, the others")
    parser.add_argument("--only", default="", help="scenes whose folder name holds this")
    parser.add_argument("--held-out", type=Path)
    arguments = parser.parse_args()
    files = [file for folder in arguments.folders for file in sorted(folder.rglob("truth.json"))]
    for half, folders in ((True, arguments.open), (False, arguments.closed)):
        found = [file for folder in folders for file in sorted(folder.rglob("truth.json"))]
        files += [file for file in found if is_open(file.parent.name) == half]
    files = [file for file in files if arguments.only in file.parent.name]
    if not files:
        parser.error("no such truth.json under these folders")
    bands: dict[str, list[Judged]] = {}
    for file in files:
        facts = facts_of(file.parent)
        if arguments.held_out:
            _hold_out(arguments.held_out, file.parent.name)
        for shot in facts["photos"]:
            photo = load_photo((file.parent / shot["file"]).read_bytes(), shot["file"])
            judged = judge(photo, file.parent / shot["toolmask"], facts)
            several = f" {shot['file']}" if len(facts["photos"]) > 1 else ""
            print(f"{file.parent.name + several:24} {facts['band']}  {judged.text}", flush=True)
            bands.setdefault(facts["band"], []).append(judged)
    for band, every in sorted(bands.items()):
        print(summary(f"band {band}", every))
    print(summary("all", [one for every in bands.values() for one in every]))
    print(f"peak {_megabytes():.0f} MB")


if __name__ == "__main__":
    main()
