"""The bench's one table: what is written in comes out typed, in CSV and XLSX alike, and every fault is told at once."""

import csv

import openpyxl
import pytest

from scanprep.errors import InputError, InputFaultsError
from scanprep.files.measured_table import HEADS, Wanted, blank_bytes, read_measured

LINES = [
    ("rod", "3/16", "4.751 mm", "4.753 mm"), ("test hole", "4.8", "4.85 mm"),
    ("coupon", "#12", "4.86 mm", "0.16 mm", "60 N", "95 N mm", "45 N"),
    ("sheet", "West", "29.8 mm", "29.6 mm"), ("mass", "FB-1", "8 oz"), ("pad", "FB-1", "felt"),
    ("mount", "FB-1", "0.4 mm", "-0.2 mm", "1.5 deg"), ("rod", "1/4"),
]


def rows(lines):
    return [list(HEADS), *([what, which, "", *readings, *[""] * (6 - len(readings))]
                           for what, which, *readings in lines)]


def as_csv(path, lines):
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows(rows(lines))
    return path


def as_xlsx(path, lines):
    book = openpyxl.Workbook()
    for row in rows(lines):
        book.active.append(row)
    book.save(path)
    return path


@pytest.mark.parametrize("write", [as_csv, as_xlsx])
def test_what_is_written_in_comes_out_typed(tmp_path, write):
    found = read_measured(write(tmp_path / f"m.{'csv' if write is as_csv else 'xlsx'}", LINES))
    assert [(r.what, r.which, r.readings, r.text) for r in found] == [
        ("rod", "3/16", (4.751, 4.753), ""), ("test hole", "4.8", (4.85,), ""),
        ("coupon", "#12", (4.86, 0.16, 60.0, 95.0, 45.0), ""), ("sheet", "West", (29.8, 29.6), ""),
        ("mass", "FB-1", (pytest.approx(226.796, abs=1e-3),), ""),  # 8 x 28.3495 g
        ("pad", "FB-1", (), "felt"), ("mount", "FB-1", (0.4, -0.2, 1.5), ""),
    ]  # the rod without a reading is passed over


def test_every_fault_is_told_with_its_row(tmp_path):
    bad = [("rod", "3/16", "4.751"), ("mount", "1", "0.4 mm"), ("colour", "1", "red"),
           ("coupon", "#12", "4.86 mm", "0.16 mm", "60 N", "95 N", "45 N")]
    with pytest.raises(InputFaultsError) as told:
        read_measured(as_csv(tmp_path / "m.csv", bad))
    said = str(told.value)
    for words in ("row 2, reading 1", "row 3: a mount has 3 readings: right, up, turned",
                  "row 4 = 'colour': is nothing that is measured", "'95 N' is not a twist"):
        assert words in said, said


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_blank_table_reads_back_empty_and_keeps_a_fraction_a_fraction(tmp_path, ending):
    path = tmp_path / f"blank{ending}"
    path.write_bytes(blank_bytes([Wanted("rod", "1/8", "micrometer"), Wanted("mount", "3", "three readings")], ending))
    assert read_measured(path) == ()
    if ending == ".xlsx":
        sheet = openpyxl.load_workbook(path).active
        assert [sheet.cell(2, 2).value, sheet.cell(2, 2).number_format] == ["1/8", "@"]  # and no date


def test_another_table_is_refused(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("number,title\n1,cup\n", encoding="utf-8")
    with pytest.raises(InputError, match="does not begin with the heads"):
        read_measured(path)
    with pytest.raises(InputError, match="no kind of table"):
        blank_bytes([], ".pdf")
