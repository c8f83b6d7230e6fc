"""Does the layer of a cut say what is to be done there, and how deep?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from insertgen.check.case import Case
from insertgen.check.due import DEPTH_WITHIN, Due
from insertgen.check.lines import first_point
from insertgen.check.say import mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.written import Written
from insertgen.exchange.layers import layer_name
from insertgen.geometry.distance import farthest
from insertgen.geometry.region import is_empty, minus
from insertgen.model.drawing import Operation
from insertgen.model.finding import Finding
from insertgen.model.job import Tray

__all__ = ["judge_depths", "judge_layers", "judge_too_deep"]

#: How far a step may reach beyond the one above it: both are fitted, each within 0.02 mm.
OVER_MOST = 0.1


def judge_depths(case: Case) -> Iterator[Finding]:
    yield from judge_layers(case)
    for due, path in case.cuts():
        if path.operation is not None:
            yield from _floor(case, path, due)
            yield from _reach(case, path, due)
    yield from _nested(case)


def judge_layers(case: Case) -> Iterator[Finding]:
    for due, path in case.cuts():
        if path.operation is not None:
            yield from _layer(case, path, due)


def _nested(case: Case) -> Iterator[Finding]:
    """A step must lie within those above it, or wood is left standing over it."""
    steps: dict[str, list[tuple[Due, Written]]] = {}
    for due, path in case.openings():
        steps.setdefault(due.placement, []).append((due, path))
    for cuts in steps.values():
        for (_, wide), (_, path) in pairwise(sorted(cuts, key=lambda cut: cut[0].key)):
            over = minus(path.region, wide.region)
            if is_empty(over):
                continue
            away = farthest(over, wide.region)
            if away.distance > OVER_MOST:
                text = (
                    f"{case.whose(path)} reaches {mm(away.distance)} beyond {case.whose(wide)} at {spot(away.at)}: "
                    "the shallower one must be the whole area"
                )
                remedy = "draw the shallower step as large, or build the job again"
                yield case.found("depth-wrong", text, remedy, path, away.at, away.distance, OVER_MOST)


def judge_too_deep(one: Seated, tray: Tray) -> Iterator[tuple[str, str, float, float]]:
    """Text, remedy, figure and limit of a seat deeper than the stack allows."""
    item, most = one.item, tray.thickness - tray.floor
    if not item.through and not item.on_face and item.depth > most + 1e-6:
        text = (
            f"{named(item)} asks for a seat {mm(item.depth)} deep; the stack of {mm(tray.thickness)} "
            f"less a floor of {mm(tray.floor)} gives {mm(most)}"
        )
        remedy = f"a stack of at least {mm(item.depth + tray.floor)} would do; or ask for less depth"
        yield text, remedy, item.depth, most


def _layer(case: Case, path: Written, due: Due) -> Iterator[Finding]:
    at = first_point(path.path)
    wanted = layer_name(
        due.operations[0], due.depth or 0.0, through=due.depth is None, names=case.tray.layer_names
    )
    remedy = f"move it to the layer {wanted}"
    depth = _cut_depth(case, path)
    expected = case.level.thickness if due.depth is None else due.depth
    same_kind = (path.depth is None) == (due.depth is None) and path.operation not in (Operation.EDGE, Operation.OUTSIDE)
    if not same_kind or abs(depth - expected) > DEPTH_WITHIN:
        asked = "right through" if due.depth is None else mm(due.depth)
        text = f"{case.whose(path)} stands on the layer {path.layer} ({_said(path)}); its item asks for {asked}"
        yield case.found("depth-wrong", text, remedy, path, at, depth, expected)
    elif path.operation not in due.operations:
        text = f"{case.whose(path)} stands on the layer {path.layer}, the wrong operation for this item"
        yield case.found("entity-odd", text, remedy, path, at)


def _said(path: Written) -> str:
    if path.operation is Operation.EDGE:
        return "not cut at all"
    return "right through" if path.depth is None else f"{mm(path.depth)} deep"


def _cut_depth(case: Case, path: Written) -> float:
    if path.operation is Operation.EDGE:
        return 0.0
    return case.level.thickness if path.depth is None else path.depth


def _floor(case: Case, path: Written, due: Due) -> Iterator[Finding]:
    if path.depth is None or due.depth is None:
        return
    thickness, floor = case.level.thickness, case.tray.floor
    left = thickness - path.depth
    if left < floor - DEPTH_WITHIN:
        text = (
            f"{case.whose(path)} goes {mm(path.depth)} deep and leaves {mm(left)} of the stack's "
            f"{mm(thickness)}; the floor must be {mm(floor)}"
        )
        remedy = f"cut no deeper than {mm(thickness - floor)}, or use a thicker stack"
        yield case.found("floor-thin", text, remedy, path, first_point(path.path), left, floor)


def _reach(case: Case, path: Written, due: Due) -> Iterator[Finding]:
    depth = _cut_depth(case, path)
    # the schedule says which bores are milled; a beam and a saw reach through
    if due.bore is not None or case.cutter(due) is None:
        return
    reach, at = case.tray.cutting.cutter.reach, first_point(path.path)
    if reach is not None and depth > reach + 1e-6:
        text = f"{case.whose(path)} is {mm(depth)} deep; the cutter reaches {mm(reach)}"
        remedy = f"use a cutter that reaches {mm(depth)}, or a thinner stack"
        yield case.found("cutter-too-short", text, remedy, path, at, depth, reach)
    template = case.tray.cutting.template
    if template is None or template.cutter.reach is None or Operation.SLOT in due.operations:
        return
    deep = template.thickness + depth
    if deep > template.cutter.reach + 1e-6:
        text = (
            f"{case.whose(path)} is {mm(depth)} deep, through a template of {mm(template.thickness)}; "
            f"the template's cutter reaches {mm(template.cutter.reach)}"
        )
        remedy = f"use a cutter that reaches {mm(deep)}, a thinner template, or a thinner stack"
        yield case.found("cutter-too-short", text, remedy, path, at, deep, template.cutter.reach)
