"""The layouts of the last build, for --keep-layout; one that cannot be this job's is refused before anything is lost."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from insertgen.errors import JobError
from insertgen.files.layout import read_layout
from insertgen.files.text import read_text
from insertgen.model.item import Wanted
from insertgen.model.job import Blank, Job, Tray
from insertgen.model.layout import Layout
from insertgen.units import format_mm

__all__ = ["layouts_before"]

NEAR = 1e-3  # mm by which two blanks may differ: files round


def layouts_before(folder: Path, job: Job) -> dict[str, Layout]:
    """By slug of the tray, those that are there.

    Raises
    ------
    JobError
        One cannot be read, is of another tray or blank, holds nothing of the job, or one id twice.
    """
    found = {}
    for tray in job.trays:
        path = folder / tray.slug / "layout.json"
        if path.is_file():
            found[tray.slug] = _refused(read_layout(read_text(path), str(path)), str(path), tray, job.wanted)
    return found


def _refused(layout: Layout, file: str, tray: Tray, shared: tuple[Wanted, ...]) -> Layout:
    why = _why_not(layout, tray, shared)
    if why is not None:
        raise JobError(
            f"{file}: {why}; to lay this tray out anew and keep the others move the file away, "
            "or build without --keep-layout"
        )
    return layout


def _why_not(layout: Layout, tray: Tray, shared: tuple[Wanted, ...]) -> str | None:
    """What is wrong with a layout as the last one of a tray."""
    if layout.tray != tray.slug:
        return f'is the layout of "{layout.tray}", not of "{tray.slug}"'
    if max(abs(layout.blank.width - tray.blank.width), abs(layout.blank.depth - tray.blank.depth)) > NEAR:
        return f"was laid out on a blank of {_size(layout.blank)}, and {tray.name} has one of {_size(tray.blank)}"
    ids = [one.id for one in layout.placements] + [one.id for one in layout.left_out]
    twice = [name for name, count in Counter(ids).items() if count > 1]
    if twice:
        return f"names {twice[0]} twice, so there is no telling which is meant"
    known = {wanted.shape.name for wanted in (*tray.wanted, *shared)} | {"lift-out hole"}
    if layout.placements and tray.wanted and not any(one.name in known for one in layout.placements):
        return f'holds nothing of what {tray.name} wants ("{layout.placements[0].name}" is not in the job): it is of another job'
    return None


def _size(blank: Blank) -> str:
    return f"{format_mm(blank.width)} x {format_mm(blank.depth)} mm"
