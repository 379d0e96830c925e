"""The papers of a small case from start to end through the commands: two of the sample objects, intake to papers.

The positions typed into `place` are read back from the printed templates by independent readers (pdfplumber, pairs of
the DXF), to 0.1 mm as asked of the papers.
"""

import csv
import json
import shutil
from pathlib import Path

import pdfplumber
import pytest
from pytest import approx
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.errors import InputError
from tests.papers.reading import (
    dxf_circles,
    hole_errors,
    overlapping_words,
    pdf_circles,
    pdf_words,
    tile_pages,
    tile_words,
)
from tests.papers.small_pictures import small_pictures

SAMPLES = Path(__file__).parents[2] / "sample_meshes"
NUMBERS = ("FB-003", "FB-006")
#: number -> panel, face, x, y in mm: the token where the checklist has it, the bowl placed by hand below.
PLACES = {"FB-006": ("Slip", "A", 150.0, 1500.0), "FB-003": ("Quay", "B", 401.2, 987.65)}
MM_PT = 25.4 / 72


def run(*words, code=0):
    done = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    assert code is None or done.exit_code == code, done.output
    return done


def contents(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module", autouse=True)
def small():
    """What the pictures of holds show is not looked at here."""
    with small_pictures():
        yield


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    root = tmp_path_factory.mktemp("papers") / "display"
    root.mkdir()
    shutil.copy(SAMPLES / "case.toml", root)
    with (SAMPLES / "checklist.csv").open(encoding="utf-8", newline="") as stream:
        lines = list(csv.reader(stream))
    with (root / "checklist.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([lines[0], *(line for line in lines[1:] if line[0] in NUMBERS)])
    for number in NUMBERS:
        shutil.copytree(SAMPLES / "scans" / number, root / "scans" / number)
    run("intake", root, root / "checklist.csv", "--person", "registrar")
    run("batch", root, "--workers", 0, code=None)
    run("choose", root, "FB-003", 1, "--person", "curator")
    panel, face, x, y = PLACES["FB-003"]
    run("place", root, "FB-003", "--panel", panel, "--face", face, "--from-left", f"{x}mm", "--y", f"{y}mm", "--person",
        "designer", "--reason", "better from behind")
    told = json.loads(run("papers", root, "--json").stdout)
    assert told["folder"] == str(root / "papers") and not told["removed"]
    return root


def _page_origin(path, width_mm, height_mm):
    """Where the sheet's lower left corner stands on a template's page, by its own outline, mm."""
    with pdfplumber.open(path) as book:
        page = book.pages[0]
        for shape in (*page.rects, *page.curves):
            wide, tall = (shape["x1"] - shape["x0"]) * MM_PT, (shape["y1"] - shape["y0"]) * MM_PT
            if abs(wide - width_mm) < 0.01 and abs(tall - height_mm) < 0.01:
                return shape["x0"] * MM_PT, shape["y0"] * MM_PT
    raise AssertionError("the sheet's outline is not on its template")


@pytest.mark.parametrize("number", NUMBERS)
def test_the_hole_is_printed_where_it_was_placed(case, number):
    panel, face, x, y = PLACES[number]
    spec = json.loads((case / "out" / number / "spec.json").read_text(encoding="utf-8"))
    wanted = spec["hole"]["drill_diameter_mm"]
    template = case / "papers" / "templates" / f"{panel}-{face}"
    x0, y0 = _page_origin(template.with_suffix(".pdf"), {"Quay": 700.0, "Slip": 600.0}[panel],
                          {"Quay": 2200.0, "Slip": 2000.0}[panel])
    circles = pdf_circles(template.with_suffix(".pdf").read_bytes())
    assert max(hole_errors(circles, [(x0 + x, y0 + y, wanted)])) < 0.1
    circles = dxf_circles(template.with_suffix(".dxf").read_bytes())
    assert [c[:3] for c in circles if c[3] == "HELD"] == [approx((x, y, wanted), abs=1e-6)]
    assert not any(c[3].startswith("DRILL_") for c in circles)  # nothing of this case is measured or agreed yet


def test_nothing_may_be_drilled_from_while_things_are_unmeasured(case):
    papers = case / "papers"
    for name in ("templates/Quay-B.pdf", "templates/Quay-B-tiles-A4.pdf", "templates/Quay-B-ordinates.pdf",
                 "templates/Slip-A.pdf", "drill-list.pdf", "mounts/FB-003.pdf", "gauges/FB-003.pdf",
                 "outlines/FB-003.pdf"):
        assert "NOT FOR DRILLING" in pdf_words((papers / name).read_bytes()), name
    assert "HELD, not to be cut yet" in pdf_words((papers / "rod-cut-list.pdf").read_bytes())
    assert pdf_words((papers / "labels.pdf").read_bytes()).count("HELD") == 2 * len(NUMBERS)
    for name in ("drill-list.csv", "schedule.csv", "rod-cut-list.csv"):
        with (papers / name).open(encoding="utf-8-sig", newline="") as stream:
            rows = list(csv.DictReader(stream))
        assert rows and all(row["release"] == "held" and "not measured" in row["reasons"] for row in rows), name
    with (papers / "drill-list.csv").open(encoding="utf-8-sig", newline="") as stream:
        assert all(row["drill"] == row["x_mm"] == row["depth_mm"] == "" for row in csv.DictReader(stream))
    words = pdf_words((papers / "templates" / "Quay-B-ordinates.pdf").read_bytes())
    # X is told from the datum edge, which is face B's right: 700 - 401.20
    assert "the thickness of sheet Quay is not measured" in words and "298.80" in words and "987.65" in words


def test_every_kind_of_paper_is_there_and_no_words_lie_over_each_other(case):
    papers = case / "papers"
    for name in ("coupon-sheet.pdf", "drill-list.csv", "install-order.pdf", "labels.pdf", "lists.xlsx",
                 "rod-cut-list.pdf", "schedule.csv", "elevations/Quay.pdf", "templates/Quay-overlay.pdf",
                 "templates/Quay-A.svg", *(f"{kind}/{number}.pdf" for number in NUMBERS
                                           for kind in ("mounts", "gauges", "outlines", "holds"))):
        assert (papers / name).stat().st_size > 200, name
    for path in sorted(papers.rglob("*.pdf")):
        data = path.read_bytes()
        if "tiles" not in path.name:
            assert overlapping_words(data) == [], path.name
            continue
        assert len(tile_pages(data)) >= 20  # 600 x 2000 mm and more on A4
        for page in tile_pages(data):  # words that go on to the next tile are clipped: only what is seen counts
            assert tile_words(data, page)[0] == [], (path.name, page)


def test_the_sheet_beside_the_spec_is_one_page(case):
    for number in NUMBERS:
        with pdfplumber.open(case / "out" / number / "spec.pdf") as book:
            assert len(book.pages) == 1


def test_a_second_run_redoes_nothing_and_a_fresh_one_gives_the_same_bytes(case):
    papers = case / "papers"
    before = contents(papers)
    times = {path: path.stat().st_mtime_ns for path in papers.rglob("*")}
    assert json.loads(run("papers", case, "--workers", 0, "--json").stdout)["written"] == []
    assert {path: path.stat().st_mtime_ns for path in papers.rglob("*")} == times
    shutil.rmtree(papers)
    # the first ones were drawn by as many processes as there are cores, these in this one
    written = json.loads(run("papers", case, "--workers", 0, "--json").stdout)["written"]
    assert len(written) == len(before) - 3  # register, change note, lock
    assert contents(papers) == before


def test_a_move_redoes_what_it_touches_only(case):
    run("place", case, "FB-003", "--panel", "Quay", "--face", "B", "--from-left", "300mm", "--y", "1300mm", "--person",
        "designer", "--reason", "at eye height")
    written = set(json.loads(run("papers", case, "--workers", 0, "--json").stdout)["written"])
    assert {"templates/Quay-B.pdf", "templates/Quay-B.dxf", "mounts/FB-003.pdf", "schedule.csv"} <= written
    assert not {name for name in written if "FB-006" in name or "Slip" in name or name.startswith("templates/Quay-A")}
    held = [c[:2] for c in dxf_circles((case / "papers" / "templates" / "Quay-B.dxf").read_bytes()) if c[3] == "HELD"]
    assert held == [approx((300.0, 1300.0), abs=1e-6)]


def test_a_paper_in_the_hand_is_verified_by_the_command(case):
    old = case / "papers" / "superseded" / "templates" / "Quay-B-issue-1.pdf"
    told = run("papers", case, "--verify", old, code=1).stdout
    assert "SUPERSEDED by issue 2" in told and "X 298.80, Y 987.65" in told and "X 400.00, Y 1300.00" in told
    current = json.loads(run("papers", case, "--verify", case / "papers" / "drill-list.csv", "--json").stdout)
    assert current["may_be_used"] and current["standing"] == "current"
    assert "is not in this case's register" in run("papers", case, "--verify", "0000-0000", code=1).stdout
    with pytest.raises(InputError, match="no file and no identity"):
        run("papers", case, "--verify", "yesterday's sheet")
