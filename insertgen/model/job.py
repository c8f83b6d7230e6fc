"""The job: cutter, drills, stock and trays."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.model.figures import Point
from insertgen.model.item import Item, Wanted
from insertgen.model.shape import Shape

__all__ = ["Blank", "Cutter", "Cutting", "DrillSize", "Job", "KeepOut", "LayerNames", "Stock", "Template", "Tray"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cutter:
    diameter: float
    reach: float | None = None


@dataclass(frozen=True, slots=True)
class DrillSize:
    """A drill: ``name`` as stamped on it (17/64 in, #7, F, 6.5 mm), diameter in mm."""

    name: str
    diameter: float


@dataclass(frozen=True, slots=True)
class Template:
    """Router templates for a hand-held router: its base's bush, or the cutter's bearing, runs along their openings."""

    guide: str  # "bush" | "bearing"
    diameter: float  # of the bush or bearing
    cutter: Cutter
    thickness: float

    @property
    def offset(self) -> float:
        """How much larger all round the opening of the template is than the pocket."""
        return (self.diameter - self.cutter.diameter) / 2


@dataclass(frozen=True, slots=True)
class Cutting:
    """What the shop cuts with. ``machine`` is "router", "laser" or "hand"; cutter diameter 0: none is owned."""

    machine: str
    cutter: Cutter
    drills: tuple[DrillSize, ...]
    bed: Point | None = None
    template: Template | None = None

    @property
    def pocket_cutter(self) -> Cutter:
        """The largest cutter that must get round in every pocket: the machine's or the template's."""
        if self.template is None or self.template.cutter.diameter <= self.cutter.diameter:
            return self.cutter
        return self.template.cutter


@dataclass(frozen=True, slots=True)
class Stock:
    name: str
    thickness: float
    size: Point | None = None
    kerf: float = 0.0  # of the laser in this stock


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A rectangle of the tray that must stay free; ``at`` is its front left corner, blank frame."""

    at: Point
    size: Point
    why: str


@dataclass(frozen=True, slots=True)
class Blank:
    """The insert's outer shape: the tray inside less the play on each side."""

    width: float
    depth: float  # front to back


@dataclass(frozen=True, slots=True)
class LayerNames:
    """What layers are called in drawing files; ``{depth}`` stands for the depth in mm, "12" or "12-5"."""

    edge: str = "EDGE"
    outside: str = "OUTSIDE_THROUGH"
    through: str = "THROUGH"
    slot: str = "SLOT_THROUGH"
    pocket: str = "POCKET_{depth}MM"
    bore: str = "BORE_{depth}MM"
    bore_through: str = "BORE_THROUGH"


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray of a job with its settings resolved and its items in job order."""

    name: str
    slug: str
    inside: Point
    blank: Blank
    stack: tuple[Stock, ...]  # top first
    glued_first: bool
    edge_sawn: bool  # the blank is sawn to size before it is machined
    cutting: Cutting
    web: float
    margin: float
    floor: float
    play: float
    finger_room: float
    clearance: float
    slack: float
    least_gap: float
    wall_height: float | None = None
    headroom: float | None = None
    keep_out: tuple[KeepOut, ...] = ()
    lining: float = 0.0  # thickness of a finish or lining on the walls of every seat
    shift: float = 3.0  # the most that an item may shift beyond its clearance where the cutter is too wide for its seat
    lift_out: float | None = None  # diameter of a hole to lift the insert out by
    base: Stock | None = None  # the tray's own base under the insert, where it is cut too
    room_below: float | None = None  # below the base, to whatever is there
    layer_names: LayerNames = LayerNames()
    wanted: tuple[Wanted, ...] = ()  # in job order
    items: tuple[Item, ...] = ()  # counts expanded; filled by items.resolve

    @property
    def thickness(self) -> float:
        """Of the whole stack."""
        return sum(sheet.thickness for sheet in self.stack)

    @property
    def one_block(self) -> bool:
        """Whether the stack is cut as one: glued first, or a single sheet."""
        return len(self.stack) == 1 or (self.glued_first and self.cutting.machine != "laser")


@dataclass(frozen=True, slots=True)
class Job:
    name: str
    units: str
    trays: tuple[Tray, ...]
    shapes: tuple[Shape, ...]  # the shape files used, each once
    wanted: tuple[Wanted, ...] = ()  # ``[[item]]``s that any tray may take, in job order
