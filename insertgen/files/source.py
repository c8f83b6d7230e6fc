"""Where in a file something stands, and how a fault there is said."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from insertgen.errors import JobError

__all__ = ["Path", "Source", "nearest"]

Path = tuple[str | int, ...]  # keys and positions from the top of the file


@dataclass(frozen=True, slots=True)
class Source:
    """A file being read: its name, the line of each key, the unit of its bare numbers.

    ``lines`` is None for files that only programs write (JSON); places in them
    are named by position instead.
    """

    file: str
    lines: Mapping[Path, int] | None = None
    unit: str | None = None

    def where(self, path: Path) -> str:
        """ "file, line N" of a key, or of the nearest thing around it that stands in the file."""
        if self.lines is None:
            return self.file
        known = (self.lines[path[:end]] for end in range(len(path), 0, -1) if path[:end] in self.lines)
        return f"{self.file}, line {next(known, 1)}"

    def spell(self, path: Path) -> str:
        """A key as it would be written: tray.item.disc, or placements[3].x where there are no lines."""
        text = ""
        for step in path:
            if isinstance(step, str):
                text += f".{step}" if text else step
            elif self.lines is None:
                text += f"[{step}]"
        return text

    def fault(self, path: Path, message: str) -> JobError:
        """The error to raise; does not raise it."""
        return JobError(self.say(path, message))

    def say(self, path: Path, message: str) -> str:
        spelt = self.spell(path)
        return f"{self.where(path)}, {spelt}: {message}" if spelt else f"{self.where(path)}: {message}"


def nearest(word: str, known: Iterable[str]) -> str:
    """What to add to "unknown": the nearest right word, and all that are known.

    >>> nearest("clearence", ["web", "clearance"])
    'did you mean "clearance"? Known here: clearance, web'
    >>> nearest("zzz", ["web", "clearance"])
    'known here: clearance, web'
    """
    words = sorted(known)
    lower = {name.casefold(): name for name in words}
    near = difflib.get_close_matches(word.casefold(), lower, n=1, cutoff=0.6)
    listed = f"nown here: {', '.join(words)}" if words else "othing is known here"
    if near:
        return f'did you mean "{lower[near[0]]}"? K{listed}'
    return f"k{listed}" if words else f"n{listed}"
