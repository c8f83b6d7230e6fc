"""Every error that insertgen raises on purpose.

One root, so that the command line catches one name; children that are also the
builtin a Python caller would expect, so that a program using the package as a
library may catch those.
"""

from __future__ import annotations

__all__ = [
    "InsertgenError",
    "JobError",
    "NotYetError",
    "OutputError",
    "PhotoError",
    "ShapeNotFoundError",
    "UnitError",
]


class InsertgenError(Exception):
    """Root of all errors of this package; its text is fit to be shown to a user."""


class UnitError(InsertgenError, ValueError):
    """A text that is no length, or a length outside what is possible."""


class JobError(InsertgenError, ValueError):
    """A job or shape file says something that cannot be; names file, line and key."""


class ShapeNotFoundError(InsertgenError, LookupError):
    """A job names a shape that is in none of the folders searched."""


class NotYetError(InsertgenError, NotImplementedError):
    """The file format knows this, this version of the program does not do it yet.

    A kind of its own, so that nobody takes a key that is right for one that is misspelt.
    """


class PhotoError(InsertgenError, ValueError):
    """A photo cannot be read or traced; says how to take it again."""


class OutputError(InsertgenError, OSError):
    """An output folder or file cannot be written, or would be overwritten unasked."""
