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
from scanprep.papers.drawing.letters import text_width_mm

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


def csv_bytes(table: Table) -> bytes:
    """Return a table as a CSV file."""
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\r\n")
    writer.writerow(table.heads)
    for row in table.rows:
        writer.writerow([safe_text(v) if isinstance(v, str) or v is None else v for v in row])
    return b"\xef\xbb\xbf" + sink.getvalue().encode("utf-8")


def xlsx_bytes(tables: Sequence[Table]) -> bytes:
    """Return tables as one XLSX file, a sheet each: head frozen and filtered, numbers real, no formula anywhere.

    Raises ValueError where there is no table.
    """
    import xlsxwriter

    if not tables:
        raise ValueError("a workbook needs at least one table")
    sink = io.BytesIO()
    book = xlsxwriter.Workbook(sink, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
                                      "strings_to_numbers": False, "nan_inf_to_errors": True})
    book.set_properties({"created": datetime.datetime(2000, 1, 1), "comments": "written by scanprep"})
    head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
    number = book.add_format({"num_format": "0.00"})
    names: list[str] = []
    for table in tables:
        names.append(_sheet_name(table.name, names))
        page = book.add_worksheet(names[-1])
        page.freeze_panes(1, 1)
        page.autofilter(0, 0, max(1, len(table.rows)), len(table.heads) - 1)
        for column, words in enumerate(table.heads):
            page.write_string(0, column, words, head)
            page.set_column(column, column, _width(table, column))
        for r, row in enumerate(table.rows, start=1):
            for c, value in enumerate(row):
                if isinstance(value, str):
                    page.write_string(r, c, value)
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
