"""The desk between page and record: what is acknowledged is on disk, what is stale is refused, tries change nothing."""

import shutil

import pytest

from scanprep.errors import RecordError
from scanprep.review.card import card_of
from scanprep.review.desk import StaleError, open_desk
from scanprep.review.messages import Decision, MessageError, MoveTo, Speaker
from scanprep.workspace.folder import open_case
from tests.review.cases import small_case

ADA, BEN = Speaker("Ada", "curator"), Speaker("Ben", "mountmaker")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return small_case(tmp_path_factory.mktemp("made") / "case", 4).root


@pytest.fixture
def desk(made, tmp_path):
    """A desk over a fresh copy of the case."""
    shutil.copytree(made, tmp_path / "case")
    return open_desk(open_case(tmp_path / "case"), 0, lambda done, total, sentence: None)


def place(desk, number, from_left_mm, y_mm, by=ADA, base=None, **more):
    seen = desk.folder.state.last_of[number] if base is None else base
    return Decision("place", by, {number: seen}, moves=(MoveTo(number, "West", "A", from_left_mm, y_mm),), **more)


def test_what_is_answered_is_on_disk(desk):
    taken = desk.decide(place(desk, "FB-001", 150.0, 1000.0))
    kept = open_case(desk.folder.root)
    assert kept.state.seq == taken.seq == taken.entries[-1]
    assert (kept.state.placements["FB-001"].from_left_mm, kept.state.placements["FB-001"].person) == (150.0,
                                                                                                      "Ada (curator)")
    assert desk.checks.placed["FB-001"].stand.from_left_mm == 150.0
    assert "Ada (curator) moved" in taken.sentences[0]


def test_a_change_on_an_older_state_is_refused_with_what_changed(desk):
    seen = desk.folder.state.last_of["FB-001"]
    desk.decide(place(desk, "FB-001", 150.0, 1000.0))
    with pytest.raises(StaleError, match=r"Ada \(curator\) moved 30.0 mm right"):  # from x 120 to 150
        desk.decide(place(desk, "FB-001", 160.0, 1000.0, BEN, base=seen))
    assert desk.folder.state.placements["FB-001"].from_left_mm == 150.0


def test_changes_to_different_objects_never_collide(desk):
    seen = {n: desk.folder.state.last_of[n] for n in ("FB-001", "FB-002")}
    desk.decide(place(desk, "FB-001", 150.0, 1000.0, base=seen["FB-001"]))
    desk.decide(place(desk, "FB-002", 300.0, 900.0, BEN, base=seen["FB-002"]))
    assert desk.folder.state.placements["FB-002"].person == "Ben (mountmaker)"


def test_another_program_may_write_meanwhile(desk):
    from scanprep.case.record.decide import lock

    elsewhere = open_case(desk.folder.root)
    elsewhere.say(lock(elsewhere.state, "FB-002", True), "Cy")
    desk.decide(place(desk, "FB-001", 150.0, 1000.0))  # another object: goes through
    assert desk.checks.placed["FB-002"].locked  # and what Cy said is taken in
    with pytest.raises(StaleError, match="Cy locked it"):
        desk.decide(place(desk, "FB-002", 150.0, 900.0, base=2))


def test_a_try_leaves_the_case_as_it_was(desk):
    before = desk.checks.placed["FB-001"].stand, len(desk.checks.findings())
    trial = desk.trial([MoveTo("FB-001", "West", "A", 250.0, 1300.0)])  # 10 mm left of FB-002's hole at 260
    assert any(g.verdict == "stop" and set(g.objects) == {"FB-001", "FB-002"} for g in desk.trial_findings(trial))
    back = desk.trial([], trial)
    assert back.checks.placed["FB-001"].stand == before[0]
    assert (desk.checks.placed["FB-001"].stand, len(desk.checks.findings())) == before


def test_dragging_step_by_step_ends_as_one_move_does(desk):
    trial = None
    for from_left_mm in range(120, 260, 20):
        trial = desk.trial([MoveTo("FB-001", "West", "A", float(from_left_mm), 1300.0)], trial)
    trial = desk.trial([MoveTo("FB-001", "West", "A", 240.0, 1310.0), MoveTo("FB-003", None)], trial)
    once = desk.trial([MoveTo("FB-001", "West", "A", 240.0, 1310.0), MoveTo("FB-003", None)])
    assert set(trial.checks.findings()) == set(once.checks.findings())


def test_a_hold_is_chosen_for_everybody_and_taken_back(desk):
    seen = desk.folder.state.last_of["FB-001"]
    key = desk.key_of_shape("FB-001")
    taken = desk.decide(Decision("hold", ADA, {"FB-001": seen}, object="FB-001", index=1))
    assert desk.specs["FB-001"].chosen == 1 and desk.key_of_shape("FB-001") != key
    assert desk.seen(key) is not None  # a page may still ask for the picture of what it shows
    desk.decide(Decision("undo", ADA, {"FB-001": taken.seq}, entries=taken.entries))
    assert desk.specs["FB-001"].chosen_by == "proposed" and desk.key_of_shape("FB-001") == key


def test_moves_of_one_decision_are_taken_all_or_none(desk):
    from scanprep.case.record.decide import lock

    desk.folder.say(lock(desk.folder.state, "FB-002", True), "Cy")
    desk.refresh()
    base = {n: desk.folder.state.last_of[n] for n in ("FB-001", "FB-002")}
    with pytest.raises(RecordError, match="locked"):
        desk.decide(Decision("place", ADA, base, moves=(MoveTo("FB-001", "West", "A", 140.0, 1000.0),
                                                        MoveTo("FB-002", "West", "A", 300.0, 1000.0))))
    assert desk.folder.state.placements["FB-001"].from_left_mm == 120.0


def test_a_decision_says_on_which_state_it_rests(desk):
    with pytest.raises(MessageError, match="which state of FB-001"):
        desk.decide(Decision("lock", ADA, {}, object="FB-001"))


def test_what_moved_since_before_a_session(desk):
    base = desk.folder.state.last_of.get("", 0)
    desk.decide(Decision("session", ADA, {"": base}, words="first look", people=("Ada", "Ben")))
    desk.decide(place(desk, "FB-001", 150.0, 1340.0))
    there = desk.compared(session=1)
    moved = there.moved
    assert [m.number for m in moved] == ["FB-001"]
    assert "30.0 mm right and 40.0 mm up" in moved[0].sentence and moved[0].before.from_left_mm == 120.0
    with pytest.raises(MessageError, match="no session 2"):
        desk.compared(session=2)


def test_panels_are_worked_out_again_only_where_their_load_changed(desk):
    assert {job.panel for job in desk.sheets_waiting()} == {"West", "East", "South"}  # a desk opens without waiting
    desk.catch_up()
    assert desk.scene.panels_waiting == ()
    assert any("panel East" in g.sentence for g in desk.scene.groups)  # whose thickness nobody measured
    desk.decide(Decision("lock", ADA, {"FB-002": desk.folder.state.last_of["FB-002"]}, object="FB-002"))
    assert desk.scene.panels_waiting == ()  # a lock weighs nothing
    desk.decide(place(desk, "FB-001", 150.0, 1000.0))
    assert desk.scene.panels_waiting == ("West",)
    desk.catch_up()
    fresh = open_desk(open_case(desk.folder.root), 0, lambda done, total, sentence: None)
    fresh.catch_up()
    assert {g.sentence for g in desk.scene.groups} == {g.sentence for g in fresh.scene.groups}


def test_the_card_names_the_weakest_link_and_what_gives_first(desk):
    facts = {fact.name: fact for fact in card_of(desk, "FB-001").facts}
    judged = {check.name: check for check in desk.specs["FB-001"].plan.checks}
    for name, said in (("weakest-link", "weakest link"), ("gives-first", "what gives first")):
        assert judged[name].note
        assert facts[said].words == f"{said}: {judged[name].note}"
        assert facts[said].verdict == judged[name].verdict.value
