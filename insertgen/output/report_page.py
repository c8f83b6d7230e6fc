"""What the report shows of one tray."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.model.drawing import Drawing
from insertgen.model.figures import Point

__all__ = ["Spot", "TrayPage"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place worth a look: ``what`` is "least web", "least margin" or "least gap"; it is measured from ``at`` to ``to``."""

    what: str
    figure: float
    at: Point
    to: Point


@dataclass(frozen=True, slots=True)
class TrayPage:
    """A tray's drawing, the places to mark on it, and its files, named as seen from the report."""

    drawing: Drawing
    spots: tuple[Spot, ...] = ()
    files: tuple[str, ...] = ()
