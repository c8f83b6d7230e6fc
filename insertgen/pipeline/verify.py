"""A written folder, read back from scratch and judged."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from insertgen.check.hashes import check_hashes
from insertgen.check.say import found
from insertgen.check.tray import check_tray
from insertgen.errors import JobError, ShapeNotFoundError
from insertgen.exchange.dxf import RELEASES, UNITS, DxfStyle, dxf_name
from insertgen.files.job import read_job
from insertgen.files.layout import read_layout
from insertgen.files.names import slug
from insertgen.files.report import Report, read_report
from insertgen.files.shape import read_shape
from insertgen.files.text import decode, read_text
from insertgen.items.resolve import items_of
from insertgen.items.shared import singles, with_shared
from insertgen.model.finding import Finding
from insertgen.model.item import Wanted
from insertgen.model.job import Tray
from insertgen.model.layout import Layout
from insertgen.model.shape import Shape

__all__ = ["check_folder", "check_written"]

Read = Callable[[str], bytes | None]


def check_folder(folder: Path) -> tuple[Finding, ...]:
    """Findings on a build folder; what ``report.json`` lists is held against the files last.

    Raises
    ------
    JobError
        The folder holds no build, or a source or layout file that cannot be read.
    """
    report = _report(folder)

    def read(name: str) -> bytes | None:
        path = folder / name
        return path.read_bytes() if path.is_file() else None

    return check_written(_job_name(folder, report), read) + check_hashes(report.files, read)


def check_written(job_name: str, read: Read) -> tuple[Finding, ...]:
    """Findings on the files that ``read`` gives by name, from the job (``job_name``) and shapes in ``source/`` on."""
    job = read_job(_text(read, job_name), job_name, _finder(read))
    each = singles(job.wanted)
    layouts = [_layout(read, tray, len(each)) for tray in job.trays]
    findings = list(_shared_findings(each, layouts))
    for tray, layout in zip(job.trays, layouts, strict=True):
        whole = with_shared(tray, each, layout.shared)
        findings += _tray_findings(read, replace(whole, items=items_of(whole)), layout)
    return tuple(findings)


def _layout(read: Read, tray: Tray, shared: int) -> Layout:
    name = f"{tray.slug}/layout.json"
    layout = read_layout(_text(read, name), name)
    if any(number > shared for number in layout.shared):
        raise JobError(f"{name}, shared: names item {max(layout.shared)} of the job's own, which has {shared}; build the job again")
    return layout


def _shared_findings(each: Sequence[Wanted], layouts: Sequence[Layout]) -> Iterator[Finding]:
    """Every item that any tray may take is in one tray's list, placed or left out there."""
    for number, wanted in enumerate(each, 1):
        trays = [layout.tray for layout in layouts if number in layout.shared]
        name = f"{wanted.shape.name} ({wanted.where}), which any tray may take,"
        if not trays:
            yield found("cut-missing", f"{name} is in none", "build the job again")
        elif len(trays) > 1:
            yield found("cut-extra", f"{name} is in {' and in '.join(trays)}", "build the job again")


def _tray_findings(read: Read, tray: Tray, layout: Layout) -> tuple[Finding, ...]:
    drawings = {name: data for name in _drawing_names(tray) if (data := read(f"{tray.slug}/{name}")) is not None}
    holes = read(f"{tray.slug}/holes.csv")
    return check_tray(tray, layout, drawings, None if holes is None else decode(holes, f"{tray.slug}/holes.csv"))


def _drawing_names(tray: Tray) -> Iterator[str]:
    """Every drawing that a build may write for a tray, and one more of a kind: what is not due must not lie there."""
    openings = sum(len(item.steps) for item in tray.items)  # at worst each is on a template of its own
    names = [f"sheet-{number}" for number in range(1, len(tray.stack) + 2)]
    names += ["base", *(f"template-{number}" for number in range(1, openings + 2))]
    for name in names:
        yield from dict.fromkeys(dxf_name(name, DxfStyle(release, unit)) for release in RELEASES for unit in UNITS)


def _finder(read: Read) -> Callable[[str], Shape]:
    """Shapes as used at the build, and no others."""

    def find(name: str) -> Shape:
        file = f"source/shapes/{slug(name)}.toml"
        data = read(file)
        if data is None:
            raise ShapeNotFoundError(f"{file} is missing from the build; build the job again")
        return read_shape(decode(data, file), file)

    return find


def _text(read: Read, name: str) -> str:
    data = read(name)
    if data is None:
        raise JobError(f"{name} is missing from the build; build the job again")
    return decode(data, name)


def _report(folder: Path) -> Report:
    path = folder / "report.json"
    if not folder.is_dir():
        raise JobError(f"{folder} is no folder; give the folder that build wrote, as in: insertgen check out/north-bench")
    if not path.is_file():
        raise JobError(f"{folder} holds no report.json, so it is no finished build; run: insertgen build JOB.toml")
    return read_report(read_text(path), str(path))


def _job_name(folder: Path, report: Report) -> str:
    names = [name for name, _ in report.files if name.startswith("source/") and name.count("/") == 1]
    if len(names) != 1:
        raise JobError(f"{folder / 'report.json'} must list one job file in source/, it lists {len(names)}; build again")
    return names[0]
