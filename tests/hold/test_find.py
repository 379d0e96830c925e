"""Holds of whole objects: what is offered, what is refused, and what every offer keeps to."""

from dataclasses import replace
from itertools import islice
from types import SimpleNamespace

import numpy as np
import pytest

import scanprep.hold.find as find
import scanprep.hold.tries as tries
from scanprep.brief import ObjectBrief, Region
from scanprep.findings import Verdict
from scanprep.hold.find import find_holds, find_tips
from scanprep.hold.making.arm_layout import mirrored
from scanprep.hold.making.visibility import Seen
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.records import Contact
from scanprep.hold.search.offers import Search, study
from scanprep.hold.tries import SHOWS
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.shapes import ball, box, cleaned_of, cup, l_block, medal, revolved

SETTINGS = Rulebook()


def known(solid, **said):
    brief = ObjectBrief(number="1", **{"material": "bronze", "mass_g": solid.volume_mm3 * 2.4e-3, **said})
    return _measured(solid.name, brief, lambda: cleaned_of(solid))


_KNOWN = {}


def _measured(name, brief, cleaned):
    """Working mesh, survey and brief; measured once for all tests that begin with the same solid and the same words."""
    if (name, brief) not in _KNOWN:
        found = cleaned()
        _KNOWN[name, brief] = found.working, survey_object(found, brief, SETTINGS), brief
    return _KNOWN[name, brief]


def studied(solid, **said):
    working, survey, brief = known(solid, **said)
    attitudes = propose_attitudes(working, survey, brief)
    return study(working, survey, brief, SETTINGS, 0.35, attitudes), attitudes


@pytest.fixture(scope="module")
def block():
    return studied(l_block())


def test_every_offer_passes_every_gate_and_no_two_are_the_same(block):
    shared, attitudes = block
    offers = list(islice(Search(shared, attitudes[0]).offers(), 4))
    assert len(offers) >= 3
    for tipset in offers:
        assert all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in tipset.checks)
        assert {"carried-from-below", "margin", "margin-low-friction", "torque-capacity", "preload",
                "shake-withstood"} <= {check.name for check in tipset.checks}
    assert len({tuple(contact.point_mm for contact in tipset.contacts) for tipset in offers}) == len(offers)


def test_tips_stand_apart_and_press_within_their_limits(block):
    shared, attitudes = block
    tipset = find_tips(shared, attitudes[0])[0][0]
    for number, one in enumerate(tipset.contacts):
        assert tipset.forces_N[number] <= max(face.force_limit_N for face in one.faces) + 1e-6
        for other in tipset.contacts[number + 1:]:
            gaps = [np.linalg.norm(np.subtract(a.point_mm, b.point_mm)) - a.radius_mm - b.radius_mm
                    for a in one.faces for b in other.faces]
            assert min(gaps) >= 1.0  # a wire's width


def test_a_tip_whose_wire_cannot_lie_there_is_not_offered(block):
    shared, attitudes = block
    usual = find_tips(shared, attitudes[0])[0][0]
    barred = usual.contacts[0].point_mm
    seek = Search(shared, attitudes[0], lambda contact: not np.allclose(contact.point_mm, barred, atol=1e-6))
    for tipset in islice(seek.offers(), 3):
        assert not any(np.allclose(contact.point_mm, barred, atol=1e-6) for contact in tipset.contacts)


def test_where_nothing_can_sit_it_says_why(block):
    shared, attitudes = block
    assert list(Search(shared, attitudes[0], lambda contact: False).offers()) == []


def test_a_heavy_thing_on_gentle_tips_is_refused_with_its_reason():
    shared, attitudes = studied(box(), mass_g=4000.0, tip_limit_N=0.5)
    tipsets, refusal = find_tips(shared, attitudes[0])
    assert tipsets == []
    assert "carry" in refusal.reason or "carried" in refusal.reason
    assert "cradle" in refusal.advice


def test_flaking_surfaces_are_pressed_by_nothing_but_the_weight():
    shared, attitudes = studied(box(), condition="flaking")
    tipsets, refusal = find_tips(shared, attitudes[0])
    assert tipsets == []
    assert "conservator" in refusal.advice


def test_no_tip_touches_where_the_checklist_forbids_it():
    solid = l_block()
    low = float(solid.vertices_mm[:, 1].min())
    keep_off = Region("plane", (0.0, low + 0.6 * float(np.ptp(solid.vertices_mm[:, 1])), 0.0), normal=(0.0, 1.0, 0.0))
    shared, attitudes = studied(solid, no_touch=(keep_off,))
    tipsets, _ = find_tips(shared, attitudes[0])
    for tipset in tipsets:
        for contact in tipset.contacts:
            for face in contact.faces:
                body = attitudes[0].rotation.T @ np.asarray(face.point_mm)
                assert body[1] + shared_centre(solid)[1] <= keep_off.centre_mm[1] - face.radius_mm + 1e-6


def shared_centre(solid):
    return np.asarray(solid.centre_mm)


@pytest.fixture(scope="module")
def holds():
    """Holds of two solids, mounts and all."""
    made = {}
    for solid in (cup(), medal()):
        working, survey, brief = known(solid)
        made[solid.name] = find_holds(working, survey, brief, SETTINGS)
    return made


def test_the_straight_view_comes_first_where_it_has_a_hold(holds):
    for name, found in holds.items():
        assert found.holds, name
        straight = [hold for hold in found.holds if hold.attitude.natural == 1.0]
        assert straight, name
        if dict(straight[0].score_parts)["sound"] > 0:
            assert found.holds[0] is straight[0], name


def test_no_hold_has_a_mount_that_shows_too_much(holds):
    for found in holds.values():
        for hold in found.holds:
            of_mount = [check for check in hold.checks if check.name in SHOWS]
            assert len(of_mount) == len(SHOWS)
            assert all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in of_mount)


def test_every_attitude_that_is_tried_is_answered_once_with_a_hold_or_a_reason(holds):
    for solid in (cup(), medal()):
        working, survey, brief = known(solid)
        asked = [(a.name, a.tilt_deg, a.turn_deg, a.roll_deg) for a in propose_attitudes(working, survey, brief)]
        found = holds[solid.name]
        told = [(a.name, a.tilt_deg, a.turn_deg, a.roll_deg) for a in
                [hold.attitude for hold in found.holds] + [refusal.attitude for refusal in found.refusals]]
        others = sum(hold.attitude.natural < 1.0 for hold in found.holds)
        assert sorted(told) == sorted(asked if others < 2 else asked[:len(told)])  # in turn, till there is a choice
        assert all(refusal.reason and refusal.advice for refusal in found.refusals)


def test_the_score_is_the_sum_of_its_parts_and_orders_the_holds(holds):
    for found in holds.values():
        scores = [hold.score for hold in found.holds]
        assert scores == sorted(scores, reverse=True)
        for hold in found.holds:
            assert hold.score == pytest.approx(sum(value for _, value in hold.score_parts))


def test_the_same_input_gives_the_same_tips():
    first, second = (find_tips(*_first(studied(box())))[0][0] for _ in range(2))
    assert first.contacts == second.contacts or all(
        a.point_mm == b.point_mm for a, b in zip(first.contacts, second.contacts))


def _first(pair):
    shared, attitudes = pair
    return shared, attitudes[0]


def test_a_heavier_guess_of_the_mass_never_helps():
    working, survey, brief = known(box())
    doubtful = replace(survey, mass_g=replace(survey.mass_g, high=2 * survey.mass_g.best))
    attitudes = propose_attitudes(working, survey, brief)
    sure = study(working, survey, brief, SETTINGS, 0.35, attitudes)
    unsure = study(working, doubtful, brief, SETTINGS, 0.35, attitudes)
    assert unsure.loads.weight_N == pytest.approx(2 * survey.mass_g.best * 9.80665e-3)
    assert sure.loads.weight_N == pytest.approx(survey.mass_g.high * 9.80665e-3)


def test_a_ball_is_held_from_around_or_not_at_all():
    shared, attitudes = studied(ball(), material="granite")
    tipsets, refusal = find_tips(shared, attitudes[0])
    if tipsets:  # a cradle of fingers and one from above: the shape alone stands the shake
        preload = next(check for check in tipsets[0].checks if check.name == "preload")
        assert "shape" in preload.note or preload.value >= SETTINGS.hold.preload_set_ratio
    else:
        assert "cradle" in refusal.advice


@pytest.mark.parametrize("shown, natural, taken, tried", [
    ((0.015, 0.010, 0.010), 1.0, 0.015, 1),  # shows little: taken at once
    ((0.040, 0.030, 0.035), 1.0, 0.030, 3),  # shows: two more are tried, the least seen is taken
    ((0.040, 0.045, 0.050, 0.021), 1.0, 0.040, 3),
    ((0.040, 0.005), 1.0, 0.005, 2),
    ((0.040, 0.030), 0.7, 0.040, 1),  # no straight view: the first sound one does
])
def test_in_a_straight_view_a_mount_that_shows_is_compared_with_others(monkeypatch, shown, natural, taken, tried):
    """Of the free search, no family having a mount. Sets and mounts are real, what they show is said here."""
    shares, real = list(shown), tries.draft_mount
    monkeypatch.setattr(tries, "family_offers", lambda *said, **more: iter(()))

    def said(view, tipset, survey, rules):
        draft = real(view, tipset, survey, rules)
        assert not tries.faults(draft)
        return replace(draft, meshes_seen=Seen(0.0, shares.pop(0), 0.0))

    monkeypatch.setattr(tries, "draft_mount", said)
    monkeypatch.setattr(tries, "mirrored", lambda contacts: True)
    working, survey, brief = known(cup())
    upright = replace(propose_attitudes(working, survey, brief)[0], natural=natural)
    found = find_holds(working, survey, brief, SETTINGS, attitudes=[upright])
    assert found.holds[0].beside_share == pytest.approx(taken)
    assert len(shown) - len(shares) == tried


def test_a_symmetric_mount_is_not_given_up_for_a_lopsided_one_that_shows_less(monkeypatch):
    shares, sides, real = [0.040, 0.025, 0.030], [True, False, True], tries.draft_mount
    monkeypatch.setattr(tries, "family_offers", lambda *said, **more: iter(()))
    order = {}

    def said(view, tipset, survey, rules):
        order[id(tipset.contacts)] = sides[len(order)]
        return replace(real(view, tipset, survey, rules), meshes_seen=Seen(0.0, shares[len(order) - 1], 0.0))

    monkeypatch.setattr(tries, "draft_mount", said)
    monkeypatch.setattr(tries, "mirrored", lambda contacts: order[id(contacts)])
    working, survey, brief = known(cup())
    steps = []
    found = find_holds(working, survey, brief, SETTINGS, attitudes=propose_attitudes(working, survey, brief)[:1],
                       tell=lambda done, of: steps.append((done, of)))
    assert found.holds[0].beside_share == pytest.approx(0.030)
    assert steps == [(0, 2), (1, 2), (2, 2)]  # its mounts by families, and the search


@pytest.mark.parametrize("without, tried", [(None, 3), (0, 6), (1, 4)])
def test_no_more_views_are_tried_than_give_a_choice_beside_the_straight_one(monkeypatch, without, tried):
    working, survey, brief = known(l_block())
    views = propose_attitudes(working, survey, brief)
    assert len(views) == 6 and views[0].natural == 1.0
    reasons = [view.reason for view in views]
    met, steps = [], []

    def families(trial, subject):
        met.append(trial.attitude.reason)
        if len(met) - 1 != without:
            trial.made = SimpleNamespace(tipset=SimpleNamespace(attitude=trial.attitude))

    monkeypatch.setattr(tries.Trial, "by_families", families)
    monkeypatch.setattr(tries.Trial, "by_search", lambda trial, subject, **more: None)
    monkeypatch.setattr(find, "finish_mount", lambda draft, *said: draft)
    monkeypatch.setattr(find, "_ranked", lambda mounts, subject: tuple(tipset.attitude for tipset, _, _ in mounts))
    found = find_holds(working, survey, brief, SETTINGS, tell=lambda done, of: steps.append(done / of))
    assert met == reasons[:tried] and len(found.holds) + len(found.refusals) == tried
    assert steps == sorted(steps) and steps[-1] == 1.0
    met.clear()
    find_holds(working, survey, brief, SETTINGS, attitudes=views)
    assert met == reasons  # what is asked for is tried


def test_only_where_nothing_else_is_held_do_tips_stand_on_limbs_and_the_record_says_so(monkeypatch):
    # all of a cup below its shoulder is called a limb: off it nothing can be carried from below
    working, survey, brief = known(cup())
    upright = propose_attitudes(working, survey, brief)[0]
    height = float(survey.size_mm[1])
    limbs = SimpleNamespace(cells=np.ones((1, 1, 1), dtype=bool),
                            near=lambda points: points @ upright.rotation[1] < 0.3 * height)
    monkeypatch.setattr(tries, "family_offers", lambda *said, **more: iter(()))
    monkeypatch.setattr(find, "limbs_of", lambda body, rules: limbs)
    found = find_holds(working, survey, brief, SETTINGS, attitudes=[upright])
    assert found.holds[0].why == tries.ON_LIMBS


def test_no_thing_is_shown_by_its_back_because_that_is_easier_to_hold(monkeypatch):
    # a plate, whose front is its hollow: only the view of its foot has a mount, which nobody asked for
    plate = revolved("plate", [(0, 0), (58, 0), (80, 12), (80, 14), (57, 2.5), (0, 2.5)], 96, 8)
    working, survey, brief = known(plate)
    views = propose_attitudes(working, survey, brief)
    assert any(float(view.rotation[2] @ np.asarray(survey.shown.front)) < -0.99 for view in views)
    searched = []

    def families(trial, subject):
        if float(trial.attitude.rotation[2] @ np.asarray(survey.shown.front)) < -0.99:
            trial.made = SimpleNamespace(tipset=SimpleNamespace(attitude=trial.attitude))

    monkeypatch.setattr(tries.Trial, "by_families", families)
    monkeypatch.setattr(tries.Trial, "by_search", lambda trial, subject, **more: searched.append(trial.attitude.name))
    found = find_holds(working, survey, brief, SETTINGS)
    assert not found.holds and searched  # the views of its front were searched instead
    assert [refusal.reason for refusal in found.refusals if "other face" in refusal.reason]
    assert len(found.refusals) == len(views)


def test_the_back_that_the_checklist_asks_for_is_searched(monkeypatch):
    plate = revolved("plate", [(0, 0), (58, 0), (80, 12), (80, 14), (57, 2.5), (0, 2.5)], 96, 8)
    working, survey, brief = known(plate, turn_deg=180.0)
    searched = []
    monkeypatch.setattr(tries.Trial, "by_families", lambda trial, subject: None)
    monkeypatch.setattr(tries.Trial, "by_search",
                        lambda trial, subject, **more: searched.append(trial.attitude.rotation[2]))
    find_holds(working, survey, brief, SETTINGS)
    assert float(searched[0] @ np.asarray(survey.shown.front)) < -0.99


def test_a_set_is_symmetric_where_every_tip_has_its_mirror_image():
    def tip(x, y, normal=(0.0, 1.0, 0.0)):
        return Contact((x, y, 0.0), normal, "pad", True, 5.0, 0.3, "suede", 2.0, 0.8)

    assert mirrored((tip(-20, -30), tip(20, -30), tip(0.4, 40, (0.0, -1.0, 0.0))))
    assert not mirrored((tip(-20, -30), tip(20, -27), tip(0, 40)))
    assert not mirrored((tip(-20, -30, (0.6, 0.8, 0.0)), tip(20, -30, (0.6, 0.8, 0.0))))  # both lean the same way
    assert mirrored((tip(-20, -30, (0.6, 0.8, 0.0)), tip(20, -30, (-0.6, 0.8, 0.0))))
