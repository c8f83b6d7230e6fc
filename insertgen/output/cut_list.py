"""The cut list of a job: blanks, router templates, what is cut to length to stand in bores, and the stock sheets for it all."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from insertgen.model.drawing import Drawing, Operation, SheetDrawing
from insertgen.model.job import Stock
from insertgen.model.shape import PostKind
from insertgen.output.dowels import registration
from insertgen.output.set_out import StockSheet, set_out
from insertgen.output.spots import ring_of
from insertgen.output.stored import item_of
from insertgen.output.words import counted
from insertgen.units import format_inch

__all__ = ["COLUMNS", "CutPart", "cut_list", "cut_list_csv", "tenths"]

COLUMNS = (
    "part", "quantity", "length", "width", "thickness", "length_in", "width_in", "material", "grain", "tray", "note",
)  # fmt: skip

_NO_GRAIN = ("mdf", "hdf", "hardboard", "particle", "chipboard", "acrylic", "foam")


@dataclass(frozen=True, slots=True)
class CutPart:
    """One row; ``length`` is left to right of an insert, and along a dowel, whose ``width`` is its diameter."""

    part: str
    quantity: int
    length: float
    width: float
    thickness: float
    material: str
    grain: str
    tray: str
    note: str = ""


def cut_list(drawings: Sequence[Drawing]) -> tuple[CutPart, ...]:
    """Parts of all trays, equal ones merged; sheets first, then templates, then dowels, the longest first.

    The tray's own base and sides are parts of the cabinet, and not listed.
    """
    groups: dict[CutPart, list[CutPart]] = {}
    for drawing in drawings:
        for part in (*_blanks(drawing), *_templates(drawing), *_round(drawing)):
            key = replace(
                part, quantity=1, tray="", length=_tenth(part.length), width=_tenth(part.width), thickness=_tenth(part.thickness)
            )
            groups.setdefault(key, []).append(part)
    for part in _stock(drawings):
        groups.setdefault(part, []).append(part)
    merged = [
        replace(key, quantity=sum(part.quantity for part in parts), tray="; ".join(dict.fromkeys(part.tray for part in parts)))
        for key, parts in groups.items()
    ]
    return tuple(sorted(merged, key=_order))


def cut_list_csv(drawings: Sequence[Drawing]) -> str:
    """The cut list as CSV; mm to 0.1, inch fractions to 1/64."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    for one in cut_list(drawings):
        table.writerow((
            one.part, one.quantity, tenths(one.length), tenths(one.width), tenths(one.thickness), format_inch(one.length),
            format_inch(one.width), one.material, one.grain, one.tray, one.note,
        ))  # fmt: skip
    return text.getvalue()


def _tenth(length: float) -> float:
    return round(length + 1e-9, 1)


def tenths(length: float) -> str:
    """To 0.1 mm, halves up, whatever their binary digits are.

    >>> tenths(6.35), tenths(354.6)
    ('6.4', '354.6')
    """
    return f"{length + 1e-9:.1f}"


_KINDS = ("insert blank", "router template")


def _order(part: CutPart) -> tuple[int, str, float, float, float, str]:
    kind = _KINDS.index(part.part) if part.part in _KINDS else len(_KINDS)
    if part.part == "stock sheet":  # last: bought, not cut
        kind += 1
    return kind, part.material, -part.thickness, -part.length, -part.width, part.tray


def _blanks(drawing: Drawing) -> Iterator[CutPart]:
    tray, blank = drawing.tray, drawing.blank
    count = len(tray.stack)
    notes = []
    if count > 1:
        on = len(registration(drawing))
        cut_first = f"cut first, then glue the stack on {counted(on, 'dowel')}" if on else "cut first, then glue the stack"
        notes.append("glue the stack first, then cut it as one" if tray.one_block else cut_first)
    if not tray.edge_sawn:
        notes.append("finished size, the machine cuts it out: leave waste all round")
    for stock in tray.stack:
        yield CutPart("insert blank", 1, blank.width, blank.depth, stock.thickness, stock.name, _grain(stock), tray.name, "; ".join(notes))


def _stock(drawings: Sequence[Drawing]) -> Iterator[CutPart]:
    """Sheets to have ready, where the job says how large they are; and the blanks that go on none."""
    found = set_out(drawings)
    of_stock: dict[Stock, list[StockSheet]] = {}
    for sheet in found.sheets:
        of_stock.setdefault(sheet.stock, []).append(sheet)
    for stock, sheets in of_stock.items():
        assert stock.size is not None
        holds = ", ".join(str(len(sheet.pieces)) for sheet in sheets)
        note = f"{counted(sum(len(sheet.pieces) for sheet in sheets), 'blank')}{f', {holds} a sheet' if len(sheets) > 1 else ''}"
        yield CutPart("stock sheet", len(sheets), *stock.size, stock.thickness, stock.name, _grain(stock), "", note)
    for stock, piece in found.left:
        note = f"goes on no sheet of this size: {tenths(piece.beside)} mm more are needed on every side, for the machine that cuts it out"
        assert stock.size is not None
        yield CutPart("stock sheet", 0, *stock.size, stock.thickness, stock.name, _grain(stock), piece.name, note)


def _grain(stock: Stock) -> str:
    return "none" if any(word in stock.name.casefold() for word in _NO_GRAIN) else "either way"


def _templates(drawing: Drawing) -> Iterator[CutPart]:
    for sheet in drawing.templates:
        width, depth = _extent(sheet)
        stock = sheet.stock or "template stock"
        yield CutPart("router template", 1, width, depth, sheet.thickness, stock, "either way", drawing.tray.name, f"{sheet.name}.dxf")


def _extent(sheet: SheetDrawing) -> tuple[float, float]:
    """Width and depth of what the outer contour leaves."""
    points = [
        point
        for layer in sheet.layers
        if layer.operation is Operation.OUTSIDE
        for entity in layer.entities
        for point in ring_of(entity.path)
    ]
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _round(drawing: Drawing) -> Iterator[CutPart]:
    """Pegs, posts and registration dowels, cut to length; pins and nails as they are bought."""
    name = drawing.tray.name
    found: Counter[CutPart] = Counter()
    for mark in drawing.marks:
        item = item_of(drawing, mark)
        if item is None:
            continue
        if item.peg:
            found[_rod("peg", "dowel", item.peg.name, item.peg.diameter, item.peg.length, name)] += 1
        for post in item.posts:
            stock = post.stock
            note = "no point up" if post.kind is PostKind.NAIL else ""
            found[_rod("post", post.kind.value, stock.name, stock.diameter, stock.length, name, note)] += 1
    for one in registration(drawing):
        found[_rod("registration dowel", "dowel", one.name, one.diameter, one.length, name, "flush or a little less")] += 1
    for part, count in found.items():
        yield replace(part, quantity=count)


def _rod(part: str, kind: str, name: str, diameter: float, length: float, tray: str, note: str = "") -> CutPart:
    return CutPart(part, 1, length, diameter, diameter, f"{kind} {name}", "along", tray, note)
