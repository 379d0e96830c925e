"""What a template says of its holes: order, release, reasons, stamps, and how far a printer may be off."""

import dataclasses

import pytest
from pytest import approx

from scanprep.papers.templates.template import (
    NOT_FOR_DRILLING,
    Correction,
    TemplateHole,
    TemplatePanel,
    datum_x_mm,
    held_reasons,
    reason_lines,
    stamp_words,
)

FREE = TemplateHole("H1", "14", "A", 100.0, 200.0, "4.7", 4.7, 21.5, False, 4.7625, 1)


def hole(number, x=100.0, y=200.0, face="A", state="planned", held=()):
    return dataclasses.replace(FREE, number=number, face=face, from_left_mm=x, y_mm=y, state=state, held=tuple(held))


def sheet(*holes):
    return TemplatePanel("West", 700.0, 2200.0, 30.0, True, holes)


@pytest.mark.parametrize(("x", "y", "lies"), [
    (0.0, 0.0, True), (700.0, 2200.0, True), (-0.1, 5.0, False), (700.1, 5.0, False), (5.0, -0.1, False),
    (5.0, 2200.1, False), (0.5, 0.5, True)])
def test_holes_lie_on_their_sheet(x, y, lies):
    if lies:
        assert sheet(hole("H1", x, y)).holes
    else:
        with pytest.raises(ValueError, match="outside panel West"):
            sheet(hole("H1", x, y))


def test_a_number_stands_once_on_a_face():
    with pytest.raises(ValueError, match="given twice: H1 on face A"):
        sheet(hole("H1"), hole("H1", 300.0))
    assert len(sheet(hole("H1"), hole("H1", face="B"), hole("H2")).holes) == 3


def test_reading_order_is_from_the_top_then_from_the_viewers_left():
    panel = sheet(hole("H3", 300, 500), hole("H1", 100, 200), hole("H2", 100, 500), hole("H10", 100, 500),
                  hole("H9", 5, 900, "B"))
    assert [one.number for one in panel.on("A")] == ["H2", "H10", "H3", "H1"]
    assert [one.number for one in panel.on("B")] == ["H9"]


def test_ordinates_run_from_face_as_left_and_face_bs_right():
    panel = sheet()
    assert datum_x_mm(hole("H1", 100.0), panel) == 100.0 and datum_x_mm(hole("H1", 100.0, face="B"), panel) == 600.0


@pytest.mark.parametrize(("state", "held", "standing", "free"), [
    ("planned", (), "released", True), ("marked", (), "released", True), ("planned", ("rod",), "held", False),
    ("marked", ("rod",), "held", False), ("drilled", (), "drilled", False), ("drilled", ("rod",), "drilled", False),
    ("void", (), "not used", False), ("void", ("rod",), "not used", False)])
def test_a_hole_is_released_held_drilled_or_not_used(state, held, standing, free):
    one = hole("H1", state=state, held=held)
    assert one.standing == standing and one.released is free and one.waits is (state in ("planned", "marked"))


def test_a_hole_has_a_known_state_and_a_drill():
    with pytest.raises(ValueError, match="not 'lost'"):
        hole("H1", state="lost")
    with pytest.raises(ValueError, match="must be above 0"):
        dataclasses.replace(FREE, drill_diameter_mm=0.0)


@pytest.mark.parametrize(("measured_mm", "true"), [
    # bars of 200 mm: 2 % of the bar as measured
    (200.0, True), (196.09, True), (196.07, False), (204.08, True), (204.09, False), (0.0, False), (-200.0, False)])
def test_a_print_is_true_within_two_per_cent(measured_mm, true):
    for bars in ((200.0, measured_mm, 180.0, 180.0), (180.0, 180.0, 200.0, measured_mm)):
        if true:
            Correction.from_bars(*bars)
        else:
            with pytest.raises(ValueError, match="was scaled to fit; print it again at 100 %"):
                Correction.from_bars(*bars)


def test_what_came_out_short_is_stretched():
    # 200 mm came out at 199: every length x 200 / 199; 180 at 181: x 180 / 181
    found = Correction.from_bars(200.0, 199.0, 180.0, 181.0)
    assert (found.x_ratio, found.y_ratio) == approx((1.005025, 0.994475), abs=1e-6)
    assert found.words.startswith("STRETCHED FOR ONE PRINTER: x × 1.00503, y × 0.99448") and not found.is_none
    assert Correction(1.0, 0.99).words and Correction(0.99, 1.0).words
    assert Correction().is_none and Correction().words == ""


def test_reasons_stand_once_those_that_hold_most_first():
    held = [hole("H2", held=["no proof"]), hole("H5", held=["sheet not measured", "no proof"]),
            hole("H6", held=["no proof"]), hole("H7", state="void", held=["no proof"])]
    assert held_reasons(held) == ("no proof: holes H2, H5, H6", "sheet not measured: hole H5")
    assert reason_lines([("1", ["a"]), ("2", ["b"]), ("3", ["b"])], "object") == ("b: objects 2, 3", "a: object 1")
    many = [(str(n), ["a", "b"] if n > 2 else ["b"]) for n in range(1, 11)]
    assert reason_lines([*many, ("free", [])], "hole") == ("b: every held hole (10)", "a: every held hole (8) but 1, 2")
    few = [(str(n), ["a"] if n % 2 else ["b"]) for n in range(1, 11)]
    assert reason_lines(few, "hole")[0] == "a: holes 1, 3, 5, 7, 9"  # half of them are no "every one but"
    assert held_reasons([hole("H1")]) == ()


@pytest.mark.parametrize(("holes", "stamp"), [
    ([hole("H1")], ""), ([hole("H1", held=["x"])], NOT_FOR_DRILLING),
    ([hole("H1", held=["x"]), hole("H2")], "HELD, do not drill: H1"),
    ([hole("H1", held=["x"]), hole("H2", state="drilled")], NOT_FOR_DRILLING),
    ([hole("H1", state="void", held=["x"]), hole("H2")], ""),
    ([hole("H1", held=["x"]), hole("H3", held=["y"]), hole("H2", state="marked")], "HELD, do not drill: H1, H3"),
    ([hole("H1", state="drilled", held=["x"]), hole("H2", state="drilled")], "DRILLED, not to be used yet: H1"),
    ([hole("H1", state="drilled", held=["x"]), hole("H2")], "DRILLED, not to be used yet: H1"),
    ([hole("H1", state="drilled", held=["x"]), hole("H2", held=["x"])], NOT_FOR_DRILLING),
    ([], "")])
def test_a_stamp_says_what_may_not_be_drilled(holes, stamp):
    assert stamp_words(holes) == stamp
