"""Templates read back from PDF (pixels and vectors), SVG and DXF: 0.1 mm on every sheet size; mutants must fail.

Tolerances: a hole 0.1 mm (asked of the papers), a bar 0.1 mm in pixels at 300 dpi (pitch 0.085) and 0.01 in vectors
(a PDF number has four decimals of a point or better).
"""

import functools
import io
import itertools
import math
from dataclasses import replace

import ezdxf
import pypdf
import pytest
from pytest import approx

from scanprep.papers.drawing.dxf import dxf_bytes
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import PAPERS, Box, Group, Path, Sheet, Text, stretched
from scanprep.papers.drawing.svg import svg_bytes
from scanprep.papers.templates.marks import hole_marks
from scanprep.papers.templates.running_ordinates import spread
from scanprep.papers.templates.template import Correction, TemplateHole, TemplatePanel, datum_x_mm
from scanprep.papers.templates.template_sheet import template_dxf, template_origin_mm, template_sheet
from scanprep.papers.templates.tiles import OVERLAP_MM, tile_origin_mm, tiled_template, tiles_of
from tests.papers.panels import invented_panel
from tests.papers.reading import (
    dxf_circles,
    dxf_entities,
    hole_errors,
    overlapping_words,
    page_holes,
    pdf_book,
    pdf_circles,
    pdf_lines,
    pdf_words,
    pixels,
    raster_circle,
    svg_circles,
    tile_words,
)

ISSUE = Issue(case="Faces of a river town")
PANEL = invented_panel()
SMALL = invented_panel("Mock", 6, 8, 320.0, 500.0)
WITHIN_MM = 0.1


@functools.lru_cache(maxsize=8)
def template_pdf(panel, face, issue):
    return pdf_bytes([template_sheet(panel, face, issue)], title="template")


@functools.lru_cache(maxsize=8)
def tiled_template_pdf(panel, face, issue, paper):
    return pdf_bytes(tiled_template(panel, face, issue, paper), title="tiles")


@pytest.fixture(scope="module")
def long_pdfs():
    return {face: template_pdf(PANEL, face, ISSUE) for face in "AB"}


def _expected(panel, face):
    sheet = template_sheet(panel, face, ISSUE)
    return page_holes(panel.on(face), template_origin_mm(panel, sheet))


@pytest.mark.parametrize("face", ["A", "B"])
def test_vectors_of_the_long_page_are_the_record(long_pdfs, face):
    assert max(hole_errors(pdf_circles(long_pdfs[face]), _expected(PANEL, face))) < 0.01


@pytest.mark.parametrize("face", ["A", "B"])
def test_pixels_of_the_long_page_are_the_record(face):
    grey = pixels(template_pdf(SMALL, face, ISSUE))
    for x, y, diameter in _expected(SMALL, face):
        void = [h for h in SMALL.on(face) if h.state == "void"]
        if any(math.isclose(h.drill_diameter_mm, diameter) and hole_errors([(x, y, diameter)], page_holes(
                [h], template_origin_mm(SMALL, template_sheet(SMALL, face, ISSUE))))[0] < 0.01 for h in void):
            continue  # crossed out: its lines run through the circle
        found = raster_circle(grey, x, y, diameter / 2)
        assert math.hypot(found[0] - x, found[1] - y) < WITHIN_MM
        assert found[2] == approx(diameter, abs=0.1)


def test_svg_and_dxf_say_the_same_holes():
    for face in "AB":
        sheet = template_sheet(PANEL, face, ISSUE)
        expected = _expected(PANEL, face)
        assert max(hole_errors(svg_circles(svg_bytes(sheet)), expected)) < 0.001
        # the DXF's 0, 0 is the face's own lower left corner: its circles are the record's ordinates
        record = [(h.from_left_mm, h.y_mm, h.drill_diameter_mm) for h in PANEL.on(face)]
        assert max(hole_errors(dxf_circles(template_dxf(PANEL, face, ISSUE)), record)) < 1e-6


def test_dxf_is_audited_clean_and_carries_the_facts():
    data = template_dxf(PANEL, "B", ISSUE)
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert not document.audit().errors and not document.audit().fixes
    assert document.header["$INSUNITS"] == 4  # millimetres, DXF reference, HEADER section
    layers = {layer.dxf.name for layer in document.layers}
    assert {"OUTLINE", "DATUM", "REGISTRATION", "CHECK", "CENTRE", "TEXT", "ABANDONED", "HOLE_DATA", "DRILL_3-16",
            "DRILL_30"} <= layers
    attributes = [dict(pairs) for kind, pairs in dxf_entities(data) if kind == "ATTRIB"]
    told = {group[2]: [g[1] for g in attributes if g[2] == group[2]] for group in attributes}
    assert sorted(told["NO"]) == sorted(h.number for h in PANEL.on("B"))
    assert set(told["FACE"]) == {"B"}
    assert sorted(float(v) for v in told["Y"]) == approx(sorted(h.y_mm for h in PANEL.on("B")), abs=1e-4)


def test_bars_are_exact_in_vectors(long_pdfs):
    lengths = [math.dist(*line) for line in pdf_lines(long_pdfs["A"])]
    for bar, count in ((100.0, 2), (101.6, 2), (500.0, 2), (2000.0, 1)):  # a 2000 mm bar fits upright only
        assert sum(abs(length - bar) < 0.01 for length in lengths) >= count, bar


def _bars_in_pixels(data, length, page=0):
    """Lengths, mm, of every bar of a nominal length, level and upright, by the ticks at its ends in pixels."""
    grey, pitch = pixels(data, page), 25.4 / 300
    found = {"level": [], "upright": []}
    for (x0, y0), (x1, y1) in pdf_lines(data, page):
        if abs(math.hypot(x1 - x0, y1 - y0) - length) > 0.01:
            continue
        upright = abs(x1 - x0) < 1e-6
        # sampled 1 mm beside the bar, where only the ticks are dark
        shades = grey[:, round((x0 + 1.0) / pitch)] if upright else grey[round(grey.shape[0] - (y0 - 1.0) / pitch)]
        ends = []
        for at in sorted((y0, y1)) if upright else sorted((x0, x1)):
            near = round(grey.shape[0] - at / pitch) if upright else round(at / pitch)
            dark = [k for k in range(near - 8, near + 9) if shades[k] < 160]
            middle = (sum(dark) / len(dark) + 0.5) * pitch
            ends.append(grey.shape[0] * pitch - middle if upright else middle)
        found["upright" if upright else "level"].append(ends[1] - ends[0])
    return found


@pytest.mark.parametrize("length", [100.0, 101.6, 500.0])
def test_bars_of_the_long_page_are_exact_in_pixels(length):
    panel = replace(SMALL, width_mm=520.0)
    found = _bars_in_pixels(template_pdf(panel, "B", ISSUE), length)
    assert found["level"] and found["upright"]
    for measured in (*found["level"], *found["upright"]):
        assert measured == approx(length, abs=0.1)


def test_the_two_metre_bar_is_exact_in_pixels():
    # narrow, so that the picture of the page stays small
    panel = TemplatePanel("Strip", 120.0, 2050.0, 30.0, True, (replace(PANEL.on("A")[0], from_left_mm=60.0),))
    found = _bars_in_pixels(template_pdf(panel, "A", ISSUE), 2000.0)
    assert found["upright"] == approx([2000.0], abs=0.1)


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_tile_has_true_bars_both_ways_in_both_units(paper):
    data = tiled_template_pdf(SMALL, "A", ISSUE, paper)
    for page in range(1, 1 + len(tiles_of(SMALL, paper))):
        lines = pdf_lines(data, page)
        for length in (100.0, 101.6):
            bars = [line for line in lines if abs(math.dist(*line) - length) < 0.01]
            assert {abs(a[0] - b[0]) < 1e-6 for a, b in bars} == {True, False}, (page, length)
            # well inside the paper: office printers leave up to 1/4 in (6.35 mm) white, common practice
            xs, ys = ([point[axis] for bar in bars for point in bar] for axis in (0, 1))
            assert min(xs) > 6.35 and max(xs) < PAPERS[paper][0] - 6.35
            assert min(ys) > 6.35 and max(ys) < PAPERS[paper][1] - 6.35
    for length in (100.0, 101.6):
        found = _bars_in_pixels(data, length, 1)
        assert [*found["level"], *found["upright"]] == approx([length] * 2, abs=0.1)


@pytest.mark.parametrize("face", ["A", "B"])
def test_running_ordinates_stand_at_the_holes_and_say_their_places(face):
    document = ezdxf.read(io.StringIO(template_dxf(PANEL, face, ISSUE).decode("utf-8")))
    marks = [e for e in document.modelspace() if e.dxf.layer == "ORDINATES"]
    edge = 0.0 if face == "A" else PANEL.width_mm
    holes = [h for h in PANEL.on(face) if h.state != "void"]
    lines = [((e.dxf.start.x, e.dxf.start.y), (e.dxf.end.x, e.dxf.end.y)) for e in marks if e.dxftype() == "LINE"]
    ticks_x = sorted({round(a[0], 4) for a, b in lines if abs(a[1]) < 1e-6 and abs(b[1] + 3.0) < 1e-6})
    ticks_y = sorted({round(a[1], 4) for a, b in lines if abs(a[0] - edge) < 1e-6 and abs(abs(b[0] - edge) - 3) < 1e-6})
    assert ticks_x == approx(sorted(h.from_left_mm for h in holes), abs=1e-3)
    assert ticks_y == approx(sorted(h.y_mm for h in holes), abs=1e-3)
    words = [(e.dxf.rotation, e.dxf.insert if not e.dxf.hasattr("align_point") else e.dxf.align_point, e.dxf.text)
             for e in marks if e.dxftype() == "TEXT"]
    level = [w[2] for w in sorted((w for w in words if abs(w[0] - 90) < 1), key=lambda w: w[1][0])]
    upright = [w[2] for w in sorted((w for w in words if abs(w[0]) < 1), key=lambda w: w[1][1])]
    by_x = sorted(holes, key=lambda h: h.from_left_mm)
    assert level == [f"{h.from_left_mm if face == 'A' else PANEL.width_mm - h.from_left_mm:.2f}" for h in by_x]
    assert upright == [f"{h.y_mm:.2f}" for h in sorted(holes, key=lambda h: h.y_mm)]
    places = sorted(w[1][0] for w in words if abs(w[0] - 90) < 1)
    assert min(b - a for a, b in itertools.pairwise(places)) > 2.5  # words do not lie over each other


def test_spread_moves_no_more_than_it_must():
    # three at one place, 3 apart: symmetric about it (least squares by hand); a far one stays
    assert spread([10.0, 10.0, 10.0, 40.0], 3.0) == approx([7.0, 10.0, 13.0, 40.0])
    # 10 and 11 pooled to 9 and 12 (mean 10.5), which the place 12.5 then joins: mean of 10, 8, 6.5 less k x 3
    assert spread([10.0, 11.0, 12.5], 3.0) == approx([49 / 6, 49 / 6 + 3, 49 / 6 + 6])


def _turned(circles, origin, width_mm):
    """Circles of face B brought into face A's frame by turning the sheet about its long edge."""
    return [(width_mm - (x - origin[0]), y - origin[1], d) for x, y, d in circles]


def test_face_b_turned_over_lies_on_face_a(long_pdfs):
    origins = {face: template_origin_mm(PANEL, template_sheet(PANEL, face, ISSUE)) for face in "AB"}
    a = [(x - origins["A"][0], y - origins["A"][1], d) for x, y, d in pdf_circles(long_pdfs["A"])]
    b = _turned(pdf_circles(long_pdfs["B"]), origins["B"], PANEL.width_mm)
    axes = [(h.from_left_mm, h.y_mm, h.drill_diameter_mm) for h in PANEL.on("A") if h.through]
    crosses = [c for c in a if c[2] == approx(5.0, abs=0.01)]
    assert len(axes) == 2 and len(crosses) == 12
    assert max(hole_errors(a, axes)) < 0.01
    assert max(hole_errors(b, axes)) < 0.01
    assert max(hole_errors(b, crosses)) < 0.01


def test_face_b_turned_over_lies_on_face_a_in_pixels():
    """Each through-axis is found in the pixels of both prints; turned about the long edge they are one axis."""
    found = {}
    for face in "AB":
        sheet = template_sheet(SMALL, face, ISSUE)
        grey, origin = pixels(pdf_bytes([sheet], title="x")), template_origin_mm(SMALL, sheet)
        for hole in (h for h in SMALL.on(face) if h.through):
            x, y, _ = raster_circle(grey, hole.from_left_mm + origin[0], hole.y_mm + origin[1],
                                    hole.drill_diameter_mm / 2)
            from_left = x - origin[0]
            found[hole.number] = (from_left if face == "A" else SMALL.width_mm - from_left, y - origin[1])
    axes = [number for number in found if f"{number}T" in found]
    assert len(axes) == 2
    for number in axes:
        assert math.dist(found[number], found[f"{number}T"]) < WITHIN_MM


def test_both_faces_are_told_from_one_datum_corner():
    for a in (h for h in PANEL.on("A") if h.through):
        b = next(h for h in PANEL.on("B") if h.number == a.number + "T")
        assert datum_x_mm(a, PANEL) == approx(datum_x_mm(b, PANEL), abs=1e-9)
    words = pdf_words(template_pdf(PANEL, "B", ISSUE))
    for hole in PANEL.on("B"):
        assert f"{datum_x_mm(hole, PANEL):.2f}" in words


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_tiles_put_together_by_their_crosses_give_the_record(paper):
    """Offsets of the tiles come from crosses of the same name alone, chained from A1, never from our own layout."""
    data = tiled_template_pdf(PANEL, "B", ISSUE, paper)
    tiles = tiles_of(PANEL, paper)
    marks, holes = {}, {}
    for at, tile in enumerate(tiles, start=1):
        page = pdf_book(data).pages[at]
        holes[tile.name] = pdf_circles(data, at)
        words = [(w["text"], w["x0"] * 25.4 / 72, (float(page.height) - w["bottom"]) * 25.4 / 72)
                 for w in page.extract_words()]
        named = {}
        for x, y, _ in (c for c in holes[tile.name] if abs(c[2] - 3.0) < 0.01):
            name = min(words, key=lambda w: math.hypot(w[1] - x - 2.0, w[2] - y - 2.0))[0]
            named[name] = (x, y)
        marks[tile.name] = named
    shift = {tiles[0].name: (0.0, 0.0)}
    while len(shift) < len(tiles):
        grown = False
        for name, named in marks.items():
            if name in shift:
                continue
            shared = [(known, key) for known in shift for key in named if key in marks[known]]
            if shared:
                known, key = shared[0]
                there, here = marks[known][key], named[key]
                shift[name] = tuple(shift[known][i] + there[i] - here[i] for i in (0, 1))
                for other, cross in shared:  # every other shared cross must agree
                    again = tuple(shift[other][i] + marks[other][cross][i] - named[cross][i] for i in (0, 1))
                    assert math.dist(again, shift[name]) < 0.02
                grown = True
        assert grown, "a tile shares no cross with the others"
    together = [(x + shift[name][0], y + shift[name][1], d) for name, found in holes.items() for x, y, d in found]
    origin = tile_origin_mm(tiles[0])
    assert max(hole_errors(together, page_holes(PANEL.on("B"), origin))) < WITHIN_MM


@pytest.mark.parametrize("face", ["A", "B"])
@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_hole_is_whole_on_a_tile_in_pixels(paper, face):
    data = tiled_template_pdf(SMALL, face, ISSUE, paper)
    greys = {}
    for hole in (h for h in SMALL.on(face) if h.state == "planned"):
        whole = False
        for at, tile in enumerate(tiles_of(SMALL, paper), start=1):
            box = tile.window
            if not (box.left_mm + 4 < hole.from_left_mm < box.right_mm - 4
                    and box.bottom_mm + 4 < hole.y_mm < box.top_mm - 4):
                continue
            grey = greys.setdefault(at, pixels(data, at))
            x, y = hole.from_left_mm + tile_origin_mm(tile)[0], hole.y_mm + tile_origin_mm(tile)[1]
            found = raster_circle(grey, x, y, hole.drill_diameter_mm / 2)
            assert math.hypot(found[0] - x, found[1] - y) < WITHIN_MM
            whole = True
        assert whole, hole.number
    assert OVERLAP_MM > 6.35 + 2 * 4 - 0.001  # the widest drill with its mark fits an overlap


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_tiles_cover_the_face_and_fit_their_paper(paper):
    tiles = tiles_of(PANEL, paper)
    assert min(t.window.left_mm for t in tiles) <= 0 and max(t.window.right_mm for t in tiles) >= PANEL.width_mm
    assert min(t.window.bottom_mm for t in tiles) <= 0 and max(t.window.top_mm for t in tiles) >= PANEL.height_mm
    sheet = tiled_template(PANEL, "A", ISSUE, paper)[1]
    assert (sheet.width_mm, sheet.height_mm) == PAPERS[paper]
    assert len({t.name for t in tiles}) == len(tiles)


# mutants: each check must see its fault


def _mutant(sheet, x_ratio=1.0, y_ratio=1.0):
    return Sheet(sheet.width_mm, sheet.height_mm, stretched(sheet.items, x_ratio, y_ratio), sheet.title)


def test_a_print_at_99_percent_is_seen_by_holes_and_bars():
    sheet = template_sheet(PANEL, "A", ISSUE)
    data = pdf_bytes([_mutant(sheet, 0.99, 0.99)], title="mutant")
    assert max(hole_errors(pdf_circles(data), _expected(PANEL, "A"))) > WITHIN_MM
    lengths = [math.dist(*line) for line in pdf_lines(data)]
    for bar in (100.0, 500.0, 2000.0):
        assert not any(abs(length - bar) < 0.1 for length in lengths)


def _moved(panel, face, move):
    return replace(panel, holes=tuple(move(h) if h.face == face else h for h in panel.holes))


def test_an_unmirrored_face_b_is_seen():
    wrong = _moved(PANEL, "B", lambda h: replace(h, from_left_mm=PANEL.width_mm - h.from_left_mm))
    errors = hole_errors(pdf_circles(template_pdf(wrong, "B", ISSUE)), _expected(PANEL, "B"))
    assert min(errors) > WITHIN_MM


def test_swapped_axes_are_seen():
    square = invented_panel("Square", 7, 3, 700.0, 700.0)
    wrong = _moved(square, "A", lambda h: replace(h, from_left_mm=h.y_mm, y_mm=h.from_left_mm))
    assert min(hole_errors(pdf_circles(template_pdf(wrong, "A", ISSUE)), _expected(square, "A"))) > WITHIN_MM


def test_one_hole_moved_by_a_fifth_of_a_millimetre_is_seen():
    number = PANEL.on("A")[4].number
    wrong = _moved(PANEL, "A", lambda h: replace(h, from_left_mm=h.from_left_mm + 0.2) if h.number == number else h)
    errors = hole_errors(pdf_circles(template_pdf(wrong, "A", ISSUE)), _expected(PANEL, "A"))
    assert sum(error > WITHIN_MM for error in errors) == 1
    grey = pixels(template_pdf(_moved(SMALL, "A", lambda h: replace(h, from_left_mm=h.from_left_mm + 0.2)), "A", ISSUE))
    hole, at = next((h, at) for h, at in zip(SMALL.on("A"), _expected(SMALL, "A")) if h.state == "planned")
    found = raster_circle(grey, at[0], at[1], hole.drill_diameter_mm / 2)
    assert math.hypot(found[0] - at[0], found[1] - at[1]) > WITHIN_MM


# what stands on the sheets


def test_unmeasured_sheets_are_not_for_drilling_and_say_why():
    words = pdf_words(template_pdf(invented_panel(measured=False), "A", ISSUE))
    assert words.count("NOT FOR DRILLING") >= 5
    for reason in ("thickness of panel West is not measured: every held hole (", "rod not measured: every held hole ("):
        assert any(line.startswith(reason) for line in words.splitlines()), reason  # one a line
    assert "NOT FOR DRILLING" not in pdf_words(template_pdf(PANEL, "A", ISSUE))
    tiles = tiled_template_pdf(invented_panel(measured=False), "A", ISSUE, "A4")
    for page in range(len(pypdf.PdfReader(io.BytesIO(tiles), strict=True).pages)):
        assert "NOT FOR DRILLING" in pdf_words(tiles, page), page


def test_one_held_hole_among_released_ones_is_off_the_drilling_layers_and_says_so():
    held = next(h for h in PANEL.on("A") if h.released)
    panel = replace(PANEL, holes=tuple(replace(h, held=("the object is not weighed",)) if h is held else h
                                       for h in PANEL.holes))
    drilling = [c for c in dxf_circles(template_dxf(panel, "A", ISSUE)) if c[3].startswith("DRILL_")]
    assert len(drilling) == sum(h.released for h in panel.on("A"))
    assert hole_errors(drilling, [(held.from_left_mm, held.y_mm, held.drill_diameter_mm)])[0] > 5.0
    words = pdf_words(template_pdf(panel, "A", ISSUE))
    assert "NOT FOR DRILLING" not in words and f"HELD, do not drill: {held.number}" in words
    assert f"the object is not weighed: hole {held.number}" in words and f"{held.number} HELD" in words


def test_what_a_drilling_machine_reads_is_what_is_released():
    # outside: ezdxf reads the layers and blocks back
    document = ezdxf.read(io.StringIO(template_dxf(PANEL, "B", ISSUE).decode("utf-8")))
    layers = {"released": "HOLE_DATA", "drilled": "DRILLED", "held": "HELD", "not used": "ABANDONED"}
    blocks = {}
    for block in document.modelspace().query("INSERT"):
        told = {a.dxf.tag: a.dxf.text for a in block.attribs}
        assert block.dxf.layer == layers[told["RELEASE"]]
        blocks[told["NO"]] = told
    for hole in PANEL.on("B"):
        told = blocks[hole.number]
        # X from the datum, face B's right edge; LEFT from its own left one
        assert float(told["X"]) == approx(600.0 - hole.from_left_mm,
                                          abs=1e-4) and float(told["LEFT"]) == approx(hole.from_left_mm)
    circles = [e for e in document.modelspace().query("CIRCLE") if e.dxf.layer.startswith("DRILL_")]
    assert len(circles) == sum(hole.released for hole in PANEL.on("B"))


def test_the_sheet_says_what_a_machinist_needs(long_pdfs):
    words = pdf_words(long_pdfs["A"])
    for needed in ("FACE A", "THIS SIDE TOWARDS YOU", "DATUM", "polyester film", "authority", "licensed engineer",
                   "located by", "checked by", "drilled by", "NOT USED", "DRILLED", "session 3",
                   "7 holes released to drill, 0 held, 1 drilled, 1 not used", "post ⌀", "500 mm", "4 in", "x factor",
                   "Turn the sheet about its long edge"):
        assert needed in words, needed


def test_a_correction_makes_an_untrue_printer_true():
    # a printer that shrinks x by 0.3 % and stretches y by 0.2 %, measured on the 500 and 2000 mm bars
    printer = (0.997, 1.002)
    correction = Correction.from_bars(500.0, 500.0 * printer[0], 2000.0, 2000.0 * printer[1])
    sheet = template_sheet(PANEL, "A", ISSUE, correction)
    printed = Sheet(sheet.width_mm, sheet.height_mm, stretched(sheet.items, *printer), sheet.title)
    plain = template_sheet(PANEL, "A", ISSUE)
    # the corrected page has one line more of words: only differences between holes are compared
    got = pdf_circles(pdf_bytes([printed], title="x"))
    origin = template_origin_mm(PANEL, plain)
    lift = sheet.height_mm / correction.y_ratio - plain.height_mm
    assert max(hole_errors(got, page_holes(PANEL.on("A"), (origin[0], origin[1] + lift)))) < WITHIN_MM
    assert "STRETCHED FOR ONE PRINTER" in pdf_words(pdf_bytes([sheet], title="x"))
    tiles = pdf_bytes(tiled_template(SMALL, "A", ISSUE, "A4", correction), title="x")
    assert "ordinates" in pdf_words(tiles, len(pdf_book(tiles).pages) - 1)
    for page in range(len(pdf_book(tiles).pages)):
        assert "STRETCHED FOR ONE PRINTER" in pdf_words(tiles, page).replace("\n", " "), page
        assert overlapping_words(tiles, page) == [] or page > 0


def test_a_fitted_print_is_refused_not_corrected():
    with pytest.raises(ValueError, match="scaled to fit"):
        Correction.from_bars(100.0, 97.0, 100.0, 97.0)


def test_too_long_a_page_is_refused():
    with pytest.raises(ValueError, match="print it in tiles"):
        template_sheet(invented_panel(height_mm=4990.0), "A", ISSUE)


def test_same_panel_same_bytes():
    for write in (lambda s: pdf_bytes([s], title="x"), svg_bytes, dxf_bytes):
        assert write(template_sheet(SMALL, "A", ISSUE)) == write(template_sheet(SMALL, "A", ISSUE))


def test_a_hole_off_the_sheet_is_refused_and_a_number_given_twice_too():
    hole = TemplateHole("W-1", "FB-001", "A", 700.0, 10.0, "3/16", 4.7625, 20.0, False, 4.76, 1)
    with pytest.raises(ValueError, match="outside panel"):
        TemplatePanel("West", 600.0, 2200.0, 30.0, True, (hole,))
    inside = replace(hole, from_left_mm=100.0)
    with pytest.raises(ValueError, match="given twice: W-1 on face A"):
        TemplatePanel("West", 600.0, 2200.0, 30.0, True, (inside, inside))
    # the two ends of a through-axis share their number
    assert TemplatePanel("West", 600.0, 2200.0, 30.0, True, (inside, replace(inside, face="B"))).on("B")


#: Words of the whole sheet: larger than a tile's overlap, they read on across a joint once the tiles are laid together.
ACROSS_JOINTS = {"FACE A", "FACE B", "THIS SIDE TOWARDS YOU", "↑ TOP", "DATUM   Y = 0 along this edge",
                 "X = 0 along this edge", "TURN THE SHEET ABOUT ITS LONG EDGE: TOP STAYS TOP"}


@pytest.mark.parametrize(("face", "paper", "seed", "count"), [
    ("A", "A4", 5, 9), ("B", "A4", 5, 9), ("B", "A3", 5, 9), ("B", "letter", 5, 9), ("A", "letter", 6, 24)])
def test_no_tile_prints_words_over_each_other_or_cuts_a_figure(face, paper, seed, count):
    # outside: the clipping path is applied by the rules of the PDF standard, not by our own geometry. A figure cut at a
    # tile's edge ("Y 74" of "Y 740.00") reads as another figure
    panel = invented_panel(seed=seed, count=count)
    data, tiles = tiled_template_pdf(panel, face, ISSUE, paper), tiles_of(panel, paper)
    for page, tile in enumerate(tiles, start=1):
        over, cut = tile_words(data, page)
        assert over == [], tile.name
        assert set(cut) <= ACROSS_JOINTS, tile.name
    for page in (0, *range(len(tiles) + 1, len(pdf_book(data).pages))):
        assert overlapping_words(data, page) == [], page


def test_every_cross_and_hole_of_the_tiles_is_named_whole_somewhere():
    # what is left out of one tile for want of room stands on another
    data = tiled_template_pdf(PANEL, "A", ISSUE, "A4")
    told = "\n".join(pdf_words(data, page) for page in range(1, 1 + len(tiles_of(PANEL, "A4"))))
    # by hand: 20 mm from the edges and thirds of the 2160 mm between; 600 mm wide
    for figure in ("X 20.00", "X 300.00", "X 580.00", "Y 20.00", "Y 740.00", "Y 1460.00", "Y 2180.00"):
        assert told.count(figure) >= (4 if figure[0] == "X" else 3), figure
    for hole in PANEL.on("A"):
        assert hole.number in told


def test_the_reader_of_tiles_sees_what_is_cut_and_what_is_hidden():
    window = Box(20.0, 20.0, 60.0, 60.0)
    under = Group((Text(10.0, 30.0, "Y 740.00", 3.0), Text(30.0, 80.0, "hidden", 3.0), Text(25.0, 50.0, "whole", 3.0)),
                  clip=window)

    def read(*words):
        return tile_words(pdf_bytes([Sheet(100.0, 100.0, (under, *words), "x")], title="x"), 0)

    assert read() == ([], ["Y 740.00"])
    assert read(Text(30.0, 80.0, "bar", 3.0)) == ([], ["Y 740.00"])  # over words that the path hides
    assert read(Text(26.0, 50.5, "bar", 3.0))[0] != []


@pytest.mark.parametrize("clock_deg", [0.0, 30.0, -45.0])
@pytest.mark.parametrize("face", ["A", "B"])
def test_the_arrow_at_a_hole_points_to_12_o_clock_as_its_own_viewer_sees_it(face, clock_deg):
    # counter-clockwise from straight up: at +30 deg the arrow leans to the viewer's left, x = -sin 30 = -0.5
    hole = TemplateHole("H1", "1", face, 100.0, 200.0, "6 mm", 6.0, 20.0, False, 6.0, 1, clock_deg=clock_deg)
    shaft = next(item for item in hole_marks(hole) if isinstance(item, Path) and item.layer == "CLOCK")
    (x0, y0), (x1, y1) = shaft.points[0], shaft.points[-1]
    long = math.hypot(x1 - x0, y1 - y0)
    assert ((x1 - x0) / long, (y1 - y0) / long) == approx((-math.sin(math.radians(clock_deg)),
                                                           math.cos(math.radians(clock_deg))))
