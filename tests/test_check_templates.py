"""Router templates: openings made by hand from closed forms, and broken.

A 5/8 in bush with a 1/4 in cutter: openings are (15.875 - 6.35)/2 = 4.7625 mm = 3/16 in larger than the pocket all
round; a corner that the cutter rounds by r comes out rounded by r + 3/16 in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
import shapely

from insertgen.check.tray import check_tray
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Step
from insertgen.model.job import Cutter, Template, Tray
from insertgen.rules import TEMPLATE_CLAMP
from tests.build_values import box_outline, drawn, placed, pocket_item, polygon, rounded, schedule, tray_of

BUSH = Template("bush", 15.875, Cutter(6.35, 30.0), 6.0)
OFF = 4.7625
R = 3.2
AT = (Pose(90.0, 100.0), Pose(240.0, 100.0))
WIDE = rounded(39, 69, 141, 131, R)  # 100 x 60 mm and 1 mm all round
DEEP = rounded(59, 79, 121, 121, R)  # a step of 60 x 40
ROUND = Circle((240.0, 100.0), 52.0)
Paths = Sequence[Contour | Circle]


def grown(x0: float, y0: float, x1: float, y1: float, by: float = OFF) -> Contour:
    return rounded(x0 - by, y0 - by, x1 + by, y1 + by, R + OFF)


T_WIDE, T_DEEP, T_ROUND = grown(39, 69, 141, 131), grown(59, 79, 121, 121), Circle((240.0, 100.0), 52.0 + 2 * OFF)


def tray(template: Template | None = BUSH) -> Tray:
    wide, deep = box_outline(-50, -30, 50, 30), box_outline(-30, -20, 30, 20)
    stepped = pocket_item(wide, depth=12.0, steps=(Step(wide, 6.0, False), Step(deep, 12.0, False)), label="pad")
    disc = pocket_item(disc_diameter=50.0, id="test-tray/02", tag="02", label="tape")
    one = tray_of(stepped, disc)
    return replace(one, cutting=replace(one.cutting, template=template))


def rim(by: float = TEMPLATE_CLAMP) -> Contour:
    return polygon((-by, -by), (350 + by, -by), (350 + by, 250 + by), (-by, 250 + by))


def template(one: Tray, openings: Paths, **layers: Paths) -> bytes:
    return drawn(one, {"THROUGH": openings, "OUTSIDE_THROUGH": [rim()], **layers})


#: The deep step's opening lies within the wide one's: on a template of its own.
GOOD: dict[str, Paths] = {"template-1.dxf": [T_WIDE, T_ROUND], "template-2.dxf": [T_DEEP]}


def judged(openings: Mapping[str, Paths], one: Tray | None = None, **files: bytes) -> tuple[Finding, ...]:
    one = one or tray()
    sheet = drawn(one, {"POCKET_6MM": [WIDE], "POCKET_12MM": [DEEP], "POCKET_10MM": [ROUND]})
    written = {"sheet-1.dxf": sheet} | {name: template(one, paths) for name, paths in openings.items()}
    written |= {name.replace("_", "-") + ".dxf": data for name, data in files.items()}
    return check_tray(one, placed(one, *AT), written, schedule())


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, str | None]]:
    return [(one.code, one.file, one.placement and one.placement[-2:]) for one in findings]


def test_openings_three_sixteenths_larger_are_clean() -> None:
    assert pytest.approx(25.4 * 3 / 16) == OFF
    assert pytest.approx(OFF) == BUSH.offset
    assert judged(GOOD) == ()


def test_templates_missing() -> None:
    found = judged({})
    assert short(found) == [("cut-missing", "template-1.dxf", None)]
    assert found[0].others == ("test-tray/01", "test-tray/02")
    found = judged({"template-1.dxf": [T_WIDE, T_ROUND]})
    assert [(one.code, one.placement, one.at) for one in found] == [("cut-missing", "test-tray/01", (90.0, 100.0))]
    assert "12 mm step" in found[0].message


def test_templates_that_nobody_asks_for() -> None:
    found = judged(GOOD, tray(None))
    assert short(found) == [("cut-extra", "template-1.dxf", None), ("cut-extra", "template-2.dxf", None)]


@pytest.mark.parametrize(("by", "code"), [(-0.4, "item-bound"), (0.4, "cut-extra")])
def test_an_opening_of_another_size(by: float, code: str) -> None:
    """Its walls 0.4 mm off and its corners of the same radius: they are off by sqrt(2) of that."""
    found = judged(GOOD | {"template-2.dxf": [grown(59, 79, 121, 121, OFF + by)]})
    assert short(found) == [(code, "template-2.dxf", "01")]
    assert found[0].figure == pytest.approx(0.4 * 2**0.5, abs=0.03)


def test_an_opening_moved() -> None:
    """Too little on one side, too much on the other."""
    found = judged(GOOD | {"template-2.dxf": [grown(59.5, 79, 121.5, 121)]})
    assert {(one.code, one.file, one.placement) for one in found} == {
        (code, "template-2.dxf", "test-tray/01") for code in ("item-bound", "cut-extra")
    }
    assert all(one.figure == pytest.approx(0.5, abs=0.03) for one in found)
    places = {one.code: one.at for one in found}
    assert places["item-bound"] is not None
    assert places["item-bound"][0] == pytest.approx(59, abs=0.6)
    assert places["cut-extra"] is not None
    assert places["cut-extra"][0] == pytest.approx(121.5, abs=0.6)


def test_an_opening_that_the_bush_does_not_get_into() -> None:
    """Sharp corners: a quarter of (4 - pi) r^2 each is out of the bush's reach (closed form), and the pocket's corners stay."""
    sharp = polygon((59 - OFF, 79 - OFF), (121 + OFF, 79 - OFF), (121 + OFF, 121 + OFF), (59 - OFF, 121 + OFF))
    found = judged(GOOD | {"template-2.dxf": [sharp]})
    assert short(found) == [("cutter-too-big", "template-2.dxf", "01")]
    assert found[0].figure == pytest.approx((4 - 3.14159265) / 4 * (15.875 / 2) ** 2, abs=0.1)


def test_openings_too_near_on_one_template() -> None:
    """Concentric: 10 mm of pocket between the steps' walls, and so between their openings' lines: none of it is wood."""
    found = judged({"template-1.dxf": [T_WIDE, T_ROUND, T_DEEP]})
    assert short(found) == [("web-thin", "template-1.dxf", "01")]
    assert found[0].figure == 0.0
    near = Circle((141 + 2 * OFF + 26 + 4, 100.0), 52.0)  # 4 mm of template between it and the wide one
    one = tray()
    sheet = drawn(one, {"POCKET_6MM": [WIDE], "POCKET_12MM": [DEEP], "POCKET_10MM": [near]})
    openings = {"template-1.dxf": [T_WIDE, Circle(near.centre, near.diameter + 2 * OFF)], "template-2.dxf": [T_DEEP]}
    files = {"sheet-1.dxf": sheet} | {name: template(one, paths) for name, paths in openings.items()}
    found = check_tray(one, placed(one, AT[0], Pose(*near.centre)), files, schedule())
    assert [(each.code, each.figure, each.others) for each in found] == [("web-thin", 4.0, ("test-tray/02",))]


def test_an_opening_twice_or_of_nobodys() -> None:
    found = judged({"template-1.dxf": [T_WIDE, T_ROUND], "template-2.dxf": [T_DEEP, T_ROUND]})
    assert short(found) == [("cut-extra", "template-2.dxf", "02")]
    found = judged(GOOD | {"template-2.dxf": [T_DEEP, Circle((300.0, 200.0), 40.0)]})
    assert short(found) == [("cut-extra", "template-2.dxf", None)]


@pytest.mark.parametrize(("layers", "code"), [
    ({"OUTSIDE_THROUGH": []}, "cut-missing"), ({"OUTSIDE_THROUGH": [rim(45.0)]}, "entity-odd"),
    ({"EDGE": []}, "cut-missing"),
])  # fmt: skip
def test_a_template_without_its_own_outside(layers: Mapping[str, Paths], code: str) -> None:
    found = judged({"template-1.dxf": GOOD["template-1.dxf"]}, template_2=template(tray(), [T_DEEP], **layers))
    assert short(found) == [(code, "template-2.dxf", None)]


def test_an_opening_on_another_layer() -> None:
    found = judged({"template-1.dxf": GOOD["template-1.dxf"]}, template_2=template(tray(), [], POCKET_12MM=[T_DEEP]))
    assert short(found) == [("depth-wrong", "template-2.dxf", "01")]


def test_no_drawing_at_all() -> None:
    found = judged({"template-1.dxf": GOOD["template-1.dxf"]}, template_2=b"no drawing")
    assert ("entity-odd", "template-2.dxf", None) in short(found)


def test_a_cutter_that_does_not_reach_through_the_template() -> None:
    """6 mm of template and 12 of pocket: 18 mm; the step of 6 mm asks for 12."""
    found = judged(GOOD, tray(replace(BUSH, cutter=Cutter(6.35, 17.0))))
    assert [(one.code, one.layer, one.figure, one.limit) for one in found] == [("cutter-too-short", "POCKET_12MM", 18.0, 17.0)]
    assert "template" in found[0].message


def test_the_larger_of_two_cutters_must_get_round() -> None:
    """A template's cutter of 1/2 in: corners of 3.2 mm are too sharp for it, whatever the machine has."""
    found = judged(GOOD, tray(Template("bearing", 12.7, Cutter(12.7, 30.0), 6.0)))
    wrong = {(one.code, one.file, one.layer) for one in found if one.file == "sheet-1.dxf"}
    assert wrong >= {("cutter-too-big", "sheet-1.dxf", layer) for layer in ("POCKET_6MM", "POCKET_12MM")}


# ---- corners of the wood -------------------------------------------------------------------------------

ELL = shapely.Polygon([(0, 0), (80, 0), (80, 30), (40, 30), (40, 70), (0, 70)])


def of(region: shapely.Geometry) -> Contour:
    return Contour(tuple((float(x), float(y), 0.0) for x, y in region.exterior.coords[:-1]))


def test_a_corner_of_the_wood_that_the_bush_rounds_is_let_be() -> None:
    """At 90 degrees by (g - c)/2 (sqrt(2) - 1) = 1.97 mm; found by shapely's own offsets."""
    one = tray_of(pocket_item(Outline(tuple((x - 40, y - 35) for x, y in ELL.exterior.coords[:-1]))))
    one = replace(one, cutting=replace(one.cutting, template=BUSH))
    at = shapely.affinity.translate(ELL, 100, 100)
    pocket = at.buffer(1.0, quad_segs=64).buffer(-3.2, quad_segs=64).buffer(3.2, quad_segs=64)
    way = pocket.buffer(-3.175, quad_segs=64)
    opening = way.buffer(15.875 / 2 + 0.01, quad_segs=64)
    sheet = drawn(one, {"POCKET_10MM": [of(pocket)]})
    rounds = opening.buffer(-15.875 / 2, quad_segs=64).buffer(3.175, quad_segs=64)
    assert shapely.hausdorff_distance(rounds, pocket) > 1.5  # or this test could not fail
    files = {"sheet-1.dxf": sheet, "template-1.dxf": template(one, [of(opening)])}
    assert check_tray(one, placed(one, Pose(140.0, 135.0)), files, schedule()) == ()
    files["template-1.dxf"] = template(one, [of(opening.buffer(0.3, quad_segs=64))])
    found = check_tray(one, placed(one, Pose(140.0, 135.0)), files, schedule())
    # shapely's arcs have points nearer to each other than drawings should
    assert [one for one in short(found) if one[0] != "crumb"] == [("cut-extra", "template-1.dxf", "01")]
