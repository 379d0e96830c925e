"""What case.toml says is on record: taken when it changes, with what was and what is; after sign-off with a reason."""

import json
from dataclasses import replace

import pytest

from scanprep.brief import CaseBrief, CouponResult, MayBrief, ObjectBrief, PanelBrief, PersonBrief, RodMeasured
from scanprep.case.record import decide, measuring
from scanprep.case.record.history import history
from scanprep.case.record.inputs import case_inputs, check_same_case, input_changes, input_sentences, take_inputs
from scanprep.case.record.intake import intake
from scanprep.errors import RecordError, UnreadableRecordError
from scanprep.rules import Rulebook
from tests.case.record.test_record import Book

SHOP = Rulebook()
CASE = CaseBrief("trial", panels=(PanelBrief("West", 700.0, 2200.0),), measured_rods=(RodMeasured("3/16", 4.752),),
                 coupons=(CouponResult("4.7 mm", 4.81),), people=(PersonBrief("Ada", ("conservator",)),),
                 may=(MayBrief("angle", ("designer",)),))


@pytest.fixture
def book():
    book = Book()
    book.say(take_inputs({}, case_inputs(CASE, SHOP), False), "mountmaker")
    return book


def take(book, case, reason=""):
    state = book.state
    book.say(take_inputs(state.inputs, case_inputs(case, SHOP), state.signed_off is not None, reason), "designer")
    return book.state


def thinner(case=CASE, mm=28.4):
    return replace(case, panels=(replace(case.panels[0], thickness_mm=mm, thickness_measured=True),))


def test_every_value_of_the_file_and_every_rule_is_on_record(book):
    inputs = book.state.inputs
    assert (inputs["panels.West.thickness_mm"], inputs["measured_rods.3/16.diameter_mm"]) == (30.0, 4.752)
    assert (inputs["coupons.4.7 mm.hole_mm"], inputs["people.Ada.roles"]) == (4.81, ["conservator"])
    assert inputs["may.angle.roles"] == ["designer"]
    assert inputs["rules.post.web_mm"] == SHOP.post.web_mm
    json.dumps(dict(inputs), allow_nan=False)  # plain values only


def test_the_same_file_again_says_nothing(book):
    assert take_inputs(book.state.inputs, case_inputs(CASE, SHOP), False) == ()
    assert take_inputs(json.loads(json.dumps(dict(book.state.inputs))), case_inputs(CASE, SHOP), True) == ()


def test_a_change_says_what_from_to_and_whose_and_counts_as_a_revision(book):
    before = book.state.revision("1")
    state = take(book, thinner())
    assert state.inputs["panels.West.thickness_mm"] == 28.4
    assert state.revision("1") == book.entries[-1].seq > before
    line = history(book.entries, None)[-1]
    assert line.person == "designer"
    assert line.sentence == ("took what case.toml says now: panel West: thickness 28.4 mm, was 30 mm; panel West: "
                             "thickness measured yes, was no")


def test_what_the_file_no_longer_says_is_told_too(book):
    changes = input_changes(book.state.inputs, case_inputs(replace(CASE, measured_rods=()), SHOP))
    assert [c.sentence() for c in changes] == [
        "rod 3/16: diameter not said, was 4.752 mm", "rod 3/16: tolerance not said, was 0.005 mm"]
    assert "measured_rods.3/16.diameter_mm" not in take(book, replace(CASE, measured_rods=())).inputs


def test_a_rule_that_changed_is_an_input_like_any_other(book):
    stricter = replace(SHOP, post=replace(SHOP.post, web_mm=SHOP.post.web_mm + 2))
    (change,) = input_changes(book.state.inputs, case_inputs(CASE, stricter))
    assert change.key == "rules.post.web_mm"


def test_after_sign_off_a_change_needs_a_reason(book):
    book.say(decide.sign_off(book.state), "curator")
    with pytest.raises(RecordError, match=r"signed off.*thickness 28.4 mm, was 30 mm.*scanprep inputs"):
        take(book, thinner())
    assert take(book, thinner(), "measured at delivery").inputs["panels.West.thickness_mm"] == 28.4


def test_a_rule_that_a_newer_version_brings_needs_no_reason(book):
    book.say(decide.sign_off(book.state), "curator")
    known = {key: value for key, value in book.state.inputs.items() if key != "rules.post.web_mm"}
    assert len(take_inputs(known, case_inputs(CASE, SHOP), True)) == 1


def test_an_input_is_not_taken_back_but_put_back(book):
    with pytest.raises(RecordError, match="Put the file back"):
        decide.take_back(book.entries, book.state, 1, "no")


def test_a_measurement_stands_before_the_file_until_the_file_changes_after_it(book):
    book.say(measuring.measured_sheet(book.state, CASE, "West", (29.2, 28.9, 29.4)))
    book.say(measuring.measured_rod(book.state, "3/16 in", (4.748, 4.752)))
    book.say(measuring.measured_hole(book.state, "4.7 mm", (4.83,)))
    now = measuring.with_measured(CASE, book.state.measured)
    assert (now.panels[0].thickness_mm, now.panels[0].thickness_measured) == (28.9, True)  # the least reading
    assert [(r.label, r.diameter_mm) for r in now.measured_rods] == [("3/16", 4.75)]  # the mean
    assert [(c.drill, c.hole_mm) for c in now.coupons] == [("4.7 mm", 4.83)]
    state = take(book, thinner(mm=28.0))
    assert measuring.with_measured(thinner(mm=28.0), state.measured).panels[0].thickness_mm == 28.0
    assert ("rod", "3/16") in state.measured  # the file said nothing new of it


def test_a_weighed_mass_survives_the_same_list_and_gives_way_to_a_corrected_one(book):
    book.say(intake(book.state, [ObjectBrief("1", "bowl", mass_g=240.0)], []).entries)
    book.say(measuring.weighed(book.state, "1", 251.5))
    assert book.state.objects["1"].mass_g == 251.5
    assert intake(book.state, [ObjectBrief("1", "bowl", mass_g=240.0)], []).entries == ()
    book.say(intake(book.state, [ObjectBrief("1", "bowl", mass_g=260.0)], []).entries)
    assert book.state.objects["1"].mass_g == 260.0


@pytest.mark.parametrize(("call", "words"), [
    (lambda s: measuring.measured_rod(s, "3/16", (9.5,)), "far from its 4.763 mm"),
    (lambda s: measuring.measured_rod(s, "3/16", ()), "at least one reading"),
    (lambda s: measuring.measured_hole(s, "4.7", (5.6,)), "0.90 mm wider than its drill"),
    (lambda s: measuring.measured_sheet(s, CASE, "North", (29.0,)), "no panel of this case"),
    (lambda s: measuring.measured_sheet(s, CASE, "West", (24.0,)), "outside what a cast sheet"),
    (lambda s: measuring.weighed(s, "9", 20.0), "not on record"),
])
def test_what_cannot_be_a_measurement_is_refused(book, call, words):
    with pytest.raises(RecordError, match=words):
        call(book.state)


def test_a_new_series_of_coupons_takes_the_place_of_the_one_before(book):
    def series(count, hole_mm):
        for which in range(1, count + 1):
            more = {"line_mm": 0.16, "push_N": 60.0, "twist_Nmm": 95.0, "pull_N": 45.0}
            book.say(measuring.measured_hole(book.state, "4.7", (hole_mm,), more=more, which=which))
        return [c.hole_mm for c in measuring.with_measured(CASE, book.state.measured).coupons]

    assert series(5, 4.84) == [4.84] * 5
    assert series(2, 4.86) == [4.86] * 2  # nothing of the old five is left among the new two
    (first, _) = measuring.with_measured(CASE, book.state.measured).coupons
    assert (first.drill, first.push_N, first.twist_Nmm) == ("4.7 mm", 60.0, 95.0)


def test_of_many_changes_the_first_are_told_and_the_rest_counted():
    names = [f"panels.P{i}.width_mm" for i in range(12)]
    changes = input_changes(dict.fromkeys(names, 600.0), dict.fromkeys(names, 700.0))
    words = input_sentences(changes)
    assert words.startswith("panel P0: width 700 mm, was 600 mm; ")
    told = words.count("was 600 mm")
    assert 0 < told < 12 and words.endswith(f"; and {12 - told} more")
    assert "more" not in input_sentences(changes[:told]) and words.count("more") == 1


def test_a_list_is_told_as_its_items_and_a_drill_keeps_its_point():
    (roles,) = input_changes({"people.Ada.roles": ["curator"]}, {"people.Ada.roles": ["conservator", "registrar"]})
    assert roles.sentence() == "people Ada: roles conservator, registrar, was curator"
    (none,) = input_changes({"people.Ada.roles": ["curator"]}, {"people.Ada.roles": []})
    assert "roles none" in none.sentence()
    (hole,) = input_changes({"coupons.4.7 mm.hole_mm": 4.81}, {"coupons.4.7 mm.hole_mm": 4.85})
    assert hole.sentence() == "test hole 4.7 mm: hole 4.85 mm, was 4.81 mm"
    (rule,) = input_changes({"rules.post.web_mm": 6.0}, {"rules.post.web_mm": 8.0})
    assert rule.sentence() == "rules post: web 8 mm, was 6 mm"


def test_several_changes_at_once_each_end_the_reading_they_are_about(book):
    book.say(measuring.measured_sheet(book.state, CASE, "West", (29.2,)))
    book.say(measuring.measured_rod(book.state, "3/16 in", (4.75,)))
    both = replace(thinner(), measured_rods=(), units="in")
    state = take(book, both)
    assert ("sheet", "West") not in state.measured and ("rod", "3/16") in state.measured  # the file says less of it
    state = take(book, replace(both, measured_rods=(RodMeasured("3/16", 4.741),)))
    assert ("rod", "3/16") not in state.measured


@pytest.mark.parametrize(("known", "file_id", "words"), [
    (None, "c1", ""), (None, None, ""), ("c1", "c1", ""), ("c1", "c2", "is that of case c2"),
    ("c1", None, "says no id")])
def test_a_case_file_is_that_of_its_record(known, file_id, words):
    recorded = {} if known is None else {"case_id": known}
    case = replace(CASE, case_id=file_id)
    if words:
        with pytest.raises(UnreadableRecordError, match=words):
            check_same_case(recorded, case)
    else:
        check_same_case(recorded, case)
