"""Holes by the close look, drawn in pixels."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from insertgen.photo.brink import Brink
from insertgen.photo.load import Photo
from insertgen.photo.settled import settled_holes
from insertgen.photo.surface import look_at_bench

SHAPE = (240, 320)
BODY = np.zeros(SHAPE, bool)
BODY[30:210, 40:280] = True


def slot(left: int, right: int, half: int = 4) -> np.ndarray:
    """A place of rows 120 - half to 120 + half."""
    place = np.zeros(SHAPE, bool)
    place[120 - half : 121 + half, left:right] = True
    return place


def judged(found: np.ndarray, doubted: np.ndarray, said: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """By log odds of a close look at a photo of that size, a working pixel to each of its own."""
    surface = look_at_bench(Photo("drawn.png", "", np.full((*SHAPE, 3), 128, np.uint8), None), [])
    assert surface.paper.shape == SHAPE
    return settled_holes(BODY, found, doubted, Brink(said.astype(np.float32), np.zeros(2), 1.0), surface)


NONE = np.zeros(SHAPE, bool)


def test_a_narrow_place_that_is_bench_is_a_hole_as_far_as_it_is_seen() -> None:
    holes, doubts = judged(NONE, slot(100, 150), np.where(slot(90, 165), -4.0, 4.0))
    assert (holes == slot(90, 165)).mean() > 0.999
    assert not doubts.any()


@pytest.mark.parametrize(("said", "stays"), [(4.0, False), (0.5, True), (-0.5, True)])
def test_what_is_item_is_no_doubt_and_what_is_neither_stays_one(said: float, stays: bool) -> None:
    holes, doubts = judged(NONE, slot(100, 150), np.full(SHAPE, said))
    assert not holes.any()
    assert bool(doubts.any()) is stays


def test_of_a_wide_place_the_close_look_says_nothing() -> None:
    holes, doubts = judged(NONE, slot(100, 200, half=40), np.full(SHAPE, -8.0))
    assert not holes.any()
    assert (doubts == slot(100, 200, half=40)).all()


@pytest.mark.parametrize(("said", "kept", "doubted"), [(-6.0, True, False), (-0.5, True, False), (2.0, False, True), (5.0, False, False)])
def test_a_hole_that_was_found_and_looks_like_the_item_is_none(said: float, kept: bool, doubted: bool) -> None:
    """Hue and edges against the close look: by a little, and the place stays in doubt."""
    holes, doubts = judged(slot(100, 150), NONE, np.full(SHAPE, said))
    assert (holes == (slot(100, 150) if kept else NONE)).all()
    assert (doubts == (slot(100, 150) if doubted else NONE)).all()


def test_it_does_not_run_out_of_the_item() -> None:
    holes, _ = judged(NONE, slot(50, 150), np.full(SHAPE, -4.0))
    inner = cv2.erode(BODY.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=2) > 0
    assert holes.any()
    assert not (holes & ~inner).any()
