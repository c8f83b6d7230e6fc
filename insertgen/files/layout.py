"""layout.json: where everything stands, to a `Layout` and back."""

from __future__ import annotations

import json

from insertgen.files.json_text import point, read_json, rounded
from insertgen.files.table import Table
from insertgen.model import Blank, Layout, LeftOut, LeftOutReason, Placement, Pose

__all__ = ["read_layout", "write_layout"]


def write_layout(layout: Layout) -> str:
    """JSON text, numbers to 1e-4, one placement a line; the same layout gives the same text."""
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
    lines.append(f' "left_out": {_rows([{"id": each.id, "why": str(each.why)} for each in layout.left_out])}')
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
        "x": rounded(placement.pose.x),
        "y": rounded(placement.pose.y),
        "angle_deg": rounded(placement.pose.angle_deg),
        "mirror": placement.pose.mirror,
        "pinned": placement.pinned,
    }


def read_layout(text: str, file: str) -> Layout:
    """The layout that `write_layout` wrote.

    Raises
    ------
    JobError
        No JSON, or not of this format: names file and key.
    """
    table = read_json(text, file)
    table.format()
    table.only("format", "tray", "seed", "rounds", "stopped_by_time", "blank", "placements", "left_out")
    return Layout(
        tray=table.text("tray"),
        seed=table.whole("seed", least=-(2**63), most=2**63),
        rounds=table.whole("rounds", least=0, most=2**63),
        stopped_by_time=table.flag("stopped_by_time"),
        blank=Blank(*point(table, "blank")),
        placements=tuple(_read_placement(each) for each in table.tables("placements")),
        left_out=tuple(_read_left_out(each) for each in table.tables("left_out")),
    )


def _read_placement(table: Table) -> Placement:
    table.only("id", "name", "shape", "x", "y", "angle_deg", "mirror", "pinned")
    pose = Pose(table.number("x"), table.number("y"), table.number("angle_deg"), table.flag("mirror"))
    return Placement(
        table.text("id"), table.text("name"), table.text("shape", empty=True), pose, table.flag("pinned")
    )


def _read_left_out(table: Table) -> LeftOut:
    table.only("id", "why")
    return LeftOut(table.text("id"), LeftOutReason(table.word("why", [str(why) for why in LeftOutReason])))
