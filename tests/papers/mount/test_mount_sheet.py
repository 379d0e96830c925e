"""The mount sheet read back from its PDF by independent readers: pypdf (strict) and pdfplumber."""

import io
import re
from dataclasses import replace

import numpy as np
import pdfplumber
import pypdf
import pytest
from pytest import approx

from scanprep.findings import Finding, Verdict
from scanprep.hold.records import Bend, Face, HoldSet
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import Image, Text, flattened
from scanprep.papers.mount.mount_page import governing
from scanprep.papers.mount.mount_sheet import mount_sheet_pdf, mount_sheets
from scanprep.papers.mount.mount_words import (
    bar_words,
    direction_words,
    leaving_words,
    second_wire_words,
    wire_turns_deg,
)
from scanprep.papers.object_papers import object_papers
from tests.papers.invented import invented_spec
from tests.papers.reading import overlapping_words, pdf_words

PT_MM = 25.4 / 72


@pytest.fixture(scope="module")
def sheet_a4():
    spec, working = invented_spec()
    return mount_sheet_pdf(spec, working, Issue(case="Faces of a river town"))


def _words(data):
    with pdfplumber.open(io.BytesIO(data)) as book:
        return "\n".join(page.extract_text() for page in book.pages)


def test_an_arm_leaves_the_hub_where_and_which_way_the_sheet_says():
    # by hand, viewer's right x, up y: it starts 3 right of and 1 below the axis, runs level to the right (90 deg
    # clockwise of straight up), then turns towards the viewer
    spec, _ = invented_spec()
    path = np.array([[3.0, -1.0, -20.0], [23.0, -1.0, -20.0], [23.0, -1.0, 0.0]])
    arm = replace(spec.hold.tips[0].arm, path_mm=path)
    assert leaving_words(arm, (0.0, 0.0, -22.0), Measures("mm")) == (
        "3.0 right, 1.0 below the post's axis, towards 90.0° ↻ from 12 o'clock; first bend forward")
    away = replace(arm, path_mm=np.array([[0.0, 0.0, -20.0], [0.0, 0.0, -5.0], [0.0, 9.0, -5.0]]))
    assert leaving_words(away, (0.0, 0.0, -22.0), Measures("mm")) == (
        "at the post's axis, towards forward; first bend up")


def test_every_face_of_a_tip_has_its_place_and_its_own_limit_on_the_two_sided_sheet():
    spec, working = invented_spec()
    tip = spec.hold.tips[2]
    # datums of the invented cup, 70 mm each way about its centre: left, low and back are at -35
    faces = (Face(tip.point_mm, tip.normal, 2.0, 0.8), Face((-30.0, -5.0, 11.0), (0.0, 1.0, 0.0), 1.5, 0.8))
    hold = replace(spec.hold, tips=(*spec.hold.tips[:2], replace(tip, faces=faces), *spec.hold.tips[3:]))
    words = " ".join(_words(mount_sheet_pdf(replace(spec, holds=HoldSet((hold,), ())), working)).split())
    assert "touches also at b: 5.0, 30.0, 46.0 (at most 1.5 N)" in words
    for needed in ("leaves hub", "MIDDLE of the bend's arc", "angle TURNED", "first bend"):
        assert needed in words, needed


def test_the_opening_is_drawn_on_the_sheet_and_on_both_gauges(sheet_a4):
    spec, working = invented_spec()  # arm 4 opens to the right; the object leaves forward and up
    gauges = object_papers(spec, working, ("gauges",), Issue(), "not placed", 0.0, None)["gauges/FB-014.pdf"](None)
    behind, side = (pdf_words(gauges, page) for page in (0, 1))
    assert "opens" in behind and "out" in side.split() and "panel at the right" in side
    assert overlapping_words(gauges) == []
    assert {"opens", "out"} <= set(pdf_words(sheet_a4, 0).split())


def test_the_second_wire_of_an_arm_is_told_with_its_length_bends_and_where_it_is_soldered():
    # by hand: from the hub's back 10 mm out, then 40 mm down beside a straight arm of 60 mm, soldered over its last 30
    spec, working = invented_spec()
    hold = spec.hold
    x, y, z = hold.hub.centre_mm
    back = z - hold.hub.thickness_mm - 2.0
    path = np.array([[x, y, z], [x, y - 60.0, z], [x, y - 60.0, z + 20.0]])
    second = np.array([[x, y, back], [x, y - 10.0, back], [x, y - 30.0, z - 2.0], [x, y - 40.0, z - 2.0],
                       [x, y - 50.0, z - 2.0]])
    tip = replace(hold.tips[0], arm=replace(hold.tips[0].arm, path_mm=path, pieces_mm=(second,)))
    words = second_wire_words(replace(hold, tips=(tip, *hold.tips[1:])), tip.arm, Measures("mm"))
    assert "soldered to the arm from 30.0 to 50.0 along it" in words and words.startswith("⌀ 2.38")
    straight = float(np.linalg.norm(np.diff(second, axis=0), axis=1).sum())
    assert float(re.search(r"([\d.]+) long", words)[1]) == approx(straight, abs=0.3)  # its two bends are slight
    shown = replace(spec, holds=HoldSet((replace(hold, tips=(tip, *hold.tips[1:])),), ()))
    printed = " ".join(pdf_words(mount_sheet_pdf(shown, working), 0).split())
    assert "second wire" in printed and "soldered to the arm from 30.0 to 50.0 along it" in printed


@pytest.mark.parametrize(("kind", "says"), [("bend", "with the fingers"), ("finger", "annealed"),
                                            ("sleeved pin", "push fit"), ("screw", "undo the screw")])
def test_how_the_mount_opens_is_drawn_in_a_detail_with_its_scale(kind, says):
    spec, working = invented_spec()
    opening = replace(spec.hold.opening, kind=kind, wire_mm=1.02 if kind == "finger" else 0.0)
    shown = replace(spec, holds=HoldSet((replace(spec.hold, opening=opening),), ()))
    words = " ".join(pdf_words(mount_sheet_pdf(shown, working), 0).split())
    for needed in ("HOW IT OPENS", "open", "closed", "seen from", says):
        assert needed in words, needed
    assert re.search(r"(1 : [\d.]+|[\d.]+ : 1), seen from", words)
    assert "pliers" not in words.replace("no pliers", "")
    assert overlapping_words(mount_sheet_pdf(shown, working)) == []


def test_the_side_gauge_is_true_to_scale():
    # the invented post is 22 mm free behind the hub; the cup 70 mm high and deep
    spec, working = invented_spec()
    gauges = object_papers(spec, working, ("gauges",), Issue(), "not placed", 0.0, None)["gauges/FB-014.pdf"](None)
    with pdfplumber.open(io.BytesIO(gauges)) as book:
        page = book.pages[1]
        boxes = [((c["x1"] - c["x0"]) * PT_MM, (c["bottom"] - c["top"]) * PT_MM) for c in (*page.rects, *page.curves)]
    assert any(wide == approx(22.0, abs=0.05) and tall == approx(4.76, abs=0.05) for wide, tall in boxes)
    # an outline of 0.3 mm fineness, asked to a tenth of a millimetre each side
    assert any(wide == approx(70.0, abs=0.6) and tall == approx(70.0, abs=0.6) for wide, tall in boxes)


def test_a_strict_reader_opens_it_and_finds_every_font_inside(sheet_a4):
    book = pypdf.PdfReader(io.BytesIO(sheet_a4), strict=True)
    assert len(book.pages) == 2
    fonts = {}
    for page in book.pages:
        fonts.update({k: v.get_object() for k, v in page["/Resources"]["/Font"].items()})
        assert [float(v) * PT_MM for v in page.mediabox[2:]] == approx([210, 297], abs=0.01)
        assert "/UserUnit" not in page
    assert fonts
    for font in fonts.values():
        assert "/FontFile2" in font["/FontDescriptor"].get_object(), font["/BaseFont"]
        assert "DejaVuSans" in font["/BaseFont"]


def test_it_says_what_the_bench_needs(sheet_a4):
    words = _words(sheet_a4)
    for needed in ("FB-014", "Žďár, ὑδρία, кубок", "LOOK", "42.0 mm / 72.0 mm", "412.35", "1260.50", "3/16", "#8a6f4d",
                   "clock mark", "12 o'clock", "found", "0.28", "SIGN-OFF", "conservator", "licensed engineer",
                   "Faces of a river town", "not registered", "NOT FOR DRILLING", "with the fingers", "hold margin",
                   "1.77", "suede"):
        assert needed in words, needed


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter", "Tabloid"])
def test_the_sheet_beside_the_spec_is_one_page_with_what_the_bench_needs(paper):
    spec, working = invented_spec()
    data = mount_sheet_pdf(spec, working, Issue(case="Faces of a river town", paper=paper), sides=1)
    assert len(pypdf.PdfReader(io.BytesIO(data), strict=True).pages) == 1
    words = " ".join(_words(data).split())
    for needed in ("FB-014", "FRONT", "SIDE", "BACK", "TIPS AND ARMS", "with the fingers", "42.0 mm / 72.0 mm",
                   "412.35", "3/16", "clock mark", "#8a6f4d", "bends", "CALIPERS", "6.7 mm of sheet is left",
                   "UNMEASURED", "SIGN-OFF", "conservator decides", "licensed engineer", "eye protection", "1 of 1"):
        assert needed in words, needed
    assert overlapping_words(data) == []


@pytest.mark.parametrize("tips", [1, 6, 8])
def test_one_page_takes_many_tips_and_stays_readable(tips):
    spec, working = invented_spec()
    hold = spec.hold
    many = replace(hold, tips=(hold.tips * 2)[:tips], opening=replace(hold.opening, arm=0))
    data = mount_sheet_pdf(replace(spec, holds=HoldSet((many,), ())), working, sides=1)
    with pdfplumber.open(io.BytesIO(data)) as book:
        [page] = book.pages
        # the smallest labels of the title block are 1.3 mm high, 5.0 pt; words of the mount 1.5 mm or more
        sizes = sorted({round(c["size"], 1) for c in page.chars if c["upright"]})
    assert sizes[0] >= 4.9
    assert overlapping_words(data) == []


def test_one_page_never_refuses_a_mount_and_leaves_bends_to_the_other_sheet():
    spec, working = invented_spec()
    hold = spec.hold
    bent = [replace(tip, arm=replace(tip.arm, bends=tip.arm.bends * 6)) for tip in hold.tips * 3]
    crowded = replace(spec, holds=HoldSet((replace(hold, tips=tuple(bent)),), ()))
    words = " ".join(_words(mount_sheet_pdf(crowded, working, sides=1)).split())
    assert "Bends (144): see the two-sided mount sheet" in words  # 12 tips of 12 bends
    assert "412.35" in words and "SIGN-OFF" in words


def test_one_page_of_an_object_without_a_hold():
    spec, working = invented_spec()
    data = mount_sheet_pdf(replace(spec, chosen=None, plan=None), working, sides=1)
    words = _words(data)
    assert "No hold was found" in words and "SIGN-OFF" in words
    assert len(pypdf.PdfReader(io.BytesIO(data), strict=True).pages) == 1


def test_governing_checks_name_the_loudest_of_each_stage():
    spec, _ = invented_spec()
    names = [check.name for check in governing(spec)]
    assert names[0] == "hole-web"  # the only one that says look
    assert {"post-droop", "hole-web"} <= set(names) and len(names) <= 7


def test_inches_are_said_in_inches():
    spec, working = invented_spec()
    words = _words(mount_sheet_pdf(spec, working, Issue(measures=Measures("in"), paper="Letter")))
    # 412.35 mm / 25.4 = 16.234 in; 42 mm = 1.6535 in = 1 21/32 in (to 1/64: 105.8 of 64ths)
    assert "16.234" in words and "1 21/32 in" in words and "inches" in words


def test_same_input_same_bytes(sheet_a4):
    spec, working = invented_spec()
    assert mount_sheet_pdf(spec, working, Issue(case="Faces of a river town")) == sheet_a4


def test_the_front_picture_is_to_scale():
    spec, working = invented_spec()
    sheet = mount_sheets(spec, working, Issue(), None)[0]
    front = next(item for item in flattened(sheet.items) if isinstance(item, Image))
    words = _words(pdf_bytes([sheet], title="x"))
    scale = float(words.split("scale 1 : ")[1].split(":")[0].split()[0])
    # the cup is 70 wide, its arms run inside that, and the window has 1 mm of air on each side
    assert front.width_mm * scale == approx(72.0, abs=0.3 * scale)


def test_every_finding_is_printed_however_many():
    spec, working = invented_spec()
    many = tuple(Finding(f"slug-{k}", "object FB-014", Verdict.LOOK,
                         f"object FB-014: sentence number {k} " + "word " * 30, "Look at it") for k in range(60))
    data = mount_sheet_pdf(replace(spec, findings=many), working)
    words = " ".join(_words(data).split())
    for k in range(60):
        assert f"sentence number {k} word" in words
    assert overlapping_words(data) == []


def test_an_object_without_a_hold_says_so():
    spec, working = invented_spec()
    words = _words(mount_sheet_pdf(replace(spec, chosen=None, plan=None), working))
    assert "No hold was found" in words


@pytest.mark.parametrize("title", [
    "Μικρὸ ἀγγεῖο μὲ δύο λαβές", "Кувшин с двумя ручками, ёлка, Їжак", "İki kulplu küçük çömlek, ığüşö",
    "Bình gốm nhỏ có hai quai, Đặng Ngữ", "Žďár nad Sázavou, façon, grès, étain, þorn, Łódź",
])
def test_titles_of_many_tongues_print_in_letters_not_boxes(title):
    spec, working = invented_spec(title=title)
    data = mount_sheet_pdf(spec, working, sides=1)
    assert title in _words(data)
    # each letter is mapped to a glyph of its own in the embedded font; one that no font has would be said as its code
    with pdfplumber.open(io.BytesIO(data)) as book:
        assert "letters are not in the papers' fonts" not in book.pages[0].extract_text()
        drawn = {c["text"] for c in book.pages[0].chars}
    assert set(title) - {" "} <= drawn


def test_letters_that_no_font_has_are_told():
    spec, working = invented_spec(title="Cup 尾形")
    for sides in (1, 2):
        words = " ".join(_words(mount_sheet_pdf(spec, working, sides=sides)).split())
        assert "[U+5C3E]" in words
        assert "2 letters are not in the papers' fonts" in words


@pytest.mark.parametrize(("direction", "words"), [
    ((0, 0, 1), "forward"), ((0.1, 0.7, 0.7), "up and forward"), ((-1, 0, 0), "to the left"), ((0, -1, 0), "down"),
])
def test_directions_in_a_viewers_words(direction, words):
    assert direction_words(direction) == words


def test_turns_of_the_wire_between_bends_by_hand():
    # along x, bend to y, then bend to z: the planes' normals are +z and +x, about the run +y that is +90 (right hand),
    # which an eye looking along +y sees as clockwise
    path = np.array([[0, 0, 0], [20, 0, 0], [20, 20, 0], [20, 20, 20]], dtype=float)
    assert wire_turns_deg(path) == approx((90.0,))
    # a U in one plane does not turn; a Z in one plane turns by half a turn
    flat = np.array([[0, 0, 0], [20, 0, 0], [20, 20, 0], [0, 20, 0]], dtype=float)
    assert wire_turns_deg(flat) == approx((0.0,), abs=1e-9)
    zed = np.array([[0, 0, 0], [20, 0, 0], [20, 20, 0], [40, 20, 0]], dtype=float)
    assert abs(wire_turns_deg(zed)[0]) == approx(180.0)


def test_soldering_and_opening_go_on_a_sheet_of_their_own_where_the_arms_need_many_words():
    spec, working = invented_spec()
    hold = spec.hold
    back = hold.hub.centre_mm[2] - hold.hub.thickness_mm - 2.0
    tips = []
    for tip in (*hold.tips, *hold.tips[:4]):  # a second wire beside each arm
        path = tip.arm.path_mm
        second = np.vstack([[*path[0][:2], back], path[1:-1] - np.array([0.0, 0.0, 2.0])])
        tips.append(replace(tip, arm=replace(tip.arm, pieces_mm=(second, *tip.arm.pieces_mm))))
    shown = replace(spec, holds=HoldSet((replace(hold, tips=tuple(tips)),), ()))
    few, many = mount_sheets(spec, working, Issue(), None), mount_sheets(shown, working, Issue(), None)
    front, second = (" ".join(pdf_words(pdf_bytes((sheet,), title="x"), 0).split()) for sheet in many[:2])
    assert "HOW IT OPENS" in " ".join(pdf_words(pdf_bytes(few[:1], title="x"), 0).split())
    assert "HOW IT OPENS" not in front and "next sheet" in front and f"1 of {len(many)}" in front
    assert "HOW IT OPENS" in second and "HUB AND SOLDERING" in second and f"2 of {len(many)}" in second
    assert all(note.split()[0] in second for note in hold.hub.notes)
    assert overlapping_words(pdf_bytes(many, title="x")) == []


def test_a_crowded_sheet_stays_on_its_page_and_prints_every_check():
    spec, working = invented_spec()
    hold = spec.hold
    crowded = replace(hold, tips=(*hold.tips, *hold.tips[:2]))  # six tips with their bends
    checks = tuple(replace(check, name=f"{check.name}-{k}") for k in range(12) for check in spec.checks)
    sheets = mount_sheets(replace(spec, holds=HoldSet((crowded,), ()), checks=checks), working, Issue(), None)
    words = _words(pdf_bytes(sheets, title="x"))
    for check in checks:
        assert check.name.replace("-", " ") in words
    assert f"1 of {len(sheets)}" in words and len(sheets) >= 3
    assert overlapping_words(pdf_bytes(sheets, title="x")) == []
    # nothing but the frame, the caution line and the title block reaches into the foot of side 1
    foot = [item.text for item in flattened(sheets[0].items)
            if isinstance(item, Text) and item.y_mm < 30.0 and item.height_mm in (2.1, 1.9, 1.7, 1.55)]
    assert foot == []


def test_a_flat_bar_is_marked_out_on_its_straight_stock():
    # 60 down, 80 forward, 8 up, of 3.175 mm bar bent round 1.5875 mm: centre line radius R = 3.175. Each right angle
    # takes 2 R and gives pi R / 2: 148 - 2 x (6.350 - 4.987) = 145.27 long; middles of the bends at 60 - R + pi R / 4
    # = 59.32 and 56.825 + 4.987 + 73.65 + 2.494 = 137.96; half an arc, 2.49, further the straight run begins
    spec, _ = invented_spec()
    tip = spec.hold.tips[0]
    path = np.array([[10.0, 40, -30], [10, -20, -30], [10, -20, 50], [10, -12, 50]])
    bends = (Bend(59.319, 90.0, 1.5875), Bend(137.956, 90.0, 1.5875))
    arm = replace(tip.arm, path_mm=path, wire_mm=3.175, bends=bends, developed_length_mm=145.27, lap_mm=25.4,
                  wide_mm=19.05, lip_mm=8.0)
    faces = tuple(Face(tip.point_mm, tip.normal, 5.0, 2.0) for _ in range(4))
    said = bar_words(replace(tip, arm=arm, faces=faces), Measures("mm"))
    assert said == ("flat bar 19.1 × 3.2, 145.3 long; its first 25.4 on the back bar, two rivet holes 6.3 and 19.0 "
                    "from its end; bends across its full width, softened there; from 140.4 filed to a tongue 8.0 wide; "
                    "pad 19.1 wide on its leg where it touches, 61.8 to 138.0, and on the lip")
    assert "leg where" not in bar_words(replace(tip, arm=arm, faces=faces[:3]), Measures("mm"))
    assert bar_words(tip, Measures("mm")) == ""  # wire
