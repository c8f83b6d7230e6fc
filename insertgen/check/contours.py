"""Can a cutter follow what is drawn: closed, once, uncrossed, without crumbs, on a layer that says what to do?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.lines import first_point
from insertgen.check.say import mm, spot
from insertgen.check.written import Written
from insertgen.exchange.layers import layer_name
from insertgen.geometry.region import bounds
from insertgen.model.drawing import Operation
from insertgen.model.figures import Contour, Point
from insertgen.model.finding import Finding
from insertgen.rules import CRUMB

__all__ = ["judge_contours"]

OUTSIDE_WITHIN = 0.01


def judge_contours(case: Case) -> Iterator[Finding]:
    for path in case.sheet.paths:
        yield from _shape(case, path)
        if path.operation is None:
            text = f"{case.whose(path)} stands on the layer \"{path.layer}\", which names no operation"
            yield case.found("layer-unknown", text, _layer_wanted(case, path), path, first_point(path.path))
        if path.sound and path not in case.matched.edges:
            yield from _outside(case, path)
    for path in case.matched.copies:
        at = first_point(path.path)
        text = f"{case.whose(path)} is drawn twice (again at {spot(at)}, layer {path.layer}): it would be cut twice"
        yield case.found("contour-doubled", text, "delete one of the two", path, at)
    for path in case.matched.strays:
        yield from _stray(case, path)


def _layer_wanted(case: Case, path: Written) -> str:
    owner = case.matched.owner[path.number]
    if owner is None:
        names = case.tray.layer_names
        pocket = layer_name(Operation.POCKET, 12.0, through=False, names=names)
        bore = layer_name(Operation.BORE, 30.0, through=False, names=names)
        return f"give it the name of an operation and depth, as {pocket}, {bore} or {names.through}"
    due = case.dues[owner]
    wanted = layer_name(due.operations[0], due.depth or 0.0, through=due.depth is None, names=case.tray.layer_names)
    return f"move it to the layer {wanted}"


def _shape(case: Case, path: Written) -> Iterator[Finding]:
    if not isinstance(path.path, Contour):
        return
    vertices = [vertex[:2] for vertex in path.path.vertices]
    if not path.closed:
        gap = math.dist(vertices[-1], vertices[0])
        text = f"{case.whose(path)} is not closed: it ends at {spot(vertices[-1])} and began {mm(gap)} from there"
        yield case.found("contour-open", text, "close the polyline", path, vertices[-1], gap)
    if path.crossing:
        text = f"{case.whose(path)} crosses itself at {spot(path.crossing)}"
        yield case.found("contour-crossed", text, "redraw it so that it goes round once", path, path.crossing)
    crumbs = _crumbs(vertices, path.closed)
    if crumbs:
        length, at = min(crumbs)
        text = (
            f"{case.whose(path)} has {len(crumbs)} {'segment' if len(crumbs) == 1 else 'segments'} "
            f"shorter than {mm(CRUMB)}, the shortest {length:.4f} mm at {spot(at)}"
        )
        yield case.found("crumb", text, "delete the repeated points", path, at, length, CRUMB)


def _crumbs(vertices: list[Point], closed: bool) -> list[tuple[float, Point]]:
    following = vertices[1:] + vertices[:1] if closed else vertices[1:]
    steps = [(math.dist(start, end), start) for start, end in zip(vertices, following, strict=False)]
    return [step for step in steps if step[0] < CRUMB]


def _outside(case: Case, path: Written) -> Iterator[Finding]:
    out, at = _beyond(case, path)
    if out > OUTSIDE_WITHIN:
        text = f"{case.whose(path)} leaves the blank by {mm(out)} at {spot(at)}"
        remedy = "move it in, or make the blank larger"
        yield case.found("outside-blank", text, remedy, path, at, out, 0.0)


def _beyond(case: Case, path: Written) -> tuple[float, Point]:
    """How far a path leaves the blank, and its point that goes furthest."""
    x0, y0, x1, y1 = bounds(path.region)
    width, depth = case.blank.width, case.blank.depth
    out, axis, sign = max((-x0, 0, -1), (-y0, 1, -1), (x1 - width, 0, 1), (y1 - depth, 1, 1))
    out -= case.level.beyond
    return out, max(path.ring, key=lambda point: sign * point[axis])


def _stray(case: Case, path: Written) -> Iterator[Finding]:
    owner = case.matched.owner[path.number]
    at = first_point(path.path)
    where = f"at {spot(at)} on the layer {path.layer}"
    if owner is None:
        text = f"a cut {where} belongs to no item"
    else:
        text = f"{case.whose(path)} is there; another {where} beside it belongs to no item"
    yield case.found("cut-extra", text, "delete it, or add its item to the job", path, at)
