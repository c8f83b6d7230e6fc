"""layout.json: where everything stands, to a `Layout` and back."""

from __future__ import annotations

import json

from insertgen.files.json_text import point, read_json, rounded
from insertgen.files.table import Table
from insertgen.model.figures import Pose
from insertgen.model.job import Blank
from insertgen.model.layout import Layout, LeftOut, LeftOutReason, Placement, Unmet, Wish

__all__ = ["read_layout", "write_layout"]

#: Of positions: as many as a layout has, so that one read back and held is the same to the last byte.
POSE_PLACES = 6


def write_layout(layout: Layout) -> str:
    """JSON text, positions to 1e-6, other numbers to 1e-4, one placement a line; the same layout gives the same text.

    What most layouts have not (unmet wishes, shared items, a larger blank that
    would do) is written only where there is some.
    """
    head = {
        "format": 1,
        "tray": layout.tray,
        "seed": layout.seed,
        "rounds": layout.rounds,
        "stopped_by_time": layout.stopped_by_time,
        "blank": [rounded(layout.blank.width), rounded(layout.blank.depth)],
    }
    lines = [f" {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}," for key, value in head.items()]
    lines.append(f' "placements": {_rows([_placement(each) for each in layout.placements])},')
    if layout.unmet:
        lines.append(f' "unmet": {_rows([_unmet(each) for each in layout.unmet])},')
    if layout.shared:
        lines.append(f' "shared": {json.dumps(list(layout.shared))},')
    if layout.would_hold is not None:
        lines.append(f' "would_hold": {json.dumps([rounded(layout.would_hold.width), rounded(layout.would_hold.depth)])},')
    lines.append(f' "left_out": {_rows([_left_out(each) for each in layout.left_out])}')
    return "\n".join(["{", *lines, "}"]) + "\n"


def _rows(rows: list[dict[str, object]]) -> str:
    if not rows:
        return "[]"
    return "[\n  " + ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in rows) + "\n ]"


def _placement(placement: Placement) -> dict[str, object]:
    return {
        "id": placement.id,
        "name": placement.name,
        "shape": placement.shape,
        "x": round(placement.pose.x, POSE_PLACES) + 0.0,
        "y": round(placement.pose.y, POSE_PLACES) + 0.0,
        "angle_deg": rounded(placement.pose.angle_deg),
        "mirror": placement.pose.mirror,
        "pinned": placement.pinned,
    }


def _left_out(one: LeftOut) -> dict[str, object]:
    row: dict[str, object] = {"id": one.id, "why": str(one.why)}
    if one.short is not None:
        row |= {"short": rounded(one.short), "others": list(one.others)}
    return row


def _unmet(one: Unmet) -> dict[str, object]:
    return {"id": one.id, "wish": str(one.wish), "others": list(one.others)}


def read_layout(text: str, file: str) -> Layout:
    """The layout that `write_layout` wrote.

    Raises
    ------
    JobError
        No JSON, or not of this format: names file and key.
    """
    table = read_json(text, file)
    table.format()
    table.only(
        "format", "tray", "seed", "rounds", "stopped_by_time", "blank", "placements", "left_out", "unmet", "shared", "would_hold"
    )
    return Layout(
        tray=table.text("tray"),
        seed=table.whole("seed", least=-(2**63), most=2**63),
        rounds=table.whole("rounds", least=0, most=2**63),
        stopped_by_time=table.flag("stopped_by_time"),
        blank=Blank(*point(table, "blank")),
        placements=tuple(_read_placement(each) for each in table.tables("placements")),
        left_out=tuple(_read_left_out(each) for each in table.tables("left_out")),
        unmet=tuple(_read_unmet(each) for each in table.tables("unmet")),
        shared=_read_shared(table) if table.has("shared") else (),
        would_hold=Blank(*point(table, "would_hold")) if table.has("would_hold") else None,
    )


def _read_placement(table: Table) -> Placement:
    table.only("id", "name", "shape", "x", "y", "angle_deg", "mirror", "pinned")
    pose = Pose(table.number("x"), table.number("y"), table.number("angle_deg"), table.flag("mirror"))
    return Placement(
        table.text("id"), table.text("name"), table.text("shape", empty=True), pose, table.flag("pinned")
    )


def _read_left_out(table: Table) -> LeftOut:
    table.only("id", "why", "short", "others")
    why = LeftOutReason(table.word("why", [str(why) for why in LeftOutReason]))
    return LeftOut(table.text("id"), why, table.maybe_number("short"), _read_others(table) if table.has("others") else ())


def _read_unmet(table: Table) -> Unmet:
    table.only("id", "wish", "others")
    return Unmet(table.text("id"), Wish(table.word("wish", [str(wish) for wish in Wish])), _read_others(table))


def _read_others(table: Table) -> tuple[str, ...]:
    others = table.elements("others", "of texts")
    if not all(isinstance(other, str) for other in others):
        raise table.fault("others", "must be texts in quotes")
    return tuple(str(other) for other in others)


def _read_shared(table: Table) -> tuple[int, ...]:
    numbers: list[int] = []
    for each in table.elements("shared", "of whole numbers"):
        if isinstance(each, bool) or not isinstance(each, int) or each < 1 or each in numbers:
            raise table.fault("shared", "must be whole numbers from 1, each once")
        numbers.append(each)
    return tuple(numbers)
