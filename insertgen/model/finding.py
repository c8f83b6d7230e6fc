"""What is wrong with a layout or a file, as data."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from insertgen.model.figures import Point

__all__ = ["Finding", "Severity"]


class Severity(StrEnum):
    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Finding:
    """Something ``check`` has to say: data, never an exception.

    ``code`` is one of `insertgen.rules.FINDINGS`. ``at`` is in the blank frame.
    ``figure`` is what was found, ``limit`` what it is held against, both mm
    (mm2 for areas) and None where there is nothing to measure.
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    tray: str | None = None
    file: str | None = None
    layer: str | None = None
    placement: str | None = None
    at: Point | None = None
    figure: float | None = None
    limit: float | None = None
    others: tuple[str, ...] = field(default=())  # further placements concerned
