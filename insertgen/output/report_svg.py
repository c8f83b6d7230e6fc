"""Figures of the report: a tray with its items, and each sheet, as inline SVG in mm, seen from above."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from insertgen.model.drawing import Drawing, Entity, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle, Point, Ring
from insertgen.model.finding import Finding
from insertgen.output.dowels import registration
from insertgen.output.held import held_words
from insertgen.output.methods import method_words
from insertgen.output.report_page import Spot
from insertgen.output.sheet_lines import bore_crosses
from insertgen.output.stored import holes_apart, is_base, lies_on_face, marks_on, shows_room
from insertgen.output.svg_path import number, outline_data, path_data, ring_data
from insertgen.output.wood import blank_ring, corners_gone, cuts_of, wood_rings
from insertgen.output.words import depth_words
from insertgen.units import format_length, format_mm

__all__ = ["figure_words", "sheet_svg", "spot_letter", "told", "tray_svg"]

#: A tray's width over the height of its texts on a phone: 340 px wide, letters of 9 px.
_LETTERS = 38.0


@dataclass(frozen=True, slots=True)
class _Frame:
    """What a figure shows of the blank's frame: least x and y, greatest x and y; ``unit`` is the height of a text."""

    left: float
    front: float
    right: float
    back: float
    unit: float

    def y(self, y: float) -> float:
        return self.back - y


def tray_svg(drawing: Drawing, spots: Sequence[Spot], findings: Sequence[tuple[int, Finding]], name: str) -> str:
    """All cuts of the stack with the items in their seats, what is marked, and findings by their number."""
    frame = _frame(drawing, (blank_ring(drawing.blank),))
    body = [
        *_wood(drawing, drawing.sheets[0], frame),
        *(_seen(drawing, frame)),
        *_keep_outs(drawing, frame),
        *(_item(drawing, mark, frame, seated=True) for mark in _small_last(drawing.marks)),
        *(_tag(mark, frame) for mark in drawing.marks),
        *_dowel_tags(drawing, frame),
        *(_spot(spot, k, frame) for k, spot in enumerate(spots)),
        *(_finding(number, one, frame) for number, one in findings if one.at is not None),
        *_scale(frame),
    ]
    return _svg(body, frame, name, f"{drawing.tray.name}, {len(drawing.marks)} items in their seats, seen from above, front edge below")


def sheet_svg(drawing: Drawing, sheet: SheetDrawing, title: str, name: str) -> str:
    """One sheet, the base or a router template: its cuts as they are cut, the items dashed."""
    template = sheet in drawing.templates
    woods = wood_rings(sheet, drawing.blank)
    frame = _frame(drawing, (blank_ring(drawing.blank), *woods))
    marks = () if template else marks_on(drawing, sheet)
    tagged = {entity.placement for _, entity, _ in cuts_of(sheet)}
    body = [
        *_wood(drawing, sheet, frame),
        *(_cut(drawing, sheet, layer, entity, frame) for layer, entity, _ in cuts_of(sheet)),
        *(() if template or is_base(drawing, sheet) else _keep_outs(drawing, frame)),
        *(_item(drawing, mark, frame, seated=False) for mark in _small_last(marks)),
        *(() if template else _crosses(drawing, sheet, frame)),
        *(_tag(mark, frame) for mark in drawing.marks if mark in marks or mark.placement in tagged),
        *(() if template or is_base(drawing, sheet) else _dowel_tags(drawing, frame)),
        *_scale(frame),
    ]
    return _svg(body, frame, name, f"{title}, seen from above, front edge below")


def told(drawing: Drawing, mark: Mark) -> tuple[str, str, str, str, str]:
    """Tag, label, size, depth and how held."""
    depth = "on the face" if lies_on_face(drawing, mark) else depth_words(mark.depth, mark.through)
    return mark.tag, mark.label, mark.size, depth, held_words(drawing, mark)


def figure_words(figure: float) -> str:
    """A measured figure; below 1 mm an inch fraction says nothing.

    >>> figure_words(6.35), figure_words(0.102)
    ('6.35 mm (1/4 in)', '0.1 mm')
    """
    return format_length(figure) if abs(figure) >= 1 else f"{format_mm(figure)} mm"


def spot_letter(number: int) -> str:
    """
    >>> spot_letter(0), spot_letter(2)
    ('A', 'C')
    """
    return chr(ord("A") + number % 26)


# ---- the frame ---------------------------------------------------------------------------------


def _frame(drawing: Drawing, rings: Sequence[Ring]) -> _Frame:
    xs, ys = [x for ring in rings for x, _ in ring], [y for ring in rings for _, y in ring]
    unit = (max(xs) - min(xs)) / _LETTERS
    closest = min((math.dist(a.at, b.at) for k, a in enumerate(drawing.marks) for b in drawing.marks[:k]), default=math.inf)
    unit = max(min(unit, 0.55 * closest), (max(xs) - min(xs)) / 150)
    return _Frame(min(xs) - unit, min(ys) - 4.2 * unit, max(xs) + unit, max(ys) + unit, unit)


def _svg(body: Sequence[str], frame: _Frame, name: str, about: str) -> str:
    width, height = number(frame.right - frame.left), number(frame.back - frame.front)
    return (
        f'<svg class="plan" viewBox="{number(frame.left)} 0 {width} {height}" role="group" aria-labelledby="{name}-about" '
        f'style="--u:{number(frame.unit)}px;--wide:{width};--high:{height}">'
        f'<title id="{name}-about">{escape(about)}</title><desc>Lengths are millimetres.</desc>{"".join(body)}</svg>'
    )


def _scale(frame: _Frame) -> Iterator[str]:
    """Front edge named, bars of 100 mm and 4 in, less where the tray is small."""
    u, x0 = frame.unit, frame.left + frame.unit
    yield f'<text class="front" x="{number((frame.left + frame.right) / 2)}" y="{number(frame.y(frame.front + 3.2 * u))}">front edge</text>'
    long = frame.right - frame.left > 220
    for k, (length, words) in enumerate(((100.0, "100 mm"), (101.6, "4 in")) if long else ((50.0, "50 mm"), (50.8, "2 in"))):
        middle = frame.y(frame.front + (1.8 - 1.1 * k) * u)
        yield f'<rect class="bar" x="{number(x0)}" y="{number(middle - 0.12 * u)}" width="{number(length)}" height="{number(0.24 * u)}"/>'
        yield f'<text class="scale" x="{number(x0 + length + u * 0.5)}" y="{number(middle)}">{words}</text>'


# ---- wood and cuts -----------------------------------------------------------------------------


def _wood(drawing: Drawing, sheet: SheetDrawing, frame: _Frame) -> Iterator[str]:
    template = sheet in drawing.templates
    if template or corners_gone(sheet, drawing.blank):
        kind = "hidden" if template else "gone"
        yield f'<path class="{kind}" d="{ring_data(blank_ring(drawing.blank), frame.back)}"/>'
    for ring in wood_rings(sheet, drawing.blank):
        yield f'<path class="wood" d="{ring_data(ring, frame.back)}"/>'
    if template:
        yield f'<path class="blank" d="{ring_data(blank_ring(drawing.blank), frame.back)}"/>'


def _seen(drawing: Drawing, frame: _Frame) -> Iterator[str]:
    """The cuts of all sheets as seen from above, the deepest last."""
    found, top = [], 0.0
    for sheet in drawing.sheets:
        last = sheet == drawing.sheets[-1]
        found += [(layer.through and last, top + layer.depth, path_data(entity.path, frame.back)) for layer, entity, _ in cuts_of(sheet)]
        top += sheet.thickness
    for through, depth, data in sorted(found, key=lambda cut: cut[:2]):  # stable: the larger of equal depth first
        yield f'<path class="cut" style="fill:{_shade(through, depth / drawing.tray.thickness)}" d="{data}"/>'


def _cut(drawing: Drawing, sheet: SheetDrawing, layer: Layer, entity: Entity, frame: _Frame) -> str:
    tag = next((f"{mark.tag} " for mark in drawing.marks if mark.placement == entity.placement), "")
    words = f"{tag}{method_words(drawing, layer, entity)}"
    fill = _shade(layer.through, layer.depth / sheet.thickness)
    return f'<path class="cut" style="fill:{fill}" d="{path_data(entity.path, frame.back)}"><title>{escape(words)}</title></path>'


def _shade(through: bool, share: float) -> str:
    if through:
        return "#75634f"
    light, dark = (214, 190, 150), (158, 128, 90)
    share = min(1.0, share)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(light, dark, strict=True))


def _keep_outs(drawing: Drawing, frame: _Frame) -> Iterator[str]:
    for keep in drawing.keep_out:
        (x, y), (width, depth) = keep.at, keep.size
        corner = f'x="{number(x)}" y="{number(frame.y(y + depth))}" width="{number(width)}" height="{number(depth)}"'
        yield f'<rect class="keep" {corner}><title>{escape(f"keep out: {keep.why}")}</title></rect>'


def _crosses(drawing: Drawing, sheet: SheetDrawing, frame: _Frame) -> Iterator[str]:
    for hole in holes_apart(drawing, sheet):
        if hole.bore.use == "start":
            yield f'<path class="start" d="{path_data(Circle(hole.at, hole.bore.diameter), frame.back)}"/>'
    lines = "".join(
        f"M{number(x0)} {number(frame.y(y0))}L{number(x1)} {number(frame.y(y1))}"
        for (x0, y0), (x1, y1) in bore_crosses(drawing, sheet)
    )
    if lines:
        yield f'<path class="halo" d="{lines}"/><path class="cross" d="{lines}"/>'


# ---- items -------------------------------------------------------------------------------------


def _small_last(marks: Sequence[Mark]) -> list[Mark]:
    """So that a small one can still be tapped where it lies over a large one."""

    def room(mark: Mark) -> float:
        xs, ys = zip(*mark.room.outer, strict=True)
        return float((max(xs) - min(xs)) * (max(ys) - min(ys)))

    return sorted(marks, key=lambda mark: -room(mark))


def _item(drawing: Drawing, mark: Mark, frame: _Frame, *, seated: bool) -> str:
    tag, label, size, depth, held = told(drawing, mark)
    bored = any(
        layer.operation is Operation.BORE and entity.placement == mark.placement
        for sheet in drawing.sheets
        for layer in sheet.layers
        for entity in layer.entities
    )
    look = "item" if seated else "item under"
    room = f'<path class="room" d="{outline_data(mark.room, frame.back)}"/>' if shows_room(drawing, mark) else ""
    kind = "bored" if bored and not lies_on_face(drawing, mark) else "body"
    words = escape(f"{tag} {label}: {size}; {depth}; {held}", quote=True)
    return (
        f'<g class="{look}" tabindex="0" role="img" data-id="{escape(mark.placement, quote=True)}" aria-label="{words}">'
        f'<title>{escape(f"{tag} {label}")}</title>{room}<path class="{kind}" d="{outline_data(mark.outline, frame.back)}"/></g>'
    )


def _tag(mark: Mark, frame: _Frame) -> str:
    """The tag on its item; below a bore, which it would hide."""
    x, y = mark.at
    ys = [v for _, v in mark.outline.outer]
    half = (max(ys) - min(ys)) / 2
    if half < 0.9 * frame.unit:
        y -= half + 0.55 * frame.unit
    return f'<text class="tag" x="{number(x)}" y="{number(frame.y(y))}">{escape(mark.tag)}</text>'


def _dowel_tags(drawing: Drawing, frame: _Frame) -> Iterator[str]:
    """The tag of every registration dowel beside its hole, on the side where there is more of the sheet."""
    for dowel in registration(drawing):
        (x, y), out = dowel.holes[0].at, dowel.diameter / 2 + 0.8 * frame.unit
        x += out if x < drawing.blank.width / 2 else -out
        yield f'<text class="tag" x="{number(x)}" y="{number(frame.y(y))}">{escape(dowel.tag)}</text>'


# ---- what is marked ----------------------------------------------------------------------------


def _spot(spot: Spot, number_: int, frame: _Frame) -> str:
    """A red line where the figure was measured, and a letter beside it."""
    (x0, y0), (x1, y1) = spot.at, spot.to
    long = math.hypot(x1 - x0, y1 - y0)
    across = ((y0 - y1) / long, (x1 - x0) / long) if long > 1e-6 else (0.0, 1.0)
    u, middle = frame.unit, ((x0 + x1) / 2, (y0 + y1) / 2)
    sides: list[Point] = [(middle[0] + way * 1.5 * u * across[0], middle[1] + way * 1.5 * u * across[1]) for way in (1, -1)]
    seen = [one for one in sides if frame.left + u < one[0] < frame.right - u and frame.front + 3 * u < one[1] < frame.back - u]
    x, y = (seen or sides)[0]
    words = f"{spot_letter(number_)}: {spot.what} {figure_words(spot.figure)}"
    return (
        f'<g class="spot"><title>{escape(words)}</title>'
        f'<path d="M{number(x0)} {number(frame.y(y0))}L{number(x1)} {number(frame.y(y1))}'
        f'M{number(middle[0])} {number(frame.y(middle[1]))}L{number(x)} {number(frame.y(y))}"/>'
        f'<circle cx="{number(x)}" cy="{number(frame.y(y))}" r="{number(0.75 * u)}"/>'
        f'<text x="{number(x)}" y="{number(frame.y(y))}">{spot_letter(number_)}</text></g>'
    )


def _finding(count: int, finding: Finding, frame: _Frame) -> str:
    assert finding.at is not None
    x, y = number(finding.at[0]), number(frame.y(finding.at[1]))
    u = frame.unit
    return (
        f'<g class="found {finding.severity}"><title>{escape(f"{count}: {finding.code}")}</title>'
        f'<rect x="{number(finding.at[0] - 0.75 * u)}" y="{number(frame.y(finding.at[1]) - 0.75 * u)}" '
        f'width="{number(1.5 * u)}" height="{number(1.5 * u)}"/><text x="{x}" y="{y}">{count}</text></g>'
    )
