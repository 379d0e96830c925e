"""What is said of an object between two checklists: it counts until the checklist changes the same field."""

import pytest

from scanprep.brief import CaseBrief, ObjectBrief, PersonBrief, Region
from scanprep.case.record import decide
from scanprep.case.record.history import history
from scanprep.case.record.intake import intake
from scanprep.case.record.lines import say_of, thinned_marks
from scanprep.errors import RecordError
from scanprep.plain_values import to_plain
from tests.case.cases import WEST
from tests.case.record.test_record import Book, book  # noqa: F401 - the fixture

RIM = Region("ball", (0.0, 40.0, 0.0), (6.0, 0.0, 0.0), why="flaking rim")
PEOPLE = CaseBrief("trial", people=(PersonBrief("Ada", ("conservator",)), PersonBrief("Ben", ("mountmaker",))))


def marks(*regions):
    return {"no_touch": [to_plain(region) for region in regions]}


def test_a_mark_counts_like_one_on_the_checklist_and_is_taken_back(book: Book):  # noqa: F811
    book.say(say_of(book.state, "1", marks(RIM), "seen under the glass"), "Ada")
    assert book.state.objects["1"].no_touch == (RIM,)
    assert book.state.lines["1"].no_touch == ()  # the checklist itself is as it was taken
    assert history(book.entries, "1")[-1].spoken().endswith(
        "Ada said of it: nothing may touch flaking rim: seen under the glass")
    book.say(decide.take_back(book.entries, book.state, book.state.seq, "the wrong cup"))
    assert book.state.objects["1"].no_touch == ()


def test_it_stands_until_the_checklist_changes_that_field(book: Book):  # noqa: F811
    book.say(say_of(book.state, "1", {**marks(RIM), "stand_off_mm": 30.0}), "Ada")
    line = book.state.lines["1"]
    book.say(intake(book.state, [ObjectBrief("1", "deep bowl", panel="West", face="A", from_left_mm=100.0, y_mm=900.0),
                                 book.state.lines["2"]], [WEST]).entries)
    assert (book.state.objects["1"].title, book.state.objects["1"].no_touch) == ("deep bowl", (RIM,))
    other = Region("plane", (0.0, 0.0, 0.0), normal=(0.0, 1.0, 0.0), why="gilding")
    book.say(intake(book.state, [ObjectBrief("1", line.title, panel="West", face="A", from_left_mm=100.0, y_mm=900.0,
                                             no_touch=(other,)), book.state.lines["2"]], [WEST]).entries)
    assert book.state.objects["1"].no_touch == (other,)
    assert book.state.objects["1"].stand_off_mm == 30.0


def test_each_field_is_the_word_of_its_role(book: Book):  # noqa: F811
    with pytest.raises(RecordError, match=r"no-touch is for conservator to say"):
        say_of(book.state, "1", marks(RIM), "", "Ben", PEOPLE)
    with pytest.raises(RecordError, match=r"stand-off is for designer or mountmaker"):
        say_of(book.state, "1", {"stand_off_mm": 25.0}, "", "Ada", PEOPLE)
    assert say_of(book.state, "1", marks(RIM), "", "Ada", PEOPLE)
    assert say_of(book.state, "1", {"note": "fine detail"}, "", "Ben", PEOPLE)  # anybody's


@pytest.mark.parametrize(("said", "why"), [
    (marks(Region("ball", (0, 0, 0), (6, 0, 0))), "say why"),
    (marks(Region("ball", (0, 0, 0), why="rim")), "a ball of"),
    (marks(Region("plane", (0, 0, 0), why="rim")), "a ball of"), ({"stand_off_mm": -1.0}, "stand-off is above 0"),
    ({"stand_off_mm": 1e6}, "at most 150 mm"), ({"up": [0, 0, 0]}, "points nowhere"),
    ({"up": [0, 1, 0], "front": [0, 1, 0]}, "front lies along its up"), ({"mass_g": 3.0}, "cannot be said here"),
    ({"up": "y"}, "must be a list"), (marks(*[RIM] * 401), "at most 400"),
])
def test_what_cannot_be_is_refused_in_a_sentence(book: Book, said, why):  # noqa: F811
    with pytest.raises(RecordError, match=why):
        say_of(book.state, "1", said)


def test_said_again_it_is_nothing_new_and_after_sign_off_it_needs_a_reason(book: Book):  # noqa: F811
    book.say(say_of(book.state, "1", {"stand_off_mm": 30.0}))
    assert say_of(book.state, "1", {"stand_off_mm": 30.0}) == ()
    book.say(decide.sign_off(book.state))
    with pytest.raises(RecordError, match="needs a reason"):
        say_of(book.state, "1", {"stand_off_mm": 25.0})


def test_a_stroke_is_thinned_to_what_covers_it():
    # a 6 mm brush put down every millimetre over 30 mm: middles closer than half a radius (3 mm) say nothing new
    stroke = tuple(Region("ball", (float(x), 0.0, 0.0), (6.0, 0.0, 0.0), why=" rim ") for x in range(31))
    kept = thinned_marks(stroke)
    assert [region.centre_mm[0] for region in kept] == [0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 28.0]
    for x in range(31):  # every point of the stroke's middle lies well inside one of the balls kept
        assert min(abs(region.centre_mm[0] - x) for region in kept) <= 3.0
    assert kept[0].why == "rim"
