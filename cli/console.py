"""How the commands print: tables, JSON, progress, and the exit code that findings ask for."""

from __future__ import annotations

import io
import json
import shutil
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import typer

from scanprep.findings import Finding, Verdict
from scanprep.plain_text import visible

if TYPE_CHECKING:
    from scanprep.case.record.history import LogLine

_MARK = {Verdict.OK: " ", Verdict.UNMEASURED: "?", Verdict.LOOK: "!", Verdict.STOP: "X"}
T = TypeVar("T")


class _Visible:
    """A stream that shows control and direction characters of what is printed instead of sending them on."""

    def __init__(self, stream: TextIO) -> None:
        self.bare = stream

    def write(self, text: str) -> int:
        self.bare.write(visible(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.bare, name)


def show_everything() -> None:
    """Make both streams print any text of any file: what the terminal's encoding lacks is escaped, what would move its
    cursor or turn the reading direction is shown by its code point."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
            setattr(sys, name, _Visible(stream))


def parsed(parse: Callable[[str], T], text: str | None, name: str) -> T | None:
    """Return an option read by one of `units`' parsers; a fault becomes wrong usage with the sentence as written."""
    if text is None:
        return None
    try:
        return parse(text)
    except ValueError as problem:
        raise typer.BadParameter(str(problem), param_hint=f"--{name}") from problem


def print_json(value: Any) -> None:
    """Print plain values as JSON."""
    print(json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False))


def print_table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print columns under their heads; numbers to the right."""
    texts = [[_cell(value) for value in row] for row in rows]
    widths = [max([len(head), *(len(row[i]) for row in texts)]) for i, head in enumerate(heads)]
    right = [bool(texts) and all(_is_number(row[i]) for row in texts) for i in range(len(heads))]
    for row in [list(heads), *texts]:
        cells = [cell.rjust(w) if r else cell.ljust(w) for cell, w, r in zip(row, widths, right, strict=True)]
        print("  ".join(cells).rstrip())


def _cell(value: object) -> str:
    if value is None:
        return "-"
    return f"{value:.3g}" if isinstance(value, float) else str(value)


def _is_number(text: str) -> bool:
    return text == "-" or text.replace(".", "", 1).replace("-", "", 1).replace("e+", "").isdigit()


def print_findings(findings: Iterable[Finding], most: int = 40) -> None:
    """Print findings by cause, worst first, each cause with what to do."""
    from scanprep.causes import grouped

    groups = grouped(tuple(findings))
    for group in groups[:most]:
        more = len(group.findings) - 1
        also = f" (and {more} more from this cause)" if more else ""
        print(f" {_MARK[group.verdict]} {group.verdict:10s} {group.sentence}{also}", file=sys.stderr)
        print(f"              -> {group.remedy}", file=sys.stderr)
    if len(groups) > most:
        print(f"   ... and {len(groups) - most} more, all in findings.csv", file=sys.stderr)


def leave(findings: Iterable[Finding]) -> None:
    """End with exit code 1 where a finding says stop."""
    if any(finding.verdict is Verdict.STOP for finding in findings):
        raise typer.Exit(1)


def print_decision(sentence: str, as_json: bool) -> None:
    """Print a decision as it was put on record."""
    if as_json:
        print_json({"recorded": sentence})
    else:
        print(f"on record: {sentence}")


def print_left_out(why: Sequence[str]) -> None:
    """Say on the other stream of which objects nothing was put on record, one a line, and why."""
    for sentence in why:
        print(f"left out: {sentence}", file=sys.stderr)


def print_recorded(lines: Sequence[LogLine], as_json: bool) -> None:
    """Print what was just put on record, as the logbook has it."""
    from scanprep.plain_values import to_plain

    if as_json:
        print_json({"recorded": to_plain(tuple(lines))})
        return
    for line in lines:
        print(line.spoken())
    if not lines:
        print("nothing to put on record: it stands so already")


class Progress:
    """How far long work is, on standard error: what is done, what is left, and what was done last.

    At a terminal one line that is written over; elsewhere, such as in a log, a line a step. Steps that had nothing to
    do have no sentence and get no line.
    """

    def __init__(self, quiet: bool = False) -> None:
        self._quiet, self._shown = quiet, False

    def __call__(self, done: int, total: int, sentence: str) -> None:
        stream = sys.stderr
        bare = stream.bare if isinstance(stream, _Visible) else stream
        live = bare.isatty()
        if self._quiet or not (sentence or live):
            return
        bar = "#" * round(20 * done / max(total, 1))
        line = f"[{bar:20s}] {done:{len(str(total))}d}/{total} done, {total - done} left: {visible(sentence)}"
        self._shown = self._shown or bool(sentence)
        if not live:
            print(line, file=stream, flush=True)
            return
        room = shutil.get_terminal_size().columns - 1
        last = done == total
        bare.write("\r\x1b[2K" + (line[:room] if not last or self._shown else "") + "\n" * (last and self._shown))
        bare.flush()
