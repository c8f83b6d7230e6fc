"""Layer names of a job's own: legal in R12, one name an operation, read back as what they mean."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.exchange.layers import HOUSE, faults_of, layer_name, layer_words, parse_layer
from insertgen.files.job import read_job
from insertgen.model.drawing import Layer, Operation
from insertgen.model.job import LayerNames
from insertgen.model.shape import Shape
from tests.test_cli_bad_input import JOB

#: Symbol names of R12: at most 31 of A-Z 0-9 $ - _ (DXF reference, release 12).
R12_SIGNS = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789$-_")

KEYS = [field.name for field in fields(LayerNames)]
WORDS = LayerNames("RIM", "CONTOUR", "OPEN", "SLOT", "RECESS_{depth}", "HOLE-{depth}-MM", "HOLE_OPEN")


def no_shape(name: str) -> Shape:
    raise AssertionError(name)


def job_with(layers: str) -> LayerNames:
    table = f"[layers]\n{layers}\n"
    job = read_job(JOB.replace("[[tray]]", f"{table}[[tray]]"), "bench.toml", no_shape)
    return job.trays[0].layer_names


def test_the_house_table_has_no_fault() -> None:
    assert list(faults_of(HOUSE)) == []
    assert list(faults_of(WORDS)) == []


@pytest.mark.parametrize("names", [HOUSE, WORDS])
@given(depth=st.integers(1, 999_999).map(lambda n: n / 100))
def test_every_depth_comes_back(names: LayerNames, depth: float) -> None:
    seen = set()
    for operation in Operation:
        for through in (False, True):
            if operation not in (Operation.POCKET, Operation.BORE) and not through:
                continue
            name = layer_name(operation, depth, through=through, names=names)
            assert len(name) <= 31
            assert set(name) <= R12_SIGNS
            meant = Operation.THROUGH if operation is Operation.POCKET and through else operation
            assert parse_layer(name, names) == (meant, None if through else depth)
            seen.add(name)
    assert len(seen) == 7  # POCKET right through is THROUGH


@pytest.mark.parametrize(("key", "name", "said"), [
    ("through", "OUTSIDE_THROUGH", "outside"),
    ("pocket", "BORE_{depth}MM", "pocket"),
    ("bore", "POCKET_1{depth}MM", "POCKET_{depth}MM"),  # POCKET_12MM: 12 mm, or bored 2 mm
    ("through", "POCKET_18MM", "pocket"),
    ("pocket", "POCKET", "{depth}"),
    ("bore", "BORE", "{depth}"),
    ("pocket", "P_{depth}_{depth}", "once"),
    ("through", "THROUGH_{depth}", "take it out"),
    ("slot", "slot", "capitals"),
    ("slot", "SLOT THROUGH", "capitals"),
    ("slot", "SLOT.THROUGH", "capitals"),
    ("slot", "SLÖT", "capitals"),
    ("edge", "0", "drawing programs"),
    ("edge", "DEFPOINTS", "drawing programs"),
    ("edge", "MARK_TEXT", "marks"),
    ("edge", "E" * 32, "31"),
    ("pocket", "A" * 25 + "{depth}", "31"),
])  # fmt: skip
def test_a_name_that_will_not_do_is_refused_with_file_line_and_rule(key: str, name: str, said: str) -> None:
    with pytest.raises(JobError) as refused:
        job_with(f'{key} = "{name}"')
    message = str(refused.value)
    assert f"bench.toml, line 10, layers.{key}" in message
    assert name in message
    assert said in message


def test_just_31_characters_do() -> None:
    assert job_with(f'edge = "{"E" * 31}"\npocket = "{"A" * 24}{{depth}}"').edge == "E" * 31


def test_unknown_operation_is_refused_with_the_nearest_word() -> None:
    with pytest.raises(JobError, match="pocket"):
        job_with('pockets = "P{depth}"')


def test_a_job_overrides_what_it_names_and_no_more() -> None:
    assert job_with('pocket = "RECESS_{depth}"') == replace(HOUSE, pocket="RECESS_{depth}")
    assert job_with("") == HOUSE


@given(st.fixed_dictionaries({key: st.sampled_from([
    "A", "B", "A1", "A{depth}", "B{depth}", "A1{depth}", "A-{depth}", "{depth}", "{depth}A", "{depth}1A", "A{depth}-", "AB{depth}",
]) for key in KEYS}))  # fmt: skip
def test_tables_without_fault_are_never_ambiguous(values: dict[str, Any]) -> None:
    names = LayerNames(**values)
    if any(True for _ in faults_of(names)):
        return
    for depth in (1.0, 1.5, 2.0, 11.0, 12.5, 1.11):
        for operation in Operation:
            for through in (True, False):
                deep = operation in (Operation.POCKET, Operation.BORE)
                if deep or through:
                    name = layer_name(operation, depth, through=through, names=names)
                    meant = Operation.THROUGH if operation is Operation.POCKET and through else operation
                    assert parse_layer(name, names) == (meant, None if through else depth)


def test_what_is_done_in_words() -> None:
    def words(operation: Operation, depth: float, through: bool) -> str:
        return layer_words(Layer("ANY", operation, depth, through, ()))

    assert words(Operation.POCKET, 12.0, False) == "pocket 12 mm deep"
    assert words(Operation.BORE, 30.0, False) == "bore 30 mm deep"
    assert words(Operation.THROUGH, 18.0, True) == "cut through"
    assert words(Operation.SLOT, 18.0, True) == "slot through"
