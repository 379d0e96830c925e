"""Hub, wire stock, shares of the front view and ways out, against plain geometry."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.hold.making.removal import Wire, find_way_out
from scanprep.hold.making.visibility import seen_shares
from scanprep.hold.records import Face
from scanprep.hold.strength.wire import alloy, for_weight, judge_wires, stock_mm
from scanprep.hold.wires.hub import Root, plan_hub, planned_post_mm, root_options
from scanprep.hold.wires.meshes import MountMesh, tube
from scanprep.rules import HoldRules
from tests import shapes
from tests.hold.mounting import contact, under_and_sides, view_of

HOLD = HoldRules()


@lru_cache(maxsize=2)
def _cup_plan(wire_mm: float = 1.6):
    view = view_of(shapes.cup())
    contacts = tuple(under_and_sides(view, half_mm=15, behind_mm=18, side_mm=15))
    return plan_hub(view, contacts, wire_mm, 200.0, 2.5, HOLD)


def test_the_first_lap_offered_points_at_its_tip():
    plan = _cup_plan()
    for index, wanted in enumerate(np.radians(plan.wanted_deg)):
        first = root_options(plan, index, 1.6, [])[0]
        assert first.direction @ (math.cos(wanted), math.sin(wanted), 0) == approx(1.0)
        assert first.lap_mm >= HOLD.lap_diameters * 1.6


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 11), min_size=1, max_size=5))
def test_laps_offered_lie_clear_of_those_taken(picks):
    """Wires of 1.6 mm soldered side by side: their centre lines at least a wire and 0.45 mm of solder apart."""
    plan, taken = _cup_plan(), []
    for number, pick in enumerate(picks):
        options = root_options(plan, number % 4, 1.6, [(root, 1.6) for root in taken])
        if options:
            taken.append(options[pick % len(options)])
    lines = [root.start_mm + root.direction * np.linspace(0, root.lap_mm, 50)[:, None] for root in taken]
    for i, line in enumerate(lines):
        for other in lines[i + 1:]:
            assert np.linalg.norm(line[:, None] - other[None], axis=2).min() >= 1.6 + 0.4


def test_stock_is_wire_that_bends_and_is_thin():
    # B&S gauge: d = 0.127 mm * 92^((36 - n)/39) (ASTM B258); 24 ga = 0.5106, 18 ga = 1.0237, 12 ga = 2.0525
    assert stock_mm(HOLD) == approx([0.127 * 92 ** ((36 - n) / 39) for n in (24, 22, 20, 18, 16, 14, 12)], abs=1e-4)
    assert "free-cutting" not in alloy(HOLD).name


def test_wire_follows_the_weight():
    # 24 ga up to 10 g, 22 up to 30, 20 for all above; a shop without fine wire takes what it has
    least = [stock_mm(for_weight(HOLD, mass_g))[0] for mass_g in (5.0, 20.0, 50.0, 2000.0)]
    assert least == approx([0.5106, 0.6438, 0.8118, 0.8118], abs=1e-4)
    coarse = replace(HOLD, wire_gauges=("14 ga", "12 ga"))
    assert stock_mm(for_weight(coarse, 5.0)) == stock_mm(coarse)


def test_arm_is_judged_as_the_cantilever_it_is():
    # straight arm along x from a lap of 5 mm; load across at the end: k = 3 E I / L^3, sigma = 2 x 32 F L / (pi d^3)
    view = view_of(shapes.box(200, 10, 10))
    tip = contact(view, (60, -50, 0), (0, 1, 0), bearing=True)
    path = np.array([[0.0, -6.6, 0.0], [20, -6.6, 0], [60.0, -6.6, 0.0]])
    root = Root(path[0], np.array([1.0, 0, 0]), 5.0)
    duty = judge_wires([path], [1.6277], (root,), (tip,), (1.5,), HOLD)[0]
    second = math.pi * 1.6277**4 / 64
    assert duty.stiffness_N_per_mm == approx(3 * alloy(HOLD).youngs_modulus_MPa * second / 55**3, rel=1e-6)
    assert duty.stress_MPa == approx(HOLD.shake_factor * 32 * 1.5 * 55 / (math.pi * 1.6277**3), rel=1e-6)


def test_a_line_is_seen_as_long_as_it_runs_across_the_front():
    """Before a box 60 wide: a level rod of 30 is half its width, so are two of 15, an upright one is its gauge."""
    view = view_of(shapes.box(60, 40, 30))

    def line(*rods):
        meshes = [MountMesh("rod", *tube(np.array(rod), 1.0, 32), (0, 0, 0)) for rod in rods]
        return seen_shares(view, meshes, 3.0).line

    pitch = view.front.pitch_mm / 60
    assert line([[-15.0, 0, 20], [15, 0, 20]]) == approx(0.5, abs=2 * pitch)
    assert line([[-25.0, 0, 20], [-10, 0, 20]], [[10.0, 0, 20], [25, 0, 20]]) == approx(0.5, abs=4 * pitch)
    assert line([[0.0, -15, 20], [0, 15, 20]]) == approx(2 / 60, abs=2 * pitch)
    assert line([[-15.0, 0, -20], [15, 0, -20]]) == 0.0  # behind it


def test_shares_of_a_strip_across_and_beside_a_box():
    """A 4 mm rod before a box of 60 x 40, reaching 10 mm past each side: 60*4 in front, 2*10*4 beside, over 2400."""
    view = view_of(shapes.box(60, 40, 30))
    rod = tube(np.array([[-40.0, 0, 20], [40.0, 0, 20]]), 2.0, 64)
    seen = seen_shares(view, [MountMesh("rod", *rod, (0, 0, 0))], 3.0)
    assert seen.covered == approx(240 / 2400, rel=0.07)  # raster pitch 0.25 mm on 4 mm
    assert seen.beside == approx(80 / 2400, rel=0.07)


def test_what_is_behind_the_object_is_not_seen():
    view = view_of(shapes.box(60, 40, 30))
    rod = tube(np.array([[-25.0, 0, -20], [25.0, 0, -20]]), 2.0)
    seen = seen_shares(view, [MountMesh("rod", *rod, (0, 0, 0))], 3.0)
    assert (seen.covered, seen.beside) == (0.0, 0.0)


def _hook(path: list[list[float]], view, origin, direction, bearing=False) -> Wire:
    return Wire(np.array(path, dtype=float), 1.6, (), contact(view, origin, direction, bearing=bearing), 1.0)


def test_a_shelf_alone_lets_the_object_out_without_a_bend_to_another_arm():
    view = view_of(shapes.box(60, 40, 30))
    under = [_hook([[x, 0, -20], [x, -21.6, -20], [x, -21.6, 10]], view, (x, -60, 0), (0, 1, 0), True)
             for x in (-15, 15)]
    way = find_way_out(view, under, alloy(HOLD))
    assert way is not None and way.also_open == ()
    assert way.opening.force_N < 2.0  # nothing is in the way, only the pads' spring


def test_a_box_caught_in_front_on_one_side_opens_that_arm():
    view = view_of(shapes.box(60, 40, 30))
    wires = [_hook([[x, 0, -20], [x, -21.6, -20], [x, -21.6, 10]], view, (x, -60, 0), (0, 1, 0), True)
             for x in (-15, 15)]
    # lips over the front at top and bottom edges and both sides: only the top one is not carrying
    wires += [_hook([[0, 0, -20], [0, 22.6, -20], [0, 22.6, 16.6], [0, 14, 16.6]], view, (0, 15, 60), (0, 0, -1)),
              _hook([[0, 0, -20], [0, -22.6, -20], [0, -22.6, 16.6], [0, -14, 16.6]], view, (0, -15, 60), (0, 0, -1),
                    True)]
    way = find_way_out(view, wires, alloy(HOLD))
    assert way is not None
    assert way.opening.arm == 2 and way.also_open == ()
    assert way.opening.withdraw[1] > 0  # up, out of the lower lip


def _lip_over_the_top(wire_mm: float, sizes: tuple[float, ...], spring: float = 40.0):
    """The box above, its top lip of stiff wire, with two faces: a seat on top and the lip in front."""
    view = view_of(shapes.box(60, 40, 30))
    wires = [_hook([[x, 0, -20], [x, -21.6, -20], [x, -21.6, 10]], view, (x, -60, 0), (0, 1, 0), True)
             for x in (-15, 15)]
    top = contact(view, (0, 60, 5), (0, -1, 0))
    lip = contact(view, (0, 17, 60), (0, 0, -1))
    faces = tuple(Face(one.point_mm, one.normal, 1.0, 1.2) for one in (top, lip))
    path = np.array([[0, 0, -20], [0, 22.6, -20], [0, 22.6, 16.6], [0, 17, 16.6]], dtype=float)
    return view, [*wires, Wire(path, wire_mm, (), replace(top, faces=faces, along=(0, 1)), spring, sizes)]


def test_a_stiff_lip_is_a_soft_finger_as_thick_as_its_force_asks():
    # plastic moment of soft C26000, 76 MPa (AZoM) x d^3/6 over a lip of 5.6 mm: d 0.81 1.2 N, 1.02 2.4, 1.29 4.9 N;
    # the lip may press 1 N, 2 N for a moment: 0.81 would give way, 1.02 keeps and is straightened by 2.4 N
    view, wires = _lip_over_the_top(2.05, (0.81, 1.02, 1.29))
    opening = find_way_out(view, wires, alloy(HOLD)).opening
    assert (opening.arm, opening.kind, opening.wire_mm) == (2, "finger", 1.02)
    assert opening.force_N == approx(76.0 * 1.02**3 / 6 / 5.6, rel=1e-3)
    assert opening.direction[1] > 0.5 and opening.direction[2] > 0.5  # forward and up: in line with the run on top


def test_where_no_finger_is_strong_and_soft_enough_the_end_draws_off_and_no_pliers_come_near():
    view, wires = _lip_over_the_top(2.05, (0.81,))
    opening = find_way_out(view, wires, alloy(HOLD)).opening
    assert opening.kind in ("sleeved pin", "screw") and opening.force_N == 0.0
    assert opening.direction[2] > 0.9  # forward, off the top edge


def test_a_springy_lip_is_bent_aside_by_the_fingers_within_their_force():
    view, wires = _lip_over_the_top(1.02, (), spring=0.3)
    opening = find_way_out(view, wires, alloy(HOLD)).opening
    assert opening.kind == "bend" and 0 < opening.force_N <= HOLD.removal_hand_N


@pytest.mark.parametrize("mass_g", [40.0, 5000.0])
def test_a_narrow_object_gets_no_plate_that_shows(mass_g):
    view = view_of(shapes.box(8, 160, 8))
    contacts = [contact(view, (0, -200, 0), (0, 1, 0), bearing=True), contact(view, (-60, 40, 0), (1, 0, 0)),
                contact(view, (60, 40, 0), (-1, 0, 0))]
    plan = plan_hub(view, tuple(contacts), 1.29, mass_g, 1.0, HOLD)
    assert plan_hub(view, tuple(contacts), 2.05, mass_g, 1.0, HOLD).hub.kind == "bar"  # no slot of 2.05 in a 2.38 post
    assert plan.hub.kind == ("cross-wire" if mass_g < 60 else "bar")
    if plan.hub.kind == "bar":
        assert plan.hub.angle_deg == approx(90.0, abs=10.5)  # along the object, to one step


def test_a_bar_hides_behind_the_stem_where_the_tips_are_and_no_plate_behind_the_top():
    """A candlestick: stem of 14 mm, socket of 44 mm; only behind that is a plate hidden, 60 mm above the tips."""
    profile = [(0, -75), (40, -75), (40, -65), (7, -65), (7, 60), (22, 60), (22, 90), (0, 90)]
    view = view_of(shapes.revolved("stick", profile))
    tips = (contact(view, (0, -20, -60), (0, 0, 1)), contact(view, (-60, -10, 0), (1, 0, 0), bearing=True),
            contact(view, (60, -10, 0), (-1, 0, 0), bearing=True))
    plan = plan_hub(view, tips, 2.05, 600.0, 3.0, HOLD)
    assert plan.hub.kind == "bar" and plan.hub.angle_deg == approx(90.0, abs=10.5)  # along the stem, to one step
    assert 3.0 - view.front.pitch_mm <= plan.attach_mm[1] < 25.0  # at the centre of mass, not up behind the socket
    assert plan.hidden_share > 0.9


@pytest.mark.parametrize("mass_g, post_mm", [(5.0, 1.5875), (30.0, 2.38125), (150.0, 3.175), (500.0, 4.7625)])
def test_a_hub_tells_the_post_it_was_planned_for(mass_g, post_mm):
    """Inch rods: 1/16, 3/32, 1/8, 3/16 of 25.4 mm."""
    view = view_of(shapes.cup())
    contacts = tuple(under_and_sides(view, half_mm=15, behind_mm=18, side_mm=15))
    plan = plan_hub(view, contacts, 1.6, mass_g, 2.5, HOLD)
    assert planned_post_mm(plan.hub, plan.lap_mm) == approx(post_mm)


def test_hub_is_centred_where_the_object_is_and_never_below_its_centre():
    view = view_of(shapes.cup())
    contacts = tuple(under_and_sides(view, half_mm=15, behind_mm=18, side_mm=15))
    plan = plan_hub(view, contacts, 1.6, 200.0, 2.5, HOLD)
    assert plan.hub.kind == "plate"
    assert abs(plan.attach_mm[0]) < 0.5
    assert plan.attach_mm[1] >= 2.5 - view.front.pitch_mm
    more = plan_hub(view, (*contacts, *contacts[:3]), 1.6, 200.0, 2.5, HOLD)
    assert more.hub.kind == "ring"  # seven arms
