"""What is cut in each sheet: the one thing every writer reads."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from insertgen.model.figures import Circle, Contour, Outline, Point
from insertgen.model.job import Blank, KeepOut, Tray
from insertgen.model.seat import Bore

__all__ = ["Drawing", "Entity", "Fence", "Hole", "Layer", "Mark", "Operation", "Rounded", "SheetDrawing"]


class Operation(StrEnum):
    """What is done on a layer. EDGE is for reference only, OUTSIDE is cut last."""

    EDGE = "edge"
    OUTSIDE = "outside"
    THROUGH = "through"
    SLOT = "slot"
    POCKET = "pocket"
    BORE = "bore"


@dataclass(frozen=True, slots=True)
class Entity:
    """One contour or circle of a sheet, blank frame; ``placement`` None: the blank itself."""

    path: Contour | Circle
    placement: str | None


@dataclass(frozen=True, slots=True)
class Layer:
    name: str
    operation: Operation
    depth: float  # from this sheet's top face
    through: bool
    entities: tuple[Entity, ...]


@dataclass(frozen=True, slots=True)
class SheetDrawing:
    """One sheet, or the glued block: what one DXF file holds. Layers inside before outside.

    ``name`` is the file's, less its suffix: sheet-1, base, template-1.
    """

    number: int
    stock: str
    thickness: float
    layers: tuple[Layer, ...]
    name: str = "sheet-1"


@dataclass(frozen=True, slots=True)
class Hole:
    """One row of the drill-hole schedule; blank frame."""

    tag: str
    sheet: int
    label: str
    at: Point
    bore: Bore
    depth: float
    through: bool
    when: str  # after-glue | before-glue | any


@dataclass(frozen=True, slots=True)
class Fence:
    """How a slot is routed against a fence: ``edge`` of the blank that runs along it, ``distance`` from the fence to the cutter.

    A slot wider than the cutter takes a second pass, ``shift`` further out; 0: one pass does.
    """

    placement: str
    tag: str
    label: str
    edge: str  # "front" | "back" | "left" | "right"
    distance: float
    shift: float
    cutter: float


@dataclass(frozen=True, slots=True)
class Rounded:
    """A corner of wood that a router template rounds off: ``by`` mm of it are lost at ``at``, blank frame."""

    placement: str
    at: Point
    by: float


@dataclass(frozen=True, slots=True)
class Mark:
    """Who sits where: tag, label and size for legends; ``outline`` is the item, blank frame."""

    placement: str
    tag: str
    label: str
    size: str
    at: Point
    outline: Outline
    room: Outline
    depth: float
    through: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    tray: Tray
    blank: Blank
    sheets: tuple[SheetDrawing, ...]
    holes: tuple[Hole, ...]
    marks: tuple[Mark, ...]
    keep_out: tuple[KeepOut, ...] = ()
    cautions: tuple[str, ...] = ()  # codes, rules.CAUTIONS
    base: SheetDrawing | None = None  # the tray's base, where it is cut too
    templates: tuple[SheetDrawing, ...] = ()  # router templates, blank frame
    rounded: tuple[Rounded, ...] = ()  # by the templates, the most first
    fences: tuple[Fence, ...] = ()
