"""Reference squares, measured after pdftoppm at 254 dpi (10 px to the mm), codes read by OpenCV's ArUco detector."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy import ndimage

from insertgen.errors import InsertgenError
from insertgen.output.codes import PATTERNS, code_cells
from insertgen.output.squares import SIDES, squares_pdf
from tests.test_output_paper import bars, pages, words

#: Squares a page: whole cards of side + 20.4 mm (plus 2.4 mm for a number) in what the margins, the bars and the text leave.
COUNTS = {
    ("a4", False): {30: 12, 40: 12, 50: 6, 80: 2, 100: 2},
    ("letter", True): {30: 12, 40: 9, 50: 6, 80: 2, 100: 1},
}


def squares(page: np.ndarray, side: float):
    """Boxes (row and column slices) of the dark things as large as a square."""
    labelled, _ = ndimage.label(page < 100)
    boxes = ndimage.find_objects(labelled)
    return [box for box in boxes if min(box[0].stop - box[0].start, box[1].stop - box[1].start) > side * 9]


@pytest.mark.parametrize(("paper", "coded"), COUNTS)
@pytest.mark.parametrize("side", SIDES)
def test_sides_borders_and_bars(paper, coded, side):
    page = pages(squares_pdf(paper=paper, side=side, coded=coded))[0]
    found = squares(page, side)
    assert len(found) == COUNTS[paper, coded][side]
    for rows, columns in found:
        assert rows.stop - rows.start == pytest.approx(side * 10, abs=1)  # within 0.1 mm
        assert columns.stop - columns.start == pytest.approx(side * 10, abs=1)
        around = page[rows.start - 100 : rows.stop + 100, columns.start - 100 : columns.stop + 100].copy()
        around[98:-98, 98:-98] = 255  # the square itself, and its blurred rim
        assert (around > 250).all()  # 10 mm of white
        if not coded:
            assert (page[rows.start + 2 : rows.stop - 2, columns.start + 2 : columns.stop - 2] < 5).all()
    for upright in (False, True):
        assert sorted(bars(page, upright=upright)) == pytest.approx([1000, 1016], abs=1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("side", [40.0, 100.0])
def test_codes_are_read(paper, side):
    page = pages(squares_pdf(paper=paper, side=side, coded=True))[0]
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    corners, ids, _ = detector.detectMarkers(page)
    assert sorted(ids.ravel()) == list(range(len(squares(page, side))))
    for quad in corners:
        edges = np.hypot(*(quad[0] - np.roll(quad[0], 1, axis=0)).T)
        assert edges == pytest.approx(side * 10, abs=3)
    said = words(squares_pdf(paper=paper, side=side, coded=True))
    assert all(f"code {number}" in said for number in ids.ravel())


def test_the_table_of_codes_is_opencvs():
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    assert len(PATTERNS) == 50
    for number in range(50):
        drawn = cv2.aruco.generateImageMarker(dictionary, number, 6, borderBits=1)
        assert np.array_equal(np.array(code_cells(number)), drawn > 127)


def test_what_is_said():
    said = words(squares_pdf(paper="a4", side=40.0, coded=False))
    for part in ("Print at 100 %; measure a square after printing and type the side you measured: --square 39.5mm",
                 "glue to flat card", "measure: upper bar 100 mm, lower bar 4 in"):  # fmt: skip
        assert part in said
    assert "code" not in said


@pytest.mark.parametrize("side", [0.0, 45.0, -40.0, float("nan"), 1000.0])
def test_other_sides_are_refused(side):
    with pytest.raises(InsertgenError, match="30, 40, 50, 80, 100"):
        squares_pdf(paper="a4", side=side, coded=False)


def test_other_papers_are_refused():
    with pytest.raises(InsertgenError, match="letter"):
        squares_pdf(paper="b5", side=40.0, coded=False)


def test_same_bytes_and_no_scaling():
    pdf = squares_pdf(paper="a4", side=50.0, coded=True)
    assert pdf == squares_pdf(paper="a4", side=50.0, coded=True)
    assert b"/PrintScaling /None" in pdf
