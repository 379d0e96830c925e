"""Laws of the record under any story of decisions, allowed or refused: hypothesis tells the stories."""

from collections import Counter, deque
from dataclasses import fields

from hypothesis import given, settings
from hypothesis import strategies as st

from scanprep.brief import ObjectBrief
from scanprep.case.record import decide
from scanprep.case.record.fold import fold, standing
from scanprep.case.record.history import history
from scanprep.case.record.intake import intake
from scanprep.errors import RecordError
from tests.case.record.test_record import EAST, WEST, Book

NUMBERS = ("1", "2", "3")
number = st.sampled_from(NUMBERS)
reason = st.sampled_from(["", "a late wish"])
spot = st.tuples(st.sampled_from([WEST, EAST]), st.sampled_from("AB"), st.sampled_from([100.0, 240.0, 333.3]),
                 st.sampled_from([500.0, 900.0]))
STAGES = ("made", "fitted", "mocked-up", "dry-fitted", "painted", "installed")



def advance(state, one):
    """The next thing that usually happens to an object."""
    at, life = state.placements.get(one), state.life(one)
    if one not in state.choices:
        return decide.choose_hold(state, one, "upright", (0, 0, 0), 0, "next")
    if at is None or at.hole is None:
        return decide.place(state, one, WEST, "A", 150.0 * int(one), 900.0, "next")
    for stage in ("made", "fitted"):
        if not life.has(stage):
            return decide.reach_stage(state, one, stage, "next")
    if at.state == "planned":
        return decide.mark_hole(state, one, "next")
    if at.state == "marked":
        return decide.drill_hole(state, one, drill="4.7", depth_mm=21.5, checked_by="checker", person="driller",
                                 reason="next")
    return decide.reach_stage(state, one, "installed", "next")


onwards = number.map(lambda one: lambda s, e: advance(s, one))

#: One decision each: a function of the case as it stands and of its entries.
steps = st.one_of(
    *[onwards] * 9,
    st.tuples(number, reason).map(lambda a: lambda s, e: decide.choose_hold(s, a[0], "upright", (0, 0, 0), 0, a[1])),
    st.tuples(number, spot, reason).map(lambda a: lambda s, e: decide.place(s, a[0], *a[1], a[2])),
    st.tuples(number, reason).map(lambda a: lambda s, e: decide.take_off(s, *a)),
    st.tuples(number, st.booleans()).map(lambda a: lambda s, e: decide.lock(s, *a)),
    st.tuples(number, st.sampled_from(STAGES), reason).map(lambda a: lambda s, e: decide.reach_stage(s, *a)),
    st.tuples(number, st.sampled_from([0.0, 1.5]), reason).map(
        lambda a: lambda s, e: decide.measure_axis(s, a[0], a[1], -0.5, 1.0, a[2])),
    st.tuples(number, reason).map(lambda a: lambda s, e: decide.mark_hole(s, *a)),
    st.tuples(number, reason).map(lambda a: lambda s, e: decide.drill_hole(
        s, a[0], drill="4.7", depth_mm=21.5, checked_by="checker", person="driller", reason=a[1])),
    st.tuples(st.integers(1, 9), reason).map(lambda a: lambda s, e: decide.void_hole(s, f"H{a[0]}", a[1])),
    st.tuples(number, st.sampled_from(["contacts", "angle", "fit"])).map(lambda a: lambda s, e: decide.agree(s, *a)),
    st.just(lambda s, e: decide.open_session(s, "review")), st.just(lambda s, e: decide.close_session(s)),
    st.just(lambda s, e: decide.sign_off(s, "done")), st.just(lambda s, e: decide.lift_sign_off(s, "late")),
    st.tuples(st.integers(1, 40), reason).map(lambda a: lambda s, e: decide.take_back(e, s, a[0], a[1] or "no")),
)
stories = st.lists(steps, min_size=20, max_size=60)
QUICK = settings(max_examples=60, deadline=None)


def told(story):
    """The record after a story; refusals leave it as it was. Yields after every step."""
    book = Book()
    book.say(intake(book.state, [ObjectBrief(n, f"thing {n}") for n in NUMBERS], [WEST, EAST]).entries)
    for step in story:
        before = list(book.entries)
        try:
            book.say(step(book.state, book.entries))
        except RecordError as refusal:
            assert str(refusal).strip() and "\n" not in str(refusal)
            assert book.entries == before
        yield book


def whole(story):
    """The record after the last step."""
    return deque(told([lambda s, e: (), *story]), maxlen=1).pop()


def plain(state):
    """Everything but the numbering, which goes on counting when something is taken back."""
    return {f.name: getattr(state, f.name) for f in fields(state) if f.name not in ("seq", "next_hole", "last_of")}


@QUICK
@given(stories)
def test_a_hole_number_never_means_two_places_once_it_is_marked(story):
    fixed = {}
    for book in told(story):
        for hole in book.state.holes:
            where = (hole.object, hole.panel, hole.face, hole.x_mm, hole.y_mm)
            if hole.state in ("marked", "drilled"):
                fixed.setdefault(hole.number, where)
        stays = {hole.number: (hole.object, hole.panel, hole.face, hole.x_mm, hole.y_mm) for hole in book.state.holes}
        undone = {e.payload["seq"] for e in book.entries if e.kind == "undone"}
        if not undone:  # a marking taken back frees the hole to move
            assert all(stays.get(n) == where for n, where in fixed.items())


@QUICK
@given(stories)
def test_no_drilled_hole_is_ever_lost(story):
    for book in told(story):
        drilled = {e.payload["drilled"] for e in standing(book.entries) if e.kind == "drilled"}
        assert drilled <= {hole.number for hole in book.state.holes if hole.was_drilled}


@QUICK
@given(stories)
def test_each_object_has_at_most_one_live_hole_and_it_is_where_it_stands(story):
    for book in told(story):
        state = book.state
        for one in NUMBERS:
            live = [h for h in state.holes if h.object == one and h.state != "void"]
            at = state.placements.get(one)
            assert len(live) == int(at is not None and at.hole is not None)
            if live:
                assert (live[0].number, live[0].x_mm, live[0].y_mm) == (at.hole, at.anchor_x_mm, at.anchor_y_mm)


@QUICK
@given(stories, st.integers(1, 60))
def test_replaying_is_the_same_and_a_record_read_so_far_is_a_record(story, upto):
    book = whole(story)
    assert fold(list(book.entries)) == book.state
    part = fold(book.entries[:upto])
    assert part.seq == min(upto, len(book.entries))


@QUICK
@given(stories)
def test_taking_back_a_taking_back_restores_the_case(story):
    book = whole(story)
    last = len(book.entries)
    try:
        undo = decide.take_back(book.entries, book.state, last, "a slip")
    except RecordError:
        return
    was = plain(book.state)
    book.say(undo)
    try:
        redo = decide.take_back(book.entries, book.state, last + 1, "no slip")
    except RecordError:
        return
    book.say(redo)
    assert plain(book.state) == was


@QUICK
@given(stories)
def test_every_entry_can_be_read_in_the_logbook(story):
    book = whole(story)
    lines = [line for one in (*NUMBERS, None) for line in history(book.entries, one)]
    assert sorted(line.seq for line in lines) == list(range(1, len(book.entries) + 1))
    assert all(line.sentence and line.text() and line.spoken() for line in lines)


def test_the_stories_reach_deep():
    # told blindly, mostly refusals would come; enough must get as far as a drilled, a void and an undone entry
    kinds = Counter()

    @settings(max_examples=80, deadline=None, database=None, derandomize=True)
    @given(stories)
    def look(story):
        kinds.update({entry.kind for entry in whole(story).entries})

    look()
    deep = {kind: kinds[kind] for kind in ("placed", "marked", "drilled", "void", "undone", "axis-measured")}
    assert min(deep.values()) >= 5, deep
