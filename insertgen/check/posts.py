"""Do posts stand beside their item, and not in it?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from insertgen.check.case import Case
from insertgen.check.due import Due, DueKey
from insertgen.check.fit import inside_ring
from insertgen.check.lines import nearest_on_ring
from insertgen.check.pockets import LEAST_GAP_WITHIN
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.geometry.region import bounds, to_outlines
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.shape import Store

__all__ = ["judge_posts"]


def judge_posts(case: Case, dues: Mapping[DueKey, Due]) -> Iterator[Finding]:
    """Held against where the posts are due: a bore that is not there has its own finding."""
    for due in dues.values():
        one = case.seated[due.placement]
        if one.item.store is Store.POSTS:
            gap, at = _gap(due, one)
            if gap < one.item.least_gap - LEAST_GAP_WITHIN:
                how = f"stands {mm(-gap)} in it" if gap <= -0.005 else f"is {mm(gap)} from it"
                text = (
                    f"a post of {named(one.item)} at {spot(due.centre)} {how}; "
                    f"at least {mm(one.item.least_gap)} must be left"
                )
                yield found(
                    "item-bound", text, "move the post away from the item", tray=case.tray, file=case.sheet.file,
                    placement=due.placement, at=at, figure=gap, limit=one.item.least_gap,
                )  # fmt: skip


def _gap(due: Due, one: Seated) -> tuple[float, Point]:
    """Between a post and its item, holes open: a post may stand in a hole of it. Below 0: how far it stands in the item."""
    x0, _, x1, _ = bounds(due.outline)
    rings = [ring for outline in to_outlines(one.bare) for ring in (outline.outer, *outline.holes)]
    inside = sum(bool(inside_ring((due.centre,), ring)[0]) for ring in rings) % 2 == 1
    nearest = min((nearest_on_ring(due.centre, ring) for ring in rings), key=lambda point: math.dist(point, due.centre))
    off = math.dist(nearest, due.centre)
    return (-off if inside else off) - (x1 - x0) / 2, nearest
