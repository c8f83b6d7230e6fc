"""The command ``insertgen``: its group, its exit codes, what becomes of errors.

Exit codes: 0 done, 1 bad input, 2 usage, 3 done but a check fails, 130 interrupted.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import NoReturn

import click

from insertgen import __version__
from insertgen.cli.build import build
from insertgen.cli.check import check
from insertgen.cli.sizes import sizes
from insertgen.cli.squares import squares
from insertgen.cli.start import start
from insertgen.cli.trace import trace
from insertgen.errors import InsertgenError

__all__ = ["main", "run"]

INTERRUPTED = 130


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="insertgen")
def main() -> None:
    """Fitted inserts for workshop trays: photo and sizes in, cut files and a proof of fit out.

    \b
    Example:
      insertgen squares squares.pdf                    print, measure, lay round the tool
      insertgen trace sander.jpg --square 40mm --name "finish sander" --height 118mm
      insertgen start fitted-pockets my-tray.toml      a job file to fill in
      insertgen build my-tray.toml                     writes out/my-tray/ and checks it
    """


for _command in (trace, build, check, squares, start, sizes):
    main.add_command(_command)


def run(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command and end the process with its exit code; an error is one message, never a traceback."""
    # the layout search solves many tiny problems: threads only wait for each other there
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        code = main.main(args=arguments, prog_name="insertgen", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        code = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("insertgen: interrupted; nothing was changed", err=True)
        code = INTERRUPTED
    except InsertgenError as error:
        click.echo(f"insertgen: {error}", err=True)
        code = 1
    except BrokenPipeError:  # the reader of our output has gone, as with "| head"
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    sys.exit(code if isinstance(code, int) else 0)
