"""Drawings made by hand for the tests of the output room: an invented shop, no other stage of the program used."""

from __future__ import annotations

import math

from insertgen.geometry.arcs import flatten
from insertgen.model.drawing import Drawing, Entity, Hole, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Item, Turn
from insertgen.model.job import Blank, Cutter, Cutting, DrillSize, KeepOut, Stock, Tray
from insertgen.model.seat import Bore
from insertgen.model.shape import Disc, Shank, Shape, Store

DRILLS = (DrillSize("17/64 in", 6.746875), DrillSize("25/64 in", 9.921875), DrillSize("33/64 in", 13.096875))

ONE_SHEET = (Stock("mdf", 18.0),)
A_DISC = Disc(50.0)


def tray(name, width, depth, *, items=(), stack=ONE_SHEET, machine="router", keep_out=()):
    return Tray(
        name=name, slug=name.replace(" ", "-"), inside=(width + 1, depth + 1), blank=Blank(width, depth), stack=stack,
        glued_first=True, edge_sawn=True, cutting=Cutting(machine, Cutter(6.35, 25.4), DRILLS), web=6.0, margin=8.0,
        floor=3.0, play=0.5, finger_room=20.0, clearance=1.0, slack=0.35, least_gap=0.1, keep_out=keep_out,
        items=tuple(items),
    )  # fmt: skip


def item(tag, label, *, solid=A_DISC, store=Store.POCKET, through=False, bore=None, weight=None, slug="t"):
    square = Outline(((-5, -5), (5, -5), (5, 5), (-5, 5)))
    return Item(
        id=f"{slug}/{tag}", tag=tag, name=label, label=label, size="", shape=Shape(label, solid, weight_kg=weight),
        store=store, outline=square, room=square, room_gap=0.0, height=None, top=None, depth=10.0, through=through,
        clearance=1.0, expected_error=0.0, slack=0.35, least_gap=0.1, turn=Turn.ANY, bore=bore,
    )  # fmt: skip


def rounded(x0, y0, x1, y1, radius):
    """A rectangle with round corners, counter-clockwise."""
    b, r = math.tan(math.pi / 8), radius
    return Contour((
        (x0 + r, y0, 0.0), (x1 - r, y0, b), (x1, y0 + r, 0.0), (x1, y1 - r, b), (x1 - r, y1, 0.0),
        (x0 + r, y1, b), (x0, y1 - r, 0.0), (x0, y0 + r, b),
    ))  # fmt: skip


def paddle(x, y, length, radius, neck, turn=0.0):
    """A round head with a straight handle: arcs of more than a quarter turn, and corners. Returns (wall, item)."""

    def shape(grow):
        r, n = radius + grow, neck / 2 + grow
        meet = math.sqrt(r * r - n * n)
        end = length + grow
        half = math.atan2(n, -meet)  # of the head's far arc, from the handle's side
        sweep = 2 * (math.pi - math.atan2(n, meet))
        b = math.tan(sweep / 8)
        far = (-r, 0.0)
        vertices = [(meet, n, b), (*far, b), (meet, -n, 0.0), (end, -n, 0.0), (end, n, 0.0)]
        del half
        c, s = math.cos(turn), math.sin(turn)
        return Contour(tuple((x + c * u - s * v, y + s * u + c * v, k) for u, v, k in vertices))

    return shape(1.0), Outline(flatten(shape(0.0), 0.01))


def edge(width, depth):
    blank = Contour(((0.0, 0.0, 0.0), (width, 0.0, 0.0), (width, depth, 0.0), (0.0, depth, 0.0)))
    return Layer("EDGE", Operation.EDGE, 0.0, False, (Entity(blank, None),))


def bench():
    """350 x 450 mm with ten pockets, a bore beside one, a nested step and a keep-out."""
    width, depth = 349.0, 449.0
    walls = []  # (layer depth or None, wall, item outline, label, size)

    def box(x, y, w, d, r, deep, label):
        outline = Outline(flatten(rounded(x + 1, y + 1, x + w - 1, y + d - 1, r - 1), 0.01))
        walls.append((deep, rounded(x, y, x + w, y + d, r), outline, label, f"{w - 2} x {d - 2} mm"))

    def stick(x, y, length, radius, neck, turn, deep, label):
        wall, outline = paddle(x, y, length, radius, neck, turn)
        walls.append((deep, wall, outline, label, f"{length + radius} x {2 * radius} mm"))

    stick(70, 375, 150, 50, 40, 0.0, 12.5, "finish sander")
    box(250, 250, 85, 185, 12, 12.5, "belt sander with dust bag")
    stick(45, 90, 170, 28, 14, math.pi / 2, 9.0, "adjustable wrench")
    box(85, 20, 120, 60, 8, 15.0, "detail sander")
    box(85, 95, 14, 180, 5, None, "steel rule")
    box(115, 95, 60, 60, 30, 6.35, "disc 2 in")
    stick(220, 130, 110, 25, 18, 0.5, 12.5, "trim router base")
    box(220, 20, 115, 70, 10, None, "battery charger")
    box(112, 170, 26, 100, 6, 9.0, "awl")
    box(150, 175, 80, 90, 10, 12.5, "block plane")
    layers, marks = {}, []
    for k, (deep, wall, outline, label, size) in enumerate(walls, 1):
        layers.setdefault(deep, []).append(Entity(wall, f"bench/{k:02d}"))
        xs, ys = zip(*outline.outer, strict=True)
        middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
        marks.append(Mark(f"bench/{k:02d}", f"{k:02d}", label, size, middle, outline, outline, deep or 18.0, deep is None))
    layers[16.0] = [Entity(rounded(165, 190, 215, 250, 6), "bench/10")]  # a step in the block plane's seat
    pockets = [
        Layer(f"POCKET_{str(deep).replace('.', '-')}MM", Operation.POCKET, deep, False, tuple(layers[deep]))
        for deep in sorted((deep for deep in layers if deep), reverse=True)
    ]
    through = Layer("THROUGH", Operation.THROUGH, 18.0, True, tuple(layers[None]))
    keep = (KeepOut((305.0, 100.0), (40.0, 35.0), "divider screw"),)
    sheet = SheetDrawing(1, "mdf", 18.0, (*pockets, through, edge(width, depth)))
    return Drawing(
        tray("sanding", width, depth, keep_out=keep), Blank(width, depth), (sheet,), (), tuple(marks), keep,
        ("always", "mdf-dust", "router-loose", "battery"),
    )  # fmt: skip


def rack():
    """300 x 150 mm, two sheets glued first, 20 bores of three drills and one milled; heads wider than the bores."""
    width, depth = 299.0, 149.0
    stack = (Stock("mdf", 18.0), Stock("mdf", 12.0))
    holes, marks, items, blind, deep = [], [], [], [], []
    rows = ((22.0, 8, 22.0, 0), (62.0, 7, 28.0, 1), (112.0, 5, 44.0, 2))
    k = 0
    for y, count, head, drill in rows:
        for n in range(count):
            k += 1
            x = (n + 0.5) * width / count
            size = DRILLS[drill]
            milled = k == 20
            diameter = 30.0 if milled else size.diameter
            head_here = 38.0 if milled else head - (n % 3) * 3
            label = "collet 8 mm" if milled else f"{('1/4', '3/8', '1/2')[drill]} in {('straight', 'cove', 'round-over')[n % 3]}"
            through = drill == 2 and not milled
            at = (round(x, 2), y)
            hole_depth = 30.0 if through else 24.0
            bore = Bore(diameter, diameter - 0.046875, None if milled else size, "collet" if milled else "shank", "")
            holes.append(Hole(f"{k:02d}", 1, label, at, bore, hole_depth, through, "after-glue"))
            (deep if through else blind).append(Entity(Circle(at, diameter), f"rack/{k:02d}"))
            marks.append(Mark(f"rack/{k:02d}", f"{k:02d}", label, f"head {head_here:g} mm", at, round_outline(at, diameter - 0.4),
                              round_outline(at, head_here), hole_depth, through))  # fmt: skip
            items.append(item(f"{k:02d}", label, solid=Shank(6.35, head_here), store=Store.BORE, bore=diameter, slug="rack"))
    sheet = SheetDrawing(1, "mdf", 30.0, (
        Layer("BORE_24MM", Operation.BORE, 24.0, False, tuple(blind)),
        Layer("BORE_THROUGH", Operation.BORE, 30.0, True, tuple(deep)),
        edge(width, depth),
    ))  # fmt: skip
    return Drawing(tray("router bits", width, depth, items=items, stack=stack), Blank(width, depth), (sheet,),
                   tuple(holes), tuple(marks), (), ("always", "mdf-dust", "bore", "knife-up"))  # fmt: skip


def round_outline(at, diameter):
    r = diameter / 2
    return Outline(tuple((at[0] + r * math.cos(a * math.pi / 32), at[1] + r * math.sin(a * math.pi / 32)) for a in range(64)))


def test_the_drawings_here_are_inside_their_blanks():
    for drawing in (bench(), rack()):
        for mark in drawing.marks:
            for x, y in mark.outline.outer:
                assert 0 < x < drawing.blank.width
                assert 0 < y < drawing.blank.depth


def crowded():
    """300 x 200 mm with 96 bores 24 mm apart, long labels, one large plain item that only stands, a keep-out with a long reason."""
    width, depth = 299.0, 199.0
    holes, marks, entities = [], [], []
    for k in range(96):
        at = (15.0 + 24.0 * (k % 12), 14.0 + 24.0 * (k // 12))
        if k // 12 >= 6 and k % 12 >= 6:
            continue
        tag = f"{k + 1:02d}"
        label = "1/4 in shank flush-trim with a long name"
        bore = Bore(6.746875, 6.7, DRILLS[0], "shank")
        holes.append(Hole(tag, 1, label, at, bore, 12.7, False, "any"))
        marks.append(Mark(f"c/{tag}", tag, label, "1/4 in shank, 12.7 mm head", at, round_outline(at, 6.35), round_outline(at, 12.7), 12.7, False))  # fmt: skip
        entities.append(Entity(Circle(at, 6.746875), f"c/{tag}"))
    stands = Outline(((160, 150), (230, 150), (230, 190), (160, 190)))
    marks.append(Mark("c/97", "97", "sanding block", "70 x 40 mm", (195.0, 170.0), stands, stands, 0.0, False))
    keep = (KeepOut((250.0, 160.0), (20.0, 20.0), "screw of the divider between the two halves"),)
    sheet = SheetDrawing(1, "birch ply", 18.0, (Layer("BORE_12-7MM", Operation.BORE, 12.7, False, tuple(entities)), edge(width, depth)))
    return Drawing(tray("crowded", width, depth, keep_out=keep), Blank(width, depth), (sheet,), tuple(holes),
                   tuple(marks), keep, ("always",))  # fmt: skip
