"""Drawings made by hand, a tray for every way of holding things: an invented shop, no other stage of the program used."""

from __future__ import annotations

import dataclasses
import math

from insertgen.geometry.arcs import fit_path, flatten
from insertgen.geometry.open_edge import opened_to_edges, wood_left
from insertgen.geometry.region import disc, from_outline, from_path, to_outlines, union
from insertgen.model.drawing import Drawing, Entity, Fence, Hole, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Dowel, PostSeat
from insertgen.model.job import Blank, Cutter, DrillSize, Stock, Template
from insertgen.model.seat import Bore
from insertgen.model.shape import Disc, PostKind, Rectangle, RingPile, Store
from insertgen.output.cautions import cautions_for
from tests.test_output_drawings import edge, item, round_outline, rounded, tray

EIGHT = DrillSize("8 mm", 8.0)
TEN = DrillSize("10 mm", 10.0)


def plain(x0, y0, x1, y1):
    return Outline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def stadium(x0, y0, x1, y1):
    """A slot along x or y, its ends half circles of two arcs each."""
    return rounded(x0, y0, x1, y1, min(x1 - x0, y1 - y0) / 2)


def mark_of(one, outline, *, depth, through=False, size="", room=None):
    xs, ys = zip(*outline.outer, strict=True)
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return Mark(one.id, one.tag, one.label, size, middle, outline, room or outline, depth, through)


def held(tag, label, store, **settings):
    """An item with any field set."""
    names = {"solid", "through", "bore", "weight"}
    made = item(tag, label, store=store, **{key: value for key, value in settings.items() if key in names})
    return dataclasses.replace(made, **{key: value for key, value in settings.items() if key not in names})


def drawing_of(made, sheets, *, holes=(), marks=(), **settings):
    return Drawing(made, made.blank, sheets, tuple(holes), tuple(marks), made.keep_out, cautions_for(made), **settings)


def corners(*, split=False):
    """Discs and a sander in four corners and at an edge of 320 x 300 mm; the reference corner is sawn away too."""
    blank = Blank(319.0, 299.0)
    places = [("01", "discs grit 80", round_outline((62.0, 62.0), 125.0)), ("02", "discs grit 120", round_outline((258.0, 62.0), 125.0)),
              ("03", "discs grit 240", round_outline((62.0, 238.0), 125.0)), ("04", "orbital sander", plain(211.0, 178.0, 318.5, 298.5)),
              ("05", "felt pads", plain(1.0, 130.0, 40.0, 168.0))]  # fmt: skip
    if split:
        places.append(("06", "straight edge", plain(150.0, 0.5, 175.0, 298.5)))
    items = [held(tag, label, Store.CORNER, through=True) for tag, label, _ in places]
    out = [opened_to_edges(from_outline(outline).buffer(1.0), blank, 8.0) for _, _, outline in places]
    left = to_outlines(wood_left(blank, union(out), 6.0))
    outside = Layer("OUTSIDE_THROUGH", Operation.OUTSIDE, 18.0, True, tuple(Entity(fit_path(piece.outer, 0.05), None) for piece in left))
    pocket = Layer("POCKET_9MM", Operation.POCKET, 9.0, False, (Entity(rounded(135.0, 195.0, 200.0, 285.0, 6.0), "t/07"),))
    items.append(held("07", "backing pad", Store.POCKET))
    marks = [mark_of(one, outline, depth=18.0, through=True, size="size") for one, (_, _, outline) in zip(items, places, strict=False)]
    if not split:
        marks.append(mark_of(items[-1], plain(136.0, 196.0, 199.0, 284.0), depth=9.0, size="88 x 63 mm"))
    layers = (outside,) if split else (pocket, outside)
    made = tray("corner seats", blank.width, blank.depth, items=items, machine="hand")
    return drawing_of(made, (SheetDrawing(1, "mdf", 18.0, layers),), marks=marks)


def bay(x0, y0, x1, y1, r, grips, width=25.0, reach=20.0):
    """A seat with finger bays out of its front and back walls at the x of ``grips``."""
    region = union([from_outline(Outline(flatten(rounded(x0, y0, x1, y1, r), 0.01))),
                    *(from_outline(Outline(flatten(stadium(x - width / 2, y0 - reach, x + width / 2, y1 + reach), 0.01))) for x in grips)])  # fmt: skip
    return fit_path(to_outlines(region)[0].outer, 0.02)


def steps(*, rule=16.0):
    """An upright sander in two steps, a plane in three with a ledge of 4 mm, a rule with bays, a thing with one pair."""
    width, depth = 349.0, 259.0
    deep = {
        9.0: [(rounded(20, 110, 180, 240, 10), "t/01"), (rounded(200, 150, 330, 240, 8), "t/02")],
        15.0: [(rounded(204, 154, 326, 236, 8), "t/02"), (bay(30, 40, 230, 40 + rule, 3, (70, 190)), "t/03")],
        25.0: [(rounded(45, 130, 155, 220, 10), "t/01"), (rounded(250, 170, 300, 220, 6), "t/02")],
        12.5: [(bay(255, 60, 335, 110, 6, (295,)), "t/04")],
    }
    layers = tuple(
        Layer(f"POCKET_{str(down).removesuffix('.0').replace('.', '-')}MM", Operation.POCKET, down, False, tuple(Entity(path, who) for path, who in paths))
        for down, paths in sorted(deep.items())
    )
    items = [held("01", "upright sander", Store.POCKET), held("02", "block plane", Store.POCKET), held("03", "steel rule", Store.POCKET),
             held("04", "feeler gauges", Store.POCKET)]  # fmt: skip
    outlines = (plain(21, 111, 179, 239), plain(201, 151, 329, 239), plain(31, 41, 229, 39 + rule), plain(256, 61, 334, 109))
    marks = [mark_of(one, outline, depth=25.0, size="a x b mm") for one, outline in zip(items, outlines, strict=True)]
    made = tray("steps", width, depth, items=items, stack=(Stock("mdf", 18.0), Stock("mdf", 18.0)))
    return drawing_of(made, (SheetDrawing(1, "mdf", 36.0, (*layers, edge(width, depth))),), marks=marks)


def slots(*, machine="hand"):
    """Two guarded blades hang through the insert and the tray's base, and a pocket beside them."""
    width, depth = 299.0, 219.0
    blank = Blank(width, depth)
    items = [held("03", "panel saw", Store.SLOT, through=True, hang=30.0), held("04", "dovetail saw", Store.SLOT, through=True),
             held("05", "oil stone", Store.POCKET)]  # fmt: skip
    one, two = stadium(86.475, 20.0, 94.475, 200.0), stadium(140.0, 150.0, 270.0, 158.0)
    entities = (Entity(one, "t/03"), Entity(two, "t/04"))
    layer = Layer("SLOT_THROUGH", Operation.SLOT, 18.0, True, entities)
    pocket = Layer("POCKET_12-7MM", Operation.POCKET, 12.7, False, (Entity(rounded(150, 40, 260, 110, 6), "t/05"),))
    base = SheetDrawing(2, "hdf", 6.0, (dataclasses.replace(layer, depth=6.0), edge(width, depth)), name="base")
    ends = [("03", "panel saw", (90.475, 24.0)), ("03", "panel saw", (90.475, 196.0)), ("04", "dovetail saw", (144.0, 154.0)),
            ("04", "dovetail saw", (266.0, 154.0))]  # fmt: skip
    holes = [Hole(tag, 1, label, at, Bore(8.0, 8.0, EIGHT, "slot-end", "through the base too"), 18.0, True, "any") for tag, label, at in ends]
    fences = (Fence("t/03", "03", "panel saw", "left", 87.3, 1.65, 6.35), Fence("t/04", "04", "dovetail saw", "back", 61.825, 1.65, 6.35))
    outlines = (plain(89.5, 30, 91.5, 190), plain(150, 153, 260, 155), plain(151, 41, 259, 109))
    marks = [mark_of(it, outline, depth=18.0 if k < 2 else 12.7, through=k < 2, size="size") for k, (it, outline) in enumerate(zip(items, outlines, strict=True))]
    made = dataclasses.replace(tray("saw tray", width, depth, items=items, machine=machine), base=Stock("hdf", 6.0))
    sheet = SheetDrawing(1, "mdf", 18.0, (pocket, layer, edge(width, depth)))
    return dataclasses.replace(drawing_of(made, (sheet,), holes=holes, marks=marks, base=base, fences=fences), blank=blank)


def wrench(x, y, length):
    """A ring and a jaw at the ends of a bar."""
    bar = from_outline(plain(x, y - 7, x + length, y + 7))
    ring = disc((x, y), 34.0)
    jaw = from_outline(plain(x + length - 8, y - 16, x + length + 20, y + 16))
    gap = from_outline(plain(x + length + 4, y - 8, x + length + 30, y + 8))
    return to_outlines(union([bar, ring, jaw]).difference(disc((x, y), 19.0)).difference(gap))[0]


def posts():
    """Wrenches between posts, one with nails, one by a pin; bearings on pegs."""
    width, depth = 299.0, 219.0
    dowel, nail, pin = Dowel("1/4 in", 6.35, 35.0), Dowel("2 mm", 2.0, 40.0), Dowel("3 mm", 3.0, 30.0)
    items, marks, holes, blind = [], [], [], []

    def lay(tag, label, outline, kinds):
        stock = {PostKind.DOWEL: dowel, PostKind.NAIL: nail, PostKind.PIN: pin}
        seats = tuple(PostSeat(at, kind, stock[kind].diameter, 15.0, False, stock[kind]) for at, kind in kinds)
        one = held(tag, label, Store.POSTS, posts=seats)
        items.append(one)
        room = to_outlines(union([from_outline(outline), *(disc(at, stock[kind].diameter) for at, kind in kinds)]).buffer(0.3).convex_hull)[0]
        marks.append(mark_of(one, outline, depth=15.0, size="200 x 34 mm", room=room))
        for at, kind in kinds:
            drill = {PostKind.DOWEL: DrillSize("1/4 in", 6.35), PostKind.NAIL: DrillSize("1.6 mm", 1.6), PostKind.PIN: DrillSize("3 mm", 3.0)}[kind]
            words = f"{kind.value} {stock[kind].name} x {stock[kind].length:g} mm" + (", no points up" if kind is PostKind.NAIL else "")
            holes.append(Hole(tag, 1, label, at, Bore(drill.diameter, drill.diameter, drill, "post", words), 15.0, False, "any"))
            blind.append(Entity(Circle(at, drill.diameter), one.id))

    lay("01", "ring wrench 3/4 in", wrench(50, 180, 180), [((50.0, 180.0), PostKind.DOWEL), ((160.0, 191.5), PostKind.DOWEL)])
    lay("02", "collet wrench", wrench(50, 130, 140), [((120.0, 119.5), PostKind.NAIL), ((120.0, 140.5), PostKind.NAIL), ((50.0, 130.0), PostKind.DOWEL)])
    lay("03", "pin spanner", plain(40, 70, 140, 84), [((90.0, 90.0), PostKind.PIN)])
    for k, (x, label) in enumerate(((190.0, "bearing 608"), (240.0, "bearing 6001"))):
        tag = f"{k + 4:02d}"
        peg = Dowel("1/4 in", 6.35, 40.0)
        one = held(tag, label, Store.PEG, solid=RingPile(8.0, 22.0, 7.0, 2), bore=6.35, peg=peg, beside="t/01" if k else None)
        items.append(one)
        at = (x, 80.0)
        marks.append(mark_of(one, round_outline(at, 6.35), depth=15.0, size="8 mm bore", room=round_outline(at, 22.0)))
        bore = Bore(6.35, 6.35, DrillSize("1/4 in", 6.35), "peg", "dowel 1/4 in x 40 mm")
        holes.append(Hole(tag, 1, label, at, bore, 15.0, False, "any"))
        blind.append(Entity(Circle(at, 6.35), one.id))
    sheet = SheetDrawing(1, "mdf", 18.0, (Layer("BORE_15MM", Operation.BORE, 15.0, False, tuple(blind)), edge(width, depth)))
    return drawing_of(tray("wrenches", width, depth, items=items), (sheet,), holes=holes, marks=marks)


def by_hand():
    """Sawn openings with start holes, one of them small; pockets by router template in two templates."""
    width, depth = 259.0, 199.0
    items = [held("01", "spokeshave", Store.THROUGH, through=True), held("02", "bradawl", Store.THROUGH, through=True),
             held("03", "router plane", Store.POCKET), held("04", "marking gauge", Store.POCKET)]  # fmt: skip
    through = (Entity(rounded(20, 120, 160, 180, 12), "t/01"), Entity(rounded(190, 130, 204, 185, 6), "t/02"))
    deep = {25.0: (Entity(rounded(30, 30, 110, 90, 5), "t/03"),), 12.7: (Entity(rounded(135, 35, 235, 80, 5), "t/04"), Entity(rounded(22, 22, 118, 98, 5), "t/03"))}
    layers = (*(Layer(f"POCKET_{d}", Operation.POCKET, d, False, e) for d, e in sorted(deep.items())), Layer("THROUGH", Operation.THROUGH, 30.0, True, through))
    outlines = (plain(21, 121, 159, 179), plain(191, 131, 203, 184), plain(23, 23, 117, 97), plain(136, 36, 234, 79))
    marks = [mark_of(it, outline, depth=(30.0, 30.0, 25.0, 12.7)[k], through=k < 2, size="size") for k, (it, outline) in enumerate(zip(items, outlines, strict=True))]
    holes = [Hole("01", 1, "spokeshave", (30.0, 150.0), Bore(10.0, 10.0, TEN, "start", "in the waste"), 30.0, True, "after-glue"),
             Hole("02", 1, "bradawl", (197.0, 150.0), Bore(8.0, 8.0, EIGHT, "start", "in the waste"), 30.0, True, "after-glue")]  # fmt: skip
    how = Template("bush", 15.875, Cutter(6.35, 25.4), 6.0)

    def opening(path):
        return fit_path(to_outlines(from_path(path).buffer(how.offset))[0].outer, 0.02)

    whole = Contour(((-50.0, -50.0, 0.0), (309.0, -50.0, 0.0), (309.0, 249.0, 0.0), (-50.0, 249.0, 0.0)))
    templates = tuple(
        SheetDrawing(k, "", 6.0, (Layer("THROUGH", Operation.THROUGH, 6.0, True, tuple(Entity(opening(one.path), one.placement) for one in made)),
                                  Layer("OUTSIDE_THROUGH", Operation.OUTSIDE, 6.0, True, (Entity(whole, None),)), edge(width, depth)), name=f"template-{k}")
        for k, made in ((1, (*through, *deep[12.7])), (2, deep[25.0]))
    )  # fmt: skip
    made = tray("hand work", width, depth, items=items, stack=(Stock("mdf", 18.0), Stock("mdf", 12.0)), machine="hand")
    made = dataclasses.replace(made, cutting=dataclasses.replace(made.cutting, cutter=Cutter(0.0), template=how))
    sheet = SheetDrawing(1, "mdf", 30.0, (*layers, edge(width, depth)))
    return drawing_of(made, (sheet,), holes=holes, marks=marks, templates=templates)


def laser():
    """Three sheets of ply cut one by one: a seat through one, one through two in steps, one right through, a stand, a bore."""
    width, depth, kerf = 259.0, 179.0, 0.2
    stack = (Stock("ply", 6.0, kerf=kerf), Stock("ply", 6.0, kerf=kerf), Stock("ply", 4.0, kerf=kerf))
    items = [held("01", "callipers", Store.POCKET, depth=6.0, asked_depth=9.0, solid=Rectangle(100.0, 40.0)),
             held("02", "dial gauge", Store.POCKET, depth=12.0), held("03", "square", Store.THROUGH, through=True, depth=16.0),
             held("04", "oil can", Store.STAND, solid=Disc(50.0)), held("05", "1/4 in cove", Store.BORE, bore=6.7, depth=12.0),
             held("06", "sanding discs", Store.CORNER, through=True)]  # fmt: skip
    a, b, c = rounded(20, 20, 130, 70, 4), rounded(150, 15, 240, 95, 6), rounded(170, 40, 220, 80, 4)
    d, e = rounded(20, 100, 130, 115, 3), Circle((150.0, 140.0), 6.7 - kerf)
    cut = [[(a, "t/01"), (b, "t/02"), (d, "t/03")], [(c, "t/02"), (d, "t/03")], [(d, "t/03")]]
    place = round_outline((225.0, 145.0), 66.0)
    gone = opened_to_edges(from_outline(place).buffer(1.0), Blank(width, depth), 8.0)
    left = to_outlines(wood_left(Blank(width, depth), gone, 6.0))
    sheets = []
    for k, paths in enumerate(cut):
        bores = (Layer("BORE_THROUGH", Operation.BORE, stack[k].thickness, True, (Entity(e, "t/05"),)),) if k < 2 else ()
        layer = Layer("THROUGH", Operation.THROUGH, stack[k].thickness, True, tuple(Entity(path, who) for path, who in paths))
        outside = Layer("OUTSIDE_THROUGH", Operation.OUTSIDE, stack[k].thickness, True, tuple(Entity(fit_path(p.outer, 0.02), None) for p in left))
        sheets.append(SheetDrawing(k + 1, "ply", stack[k].thickness, (*bores, layer, outside), name=f"sheet-{k + 1}"))
    outlines = (plain(21, 21, 129, 69), plain(151, 16, 239, 94), plain(21, 101, 129, 114), round_outline((60.0, 150.0), 40.0), round_outline((150.0, 140.0), 6.35), place)
    depths = ((6.0, False), (12.0, False), (16.0, True), (0.0, False), (12.0, False), (16.0, True))
    marks = [mark_of(it, outline, depth=down, through=through, size="size", room=round_outline((150.0, 140.0), 18.0) if it.tag == "05" else None)
             for it, outline, (down, through) in zip(items, outlines, depths, strict=True)]  # fmt: skip
    holes = [Hole("05", k, "1/4 in cove", (150.0, 140.0), Bore(6.7, 6.7, None, "shank"), stack[k - 1].thickness, True, "before-glue") for k in (1, 2)]
    made = dataclasses.replace(tray("laser", width, depth, items=items, stack=stack, machine="laser"), edge_sawn=False)
    return drawing_of(made, tuple(sheets), holes=holes, marks=marks)


CASES = {"corners": corners, "split": lambda: corners(split=True), "steps": steps, "slots": slots, "posts": posts, "hand": by_hand, "laser": laser}


def test_the_slots_here_are_as_wide_as_said():
    ring = flatten(stadium(86.475, 20.0, 94.475, 200.0))
    assert math.isclose(max(x for x, _ in ring) - min(x for x, _ in ring), 8.0)
