"""What is made or drilled stays; every difference from the plan is a stop with its ways out until it is settled."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from scanprep.case.record import decide, later_life
from scanprep.case.record.frozen import (
    MadeFacts,
    Settled,
    Wire,
    as_real,
    difference_findings,
    drilled_differences,
    drilled_facts,
    made_differences,
    made_facts,
    web_finding,
)
from scanprep.errors import RecordError
from scanprep.findings import Verdict
from scanprep.rules import CaseRules
from tests.case.cases import a_hold, a_post
from tests.case.record.test_record import Book, book, drilled, made  # noqa: F401 - the fixture

PLAN = a_post(20.0, -15.0)  # rod 3/16, 4.7625 mm, cut 40 mm; hole 4.7 mm x 21.5 mm, blind
RULES = CaseRules()
MADE = made_facts(PLAN.post, a_hold(-15.0), True, 7)


def codes(differences):
    return [d.code for d in differences]


def test_a_mount_made_to_its_plan_does_not_differ():
    assert MadeFacts("3/16", 4.7625, True, 40.0, 20.0, 20.0, (), 7) == MADE
    assert made_differences(MADE, PLAN.post, a_hold(-15.0), "1", RULES) == ()


@pytest.mark.parametrize(("change", "code", "real", "planned"), [
    ({"rod": "1/4", "diameter_mm": 6.35}, "made-rod", "rod 3/16", "rod 1/4"),
    ({"diameter_mm": 4.74}, "made-rod-diameter", "4.763 mm", "4.740 mm"),
    ({"cut_length_mm": 36.5}, "made-cut-length", "40.0 mm", "36.5 mm"),
])
def test_each_change_of_plan_names_both(change, code, real, planned):
    (one,) = made_differences(MADE, replace(PLAN.post, **change), None, "1", RULES)
    assert (one.code, one.real, one.planned) == (code, real, planned)
    (stop,) = difference_findings("1", (one,), ())
    assert stop.verdict is Verdict.STOP
    assert real in stop.sentence and planned in stop.sentence
    assert f"settle DIR 1 {code}" in stop.remedy or "--shim" in stop.remedy


@pytest.mark.parametrize(("change", "found"), [
    # common practice: a saw and a file leave 0.3 mm, two people read one rod alike within 0.01 mm
    ({"cut_length_mm": 40.29}, []), ({"cut_length_mm": 40.31}, ["made-cut-length"]),
    ({"cut_length_mm": 39.71}, []), ({"cut_length_mm": 39.69}, ["made-cut-length"]),
    ({"diameter_mm": 4.772}, []), ({"diameter_mm": 4.773}, ["made-rod-diameter"]),
])
def test_what_a_saw_leaves_is_no_difference(change, found):
    assert codes(made_differences(MADE, replace(PLAN.post, **change), None, "1", RULES)) == found


@pytest.mark.parametrize(("depth_mm", "found"), [(21.79, []), (21.81, ["drilled-depth"]), (21.19, ["drilled-depth"])])
def test_a_depth_stop_leaves_as_much(depth_mm, found):
    real = drilled_facts("4.7", depth_mm, False, 29.8, "checker")
    assert codes(drilled_differences(real, PLAN.hole, "H1", "1", RULES)) == found


def arms(*sizes):
    """A hold whose arms are cut from wires of such thickness and length."""
    return SimpleNamespace(tips=[SimpleNamespace(arm=SimpleNamespace(wire_mm=w, developed_length_mm=length))
                                 for w, length in sizes])


@pytest.mark.parametrize(("now", "differs"), [
    (((2.0, 60.0), (1.6, 80.0)), False),  # in another order
    (((1.6, 80.29), (2.0, 59.71)), False), (((1.6, 80.31), (2.0, 60.0)), True), (((1.6, 79.69), (2.0, 60.0)), True),
    (((1.609, 80.0), (2.0, 60.0)), False), (((1.611, 80.0), (2.0, 60.0)), True), (((1.589, 80.0), (2.0, 60.0)), True),
    (((1.6, 80.0),), True)])
def test_arms_are_those_that_were_cut(now, differs):
    made = replace(MADE, wires=(Wire(1.6, 80.0), Wire(2.0, 60.0)))
    found = made_differences(made, PLAN.post, arms(*now), "1", RULES)
    assert codes(found) == (["made-arms"] if differs else [])
    if differs:
        assert found[0].real == "1.60 x 80 mm, 2.00 x 60 mm"


@pytest.mark.parametrize(("drill", "way"), [("5", "Close it with a shim"), ("4.5", "Drill it up to size")])
def test_a_wider_hole_is_shimmed_and_a_narrower_one_drilled_up(drill, way):
    (one,) = drilled_differences(drilled_facts(drill, 21.5, False, 29.8, ""), PLAN.hole, "H1", "1", RULES)
    assert one.ways.startswith(way)
    (stop,) = difference_findings("1", (one,), ())
    assert "its hole is drilled with drill" in stop.sentence


@pytest.mark.parametrize(("through", "words"), [(True, ("through", "blind")), (False, ("blind", "through"))])
def test_through_and_blind_are_named_both(through, words):
    plan = replace(PLAN.hole, through=not through)
    (one,) = drilled_differences(drilled_facts("4.7", 21.5, through, 29.8, ""), plan, "H1", "1", RULES)
    assert (one.real, one.planned) == words


def test_a_deeper_hole_is_marked_on_the_post_and_a_longer_post_cut():
    deeper = drilled_differences(drilled_facts("4.7", 23.0, False, 29.8, ""), PLAN.hole, "H1", "1", RULES)
    shallow = drilled_differences(drilled_facts("4.7", 20.0, False, 29.8, ""), PLAN.hole, "H1", "1", RULES)
    assert deeper[0].ways.startswith("Mark the seat") and shallow[0].ways.startswith("Drill it deeper")
    longer = made_differences(MADE, replace(PLAN.post, cut_length_mm=38.0), None, "1", RULES)
    shorter = made_differences(MADE, replace(PLAN.post, cut_length_mm=42.0), None, "1", RULES)
    assert longer[0].ways.startswith("Cut it to length") and shorter[0].ways.startswith("Make it anew")
    (stop,) = difference_findings("1", longer, ())
    assert "its mount is made with 40.0 mm" in stop.sentence


def test_a_case_may_ask_for_closer_work():
    closer = replace(PLAN.post, cut_length_mm=40.25)
    assert codes(made_differences(MADE, closer, None, "1", replace(RULES, same_length_mm=0.2))) == ["made-cut-length"]


@pytest.mark.parametrize(("real", "code"), [
    (drilled_facts("4.7", 26.0, False, 29.8, "checker"), "drilled-depth"),
    (drilled_facts("#23", 21.5, False, 29.8, "checker"), "drilled-drill"),
    (drilled_facts("4.70 mm", 21.5, True, 20.0, "checker"), "drilled-through"),
])
def test_a_hole_drilled_otherwise_is_a_stop_that_names_both(real, code):
    (one,) = drilled_differences(real, replace(PLAN.hole, drill="4.7 mm"), "H1", "1", RULES)
    assert one.code == code
    (stop,) = difference_findings("1", (one,), ())
    assert stop.verdict is Verdict.STOP and "void DIR H1" in stop.remedy


def test_the_same_hole_however_its_drill_is_spelled_does_not_differ():
    real = drilled_facts("4.70mm", 21.4, False, 29.8, "checker")
    assert drilled_differences(real, PLAN.hole, "H1", "1", RULES) == ()
    old = drilled_facts("4.7", None, None, None, "")  # a record of an older version says less
    assert drilled_differences(old, PLAN.hole, "H1", "1", RULES) == ()


def test_a_settled_difference_is_a_look_until_either_side_changes():
    shorter = replace(PLAN.post, cut_length_mm=36.5)
    one = made_differences(MADE, shorter, None, "1", RULES)
    by = Settled("made-cut-length", "40.0 mm", "36.5 mm", "accepted", "curator", "stands a little further off", 9)
    (look,) = difference_findings("1", one, (by,))
    assert look.verdict is Verdict.LOOK and "accepted by curator: stands a little further off" in look.sentence
    again = made_differences(MADE, replace(PLAN.post, cut_length_mm=34.0), None, "1", RULES)
    assert difference_findings("1", again, (by,))[0].verdict is Verdict.STOP


def test_a_drilled_hole_that_leaves_too_little_sheet_is_a_stop():
    # drill 4.7 mm, 118 degrees: point 2.35 / tan 59 = 1.412 mm; 29.0 - 24.0 - 1.412 = 3.588 mm left
    (stop,) = web_finding("1", drilled_facts("4.7", 24.0, False, 29.0, "checker"), 118.0, 6.0)
    assert (stop.verdict, round(stop.measured, 3)) == (Verdict.STOP, 3.588)
    assert web_finding("1", drilled_facts("4.7", 21.5, False, 29.0, "checker"), 118.0, 6.0) == ()


def test_papers_get_what_is_real():
    real = drilled_facts("#12", 24.0, False, 29.5, "checker")  # #12 is 0.189 in = 4.8006 mm
    plan = as_real(PLAN, replace(MADE, rod_mm=4.752, cut_length_mm=41.2), real)
    assert (plan.post.diameter_mm, plan.post.cut_length_mm) == (4.752, 41.2)
    assert (plan.hole.drill, plan.hole.drill_diameter_mm, plan.hole.depth_mm, plan.hole.state) == (
        "#12", 4.8006, 24.0, "drilled")
    # point 2.4003 / tan 59 = 1.4423 mm; 29.5 - 24 - 1.4423 = 4.0577 mm
    assert plan.hole.web_mm == pytest.approx(4.0577, abs=5e-4)


def test_made_and_drilled_facts_are_kept_by_the_record(book: Book):  # noqa: F811
    made(book)
    assert book.state.life("1").made is None  # said without facts, as older versions did
    book.say(later_life.make_again(book.state, "1", "an arm broke"))
    life = book.say(decide.reach_stage(book.state, "1", "made", made=MADE)).life("1")
    assert (life.number, life.made) == (2, MADE)
    with pytest.raises(RecordError, match="made DIR 1 again"):
        decide.reach_stage(book.state, "1", "made", "once more")


def test_a_hole_keeps_what_it_is_whatever_is_planned_later(book: Book):  # noqa: F811
    drilled(book)
    real = book.state.hole("H1").real
    assert (real.drill, real.depth_mm, real.through, real.checked_by) == ("4.7 mm", 21.5, False, "checker")
    book.say(decide.choose_hold(book.state, "1", "leaned-back", (10, 0, 0), 1, "curator's wish"))
    book.say(later_life.withdraw(book.state, "1", "on loan elsewhere"))
    assert book.state.hole("H1").real == real
    assert (book.state.hole("H1").state, "1" in book.state.placements) == ("void", False)


def test_only_a_difference_that_stands_is_settled_and_with_a_reason(book: Book):  # noqa: F811
    drilled(book)
    there = drilled_differences(book.state.hole("H1").real, replace(PLAN.hole, depth_mm=19.5), "H1", "1", RULES)
    with pytest.raises(RecordError, match="no difference 'made-rod'"):
        later_life.settle(book.state, "1", "made-rod", there, "never mind")
    with pytest.raises(RecordError, match="needs a reason"):
        later_life.settle(book.state, "1", "drilled-depth", there, " ")
    with pytest.raises(RecordError, match="a shim closes a loose hole"):
        later_life.settle(book.state, "1", "drilled-depth", there, "deep", 0.2)
    book.say(later_life.settle(book.state, "1", "drilled-depth", there, "the post is marked"))
    (look,) = difference_findings("1", there, book.state.life("1").settled)
    assert look.verdict is Verdict.LOOK
