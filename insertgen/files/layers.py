"""What the layers of the drawing files are called: ``[layers]`` of a job."""

from __future__ import annotations

from dataclasses import fields

from insertgen.exchange.layers import faults_of
from insertgen.files.table import Table
from insertgen.model.job import LayerNames

__all__ = ["read_layers"]

_KEYS = tuple(field.name for field in fields(LayerNames))


def read_layers(job: Table) -> LayerNames:
    """The table of layer names: the house's, but for what the job calls otherwise.

    Raises
    ------
    JobError
        A name that is illegal, repeated, or does not say how deep.
    """
    if not job.has("layers"):
        return LayerNames()
    table = job.table("layers", '{ pocket = "POCKET_{depth}MM" }').only(*_KEYS)
    names = LayerNames(**{key: table.text(key) for key in _KEYS if table.has(key)})
    for key, why in faults_of(names):
        raise table.fault(key if table.has(key) else None, why)
    return names
