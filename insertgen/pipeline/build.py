"""A job file to a folder of cut files, checked from what was written."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from insertgen import __version__
from insertgen.errors import JobError, OutputError
from insertgen.exchange.dxf import MM, DxfStyle
from insertgen.files.find import shape_finder, shape_text
from insertgen.files.job import read_job
from insertgen.files.layout import write_layout
from insertgen.files.names import slug
from insertgen.files.report import Report, TrayReport, read_report, write_report
from insertgen.files.text import read_text
from insertgen.model.drawing import Drawing
from insertgen.model.job import Job, Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.output.cautions import cautions_for
from insertgen.output.cut_list import cut_list_csv
from insertgen.output.papers import ONE, paper_size
from insertgen.output.report_html import report_html
from insertgen.output.report_page import TrayPage
from insertgen.pipeline.disk import sha256, staged_folder
from insertgen.pipeline.keep import layouts_before
from insertgen.pipeline.share import Asked, Laid, laid_out
from insertgen.pipeline.stop import on_interrupt
from insertgen.pipeline.tally import spots_of, tray_report
from insertgen.pipeline.verify import check_written
from insertgen.pipeline.writers import Options, files_of, notes_of
from insertgen.sheets.draw import draw

__all__ = ["Built", "build"]

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Built:
    """What a build made; ``folder`` None for a dry run.

    ``kept`` are the slugs of the trays whose last layout was held;
    ``interrupted``: Ctrl-C ended the search, and the best until then was taken.
    """

    folder: Path | None
    report: Report
    layouts: tuple[Layout, ...]
    kept: tuple[str, ...] = ()
    interrupted: bool = False


@dataclass(frozen=True, slots=True)
class _MadeTray:
    tray: Tray
    layout: Layout
    drawing: Drawing
    seats: tuple[Seat, ...]


def build(
    job_file: Path,
    *,
    out: Path | None = None,
    seed: int = 0,
    seconds: float = 5.0,
    paper: str | None = None,
    printed: tuple[float, float] = (100.0, 100.0),
    dxf: DxfStyle = MM,
    marks: bool = False,
    overwrite: bool = False,
    keep_layout: bool = False,
    dry_run: bool = False,
    say: Say | None = None,
) -> Built:
    """Build a job into ``out`` (default ``out/<slug of the job file>``) and check what was written.

    Parameters
    ----------
    seed, seconds
        Of the layout search; ``seconds`` a tray is a ceiling.
    paper : str, optional
        Of the full-size template: a name or size that `insertgen.output.papers` knows; default letter for a job in
        inches, else A4.
    printed : pair of float
        What the 100 mm check bars measured on the user's print, short and long side of the paper.
    dxf : DxfStyle
        Release and units of the drawing files.
    marks : bool
        Write labels to engrave, tabs and hold-down places too.
    overwrite : bool
        Replace files that were edited since the last build too.
    keep_layout : bool
        Hold the places of the last build's layouts, and only fit what is new.
    dry_run : bool
        Check what would be written, but leave the disk alone.
    say : callable, optional
        Told what is going on.

    Raises
    ------
    JobError, ShapeNotFoundError, NotYetError
        The job asks for what cannot be.
    OutputError
        The folder cannot be written, or holds files edited since the last build.
    """
    tell = say or (lambda _: None)
    if paper not in (None, ONE):
        paper_size(str(paper))  # refused before the work, not after it
    text = read_text(job_file)
    job = read_job(text, str(job_file), shape_finder(job_file.parent))
    folder = out or Path("out") / slug(job_file.stem)
    before = frozenset() if dry_run else _previous_files(folder, overwrite=overwrite)
    last = layouts_before(folder, job) if keep_layout else {}
    with on_interrupt() as stop:
        laid = laid_out(job, Asked(seed, seconds, tell, stop, last))
    made = [_made(one, tell) for one in laid]
    files = _source(job_file, text, job)
    options = Options(paper or ("letter" if job.units == "in" else "a4"), printed, dxf, marks)
    for one in made:
        files |= _tray_files(one, options)
    files["cut-list.csv"] = cut_list_csv([one.drawing for one in made]).encode()
    if dry_run:
        return replace(_built(None, files, made, options, job, job_file)[0], kept=tuple(last), interrupted=stop.asked)
    _refuse_strangers(folder, (*files, "report.html"), before, overwrite=overwrite)
    with staged_folder(folder, files, drop=before | {"report.json"}) as staged:
        written = {name: (staged / name).read_bytes() for name in files}
        result, page = _built(folder, written, made, options, job, job_file)
        (staged / "report.html").write_bytes(page)
        (staged / "report.json").write_bytes(write_report(result.report).encode())
    return replace(result, kept=tuple(last), interrupted=stop.asked)


def _made(laid: Laid, tell: Say) -> _MadeTray:
    tell(f"{laid.tray.name}: drawing")
    drawing = replace(draw(laid.tray, laid.seats, laid.layout), cautions=cautions_for(laid.tray))
    return _MadeTray(laid.tray, laid.layout, drawing, laid.seats)


def _source(job_file: Path, text: str, job: Job) -> dict[str, bytes]:
    """The job and the shapes it uses, to the letter."""
    files = {f"source/{job_file.name}": text.encode()}
    for shape in job.shapes:
        files[f"source/shapes/{shape.source}.toml"] = shape_text(job_file.parent, shape.source)[1].encode()
    return files


def _tray_files(made: _MadeTray, options: Options) -> dict[str, bytes]:
    files = files_of(made.drawing, options) | {"layout.json": write_layout(made.layout).encode()}
    return {f"{made.tray.slug}/{name}": data for name, data in files.items()}


def _built(
    folder: Path | None, files: dict[str, bytes], made: list[_MadeTray], options: Options, job: Job, job_file: Path
) -> tuple[Built, bytes]:
    """What the check of the written files says, and the page that shows it all."""
    findings = check_written(f"source/{job_file.name}", files.get)
    cautions = _merged(one.drawing.cautions for one in made)
    page = report_html(job.name, [_page(one, files) for one in made], findings, cautions, __version__).encode()
    report = Report(
        version=__version__,
        files=tuple(sorted((name, sha256(data)) for name, data in (files | {"report.html": page}).items())),
        trays=tuple(_tray_report(one, options) for one in made),
        findings=findings,
        cautions=cautions,
    )
    return Built(folder, report, tuple(one.layout for one in made)), page


def _page(made: _MadeTray, files: dict[str, bytes]) -> TrayPage:
    of_tray = tuple(sorted(name for name in files if name.startswith(f"{made.tray.slug}/")))
    return TrayPage(made.drawing, spots_of(made.drawing, made.seats, made.layout), of_tray)


def _tray_report(made: _MadeTray, options: Options) -> TrayReport:
    notes = notes_of(made.drawing, options)
    return tray_report(made.drawing, made.seats, made.layout, style=options.dxf, notes=notes)


def _merged(lists: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(code for codes in lists for code in codes))


def _previous_files(folder: Path, *, overwrite: bool) -> frozenset[str]:
    """The files of the last build in this folder, none of them edited since unless that is allowed."""
    report_file = folder / "report.json"
    if not report_file.is_file():
        return frozenset()
    try:
        listed = read_report(read_text(report_file), str(report_file)).files
    except JobError as error:
        if overwrite:
            return frozenset()
        raise OutputError(
            f"{report_file} cannot be read, so there is no telling what was edited since the last build ({error}); "
            "give another folder with --out, or --overwrite to replace the build's files"
        ) from error
    for name, sha in listed:
        path = folder / name
        if not overwrite and path.is_file() and sha256(path.read_bytes()) != sha:
            raise OutputError(
                f"{path} was edited since the last build; keep it under another name, "
                "give another folder with --out, or --overwrite to lose the edit"
            )
    return frozenset(name for name, _ in listed)


def _refuse_strangers(folder: Path, files: Iterable[str], before: frozenset[str], *, overwrite: bool) -> None:
    for name in files:
        if name not in before and (folder / name).exists() and not overwrite:
            raise OutputError(
                f"{folder / name} stands there already and is not of the last build; move it, "
                "give another folder with --out, or --overwrite to replace it"
            )

