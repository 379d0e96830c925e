"""Wires that a mountmaker would bring down behind a leg: judged by rays and by the shape's own measures."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.making.mount import Draft
from scanprep.hold.making.planned import draft_planned
from scanprep.hold.making.visibility import seen_shares
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.strength.wire import alloy, stiffness_floors
from scanprep.hold.wires.brace import find_braces, find_stiffer
from scanprep.hold.wires.hidden_ways import hidden_corners, line_costs_mm, shows
from scanprep.hold.wires.hub import Root, plan_hub
from scanprep.hold.wires.meshes import wire_meshes
from scanprep.rules import HoldRules, Rulebook
from tests.hold.mounting import attitude, contact, survey_of, tipset, view_of, working_of
from tests.shapes import blocks, box

GATE_mm = (20.0, 10.0, 20.0)


def gate(legs=(0, 5)):
    """A plate 120 mm wide and 20 high on two legs 60 mm high, joined below by a plinth 20 high: a window 80 by 60."""
    filled = np.zeros((6, 10, 1), bool)
    filled[:, 8:] = True
    filled[:, :2] = True
    filled[list(legs)] = True
    return blocks("gate", filled, GATE_mm)


def in_window(points):
    """Whether places, from the gate's middle, lie in its window."""
    return (np.abs(points[:, 0]) < 40.0) & (np.abs(points[:, 1]) < 30.0)


def along(corners):
    return np.vstack([a + (b - a) * np.linspace(0, 1, 200)[:, None] for a, b in itertools.pairwise(corners)])


def test_a_way_across_a_window_goes_round_it_behind_a_leg():
    front = view_of(gate()).front
    start, end = np.array([0.0, 40.0]), np.array([10.0, -40.0])
    assert in_window(along(np.array([start, end]))).mean() == approx(60.0 / 80.0, abs=0.02)
    found = hidden_corners(front, start, end)
    by_two = [corners for corners in found if len(corners) == 2]
    assert by_two
    for corners in by_two:
        way = np.vstack([start, corners, end])
        assert not in_window(along(way)).any()
        assert not shows(front, way)


def test_a_way_that_is_hidden_as_it_is_asks_for_no_corner():
    assert hidden_corners(view_of(box(120, 100, 20)).front, np.array([0.0, 40.0]), np.array([10.0, -40.0])) == []
    beside = np.array([-50.0, 40.0]), np.array([-50.0, -40.0])  # down behind a leg
    assert hidden_corners(view_of(gate()).front, *beside) == []


def test_a_wire_across_a_window_costs_more_than_one_past_the_edge_and_both_more_than_a_hidden_one():
    front, rules = view_of(gate()).front, HoldRules()
    starts = np.array([[0.0, 25.0], [90.0, 25.0], [-50.0, 25.0]])
    across, past, hidden = line_costs_mm(front, starts, starts - [0.0, 50.0])
    assert across == approx(50.0 * (1 + rules.through_cost), rel=0.02)
    assert past == approx(50.0 * (1 + rules.foot_beside_cost), rel=0.02)
    assert hidden == approx(50.0, rel=0.02)


@pytest.mark.parametrize(("x_mm", "through"), [(0.0, 60.0 - 2 * 4.0), (-50.0, 0.0), (90.0, 0.0), (38.0, 0.0)])
def test_what_is_seen_through_an_opening_is_told_apart_from_what_is_seen_beside(x_mm, through):
    # an upright wire 2 mm thick behind the middle of the window, a leg, the open air beside, the window's edge
    solid = gate()
    view = View.of(Obstacle.of(working_of(solid), survey_of(solid, 500.0)), attitude().rotation)
    tip = contact(view, (0.0, 90.0, 0.0), (0.0, -1.0, 0.0))
    path = np.array([[x_mm, 45.0, -15.0], [x_mm, -45.0, -15.0]])
    seen = seen_shares(view, wire_meshes(1, path, 2.0, (), tip), HoldRules().through_edge_mm)
    front_mm2 = 120.0 * 100.0 - 80.0 * 60.0
    # facets and the raster, 0.4 mm, take a tenth
    assert seen.through * front_mm2 == approx(2.0 * through, rel=0.1, abs=1.0)


def test_the_arm_of_a_foot_goes_down_behind_a_leg_and_not_across_the_window():
    solid = gate()
    survey = survey_of(solid, 300.0)
    view = View.of(Obstacle.of(working_of(solid), survey), attitude().rotation)
    under = contact(view, (20.0, -90.0, 0.0), (0.0, 1.0, 0.0), bearing=True)
    over = [contact(view, (x, 90.0, 0.0), (0.0, -1.0, 0.0)) for x in (-35.0, 35.0)]
    drawn = draft_planned(view, tipset(attitude(), [under, *over], [3.0, 0.5, 0.5]), survey, Rulebook())
    assert isinstance(drawn, Draft), drawn.reason
    for arm in drawn.arms:
        across = in_window(along(arm.path_mm)) & (np.abs(along(arm.path_mm)[:, 0]) < 40.0 - 2.0)
        assert not across.any()
    assert next(check for check in drawn.checks if check.name == "mount-through").value < 1e-6


def test_an_arm_in_the_window_is_bent_once_more_where_the_object_would_hide_it():
    # as first bent an arm to a side crosses the window: 1.5 % of the front, where 0.2 may be seen
    solid = gate()
    survey = survey_of(solid, 300.0)
    view = View.of(Obstacle.of(working_of(solid), survey), attitude().rotation)
    under = [contact(view, (x, -90.0, 0.0), (0.0, 1.0, 0.0), bearing=True) for x in (33.0, 16.0)]
    sides = [contact(view, (90.0 * side, y, 0.0), (-side, 0.0, 0.0)) for side, y in ((-1.0, 15.0), (1.0, 26.0))]
    drawn = draft_planned(view, tipset(attitude(), [*under, *sides], [2.0, 2.0, 0.5, 0.5]), survey, Rulebook())
    assert isinstance(drawn, Draft), drawn.reason
    assert next(check for check in drawn.checks if check.name == "mount-through").value < 0.005


def window_mm(corners):
    """How much of a way runs across the window."""
    return sum(float(np.linalg.norm(b - a)) * in_window(along(np.array([a, b]))).mean()
               for a, b in itertools.pairwise(corners))


@pytest.mark.parametrize("x_mm", [-50.0, 0.0, 20.0])
def test_a_brace_is_seen_no_longer_than_the_stem_that_it_holds(x_mm):
    view, rules, wire_mm = view_of(gate()), HoldRules(), 2.0525
    under = contact(view, (20.0, -90.0, 0.0), (0.0, 1.0, 0.0), bearing=True)
    over = [contact(view, (x, 90.0, 0.0), (0.0, -1.0, 0.0)) for x in (-35.0, 35.0)]
    plan = plan_hub(view, (under, *over), wire_mm, 500.0, 1.0, rules)
    z = float(plan.centre_mm[2])
    way = np.array([x_mm, -8.0, 0.0]) / np.hypot(x_mm, 8.0)
    root = Root(plan.centre_mm + plan.inner_mm * way, way, plan.lap_mm)
    # from the plate aside, down a leg or the window, and in under the object
    path = np.array([root.start_mm, root.start_mm + (plan.lap_mm + 1.0) * way, [x_mm, 45.0, z], [x_mm, -54.0, z],
                     [x_mm, -54.0, 10.0]])
    plain = find_braces(view, plan, root, path, wire_mm, rules)
    stiffer = list(find_stiffer(view, plan, root, path, wire_mm, 4, rules))
    assert plain and stiffer
    assert all(window_mm(brace.path_mm[1:]) == 0.0 for brace in plain)
    shown = [window_mm(brace.path_mm[1:4]) for brace in stiffer]
    for brace, seen_mm in zip(stiffer, shown):
        runs = np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))
        stem = path[:2 + int(np.searchsorted(runs, brace.from_hub_mm))]  # to the end of the run that is held
        assert seen_mm <= window_mm(stem) + wire_mm + 0.5  # the two are asked at other places
    # beside a stem across the window a brace may cross it; beside one behind the leg none does
    assert (max(shown) > 50.0) == (x_mm > -40.0) and (max(shown) == 0.0) == (x_mm < -40.0)


def test_wires_thicker_than_need_be_are_drawn_finer_and_the_stouter_mount_is_kept():
    solid = gate()
    survey, rules = survey_of(solid, 300.0), HoldRules()
    view = View.of(Obstacle.of(working_of(solid), survey), attitude().rotation)
    contacts = [contact(view, (20.0, -90.0, 0.0), (0.0, 1.0, 0.0), bearing=True),
                *(contact(view, (x, 90.0, 0.0), (0.0, -1.0, 0.0)) for x in (-35.0, 35.0))]
    drawn = draft_planned(view, tipset(attitude(), contacts, [3.0, 0.5, 0.5]), survey, Rulebook())
    assert isinstance(drawn, Draft) and drawn.sturdier is not None
    sizes, stouter = ([arm.wire_mm for arm in mount.arms] for mount in (drawn, drawn.sturdier()))
    assert all(fine <= stout for fine, stout in zip(sizes, stouter)) and sizes != stouter
    # the finer wires are still as strong and as stiff as their share of the object asks
    for duty, floor in zip(drawn.attempt.duties, stiffness_floors(tuple(contacts), 300.0, rules)):
        assert duty.stress_MPa * rules.wire_safety <= alloy(rules).yield_hard_MPa
        assert duty.stiffness_N_per_mm >= floor
