"""What a name is called on the disk."""

from __future__ import annotations

import re
import unicodedata

from insertgen.errors import JobError

__all__ = ["slug"]

#: Names longer than this make paths some file systems refuse (255 bytes a part is common).
LONGEST_NAME = 100


def slug(name: str) -> str:
    """A name as a file or folder name: ASCII, lower case, words joined by hyphens.

    Raises
    ------
    JobError
        The name has no letter or digit, or is over 100 characters.

    Examples
    --------
    >>> slug("finish sander"), slug("  1/2 in Cove-Bit "), slug("Fräser Nº 3")
    ('finish-sander', '1-2-in-cove-bit', 'fraser-no-3')
    """
    parted = unicodedata.normalize("NFKD", name.casefold())  # accents stand apart, and one half is 1, slash, 2
    plain = "".join(sign for sign in parted if not unicodedata.combining(sign))
    words = re.findall(r"[a-z0-9]+", plain)
    if not words:
        raise JobError(
            f'the name "{name}" has no letter or digit from a to z, 0 to 9; files cannot be called that'
        )
    if len(name) > LONGEST_NAME:
        raise JobError(f'the name "{name[:40]}..." has {len(name)} characters; the longest is {LONGEST_NAME}')
    return "-".join(words)
