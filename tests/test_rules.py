"""Tables of the trade against sources outside the project."""

from __future__ import annotations

import re
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.rules import CAUTIONS, FINDINGS, collet_series, drill_sizes, smallest_drill
from insertgen.units import parse_length


def gnu_units(expression: str) -> float:
    """A length in mm by GNU units, which carries drillgauge() and drillA to drillZ of its own."""
    done = subprocess.run(["units", "-t", expression, "mm"], capture_output=True, text=True, check=True)
    return float(done.stdout)


NUMBERS = [drill for drill in drill_sizes() if drill.name.startswith("#")]
LETTERS = [drill for drill in drill_sizes() if re.fullmatch("[A-Z]", drill.name)]


def test_there_are_80_numbers_and_26_letters() -> None:
    assert (len(NUMBERS), len(LETTERS)) == (80, 26)


@pytest.mark.parametrize("drill", NUMBERS[::4] + LETTERS[::3], ids=lambda drill: drill.name)
def test_numbers_and_letters_against_gnu_units(drill) -> None:  # type: ignore[no-untyped-def]
    expression = f"drillgauge({drill.name[1:]})" if drill.name.startswith("#") else f"drill{drill.name}"
    assert drill.diameter == pytest.approx(gnu_units(expression), abs=0.0005 * 25.4)  # listed to 0.0005 in


def test_fractions_are_exact() -> None:
    for drill in drill_sizes():
        if drill.name.endswith(" in"):
            assert drill.diameter == pytest.approx(parse_length(drill.name), abs=1e-9)


@given(st.floats(0.4, 53.0))
def test_the_smallest_drill_clears_and_no_smaller_one_does(wanted: float) -> None:
    drill = smallest_drill(wanted, drill_sizes())
    assert drill is not None
    assert drill.diameter >= wanted - 1e-6
    assert not [other for other in drill_sizes() if wanted <= other.diameter < drill.diameter]


def test_never_the_nearest_drill() -> None:
    owned = tuple(drill for drill in drill_sizes() if drill.name in {"1/4 in", "17/64 in", "3/8 in"})
    # 1/4 in is 0.05 mm away and too small; 17/64 in clears
    assert smallest_drill(6.40, owned) == next(drill for drill in owned if drill.name == "17/64 in")
    assert smallest_drill(10.0, owned) is None


def test_collets_hold_what_they_say() -> None:
    for size in collet_series().values():
        assert size.clamp_min < size.clamp_max < size.large < size.length


def test_codes_are_frozen() -> None:
    assert " ".join(FINDINGS) == (
        "overlap web-thin margin-thin floor-thin sliver item-bound cutter-too-big cutter-too-short hole-moved "
        "hole-tight hole-loose contour-open contour-doubled contour-crossed crumb layer-unknown depth-wrong too-deep "
        "too-tall outside-blank units-wrong entity-odd file-changed cut-missing cut-extra left-out wish-unmet error-large "
        "bed-small"
    )
    assert "always" in CAUTIONS
