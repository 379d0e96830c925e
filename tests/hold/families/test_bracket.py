"""The bracket of flat bars: where it bears, how hard it may press, what it clears, what its stock weighs."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.findings import Verdict
from scanprep.hold.families.bracket import Bracket, bars
from scanprep.hold.find import find_holds
from scanprep.hold.making.refit import fits, refitted
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.records import MadeFor
from scanprep.hold.strength.stiffness import contact_of
from scanprep.hold.wires.flat_bar import across_mm, bent_bar
from scanprep.hold.wires.meshes import mount_meshes
from scanprep.post.loads import arm_mass_g, hub_mass_g
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.hold.distance import distances, winding_numbers
from tests.hold.families.test_families import scene_of
from tests.shapes import blocks, box, cleaned_of, revolved

RULES = Rulebook()
BLOCK = box(110, 150, 80)


def flask():
    """Foot 80 mm across, belly, and a neck 40 mm across under a rim; 160 mm high."""
    return revolved("flask", [(0, 0), (40, 0), (44, 8), (45, 70), (38, 95), (20, 115), (20, 145), (26, 150), (26, 160),
                              (0, 160)], bands=4)


@lru_cache(maxsize=4)
def held(mass_g: float):
    brief = ObjectBrief(number="1", material="bronze", mass_g=mass_g)
    cleaned = cleaned_of(flask())
    survey = survey_object(cleaned, brief, RULES)
    straight = [one for one in propose_attitudes(cleaned.working, survey, brief) if one.natural == 1.0]
    found = find_holds(cleaned.working, survey, brief, RULES, attitudes=straight)
    return found.holds[0], cleaned.working, survey, brief


def bars_of(hold):
    return [tip for tip in hold.tips if tip.arm.wide_mm and tip.arm.thin is None]


@pytest.mark.parametrize("mass_g", [1600.0, 2000.0])
def test_heavy_things_that_stand_are_borne_on_two_bars(mass_g):
    hold, *_ = held(mass_g)
    assert hold.family == Bracket().name and hold.attitude.natural == 1.0
    assert len(bars_of(hold)) == 2
    assert all(check.verdict is not Verdict.STOP for check in hold.checks)
    assert not any(tip.arm.wire_mm > RULES.hold.wire_thickest_mm and not tip.arm.wide_mm for tip in hold.tips)


def test_what_is_light_has_no_bracket():
    assert Bracket().suits(scene_of(BLOCK, mass_g=600.0)) == 0.0
    assert Bracket().suits(scene_of(BLOCK, mass_g=1600.0)) == 1.0


def test_a_bar_bears_under_a_flat_base_on_all_the_area_that_lies_on_it():
    scene = scene_of(BLOCK, mass_g=1600.0)
    left, right = bars(scene)[0]
    wide = left.flat.wide_mm
    assert left.flat.corners_mm[0, 0] == approx(-right.flat.corners_mm[0, 0])
    for bar in (left, right):
        rear, fore, lip, *leg = bar.faces
        low, front, back = scene.low_mm[1], scene.high_mm[2], scene.low_mm[2]
        assert rear.point_mm[1] == approx(low, abs=1e-6) and fore.point_mm[1] == approx(low, abs=1e-6)
        # the outer thirds of 80 mm: their middles lie 26.7 mm before and behind the middle, within a ray's pitch
        assert -rear.point_mm[2] == approx(80 / 3, abs=1.5) and fore.point_mm[2] == approx(80 / 3, abs=1.5)
        # bronze bears 0.5 MPa over a third of 80 mm by the bar's width: far above a tip's 10 N
        assert rear.force_limit_N == approx(0.5 * wide * 80 / 3, rel=0.12) and rear.force_limit_N > 10.0
        assert rear.radius_mm <= wide / 2
        assert lip.point_mm[2] == approx(front, abs=1e-6) and lip.normal[2] < -0.99
        for face in leg:
            assert face.point_mm[2] == approx(back, abs=1e-6) and face.normal[2] > 0.99


def test_a_conservators_number_sets_the_pressure():
    # 3 N on a usual pad of 2 mm radius is 0.239 MPa, less than the 0.5 MPa of the rulebook
    scene = scene_of(BLOCK, mass_g=1600.0, tip_limit_N=3.0)
    assert scene.bears_MPa == approx(3.0 / (math.pi * 2.0**2))
    assert scene_of(BLOCK, mass_g=1600.0, tip_limit_N=30.0).bears_MPa == approx(0.5)
    assert scene_of(BLOCK, mass_g=1600.0, material=None).bears_MPa == approx(0.25)  # material unknown: half of it


def test_only_what_touches_counts():
    # the same block on a rim 4 mm wide: its underside hollowed by 4 mm; the bar bears on the rim's two crossings only
    filled = np.ones((55, 75, 40), dtype=bool)
    filled[2:-2, :2, 2:-2] = False
    scene = scene_of(blocks("rim", filled, (2.0, 2.0, 2.0)), mass_g=1600.0)
    bar = bars(scene)[0][0]
    for face in bar.faces[:2]:
        assert 36.0 <= abs(face.point_mm[2]) <= 40.0
        assert face.force_limit_N == approx(0.5 * 4.0 * bar.flat.wide_mm, rel=0.5)
        assert face.force_limit_N < 0.25 * 0.5 * bar.flat.wide_mm * 80 / 3 * 2


def test_no_bar_where_the_weight_is_not_between_what_bears():
    # an L: its upright overhangs the foot by far
    filled = np.zeros((11, 15, 12), dtype=bool)
    filled[:, :3, :4] = True
    filled[:, 3:, :] = True
    assert bars(scene_of(blocks("overhang", filled), mass_g=1600.0)) == ()


def test_nothing_lies_on_what_must_not_be_touched():
    # a band across the whole underside
    scene = scene_of(BLOCK, mass_g=1600.0)
    kept = replace(scene, allowed=lambda points, radius: np.abs(points @ scene.view.rotation.T)[:, 2] > 10.0)
    assert bars(scene) and bars(kept) == ()


@pytest.mark.parametrize("mass_g", [1600.0, 2000.0])
def test_no_metal_of_a_bracket_comes_nearer_than_its_pads(mass_g):
    """By a distance of our own: bars, edges and all, are a pad's compressed thickness off the mesh, and outside it."""
    hold, working, survey, _ = held(mass_g)
    corners = (working.vertices_mm - np.asarray(survey.centre_of_mass_mm)) @ hold.attitude.rotation.T
    corners = corners[working.faces]
    for tip in bars_of(hold):
        flat, thick = contact_of(tip).flat, tip.arm.wire_mm
        _, bent = bent_bar(flat, tip.pad_thickness_mm + thick / 2, thick, RULES.hold)
        lines = across_mm(bent.curve_mm, flat.wide_mm, flat.lip_mm, float(flat.corners_mm[2, 1]))
        points = np.concatenate([np.linspace(a, b, 12) for line in lines for a, b in itertools.pairwise(line)])[::3]
        assert np.abs(winding_numbers(points, corners)).max() < 0.5
        assert distances(points, corners).min() >= thick / 2


def test_the_bars_corners_are_found_again_from_the_arm():
    hold, *_ = held(2000.0)
    for tip in bars_of(hold):
        flat = contact_of(tip).flat
        lows = [face.point_mm[1] for face in tip.faces[:2]]
        assert flat.corners_mm[1:3, 1] == approx(np.array(lows), abs=1e-6)
        # what touches a flat lip lies within what its pad takes up of the lip's own plane
        assert 0.0 <= flat.corners_mm[2, 2] - tip.faces[2].point_mm[2] <= 2 * RULES.hold.pad_relief_mm


def test_a_brackets_stock_weighs_what_its_sizes_say():
    # cartridge brass, 8.53 g/cm3
    hold, *_ = held(2000.0)
    arm = bars_of(hold)[0].arm
    assert arm_mass_g(arm) == approx(8.53e-3 * arm.wide_mm * arm.wire_mm * arm.developed_length_mm, rel=0.01)
    hub = hold.hub
    assert hub.kind == "bar" and hub.high_mm == 25.4
    assert hub_mass_g(hub) == approx(8.53e-3 * hub.size_mm * 25.4 * hub.thickness_mm, rel=0.01)


def test_the_picture_shows_bars_as_wide_as_they_are():
    hold, *_ = held(2000.0)
    shown = {mesh.name: mesh.vertices_mm for mesh in mount_meshes(hold)}
    number = hold.tips.index(bars_of(hold)[0]) + 1
    assert np.ptp(shown[f"arm {number}"][:, 0]) == approx(bars_of(hold)[0].arm.wide_mm)
    assert np.ptp(shown["hub"][:, 1]) == approx(25.4)
    high = shown["hub"][:, 1]
    legs = [shown[f"arm {hold.tips.index(tip) + 1}"][:, 1].max() for tip in bars_of(hold)]
    assert legs == approx([high.max()] * 2, abs=1e-6)  # each leg lies on all of the back bar's height


def test_a_bracket_is_drawn_again_for_a_thicker_post():
    hold, *known = held(2000.0)
    thicker = MadeFor(9.525)
    assert fits(hold, MadeFor(6.35)) and not fits(hold, thicker)
    made = refitted(hold, *known, RULES, 0.35, thicker)
    assert made is not hold and fits(made, thicker)
    # laps begin beyond the post's half and 0.8 mm of solder, measured to the wire's own side where it lies beside it
    for arm in (tip.arm for tip in made.tips if not tip.arm.wide_mm):
        aside, up = np.abs(np.asarray(arm.path_mm[0]) - made.attach_mm)[:2]
        assert max(aside - arm.wire_mm / 2, up if up < 12.7 - 1e-6 else 0.0) >= 9.525 / 2 + 0.8 - 1e-6
    assert [tip.arm.wide_mm for tip in bars_of(made)] == [tip.arm.wide_mm for tip in bars_of(hold)]
