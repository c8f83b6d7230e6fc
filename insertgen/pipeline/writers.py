"""Every kind of file that is written for a tray, in one table: what is added here is written, and held to the same contract.

A writer's files are named by what they show and by its suffix; the same drawing and options give the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from insertgen.exchange.dxf import MM, DxfStyle, dxf_name, write_dxf
from insertgen.exchange.marks import Marks, write_marks
from insertgen.exchange.svg import write_svg
from insertgen.model.drawing import Drawing
from insertgen.model.figures import Point
from insertgen.output.holes import holes_csv
from insertgen.output.paper import paper_pdf
from insertgen.output.papers import TRUE, paper_slug
from insertgen.output.preview import preview_png
from insertgen.pipeline.tally import all_sheets
from insertgen.sheets.marks import marks_of

__all__ = ["WRITERS", "Options", "Writer", "files_of", "notes_of"]


@dataclass(frozen=True, slots=True)
class Options:
    """What a build may ask of its writers."""

    paper: str = "a4"
    printed: Point = TRUE
    dxf: DxfStyle = MM
    marks: bool = False


Files = Iterator[tuple[str, bytes]]


def _no_notes(drawing: Drawing, options: Options) -> tuple[str, ...]:
    return ()


@dataclass(frozen=True, slots=True)
class Writer:
    """``render`` gives files by name; ``notes`` what the user should know of them; ``help`` says what they are for."""

    name: str
    suffix: str
    help: str
    render: Callable[[Drawing, Options], Files]
    notes: Callable[[Drawing, Options], tuple[str, ...]] = _no_notes


def files_of(drawing: Drawing, options: Options) -> dict[str, bytes]:
    """All files of a tray that come of its drawing, by name."""
    return {name: data for writer in WRITERS for name, data in writer.render(drawing, options)}


def notes_of(drawing: Drawing, options: Options) -> tuple[str, ...]:
    """What the user should know of these files."""
    return tuple(note for writer in WRITERS for note in writer.notes(drawing, options))


# ---- the writers -------------------------------------------------------------------------------


def _dxf(drawing: Drawing, options: Options) -> Files:
    for sheet in all_sheets(drawing):
        yield dxf_name(sheet.name, options.dxf), write_dxf(sheet, options.dxf)


def _dxf_notes(drawing: Drawing, options: Options) -> tuple[str, ...]:
    if options.dxf.release != "r12":
        return ()
    name = dxf_name(drawing.sheets[0].name, options.dxf)
    unit = {"mm": "millimetres", "in": "inches"}[options.dxf.units]
    return (f"an R12 file cannot say its unit: choose {unit} when you open {name}",)


def _svg(drawing: Drawing, options: Options) -> Files:
    for sheet in all_sheets(drawing):
        yield f"{sheet.name}.svg", write_svg(sheet)


@lru_cache(maxsize=2)  # asked for by the writer, and again for what is to be said of it
def _marks_of(drawing: Drawing) -> tuple[Marks, ...]:
    return marks_of(drawing)


def _marks(drawing: Drawing, options: Options) -> Files:
    for marks in _marks_of(drawing) if options.marks else ():
        yield dxf_name(marks.name, options.dxf), write_marks(marks, options.dxf)


def _marks_notes(drawing: Drawing, options: Options) -> tuple[str, ...]:
    made = _marks_of(drawing) if options.marks else ()
    return tuple(f"{marks.name}: {said}" for marks in made for said in marks.said)


def _holes(drawing: Drawing, options: Options) -> Files:
    yield "holes.csv", holes_csv(drawing).encode()


def _preview(drawing: Drawing, options: Options) -> Files:
    yield "preview.png", preview_png(drawing)


def _paper(drawing: Drawing, options: Options) -> Files:
    yield f"paper-{paper_slug(options.paper)}.pdf", paper_pdf(drawing, paper=options.paper, printed=options.printed)


WRITERS = (
    Writer("dxf", ".dxf", "what router and laser cut, a file a sheet", _dxf, _dxf_notes),
    Writer("svg", ".svg", "the same contours for programs that read no DXF", _svg),
    Writer("marks", ".dxf", "labels to engrave, tabs, hold-down places: only if asked", _marks, _marks_notes),
    Writer("holes", ".csv", "the drill-hole schedule", _holes),
    Writer("preview", ".png", "a picture of the tray", _preview),
    Writer("paper", ".pdf", "full-size template, legend and schedule to print", _paper),
)
