"""Small nouns for tests: a tray, an item, with everything that does not matter filled in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from insertgen.exchange.dxf import write_dxf
from insertgen.exchange.layers import parse_layer
from insertgen.geometry.arcs import rectangle
from insertgen.geometry.region import disc, to_outlines
from insertgen.model.drawing import Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.item import Item, Step, Turn
from insertgen.model.job import Blank, Cutter, Cutting, Stock, Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.shape import Disc, Part, Shank, Shape, Solid, Store
from insertgen.output.holes import COLUMNS
from insertgen.rules import drill_sizes
from insertgen.units import format_inch


def tray_of(
    *items: Item,
    cutter: float = 6.35,
    thickness: float = 18.0,
    floor: float = 3.0,
    machine: str = "router",
    width: float = 350.0,
    depth: float = 250.0,
) -> Tray:
    return Tray(
        name="test tray",
        slug="test-tray",
        inside=(width + 1, depth + 1),
        blank=Blank(width, depth),
        stack=(Stock("mdf", thickness),),
        glued_first=True,
        edge_sawn=True,
        cutting=Cutting(machine, Cutter(cutter, 30.0), drill_sizes()),
        web=6.0,
        margin=8.0,
        floor=floor,
        play=0.5,
        finger_room=15.0,
        clearance=1.0,
        slack=0.35,
        least_gap=0.1,
        items=items,
    )


def _item(solid: Solid, outline: Outline, room: Outline, store: Store, **settings: object) -> Item:
    values: dict[str, object] = {
        "id": "test-tray/01", "tag": "01", "name": "thing", "label": "thing", "size": "a size",
        "shape": Shape("thing", solid), "store": store, "outline": outline, "room": room, "room_gap": 0.0,
        "height": 20.0, "top": 10.0, "depth": 10.0, "through": False, "clearance": 1.0, "expected_error": 0.0,
        "slack": 0.35, "least_gap": 0.1, "turn": Turn.QUARTER,
    }  # fmt: skip
    chosen = values | settings
    if store in (Store.POCKET, Store.THROUGH, Store.SLOT, Store.CORNER):
        chosen = {"steps": (Step(outline, chosen["depth"], chosen["through"]),)} | chosen  # type: ignore[arg-type]  # fields of any type, by name
    return Item(**chosen)  # type: ignore[arg-type]  # as above


def pocket_item(outline: Outline | None = None, *, disc_diameter: float | None = None, **settings: object) -> Item:
    if disc_diameter is not None:
        ring = to_outlines(disc((0, 0), disc_diameter))[0]
        return _item(Disc(disc_diameter, 20.0), ring, ring, Store.POCKET, **settings)
    assert outline is not None
    return _item((Part(outline),), outline, outline, Store.POCKET, **settings)


def shank_item(bore: float, *, head: float = 20.0, **settings: object) -> Item:
    """A bit that asks for a bore of at least ``bore``."""
    shank, top = to_outlines(disc((0, 0), bore - 0.35))[0], to_outlines(disc((0, 0), head))[0]
    chosen = {"bore": bore, "use": "shank", "room_gap": 15.0} | settings
    return _item(Shank(bore - 0.35, head, 20.0, 30.0), shank, top, Store.BORE, **chosen)


def seat_item(store: Store, solid: Solid, outline: Outline, *, room: Outline | None = None, **settings: object) -> Item:
    """An item of any other store: right through the sheet of 18 mm, or on the face."""
    through = store in (Store.THROUGH, Store.SLOT, Store.CORNER)
    depth: dict[str, object] = {"depth": 18.0, "through": True} if through else {"depth": 0.0}
    return _item(solid, outline, room or outline, store, **(depth | settings))


def box_outline(x0: float, y0: float, x1: float, y1: float) -> Outline:
    return Outline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


# ---- drawings made by hand ---------------------------------------------------------------------


def drawn(tray: Tray, cuts: Mapping[str, Sequence[Contour | Circle]], *, edge: str = "EDGE") -> bytes:
    """A DXF file of paths by layer; the blank's rectangle on ``edge`` with them, unless that layer is among them."""
    rim = {} if edge in cuts else {edge: (rectangle(tray.blank.width, tray.blank.depth),)}
    layers = []
    for name, paths in [*cuts.items(), *rim.items()]:
        operation, depth = parse_layer(name) or (Operation.POCKET, 1.0)
        entities = tuple(Entity(path, None) for path in paths)
        layers.append(Layer(name, operation, depth or tray.thickness, depth is None, entities))
    return write_dxf(SheetDrawing(1, "mdf", tray.thickness, tuple(layers)))


def rounded(x0: float, y0: float, x1: float, y1: float, radius: float) -> Contour:
    """A rectangle whose corners a cutter of ``radius`` made: quarter circles, bulge tan(90 deg / 4)."""
    quarter = math.tan(math.pi / 8)
    return Contour((
        (x0 + radius, y0, 0.0), (x1 - radius, y0, quarter), (x1, y0 + radius, 0.0), (x1, y1 - radius, quarter),
        (x1 - radius, y1, 0.0), (x0 + radius, y1, quarter), (x0, y1 - radius, 0.0), (x0, y0 + radius, quarter),
    ))  # fmt: skip


def polygon(*points: tuple[float, float]) -> Contour:
    return Contour(tuple((x, y, 0.0) for x, y in points))


def placed(tray: Tray, *poses: Pose) -> Layout:
    """A layout of the tray's items, a pose each."""
    at = tuple(Placement(item.id, item.name, "", pose, False) for item, pose in zip(tray.items, poses, strict=True))
    return Layout(tray.slug, 0, 0, False, tray.blank, at, ())


def schedule(*rows: Mapping[str, object]) -> str:
    """A drill-hole schedule; what a row does not say is that of a milled bore right through 18 mm that fits as asked."""
    lines = [",".join(COLUMNS)]
    for row in rows:
        x, y, wide = float(str(row["x"])), float(str(row["y"])), float(str(row["diameter"]))
        usual: dict[str, object] = {
            "tag": "01", "tray": "test tray", "sheet": 1, "label": "thing", "use": "shank", "x_in": format_inch(x),
            "y_in": format_inch(y), "drill": "milled", "wanted": wide, "slack": "0.00", "depth": "18.00", "through": "yes",
            "when": "any", "note": "",
        }  # fmt: skip
        lines.append(",".join(str((usual | dict(row))[column]) for column in COLUMNS))
    return "\n".join(lines) + "\n"
