"""Outlines, gauges, elevations and overlays read back: lengths at 1:1, sides, scales."""

import numpy as np
import pdfplumber
import pytest
from pytest import approx

from scanprep.papers.drawing.letters import letters_finding, missing_letters, printable, text_width_mm
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import PAPERS, Path, Sheet, Text, flattened
from scanprep.papers.lists.elevation import ElevationItem, ElevationPanel, elevation_sheet
from scanprep.papers.mount.outline_sheet import OutlineSubject, gauge_sheet, mock_up_sheet, page_for
from scanprep.papers.templates.overlay_sheet import nearest_pairs, overlay_long_sheet, overlay_sheet
from tests.papers.invented import invented_spec
from tests.papers.panels import invented_panel
from tests.papers.reading import hole_errors, overlapping_words, pdf_circles, pdf_words

ISSUE = Issue(case="Faces of a river town")
#: An L of 80 x 60 with its foot to the viewer's right, so that a mirrored print is seen.
ELL = np.array([(-40, -30), (40, -30), (40, -10), (-10, -10), (-10, 30), (-40, 30)], dtype=float)


def _subject(rings=(ELL,)):
    return OutlineSubject("FB-014", "Angle iron", rings, (-20.0, 5.0), 15.0, 4.76, "West A, x 412.35, y 1260.50")


def _longest_ring(sheet):
    """The outline's points as drawn, read from the PDF, mm."""
    import io

    with pdfplumber.open(io.BytesIO(pdf_bytes([sheet], title="x"))) as book:
        page = book.pages[0]
        shapes = [c["pts"] for c in page.curves] + [r["pts"] for r in page.rects if "pts" in r]
        ring = max((s for s in shapes if len(s) >= 6), key=lambda s: max(p[0] for p in s) - min(p[0] for p in s))
        return np.array([(x, float(page.height) - y) for x, y in ring]) * 25.4 / 72


def test_a_mock_up_outline_is_true_to_size_and_not_mirrored():
    ring = _longest_ring(mock_up_sheet(_subject(), ISSUE, None))
    assert np.ptp(ring, axis=0) == approx((80, 60), abs=0.01)
    foot = ring[ring[:, 1] < ring[:, 1].min() + 25]
    assert foot[:, 0].max() == approx(ring[:, 0].max(), abs=0.01)  # the foot reaches to the right
    assert ring[ring[:, 1] > ring[:, 1].max() - 1][:, 0].min() == approx(ring[:, 0].min(), abs=0.01)


def test_a_gauge_is_seen_from_behind_with_the_post_on_its_axis():
    spec, _ = invented_spec()
    sheet = gauge_sheet(_subject(), spec.hold, ISSUE, None)
    ring = _longest_ring(sheet)
    assert np.ptp(ring, axis=0) == approx((80, 60), abs=0.01)
    top = ring[ring[:, 1] > ring[:, 1].max() - 1]
    assert top[:, 0].max() == approx(ring[:, 0].max(), abs=0.01)  # the upright limb stands at the right from behind
    circle = next(c for c in pdf_circles(pdf_bytes([sheet], title="x")) if c[2] == approx(4.76, abs=0.01))
    # the post is 20 to the viewer's left of the middle: 20 to the right from behind, 35 above the lowest point
    assert circle[0] - ring[:, 0].mean() == approx(20 - (ring[:, 0].mean() - (ring[:, 0].min() + 40)), abs=0.02)
    assert circle[1] - ring[:, 1].min() == approx(35, abs=0.02)


def test_bend_strips_are_as_long_as_the_wires():
    spec, _ = invented_spec()
    sheet = gauge_sheet(_subject(), spec.hold, ISSUE, None)
    levels = [abs(i.points[1][0] - i.points[0][0]) for i in flattened(sheet.items)
              if isinstance(i, Path) and len(i.points) == 2 and i.points[0][1] == i.points[1][1]]
    for tip in spec.hold.tips:
        assert any(length == approx(tip.arm.developed_length_mm, abs=1e-6) for length in levels)


def test_the_number_stays_inside_a_narrow_outline():
    # a pan: a stem 6 mm wide, 100 long, over a bowl 30 wide; the axis on the stem
    ring = np.array([(-3, 15), (-15, 10), (-15, -10), (15, -10), (15, 10), (3, 15), (3, 115), (-3, 115)], dtype=float)
    subject = OutlineSubject("FB-009", "Pan", (ring,), (0.0, 60.0), 0.0, 3.0, "not placed")
    items = flattened(mock_up_sheet(subject, ISSUE, None).items)
    [words] = [item for item in items if isinstance(item, Text) and "↑ FB" in item.text]
    width = text_width_mm(words.text, words.height_mm, True)
    assert width < 30.0
    axis = next(item for item in flattened(mock_up_sheet(subject, ISSUE, None).items)
                if isinstance(item, Path) and item.layer == "CENTRE")
    x0, y0 = (axis.points[0][0] + axis.points[1][0]) / 2, axis.points[0][1] - 60.0
    assert words.x_mm - width / 2 > x0 - 15 and words.x_mm + width / 2 < x0 + 15
    assert y0 - 10 < words.y_mm and words.y_mm + words.height_mm < y0 + 10


def test_words_over_each_other_are_seen():
    def page(*words):
        return pdf_bytes([Sheet(100.0, 50.0, words)], title="x")

    first = Text(10.0, 20.0, "number 14", 3.0)
    assert overlapping_words(page(first, Text(10.0, 26.0, "number 15", 3.0))) == []
    assert overlapping_words(page(first, Text(22.0, 21.0, "face A", 3.0))) == [("face A", "number 14")]
    assert overlapping_words(page(first, Text(14.0, 15.0, "post", 3.0, angle_deg=90.0))) != []


@pytest.mark.parametrize(("wide", "tall", "page"), [
    (150, 200, (210.0, 297.0)), (280, 150, (297.0, 210.0)), (280, 400, (297.0, 420.0)), (900, 700, (900, 700)),
])
def test_pages_grow_with_the_outline(wide, tall, page):
    assert page_for(wide, tall, "A4") == page


def test_an_elevation_is_to_scale_and_shows_the_other_face_turned():
    panel = ElevationPanel("West", 600.0, 2000.0, 150.0, (1205.0,))
    things = [ElevationItem("FB-1", "A", (ELL + np.array([100, 500]),), (100.0, 500.0)),
              ElevationItem("FB-2", "B", (ELL + np.array([100, 900]),), (100.0, 900.0))]
    sheet = elevation_sheet(panel, "A", things, ISSUE)
    words = pdf_words(pdf_bytes([sheet], title="x"))
    scale = float(words.split("scale 1 : ")[1].split(";")[0])
    paths = [i for i in flattened(sheet.items) if isinstance(i, Path) and len(i.points) == 6]
    a, b = (next(p for p in paths if bool(p.pen.dash_mm) is dashed) for dashed in (False, True))
    frame = next(i for i in flattened(sheet.items) if isinstance(i, Path) and i.pen and i.pen.width_mm == 0.5
                 and len(i.points) == 4)
    left, low = frame.points[0]
    assert (min(p[0] for p in a.points) - left) * scale == approx(60, abs=1e-6)
    # B's viewer sees its L from 60 to 140 from the left: A's viewer sees it from 460 to 540
    assert (min(p[0] for p in b.points) - left) * scale == approx(460, abs=1e-6)
    assert (min(p[1] for p in b.points) - low) * scale == approx(870, abs=1e-6)
    assert "eye 1205" in words and "floor" in words


def test_the_overlay_turns_face_b_over():
    panel = invented_panel()
    data = pdf_bytes([overlay_long_sheet(panel, ISSUE)], title="overlay")
    expected = [((h.from_left_mm if h.face == "A" else panel.width_mm - h.from_left_mm) + 30, h.y_mm + 30,
                 h.drill_diameter_mm)
                for h in panel.holes]
    assert max(hole_errors(pdf_circles(data), expected)) < 0.01
    words = pdf_words(pdf_bytes([overlay_sheet(panel, ISSUE)], title="x"))
    assert all(h.number in words for h in panel.holes)


def test_nearest_pairs_by_hand():
    panel = invented_panel()
    gap, a, b = nearest_pairs(panel)[0]
    # the two ends of a through-axis lie on each other: the clear distance is minus the diameter
    assert {a.face, b.face} == {"A", "B"} and gap == approx(-max(h.drill_diameter_mm for h in panel.holes if h.through))


@pytest.mark.parametrize("text", ["Žďár nad Sázavou", "ὑδρία", "кубок", "Վան", "თბილისი", "כד", "naïve çà œuf ⌀ ↧"])
def test_scripts_that_the_fonts_cover_are_printed(text):
    assert missing_letters(text) == ()
    assert letters_finding(text, "object 1") is None


def test_scripts_that_they_lack_are_told():
    assert printable("杯 cup") == "[U+676F] cup"
    finding = letters_finding("杯 cup", "object 1")
    assert finding is not None and "U+676F" in finding.sentence


def test_right_to_left_words_are_set_from_right_to_left():
    # the first letter of a Hebrew word stands at the right; numbers in it keep their order
    assert printable("כד 12") == "12 דכ"  # Unicode annex 9, rule W2 and L2: the number stands left of the word
    assert printable("כד")[::-1] == "כד"
    # annex 9, N0: brackets round letters of the line's direction go with them, with the number in front
    assert printable("כד (12 cm)") == "דכ (12 cm)"
    # Arabic: beh, yeh, teh join as initial, medial, final (Unicode presentation forms B), seen from the right
    assert printable("بيت") == "\ufe96\ufef4\ufe91"
    # lam and alef are never written apart (Unicode, section 9.2): one form, here final after seen; then meem alone
    assert printable("سلام") == "\ufee1\ufefc\ufeb3" and missing_letters("سلام") == ()


def test_paper_sizes_are_those_of_the_standards():
    # ISO 216; ANSI letter 8.5 x 11 in, tabloid 11 x 17 in
    assert PAPERS["A4"] == (210.0, 297.0) and PAPERS["A3"] == (297.0, 420.0)
    assert PAPERS["Letter"] == approx((8.5 * 25.4, 11 * 25.4)) and PAPERS["Tabloid"] == approx((11 * 25.4, 17 * 25.4))
