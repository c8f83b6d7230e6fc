"""``insertgen start``: job files ready to be filled in."""

from __future__ import annotations

from pathlib import Path

import click

from insertgen.cli.options import write_json

__all__ = ["start"]


@click.command()
@click.argument("name", required=False)
@click.argument("file", type=click.Path(path_type=Path), required=False, metavar="[FILE.toml]")
@click.option("--overwrite", is_flag=True, help="Replace the file.")
@click.option("--json", "as_json", is_flag=True, help="List the starters as JSON.")
def start(name: str | None, file: Path | None, overwrite: bool, as_json: bool) -> None:
    """List the starters, or write the one called NAME to FILE.toml (default NAME.toml).

    \b
    Example:
      insertgen start
      insertgen start drilled-rack my-rack.toml
    """
    from insertgen.files.starters import list_starters
    from insertgen.pipeline.disk import write_new

    starters = {starter.name: starter for starter in list_starters()}
    if name is None:
        if as_json:
            write_json([{"name": starter.name, "about": starter.about} for starter in starters.values()])
        else:
            click.echo("\n".join(f"{starter.name:<16} {starter.about}" for starter in starters.values()))
        return
    if name not in starters:
        raise click.UsageError(f'there is no starter "{name}"; there are: {", ".join(starters)}')
    path = file or Path(f"{name}.toml")
    write_new({path: starters[name].text.encode()}, overwrite=overwrite)
    click.echo(f"wrote {path}; fill it in, then: insertgen build {path}")
