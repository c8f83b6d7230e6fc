"""``insertgen squares``: reference squares to print."""

from __future__ import annotations

from pathlib import Path

import click

from insertgen.cli.options import LENGTH

__all__ = ["squares"]


@click.command()
@click.argument("file", type=click.Path(path_type=Path), default=Path("squares.pdf"), metavar="[FILE.pdf]")
@click.option("--side", type=LENGTH, default="40mm", show_default=True, metavar="LENGTH", help="30, 40, 50, 80 or 100 mm.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@click.option("--coded", is_flag=True, help="With a printed code in each square, in place of plain black.")
@click.option("--overwrite", is_flag=True, help="Replace the file.")
def squares(file: Path, side: float, paper: str, coded: bool, overwrite: bool) -> None:
    """Write a sheet of reference squares for photos, to be printed at 100 %.

    Measure a printed square, and type the side you measured: trace --square 39.5mm.

    \b
    Example:
      insertgen squares squares.pdf --side 50mm --coded
    """
    from insertgen.output.squares import squares_pdf
    from insertgen.pipeline.disk import write_new

    write_new({file: squares_pdf(paper=paper, side=side, coded=coded)}, overwrite=overwrite)
    click.echo(f"wrote {file}: print at 100 %, measure a square, and type the side you measured with --square")
