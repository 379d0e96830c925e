"""Control and direction characters in a number or title, read back from every format: shown, never obeyed.

The characters are those of the Unicode bidirectional algorithm (UAX 9, table 1) and the C0 and C1 controls (ISO 6429).
"""

import csv
import io
from dataclasses import replace

import openpyxl
import pytest

from scanprep.case.lists.schedule_rows import safe_text
from scanprep.papers.drawing.letters import printable
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.svg import svg_bytes
from scanprep.papers.drawing.tables import Table, csv_bytes, xlsx_bytes
from scanprep.papers.templates.template_sheet import template_dxf, template_sheet
from tests.papers.panels import invented_panel
from tests.papers.reading import dxf_entities, pdf_book, svg_circles

DIRECTION = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
CONTROL = "\x00\x07\x08\x1b\x7f\x85\x9b\u2028\u2029\ufeff"
NASTY = f"W{DIRECTION}{CONTROL}\r\n9"
PANEL = invented_panel()
PANEL = replace(PANEL, name=NASTY, holes=tuple(
    replace(hole, number=f"H\u202e{k}", object_number=NASTY) for k, hole in enumerate(PANEL.holes)))
ISSUE = Issue(case=NASTY)


def none_left(text):
    left = [f"U+{ord(c):04X}" for c in text if c in DIRECTION + CONTROL]
    assert not left
    assert "202E" in text


def test_a_template_as_pdf():
    data = pdf_bytes([template_sheet(PANEL, "A", ISSUE)], title=NASTY)
    with pdf_book(data) as book:
        none_left("".join(char["text"] for char in book.pages[0].chars) + str(book.metadata))


def test_a_template_as_svg():
    data = svg_bytes(template_sheet(PANEL, "A", ISSUE))
    none_left(data.decode("utf-8"))
    assert len(svg_circles(data)) >= len(PANEL.on("A"))


def test_a_template_as_dxf_stays_in_pairs_of_lines():
    data = template_dxf(PANEL, "A", ISSUE)
    none_left(data.decode("utf-8"))
    values = [dict(pairs)[1] for kind, pairs in dxf_entities(data) if kind == "ATTRIB"]
    assert "H<U+202E>0" in values


@pytest.mark.parametrize("text", [f"a{c}1" for c in DIRECTION + CONTROL])
def test_each_of_them_in_a_cell_and_on_paper(text):
    shown = f"<U+{ord(text[1]):04X}>"
    assert printable(text) == safe_text(text) == f"a{shown}1"


def test_lists_as_csv_and_xlsx():
    table = Table("list", ("number", "title"), ((NASTY, "=1+1\u202e"),))
    data = csv_bytes(table).decode("utf-8-sig")
    none_left(data)
    assert list(csv.reader(io.StringIO(data)))[1][1] == "'=1+1<U+202E>"
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([table])))
    none_left("".join(str(cell.value) for row in book.active for cell in row))


def test_what_belongs_to_the_spelling_stays():
    # Persian writes "I want" with a zero-width non-joiner between its letters (Unicode Standard, 9.2 Arabic)
    assert "<U+" not in printable("\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645")
    assert printable("A\u200c1") == "A<U+200C>1"
