"""How an item lies by its silhouette, against discs and bars whose breadth and ends are known in closed form."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.photo.form import FEATURES, ROWS, WHOLE, Form, form_of
from insertgen.photo.light import Float

SIDE = 256


def disc(x: float, y: float, radius: float) -> Float:
    row, column = np.mgrid[0:SIDE, 0:SIDE]
    return np.asarray(np.hypot(column - x, row - y) <= radius, np.float32)


def bar(angle_deg: float, half_length: float, half_width: float) -> Float:
    """About the middle of the picture."""
    row, column = np.mgrid[0:SIDE, 0:SIDE] - (SIDE - 1) / 2
    cos, sin = np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))
    return np.asarray((np.abs(column * cos + row * sin) <= half_length) & (np.abs(row * cos - column * sin) <= half_width), np.float32)


def end_of(angle_deg: float, away: float) -> tuple[float, float]:
    return (SIDE - 1) / 2 + away * np.cos(np.deg2rad(angle_deg)), (SIDE - 1) / 2 + away * np.sin(np.deg2rad(angle_deg))


def lying(item: Float, height: float, light: Float | float = 0.0) -> Form:
    """Under a camera straight above, that sees no parallax."""
    planes = np.zeros((6, SIDE, SIDE), np.float32)
    planes[:3], planes[3] = light, item
    return form_of(planes, height)


def slices(lies: Form) -> Float:
    """How wide, how far off, how light, how uneven, how coloured, from the thin end to the broad one."""
    return np.asarray(lies.stations[:-WHOLE].reshape(ROWS, -1))


@pytest.mark.parametrize("height", [10.0, 40.0, 160.0])
@pytest.mark.parametrize("radius", [4.2, 10.5, 41.0])
def test_a_disc_is_as_broad_as_its_diameter(radius: float, height: float) -> None:
    lies = lying(disc(127, 127, radius), height)
    along, breadth = lies.along, lies.breadth
    told = np.clip(np.log2(2 * radius / height) / 3, -1, 1)
    inside = disc(127, 127, radius) > 0
    # radii are told apart in steps of a factor of 1.6
    assert np.all(np.abs(breadth[inside] - told) <= np.log2(1.65) / 3)
    assert np.ptp(breadth[inside]) == 0.0
    assert np.abs(along).max() < 0.05  # a disc has no ends


@given(angle_deg=st.floats(0, 360), handle=st.floats(9, 30))
def test_the_broad_end_is_plus(angle_deg: float, handle: float) -> None:
    (x, y), (far_x, far_y) = end_of(angle_deg, 70), end_of(angle_deg, -85)
    item = np.maximum(bar(angle_deg, 90, 3), disc(x, y, handle))
    lies = lying(item, 20.0)
    along, breadth = lies.along, lies.breadth
    row, column = round(float(y)), round(float(x))
    far_row, far_column = round(float(far_y)), round(float(far_x))
    assert along[row, column] > 0.0 > -0.3 > along[far_row, far_column]
    assert breadth[row, column] > breadth[far_row, far_column] == pytest.approx(np.log2(2 * 2.5 / 20) / 3)


def test_its_edge_is_in_its_breadth() -> None:
    item = bar(30, 80, 8)
    breadth = lying(item, 16.0).breadth
    rim = (np.abs(np.diff(item, axis=0, prepend=0)) > 0) | (np.abs(np.diff(item, axis=1, prepend=0)) > 0)
    middle = bar(30, 60, 20) > 0
    assert np.ptp(breadth[rim & middle]) == 0.0
    assert np.all(breadth[disc(127, 127, 110) == 0] == 0.0)


def test_nothing_lies_nowhere() -> None:
    lies = lying(np.zeros((SIDE, SIDE), np.float32), 20.0)
    assert lies.stations.shape == (FEATURES,)
    assert not lies.along.any()
    assert not lies.breadth.any()
    assert not lies.stations.any()


def test_an_item_beyond_the_picture_on_all_sides_is_as_broad_as_it() -> None:
    breadth = lying(np.ones((SIDE, SIDE), np.float32), 2.0).breadth
    assert np.all(breadth[100:150, 100:150] == 1.0)


@given(angle_deg=st.floats(0, 360))
def test_stations_of_a_wedge_grow_from_its_point(angle_deg: float) -> None:
    """A triangle 160 long and 60 wide: in the middle of slice k of 24 it is 60 * (k + 0.5) / 24 wide."""
    row, column = np.mgrid[0:SIDE, 0:SIDE] - (SIDE - 1) / 2
    cos, sin = np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))
    along, beside = column * cos + row * sin + 80, row * cos - column * sin
    item = np.asarray((along >= 0) & (along <= 160) & (np.abs(beside) <= 60 / 160 * along / 2), np.float32)
    lies = lying(item, 30.0, np.asarray(along / 100, np.float32))
    wide, off, light, uneven, coloured = slices(lies)
    # a slice of 6.7 px may hold 6 columns, and one of 11 px across a row more or less: 0.05 and 0.045 of 3 octaves
    assert wide[4:-1] == pytest.approx(np.log2(60 * (np.arange(24) + 0.5) / 24 / 30)[4:-1] / 3, abs=0.1)
    assert np.abs(off[4:]).max() < 1.5 / 30
    assert np.abs(coloured).max() < 1e-6
    # light grows evenly by 0.067 a slice: of an even distribution the deviation is its width over the root of 12
    assert np.abs(uneven[4:] - 160 / 24 / 100 / 12**0.5).max() < 0.003
    assert light[2:-1] == pytest.approx((160 * (np.arange(24) + 0.5) / 24 / 100 / 2)[2:-1], abs=0.05)
    assert lies.stations[-4] == pytest.approx(np.log2(160 / 30) / 4, abs=0.02)


def test_parallax_is_told_along_and_across() -> None:
    (x, y) = end_of(0, 60)
    planes = np.zeros((6, SIDE, SIDE), np.float32)
    planes[3] = np.maximum(bar(0, 90, 3), disc(x, y, 20))
    planes[4], planes[5] = 0.5, -0.25
    assert form_of(planes, 20.0).stations[-2:] == pytest.approx([0.5, -0.25], abs=1e-3)


def test_what_is_uneven_and_coloured_is_told_slice_by_slice() -> None:
    """Stripes of 0.4 and 0.8 along one half, plain red on the other: deviation 0.2, colour 0.9."""
    row, column = np.mgrid[0:SIDE, 0:SIDE]
    planes = np.zeros((6, SIDE, SIDE), np.float32)
    planes[3] = np.maximum(bar(0, 96, 11.6), disc(*end_of(0, 70), 24))
    planes[:3] = np.where(column < 128, np.where(row % 2, 0.4, 0.8), 0.0)
    planes[0] += np.where(column < 128, 0.0, 0.9)
    _, _, _, uneven, coloured = slices(form_of(planes, 20.0))
    assert uneven[2:10] == pytest.approx(0.2, abs=0.01)
    assert coloured[2:10] == pytest.approx(0.0, abs=1e-6)
    assert uneven[14:] == pytest.approx(0.0, abs=1e-6)
    assert coloured[14:] == pytest.approx(0.9, abs=1e-6)
