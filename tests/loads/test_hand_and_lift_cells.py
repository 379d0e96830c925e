"""A knock, a push, the site's lift and steps of people, at every part of nine of the demo's mounts, worked again.

Tips, pads, arms and laps by the second solution of wires, pads and object (`independent`); hub, joint and rod by
statics of all forces, the plate by a boundary value solver, the seat's bed by springs.
"""

import functools
import math

import numpy as np
import pytest
from pytest import approx
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from scanprep.loads import cases as case
from scanprep.loads.records import ChainPart
from scanprep.post import plan_post, stocked_rods
from scanprep.post.loads import carried_by, directions
from tests.loads.demo import NUMBERS, PANEL, RULES, kept, snug
from tests.loads.independent import (
    WEIGHT,
    bed_moments,
    flat_modulus_mm3,
    laps_of,
    plate_of_turned_boss,
    pulls,
    rest_members,
    skin_MPa,
    solve_mount,
    strips_MPa,
)

CASE = snug("3/16", 4.760, "3/16")
ROD_mm = 4.763  # the least of the measured rod: hole + 8 um, less the micrometer's 5
HANDS = {case.KNOCK: 20.0, case.PUSH_OBJECT: 100.0, case.TOUCH: 10.0}  # N, the rulebook's assumed pushes
AXES = np.vstack([np.eye(3), -np.eye(3)])
#: A floor's 0.005 g (AISC Design Guide 11, from memory) met in step by what has 3 % damping: 1/(2 x 0.03) times.
STEPS_g = 0.005 / 0.06
LIFT_g = 0.35  # a case that says nothing of up and down has as much of it as sideways
KEYS = (case.TOUCH, case.KNOCK, case.PUSH_OBJECT, case.LIFT, case.WALKING)


@functools.cache
def both(number):
    hold, survey, material = kept()[number]
    rod = {one.label: one for one in stocked_rods(RULES, CASE)}["3/16"]
    return carried_by(hold, survey, RULES.post), plan_post(hold, survey, rod, RULES, CASE, PANEL, material)


def edges(carried):
    """The four outermost points that a hand finds, mouth frame."""
    w, h, z = carried.half_width_mm, carried.half_height_mm, carried.front_mm
    return np.array([(w, 0, z), (-w, 0, z), (0, h, z), (0, -h, z)])


def ways_g(key):
    """Accelerations of the site's lift, and of steps."""
    return LIFT_g * np.array([[0, 1, 0], [0, -1, 0]]) if key == case.LIFT else STEPS_g * directions()


def wrenches(number, key):
    """What acts on the object at its centre of mass, beside its weight: (6, n)."""
    carried, _ = both(number)
    if key not in HANDS:
        forces = carried.object_g * WEIGHT * ways_g(key)
        return np.hstack([forces, np.zeros_like(forces)]).T
    out = [np.r_[HANDS[key] * way, np.cross(point - carried.centre_mm, HANDS[key] * way)]
           for point in edges(carried) for way in AXES]
    return np.array(out).T


@functools.cache
def units(number):
    """The second solution under each of six unit wrenches, and every wire alone under its force at rest."""
    hold, _, _ = kept()[number]
    return ([solve_mount(hold, way) for way in np.eye(6)], [rest_members(hold, t) for t in range(len(hold.tips))])


def soft_members(tip, members):
    """Which members lie beyond the first bend tighter than the wire itself: they were annealed to be bent so.

    Common practice for cold brass wire: an inside radius of at least its diameter.
    """
    sharp = [bend.at_mm for bend in tip.arm.bends if bend.radius_mm < tip.arm.wire_mm - 1e-6]
    if not sharp:
        return [False] * len(members)
    places = np.unique([np.round(p, 6) for a, b, _, _ in members for p in (a, b)], axis=0)

    def place(p):
        return int(np.argmin(np.linalg.norm(places - p, axis=1)))

    i, j = ([place(m[k]) for m in members] for k in (0, 1))
    lengths = [np.linalg.norm(m[1] - m[0]) for m in members]
    held = [n for n in set(i) if n not in j]  # a wire starts where no other member ends: at the hub
    far = dijkstra(coo_array((lengths, (i, j)), shape=(len(places),) * 2).tocsr(), directed=False,
                   indices=held).min(axis=0)
    return [max(far[a], far[b]) + tip.arm.lap_mm > min(sharp) - tip.arm.wire_mm for a, b in zip(i, j)]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("number", NUMBERS)
def test_tips_pads_arms_and_laps_by_the_other_solution(number, key):
    hold, _, _ = kept()[number]
    _, plan = both(number)
    solved, at_rest = units(number)
    acts = wrenches(number, key)
    carries = [t for t, tip in enumerate(hold.tips) if tip.bearing] or range(len(hold.tips))
    ratio = pressure = worked = lap = 0.0
    for t, (tip, rest) in enumerate(zip(hold.tips, at_rest)):
        soft = soft_members(tip, rest)
        for act in acts.T:
            for k, face in enumerate(tip.faces):
                change = sum(a * one[0][t][k][:3] for a, one in zip(act, solved))
                force = (tip.force_N if k == 0 else 0.0) - np.asarray(face.normal) @ change
                # for a moment twice the limit of a tip (the rulebook's assumption)
                ratio = max(ratio, force / (2 * face.force_limit_N))
                if t in carries:
                    pressure = max(pressure, force / (math.pi * face.radius_mm**2))
            moved = [(a, b, d, sum(u * one[1][t][k][3] for u, one in zip(act, solved)))
                     for k, (a, b, d, _) in enumerate(rest)]
            pressed = [(a, b, d, more + still) for (a, b, d, more), (_, _, _, still) in zip(moved, rest)]
            # steps tire a wire by their swing alone; all else bends it on top of what it bears at rest
            for (a, b, d, ends), annealed in zip(moved if key == case.WALKING else pressed, soft):
                # C26000, materials table: least yield hard 350 MPa, annealed 76 MPa; swing borne 90 MPa (from memory)
                limit = 90.0 if key == case.WALKING else (76.0 if annealed else 350.0) / (1.0 if key in HANDS else 1.5)
                worked = max(worked, skin_MPa(ends, a, b, d) / limit)
            slotted = hold.hub.kind == "cross-wire"
            lap = max(lap, *(strips_MPa(end, run, length, tip.arm.wire_mm, slotted)
                             for end, run, length in laps_of(tip, hold.hub, pressed)))
    tips, arm = plan.table.cell(key, ChainPart.TIPS), plan.table.cell(key, ChainPart.ARM)
    assert tips.demand / tips.resistance == approx(ratio, rel=1e-5)
    assert plan.table.cell(key, ChainPart.PAD).demand == approx(pressure, rel=1e-5)
    assert arm.demand / arm.resistance == approx(worked, rel=1e-4)
    assert plan.table.cell(key, ChainPart.ARM_JOINT).demand == approx(lap, rel=0.01)  # 400 strips


def force_sets(carried, key):
    """Every set of forces with their places that the case puts on the post, mouth frame."""
    if key in HANDS:
        return [(*pulls(carried, (0, 0, 0)), (HANDS[key] * way, point)) for point in edges(carried) for way in AXES]
    return [pulls(carried, way) for way in ways_g(key)]


def sums(forces, z):
    """Force and moment of a set about a place along the post."""
    return sum(f for f, _ in forces), sum(np.cross(p - (0, 0, z), f) for f, p in forces)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("number", NUMBERS)
def test_hub_and_its_joint_by_statics(number, key):
    carried, plan = both(number)
    hub, table = carried.hub, plan.table
    if hub.kind == "cross-wire":
        assert "slots" in table.cell(key, ChainPart.HUB).because
        return
    assert hub.kind in ("plate", "bar")
    totals = [sums(one, carried.free_length_mm) for one in force_sets(carried, key)]
    # Shigley's weld round a shaft, two fillets of 0.8 mm and half of the bore wetted
    throat = 2 * 0.8 * math.sqrt(0.5) + hub.thickness_mm / 2
    ring, turned = math.pi * ROD_mm * throat, math.pi * ROD_mm**2 / 4 * throat
    joint = max(math.hypot(math.hypot(m[0], m[1]) / turned + abs(f[2]) / ring,
                           abs(m[2]) / (2 * turned) + 2 * math.hypot(f[0], f[1]) / ring) for f, m in totals)
    assert table.cell(key, ChainPart.HUB_JOINT).demand == approx(joint, rel=1e-4)

    def hub_MPa(moments):
        if hub.kind == "plate":
            per_Nmm, _ = plate_of_turned_boss(hub.size_mm / 2, ROD_mm / 2, hub.thickness_mm)
            return per_Nmm * max(math.hypot(m[0], m[1]) for m in moments)
        # a bar however it lies: each half takes half of what bends it, of post's turning too
        lies = [(math.cos(a), math.sin(a)) for a in np.linspace(0, math.pi, 721)]
        across = max(math.hypot(m[1] * x - m[0] * y, m[2]) for m in moments for x, y in lies)
        return across / 2 / (math.pi * hub.thickness_mm**3 / 32)

    found = table.cell(key, ChainPart.HUB)
    if key == case.WALKING:  # by its swing, weight taken off
        still = sums(pulls(carried, (0, 0, 0)), carried.free_length_mm)[1]
        assert found.resistance == 90.0
        assert found.demand == approx(hub_MPa([m - still for _, m in totals]), rel=3e-3)
    else:
        assert found.demand == approx(hub_MPa([m for _, m in totals]), rel=3e-3)
        assert found.resistance == (350.0 if key in HANDS else 350.0 / 2)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("number", NUMBERS)
def test_rod_in_its_bed_and_seat(number, key):
    carried, plan = both(number)
    d, depth = ROD_mm, plan.post.seat_depth_mm
    W, area = math.pi * d**3 / 32, math.pi * d**2 / 4
    left = flat_modulus_mm3(d, RULES.post.vent_flat_mm) / W
    by_force, by_moment = bed_moments(depth, 97_000 * math.pi * d**4 / 64, RULES.post.bed_low_MPa)
    still_f, still_m = sums(pulls(carried, (0, 0, 0)), 0.0)
    bound, true, turned = 0.0, 0.0, 0.0
    for forces in force_sets(carried, key):
        f, m = sums(forces, 0.0)
        turned = max(turned, abs(m[2]))
        if key == case.WALKING:
            f, m = f - still_f, m - still_m
        # along the bed, each plane by itself: what bends about y goes with a force along x, about -x with one along y
        inside = np.hypot(f[0] * by_force + m[1] * by_moment, f[1] * by_force - m[0] * by_moment).max()
        inside = max(inside, math.hypot(m[0], m[1]))
        twist = math.sqrt(3) * m[2] / (2 * W)
        true = max(true, math.hypot(inside / W, twist) / left + abs(f[2]) / area)
        together = math.hypot(m[0], m[1]) + math.hypot(f[0], f[1]) * np.abs(by_force).max()
        bound = max(bound, math.hypot(together / W, twist) / left + abs(f[2]) / area)
    rod, seat = plan.table.cell(key, ChainPart.ROD), plan.table.cell(key, ChainPart.SEAT)
    # what shear adds to the moment inside the sheet is added at its own place: never less than the true stress
    assert true * 0.995 <= rod.demand
    assert rod.demand == approx(bound, rel=5e-3)
    if key in HANDS:
        assert seat.demand == HANDS[key]  # pulled along a level post, whose weight pulls nothing
    else:
        assert seat.demand == approx(2 * turned)  # safety 2


def test_a_lift_bends_the_rod_by_weight_and_a_third_more():
    # all forces of a lift of 0.35 g lie along the weight: every stress of the weight, which pulls nothing along the
    # post, 1.35 times
    for number in NUMBERS:
        lift, weight = (both(number)[1].table.cell(key, ChainPart.ROD).demand for key in (case.LIFT, case.WEIGHT))
        assert lift == approx(1.35 * weight)
