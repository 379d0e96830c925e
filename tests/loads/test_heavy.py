"""Two posts on one hub, against a frame library; a bracket's bolts by hand."""

import dataclasses

import numpy as np
import pytest
from Pynite import FEModel3D
from pytest import approx

from scanprep.post import plan_post, stocked_rods
from scanprep.post.heavy import bolt_pull_N, pair_of
from scanprep.post.loads import carried_by, directions
from scanprep.post.plan import try_rod
from scanprep.rules import PostRules, Rulebook
from tests.loads.demo import PANEL, RULES, kept

G = 9.80665e-3
#: Beds so hard that a seat neither sinks nor turns: what the library then holds fast.
HARD = Rulebook(post=dataclasses.replace(PostRules(), bed_low_MPa=1e12, bed_high_MPa=1e12, vent_flat_mm=0.0))


def tried(number, label, rules):
    hold, survey, _ = kept()[number]
    rod = next(one for one in stocked_rods(rules, None) if one.label == label)
    return try_rod(carried_by(hold, survey, rules.post), rod, rules, None, PANEL)


def frame_worst(one, apart, upright, ways):
    """Greatest stress and pull of two rods fixed in the sheet, joined by a hub that does not bend."""
    model, d, length = FEModel3D(), one.now.section.diameter_mm, one.now.length_mm
    inertia = np.pi * d**4 / 64
    model.add_material("brass", 97_000, 37_000, 0.31, 1e-9)
    model.add_section("rod", np.pi * d**2 / 4, inertia, inertia, 2 * inertia)
    model.add_material("stiff", 1e9, 5e8, 0.0, 1e-9)
    model.add_section("hub", 1e3, 1e5, 1e5, 2e5)
    model.add_node("hub", 0, 0, length)
    for k, side in enumerate((apart / 2, -apart / 2)):
        x, y = (0, side) if upright else (side, 0)
        model.add_node(f"m{k}", x, y, 0)
        model.add_node(f"e{k}", x, y, length)
        model.def_support(f"m{k}", *[True] * 6)
        model.add_member(f"r{k}", f"m{k}", f"e{k}", "brass", "rod")
        model.add_member(f"h{k}", f"e{k}", "hub", "stiff", "hub")
    for case, way in enumerate(ways):
        pull = np.array(way) + np.array([0.0, -1.0, 0.0])
        force, moment = np.zeros(3), np.zeros(3)
        hung = one.carried
        for mass, at in ((hung.object_g, hung.centre_mm), (hung.mount_g, hung.mount_centre_mm)):
            f = mass * G * pull
            force += f
            moment += np.cross(np.array(at) - (0, 0, length), f)
        for axis, amount in zip(("FX", "FY", "FZ", "MX", "MY", "MZ"), (*force, *moment)):
            model.add_node_load("hub", axis, float(amount), case=f"c{case}")
        model.add_load_combo(f"c{case}", {f"c{case}": 1.0})
    model.analyze_linear(check_stability=False)
    worst, out = 0.0, 0.0
    for case in range(len(ways)):
        for k in range(2):
            node, c = model.nodes[f"m{k}"], f"c{case}"
            bend = np.hypot(node.RxnMX[c], node.RxnMY[c]) / (np.pi * d**3 / 32)
            twist = abs(node.RxnMZ[c]) / (np.pi * d**3 / 16)
            worst = max(worst, np.hypot(bend, np.sqrt(3) * twist) + abs(node.RxnFZ[c]) / (np.pi * d**2 / 4))
            out = max(out, -node.RxnFZ[c])
    return worst, out


@pytest.mark.parametrize(("number", "label"), [("FB-001", "1/8"), ("FB-005", "5/32"), ("FB-030", "1/8"),
                                               ("FB-004", "3/32")])
@pytest.mark.parametrize("upright", [True, False])
def test_two_posts_share_as_a_frame_says(number, label, upright):
    one = tried(number, label, HARD)
    found = pair_of(one, one.rod, 25.0, upright=upright)
    stress, pull = frame_worst(one, 25.0, upright, one.acceleration_g * directions())
    assert (found.stress_MPa, found.pull_N) == approx((stress, pull), rel=0.005)


def test_a_bracket_s_bolts_by_hand():
    one = tried("FB-030", "1/8", RULES)
    carried, a = one.carried, one.acceleration_g
    # weight x reach over the gap, and the shake upon it; half of what pulls towards the viewer on each
    weight = carried.weight_N
    reach, high = carried.joint_centre_mm[2], abs(carried.joint_centre_mm[1])
    still = weight * reach / 40
    assert still < bolt_pull_N(one, 40.0) <= still * (1 + a) + weight * a * (high / 40 + 0.5)


def test_only_the_heavy_few_are_told():
    rods = {one.label: one for one in stocked_rods(RULES, None)}

    def told(number, label):
        hold, survey, material = kept()[number]
        plan = plan_post(hold, survey, rods[label], RULES, None, PANEL, material)
        return [finding for finding in plan.findings if finding.code == "post-heavy"]

    assert "one above the other" in told("FB-030", "1/4")[0].remedy and "bracket" in told("FB-030", "1/4")[0].remedy
    assert told("FB-004", "5/32") == []  # thin enough
    assert told("FB-002", "1/4") == []  # a thin rod would do
