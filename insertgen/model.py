"""The nouns that pass between the stages: frozen, of plain numbers and tuples.

Lengths are mm, angles degrees counter-clockwise, y up. Nothing here computes;
what a noun means stands in the class, what is done with it in the room that
does it.

Frames
------
shape frame
    Origin in the middle of the bounding box of the lowest part's outline, x to
    the right, y to the back, seen from above.
blank frame
    Origin at the front left corner of the blank, seen from above. Used for
    every sheet of the stack, every file and the drill-hole schedule.
pose
    ``p' = R(angle) M p + (x, y)`` where M mirrors in x if ``mirror``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

__all__ = [
    "Blank", "Bore", "Circle", "Collet", "Contour", "Cut", "Cutter", "Cutting", "Disc", "Dowel", "Drawing",
    "DrillSize", "Entity", "Facing", "Fence", "Finding", "Hole", "Item", "Job", "KeepOut", "Layer", "LayerNames", "Layout", "LeftOut",
    "LeftOutReason", "Mark", "Operation", "Outline", "Part", "Placement", "Point", "Pose", "Post", "PostKind",
    "PostSeat", "Rectangle", "Ring", "RingPile", "Rounded", "Seat", "Severity", "Shank", "Shape", "SheetDrawing", "Slot",
    "Solid", "Step", "Stock", "Store", "Template", "Traced", "Tray", "Turn", "Unmet", "Wanted", "Wish",
]  # fmt: skip

Point = tuple[float, float]
Ring = tuple[Point, ...]  # a closed ring of points; the first is not repeated at the end


# ---- plane figures ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Outline:
    """Polygon with holes, seen from straight above; as measured, never altered."""

    outer: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Circle:
    """A round cut; stays a circle down to the file."""

    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Contour:
    """Closed path of lines and arcs.

    ``vertices`` holds (x, y, bulge); the bulge belongs to the segment that starts
    there and is tan(a quarter of the arc's angle), positive counter-clockwise (the
    arc lies to the right of its chord), 0 for a line, at most 1 in size.
    """

    vertices: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a shape's frame stands in the blank's: never moved points."""

    x: float
    y: float
    angle_deg: float = 0.0
    mirror: bool = False


# ---- what is stored --------------------------------------------------------------------------


class Store(StrEnum):
    """How an item is held."""

    POCKET = "pocket"
    THROUGH = "through"
    BORE = "bore"
    SLOT = "slot"
    CORNER = "corner"
    PEG = "peg"
    POSTS = "posts"
    STAND = "stand"


class PostKind(StrEnum):
    """What stands in a bore beside an item: glued wood, pressed steel, or a nail."""

    DOWEL = "dowel"
    PIN = "pin"
    NAIL = "nail"


@dataclass(frozen=True, slots=True)
class Post:
    """A post asked for beside an item that lies on the face; ``at`` in the shape frame."""

    at: Point
    diameter: float
    kind: PostKind = PostKind.DOWEL


@dataclass(frozen=True, slots=True)
class Part:
    """A height band of an item with an outline of its own, ``bottom`` to ``top`` above its lowest point."""

    outline: Outline
    bottom: float = 0.0
    top: float | None = None


@dataclass(frozen=True, slots=True)
class Disc:
    diameter: float
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Rectangle:
    """``length`` along x, ``width`` along y."""

    length: float
    width: float
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Slot:
    """A straight opening with round ends; ``length`` overall, along x."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Shank:
    """A bit that stands in a bore: shank ``diameter``, ``reach`` below the head, ``head`` diameter."""

    diameter: float
    head: float
    head_height: float | None = None
    reach: float | None = None


@dataclass(frozen=True, slots=True)
class Collet:
    """A tapered collet, stood in a bore by its large end; ``bore`` is what it clamps (its label)."""

    bore: float
    large: float
    small: float | None
    length: float
    series: str | None = None


@dataclass(frozen=True, slots=True)
class RingPile:
    """Bearings, washers, wheels on a peg; ``pile`` of them, one above the other."""

    bore: float
    diameter: float
    thickness: float
    pile: int = 1


Solid = tuple[Part, ...] | Disc | Rectangle | Slot | Shank | Collet | RingPile


@dataclass(frozen=True, slots=True)
class Traced:
    """Where a traced outline came from; written by ``trace``."""

    photos: tuple[tuple[str, str], ...]  # (file name, sha256)
    square: float
    squares_used: int
    mm_per_pixel: float
    tilt_deg: float
    expected_error: float
    camera_height: float | None = None
    edge_height: float | None = None
    warnings: tuple[str, ...] = ()
    underside: bool = False  # photographed turned over, the outline mirrored back


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape file, or one primitive typed in a job."""

    name: str
    solid: Solid
    label: str | None = None  # shown on drawings; None: the name
    height: float | None = None  # overall, as stored
    weight_kg: float | None = None
    store: Store | None = None  # None: by kind
    depth: float | None = None
    clearance: float | None = None
    slack: float | None = None
    least_gap: float | None = None
    posts: tuple[Post, ...] = ()  # for store = "posts"; empty: the program decides
    grips: tuple[Point, ...] | None = None  # where fingers go; None: the program decides; empty: nowhere
    traced: Traced | None = None
    source: str = ""  # slug of the shape file; "" when typed inline


class Turn(StrEnum):
    """Which turns the layout may give an item."""

    ANY = "any"
    QUARTER = "quarter"
    HALF = "half"
    FIXED = "fixed"


class Facing(StrEnum):
    """Which way an item's +x end points, its right end as in the shape file."""

    LEFT = "left"
    RIGHT = "right"
    FRONT = "front"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One ``[[tray.item]]`` or ``[[item]]`` of a job as read; None: not said there. ``where`` is "file, line N"."""

    shape: Shape
    where: str
    count: int = 1
    label: str | None = None
    store: Store | None = None
    depth: float | None = None
    clearance: float | None = None
    slack: float | None = None
    least_gap: float | None = None
    turn: Turn | None = None
    pinned: Pose | None = None
    mirror: bool = False
    grips: tuple[Point, ...] | None = None  # as of a shape
    beside: str | None = None  # name or label of another item of the tray that this one is kept by
    group: str | None = None  # what it is kept together with
    front: bool = False  # to be at the front
    face: Facing | None = None  # which way its +x end is to point


@dataclass(frozen=True, slots=True)
class Dowel:
    """A peg or post: ``name`` as sold (1/4 in, 6 mm), ``length`` to cut it to."""

    name: str
    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Step:
    """What goes down to ``depth`` from the face: all parts of an item that reach at least as deep, as one outline.

    Steps of an item are nested: the first is the whole of what is below the
    face, each further one goes deeper and lies within the one before.
    """

    outline: Outline
    depth: float
    through: bool


@dataclass(frozen=True, slots=True)
class PostSeat:
    """A post resolved: ``bore`` is the diameter its bore must at least have, ``stock`` what stands in it."""

    at: Point  # shape frame
    kind: PostKind
    bore: float
    depth: float
    through: bool
    stock: Dowel


@dataclass(frozen=True, slots=True)
class Item:
    """A thing to be stored, all settings resolved (item over shape over tray over cutting over rules).

    ``id`` is "tray-slug/NN"; ``tag`` is NN, the number shown on every drawing.
    ``outline`` is the plan outline of what goes into the seat (a bit's shank, a
    collet's large end, a ring's peg), in the shape frame; ``room`` the plan
    outline of what stands above the face (a bit's head, a ring); for a pocketed
    thing it is the outline itself. ``depth`` is how deep the seat is asked to
    be, from the face: the whole stack for a through-cut, 0 for a thing that
    only stands or lies between posts; it may be more than the stack allows.
    ``bore`` is the diameter a round bore must at least have, None where the seat
    is no bore. ``top`` is how far the seated item stands above the face, None if
    its height is unknown. ``steps`` are what has to go through the face at each
    depth, empty where the seat is a bore, posts or nothing at all; the first
    step's outline is ``outline``. ``grips`` None: recesses for two fingers are due,
    where the program decides; empty: none are.
    """

    id: str
    tag: str
    name: str
    label: str
    size: str  # as shown in legends: "215 x 34 mm", "1/2 in shank, 35 mm head"
    shape: Shape
    store: Store
    outline: Outline
    room: Outline
    room_gap: float  # free space asked between this room and its neighbours' rooms
    height: float | None
    top: float | None
    depth: float
    through: bool
    clearance: float  # as asked, the lining included, expected error not yet added
    expected_error: float  # of a traced outline; 0 for typed sizes
    slack: float
    least_gap: float
    turn: Turn
    bore: float | None = None
    use: str | None = None  # of the bore: shank | collet | peg
    peg: Dowel | None = None
    pinned: Pose | None = None
    mirror: bool = False
    steps: tuple[Step, ...] = ()
    posts: tuple[PostSeat, ...] = ()
    grips: tuple[Point, ...] | None = ()
    beside: str | None = None  # id of the item of this tray that it is kept by
    group: str | None = None  # all of a tray with the same are kept together
    front: bool = False  # asked to be at the front
    face: Facing | None = None  # which way its +x end is asked to point
    hang: float = 0.0  # how far it reaches below the insert and the tray's base
    asked_depth: float | None = None  # where a laser cannot cut the depth asked for: what was asked
    where: str = ""  # "job.toml, line 12", for messages

    @property
    def on_face(self) -> bool:
        """Whether it lies or stands on the face, so that no other seat may be cut under it."""
        return self.store in (Store.STAND, Store.POSTS)


# ---- the job ---------------------------------------------------------------------------------


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


# ---- seats -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Bore:
    """How a round hole is made. ``wanted`` is the diameter the item asks for.

    ``drill`` None: milled by the cutter at just the wanted diameter.
    """

    diameter: float
    wanted: float
    drill: DrillSize | None
    use: str  # shank | collet | peg | post | slot-end | start | dowel | screw
    note: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut of a seat, in the shape frame; ``depth`` from the face of the stack."""

    path: Contour | Circle
    depth: float
    through: bool
    bore: Bore | None = None


@dataclass(frozen=True, slots=True)
class Seat:
    """What an item needs of the insert: its cuts; the plan room is the item's.

    ``opening`` is the plan of all cuts at the face, shape frame, empty for an
    item that only stands. ``clearance`` is the gap all round that was cut for,
    expected error included. ``least_gap``, ``unreached_area`` and ``extra_area``
    (what is cut beyond the outline grown by the clearance, finger recesses
    apart) are measured on the final contours, not taken from the way they were
    made; None for bores. A corner seat's one cut is drawn nowhere by itself:
    it opens to the edges of the blank and becomes part of its outer contour.
    ``schedule`` are bores that only the drill-hole schedule names: the ends of a
    slot, a start hole in the waste of a sawn through-cut.
    """

    item: Item
    cuts: tuple[Cut, ...]
    opening: tuple[Outline, ...]  # several: bores apart from each other
    clearance: float
    least_gap: float | None
    unreached_area: float | None
    extra_area: float | None = None
    schedule: tuple[Cut, ...] = ()


# ---- layout ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Placement:
    id: str
    name: str
    shape: str
    pose: Pose
    pinned: bool


class LeftOutReason(StrEnum):
    NO_ROOM = "no-room"
    TOO_BIG = "too-big"
    TOO_TALL = "too-tall"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What has no place. ``short``: so many mm are missing at the best place found, against ``others``; None: not looked for."""

    id: str
    why: LeftOutReason
    short: float | None = None
    others: tuple[str, ...] = ()  # ids, or "wall", or "keep-out: why"


class Wish(StrEnum):
    """What a job may ask of a layout and not get."""

    BESIDE = "beside"
    FACE = "face"
    FRONT = "front"
    GROUP = "group"
    KEEP = "keep"  # its place of last time, with --keep-layout


@dataclass(frozen=True, slots=True)
class Unmet:
    """A wish that the layout does not meet; ``others`` are in the way, or what it was to be kept by."""

    id: str
    wish: Wish
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything stands in a tray.

    ``shared`` are the numbers, from 1 and counts expanded, of the job's own
    ``[[item]]``s that this tray took; they are numbered after its own.
    ``would_hold`` is the smallest blank found that holds all, where not all fit.
    """

    tray: str
    seed: int
    rounds: int
    stopped_by_time: bool
    blank: Blank
    placements: tuple[Placement, ...]
    left_out: tuple[LeftOut, ...]
    unmet: tuple[Unmet, ...] = ()
    shared: tuple[int, ...] = ()
    would_hold: Blank | None = None


# ---- drawing: the one thing every writer reads -----------------------------------------------


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


# ---- findings --------------------------------------------------------------------------------


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
