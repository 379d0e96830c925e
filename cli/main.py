"""The `scanprep` command: its verbs, exit codes, and the one place that turns our errors into a sentence.

Exit 0 done, 1 a finding says stop, 2 wrong usage, 3 an input file cannot be used. Results go to standard output, the
rest to standard error.
"""

from __future__ import annotations

import os
import signal
import sys

import typer

from scanprep.cautions import FIGURES
from scanprep.errors import ScanprepError

from . import (
    bench_commands,
    case_commands,
    console,
    input_commands,
    later_commands,
    object_commands,
    paper_commands,
    record_commands,
    review_commands,
    rule_commands,
    survey_commands,
    wall_commands,
    word_commands,
)

app = typer.Typer(
    name="scanprep",
    help="From scans of small museum objects to mount specifications and a whole drilled case. "
    f"{FIGURES}; people decide.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help: what is printed goes through `console`, which shows control characters
)


def _print_version(asked: bool) -> None:
    if asked:
        from scanprep import CODE_VERSION, __version__

        print(f"scanprep {__version__} (results of version {CODE_VERSION})")
        raise typer.Exit()


@app.callback()
def about(version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True,
                                       callback=_print_version)) -> None:
    """Say what holds for every command."""


for commands in (object_commands, survey_commands, case_commands, paper_commands, bench_commands, wall_commands,
                 record_commands, word_commands, later_commands, input_commands, rule_commands, review_commands):
    commands.register(app)


def _stop(signum: int, frame: object) -> None:
    raise KeyboardInterrupt  # the same way out as Ctrl-C: workers end, nothing is half-written


def main() -> None:
    """Run the command line. Every ScanprepError ends as one sentence and its exit code."""
    signal.signal(signal.SIGTERM, _stop)
    console.show_everything()
    try:
        app()
    except ScanprepError as problem:
        for line in str(problem).splitlines():
            print(f"error: {line}", file=sys.stderr)
        sys.exit(problem.exit_code)
    except BrokenPipeError:
        # The reader of our output went away (such as `| head`): that is not a fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except KeyboardInterrupt:
        print("stopped; nothing half-written", file=sys.stderr)
        sys.exit(130)
