"""Default numbers and tables of the trade, each with its source.

A number without a published source is marked "common practice, no source"; a
job may override every one of them.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from insertgen.model.finding import Severity
from insertgen.model.job import DrillSize
from insertgen.model.shape import Store

__all__ = [
    "CAUTIONS",
    "CAUTION_TAIL",
    "CLEARANCE",
    "COLLET_DEPTH_SHARE",
    "CRUMB",
    "DOWELS",
    "FINDINGS",
    "FINGERS_APART",
    "FINGER_REACH",
    "FINGER_ROOM",
    "FINGER_WIDTH",
    "FLOOR",
    "HOLE_LOOSE",
    "LARGE_ERROR",
    "LEAST_GAP",
    "LIFTED_ALONE",
    "MARGIN",
    "MILLED_OVER_CUTTER",
    "NAIL_PILOT",
    "PEG_EASE",
    "PEG_GRIP",
    "PLAY",
    "POCKET_DEPTH_LEAST",
    "POCKET_DEPTH_SHARE",
    "POCKET_DEPTH_UNKNOWN",
    "POST_DIAMETER",
    "POST_STAND",
    "SHIFT",
    "SLACK",
    "SLIVER",
    "START_HOLE",
    "START_ROUND",
    "TEMPLATE_CLAMP",
    "TEMPLATE_WEB",
    "THREE_DOWELS",
    "WEB",
    "ColletSize",
    "FindingRule",
    "collet_series",
    "default_store",
    "drill_sizes",
    "smallest_drill",
    "start_drill",
]  # fmt: skip

# ---- fits: common practice, no source, unless said otherwise -----------------------------------

CLEARANCE = 1.0  # gap all round an item in a pocket
LEAST_GAP = 0.08  # in an inside corner; what a 1/4 in cutter leaves in a square one at 1 mm clearance is 0.10
SLACK = 0.35  # bore over shank, on the diameter: 1/64 in (0.397) drills clear it, 17/64 over 1/4 seen in print
WEB = 6.0
MARGIN = 8.0
FLOOR = 3.0
PLAY = 0.5
FINGER_ROOM = 20.0  # between heads: FAA HFDS appendix B, index finger breadth 95th percentile man 23; a fingertip is less
POCKET_DEPTH_SHARE = 0.5  # of the item's height
POCKET_DEPTH_LEAST = 6.0
COLLET_DEPTH_SHARE = 0.5  # of the collet's length, so that it can be gripped
PEG_EASE = 0.2  # how much thinner than the bore of its rings a peg must be, so that they slide
PEG_GRIP = 6.0  # how far a peg stands out above its pile
POST_DIAMETER = 6.35  # of a post that the program sets
POST_STAND = 20.0  # how far a post stands out of the face
NAIL_PILOT = 0.8  # bore for a nail, as a share of its diameter: it must hold, and not split the wood
POCKET_DEPTH_UNKNOWN = 12.0  # for a thing of unknown height
LIFTED_ALONE = 25.0  # an item that stands this far above the face is lifted by itself
FINGER_WIDTH = 25.0  # of a finger recess: FAA HFDS appendix B, index finger breadth 95th percentile man 23, and 2
FINGER_REACH = 20.0  # how far a finger recess reaches out from the item
SLIVER = 2.0  # wood thinner than this in the wall of a seat breaks off
START_HOLE = 10.0  # in the waste of a closed cut that is sawn; less where there is no room for it
START_ROUND = 1.0  # wood of the waste left round a start hole: it must not touch the line
SHIFT = 3.0  # the most that an item may shift beyond its clearance where the cutter is too wide for its seat
FINGERS_APART = 36.0  # a thing no longer than this in any direction would stand in its own finger recess: it gets none
TEMPLATE_CLAMP = 50.0  # how far a router template reaches beyond the blank, to be clamped
TEMPLATE_WEB = 6.0  # between openings of one template; nearer ones go on a further template
MILLED_OVER_CUTTER = 1.0  # a bore is milled from cutter diameter + this on, else drilled
HOLE_LOOSE = 1.0  # slack beyond what was asked at which a bore is called loose
LARGE_ERROR = 1.5  # expected error of an outline at which it is called large
CRUMB = 0.01  # a segment shorter than this is a crumb

#: Sheets cut one by one are brought together by three registration dowels from this length on, below it by two. Common practice, no source.
THREE_DOWELS = 400.0

#: Dowels sold, mm; inch sizes are exact. Common practice, no source.
DOWELS = (
    ("3 mm", 3.0), ("1/8 in", 3.175), ("4 mm", 4.0), ("3/16 in", 4.7625), ("5 mm", 5.0), ("6 mm", 6.0),
    ("1/4 in", 6.35), ("5/16 in", 7.9375), ("8 mm", 8.0), ("3/8 in", 9.525), ("10 mm", 10.0),
    ("7/16 in", 11.1125), ("12 mm", 12.0), ("1/2 in", 12.7), ("5/8 in", 15.875), ("16 mm", 16.0),
    ("3/4 in", 19.05), ("20 mm", 20.0), ("7/8 in", 22.225), ("25 mm", 25.0), ("1 in", 25.4),
)  # fmt: skip


def default_store(kind: str) -> Store:
    """How a kind of thing is stored unless its shape or the job says otherwise.

    >>> default_store("shank"), default_store("ring"), default_store("outline")
    (<Store.BORE: 'bore'>, <Store.PEG: 'peg'>, <Store.POCKET: 'pocket'>)
    """
    return {
        "slot": Store.THROUGH,
        "shank": Store.BORE,
        "collet": Store.BORE,
        "ring": Store.PEG,
    }.get(kind, Store.POCKET)


# ---- tables ------------------------------------------------------------------------------------


@cache
def _table(name: str) -> tuple[dict[str, str], ...]:
    text = (files("insertgen") / "tables" / f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def drill_sizes() -> tuple[DrillSize, ...]:
    """Every drill of the table, smallest first: fraction, number, letter, metric, flat-bottomed."""
    rows = (DrillSize(row["name"], float(row["mm"])) for row in _table("drills"))
    return tuple(sorted(rows, key=lambda drill: (drill.diameter, drill.name)))


def smallest_drill(wanted: float, owned: tuple[DrillSize, ...]) -> DrillSize | None:
    """The smallest owned drill of at least ``wanted``; never the nearest. None: no drill is large enough.

    >>> smallest_drill(6.7, drill_sizes()).name
    '6.7 mm'
    >>> smallest_drill(60.0, drill_sizes()) is None
    True
    """
    clearing = [drill for drill in owned if drill.diameter >= wanted - 1e-6]
    return min(clearing, key=lambda drill: (drill.diameter, drill.name), default=None)


def start_drill(radius: float, owned: tuple[DrillSize, ...]) -> DrillSize | None:
    """The largest owned drill for a start hole in waste of this radius, up to `START_HOLE`; None: none is small enough.

    >>> start_drill(4.0, drill_sizes()).name, start_drill(1.2, ()) is None
    ('6 mm', True)
    """
    most = min(START_HOLE, 2 * (radius - START_ROUND))
    fitting = [drill for drill in owned if drill.diameter <= most + 1e-9]
    return max(fitting, key=lambda drill: (drill.diameter, drill.name), default=None)


@dataclass(frozen=True, slots=True)
class ColletSize:
    series: str
    large: float
    length: float
    clamp_min: float
    clamp_max: float


@cache
def collet_series() -> dict[str, ColletSize]:
    """ER collets by series name, upper case."""
    return {
        row["series"]: ColletSize(
            row["series"], float(row["large"]), float(row["length"]), float(row["clamp_min"]), float(row["clamp_max"])
        )
        for row in _table("collets")
    }


# ---- findings ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FindingRule:
    severity: Severity
    about: str


_E, _W = Severity.ERROR, Severity.WARNING

#: Codes are frozen: programs read them.
FINDINGS = {
    "overlap": FindingRule(_E, "two things take the same room, or one stands on a keep-out"),
    "web-thin": FindingRule(_E, "too little wood between two cuts"),
    "margin-thin": FindingRule(_E, "too little wood between a cut and the edge of the blank"),
    "floor-thin": FindingRule(_E, "too little wood under a pocket or blind bore"),
    "sliver": FindingRule(_W, "a piece of wood too thin to stay"),
    "item-bound": FindingRule(_E, "the item touches the wall of its seat, or comes nearer than asked"),
    "cutter-too-big": FindingRule(_E, "a contour no cutter of this diameter can follow"),
    "cutter-too-short": FindingRule(_E, "a cut deeper than the cutter reaches"),
    "hole-moved": FindingRule(_E, "a bore is not where its item is"),
    "hole-tight": FindingRule(_E, "a bore smaller than its item asks for"),
    "hole-loose": FindingRule(_W, "a bore much larger than its item asks for"),
    "contour-open": FindingRule(_E, "a contour that is not closed"),
    "contour-doubled": FindingRule(_E, "the same contour twice: it would be cut twice"),
    "contour-crossed": FindingRule(_E, "a contour that crosses itself"),
    "crumb": FindingRule(_W, "a segment too short to be meant"),
    "layer-unknown": FindingRule(_E, "a layer that names no operation"),
    "depth-wrong": FindingRule(_E, "a cut on a layer of another depth than its item asks for"),
    "too-deep": FindingRule(_E, "a seat deeper than the stack less the floor"),
    "too-tall": FindingRule(_E, "an item that stands higher than the headroom"),
    "outside-blank": FindingRule(_E, "a cut that leaves the blank"),
    "units-wrong": FindingRule(_E, "the file does not say millimetres, or its extents are not its contents'"),
    "entity-odd": FindingRule(_E, "an entity a toolpath cannot be made from, or one in the wrong place"),
    "file-changed": FindingRule(_W, "a file is not the one that was written, or is missing"),
    "cut-missing": FindingRule(_E, "an item without its cut"),
    "cut-extra": FindingRule(_E, "a cut that belongs to no item"),
    "left-out": FindingRule(_E, "an item that has no place in its tray"),
    "wish-unmet": FindingRule(_W, "something the job asked of the layout was not to be had"),
    "error-large": FindingRule(_W, "an outline whose expected error is large"),
    "bed-small": FindingRule(_E, "a blank larger than the bed of the machine"),
}

# ---- cautions ----------------------------------------------------------------------------------

CAUTION_TAIL = "Your tool's manual and local rules come first."

CAUTIONS = {
    "always": "Cut a scrap first. Measure the stock and the tray before you cut. Unplug a tool, or take its battery "
    "out, before you photograph, measure or seat it; blade still, guard closed.",
    "mdf-dust": "MDF makes fine dust: use extraction and wear a mask.",
    "router-loose": "Loose pieces need tabs or tape. Keep screws outside the cuts. Check the depth against the "
    "cutter's reach, and take several passes.",
    "laser-fume": "Never leave a laser running alone. No PVC, no vinyl. Glue lines flare up.",
    "slot-table": "A slot routed against a fence: set stop blocks, lower the work with the bored end over the cutter, feed "
    "against its turning, and never trap the work between fence and cutter.",
    "bore": "Clamp the work, put a backer under it, and run large bits slowly.",
    "saw": "Closed cuts by hand: bore a start hole in the waste, and let the saw stop before you back it out.",
    "knife-up": "Cutters stand edge up: put tall ones behind, and lift them with a glove.",
    "nail": "Nails and pins: no points up, and none where a hand reaches in.",
    "battery": "Keep battery terminals clear of metal pegs, and do not charge in the cabinet.",
    "load": "Heavy things low. Pull out one heavy tray at a time, and fit a stop. A blade below "
    "the base must clear the tray under it.",
}
