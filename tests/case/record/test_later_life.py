"""Objects are withdrawn, removed, lent and replaced; holes are plugged or used again; older records still open."""

import pytest

from scanprep.brief import ObjectBrief
from scanprep.case.record import decide, later_life
from scanprep.case.record.intake import intake
from scanprep.errors import RecordError
from tests.case.record.test_record import WEST, Book, book, drilled  # noqa: F401 - the fixture


def installed(book, number="1"):  # noqa: F811
    drilled(book, number)
    for stage in ("dry-fitted", "installed"):
        book.say(decide.reach_stage(book.state, number, stage, "trial"))


def test_a_withdrawn_object_leaves_at_once_and_its_drilled_hole_stays_void(book: Book):  # noqa: F811
    drilled(book)
    with pytest.raises(RecordError, match="say why"):
        later_life.withdraw(book.state, "1", "")
    state = book.say(later_life.withdraw(book.state, "1", "the lender asks for it"))
    assert (state.shown, "1" in state.placements) == (("2",), False)
    hole = state.hole("H1")
    assert (hole.state, hole.was_drilled, hole.why_void) == (
        "void", True, "object 1 withdrawn: the lender asks for it")
    with pytest.raises(RecordError, match=r"withdrawn.*--back"):
        decide.place(state, "1", WEST, "A", 100.0, 900.0)
    state = book.say(later_life.show_again(state, "1"))
    assert state.shown == ("1", "2")
    assert book.say(decide.place(state, "1", WEST, "A", 100.0, 900.0)).placements["1"].hole == "H2"


def test_a_planned_hole_goes_without_a_trace(book: Book):  # noqa: F811
    state = book.say(later_life.withdraw(book.state, "1", "not shown"))
    assert (state.holes, state.placements) == ((), {})


def test_what_leaves_the_checklist_is_withdrawn_and_comes_back_to_its_place_on_the_list(book: Book):  # noqa: F811
    drilled(book)
    told = intake(book.state, [ObjectBrief("2", "cup")], [WEST])
    assert told.changes[-1].sentence == (
        "object 1 (bowl) is no longer on the checklist; it is withdrawn from its panel and its drilled hole H1 becomes "
        "void; it stays on record")
    state = book.say(told.entries)
    assert (state.shown, state.hole("H1").state) == (("2",), "void")
    back = intake(state, [ObjectBrief("1", "bowl", panel="West", face="A", from_left_mm=100.0, y_mm=900.0),
                          ObjectBrief("2", "cup")], [WEST])
    state = book.say(back.entries)
    assert (state.shown, state.placements["1"].hole) == (("1", "2"), "H2")


def test_an_installed_object_is_taken_out_before_it_is_withdrawn(book: Book):  # noqa: F811
    installed(book)
    with pytest.raises(RecordError, match="take it out first"):
        later_life.withdraw(book.state, "1", "lender")
    told = intake(book.state, [ObjectBrief("2", "cup")], [WEST])
    assert "take it out first" in told.changes[-1].sentence
    assert "1" in book.say(told.entries).placements


def test_the_states_after_installation_come_in_order(book: Book):  # noqa: F811
    with pytest.raises(RecordError, match="not installed yet: it cannot be removed now"):
        later_life.move_on(book.state, "1", "removed", "sound")
    installed(book)
    assert book.state.life("1").whereabouts == "installed"
    with pytest.raises(RecordError, match="it cannot be on loan now; next comes removed"):
        later_life.move_on(book.state, "1", "on loan", "Harbour museum")
    with pytest.raises(RecordError, match="say its condition"):
        later_life.move_on(book.state, "1", "removed", "")
    for to, note in (("removed", "sound"), ("on loan", "Harbour museum"), ("returned", "one new scratch")):
        book.say(later_life.move_on(book.state, "1", to, note))
        assert book.state.life("1").whereabouts == to
    book.say(decide.reach_stage(book.state, "1", "installed", "back from loan"))
    assert book.state.life("1").whereabouts == "installed"
    book.say(later_life.move_on(book.state, "1", "removed", "sound"))
    book.say(later_life.move_on(book.state, "1", "replaced", "object 2"))
    assert [m.kind for m in book.state.life("1").moves] == ["removed", "on loan", "returned", "removed", "replaced"]


def test_a_void_hole_is_plugged_or_used_again_as_it_is(book: Book):  # noqa: F811
    drilled(book)
    with pytest.raises(RecordError, match="only a drilled hole that was abandoned"):
        later_life.plug(book.state, "H1", "acrylic rod")
    real = book.state.hole("H1").real
    book.say(later_life.withdraw(book.state, "1", "lender"))
    state = book.say(later_life.reuse(book.state, "H1", "2", "same spot, same rod"))
    place = state.placements["2"]
    assert (place.hole, place.state, place.from_left_mm) == ("H1", "drilled", 100.0)
    assert (state.hole("H1").object, state.hole("H1").state, state.hole("H1").real) == ("2", "drilled", real)
    withdrawn = state.last_of["1"]
    with pytest.raises(RecordError, match="object 1 would be back in hole H1, which object 2 uses now"):
        decide.take_back(book.entries, state, withdrawn, "it is shown after all")  # two would hang on one hole
    book.say(decide.void_hole(state, "H1", "the cup needs another place"))
    state = book.say(later_life.plug(book.state, "H1", "acrylic rod, lens cement"))
    assert state.hole("H1").later == "plugged with acrylic rod, lens cement"
    with pytest.raises(RecordError, match="cannot be used again"):
        later_life.reuse(state, "H1", "2", "again")


def test_a_mount_made_anew_begins_again_and_its_hole_stays(book: Book):  # noqa: F811
    drilled(book)
    with pytest.raises(RecordError, match="say why"):
        later_life.make_again(book.state, "1", "")
    state = book.say(later_life.make_again(book.state, "1", "an arm broke"))
    assert (state.life("1").stage, state.life("1").number, state.placements["1"].state) == ("planned", 2, "drilled")


def test_a_record_of_an_older_version_opens(book: Book):  # noqa: F811
    from scanprep.case.record.entry import NewEntry

    for kind, payload in (("hold-chosen", {"attitude": "upright", "tilt_deg": 0, "turn_deg": 0, "roll_deg": 0,
                                           "index": 0}),
                          ("stage", {"stage": "made"}), ("marked", {"marked": "H1"}),
                          ("drilled", {"drilled": "H1", "drill": "4.7", "depth_mm": 21.5, "checked_by": "second"}),
                          ("stage", {"stage": "post-fitted"}), ("stage", {"stage": "installed"}), ("left-list", {})):
        book.say((NewEntry(kind, "1", payload),))
    state = book.state
    assert (state.life("1").has("dry-fitted"), state.life("1").made, state.choices["1"].kept) == (True, None, None)
    assert (state.hole("H1").drill, state.hole("H1").real.through) == ("4.7 mm", None)
    assert (state.shown, "1" in state.placements) == (("1", "2"), True)  # leaving the list took no place away then
