"""Job files of one kind of insert, ready to be filled in."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

__all__ = ["Starter", "list_starters"]


@dataclass(frozen=True, slots=True)
class Starter:
    """``about`` is the first comment line of ``text``."""

    name: str
    about: str
    text: str


def list_starters() -> tuple[Starter, ...]:
    """Every starter shipped, by name."""
    found = (file for file in (files("insertgen") / "starters").iterdir() if file.name.endswith(".toml"))
    texts = {file.name.removesuffix(".toml"): file.read_text(encoding="utf-8") for file in found}
    return tuple(Starter(name, _about(text), text) for name, text in sorted(texts.items()))


def _about(text: str) -> str:
    return next(line.lstrip("# ").rstrip() for line in text.splitlines() if line.startswith("#"))
