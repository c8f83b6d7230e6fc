"""Are the files those that were written?"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence

from insertgen.check.say import found
from insertgen.model.finding import Finding

__all__ = ["check_hashes"]


def check_hashes(
    listed: Sequence[tuple[str, str]], read: Callable[[str], bytes | None]
) -> tuple[Finding, ...]:
    """A finding for every listed file that is missing or whose sha256 is another."""
    findings = []
    for name, sha in listed:
        data = read(name)
        if data is None:
            text = f"{name} is missing"
        elif hashlib.sha256(data).hexdigest() != sha:
            text = f"{name} was changed since it was written"
        else:
            continue
        remedy = "if you did not mean that, build the job again with --overwrite"
        findings.append(found("file-changed", text, remedy, file=name))
    return tuple(findings)
