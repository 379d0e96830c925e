"""Lists as CSV and XLSX: numbers as numbers, heads frozen, text that looks like a formula disarmed.

The same bytes for the same rows. CSV after RFC 4180, UTF-8 with a byte-order mark so that office programs read accents.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.case.lists.schedule_rows import safe_text
from scanprep.papers.drawing.control import Control
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.plain_text import visible

Value = str | float | int | None


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads; heads carry their units (`x_mm`)."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.heads):
                raise ValueError(f"table {self.name}: a row of {len(row)} cells under {len(self.heads)} heads")


def csv_bytes(table: Table, control: Control | None = None) -> bytes:
    """Return a table as a CSV file.

    control  which issue of which paper it is. The format has no place for it but the rows, and rows are copied into
             other lists: so each says it in a last column `paper`; an empty list has one row that says nothing else
    """
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\r\n")
    paper = () if control is None else (control.note,)
    writer.writerow((*table.heads, "paper") if control else table.heads)
    for row in table.rows or (((None,) * len(table.heads),) if control else ()):
        writer.writerow([*(safe_text(v) if isinstance(v, str) or v is None else v for v in row), *paper])
    return b"\xef\xbb\xbf" + sink.getvalue().encode("utf-8")


def xlsx_bytes(tables: Sequence[Table], control: Control | None = None) -> bytes:
    """Return tables as one XLSX file, a sheet each: head frozen and filtered, numbers real, no formula anywhere.

    control  which issue of which paper it is: in the file's keywords and at the foot of every page when printed

    Raises ValueError where there is no table.
    """
    import xlsxwriter

    if not tables:
        raise ValueError("a workbook needs at least one table")
    sink = io.BytesIO()
    book = xlsxwriter.Workbook(sink, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
                                      "strings_to_numbers": False, "nan_inf_to_errors": True})
    book.set_properties({"created": datetime.datetime(2000, 1, 1), "comments": "written by scanprep",
                         "keywords": control.note if control else ""})
    head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
    number = book.add_format({"num_format": "0.00"})
    names: list[str] = []
    for table in tables:
        names.append(_sheet_name(table.name, names))
        page = book.add_worksheet(names[-1])
        page.freeze_panes(1, 1)
        page.set_footer(f"&L&A&C{control.words if control else ''}&RPage &P of &N")
        page.autofilter(0, 0, max(1, len(table.rows)), len(table.heads) - 1)
        for column, words in enumerate(table.heads):
            page.write_string(0, column, words, head)
            page.set_column(column, column, _width(table, column))
        for r, row in enumerate(table.rows, start=1):
            for c, value in enumerate(row):
                if isinstance(value, str):
                    page.write_string(r, c, visible(value))
                elif isinstance(value, float):
                    page.write_number(r, c, value, number)
                elif value is not None:
                    page.write_number(r, c, value)
    book.close()
    return sink.getvalue()


def _sheet_name(name: str, taken: Sequence[str]) -> str:
    """A worksheet name that the format takes: 31 letters, none of []:*?/\\, each once."""
    plain = "".join(" " if c in "[]:*?/\\" else c for c in name)[:31].strip("' ") or "list"
    unique, n = plain, 2
    while unique.lower() in (t.lower() for t in taken):
        unique, n = f"{plain[:27]} {n}", n + 1
    return unique


def _width(table: Table, column: int) -> float:
    """A column wide enough for its longest cell, in letters, at most 50."""
    cells = [str(row[column]) for row in table.rows if row[column] is not None]
    longest = max([*cells, table.heads[column]], key=lambda words: text_width_mm(words, 2.0), default="")
    return min(50.0, max(6.0, text_width_mm(longest, 2.0) / text_width_mm("0", 2.0) + 2.0))
