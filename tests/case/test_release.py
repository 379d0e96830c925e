"""One release for each hole: everything that bears on it can hold it, and says so in its own line."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from scanprep.brief import CouponResult, RodMeasured
from scanprep.case.record.frozen import drilled_facts
from scanprep.case.record.mount_life import Agreement, AsMade, MountLife
from scanprep.case.record.state import CaseState, Placement, RecordedHole
from scanprep.case.release import concerns, hole_releases, release_of
from scanprep.findings import Check, Finding, Verdict
from scanprep.rules import FitRules
from tests.case.cases import CASE, an_object, box

READY = replace(CASE, measured_rods=(RodMeasured("3/16", 4.752),), coupons=(CouponResult("4.7", 4.81),))


def item(number="1", hole="H1", state="planned", **more):
    return replace(an_object(number, box(), "West", "A", 200.0, 900.0), hole_number=hole, hole_state=state,
                   as_made=True, **more)


def spec(findings=(), checks=(), weighed=True, chosen_by="curator"):
    return SimpleNamespace(findings=findings, checks=checks, hold=object(), chosen_by=chosen_by,
                           survey=SimpleNamespace(mass_measured=weighed))


def said(what, refused=False, note=""):
    return Agreement(what, "conservator" if what == "contacts" else "curator", "2026-03-01T10:00:00", None, 9, True,
                     note, refused)


def state(number="1", words=("contacts", "angle", "place"), hole_state="planned", holes=()):
    life = MountLife(as_made=AsMade(0.0, 0.0, 0.0, 5), agreements=tuple(said(what) for what in words))
    place = Placement("West", "A", 200.0, 900.0, "H1", 200.0, 900.0, False, hole_state, "decision", None, "designer", 4)
    return CaseState(placements={number: place}, mounts={number: life}, holes=holes)


def released(*, case=READY, at=None, thing=None, of=None, findings=()):
    return release_of("1", hole_releases(case, at or state(), {"1": of or spec()}, [thing or item()], findings))


def test_a_hole_with_everything_known_and_agreed_is_released():
    release = released()
    assert (release.number, release.panel, release.face, release.state) == ("H1", "West", "A", "planned")
    assert (release.released, release.reasons, release.held) == (True, (), False)


def test_what_a_recipe_holds_waits_for_its_five_coupons_and_a_key_waits_for_none():
    whole = CouponResult("4.7", 4.81, line_mm=0.10, push_N=58.0, twist_Nmm=120.0, pull_N=45.0)
    def waits(held, *coupons):
        plain = item()
        thing = replace(plain, plan=replace(plain.plan, post=replace(plain.plan.post, retention=held)))
        case = replace(READY, coupons=coupons)
        return hole_releases(case, state(), {"1": spec()}, [thing], (), FitRules())[0].reasons
    four = "4 of 5 coupons of drill 4.7 held by line 0.10 mm are complete: push, twist and pull"
    assert waits("line 0.10 mm", *[whole] * 4, replace(whole, pull_N=None)) == (four,)
    assert waits("line 0.10 mm", *[whole] * 4, replace(whole, line_mm=0.16)) == (four,)  # another recipe
    assert waits("line 0.10 mm", *[replace(whole, lot="1")] * 4, replace(whole, lot="2")) == (four,)  # another bar
    assert waits("line 0.10 mm", *[whole] * 5) == ()
    assert waits("line 0.10 mm + second pin", whole) == ()


UNMEASURED_PANEL = replace(READY, panels=tuple(replace(p, thickness_measured=False) for p in READY.panels))
PAD_ASKED = Check("hold-margin", 1.0, 0.3, "g", 3.0, "assumed", Verdict.UNMEASURED, "name the pads")


@pytest.mark.parametrize(("changed", "reason"), [
    ({"case": replace(READY, measured_rods=())}, "rod 3/16 is not measured"),
    ({"case": replace(READY, coupons=())}, "no test hole of drill 4.7 is measured"),
    ({"case": UNMEASURED_PANEL}, "the thickness of sheet West is not measured"),
    ({"of": spec(weighed=False)}, "the object is not weighed"),
    ({"of": spec(checks=(PAD_ASKED,))}, "the conservator has not named the pad"),
    ({"thing": replace(item(), as_made=False)}, "the finished mount's post axis is not measured"),
    ({"thing": replace(item(), plan=None)}, "it has no post yet"),
    ({"of": spec(chosen_by="proposed")}, "the hold is only proposed"),
    ({"at": state(words=("angle", "place"))}, "the conservator has not agreed to the contact areas"),
    ({"at": state(words=("contacts", "place"))}, "the curator has not agreed to the angle"),
    ({"at": state(words=("contacts", "angle"))}, "curator and designer have not agreed to the place"),
    ({"of": spec((Finding("post-stress", "object 1", Verdict.STOP, "object 1: post stress too high"),))},
     "post stress too high"),
    ({"findings": (Finding("panel-sway", "panel West", Verdict.STOP, "panel West sways too slowly"),)},
     "panel West sways too slowly"),
    ({"findings": (Finding("too-many-diameters", "case", Verdict.STOP, "the case has 4 post diameters"),)},
     "the case has 4 post diameters"),
    ({"findings": (Finding("objects-too-near", "object 2", Verdict.STOP, "object 2 and object 1 touch"),)},
     "object 2 and object 1 touch"),
])
def test_each_thing_alone_holds_it_with_its_own_line(changed, reason):
    release = released(**changed)
    assert (release.released, release.reasons) == (False, (reason,))


@pytest.mark.parametrize("finding", [
    Finding("post-look", "object 1", Verdict.LOOK, "object 1: look at it"),
    Finding("panel-sway", "panel East", Verdict.STOP, "panel East sways too slowly"),
    Finding("panel-sway", "panel West 2", Verdict.STOP, "panel West 2 sways too slowly"),
    Finding("objects-too-near", "object 11", Verdict.STOP, "object 11 and object 12 touch"),
])
def test_what_is_no_stop_of_it_or_of_its_panel_does_not_hold_it(finding):
    assert released(findings=(finding,)).released


def test_a_drill_is_the_same_however_it_is_spelled():
    for spelled in ("4.7 mm", "4.70", "4.7mm"):
        assert released(case=replace(READY, coupons=(CouponResult(spelled, 4.81),))).released


def test_a_drilled_hole_is_never_to_be_drilled_and_a_void_one_says_why():
    drilled = state(hole_state="drilled")
    assert not released(at=drilled, thing=item(state="drilled")).released
    assert released(at=drilled, thing=item(state="drilled")).reasons == ()
    void = RecordedHole("H7", "3", "West", "B", 100.0, 100.0, "void", True, 1,
                        drilled_facts("4.7", 21.5, False, 29.7, "checker"), "chipped")
    found = hole_releases(READY, state(holes=(void,)), {"1": spec()}, [item()], ())
    assert [(r.number, r.state, r.released, r.reasons) for r in found] == [
        ("H1", "planned", True, ()), ("H7", "void", False, ("void: chipped",))]


def test_a_mock_up_asks_for_no_agreement_and_no_finished_mount():
    mock_up = replace(READY, mock_up=True)
    assert released(case=mock_up, at=state(words=()), thing=replace(item(), as_made=False)).released


def test_an_object_without_a_place_is_held():
    loose = replace(item(hole=None), stand=None)
    release = release_of("1", hole_releases(READY, CaseState(), {"1": spec()}, [loose], ()))
    assert (release.number, release.state, release.released) == ("", "unplaced", False)
    assert "it has no place on a panel yet" in release.reasons


def test_a_refusal_holds_also_beside_an_agreement():
    life = MountLife(agreements=(said("contacts"), said("angle"), said("place"),
                                 said("contacts", refused=True, note="the glaze is loose")))
    at = replace(state(), mounts={"1": life})
    assert released(at=at).reasons == ("the conservator has not agreed to the contact areas",)


@pytest.mark.parametrize(("number", "sentence", "about"), [
    ("1", "object 1: too near", True), ("1", "object 12: too near", False), ("12", "objects 1 and 12 overlap", True),
    ("1.2", "object 1.2 hangs", True), ("1", "object 1.2 hangs", False), ("FB-1", "object FB-10 hangs", False),
    ("4", "object 3 comes to 2 mm and 4 mm", False), ("3", "the mount of object 3 and object 5 touch", True),
])
def test_a_number_counts_only_whole(number, sentence, about):
    assert concerns(Finding("x", "case", Verdict.STOP, sentence), number) is about
