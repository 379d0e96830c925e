"""Drill list, rod cuts, tables, labels, schedule, install order: against brute force, a solver, and other readers."""

import csv
import io
import itertools
import random
from dataclasses import replace

import openpyxl
import pypdf
import pytest
from pytest import approx

from scanprep.case.lists.cutlist import Piece, cut_list
from scanprep.papers.drawing.measures import Measures, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.tables import Table, csv_bytes, xlsx_bytes
from scanprep.papers.lists.coupon_sheet import coupon_sheets
from scanprep.papers.lists.drill_list import _bit_order, drill_rows, drill_sheets, drill_table, set_ups, speed_words
from scanprep.papers.lists.install_list import InstallStep, install_sheets
from scanprep.papers.lists.labels import Label, label_sheets
from scanprep.papers.lists.rod_cuts import cut_sheets, cut_table
from scanprep.post.coupon import coupon_rows
from scanprep.rules import PostRules, Rulebook
from tests.papers.panels import invented_panel
from tests.papers.reading import pdf_circles, pdf_words

ISSUE = Issue(case="Faces of a river town")
PANELS = (invented_panel("West", 9, 5), invented_panel("East", 7, 6), invented_panel("North", 5, 7))


def _loads(sequence):
    """How often a bit goes in the chuck when holes are drilled in this order."""
    return sum(a != b for a, b in zip(["", *sequence], sequence))


def test_every_hole_to_drill_is_on_the_list_once_and_no_other():
    listed = [hole.number for _, _, _, hole, _ in drill_rows(PANELS)[0]]
    wanted = [hole.number for panel in PANELS for hole in panel.holes if hole.released]
    assert sorted(listed) == sorted(wanted)
    bits = [bit for _, _, bit, _, _ in drill_rows(PANELS)[0]]
    rows, changes = drill_rows(PANELS)
    assert set_ups(PANELS)[1] == _loads(bits) == sum(change for *_, change in rows) == changes


@pytest.mark.parametrize("seed", range(6))
def test_bit_changes_are_the_fewest_by_brute_force(seed):
    dice = random.Random(seed)
    needs = [tuple(sorted(dice.sample("abcd", dice.randint(1, 3)))) for _ in range(4)]
    fewest = min(_loads([bit for order in orders for bit in order])
                 for orders in itertools.product(*(list(itertools.permutations(bits)) for bits in needs)))
    count, orders = _bit_order(needs)
    assert count == fewest == _loads([bit for order in orders for bit in order])


def test_a_sheet_is_drilled_from_both_faces_in_one_go():
    names = [set_up.panel.name for set_up in set_ups(PANELS)[0]]
    assert len(list(itertools.groupby(names))) == len(set(names))


def test_the_cut_list_says_how_much_of_a_rod_is_cut_off():
    # by hand: 3 x 200 mm out of a bar of 914.4 mm leaves 34.4 % as saw cuts and off-cut
    cuts = (cut_list("3/16", [Piece(str(i), 200.0) for i in range(3)], 914.4, 1.0),)
    assert "34% cut off" in pdf_words(pdf_bytes(cut_sheets(cuts, ISSUE, False, {}), title="x"))


def test_the_cut_list_prints_every_post_once_and_what_is_too_long():
    pieces = [Piece(f"FB-{k:03d}", 60.0 + 3 * k) for k in range(30)] + [Piece("FB-900", 1000.0)]
    cuts = (cut_list("3/16", pieces, 914.4, 1.0),)
    words = pdf_words(pdf_bytes(cut_sheets(cuts, ISSUE, False, {}), title="x"))
    for piece in pieces:
        assert words.count(piece.name) == 1
    assert "FB-900: 1000.0 mm is longer than a bar" in words
    assert len(cut_table(cuts, {}).rows) == 30


HOSTILE = ("=1+1", "+SUM(A1)", "-2+3", "@cmd", "\t=1", '=HYPERLINK("x")', "Žďár, ὑδρία; 尾")
TABLE = Table("list [a/b]: of 'things' that is longer than thirty-one letters", ("object", "x_mm", "n"),
              (*((words, -1.5 * i, i) for i, words in enumerate(HOSTILE)), ("none", None, None)))


def test_xlsx_opens_elsewhere_with_real_numbers_and_no_formula():
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([TABLE, TABLE])))
    assert len(book.sheetnames) == 2
    page = book[book.sheetnames[0]]
    assert page.freeze_panes == "B2" and page.auto_filter.ref == "A1:C9"
    assert [c.value for c in page[1]] == ["object", "x_mm", "n"]
    for row, words in enumerate(HOSTILE):
        cell = page.cell(row + 2, 1)
        assert cell.value == words and cell.data_type == "s"  # text, never "f"
        assert page.cell(row + 2, 2).value == approx(-1.5 * row) and page.cell(row + 2, 2).data_type == "n"
    assert page.cell(9, 2).value is None


def test_csv_is_read_back_with_formulas_disarmed():
    data = csv_bytes(TABLE)
    assert data[:3] == b"\xef\xbb\xbf"
    rows = list(csv.reader(io.StringIO(data[3:].decode("utf-8"), newline="")))
    for words, row in zip(HOSTILE[:6], rows[1:], strict=False):
        assert row[0] == "'" + words
    assert rows[7][0] == HOSTILE[6] and float(rows[2][1]) == -1.5  # numbers keep their sign


def test_tables_are_the_same_bytes_every_time():
    assert xlsx_bytes([TABLE]) == xlsx_bytes([TABLE])
    assert csv_bytes(drill_table(PANELS)) == csv_bytes(drill_table(PANELS))


def test_drill_sheets_list_everything_over_as_many_pages_as_it_takes():
    panels = tuple(invented_panel(f"P{k}", 14, k) for k in range(3))
    data = pdf_bytes(drill_sheets(panels, ISSUE, PostRules()), title="drill list")
    pages = pypdf.PdfReader(io.BytesIO(data), strict=True).pages
    assert len(pages) >= 2
    words = pdf_words(data)
    for panel in panels:
        for hole in panel.holes:
            assert (f"{hole.y_mm:.2f}" in words) == hole.released or hole.through
    assert f"{len(pages)} of {len(pages)}" in words


def test_each_bit_has_its_speed_and_point():
    # by hand: 10 m/min on 4.7625 mm is 10 000 / 14.962 = 668 rev/min, 60 m/min 4010; 21.5 mm is 4.5 d, a deep hole.
    # 6.35 mm: 501 and 3008; 3.4 d, deep too. 3/16 in at 8 mm would be 1.7 d: shallow
    one = invented_panel("P", 12, 3)
    said = speed_words([one], PostRules())
    assert "3/16: 670 to 4010 rev/min, point 118°" in said and "1/4: 500 to 3010 rev/min, point 118°" in said
    shallow = replace(one, holes=tuple(replace(h, depth_mm=8.0, through=False) for h in one.holes))
    assert "3/16: 670 to 4010 rev/min, point 90°" in speed_words([shallow], PostRules())


def test_labels_one_of_each_kind_a_mount():
    labels = [Label(f"FB-{k:03d}", "Cup", "West A", f"W-{k}", "3/16", 62.0, 12.0) for k in range(1, 41)]
    words = pdf_words(pdf_bytes(label_sheets(labels, ISSUE), title="labels"))
    for label in labels:
        assert words.count(label.object_number) == 2
    assert "never on an object" in words and "62.0 mm" in words
    assert label_sheets([], ISSUE) == []


def test_coupon_sheet_draws_its_holes_true():
    rows = coupon_rows(Rulebook(), None)
    sheets = coupon_sheets(rows, ISSUE, Rulebook())
    data = pdf_bytes(sheets, title="coupon")
    circles = pdf_circles(data, len(sheets) - 1)
    found = sorted(round(c[2], 2) for c in circles)
    # the two small circles of the projection symbol are 3.6 and 1.8 mm
    assert [d for d in sorted(round(r.drill_mm, 2) for r in rows) if d not in found] == []
    words = pdf_words(data)
    assert "micrometer" in words and "no alcohol" in words


def test_install_order_keeps_its_order():
    steps = [InstallStep(k, "object", f"FB-{k:03d}", "Cup", "West A", f"W-{k}") for k in range(1, 30)]
    words = pdf_words(pdf_bytes(install_sheets(steps, ISSUE), title="install"))
    places = [words.index(s.object_number) for s in steps]
    assert places == sorted(places)


def test_an_empty_list_says_so():
    assert "Nothing to list" in pdf_words(pdf_bytes(install_sheets([], ISSUE), title="install"))


@pytest.mark.parametrize(("deg", "words"), [(0, "up"), (15, "15.0° ↺"), (-20, "20.0° ↻"), (340, "20.0° ↻")])
def test_clock_words(deg, words):
    assert clock(deg) == words


def test_inch_measures():
    inch = Measures("in")
    # 92.075 mm = 3 5/8 in exactly; 412.35 mm = 16.2343 in
    assert inch.length(92.075).replace("\u00a0", " ") == "3 5/8" and inch.fine(412.35) == "16.234"
    with pytest.raises(ValueError, match="mm or in"):
        Measures("cm")
