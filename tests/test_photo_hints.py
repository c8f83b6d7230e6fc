"""Places named inside and outside, a crop, a photo of the bench alone, several items in one photo.

Truth: the shipped photos (tests/data/photos) with their item copied, or painted over with bench; the exact outline
is in their truth.json. Whatever a hint cannot mean is refused.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest

from insertgen.errors import InsertgenError, PhotoError
from insertgen.photo.hints import Hints
from insertgen.photo.load import Photo
from insertgen.photo.trace import Trace, look_at_items, trace_photo
from tests.photo_edit import (
    facts,
    grown,
    mask,
    painted_over,
    photo,
    second_place,
    square_areas,
    with_second_item,
)
from tests.photo_score import polygon, score, true_outline

NAME = "A1_wrench"
WITHIN = 1.0  # mm, as of a photo without hints


@cache
def doubled() -> Photo:
    return replace(photo(NAME), rgb=np.ascontiguousarray(with_second_item(NAME)))


def traced(shot: Photo, hints: Hints = Hints(), **more: object) -> Trace:  # noqa: B008 - frozen
    known = {"square": facts(NAME)["side_mm"], "height": facts(NAME)["tool"]["height_mm"]}
    return trace_photo(shot, hints=hints, **known, **more)  # type: ignore[arg-type]


def spot_on_item() -> tuple[float, float]:
    """The place deepest inside the item."""
    deep = cv2.distanceTransform(mask(NAME).astype(np.uint8), cv2.DIST_L2, 5)
    row, column = np.unravel_index(int(deep.argmax()), deep.shape)
    return float(column), float(row)


def near(found: Trace, shift: tuple[float, float]) -> bool:
    """Whether the outline lies where the item, moved by so many px, is."""
    rows, columns = np.nonzero(mask(NAME))
    middle = np.array([columns.mean(), rows.mean()]) + shift
    return bool(np.linalg.norm(found.outline_px[0].mean(axis=0) - middle) < 60)


def off(found: Trace) -> float:
    return score(polygon(found.outline), true_outline(facts(NAME))).mean


def test_a_place_inside_says_which_item() -> None:
    shift = second_place(NAME)
    x, y = spot_on_item()
    found = traced(doubled(), Hints(inside=((x + shift[0], y + shift[1]),), outside=((x, y),)))
    assert near(found, shift)
    assert off(found) < WITHIN + 1.0  # a copy elsewhere in the photo shows the item's walls from another side


def test_a_crop_leaves_out_what_else_lies_there() -> None:
    rows, columns = np.nonzero(grown(mask(NAME), 29))
    found = traced(doubled(), Hints(crop=(columns.min(), rows.min(), columns.max(), rows.max())))
    assert near(found, (0, 0))
    assert off(found) < WITHIN


def test_a_crop_through_the_item_is_refused() -> None:
    _x, y = spot_on_item()
    rows, columns = np.nonzero(grown(mask(NAME), 40))
    with pytest.raises(PhotoError, match="reaches the edge of --crop"):
        traced(photo(NAME), Hints(crop=(columns.min(), rows.min(), columns.max(), y)))


def test_fewer_items_than_names_are_refused() -> None:
    with pytest.raises(PhotoError, match="3 names were given, but 1 item"):
        look_at_items(photo(NAME), square=facts(NAME)["side_mm"], count=3)


def with_bar(rgb: np.ndarray) -> np.ndarray:
    """A sharp dark bar on the bench beside the item, as long and as wide as a tool, clear of the squares."""
    x, y = spot_on_item()
    far = cv2.distanceTransform((~mask(NAME)).astype(np.uint8), cv2.DIST_L2, 5)
    bar = np.zeros(mask(NAME).shape, np.uint8)
    cv2.line(bar, (int(x) + 140, int(y) - 400), (int(x) + 140, int(y) + 150), 1, 40)
    dark = (bar > 0) & (far > 15)
    assert not (dark & square_areas(NAME, 1.7)).any()
    return np.where(dark[:, :, None], rgb * 0.35, rgb)


def bench_alone() -> Photo:
    """Item and shade painted over, the bar left; the camera moved by two px, other noise."""
    rgb = with_bar(painted_over(NAME, grown(mask(NAME), 90)).astype(float))
    moved = cv2.warpAffine(rgb, np.array([[1, 0, 1.7], [0, 1, -2.2]]), rgb.shape[1::-1], borderMode=cv2.BORDER_REPLICATE)
    noisy = moved + np.random.default_rng(5).normal(0, 1.5, moved.shape)
    return replace(photo(NAME), rgb=np.clip(noisy, 0, 255).astype(np.uint8), sha256="of the bench", name="bench.jpg")


def test_a_photo_of_the_bench_takes_its_lines_away() -> None:
    barred = replace(photo(NAME), rgb=with_bar(photo(NAME).rgb).astype(np.uint8))
    found = traced(barred, bench_photo=bench_alone())
    assert near(found, (0, 0))
    assert off(found) < WITHIN


def test_a_photo_of_another_bench_is_refused() -> None:
    other = replace(photo("A2_bevel"), name="bench.jpg")
    with pytest.raises(PhotoError, match=r"bench.jpg: .*same place"):
        traced(photo(NAME), bench_photo=other)
    with pytest.raises(PhotoError, match="are the same photo"):
        traced(photo(NAME), bench_photo=photo(NAME))
    small = replace(other, rgb=np.ascontiguousarray(other.rgb[::2, ::2]))
    with pytest.raises(PhotoError, match="same camera"):
        traced(photo(NAME), bench_photo=small)


def test_a_place_inside_where_there_is_nothing_is_refused() -> None:
    corner = (12.0, 12.0)
    with pytest.raises(PhotoError, match=r"no outline takes in every place|no item was found"):
        traced(photo(NAME), Hints(inside=(spot_on_item(), corner)))


SQUARE = tuple(np.mean(facts(NAME)["photos"][0]["squares_px"][0], axis=0))
WRONG: dict[str, tuple[Hints, str]] = {
    "beyond the photo": (Hints(inside=((5000.0, 10.0),)), "--inside 5000,10 is not in the photo; the photo upright is"),
    "negative": (Hints(outside=((-1.0, 10.0),)), "--outside -1,10 is not in the photo"),
    "on a square": (Hints(inside=(SQUARE,)), "lies on reference square"),
    "both": (Hints(inside=((900.0, 900.0),), outside=((901.0, 900.0),)), "said to be inside and outside"),
    "crop upside down": (Hints(crop=(900.0, 900.0, 200.0, 1200.0)), "--crop 900,900,200,1200 is not within the photo"),
    "crop too small": (Hints(crop=(900.0, 900.0, 940.0, 1200.0)), "under 100 px"),
    "inside beyond the crop": (Hints(inside=((50.0, 50.0),), crop=(100.0, 100.0, 900.0, 900.0)), "lies beyond --crop"),
}  # fmt: skip


@pytest.mark.parametrize("kind", WRONG)
def test_hints_that_cannot_be(kind: str) -> None:
    hints, said = WRONG[kind]
    with pytest.raises(PhotoError, match=said):
        traced(photo(NAME), hints)


def test_a_silhouette_leaves_nothing_to_hint() -> None:
    with pytest.raises(InsertgenError, match="leave out --inside"):
        traced(photo(NAME), Hints(inside=((900.0, 900.0),)), silhouette=mask(NAME))
