"""Option types and talk that commands share."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

import click

from insertgen.errors import UnitError
from insertgen.units import parse_length

__all__ = ["LENGTH", "Progress", "say", "write_json"]


if TYPE_CHECKING:  # generic for the type checker only: older releases of click are not
    _LengthType = click.ParamType[float]
else:
    _LengthType = click.ParamType


class _Length(_LengthType):
    """A length with its unit, to mm."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        try:
            return parse_length(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


LENGTH = _Length()


def say(text: str = "") -> None:
    """Talk: on stderr, so that stdout holds data only."""
    click.echo(text, err=True)


def write_json(data: object) -> None:
    click.echo(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))


class Progress:
    """One line that is written over, on a terminal; silent elsewhere."""

    def __init__(self) -> None:
        self._live = sys.stderr.isatty()

    def __call__(self, text: str) -> None:
        if self._live:
            click.echo(f"\r{text[:100]:<100}", nl=False, err=True)

    def end(self) -> None:
        if self._live:
            click.echo(f"\r{'':<100}\r", nl=False, err=True)
