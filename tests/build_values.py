"""Small nouns for tests: a tray, an item, with everything that does not matter filled in."""

from __future__ import annotations

from insertgen.geometry.region import disc, to_outlines
from insertgen.model import (
    Blank,
    Cutter,
    Cutting,
    Disc,
    Item,
    Outline,
    Part,
    Shank,
    Shape,
    Solid,
    Step,
    Stock,
    Step,
    Store,
    Tray,
    Turn,
)
from insertgen.rules import drill_sizes


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
    if store in (Store.POCKET, Store.THROUGH):
        chosen = {"steps": (Step(outline, chosen["depth"], chosen["through"]),)} | chosen  # type: ignore[arg-type]
    return Item(**chosen)  # type: ignore[arg-type]


def pocket_item(outline: Outline | None = None, *, disc_diameter: float | None = None, **settings: object) -> Item:
    if disc_diameter is not None:
        ring = to_outlines(disc((0, 0), disc_diameter))[0]
        return _item(Disc(disc_diameter, 20.0), ring, ring, Store.POCKET, **steps_for(ring, **settings))
    assert outline is not None
    return _item((Part(outline),), outline, outline, Store.POCKET, **steps_for(outline, **settings))


def steps_for(outline: Outline, **settings: object) -> dict[str, object]:
    """One step of the depth asked for, unless there are others."""
    depth, through = float(str(settings.get("depth", 10.0))), bool(settings.get("through", False))
    return {"steps": (Step(outline, depth, through),)} | settings


def shank_item(bore: float, *, head: float = 20.0, **settings: object) -> Item:
    """A bit that asks for a bore of at least ``bore``."""
    shank, top = to_outlines(disc((0, 0), bore - 0.35))[0], to_outlines(disc((0, 0), head))[0]
    chosen = {"bore": bore, "use": "shank", "room_gap": 15.0} | settings
    return _item(Shank(bore - 0.35, head, 20.0, 30.0), shank, top, Store.BORE, **chosen)
