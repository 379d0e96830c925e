"""Clips of flat strip: they lie on the wall over their breadth, give as curved bars do, and press on all of it.

Closed forms: a quarter of a circle held at one end and pushed outwards at the other gives by pi P R3 / (4 E I) that
way, pushed along its tangent there by (3 pi / 4 - 2) P R3 / (E I) (Castigliano's theorem; any text on curved bars,
Timoshenko's Strength of Materials among them).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.families.keeping import clips
from scanprep.hold.families.strips import of_strip
from scanprep.hold.records import Arm, Ring, Strip
from scanprep.hold.strength.frame import solve
from scanprep.hold.strength.stiffness import MOUNT_ALLOY
from scanprep.hold.strength.wire import arm_frame
from scanprep.hold.wires.meshes import wire_meshes
from scanprep.hold.wires.rings import across_strip, ring_path
from scanprep.hold.wires.wire_ends import seats_mm
from scanprep.materials import metal
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.mount.mount_words import end_words, stock_words
from scanprep.post.loads import arm_mass_g
from tests.hold.distance import distances
from tests.hold.families.test_families import scene_of
from tests.shapes import revolved

BRASS = metal(MOUNT_ALLOY)


def cone(slope):
    """A thing 160 mm high whose wall leans out by so much a mm, 40 mm in radius at its middle."""
    return revolved("cone", [(0, 0), (40 - 80 * slope, 0), (40 + 80 * slope, 160), (0, 160)], bands=20)


def clip_of(slope):
    scene = scene_of(cone(slope), mass_g=2000.0)
    wire = clips(scene)[0]
    strip = of_strip(scene, wire)
    assert strip is not None
    return scene, wire.wires[0], strip.wires[0]


def test_a_strip_gives_at_its_end_as_a_quarter_of_a_circle_does():
    radius, strip = 50.0, Strip(10.0, 2.4)
    turns = np.radians(np.linspace(180.0, 360.0, 61))  # from the left by the back to the right, z backwards
    outward = np.column_stack([np.cos(turns), np.zeros(61), np.sin(turns)])
    ring = Ring(radius * outward, outward, None, strip)
    path = np.array([[0.0, 0.0, -radius - k] for k in (8.0, 6.0, 0.0)])  # a stout short stem
    frame, (end,) = arm_frame(path, 6.0, path[0], ring.points_mm[-1:], BRASS, (), (ring.points_mm,), None, None, 40.0,
                              ring)
    loads = np.zeros((len(frame.nodes_mm), 6, 2))
    loads[end, 0, 0] = loads[end, 2, 1] = 1.0  # outwards, and along its tangent
    moved = solve(frame, loads).moved_mm[end]
    whole = radius**3 / (BRASS.youngs_modulus_MPa * strip.wide_mm * strip.thick_mm**3 / 12)
    assert moved[0, 0] == approx(math.pi / 4 * whole, rel=0.03)
    assert moved[2, 1] == approx((3 * math.pi / 4 - 2) * whole, rel=0.03)


def test_a_strip_stands_off_edgewise():
    # along its breadth it bends far less than flatwise; torsion takes part of that back
    strip, turns = Strip(10.0, 1.6), np.radians(np.linspace(180.0, 360.0, 61))
    outward = np.column_stack([np.cos(turns), np.zeros(61), np.sin(turns)])
    wide = across_strip(30.0 * outward, outward)
    assert np.abs(np.abs(wide[:, 1]) - 1.0).max() < 1e-6  # upright round an upright thing
    ring = Ring(30.0 * outward, outward, None, strip)
    path = np.array([[0.0, 0.0, -38.0], [0.0, 0.0, -36.0], [0.0, 0.0, -30.0]])
    frame, (end,) = arm_frame(path, 6.0, path[0], ring.points_mm[-1:], BRASS, (), (ring.points_mm,), None, None, 40.0,
                              ring)
    loads = np.zeros((len(frame.nodes_mm), 6, 2))
    loads[end, 2, 0] = loads[end, 1, 1] = 1.0
    moved = solve(frame, loads).moved_mm[end]
    assert moved[1, 1] < moved[2, 0]


@pytest.mark.parametrize("slope", [0.0, 0.2, -0.3])
def test_a_strip_leans_with_the_wall_and_lies_on_its_pad(slope):
    scene, wire, clip = clip_of(slope)
    ring = clip.ring
    assert ring.strip is not None and len(ring.points_mm) == len(wire.ring.points_mm)
    lean = np.arctan2(-ring.outward[:, 1], np.hypot(ring.outward[:, 0], ring.outward[:, 2]))
    assert lean == approx(math.atan(slope), abs=0.02)
    line = ring_path(clip, 2.05)
    aside = across_strip(line, ring.outward) * ring.strip.wide_mm / 2
    far = distances(np.vstack([line - aside, line, line + aside]), scene.view.vertices_mm[scene.surface.faces])
    lift = clip.pad_thickness_mm + ring.strip.thick_mm / 2
    assert far == approx(lift, abs=0.3)  # pads take up 0.25
    assert seats_mm(clip, 2.05)[0] == approx(line[len(line) // 2], abs=0.5)


def test_a_strip_presses_on_its_breadth_and_no_harder_a_mm2_than_wire():
    _, wire, clip = clip_of(0.0)
    for mine, theirs in zip(clip.faces, wire.faces):
        assert mine.force_limit_N > theirs.force_limit_N
        assert mine.force_limit_N <= theirs.force_limit_N * clip.ring.strip.wide_mm / 2.0 * 1.1  # of 2 mm a wire


def arm_on_a_stem(clip):
    """A clip on a straight flat stem, 100 mm of 1/2 x 3/16 in bar."""
    end = ring_path(clip, 4.7625)[len(clip.ring.points_mm) // 2] - [0.0, 0.0, 3.0]
    path = np.array([end - [0.0, 100.0, 0.0], end])
    return Arm(path, 4.7625, 100.0, (), 0.0, 0.0, 1.0, "#808080", (0.0, 0.0, 0.0), pieces_mm=(ring_path(clip, 4.7625),),
               lap_mm=10.0, wide_mm=12.7, strip=clip.ring.strip)


def test_a_strip_weighs_what_its_section_and_length_say():
    _, _, clip = clip_of(0.0)
    arm = arm_on_a_stem(clip)
    strip, ring = clip.ring.strip, arm.pieces_mm[0]
    length = float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
    volume = 12.7 * 4.7625 * 100.0 + strip.wide_mm * strip.thick_mm * length
    assert arm_mass_g(arm) == approx(BRASS.density_g_mm3 * volume, rel=1e-6)


def test_the_sheet_says_what_a_strip_is_cut_and_formed_from():
    _, _, clip = clip_of(0.0)
    arm, measures = arm_on_a_stem(clip), Measures("mm")
    strip = clip.ring.strip
    said = end_words(arm, measures)
    assert f"strip {strip.wide_mm:.1f} × {strip.thick_mm:.1f}" in said and "rivets" in said
    assert stock_words(arm, measures) == "flat bar 12.7 × 4.8"


def test_the_drawn_strip_has_its_own_section():
    _, _, clip = clip_of(0.0)
    path = np.array([[0.0, 0.0, -80.0], [0.0, 0.0, -70.0], seats_mm(clip, 4.7625)[0] + [0.0, 0.0, -3.0]])
    drawn = wire_meshes(1, path, 4.7625, (ring_path(clip, 4.7625),), replace(clip), wide_mm=12.7)
    ribbon = next(part for part in drawn if part.name == "arm 1 piece")
    assert np.ptp(ribbon.vertices_mm[:, 1]) == approx(clip.ring.strip.wide_mm, abs=0.1)
    ends = np.linalg.norm(ribbon.vertices_mm[:4, None] - ribbon.vertices_mm[None, :4], axis=2)
    assert sorted(np.unique(ends[ends > 1e-6].round(2)))[0] == approx(clip.ring.strip.thick_mm, abs=0.02)
