"""Posts beside an item that lies on the face: where they stand, in which bores, how long."""

from __future__ import annotations

from insertgen.errors import JobError
from insertgen.geometry.distance import gap_between
from insertgen.geometry.offset import swept
from insertgen.geometry.region import (
    Region,
    bounds,
    box,
    common,
    disc,
    from_outline,
    is_empty,
    to_outlines,
    union,
)
from insertgen.items.size import diameter_text
from insertgen.model.figures import Outline
from insertgen.model.item import Dowel, PostSeat
from insertgen.model.job import Tray
from insertgen.model.shape import Post, PostKind, Shape
from insertgen.rules import NAIL_PILOT, POST_DIAMETER, POST_STAND
from insertgen.units import format_mm

__all__ = ["post_room", "posts_for"]

#: A post's bore is this many of its diameters deep, and at least so many mm; common practice, no source.
DEPTH_DIAMETERS = 2.5
DEPTH_LEAST = 12.0

#: Where along an item the program sets its posts, as shares of the length.
STATIONS = (0.25, 0.75)


def posts_for(shape: Shape, outline: Outline, gap: float, least_gap: float, tray: Tray, where: str) -> tuple[PostSeat, ...]:
    """The posts of a shape, or four of the program's own: one on either side, near both ends.

    Parameters
    ----------
    outline : Outline
        The item from above.
    gap : float
        Between the item and the posts that the program sets.
    least_gap : float
        That a post asked for must leave.

    Raises
    ------
    JobError
        A post that stands in the item; an outline beside which no post can be set.
    """
    body = from_outline(outline)
    asked = shape.posts or _own(body, gap, where)
    most = tray.thickness if tray.floor == 0 else tray.thickness - tray.floor
    for post in asked:
        room = gap_between(body, disc(post.at, post.diameter)).distance
        if room < least_gap - 1e-6:
            raise JobError(
                f"{where}: the post at {format_mm(post.at[0])}, {format_mm(post.at[1])} of \"{shape.name}\" leaves "
                f"{format_mm(room)} mm to the item, at least {format_mm(least_gap)} mm must be left; move it away"
            )
    return tuple(_seat(post, min(most, max(DEPTH_DIAMETERS * post.diameter, DEPTH_LEAST)), tray) for post in asked)


def _seat(post: Post, depth: float, tray: Tray) -> PostSeat:
    bore = post.diameter * NAIL_PILOT if post.kind is PostKind.NAIL else post.diameter
    through = tray.floor == 0 and depth >= tray.thickness - 1e-6
    return PostSeat(post.at, post.kind, bore, depth, through, Dowel(diameter_text(post.diameter), post.diameter, depth + POST_STAND))


def _own(body: Region, gap: float, where: str) -> tuple[Post, ...]:
    x0, y0, x1, y1 = bounds(body)
    along_x = x1 - x0 >= y1 - y0
    half = POST_DIAMETER / 2
    posts = []
    for share in STATIONS:
        at = x0 + (x1 - x0) * share if along_x else y0 + (y1 - y0) * share
        strip = box(at - half, y0 - 1, at + half, y1 + 1) if along_x else box(x0 - 1, at - half, x1 + 1, at + half)
        there = common(body, strip)
        if is_empty(there):
            raise JobError(f"{where}: no place for a post was found beside it; write each as [[post]] in the shape file")
        a0, b0, a1, b1 = bounds(there)
        low, high = (b0, b1) if along_x else (a0, a1)
        for off in (low - gap - half, high + gap + half):
            place = (at, off) if along_x else (off, at)
            posts.append(Post((round(place[0], 2), round(place[1], 2)), POST_DIAMETER))
    return tuple(posts)


def post_room(outline: Outline, posts: tuple[PostSeat, ...]) -> Outline:
    """The item and its posts, and what is between them."""
    body = from_outline(outline)
    whole = [body]
    for post in posts:
        to = gap_between(disc(post.at, post.stock.diameter), body).to
        whole.append(swept(post.at, to, post.stock.diameter / 2))
    return to_outlines(union(whole))[0]
