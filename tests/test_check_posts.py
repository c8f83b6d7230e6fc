"""Posts beside a thing that lies on the face: their bores, their place, and what may not be cut under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Dowel, Item, PostSeat
from insertgen.model.job import Tray
from insertgen.model.shape import Part, PostKind, Store
from tests.build_values import box_outline, drawn, placed, pocket_item, rounded, schedule, seat_item, tray_of

X, Y = 150.0, 120.0
#: A bar of 160 x 20 mm between two dowels of 8 mm and against a pin of 5 mm, each 1 mm from it.
POSTS = (
    PostSeat((-40.0, 15.0), PostKind.DOWEL, 8.0, 15.0, False, Dowel("8 mm", 8.0, 35.0)),
    PostSeat((-40.0, -15.0), PostKind.DOWEL, 8.0, 15.0, False, Dowel("8 mm", 8.0, 35.0)),
    PostSeat((83.5, 0.0), PostKind.PIN, 5.0, 12.0, False, Dowel("5 mm", 5.0, 32.0)),
)
BAR = box_outline(-80, -10, 80, 10)


def bar(*posts: PostSeat, outline: Outline = BAR) -> Item:
    room = box_outline(-80, -19, 86, 19)
    return seat_item(Store.POSTS, (Part(outline),), outline, room=room, posts=posts or POSTS, label="wrench")


def circles(item: Item) -> dict[str, list[Circle | Contour]]:
    by_layer: dict[str, list[Circle | Contour]] = {}
    for post in item.posts:
        by_layer.setdefault(f"BORE_{post.depth:g}MM", []).append(Circle((X + post.at[0], Y + post.at[1]), post.bore))
    return by_layer


def lines(item: Item) -> str:
    return schedule(*[
        {"use": "post", "x": X + post.at[0], "y": Y + post.at[1], "diameter": post.bore, "depth": f"{post.depth:.2f}",
         "through": "no", "drill": f"{post.bore:g} mm"}
        for post in item.posts
    ])  # fmt: skip


def judged(
    one: Tray, cuts: Mapping[str, list[Circle | Contour]] | None = None, poses: tuple[Pose, ...] = (Pose(X, Y),), holes: str | None = None
) -> tuple[Finding, ...]:
    item = one.items[0]
    files = {"sheet-1.dxf": drawn(one, circles(item) if cuts is None else cuts)}
    return check_tray(one, placed(one, *poses), files, lines(item) if holes is None else holes)


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, str | None]]:
    return [(one.code, one.file, one.placement and one.placement[-2:]) for one in findings]


def test_posts_as_due_are_clean() -> None:
    assert judged(tray_of(bar())) == ()


@pytest.mark.parametrize(("path", "code", "figure"), [
    (Circle((X - 40 + 0.3, Y + 15 + 0.4), 8.0), "hole-moved", 0.5), (Circle((X - 40, Y + 15), 7.0), "hole-tight", 7.0),
    (Circle((X - 40, Y + 15), 9.5), "hole-loose", 9.5),
])  # fmt: skip
def test_a_post_s_bore_that_is_wrong(path: Circle, code: str, figure: float) -> None:
    item = bar()
    cuts = circles(item)
    cuts["BORE_15MM"][0] = path
    found = judged(tray_of(item), cuts)
    assert short(found) == [(code, "sheet-1.dxf", "01")]
    assert found[0].figure == pytest.approx(figure, abs=0.01)
    assert found[0].at == pytest.approx(path.centre)
    assert "dowel bore" in found[0].message


def test_a_post_s_bore_missing_or_one_too_many() -> None:
    item = bar()
    cuts = circles(item)
    gone = cuts["BORE_15MM"].pop(0)
    assert isinstance(gone, Circle)
    found = judged(tray_of(item), cuts)
    assert [(one.code, one.at) for one in found] == [("cut-missing", gone.centre)]
    extra = circles(item) | {"BORE_14MM": [Circle((X - 40, Y + 25), 8.0)]}
    assert short(judged(tray_of(item), extra)) == [("cut-extra", "sheet-1.dxf", "01")]


@pytest.mark.parametrize(("off", "gap"), [(13.0, -1.0), (14.05, 0.05), (-3.0, -11.0)])
def test_a_post_that_stands_in_its_item(off: float, gap: float) -> None:
    """A post of 8 mm whose middle is ``off`` above the bar's middle line: off - 10 - 4 from it (plane geometry); inside
    the bar it would have to go by what it lacks to the side and its own half."""
    post = replace(POSTS[0], at=(-40.0, off))
    found = [one for one in judged(tray_of(bar(post, *POSTS[1:]))) if one.code == "item-bound"]
    assert [one.placement for one in found] == ["test-tray/01"]
    assert found[0].figure == pytest.approx(gap, abs=0.01)


def test_a_post_in_a_hole_of_its_item_is_clean() -> None:
    """A ring of 15 mm round a post of 8 mm: 3.5 mm of room."""
    ring = tuple((-60 + 7.5 * x, 7.5 * y) for x, y in ((1, 0), (0.7, 0.7), (0, 1), (-0.7, 0.7), (-1, 0), (-0.7, -0.7), (0, -1), (0.7, -0.7)))
    item = bar(replace(POSTS[0], at=(-60.0, 0.0)), POSTS[2], outline=Outline(BAR.outer, (ring,)))
    assert judged(tray_of(item)) == ()
    solid = bar(replace(POSTS[0], at=(-60.0, 0.0)), POSTS[2])
    assert short(judged(tray_of(solid))) == [("item-bound", "sheet-1.dxf", "01")]


def test_posts_too_near_each_other() -> None:
    """Middles 12 mm apart, 8 mm wide: 4 mm of wood."""
    item = bar(POSTS[0], replace(POSTS[0], at=(-28.0, 15.0)), POSTS[2])
    found = judged(tray_of(item))
    assert [(one.code, one.figure, one.at) for one in found] == [("web-thin", 4.0, (X - 34, Y + 15))]


def test_a_pocket_under_a_thing_on_the_face() -> None:
    """The pocket's own room does not reach the bar's; its cut is drawn 6 mm under it."""
    pocket = pocket_item(box_outline(-15, -10, 15, 10), id="test-tray/02", tag="02")
    item = bar()
    at = Pose(X, Y + 19 + 10 + 7)
    hole = rounded(X - 16, at.y - 11, X + 16, at.y + 11, 3.2)
    clean = judged(tray_of(item, pocket), circles(item) | {"POCKET_10MM": [hole]}, (Pose(X, Y), at))
    assert clean == ()
    under = rounded(X - 16, at.y - 23, X + 16, at.y + 11, 3.2)  # down to 6 mm under the bar's room
    found = judged(tray_of(item, pocket), circles(item) | {"POCKET_10MM": [under]}, (Pose(X, Y), at))
    assert [(one.code, one.placement, one.others) for one in found] == [
        ("overlap", "test-tray/01", ("test-tray/02",)), ("hole-loose", "test-tray/02", ()),  # 12 mm longer than the item, too
    ]  # fmt: skip


# ---- several lines of one tag ------------------------------------------------------------------------


def test_lines_of_posts_are_told_apart_by_place() -> None:
    item = bar()
    head, first, second, third = lines(item).splitlines()
    assert judged(tray_of(item), holes="\n".join([head, third, second, first, ""])) == ()
    found = judged(tray_of(item), holes="\n".join([head, first, third, ""]))
    assert [(one.code, one.at) for one in found] == [("cut-missing", (X - 40, Y - 15))]
    found = judged(tray_of(item), holes="\n".join([head, first, second, third, third, ""]))
    assert short(found) == [("cut-extra", "holes.csv", "01")]
    swapped = third.replace("12.00", "15.00")
    found = judged(tray_of(item), holes="\n".join([head, first, second, swapped, ""]))
    assert [(one.code, one.at, one.figure) for one in found] == [("depth-wrong", (X + 83.5, Y), 15.0)]


def test_a_nail_goes_into_a_narrower_bore() -> None:
    nail = PostSeat((83.5, 0.0), PostKind.NAIL, 2.4, 12.0, False, Dowel("3 mm", 3.0, 32.0))
    item = bar(*POSTS[:2], nail)
    tray = tray_of(item)
    assert judged(tray) == ()
    cuts = circles(item)
    cuts["BORE_12MM"] = [Circle((X + 83.5, Y), 1.0)]
    assert short(judged(tray, cuts)) == [("hole-tight", "sheet-1.dxf", "01")]
