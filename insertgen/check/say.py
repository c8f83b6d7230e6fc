"""How a finding is worded and ordered."""

from __future__ import annotations

from collections.abc import Iterable

from insertgen.model.figures import Point
from insertgen.model.finding import Finding, Severity
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.rules import FINDINGS
from insertgen.units import format_mm

__all__ = ["found", "in_order", "mm", "named", "spot"]


def found(
    code: str,
    message: str,
    remedy: str,
    *,
    tray: Tray | None = None,
    file: str | None = None,
    layer: str | None = None,
    placement: str | None = None,
    at: Point | None = None,
    figure: float | None = None,
    limit: float | None = None,
    others: tuple[str, ...] = (),
) -> Finding:
    """A finding with the severity of its code; places and figures to the micrometre, so that bytes repeat."""
    return Finding(
        code=code,
        severity=FINDINGS[code].severity,
        message=message,
        remedy=remedy,
        tray=tray.name if tray else None,
        file=file,
        layer=layer,
        placement=placement,
        at=None if at is None else (_tidy(at[0]), _tidy(at[1])),
        figure=None if figure is None else _tidy(figure),
        limit=None if limit is None else _tidy(limit),
        others=others,
    )


def _tidy(value: float) -> float:
    return round(value, 3) + 0.0  # never -0.0


def named(item: Item) -> str:
    """Tag and label, as they stand on every drawing.

    The tag comes first because it is what is written on the wood.
    """
    return f"{item.tag} {item.label}"


def mm(length: float) -> str:
    """
    >>> mm(12.5), mm(-0.001)
    ('12.5 mm', '0 mm')
    """
    return f"{format_mm(length)} mm"


def spot(at: Point) -> str:
    """A place of the blank, from its left and front edge.

    >>> spot((12.0, 3.456))
    '12 mm from the left, 3.46 mm from the front'
    """
    return f"{mm(at[0])} from the left, {mm(at[1])} from the front"


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Errors first, then by tray, placement and code; the rest of the key only breaks ties."""
    rank = {Severity.ERROR: 0, Severity.WARNING: 1}

    def key(one: Finding) -> tuple[object, ...]:
        return (rank[one.severity], one.tray or "", one.placement or "", one.code, one.file or "",
                one.at or (0.0, 0.0), one.message)  # fmt: skip

    return tuple(sorted(findings, key=key))
