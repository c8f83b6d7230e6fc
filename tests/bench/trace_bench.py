"""How well photos are traced: every photo of every truth.json under DIR, without and with its exact mask.

Run: python -m tests.bench.trace_bench DIR [--only WORDS]

A line a photo: squares used; mean, 95th percentile and worst boundary distance (mm, both ways, after the best
rigid move); the same with the exact mask as silhouette; the ratio of the means; length and width error; expected
against measured 95th percentile; seconds; peak megabytes so far; flagged or not. Then a line a band. Nothing is
fitted to the truth but place and turn.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from insertgen.errors import PhotoError
from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.trace import Trace, trace_photo
from tests.photo_score import Score, facts_of, polygon, score, true_outline

GROSS = 3.0  # mm: a mean distance beyond this is another outline than the item's


@dataclass(frozen=True)
class Judged:
    """One photo; ``found`` None: refused, ``by_mask`` None: refused even with the mask."""

    found: Score | None
    by_mask: Score | None
    expected: float
    flagged: bool
    text: str


def judge(photo: Photo, mask_file: Path, facts: dict[str, Any]) -> Judged:
    known = {"square": facts["side_mm"], "height": facts["tool"]["height_mm"]}
    true = true_outline(facts)
    by_mask: Score | None = None
    try:
        mask = load_silhouette(mask_file.read_bytes(), mask_file.name, photo)
        by_mask = score(polygon(trace_photo(photo, silhouette=mask, **known).outline), true)
        masked = f"mask {by_mask.mean:5.2f} {by_mask.p95:5.2f} {by_mask.worst:5.2f}"
    except PhotoError as error:
        masked = f"mask refused: {error}"
    start = time.perf_counter()
    try:
        traced = trace_photo(photo, **known)
    except PhotoError as error:
        return Judged(None, by_mask, 0.0, False, f"refused: {error}  {masked}")
    seconds = time.perf_counter() - start
    found = score(polygon(traced.outline), true)
    flagged = _flagged(traced)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    ratio = f"{found.mean / by_mask.mean:5.1f}" if by_mask else "    -"
    text = (
        f"{sum(fit.used for fit in traced.squares)} squares {found.mean:6.2f} {found.p95:6.2f} {found.worst:6.2f}  "
        f"{masked}  ratio {ratio}  length {found.length_off:+6.2f} width {found.width_off:+6.2f}  "
        f"expected {traced.expected_error:5.2f} measured {found.p95:5.2f}  {seconds:4.1f} s {megabytes:4.0f} MB"
        f"{'  flagged' if flagged else ''}"
    )
    return Judged(found, by_mask, traced.expected_error, flagged, text)


def _flagged(traced: Trace) -> bool:
    return any("check the outline" in warning for warning in traced.warnings)


def summary(band: str, every: list[Judged]) -> str:
    found = [(one, one.found) for one in every if one.found is not None]
    masks = [one.by_mask for one in every if one.by_mask is not None]
    covered = sum(one.expected >= score.p95 for one, score in found)
    gross = [one for one, score in found if score.mean > GROSS]
    return (
        f"band {band}: {len(every)} photos, {len(every) - len(found)} refused; median mean "
        f"{_median(s.mean for _, s in found)}, p95 {_median(s.p95 for _, s in found)}, worst "
        f"{_most(s.worst for _, s in found)}; by mask {_median(s.mean for s in masks)}, {_median(s.p95 for s in masks)}, "
        f"{_most(s.worst for s in masks)}; median ratio "
        f"{_median(s.mean / one.by_mask.mean for one, s in found if one.by_mask)}; flagged "
        f"{_share(sum(one.flagged for one, _ in found), len(found))}; expected covers measured "
        f"{_share(covered, len(found))}; mean over {GROSS:g} mm: {len(gross)}, of them not flagged "
        f"{sum(not one.flagged for one in gross)}"
    )


def _median(values: Iterable[float]) -> str:
    listed = list(values)
    return f"{statistics.median(listed):.2f}" if listed else "-"


def _most(values: Iterable[float]) -> str:
    return f"{max(values, default=float('nan')):.2f}"


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole} ({100 * part / whole:.0f} %)" if whole else "-"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", help="scenes whose folder name holds this")
    arguments = parser.parse_args()
    files = [file for file in sorted(arguments.folder.rglob("truth.json")) if arguments.only in file.parent.name]
    if not files:
        parser.error(f"no truth.json under {arguments.folder}")
    bands: dict[str, list[Judged]] = {}
    for file in files:
        facts = facts_of(file.parent)
        for shot in facts["photos"]:
            photo = load_photo((file.parent / shot["file"]).read_bytes(), shot["file"])
            judged = judge(photo, file.parent / shot["toolmask"], facts)
            several = f" {shot['file']}" if len(facts["photos"]) > 1 else ""
            print(f"{file.parent.name + several:24} {facts['band']}  {judged.text}", flush=True)
            bands.setdefault(facts["band"], []).append(judged)
    for band, every in sorted(bands.items()):
        print(summary(band, every))


if __name__ == "__main__":
    main()
