"""All findings on one tray, from its job, its layout and the bytes that were written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from insertgen.check.beam import left_by_beam
from insertgen.check.between import judge_between
from insertgen.check.bores import judge_bores
from insertgen.check.case import Case, Level, gather
from insertgen.check.contours import judge_contours
from insertgen.check.corners import judge_corners
from insertgen.check.depths import judge_depths
from insertgen.check.dowels import dowels_due, judge_dowels
from insertgen.check.due import Due, DueKey, all_dues
from insertgen.check.file import judge_edge, judge_entities, judge_units, wrong_scale
from insertgen.check.levels import levels_of
from insertgen.check.places import judge_places, judge_seated
from insertgen.check.pockets import judge_loose, judge_pockets
from insertgen.check.posts import judge_posts
from insertgen.check.recess import judge_recesses
from insertgen.check.rooms import Rooms, judge_rooms
from insertgen.check.rows import read_lines
from insertgen.check.say import found, in_order, spot
from insertgen.check.schedule import judge_schedule
from insertgen.check.seated import Seated, seated_items
from insertgen.check.slots import judge_base_slots, judge_slots
from insertgen.check.templates import judge_templates, template_files
from insertgen.check.wishes import judge_wishes
from insertgen.check.wood import Wood, judge_wood, wood_of
from insertgen.check.written import Written, read_sheet
from insertgen.exchange.dxf import UNITS
from insertgen.geometry.region import Region, area, box, common, is_empty, union
from insertgen.model.drawing import Operation
from insertgen.model.finding import Finding
from insertgen.model.job import Tray
from insertgen.model.layout import Layout

__all__ = ["check_tray"]


def check_tray(
    tray: Tray, layout: Layout, sheets: Mapping[str, bytes], holes_csv: str | None
) -> tuple[Finding, ...]:
    """Judge what was written for one tray.

    Parameters
    ----------
    tray : Tray
        Settings and items resolved.
    layout : Layout
        Where each item was placed.
    sheets : mapping of str to bytes
        All drawing files of the tray by name: sheets, base, router templates.
    holes_csv : str or None
        Text of the schedule; None if it is missing.

    Returns
    -------
    tuple of Finding
        Errors first.
    """
    seated = seated_items(tray, layout)
    return in_order([*_on_paper(tray, layout, seated), *_as_written(tray, seated, sheets, holes_csv)])


def _on_paper(tray: Tray, layout: Layout, seated: Mapping[str, Seated]) -> Iterator[Finding]:
    yield from judge_places(tray, layout)
    yield from judge_wishes(tray, layout)
    for key, one in seated.items():
        yield from judge_seated(tray, key, one)


def _as_written(
    tray: Tray, seated: Mapping[str, Seated], files: Mapping[str, bytes], holes_csv: str | None
) -> Iterator[Finding]:
    dues = all_dues(seated, tray)
    levels = [replace(level, file=_written_as(level.file, files)) for level in levels_of(tray, seated, dues)]
    for name in sorted(set(files) - {level.file for level in levels} - set(template_files(files))):
        text = f"{name} should not be there: {', '.join(level.file for level in levels)} hold all that is cut"
        yield found("cut-extra", text, "move it out of the folder", tray=tray, file=name)
    cases: list[Case] = []
    for level in levels:
        read = _case(tray, level, files.get(level.file), seated)
        if isinstance(read, Case):
            cases.append(read)
        else:
            yield read
    stack = [case for case in cases if not case.level.is_base]
    if not stack:
        return
    by_sheet = not tray.one_block and tray.cutting.machine != "laser"
    if by_sheet:
        dowels = dowels_due(tray, stack, [] if holes_csv is None else read_lines(holes_csv))
        stack = [_with(case, mine) for case, mine in zip(stack, dowels, strict=True)]
        cases = [*stack, *(case for case in cases if case.level.is_base)]
        yield from judge_dowels(tray, stack)
    woods = [wood_of(case) for case in stack]
    rooms = Rooms(tray, stack[0].sheet.file, seated, _cut_plans(stack, woods))
    yield from judge_rooms(rooms)
    for case in cases:
        yield from _drawing(case, rooms)
        if case.level.is_base:
            yield from judge_base_slots(case, stack[-1])
    for case, wood in zip(stack, woods, strict=True):
        if wood is not None:
            yield from judge_corners(case, wood)
            yield from judge_wood(case, wood, rooms)
    yield from judge_loose(stack)
    if stack[0].level.number == 1:
        yield from judge_posts(stack[0], dues)
        yield from judge_templates(stack[0], files)
    if by_sheet:
        yield from judge_schedule(stack, None, holes_csv)
    elif stack[0].level.number == 1:
        yield from judge_schedule(stack[:1], dues, holes_csv)


def _written_as(file: str, files: Mapping[str, bytes]) -> str:
    """The name under which a drawing that is due was written: that of an R12 file says its unit."""
    stem = file.removesuffix(".dxf")
    return next((name for name in (file, *(f"{stem}-{unit}.dxf" for unit in UNITS)) if name in files), file)


def _case(tray: Tray, level: Level, data: bytes | None, seated: Mapping[str, Seated]) -> Case | Finding:
    """A drawing read, or why none of it can be judged."""
    name = level.file
    if data is None:
        return found("cut-missing", f"{name} is missing", "build the job again", tray=tray, file=name)
    try:
        sheet = read_sheet(name, data, tray.layer_names)
    except ValueError as error:
        return found("entity-odd", f"{name}: {error}", "build the job again", tray=tray, file=name)
    scaled = wrong_scale(sheet, tray, (0.0, 0.0, tray.blank.width, tray.blank.depth))
    if scaled is not None:  # every other measure would be wrong with it
        return scaled
    return gather(tray, level, left_by_beam(sheet, level.kerf, lambda path: _is_outside(path, tray)), seated)


def _with(case: Case, dues: Mapping[DueKey, Due]) -> Case:
    """The same drawing with more that is due in it."""
    level = replace(case.level, dues={**case.level.dues, **dues})
    return gather(case.tray, level, case.sheet, case.seated)


def _is_outside(path: Written, tray: Tray) -> bool:
    """Whether a path goes round the blank, and not round an opening in it."""
    blank = box(0, 0, tray.blank.width, tray.blank.depth)
    return path.operation is Operation.OUTSIDE or area(common(path.region, blank)) > 0.5 * area(blank)


def _drawing(case: Case, rooms: Rooms) -> Iterator[Finding]:
    span = (0.0, 0.0, case.blank.width, case.blank.depth)
    yield from judge_units(case.sheet, case.tray, span)
    yield from judge_entities(case)
    yield from judge_edge(case)
    yield from judge_contours(case)
    yield from _missing(case)
    yield from judge_depths(case)
    if case.level.is_base:  # what goes through it is held against the sheet above
        return
    yield from judge_pockets(case)
    yield from judge_slots(case)
    yield from judge_recesses(case)
    yield from judge_bores(case)
    yield from judge_between(case, rooms)


def _missing(case: Case) -> Iterator[Finding]:
    for key, due in case.dues.items():
        if key not in case.matched.cuts:
            text = f"{due.item.tag} {due.item.label} has no {due.step or 'cut'}; it is due at {spot(due.centre)}"
            yield found(
                "cut-missing", text, "build the job again", tray=case.tray, file=case.sheet.file,
                placement=due.placement, at=due.centre,
            )  # fmt: skip


def _cut_plans(stack: list[Case], woods: list[Wood | None]) -> dict[str, Region]:
    """The plan of all that is cut for each placement, in any sheet."""
    plans: dict[str, list[Region]] = {}
    for case, wood in zip(stack, woods, strict=True):
        for key, region in [*case.cut_regions().items(), *(wood.seats.items() if wood else ())]:
            if not is_empty(region):
                plans.setdefault(key, []).append(region)
    return {key: union(regions) if len(regions) > 1 else regions[0] for key, regions in plans.items()}
