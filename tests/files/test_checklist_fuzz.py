"""Checklists as they come: whatever a file holds, it is read, or refused in sentences; never a traceback."""

import io
import zipfile

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scanprep.errors import ScanprepError
from scanprep.files import cells
from scanprep.files.checklist import read_checklist
from scanprep.files.columns import HEADINGS

QUICK = settings(max_examples=30, deadline=None, derandomize=True,  # more: python -m tests.campaigns checklist
              suppress_health_check=[HealthCheck.function_scoped_fixture])
KNOWN = sorted({name for names in HEADINGS.values() for name in names})
HEADS = [*KNOWN, "Höhe (cm)", "Größe", "", "étage", "Mass [g]"]
CELLS = ["", " ", "FB-001", "1984.10", "Krug, grün", "=1+1", "92 mm", "9,2 cm", "3 5/8 in", "1,250 g", "240g", "8.5 oz",
         "étain", "bronze", "1e400", "-", "–", "nan", "#REF!", "ball 1 2 3 4 mm why", "beyond +y 3 mm", "+y", "A", "b",
         "H 9.2 x W 4.5 x D 4.5 cm", "x" * 300, "\u202e1", "0", "-5", "½ in", "٣ mm", "1/0 in", '5"', "None", "12:30"]
cell = st.one_of(st.sampled_from(CELLS), st.text(max_size=12))
rows = st.lists(st.lists(cell, max_size=8), max_size=8)


def read_or_refused(path):
    """Read; a refusal has to be ours, each fault a sentence of one line."""
    try:
        return read_checklist(path)
    except ScanprepError as refusal:
        lines = [line for line in str(refusal).splitlines() if line.strip()]
        assert lines and all(len(line) > 15 for line in lines)
        return None


def csv_text(heads, body, divider):
    lines = [heads, *body]
    return "\r\n".join(divider.join(f'"{c}"' if divider in c or '"' in c else c for c in row) for row in lines)


@QUICK
@given(heads=st.lists(st.sampled_from(HEADS), min_size=1, max_size=8), body=rows, divider=st.sampled_from(",;\t|"),
       encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1", "utf-16-le"]))
def test_any_csv(tmp_path, heads, body, divider, encoding):
    path = tmp_path / "list.csv"
    path.write_bytes(csv_text(["number", *heads], body, divider).encode(encoding, errors="replace"))
    read_or_refused(path)


@QUICK
@given(st.binary(max_size=400))
def test_any_bytes(tmp_path, content):
    for name in ("list.csv", "list.xlsx"):
        (tmp_path / name).write_bytes(content)
        read_or_refused(tmp_path / name)


@QUICK
@given(heads=st.lists(st.sampled_from(HEADS), min_size=1, max_size=6), body=rows, data=st.data())
def test_any_xlsx_with_merged_cells_and_blank_rows(tmp_path, heads, body, data):
    book = openpyxl.Workbook()
    sheet = book.active
    clean = [[openpyxl.cell.cell.ILLEGAL_CHARACTERS_RE.sub("", c) for c in row] for row in body]
    for row in [[], ["number", *heads], *clean, []]:
        sheet.append(row)
    for _ in range(data.draw(st.integers(0, 3))):
        top, left = data.draw(st.integers(1, 8)), data.draw(st.integers(1, 6))
        sheet.merge_cells(start_row=top, start_column=left, end_row=top + data.draw(st.integers(0, 3)),
                          end_column=left + data.draw(st.integers(0, 2)))
    path = tmp_path / "list.xlsx"
    book.save(path)
    read_or_refused(path)


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "[Content_Types].xml"])
def test_a_broken_workbook_is_refused(tmp_path, part):
    book, whole = openpyxl.Workbook(), io.BytesIO()
    book.active.append(["number", "title"])
    book.active.append(["1", "jug"])
    book.save(whole)
    path = tmp_path / "list.xlsx"
    with zipfile.ZipFile(whole) as source, zipfile.ZipFile(path, "w") as target:
        for name in source.namelist():
            target.writestr(name, source.read(name)[:40] if name == part else source.read(name))
    with pytest.raises(ScanprepError, match=r"list\.xlsx"):
        read_checklist(path)


@pytest.mark.parametrize(("text", "encoding"), [
    ("number;title;height (cm)\r\n1;Krüge aus Gres;9,2\r\n", "utf-8-sig"),
    ("number;title;height (cm)\n1;Krüge aus Gres;9,2\n", "cp1252"),
    ("number\ttitle\theight (cm)\n1\tKrüge aus Gres\t9.2\n", "utf-16"),
    ("number,title,height (cm)\n\n,,\n1,Krüge aus Gres,92 mm\n\n", "utf-8"),
    ("number|title|height (cm)\n1|Krüge aus Gres|3.62204724409449 in\n", "utf-8")])
def test_the_same_line_in_five_hands(tmp_path, text, encoding):
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode(encoding))
    (brief,) = read_checklist(path)
    assert (brief.number, brief.title) == ("1", "Krüge aus Gres")
    assert brief.sizes[0].value_mm == pytest.approx(92.0)


@pytest.mark.parametrize("number", ["inf", "-Infinity", "nan", "1e999", "9" * 400])
def test_what_only_a_computer_calls_a_number_is_refused(number):
    written = [(cells.count, ""), (cells.plain_number, ""), (cells.angle_deg, ""), (cells.angle_deg, "deg"),
               (cells.force_N, "N"), (cells.length_mm, "mm"), (cells.mass_g, "g"), (cells.scan_unit, "")]
    for read, unit in written:
        with pytest.raises(ValueError, match=f"{number}.* not "):
            read(f"{number} {unit}".strip())
