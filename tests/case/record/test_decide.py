"""What may be said, at its edges: the sheet's own edge, depths and thicknesses, stages, reasons. Common practice."""

from dataclasses import replace

import pytest

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.record import decide, later_life, measuring
from scanprep.case.record.retaining import retain
from scanprep.errors import RecordError
from tests.case.record.test_record import WEST, drilled, made
from tests.case.record.test_record import book as book  # the fixture

CASE = CaseBrief("trial", panels=(PanelBrief("West", 700.0, 2200.0),))


@pytest.mark.parametrize(("x_mm", "y_mm", "on"), [
    (0.0, 0.0, True), (0.5, 0.5, True), (700.0, 2200.0, True), (-0.1, 900.0, False), (700.1, 900.0, False),
    (100.0, -0.1, False), (100.0, 2200.1, False)])
def test_a_place_is_on_the_sheet(book, x_mm, y_mm, on):
    if on:
        assert decide.place(book.state, "2", WEST, "A", x_mm, y_mm)
    else:
        with pytest.raises(RecordError, match="off the sheet"):
            decide.place(book.state, "2", WEST, "A", x_mm, y_mm)


@pytest.mark.parametrize(("by_mm", "moves"), [((0.049, 0.0), False), ((0.0, -0.049), False), ((0.051, 0.0), True),
                                              ((0.0, 0.051), True)])
def test_a_move_finer_than_a_scribers_line_is_none(book, by_mm, moves):
    assert bool(decide.place(book.state, "1", WEST, "A", 100.0 + by_mm[0], 900.0 + by_mm[1])) is moves
    assert decide.place(book.state, "1", WEST, "B", 100.0, 900.0)  # another face is another place


def test_no_such_face_and_a_hole_number_that_was_never_used(book):
    with pytest.raises(RecordError, match="is no face"):
        decide.place(book.state, "2", WEST, "C", 100.0, 900.0)
    (said,) = decide.place(book.state, "2", WEST, "B", 100.0, 900.0)
    assert said.payload["hole"] == "H2"


@pytest.mark.parametrize("stage", ["planned", "measured", "marked", "drilled", "polished"])
def test_stages_that_are_not_said_by_themselves(book, stage):
    with pytest.raises(RecordError, match="is not a stage to be said by itself"):
        decide.reach_stage(book.state, "1", stage, "because")


def test_a_mount_is_made_once_and_fitted_after_it(book):
    with pytest.raises(RecordError, match="no chosen hold"):
        decide.reach_stage(book.state, "1", "made")
    with pytest.raises(RecordError, match="fitted before made"):
        decide.reach_stage(book.state, "1", "fitted")
    assert decide.reach_stage(book.state, "1", "fitted", "made elsewhere")


def test_what_hangs_hangs_on_a_drilled_hole(book):
    made(book)
    for stage in ("dry-fitted", "installed"):
        with pytest.raises(RecordError, match="comes after drilling"):
            decide.reach_stage(book.state, "1", stage, "a reason does not change that")
    assert decide.reach_stage(book.state, "1", "painted")  # needs no hole


def marked(book):
    made(book)
    book.say(decide.mark_hole(book.state, "1"))


def drill(state, **said):
    usual = {"drill": "4.7", "depth_mm": 21.5, "checked_by": "checker", "person": "driller"}
    return decide.drill_hole(state, "1", **usual | said)


def test_a_hole_is_marked_before_it_is_drilled_or_there_is_a_reason(book):
    made(book)
    with pytest.raises(RecordError, match="not on record as marked"):
        drill(book.state)
    assert drill(book.state, reason="through the template")
    book.say(decide.mark_hole(book.state, "1"))
    assert drill(book.state)
    with pytest.raises(RecordError, match="is marked, not planned"):
        decide.mark_hole(book.state, "1")


@pytest.mark.parametrize(("said", "words"), [
    ({"depth_mm": 0.0}, r"It is above 0\. Look at --depth"),
    ({"depth_mm": -1.0, "thickest_mm": 33.4}, r"at most 33\.4 mm, the sheet at its thickest"),
    ({"depth_mm": 29.6, "thickest_mm": 33.4, "thickness_mm": 29.5}, r"at most 29\.5 mm, the sheet there"),
    ({"depth_mm": 33.5, "thickest_mm": 33.4}, r"at most 33\.4 mm"),
    # 1 mm more than its standard allows: cast sheet varies
    ({"thickness_mm": 34.5, "thickest_mm": 33.4}, r"It is at most 33\.4 mm\. Look at --thickness"),
    ({"thickness_mm": 0.0, "thickest_mm": 33.4}, "Look at --thickness"),
    ({"checked_by": " Driller "}, "two people sign"), ({"checked_by": " "}, "two people sign")])
def test_depths_thicknesses_and_names_that_cannot_be(book, said, words):
    marked(book)
    with pytest.raises(RecordError, match=words):
        drill(book.state, **said)


@pytest.mark.parametrize("said", [
    {"depth_mm": 0.1}, {"depth_mm": 33.4, "thickest_mm": 33.4}, {"thickness_mm": 34.3, "thickest_mm": 33.4},
    {"depth_mm": 29.5, "thickness_mm": 29.5}, {"depth_mm": 90.0}])
def test_depths_and_thicknesses_that_can(book, said):
    marked(book)
    (entry,) = drill(book.state, **said)
    assert entry.payload["depth_mm"] == said.get("depth_mm", 21.5)


@pytest.mark.parametrize(("dx_mm", "dy_mm", "far"), [(20.0, 0.0, False), (20.1, 0.0, True), (0.0, -20.1, True)])
def test_a_post_far_off_its_plan_is_mostly_a_slip_of_the_unit(book, dx_mm, dy_mm, far):
    made(book)
    if far:
        with pytest.raises(RecordError, match="is far off"):
            decide.measure_axis(book.state, "1", dx_mm, dy_mm, 0.0)
        assert decide.measure_axis(book.state, "1", dx_mm, dy_mm, 0.0, "bent on purpose")
    else:
        assert decide.measure_axis(book.state, "1", dx_mm, dy_mm, 0.0)


@pytest.mark.parametrize(("angle_deg", "can"), [(180.0, True), (-180.0, True), (180.1, False), (-181.0, False)])
def test_a_clock_mark_turns_half_way_round_at_most(book, angle_deg, can):
    made(book)
    if can:
        assert decide.measure_axis(book.state, "1", 0.0, 0.0, angle_deg)
    else:
        with pytest.raises(RecordError, match="from -180 to 180"):
            decide.measure_axis(book.state, "1", 0.0, 0.0, angle_deg)


def test_a_marked_hole_moves_with_the_finished_post_when_it_is_off(book):
    marked(book)
    (same,) = decide.measure_axis(book.state, "1", 0.03, 0.0, 0.0)
    assert "hole" not in same.payload
    (off,) = decide.measure_axis(book.state, "1", 0.0, 0.06, 0.0)
    assert off.payload["hole"] == "H2"
    after = book.say((off,))
    assert (after.hole("H1").state, after.hole("H2").state, after.placements["1"].state) == ("void", "planned",
                                                                                             "planned")
    assert after.hole("H2").was_drilled is False


def test_taking_an_object_off_gives_its_hole_up(book):
    made(book)
    book.say(decide.mark_hole(book.state, "1"))
    state = book.say(decide.take_off(book.state, "1", "lent out"))
    assert "1" not in state.placements and (state.hole("H1").state, state.hole("H1").why_void) == ("void", "lent out")


def test_a_lock_is_said_once_and_keeps_the_place(book):
    book.say(decide.lock(book.state, "1", True))
    with pytest.raises(RecordError, match="is locked already"):
        decide.lock(book.state, "1", True)
    with pytest.raises(RecordError, match="is locked where it is"):
        decide.place(book.state, "1", WEST, "A", 300.0, 900.0)
    book.say(decide.lock(book.state, "1", False))
    assert decide.place(book.state, "1", WEST, "A", 300.0, 900.0)


def test_a_reused_hole_is_drilled_and_not_locked(book):
    drilled(book)
    book.say(decide.void_hole(book.state, "H1", "object withdrawn"))
    book.say(later_life.reuse(book.state, "H1", "2", "same drill"))
    place = book.state.placements["2"]
    assert (place.state, place.locked, place.hole, place.from_left_mm) == ("drilled", False, "H1", 100.0)


def test_after_sign_off_decisions_need_reasons(book):
    book.say(decide.sign_off(book.state), "curator")
    with pytest.raises(RecordError, match="needs a reason"):
        decide.place(book.state, "1", WEST, "A", 300.0, 900.0)
    assert decide.place(book.state, "1", WEST, "A", 300.0, 900.0, "glare")
    with pytest.raises(RecordError, match="needs a reason"):
        retain(book.state, "1", "bow")
    assert retain(book.state, "1", "bow", "rattled")


# Measurements


def test_readings_give_a_mean_and_half_their_spread(book):
    # 4.74 to 4.76: 0.01 each way; read once: a micrometer's last digit, 0.005, and twice that for a hole
    (rod,) = measuring.measured_rod(book.state, "3/16", (4.74, 4.76))
    assert (rod.payload["values"]["diameter_mm"], rod.payload["values"]["tolerance_mm"]) == (4.75, 0.01)
    (once,) = measuring.measured_rod(book.state, "3/16", (4.75,))
    assert once.payload["values"]["tolerance_mm"] == 0.005
    (hole,) = measuring.measured_hole(book.state, "4.7", (4.80, 4.86))
    assert (hole.payload["values"]["hole_mm"], hole.payload["values"]["spread_mm"]) == (4.83, 0.03)
    (single,) = measuring.measured_hole(book.state, "4.7", (4.83,))
    assert single.payload["values"]["spread_mm"] == 0.01


@pytest.mark.parametrize(("read_mm", "taken"), [(4.7 + 0.59, True), (4.7 + 0.61, False), (4.7 - 0.61, False)])
def test_a_hole_far_off_its_drill_is_misread(book, read_mm, taken):
    if taken:
        assert measuring.measured_hole(book.state, "4.7", (read_mm,))
    else:
        with pytest.raises(RecordError, match="wider than its drill" if read_mm > 4.7 else "narrower than its drill"):
            measuring.measured_hole(book.state, "4.7", (read_mm,))


@pytest.mark.parametrize(("readings_mm", "taken"), [
    # ISO 7823-1: 30 mm less or more 0.4 + 3.0 mm
    ((26.65, 33.35), True), ((26.55, 30.0), False), ((30.0, 33.45), False)])
def test_a_sheet_is_as_thick_as_its_standard_allows_or_there_is_a_reason(book, readings_mm, taken):
    if taken:
        assert measuring.measured_sheet(book.state, CASE, "West", readings_mm)
    else:
        with pytest.raises(RecordError, match="outside what a cast sheet"):
            measuring.measured_sheet(book.state, CASE, "West", readings_mm)
        assert measuring.measured_sheet(book.state, CASE, "West", readings_mm, "two sheets cemented")
    known = replace(CASE, panels=(replace(CASE.panels[0], thickness_mm=28.0, thickness_measured=True),))
    assert measuring.measured_sheet(book.state, known, "West", (20.0,))  # read before: the new reading counts


def test_the_same_reading_again_says_nothing_and_another_does(book):
    book.say(measuring.weighed(book.state, "1", 240.0))
    assert measuring.weighed(book.state, "1", 240.0) == ()
    assert measuring.weighed(book.state, "1", 241.0)
    with pytest.raises(RecordError, match="above 0 g"):
        measuring.weighed(book.state, "1", 0.0)
    seq, case_seq = book.entries[-1].seq, book.state.revision("2")
    assert book.state.revision("1") == seq and case_seq < seq  # one object's mass is news of that object alone
    book.say(measuring.measured_rod(book.state, "3/16", (4.75,)))
    assert book.state.revision("2") == book.entries[-1].seq  # a rod is everybody's


def test_only_a_new_series_of_coupons_ends_the_one_before(book):
    more = {"line_mm": 0.16, "push_N": 60.0}
    for which in (1, 2, 3):
        book.say(measuring.measured_hole(book.state, "4.7", (4.84,), more=more, which=which))
    book.say(measuring.measured_rod(book.state, "3/16", (4.75,)))
    assert sorted(name for what, name in book.state.measured if what == "test hole") == [
        "4.7 mm", "4.7 mm (2)", "4.7 mm (3)"]
