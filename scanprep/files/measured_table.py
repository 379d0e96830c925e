"""One table for everything that is measured at the bench: rods, test holes, coupons, sheets, masses, pads, mounts.

CSV or XLSX, one line a thing: what it is, which one, and up to five readings with their unit. A blank one lists what a
case still waits for. Values are typed here; what they change is said elsewhere. Used by the `measured` command.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scanprep.errors import InputError, InputFaultsError
from scanprep.files import cells
from scanprep.files.tables import Line, blank, read_lines

READINGS = 5  # format: columns of the table
# format: columns of the table
HEADS = ("what", "which", "about", *(f"reading {i}" for i in range(1, READINGS + 1)), "note")
#: what a line measures -> how one of its readings is read; None: text
KINDS: dict[str, Callable[[str], float] | None] = {
    "rod": cells.positive_length_mm, "test hole": cells.positive_length_mm, "sheet": cells.positive_length_mm,
    "coupon": cells.length_mm, "mass": cells.mass_g, "pad": None, "mount": cells.length_mm,
}


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """One line that holds a reading. Lengths in mm, masses in g, a mount's turn in degrees."""

    what: str  # a key of `KINDS`
    which: str  # of the rod, drill, panel or object
    readings: tuple[float, ...]
    text: str  # of a pad
    note: str
    row: int  # as a person finds it


@dataclass(frozen=True, slots=True)
class Wanted:
    """One line of a blank table."""

    what: str
    which: str
    about: str  # what to read, and what is expected


def _twist_Nmm(text: str) -> float:
    """A twist in N mm, from `80 N mm`."""
    number, found, rest = text.partition("N")
    if not found or rest.strip() != "mm":
        raise ValueError(f"{text!r} is not a twist; write a number and N mm, such as 80 N mm")
    return cells.force_N(f"{number} N")


#: Kinds whose readings are of different sorts: what each is, and how it is read.
SORTS: dict[str, tuple[tuple[str, Callable[[str], float]], ...]] = {
    "mount": (("right", cells.length_mm), ("up", cells.length_mm), ("turned", cells.angle_deg)),
    "coupon": (("hole", cells.positive_length_mm), ("line", cells.length_mm), ("push", cells.force_N),
               ("twist", _twist_Nmm), ("pull", cells.force_N)),
}


def blank_rows(wanted: Sequence[Wanted]) -> list[list[str]]:
    """Return a blank table as rows of text, heads first."""
    empty = [""] * (READINGS + 1)
    return [list(HEADS), *([one.what, one.which, one.about, *empty] for one in wanted)]


def blank_bytes(wanted: Sequence[Wanted], ending: str) -> bytes:
    """Return a blank table as the bytes of a CSV or XLSX file. Raises InputError for another ending."""
    rows = blank_rows(wanted)
    if ending == ".csv":
        stream = io.StringIO()
        csv.writer(stream, lineterminator="\r\n").writerows(rows)
        return stream.getvalue().encode()
    if ending != ".xlsx":
        raise InputError(field="--blank", value=ending, problem="is no kind of table", remedy="Write .csv or .xlsx")
    import xlsxwriter

    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True, "strings_to_formulas": False}) as book:
        sheet = book.add_worksheet("measured")
        as_text = book.add_format({"num_format": "@"})  # 1/8 stays a rod and does not become a date
        sheet.set_column(0, len(HEADS) - 1, 14, as_text)
        for at, row in enumerate(rows):
            for column, text in enumerate(row):
                sheet.write_string(at, column, text, as_text)
    return buffer.getvalue()


def read_measured(path: Path) -> tuple[MeasuredRow, ...]:
    """Return the lines of a filled table that hold a reading, in order; those left empty are passed over.

    Raises InputError where it is no such table, InputFaultsError with every fault of its cells.
    """
    lines = [line for line in read_lines(path) if not blank(line)]
    if not lines or [text.lower() for text in lines[0].texts[:2]] != list(HEADS[:2]):
        raise InputError(file=path, problem=f"does not begin with the heads {', '.join(HEADS[:4])}, …",
                         remedy="Make a blank one with `scanprep measured DIR --blank FILE`")
    faults: list[InputError] = []
    rows = [row for line in lines[1:] for row in (_row(line, path, faults),) if row is not None]
    if faults:
        raise InputFaultsError(faults)
    return tuple(rows)


def _row(line: Line, path: Path, faults: list[InputError]) -> MeasuredRow | None:
    texts = [*line.texts, *[""] * len(HEADS)][:len(HEADS)]
    what, which, readings, note = texts[0].lower(), texts[1], [t for t in texts[3:3 + READINGS] if t], texts[-1]
    if not readings:
        return None
    where = f"row {line.number}"
    if what not in KINDS:
        faults.append(InputError(file=path, field=where, value=repr(texts[0]), problem="is nothing that is measured",
                                 remedy=f"Write one of {', '.join(KINDS)}"))
        return None
    read = KINDS[what]
    if read is None:
        return MeasuredRow(what, which, (), readings[0], note, line.number)
    sorts = SORTS.get(what, ())
    if (sorts and len(readings) != len(sorts)) or (what == "mass" and len(readings) != 1):
        needs = f"{len(sorts)} readings: {', '.join(name for name, _ in sorts)}" if sorts else "one reading"
        faults.append(InputError(file=path, field=where, problem=f"a {what} has {needs}",
                                 remedy="Fill in the first cells and leave the others empty"))
        return None
    values = []
    for at, text in enumerate(readings):
        try:
            values.append(sorts[at][1](text) if sorts else read(text))
        except ValueError as problem:
            faults.append(InputError(file=path, field=f"{where}, reading {at + 1}", value=repr(text),
                                     problem=str(problem), remedy="Correct that cell"))
    return MeasuredRow(what, which, tuple(values), "", note, line.number) if len(values) == len(readings) else None
