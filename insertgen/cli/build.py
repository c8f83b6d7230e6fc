"""``insertgen build``: a job file to cut files, checked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from insertgen.cli.findings import say_findings
from insertgen.cli.layouts import say_layout
from insertgen.cli.options import Progress, say
from insertgen.units import format_mm

if TYPE_CHECKING:
    from insertgen.pipeline.build import Built

__all__ = ["build"]


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder to write; default out/NAME-OF-THE-JOB-FILE.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="Of the layout search: same job and seed, same files.")
@click.option("--time", "seconds", type=click.FloatRange(0.1), default=5.0, show_default=True, metavar="SECONDS", help="Ceiling of the layout search, a tray.")
@click.option("--paper", metavar="SIZE", help="Of the full-size template: a4, letter, a3, tabloid, 13x19in, or one for one large page; default letter for a job in inches, else a4.")
@click.option("--printed", metavar="XxY", help="What the 100 mm check bars measured on your print, short and long side of the paper, as in 98.6x99.1: puts the printer right.")
@click.option("--dxf", "release", type=click.Choice(["r2000", "r12"]), default="r2000", show_default=True, help="Release of the drawing files: r12 for old programs; their names then say the units.")
@click.option("--dxf-units", "units", type=click.Choice(["mm", "in"]), default="mm", show_default=True, help="Of the coordinates in the drawing files; depths in layer names stay mm.")
@click.option("--marks", is_flag=True, help="Write marks-1.dxf too: labels to engrave, tabs, hold-down places.")
@click.option("--overwrite", is_flag=True, help="Replace files that were edited since the last build, too.")
@click.option("--keep-layout", is_flag=True, help="Hold the places of the last build, and only fit what is new.")
@click.option("--dry-run", is_flag=True, help="Build and check, but write nothing.")
@click.option("--json", "as_json", is_flag=True, help="Write the report as JSON.")
@click.pass_context
def build(
    context: click.Context,
    job: Path,
    out: Path | None,
    seed: int,
    seconds: float,
    paper: str | None,
    printed: str | None,
    release: str,
    units: str,
    marks: bool,
    overwrite: bool,
    keep_layout: bool,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Work out seats, lay them out, write the cut files of a JOB, and check what was written.

    Writes a folder a tray: sheet-1.dxf, sheet-1.svg, holes.csv, paper template, preview.png and layout.json;
    and report.html, report.json and cut-list.csv beside them. Exits 3 when a check fails; the files stay.
    Ctrl-C while things are laid out takes the best layout so far, and exits 130.

    \b
    Example:
      insertgen build north-bench.toml
    """
    from insertgen.exchange.dxf import DxfStyle
    from insertgen.output.papers import parse_printed
    from insertgen.pipeline.build import build as run_build

    progress = Progress()
    try:
        built = run_build(
            job, out=out, seed=seed, seconds=seconds, paper=paper,
            printed=parse_printed(printed) if printed else (100.0, 100.0),
            dxf=DxfStyle(release, units), marks=marks, overwrite=overwrite, keep_layout=keep_layout, dry_run=dry_run,
            say=progress,
        )  # fmt: skip
    finally:
        progress.end()
    if as_json:
        from insertgen.files.report import write_report

        click.echo(write_report(built.report), nl=False)
    else:
        _tell(built)
    errors = say_findings(built.report.findings)
    _say_cautions(built)
    if built.interrupted:
        say("\nThe search was interrupted: the best layouts found until then were taken.")
        context.exit(130)
    context.exit(3 if errors else 0)


def _tell(built: Built) -> None:
    for tray, layout in zip(built.report.trays, built.layouts, strict=True):
        said = f"{tray.name}: {len(layout.placements)} items on {format_mm(tray.blank.width, 1)} x {format_mm(tray.blank.depth, 1)} mm"
        if tray.least_web is not None:
            said += f", least web {format_mm(tray.least_web, 1)} mm"
        if tray.least_margin is not None:
            said += f", least margin {format_mm(tray.least_margin, 1)} mm"
        click.echo(said)
        for note in tray.notes:
            say(f"{tray.name}: {note}")
        say_layout(tray.name, layout, kept=layout.tray in built.kept)
    if built.folder is None:
        click.echo("dry run: nothing was written")
    else:
        click.echo(f"wrote {built.folder}")


def _say_cautions(built: Built) -> None:
    from insertgen.output.cautions import caution_text
    from insertgen.rules import CAUTION_TAIL

    say("\nBefore you cut:")
    for code in built.report.cautions:
        say(f"- {caution_text(code).replace(CAUTION_TAIL, '').strip()}")
    say(f"  {CAUTION_TAIL}")


