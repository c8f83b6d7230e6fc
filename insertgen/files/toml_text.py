"""Values as they are written in TOML."""

from __future__ import annotations

import json
from collections.abc import Mapping

from insertgen.units import format_mm

__all__ = ["inline", "length", "quoted"]


def quoted(text: str) -> str:
    """A basic string; JSON's escapes are TOML's, but for the one control character JSON leaves bare.

    >>> quoted('1/4" bit')
    '"1/4\\\\" bit"'
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def length(value: float | None) -> str | None:
    """A length with its unit, exact to the nanometre; None stays None.

    >>> length(6.35), length(None)
    ('"6.35 mm"', None)
    """
    return None if value is None else f'"{format_mm(value, 6)} mm"'


def inline(fields: Mapping[str, str | None]) -> str:
    """An inline table of values already written, without those that are None."""
    body = ", ".join(f"{key} = {value}" for key, value in fields.items() if value is not None)
    return f"{{ {body} }}"
