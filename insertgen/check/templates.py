"""Do the router templates make the seats: what a hand-held router cuts along them, held against the pockets drawn.

The guide (bush or bearing) goes round in an opening, the cutter runs in its
middle: what is cut is the opening eroded by half the guide, dilated by half the
cutter. Where a pocket's wood has a corner the guide rounds it: at 90 degrees
by (guide - cutter)/2 (sqrt(2) - 1).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import combinations

from insertgen.check.case import Case, Level, gather
from insertgen.check.contours import judge_contours
from insertgen.check.depths import judge_layers
from insertgen.check.due import Due, DueKey
from insertgen.check.file import judge_edge, judge_entities, judge_units, wrong_scale
from insertgen.check.lines import off_ring
from insertgen.check.match import EdgeDue
from insertgen.check.pockets import CUTTER_WITHIN, LOST_MOST, lost_to_cutter
from insertgen.check.rooms import WITHIN, midway
from insertgen.check.say import found, mm, spot
from insertgen.check.written import Sheet, Written, read_sheet
from insertgen.geometry.arcs import flatten, rectangle
from insertgen.geometry.distance import farthest, gap_between
from insertgen.geometry.offset import grown, opened, shrunk
from insertgen.geometry.region import Region, area, is_empty, minus, without_holes
from insertgen.model.drawing import Operation
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.job import Template
from insertgen.rules import TEMPLATE_CLAMP, TEMPLATE_WEB

__all__ = ["judge_templates", "template_files"]

FIT_WITHIN = 0.05
RIM_WITHIN = 0.01
AGAIN = "build the job again"


def template_files(names: Mapping[str, bytes]) -> list[str]:
    return sorted(name for name in names if name.startswith("template-"))


def judge_templates(case: Case, files: Mapping[str, bytes]) -> Iterator[Finding]:
    """Every opening that is due on some template, once; and no others."""
    template, names = case.tray.cutting.template, template_files(files)
    pockets = {} if template is None else _pockets(case)
    if template is None or not pockets:
        for name in names:
            text = f"{name} should not be there: no pocket or through-cut is routed along a template"
            yield found("cut-extra", text, "move it out of the folder", tray=case.tray, file=name)
        return
    if not names:
        text = f"template-1.dxf is missing; {len(pockets)} openings are due on templates"
        others = tuple(dict.fromkeys(key[0] for key in pockets))
        yield found("cut-missing", text, AGAIN, tray=case.tray, file="template-1.dxf", others=others)
        return
    seen: dict[DueKey, str] = {}
    for name in names:
        yield from _judge(case, template, name, files[name], pockets, seen)
    for key, path in pockets.items():
        if key not in seen:
            due = case.dues[key]
            text = f"no template has an opening for {due.said}; it is due at {spot(path.middle)}"
            yield found(
                "cut-missing", text, AGAIN, tray=case.tray, file=names[-1], placement=due.placement, at=path.middle
            )


def _pockets(case: Case) -> dict[DueKey, Written]:
    return {due.key: path for due, path in case.openings() if Operation.SLOT not in due.operations}


def _judge(
    case: Case,
    template: Template,
    name: str,
    data: bytes,
    pockets: Mapping[DueKey, Written],
    seen: dict[DueKey, str],
) -> Iterator[Finding]:
    tray = case.tray
    try:
        sheet = read_sheet(name, data, tray.layer_names)
    except ValueError as error:
        yield found("entity-odd", f"{name}: {error}", AGAIN, tray=tray, file=name)
        return
    clamp, blank = TEMPLATE_CLAMP, case.blank
    span = (-clamp, -clamp, blank.width + clamp, blank.depth + clamp)
    scaled = wrong_scale(sheet, tray, span)
    if scaled is not None:
        yield scaled
        return
    rim, openings = _rim_and_openings(sheet, case)
    dues = {key: _opening_due(case.dues[key], path, template) for key, path in pockets.items()}
    level = Level(name, 1, template.thickness, EdgeDue(blank, Operation.EDGE), dues, beyond=clamp)
    mine = gather(tray, level, openings, case.seated)
    yield from judge_units(sheet, tray, span)
    yield from judge_entities(mine)
    yield from judge_edge(mine)
    yield from judge_contours(mine)
    yield from judge_layers(mine)
    yield from _rim(mine, rim)
    yield from _openings(mine, template, pockets, seen)
    yield from _webs(mine)


def _rim_and_openings(sheet: Sheet, case: Case) -> tuple[Written | None, Sheet]:
    """The template's own outer contour is the widest path, if it reaches beyond the blank."""
    rims = [path for path in sheet.paths if not is_empty(path.region)]
    rim = max(rims, key=lambda path: area(path.region), default=None)
    if rim is None or area(rim.region) < 1.01 * case.blank.width * case.blank.depth:
        return None, sheet
    return rim, replace(sheet, paths=tuple(path for path in sheet.paths if path is not rim))


def _opening_due(due: Due, pocket: Written, template: Template) -> Due:
    way = shrunk(pocket.region, template.cutter.diameter / 2 - CUTTER_WITHIN)
    wall = pocket.region if is_empty(way) else grown(way, template.diameter / 2)
    name = f"template opening for the {due.step}" if due.step else "template opening"
    return replace(due, wall=wall, outline=pocket.region, depth=None, operations=(Operation.THROUGH,), step=name)


def _rim(case: Case, rim: Written | None) -> Iterator[Finding]:
    width, depth = case.blank.width + 2 * TEMPLATE_CLAMP, case.blank.depth + 2 * TEMPLATE_CLAMP
    layer = case.tray.layer_names.outside
    if rim is None:
        text = f"{case.sheet.file}: the template's own outer contour ({mm(width)} by {mm(depth)}) is missing"
        yield found("cut-missing", text, AGAIN, tray=case.tray, file=case.sheet.file, layer=layer)
        return
    if rim.operation is not Operation.OUTSIDE:
        text = f"the template's own outer contour is due on the layer {layer}; it stands on {rim.layer}"
        yield _found(case, "cut-missing", text, f"move it to the layer {layer}", rim, rim.ring[0], None, None)
    due = tuple((x - TEMPLATE_CLAMP, y - TEMPLATE_CLAMP) for x, y in flatten(rectangle(width, depth)))
    off, missed = off_ring(rim.ring, due), off_ring(due, rim.ring)
    worst = max(float(off.max()), float(missed.max()))
    if worst > RIM_WITHIN:
        at = rim.ring[int(off.argmax())] if off.max() > RIM_WITHIN else due[int(missed.argmax())]
        text = (
            f"the template's own outer contour is {mm(worst)} off {mm(width)} by {mm(depth)}, the blank and "
            f"{mm(TEMPLATE_CLAMP)} all round to clamp it by"
        )
        yield _found(case, "entity-odd", text, AGAIN, rim, at, worst, RIM_WITHIN)


def _found(
    case: Case, code: str, text: str, remedy: str, path: Written, at: Point, figure: float | None, limit: float | None
) -> Finding:
    """About a path that is no item's."""
    return found(
        code, text, remedy, tray=case.tray, file=path.file, layer=path.layer, at=at, figure=figure, limit=limit
    )


def _openings(
    case: Case, template: Template, pockets: Mapping[DueKey, Written], seen: dict[DueKey, str]
) -> Iterator[Finding]:
    for due, path in case.cuts():
        before = seen.setdefault(due.key, path.file)
        if before != path.file:
            text = f"{case.whose(path)} is there in {before} too: it would be routed twice"
            yield case.found("cut-extra", text, "delete one of the two", path, path.middle)
        if path.sound and not is_empty(path.region):
            yield from _routed(case, template, path, pockets[due.key].region)
            yield from _too_sharp(case, template, path)


def _routed(case: Case, template: Template, path: Written, pocket: Region) -> Iterator[Finding]:
    """What comes out of it: all of the pocket, and beyond it only what the guide rounds of the wood's corners."""
    guide, cutter = template.diameter / 2, template.cutter.diameter / 2
    cut = grown(shrunk(path.region, guide), cutter)
    left = minus(opened(pocket, cutter - CUTTER_WITHIN), cut)
    if not is_empty(left):
        deepest = farthest(left, cut) if not is_empty(cut) else None
        short, at = (2 * cutter, path.middle) if deepest is None else (deepest.distance, deepest.at)
        if short > FIT_WITHIN:
            text = f"along {case.whose(path)} the pocket comes out {mm(short)} too small at {spot(at)}"
            yield case.found("item-bound", text, AGAIN, path, at, short, FIT_WITHIN)
    way = shrunk(pocket, cutter - CUTTER_WITHIN)
    # an island of template would fall out, and the wood under it is cut
    rounded = grown(shrunk(without_holes(grown(way, guide)), guide), cutter)
    over = minus(cut, grown(rounded.union(pocket), FIT_WITHIN))
    if not is_empty(over):
        furthest = farthest(over, pocket)
        text = f"along {case.whose(path)} the cutter leaves the pocket by {mm(furthest.distance)} at {spot(furthest.at)}"
        yield case.found("cut-extra", text, AGAIN, path, furthest.at, furthest.distance, FIT_WITHIN)
        return
    lost = minus(rounded, grown(pocket, FIT_WITHIN))
    if not is_empty(lost):
        corner = farthest(lost, pocket)
        if corner.distance > template.offset + FIT_WITHIN:
            text = (
                f"the {template.guide} of {mm(template.diameter)} does not get round the wood beside {case.whose(path)} "
                f"at {spot(corner.at)}: {mm(corner.distance)} of it would be routed away"
            )
            remedy = f"use a {template.guide} and cutter nearer to each other in diameter"
            yield case.found("cutter-too-big", text, remedy, path, corner.at, corner.distance, template.offset)


def _too_sharp(case: Case, template: Template, path: Written) -> Iterator[Finding]:
    lost = lost_to_cutter(path.region, template.diameter)
    if lost is not None:
        share, at = lost
        text = (
            f"{case.whose(path)} is too narrow or too sharp for the {template.guide} of {mm(template.diameter)} at "
            f"{spot(at or path.middle)}: it does not get into {share:.2f} mm2, at most {LOST_MOST:g} may be out of reach"
        )
        remedy = f"round its corners by {mm(template.diameter / 2)}, or build the job again"
        yield case.found("cutter-too-big", text, remedy, path, at or path.middle, share, LOST_MOST)


def _webs(case: Case) -> Iterator[Finding]:
    sound = {key: path for key, path in case.matched.cuts.items() if path.sound and not is_empty(path.region)}
    for (_, one), (other_key, other) in combinations(sound.items(), 2):
        gap = gap_between(one.region, other.region)
        if gap.distance < TEMPLATE_WEB - WITHIN:
            at = midway(gap)
            text = (
                f"{mm(gap.distance)} of template between {case.whose(one)} and {case.whose(other)} at {spot(at)}; "
                f"at least {mm(TEMPLATE_WEB)} is due"
            )
            remedy = "put one of them on a template of its own"
            yield case.found("web-thin", text, remedy, one, at, gap.distance, TEMPLATE_WEB, others=(other_key[0],))
