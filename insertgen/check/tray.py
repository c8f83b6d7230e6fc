"""All findings on one tray, from its job, its layout and the bytes that were written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from insertgen.check.between import judge_between
from insertgen.check.bores import judge_bores
from insertgen.check.case import Case, gather
from insertgen.check.contours import judge_contours
from insertgen.check.depths import judge_depths
from insertgen.check.file import judge_edge, judge_entities, judge_units, wrong_scale
from insertgen.check.places import judge_places, judge_seated
from insertgen.check.pockets import judge_pockets
from insertgen.check.say import found, in_order, named, spot
from insertgen.check.schedule import judge_schedule
from insertgen.check.seated import Seated, has_cut, seated_items
from insertgen.check.written import read_sheet
from insertgen.errors import NotYetError
from insertgen.model import Finding, Layout, Store, Tray

__all__ = ["check_tray"]

SHEET = "sheet-1.dxf"  # the whole block: glued first, or a single sheet
LATER = (Store.SLOT, Store.CORNER, Store.POSTS)


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
        The drawing files by name.
    holes_csv : str or None
        Text of the schedule; None if it is missing.

    Returns
    -------
    tuple of Finding
        Errors first.

    Raises
    ------
    NotYetError
        A stack cut first and glued later, or an item stored in a slot, a corner or between posts.
    """
    _refuse_later(tray)
    seated = seated_items(tray, layout)
    return in_order([*_on_paper(tray, layout, seated), *_as_written(tray, seated, sheets, holes_csv)])


def _refuse_later(tray: Tray) -> None:
    if not tray.glued_first and len(tray.stack) > 1:
        raise NotYetError(f"{tray.name}: sheets cut first and glued later are not judged yet; use glue-first")
    for item in tray.items:
        if item.store in LATER:
            raise NotYetError(f"{tray.name}: {named(item)} is stored by {item.store.value}, which is not judged yet")


def _on_paper(tray: Tray, layout: Layout, seated: Mapping[str, Seated]) -> Iterator[Finding]:
    yield from judge_places(tray, layout)
    for key, one in seated.items():
        yield from judge_seated(tray, key, one)


def _as_written(
    tray: Tray, seated: Mapping[str, Seated], sheets: Mapping[str, bytes], holes_csv: str | None
) -> Iterator[Finding]:
    for name in sorted(set(sheets) - {SHEET}):
        text = f"{name} should not be there: {SHEET} holds the whole block"
        yield found("cut-extra", text, "move it out of the folder", tray=tray, file=name)
    data = sheets.get(SHEET)
    if data is None:
        yield found("cut-missing", f"{SHEET} is missing", "build the job again", tray=tray, file=SHEET)
        return
    try:
        sheet = read_sheet(SHEET, data)
    except ValueError as error:
        yield found("entity-odd", f"{SHEET}: {error}", "build the job again", tray=tray, file=SHEET)
        return
    scaled = wrong_scale(sheet, tray)
    if scaled is not None:  # every other measure would be wrong with it
        yield scaled
        return
    case = gather(tray, sheet, seated)
    yield from judge_units(sheet, tray)
    yield from judge_entities(case)
    yield from judge_edge(case)
    yield from judge_contours(case)
    yield from _missing(case)
    yield from judge_pockets(case)
    yield from judge_bores(case)
    yield from judge_depths(case)
    yield from judge_between(case)
    yield from judge_schedule(case, holes_csv)


def _missing(case: Case) -> Iterator[Finding]:
    for key, one in case.seated.items():
        if has_cut(one.item) and key not in case.matched.cuts:
            text = f"{named(one.item)} has no cut; it is due at {spot(one.centre)}"
            yield found(
                "cut-missing", text, "build the job again", tray=case.tray, file=case.sheet.file,
                placement=key, at=one.centre,
            )  # fmt: skip
