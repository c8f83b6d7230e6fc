"""What a job asked of a layout and did not get, as the layout says it: no rule of fit, so nothing is measured anew."""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.say import found, named
from insertgen.model.finding import Finding
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Unmet, Wish

__all__ = ["judge_wishes"]

_REMEDY = {
    Wish.GROUP: "give the tray more room, or a smaller group",
    Wish.BESIDE: "give the tray more room, or let it lie apart",
    Wish.FRONT: "ask less to the front, or pin it there",
    Wish.FACE: "give the tray more room, or let it lie any way round",
}


def judge_wishes(tray: Tray, layout: Layout) -> Iterator[Finding]:
    names = {item.id: named(item) for item in tray.items} | {"wall": "the margin"}
    at = {placement.id: (placement.pose.x, placement.pose.y) for placement in layout.placements}
    for unmet in layout.unmet:
        if unmet.wish in _REMEDY:  # a place of last time is no wish of the job's, and was said when it was lost
            yield found(
                "wish-unmet", _text(unmet, names), _REMEDY[unmet.wish], tray=tray, file="layout.json", placement=unmet.id,
                at=at.get(unmet.id), others=unmet.others,
            )  # fmt: skip


def _text(unmet: Unmet, names: dict[str, str]) -> str:
    who = names.get(unmet.id, unmet.id)
    first, *rest = [names.get(other, other) for other in unmet.others] or [""]
    match unmet.wish:
        case Wish.GROUP:
            return f"{who} is parted from the rest of its group ({first})" + (f" by {', '.join(rest)}" if rest else "")
        case Wish.BESIDE:
            return f"{who} is not beside {first}" + (f": {', '.join(rest)} lies between" if rest else "")
        case Wish.FRONT:
            return f"{who} is not at the front: {', '.join([first, *rest])} stands before it"
        case _:
            return f"{who} does not face the way it was asked to, so that all find room"
