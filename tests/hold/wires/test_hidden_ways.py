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
from scanprep.hold.wires.hidden_ways import hidden_corners, line_costs_mm, shows
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
