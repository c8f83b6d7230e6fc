"""``insertgen check``: what was written, read back and judged."""

from __future__ import annotations

from pathlib import Path

import click

from insertgen.cli.findings import say_findings
from insertgen.cli.options import write_json
from insertgen.model.finding import Severity

__all__ = ["check"]


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Write the findings as JSON.")
@click.pass_context
def check(context: click.Context, out: Path, as_json: bool) -> None:
    """Re-read the files of a build folder OUT from scratch and prove that everything fits.

    Starts from the job and shapes in OUT/source and measures the written contours. Exits 3 when
    something must be mended.

    \b
    Example:
      insertgen check out/north-bench
    """
    from insertgen.files.report import findings_json
    from insertgen.pipeline.verify import check_folder

    findings = check_folder(out)
    if as_json:
        write_json(findings_json(findings))
    else:
        say_findings(findings)
    context.exit(3 if any(finding.severity is Severity.ERROR for finding in findings) else 0)
