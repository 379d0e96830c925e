"""The record's rules: what is drilled stays, what is void is kept, what is taken back is still there."""

from datetime import UTC, datetime, timedelta

import pytest

from scanprep.brief import ObjectBrief, PanelBrief
from scanprep.case.record import decide
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.fold import KINDS, fold
from scanprep.case.record.intake import intake
from scanprep.errors import RecordError, UnreadableRecordError

WEST = PanelBrief("West", 700.0, 2200.0)
EAST = PanelBrief("East", 700.0, 2200.0)


def _day(number):
    """Ten o'clock on the day of that number, from the first of March on, however long a story is."""
    return (datetime(2026, 3, 1, 10, tzinfo=UTC) + timedelta(days=number - 1)).isoformat()


class Book:
    """A record in memory: says things, refolds."""

    def __init__(self):
        self.entries = []

    @property
    def state(self):
        return fold(self.entries)

    def say(self, new, person="mountmaker", session=None):
        for entry in new:
            assert entry.kind in KINDS
            seq = len(self.entries) + 1
            self.entries.append(Entry(seq, _day(seq), person, session, entry.kind,
                                      entry.object, entry.payload, entry.reason, "", ""))
        return self.state


@pytest.fixture
def book():
    book = Book()
    briefs = [ObjectBrief("1", "bowl", panel="West", face="A", from_left_mm=100.0, y_mm=900.0), ObjectBrief("2", "cup")]
    book.say(intake(book.state, briefs, [WEST]).entries)
    return book


def made(book, number="1"):
    book.say(decide.choose_hold(book.state, number, "upright", (0, 0, 0), 0))
    for stage in ("made", "fitted"):
        book.say(decide.reach_stage(book.state, number, stage))


def drilled(book, number="1"):
    made(book, number)
    book.say(decide.mark_hole(book.state, number))
    book.say(decide.drill_hole(book.state, number, drill="4.7", depth_mm=21.5, checked_by="checker", person="driller"),
             "driller")


def test_a_position_on_the_checklist_is_a_placement_with_a_hole_number(book):
    place = book.state.placements["1"]
    assert (place.panel, place.face, place.from_left_mm, place.y_mm, place.hole, place.source) == (
        "West", "A", 100.0, 900.0, "H1", "checklist")
    assert "2" not in book.state.placements


def test_reading_the_same_list_again_changes_nothing_and_takes_no_decision_back(book):
    book.say(decide.place(book.state, "1", WEST, "A", 150.0, 900.0))
    again = intake(book.state, list(book.state.objects.values()), [WEST])
    assert (again.changes, again.entries) == ((), ())
    assert book.state.placements["1"].from_left_mm == 150.0


def test_what_a_new_list_changes_is_told_first(book):
    briefs = [ObjectBrief("1", "bowl", mass_g=240.0, panel="West", face="A", from_left_mm=100.0, y_mm=950.0),
              ObjectBrief("3", "jar")]
    told = intake(book.state, briefs, [WEST])
    assert [c.sentence for c in told.changes] == [
        "object 1: mass 240 g, was not said; y 950 mm, was 900 mm",
        "object 3 (jar) is new",
        "object 2 (cup) is no longer on the checklist; it stays on record",
    ]
    state = book.say(told.entries)
    assert set(state.objects) == {"1", "2", "3"}
    assert state.off_list == {"2"}
    assert state.placements["1"].y_mm == 950.0
    assert [c.kind for c in intake(state, [*briefs, ObjectBrief("2", "cup")], [WEST]).changes] == ["back"]


def test_a_list_cannot_move_what_is_drilled(book):
    drilled(book)
    told = intake(book.state, [ObjectBrief("1", "bowl", panel="West", face="A", from_left_mm=300.0, y_mm=900.0),
                               ObjectBrief("2", "cup")], [WEST])
    assert [c.kind for c in told.changes] == ["refused", "changed"]
    assert book.say(told.entries).placements["1"].from_left_mm == 100.0


def test_moves_before_marking_keep_the_hole_number_and_after_it_make_a_new_one(book):
    state = book.say(decide.place(book.state, "1", WEST, "A", 120.0, 900.0))
    assert (state.placements["1"].hole, len(state.holes)) == ("H1", 1)
    made(book)
    book.say(decide.mark_hole(book.state, "1"))
    state = book.say(decide.place(book.state, "1", WEST, "B", 200.0, 950.0, "curator wants it behind"), session=2)
    assert state.placements["1"].hole == "H2"
    assert [(h.number, h.state, h.face, h.from_left_mm) for h in state.holes] == [("H1", "void", "A", 120.0),
                                                                          ("H2", "planned", "B", 200.0)]
    assert state.hole("H1").why_void == "curator wants it behind"
    assert not state.life("1").has("marked")


def test_a_drilled_hole_cannot_be_moved_only_made_void(book):
    drilled(book)
    with pytest.raises(RecordError, match=r"drilled hole cannot be moved.*scanprep void"):
        decide.place(book.state, "1", WEST, "A", 130.0, 900.0)
    with pytest.raises(RecordError, match="drilled hole cannot be moved"):
        decide.take_off(book.state, "1")
    with pytest.raises(RecordError, match="say why"):
        decide.void_hole(book.state, "H1", " ")
    state = book.say(decide.void_hole(book.state, "H1", "chip at the mouth"))
    assert (state.hole("H1").state, state.hole("H1").was_drilled) == ("void", True)
    state = book.say(decide.place(state, "1", WEST, "A", 130.0, 900.0))
    assert state.placements["1"].hole == "H2"
    assert state.life("1").stage == "fitted"  # the mount is still made and fitted


def test_the_same_place_again_is_no_move(book):
    assert decide.place(book.state, "1", WEST, "A", 100.04, 900.0) == ()


def test_off_the_sheet_is_refused(book):
    with pytest.raises(RecordError, match="off the sheet West"):
        decide.place(book.state, "1", WEST, "A", 700.1, 900.0)


def test_the_anchor_follows_the_axis_as_made_by_hand_arithmetic(book):
    # planned anchor (100, 900); the finished post lies 2.5 mm right of and 1 mm below its plan -> hole at (102.5, 899)
    made(book)
    state = book.say(decide.measure_axis(book.state, "1", 2.5, -1.0, 1.5))
    place = state.placements["1"]
    assert (place.from_left_mm, place.y_mm, place.anchor_from_left_mm, place.anchor_y_mm) == (100.0, 900.0, 102.5,
                                                                                              899.0)
    assert (state.hole("H1").from_left_mm, state.hole("H1").y_mm) == (102.5, 899.0)
    assert state.life("1").has("measured")
    state = book.say(decide.place(state, "1", WEST, "A", 200.0, 900.0))
    assert (state.placements["1"].anchor_from_left_mm, state.placements["1"].anchor_y_mm) == (202.5, 899.0)


def test_an_axis_measured_after_marking_makes_a_new_hole_and_after_drilling_moves_nothing(book):
    made(book)
    book.say(decide.mark_hole(book.state, "1"))
    state = book.say(decide.measure_axis(book.state, "1", 2.0, 0.0, 0.0))
    assert [(h.number, h.state, h.from_left_mm) for h in state.holes] == [("H1", "void", 100.0), ("H2", "planned",
                                                                                                  102.0)]
    book.say(decide.mark_hole(book.state, "1"))
    book.say(decide.drill_hole(book.state, "1", drill="4.7", depth_mm=21.5, checked_by="b", person="a"), "a")
    state = book.say(decide.measure_axis(book.state, "1", 3.0, 0.0, 0.0))
    assert (state.placements["1"].hole, state.placements["1"].anchor_from_left_mm) == ("H2", 102.0)


def test_another_hold_is_another_mount(book):
    drilled(book)
    with pytest.raises(RecordError, match="is drilled for the hold it has"):
        decide.choose_hold(book.state, "1", "face-on", (0, 0, 0), 1)
    book.say(decide.agree(book.state, "1", "contacts"), "conservator")
    state = book.say(decide.choose_hold(book.state, "1", "face-on", (0, 0, 0), 1, "handle was loose"))
    assert (state.life("1").number, state.life("1").stage) == (2, "planned")
    assert state.life("1").agreed("contacts") is None
    assert len(state.life("1").agreements) == 1  # it lapsed, it is not gone
    assert state.hole("H1").state == "drilled"


def test_two_people_sign_for_a_hole(book):
    made(book)
    book.say(decide.mark_hole(book.state, "1"))
    with pytest.raises(RecordError, match="two people sign"):
        decide.drill_hole(book.state, "1", drill="4.7", depth_mm=21.5, checked_by="anna", person="anna")


def test_a_mount_not_fitted_needs_a_reason_before_its_hole_is_marked(book):
    with pytest.raises(RecordError, match="not fitted to the object yet"):
        decide.mark_hole(book.state, "1")
    assert decide.mark_hole(book.state, "1", "test sheet only")[0].kind == "marked"


def test_locked_objects_stay(book):
    book.say(decide.lock(book.state, "1", True))
    with pytest.raises(RecordError, match="is locked"):
        decide.place(book.state, "1", WEST, "A", 130.0, 900.0)
    book.say(decide.lock(book.state, "1", False))
    assert decide.place(book.state, "1", WEST, "A", 130.0, 900.0)


def test_a_signed_off_case_wants_a_reason(book):
    with pytest.raises(RecordError, match="2 findings say stop"):
        decide.sign_off(book.state, "", ["a", "b"])
    state = book.say(decide.sign_off(book.state), "curator")
    with pytest.raises(RecordError, match=r"signed off by curator on 2026-03-04: moving object 1 needs a reason"):
        decide.place(state, "1", WEST, "A", 130.0, 900.0)
    with pytest.raises(RecordError, match="the case is signed off"):
        intake(state, [ObjectBrief("9")], [WEST])
    assert decide.place(state, "1", WEST, "A", 130.0, 900.0, "lamp moved")
    state = book.say(decide.lift_sign_off(state, "lamp moved"))
    assert decide.place(state, "1", WEST, "A", 130.0, 900.0)


def test_sessions_are_numbered_and_one_at_a_time(book):
    book.say(decide.open_session(book.state, "first review", ["curator", "designer"]))
    with pytest.raises(RecordError, match="session 1 is still open"):
        decide.open_session(book.state, "second")
    book.say(decide.close_session(book.state))
    state = book.say(decide.open_session(book.state, "second"))
    assert (state.session, [s.title for s in state.sessions]) == (2, ["first review", "second"])


def test_taking_back_is_another_entry_and_can_be_taken_back(book):
    book.say(decide.place(book.state, "1", WEST, "A", 150.0, 900.0))
    moved = book.entries[-1].seq
    state = book.say(decide.take_back(book.entries, book.state, moved, ""))
    assert state.placements["1"].from_left_mm == 100.0
    assert len(book.entries) == moved + 1
    with pytest.raises(RecordError, match="taken back already"):
        decide.take_back(book.entries, state, moved, "")
    state = book.say(decide.take_back(book.entries, state, moved + 1, ""))
    assert state.placements["1"].from_left_mm == 150.0


def test_only_the_latest_of_an_object_can_be_taken_back(book):
    made(book)
    hold = next(e.seq for e in book.entries if e.kind == "hold-chosen")
    with pytest.raises(RecordError, match="may rest on it"):
        decide.take_back(book.entries, book.state, hold, "")


def test_hole_numbers_are_never_used_twice_even_when_taken_back(book):
    made(book)
    book.say(decide.mark_hole(book.state, "1"))
    book.say(decide.place(book.state, "1", WEST, "A", 200.0, 900.0))
    state = book.say(decide.take_back(book.entries, book.state, book.entries[-1].seq, ""))
    assert state.placements["1"].hole == "H1"
    state = book.say(decide.place(state, "2", WEST, "A", 400.0, 900.0))
    assert state.placements["2"].hole == "H3"  # H2 stood on record once


def test_moves_in_one_go_get_numbers_one_after_another(book):
    entries = decide.place_many(book.state, [("1", EAST, "A", 10, 20), ("2", EAST, "A", 60, 20)])
    assert [e.payload["hole"] for e in entries] == ["H1", "H2"]


def test_condition_openings_and_yearly_checks_gather(book):
    made(book)
    book.say(decide.note_condition(book.state, "1", "hairline at rim", ["photos/1-rim.jpg"], "before"), "conservator")
    book.say(decide.open_mount(book.state, "1", "photography"))
    book.say(decide.open_mount(book.state, "1", "loan"))
    with pytest.raises(RecordError, match="not on record as installed"):
        decide.check_snug(book.state, "1", True)
    with pytest.raises(RecordError, match="comes after drilling"):  # no reason hangs an object on a hole not drilled
        decide.reach_stage(book.state, "1", "installed", "trial hanging")
    book.say(decide.mark_hole(book.state, "1"))
    book.say(decide.drill_hole(book.state, "1", drill="4.7", depth_mm=21.5, checked_by="checker", person="driller"))
    with pytest.raises(RecordError, match="dry-fitted first"):
        decide.reach_stage(book.state, "1", "installed")
    book.say(decide.reach_stage(book.state, "1", "installed", "trial hanging"))
    life = book.say(decide.check_snug(book.state, "1", False, "turns under a finger")).life("1")
    assert (life.openings, life.conditions[0].photos, life.snug_checks[0].snug) == (2, ("photos/1-rim.jpg",), False)


def test_an_unknown_kind_stops_the_fold():
    book = Book()
    book.entries.append(Entry(1, "", "x", None, "levitated", "1", {}, "", "", ""))
    with pytest.raises(RecordError, match="does not know"):
        fold(book.entries)


def test_unknown_objects_holes_and_entries_are_refused_by_name(book):
    for call in (lambda: decide.place(book.state, "9", WEST, "A", 1, 1),
                 lambda: decide.void_hole(book.state, "H9", "x"),
                 lambda: decide.take_back(book.entries, book.state, 99, "")):
        with pytest.raises(RecordError, match=r"9 is not on record|no entry 99"):
            call()


def test_choosing_the_same_hold_again_is_no_decision(book):
    made(book)
    state = book.say(decide.agree(book.state, "1", "contacts"))
    assert decide.choose_hold(state, "1", "upright", (0, 0, 0), 3) == ()
    assert book.state.life("1").agreed("contacts") is not None
    book.say(decide.choose_hold(state, "1", "upright", (0, 5, 0), 1))
    assert book.state.life("1").agreed("contacts") is None


def test_an_entry_that_says_too_little_is_told_with_its_number(book):
    with pytest.raises(UnreadableRecordError, match=r"entry 4 of the record \(placed\) does not say what") as told:
        book.say([NewEntry("placed", "1", {"panel": "West"})])
    assert told.value.exit_code == 3
