"""Does the layer of a cut say what is to be done there, and how deep?"""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.lines import first_point
from insertgen.check.match import DEPTH_WITHIN
from insertgen.check.say import mm, named
from insertgen.check.seated import Seated, due_depth, due_operations
from insertgen.check.written import Written
from insertgen.exchange.layers import layer_name
from insertgen.model import Finding, Operation, Tray

__all__ = ["judge_depths", "judge_too_deep"]


def judge_depths(case: Case) -> Iterator[Finding]:
    for key, path in case.matched.cuts.items():
        if path.operation is not None:
            yield from _layer(case, path, case.seated[key])
            yield from _floor(case, path, case.seated[key])
            yield from _reach(case, path, case.seated[key])


def judge_too_deep(one: Seated, tray: Tray) -> Iterator[tuple[str, str, float, float]]:
    """Text, remedy, figure and limit of a seat deeper than the stack allows."""
    item, most = one.item, tray.thickness - tray.floor
    if not item.through and item.depth > most + 1e-6:
        text = (
            f"{named(item)} asks for a seat {mm(item.depth)} deep; the stack of {mm(tray.thickness)} "
            f"less a floor of {mm(tray.floor)} gives {mm(most)}"
        )
        remedy = f"a stack of at least {mm(item.depth + tray.floor)} would do; or ask for less depth"
        yield text, remedy, item.depth, most


def _layer(case: Case, path: Written, one: Seated) -> Iterator[Finding]:
    item, tray = one.item, case.tray
    due, operations = due_depth(item, tray), due_operations(item)
    at = first_point(path.path)
    wanted = layer_name(operations[0], due or 0.0, through=due is None)
    remedy = f"move it to the layer {wanted}"
    depth = _cut_depth(path, tray)
    expected = tray.thickness if due is None else due
    same_kind = (path.depth is None) == (due is None) and path.operation not in (Operation.EDGE, Operation.OUTSIDE)
    if not same_kind or abs(depth - expected) > DEPTH_WITHIN:
        asked = "right through" if due is None else mm(due)
        text = f"{case.whose(path)} stands on the layer {path.layer} ({_said(path)}); its item asks for {asked}"
        yield case.found("depth-wrong", text, remedy, path, at, depth, expected)
    elif path.operation not in operations:
        text = f"{case.whose(path)} stands on the layer {path.layer}, the wrong operation for this item"
        yield case.found("entity-odd", text, remedy, path, at)


def _said(path: Written) -> str:
    if path.operation is Operation.EDGE:
        return "not cut at all"
    return "right through" if path.depth is None else f"{mm(path.depth)} deep"


def _cut_depth(path: Written, tray: Tray) -> float:
    if path.operation is Operation.EDGE:
        return 0.0
    return tray.thickness if path.depth is None else path.depth


def _floor(case: Case, path: Written, one: Seated) -> Iterator[Finding]:
    if path.depth is None or one.item.through:
        return
    left, tray = case.tray.thickness - path.depth, case.tray
    if left < tray.floor - DEPTH_WITHIN:
        text = (
            f"{case.whose(path)} goes {mm(path.depth)} deep and leaves {mm(left)} of the stack's "
            f"{mm(tray.thickness)}; the floor must be {mm(tray.floor)}"
        )
        remedy = f"cut no deeper than {mm(tray.thickness - tray.floor)}, or use a thicker stack"
        yield case.found("floor-thin", text, remedy, path, first_point(path.path), left, tray.floor)


def _reach(case: Case, path: Written, one: Seated) -> Iterator[Finding]:
    cutter, depth = case.tray.cutting.cutter, _cut_depth(path, case.tray)
    sawn = case.tray.cutting.machine == "hand" and one.item.through
    if one.item.bore is not None or sawn:  # the schedule says which bores are milled
        return
    if cutter.reach is not None and depth > cutter.reach + 1e-6:
        text = f"{case.whose(path)} is {mm(depth)} deep; the cutter reaches {mm(cutter.reach)}"
        remedy = f"use a cutter that reaches {mm(depth)}, or a thinner stack"
        yield case.found("cutter-too-short", text, remedy, path, first_point(path.path), depth, cutter.reach)
