"""One table of a file, read key by key; every refusal says where, what and why."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from insertgen.errors import JobError, NotYetError, UnitError
from insertgen.files.source import Path, Source, nearest
from insertgen.units import parse_length

__all__ = ["FORMAT", "Table", "shown"]

#: The one version of all file formats so far.
FORMAT = 1

#: More of a thing than this in one place is a slip of the pen.
MOST = 1000

_Word = TypeVar("_Word", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class Table:
    """A table at ``path`` of a file. Methods named after a kind of value return it or raise.

    Raises
    ------
    JobError
        From every method: names file, line, key, the value and the rule.
    """

    source: Source
    path: Path
    values: Mapping[str, object]

    # ---- keys ---------------------------------------------------------------------------

    def only(self, *known: str, later: Mapping[str, str] | None = None) -> Table:
        """Refuse unknown keys, and those in ``later``: key to what to do instead of it for now."""
        for key in self.values:
            if later and key in later:
                raise self.not_yet(key, later[key])
            if key not in known:
                raise self.fault(key, f'unknown key "{key}"; {nearest(key, known)}')
        return self

    def has(self, key: str) -> bool:
        return key in self.values

    def at(self, key: str) -> Path:
        return (*self.path, key)

    def where(self) -> str:
        return self.source.where(self.path)

    def fault(self, key: str | None, message: str) -> JobError:
        return self.source.fault(self.path if key is None else self.at(key), message)

    def not_yet(self, key: str, instead: str) -> NotYetError:
        return NotYetError(self.source.say(self.at(key), f"this version does not do that yet; {instead}"))

    def need(self, key: str, example: str) -> object:
        if key not in self.values:
            raise self.fault(None, f'"{key}" is missing; write {key} = {example}')
        return self.values[key]

    # ---- lengths ------------------------------------------------------------------------

    def length(self, key: str, *, zero: bool = False, negative: bool = False) -> float:
        return self._length(self.at(key), self.need(key, '"12 mm"'), zero, negative)

    def maybe_length(self, key: str, *, zero: bool = False, negative: bool = False) -> float | None:
        return self.length(key, zero=zero, negative=negative) if self.has(key) else None

    def pair(self, key: str, about: str, *, zero: bool = False, negative: bool = False) -> tuple[float, float]:
        """Two lengths, as in ``inside = [14, 18]``."""
        value = self.need(key, f'["300 mm", "200 mm"]  # {about}')
        if not isinstance(value, list) or len(value) != 2:
            raise self.fault(key, f'{shown(value)} must be two lengths, {about}, as in ["300 mm", "200 mm"]')
        first, second = (
            self._length((*self.at(key), at), each, zero, negative) for at, each in enumerate(value)
        )
        return first, second

    def maybe_pair(self, key: str, about: str) -> tuple[float, float] | None:
        return self.pair(key, about) if self.has(key) else None

    def point(self, path: Path, value: object) -> tuple[float, float]:
        """A position: two lengths, of any sign."""
        if not isinstance(value, list) or len(value) != 2:
            raise self.source.fault(path, f"{shown(value)} is not a point; write [x, y]")
        return self._length((*path, 0), value[0], True, True), self._length((*path, 1), value[1], True, True)

    def _length(self, path: Path, value: object, zero: bool, negative: bool) -> float:
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise self.source.fault(
                path, f'{shown(value)} is not a length; write it like "12 mm" or "1-3/8 in"'
            )
        try:
            return parse_length(value, unit=self.source.unit, zero=zero, negative=negative)
        except UnitError as error:
            hint = ', or units = "in" at the top of the file' if "has no unit" in str(error) else ""
            raise self.source.fault(path, f"{error}{hint}") from None
        except OverflowError:
            raise self.source.fault(path, f"{shown(value)} is far over 10 m, the longest length here") from None

    # ---- other values -------------------------------------------------------------------

    def text(self, key: str, *, empty: bool = False) -> str:
        """A text on one line, blanks around it taken off."""
        value = self.need(key, '"..."')
        if not isinstance(value, str):
            raise self.fault(key, f"{shown(value)} must be a text in quotes")
        if not value.isprintable():
            raise self.fault(key, f"{shown(value)} must be one line, without control characters")
        if not empty and not value.strip():
            raise self.fault(key, "is empty; write a text")
        return value.strip()

    def maybe_text(self, key: str) -> str | None:
        return self.text(key) if self.has(key) else None

    def word(self, key: str, known: Iterable[str]) -> str:
        words = list(known)
        value = self.need(key, " or ".join(f'"{word}"' for word in words))
        if value not in words:
            raise self.fault(key, f"unknown word {shown(value)}; {nearest(str(value), words)}")
        return str(value)

    def maybe_word(self, key: str, enum: type[_Word]) -> _Word | None:
        return enum(self.word(key, [str(member) for member in enum])) if self.has(key) else None

    def flag(self, key: str, default: bool | None = None) -> bool:
        value = default if default is not None and not self.has(key) else self.need(key, "true")
        if not isinstance(value, bool):
            raise self.fault(key, f"{shown(value)} must be true or false, without quotes")
        return value

    def whole(self, key: str, default: int | None = None, *, least: int = 1, most: int = MOST) -> int:
        value = default if default is not None and not self.has(key) else self.need(key, str(least))
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise self.fault(key, f"{shown(value)} must be a whole number from {least} to {most}")
        return value

    def number(
        self, key: str, default: float | None = None, *, least: float = -math.inf, most: float = math.inf
    ) -> float:
        value = default if default is not None and not self.has(key) else self.need(key, "0")
        number = value if isinstance(value, (int, float)) and not isinstance(value, bool) else None
        if number is None or not (abs(number) < 1e300 and least <= number <= most):
            bounds = f" from {least:g} to {most:g}" if math.isfinite(most) else ""
            raise self.fault(key, f"{shown(value)} must be a finite number{bounds}, without quotes")
        return float(number)

    def maybe_number(self, key: str) -> float | None:
        """A number; absent or, in JSON, null: None."""
        return self.number(key) if self.values.get(key) is not None else None

    # ---- what holds other things --------------------------------------------------------

    def table(self, key: str, example: str) -> Table:
        value = self.need(key, example)
        if not isinstance(value, dict):
            raise self.fault(key, f"{shown(value)} must be a table; write {key} = {example}")
        return Table(self.source, self.at(key), value)

    def tables(self, key: str) -> tuple[Table, ...]:
        """Each table of a list of them; empty if the key is absent."""
        value = self.values.get(key, [])
        if not isinstance(value, list):
            spelt = self.source.spell(self.at(key))
            raise self.fault(key, f"must be a list of tables; write [[{spelt}]] in double brackets for each")
        return tuple(self._element(key, at, each) for at, each in enumerate(value))

    def _element(self, key: str, at: int, value: object) -> Table:
        path = (*self.at(key), at)
        if not isinstance(value, dict):
            raise self.source.fault(path, f"{shown(value)} must be a table, with keys and values")
        return Table(self.source, path, value)

    def elements(self, key: str, about: str) -> list[object]:
        """A plain list, whatever is in it."""
        value = self.need(key, f"[...]  # {about}")
        if not isinstance(value, list):
            raise self.fault(key, f"{shown(value)} must be a list, {about}")
        return value

    def format(self) -> None:
        """Refuse a file of a format other than 1."""
        value = self.need("format", str(FORMAT))
        if isinstance(value, bool) or value != FORMAT:
            raise self.fault("format", f"{shown(value)} is not known; this version reads format {FORMAT}")


def shown(value: object) -> str:
    """A value as it stands in the file, cut short."""
    if isinstance(value, bool):
        return str(value).lower()
    if value is None:
        return "null"
    if isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, int) and abs(value) > 10**30:
        return "a number of more than 30 digits"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
