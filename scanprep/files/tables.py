"""Rows of a checklist as they stand in a CSV or XLSX file, before anybody says what they mean.

CSV: UTF-8 (with or without mark), UTF-16, else Windows-1252; comma, semicolon, tab or bar. XLSX: the named sheet or
the first one, merged cells filled with their value. Cells come out as text, as a person sees them: an accession number
kept as 1984.10 stays 1984.10. Used by `files.checklist`.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from scanprep.errors import InputError

#: A case of some thousand objects fits many times over; what is more is a slip or an attack.
MOST_ROWS, MOST_COLUMNS = 20_000, 400  # tolerance: see above
MOST_UNPACKED_BYTES = 200 << 20  # tolerance: a sheet of 20,000 full rows is some 20 MB

@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text, and what is odd about it."""

    text: str
    fault: str = ""  # "holds a date", "holds a formula that was never worked out"
    merged: bool = False  # takes its text from a merged block that starts elsewhere


@dataclass(frozen=True, slots=True)
class Line:
    """One row, with the number a person finds it under."""

    number: int
    cells: tuple[Cell, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """The cells' texts."""
        return tuple(cell.text for cell in self.cells)


def read_lines(path: Path, sheet: str | None = None) -> tuple[Line, ...]:
    """Return every row of a CSV or XLSX file. Raises InputError when it is neither or cannot be read."""
    if not path.is_file():
        raise InputError(file=path, problem="is not there", remedy="Check the path of the checklist")
    ending = path.suffix.lower()
    if ending in (".csv", ".tsv", ".txt"):
        return _csv_lines(path)
    if ending in (".xlsx", ".xlsm"):
        return _xlsx_lines(path, sheet)
    raise InputError(file=path, problem=f"a checklist ending in {ending or 'nothing'} cannot be read",
                     remedy="Save it as .xlsx or as .csv")


def _csv_text(path: Path) -> str:
    raw = path.read_bytes()
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def _csv_lines(path: Path) -> tuple[Line, ...]:
    text = _csv_text(path)
    if "\x00" in text:
        raise InputError(file=path, problem="is not a text file", remedy="Save the checklist as .csv or .xlsx")
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t|", key=first.count)
    # a lone carriage return ends a line too: old spreadsheets, and files that went through many hands
    reader = csv.reader(io.StringIO(text.replace("\r\n", "\n").replace("\r", "\n")), delimiter=delimiter)
    lines, start = [], 1
    try:
        for row in reader:
            lines.append(Line(start, tuple(Cell(" ".join(cell.split())) for cell in row)))
            start = reader.line_num + 1
    except csv.Error as problem:
        raise InputError(file=path, field=f"row {start}", problem=f"cannot be read as a row of cells ({problem})",
                         remedy="Look for a quotation mark that is opened and never closed") from problem
    return tuple(lines)


def _xlsx_lines(path: Path, sheet: str | None) -> tuple[Line, ...]:
    values, formulas = _sheets(path, sheet)
    from_block = {
        (row, column): (block.min_row, block.min_col)
        for block in values.merged_cells.ranges
        for row in range(block.min_row, min(block.max_row, MOST_ROWS) + 1)
        for column in range(block.min_col, min(block.max_col, MOST_COLUMNS) + 1)
    }

    # Rows and columns that were only ever formatted are none: a sheet may have a million of them.
    # `_cells` holds those that are in the file; walking the rows would make a million empty ones.
    said = [place for page in (values, formulas) for place, each in page._cells.items() if each.value is not None]
    last_row, last_column = (max((place[k] for place in said), default=0) for k in (0, 1))
    if last_row > MOST_ROWS or last_column > MOST_COLUMNS:
        raise InputError(file=path, problem=f"has something in row {last_row}, column {last_column}; at most "
                         f"{MOST_ROWS} rows of {MOST_COLUMNS} columns are read", remedy="Delete what does not belong")

    def cell(row: int, column: int) -> Cell:
        home = from_block.get((row, column), (row, column))
        return _cell(values.cell(*home), formulas.cell(*home), merged=home != (row, column))

    return tuple(
        Line(row, tuple(cell(row, column) for column in range(1, last_column + 1)))
        for row in range(1, last_row + 1)
    )


def _sheets(path: Path, sheet: str | None) -> tuple[Any, Any]:
    import struct
    import zipfile
    import zlib

    import openpyxl

    content = path.read_bytes()
    _no_bomb(path, content)
    try:
        books = [openpyxl.load_workbook(io.BytesIO(content), data_only=data_only) for data_only in (True, False)]
    # what its readers of zip, XML and cells raise on a file that is cut off or was put together by other hands
    except (zipfile.BadZipFile, zlib.error, SyntaxError, LookupError, ValueError, TypeError, AttributeError, OSError,
            EOFError, RuntimeError, OverflowError, struct.error) as problem:  # NotImplementedError is a RuntimeError
        raise InputError(file=path, problem=f"cannot be opened as a spreadsheet ({problem})",
                         remedy="Save it again as .xlsx, or as .csv") from problem
    names = [page.title for page in books[0].worksheets]  # a chart may have a sheet of its own
    name = sheet or next(iter(names), "")
    if name not in names or name not in books[1].sheetnames:
        raise InputError(file=path, field="sheet", value=repr(name), problem="is not in the workbook",
                         remedy=f"Write one of: {', '.join(names) or 'none, it has no table'}")
    return books[0][name], books[1][name]


def _no_bomb(path: Path, content: bytes) -> None:
    """Refuse a workbook that unpacks to far more than any checklist: it would be read whole into memory."""
    import zipfile

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            unpacked = sum(member.file_size for member in archive.infolist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return  # no workbook at all: its own reader says so
    if unpacked > MOST_UNPACKED_BYTES:
        raise InputError(file=path, problem=f"unpacks to {unpacked // 2**20} MB", remedy="Copy the rows that matter to "
                         "a new sheet and save that")


def _cell(value_cell: Any, formula_cell: Any, merged: bool) -> Cell:
    value = value_cell.value
    if value is None:
        unsolved = isinstance(formula_cell.value, str) and formula_cell.value.startswith("=")
        return Cell("", "holds a formula that was never worked out" if unsolved else "", merged)
    if isinstance(value, (datetime, date, time)):
        return Cell(str(value), "holds a date", merged)
    if isinstance(value, bool):
        return Cell("yes" if value else "no", "", merged)
    if isinstance(value, (int, float)):
        return Cell(_number_text(value, str(value_cell.number_format)), "", merged)
    return Cell(" ".join(str(value).split()), "", merged)


def _number_text(value: float, number_format: str) -> str:
    decimals = re.fullmatch(r"#?,?#*0(?:\.(0+))?", number_format)
    if decimals and not (decimals[1] is None and value != int(value)):
        return f"{value:.{len(decimals[1] or '')}f}"
    return f"{value:.12g}"


def blank(line: Line) -> bool:
    """Return whether a row holds nothing of its own."""
    return not any((cell.text or cell.fault) and not cell.merged for cell in line.cells)


def distinct_texts(line: Line) -> Iterator[str]:
    """Yield the texts of a row's own cells, those of merged blocks once."""
    return (cell.text for cell in line.cells if cell.text and not cell.merged)
