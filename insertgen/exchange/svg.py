"""Sheets to SVG: true size in mm, black hairlines, a group for each operation named in words.

Source of the arc command, its flags and the frame (y down): W3C SVG 1.1,
chapters 7 and 8.3.8, and appendix F.6. The page is just the extents of the drawing,
so that its lower left corner is the blank's front left one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from xml.sax.saxutils import escape

from insertgen.exchange.layers import layer_words
from insertgen.model.drawing import Layer, SheetDrawing
from insertgen.model.figures import Circle, Contour, Point

__all__ = ["path_bounds", "write_svg"]

#: Width of a line, mm: 0.001 in, which laser cutters take for a cut. Common practice, no source.
HAIRLINE = "0.0254"

Bounds = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y


def write_svg(sheet: SheetDrawing) -> bytes:
    """The SVG file of one sheet; the same sheet gives the same bytes."""
    x0, y0, x1, y1 = _around(entity.path for layer in sheet.layers for entity in layer.entities)
    width, height = _number(x1 - x0), _number(y1 - y0)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{escape(_title(sheet))}</title>",
        f'<g fill="none" stroke="#000000" stroke-width="{HAIRLINE}">',
    ]
    for layer in sheet.layers:
        lines += _group(layer, (x0, y1))
    lines += ["</g>", "</svg>", ""]
    return "\n".join(lines).encode()


def _title(sheet: SheetDrawing) -> str:
    return f"{sheet.name}: {sheet.stock}, {_number(sheet.thickness)} mm thick, seen from above"


def _group(layer: Layer, corner: Point) -> Iterator[str]:
    words = layer_words(layer)
    yield f'<g id="{words.replace(",", "").replace(" ", "-")}">'
    yield f"<title>{words}</title>"
    for entity in layer.entities:
        yield _element(entity.path, corner)
    yield "</g>"


def _element(path: Contour | Circle, corner: Point) -> str:
    """``corner`` is where the page has its origin: the upper left of the drawing."""
    left, top = corner
    if isinstance(path, Circle):
        x, y = path.centre
        return f'<circle cx="{_number(x - left)}" cy="{_number(top - y)}" r="{_number(path.diameter / 2)}"/>'
    vertices = path.vertices
    x, y, _ = vertices[0]
    steps = [f"M{_number(x - left)} {_number(top - y)}"]
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        end = f"{_number(x1 - left)} {_number(top - y1)}"
        if bulge == 0:
            steps.append(f"L{end}")
            continue
        radius = _number(math.dist((x0, y0), (x1, y1)) * (1 + bulge * bulge) / (4 * abs(bulge)))
        # counter-clockwise seen from above stays so on the page; sweep 1 would be clockwise there
        steps.append(f"A{radius} {radius} 0 0 {0 if bulge > 0 else 1} {end}")
    if vertices[-1][2] == 0:
        steps.pop()
    return f'<path d="{" ".join(steps)} Z"/>'


def _around(paths: Iterable[Contour | Circle]) -> Bounds:
    x0, y0, x1, y1 = zip(*map(path_bounds, paths), strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def path_bounds(path: Contour | Circle) -> Bounds:
    """Exact, arcs included.

    >>> path_bounds(Contour(((1.0, 0.0, 1.0), (-1.0, 0.0, 0.0))))  # the upper half of a circle
    (-1.0, 0.0, 1.0, 1.0)
    """
    if isinstance(path, Circle):
        (x, y), r = path.centre, path.diameter / 2
        return x - r, y - r, x + r, y + r
    points = [point for start, end in _segments(path) for point in (start[:2], *_outmost(start, end))]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _segments(path: Contour) -> Iterator[tuple[tuple[float, float, float], tuple[float, float, float]]]:
    return zip(path.vertices, path.vertices[1:] + path.vertices[:1], strict=True)


def _outmost(start: tuple[float, float, float], end: tuple[float, float, float]) -> Iterator[Point]:
    """The points of an arc that are furthest to the right, back, left and front of its circle, where it has them."""
    (x0, y0, bulge), (x1, y1, _) = start, end
    if bulge == 0 or (x0, y0) == (x1, y1):
        return
    off = (1 - bulge * bulge) / (4 * bulge)  # see geometry.arcs.arc_centre
    cx, cy = (x0 + x1) / 2 - off * (y1 - y0), (y0 + y1) / 2 + off * (x1 - x0)
    radius, sweep = math.dist((cx, cy), (x0, y0)), 4 * math.atan(bulge)
    first = math.atan2(y0 - cy, x0 - cx)
    for quarter, (ux, uy) in enumerate(((1, 0), (0, 1), (-1, 0), (0, -1))):
        turned = (quarter * math.pi / 2 - first) * (1 if sweep > 0 else -1) % (2 * math.pi)
        if turned <= abs(sweep):
            yield cx + radius * ux, cy + radius * uy


def _number(value: float) -> str:
    """To 0.000001 mm, without trailing zeros.

    >>> _number(12.50), _number(-0.0000001)
    ('12.5', '0')
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
