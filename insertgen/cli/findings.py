"""Findings told to a person."""

from __future__ import annotations

from collections.abc import Sequence

from insertgen.cli.options import say
from insertgen.model.finding import Finding, Severity

__all__ = ["finding_lines", "say_findings"]


def say_findings(findings: Sequence[Finding]) -> int:
    """Say every finding on stderr; the number that are errors."""
    for line in finding_lines(findings):
        say(line)
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    warnings = len(findings) - errors
    if findings:
        say(f"checked: {errors} to mend, {warnings} to look at")
    else:
        say("checked: everything fits")
    return errors


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """Two lines a finding: what and where, then what to do about it."""
    lines = []
    for finding in findings:
        where = " ".join(part for part in (finding.placement or finding.tray, finding.file) if part)
        place = f" at x {finding.at[0]:.1f}, y {finding.at[1]:.1f}" if finding.at else ""
        lines.append(f"{finding.severity} {finding.code}: {where}{place}: {finding.message}")
        lines.append(f"    {finding.remedy}")
    return lines
