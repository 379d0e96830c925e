"""Which family of mounts comes to which kind of thing, and where its wires lie: common practice among mountmakers.

The kinds are shapes of our own (`tests.kinds`); that a vase goes into a ring under its foot, a bust into a cradle with
a clip at its neck, a spanner's socket onto a peg, is from memory of the trade.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.hold.families.body import off_body, on_legs
from scanprep.hold.families.edge_claws import hooked
from scanprep.hold.families.foot_cradle import FootCradle, base_feet
from scanprep.hold.families.foot_ring import foot_narrows, foot_rings, round_foot
from scanprep.hold.families.hollows import hollow_below, peg_suits
from scanprep.hold.families.hooks import Hooks
from scanprep.hold.families.keeping import claws_above, clips
from scanprep.hold.families.necks import necks_mm
from scanprep.hold.families.offers import family_offers
from scanprep.hold.families.probes import claws, collar, support_ring
from scanprep.hold.families.pronged_cup import prong_pairs
from scanprep.hold.families.round_things import RingBelow
from scanprep.hold.find import find_holds
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.wires.rings import ring_path
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.hold.families.test_families import scene_of
from tests.kinds import kind
from tests.shapes import ball, blocks, box, cleaned_of, cylinder

RULES = Rulebook()
scene_of_kind = lru_cache(maxsize=4)(lambda name: scene_of(kind(name)))


#: What by its shape may as well stand the other way up: a bell may be a beaker.
UP = {"flaring_shell": (0.0, 1.0, 0.0)}


@lru_cache(maxsize=4)
def first_hold(name):
    solid = kind(name)
    brief = ObjectBrief(number=name, material="ceramic", mass_g=solid.volume_mm3 * 2.2e-3, up=UP.get(name))
    cleaned = cleaned_of(solid, up_axis="y")
    survey = survey_object(cleaned, brief, RULES)
    # the views that it asks for: the first hold is of one of them wherever one has a mount
    straight = [one for one in propose_attitudes(cleaned.working, survey, brief) if one.natural == 1.0]
    found = find_holds(cleaned.working, survey, brief, RULES, attitudes=straight)
    assert found.holds, found.refusals[0].reason
    return found.holds[0]


@pytest.mark.parametrize(("name", "families"), [
    ("bust", {"foot cradle with clip"}),
    ("vase", {"ring under a foot"}),
    ("beaker", {"ring under a foot"}),
    ("flaring_shell", {"socket inside a hollow"}),
    ("dog", {"foot cradle with clip"}),
    ("hoop", {"hook through an opening", "edge claws"}),
    ("flange", {"edge claws", "bar with claws"}),
    ("dish", {"edge claws"}),
])
def test_the_family_is_the_one_a_mountmaker_would_take(name, families):
    hold = first_hold(name)
    assert hold.family in families
    assert len(hold.tips) <= 4


def test_the_neck_of_a_vase_is_where_it_is_narrowest_and_takes_the_clip():
    # its outline is narrowest between belly and rim at a height of 104 mm
    scene = scene_of_kind("vase")
    low = float(scene.low_mm[1])
    assert necks_mm(scene)[0] - low == approx(104.0, abs=3.0)
    first = clips(scene)[0]
    assert "at its neck" in first.why
    assert first.wires[0].point_mm[1] - low == approx(104.0, abs=3.0)
    assert necks_mm(scene_of(cylinder(20, 60))) == ()  # a straight thing has none


def test_no_clip_goes_round_a_raised_tail():
    # the tail stands up behind, 30 mm and more to the left of the middle, and is 8 to 12 mm thick
    scene = scene_of_kind("crab")
    for clip in clips(scene):
        ring = clip.wires[0].ring.points_mm
        assert np.ptp(ring[:, 0]) > 20.0 or abs(ring[:, 0].mean()) < 30.0


def test_a_clip_goes_through_a_handle_and_not_over_it():
    # the pot's radius is 34 to 36 mm at these heights; its handle leaves 18 mm free there and stands out to 62 mm
    scene = scene_of_kind("lidded_jug")
    axis_x = scene.low_mm[0] + 62.0
    for height in (40.0, 50.0):
        clip = collar(scene, float(scene.low_mm[1]) + height, 20.0)
        assert clip is not None
        off_axis = np.hypot(clip.contact.ring.points_mm[:, 0] - axis_x, clip.contact.ring.points_mm[:, 2])
        assert off_axis[clip.contact.ring.points_mm[:, 0] < axis_x].max() < 37.0
        assert clip.sturdy > RULES.hold.sturdy_least_ratio


def test_what_stands_by_itself_hangs_by_no_handle_at_its_side():
    # the jug's handle reaches from 62 to 36 mm left of its axis; an edge in its opening would take a hook
    scene = scene_of_kind("lidded_jug")
    assert scene.stands and hooked(scene).any()
    for mount in Hooks().proposals(scene):
        assert abs(mount.wires[0].point_mm[0]) < 0.2 * scene.size_mm[0]


def test_muzzle_and_tail_stand_out_from_the_body_and_flank_and_rump_do_not():
    # in its own axes the muzzle is at x 92, the tail at -88 and 92 high, the flank at 0 and 60 high, the rump at -60
    scene = scene_of_kind("dog")
    shift = np.array([scene.high_mm[0] - 99.0, scene.low_mm[1] - 2.0])
    at = np.array([[94.0, 93.0, 0.0], [-84.0, 88.0, 0.0], [0.0, 60.0, 19.0], [-60.0, 60.0, 0.0]])
    assert off_body(scene, at + np.array([*shift, 0.0])).tolist() == [True, True, False, False]
    slab = scene_of(box(90, 60, 8))
    corners = np.array([[44.0, 29.0, 0.0], [-44.0, 29.0, 0.0], [44.0, -29.0, 0.0], [0.0, 29.0, 0.0]])
    assert not off_body(slab, corners).any()  # a corner is no limb


def test_a_cow_is_kept_over_her_back_and_borne_clear_of_her_teats():
    # as she is put together: her back is at 80 to 82 mm between x -40 and 38, her head beyond 45; the teats hang at x
    # -22 and -13 down to 24 mm, 4 mm off the middle, and a wire needs 4 mm beside them; her legs stand at -40 and 38
    scene = scene_of_kind("cow")
    assert on_legs(scene) and not on_legs(scene_of_kind("vase"))
    shift = np.array([scene.high_mm[0] - 94.0, scene.low_mm[1] - 1.0, 0.0])
    kept = [wire.point_mm - shift for keep in claws_above(scene) for wire in keep.wires]
    assert len(kept) >= 2
    for point in kept:
        assert -50.0 < point[0] < 48.0 and point[1] > 74.0
    found, pairs = base_feet(scene)
    assert pairs
    for index in {one for pair in pairs for one in pair}:
        points = np.array([face.point_mm for face in found.faces(scene, index)]) - shift
        if points[:, 1].min() > 4.0:  # under the belly, not under the hooves
            assert points[:, 1].min() > 30.0
            assert np.abs(points[0, 0] + np.array([22.0, 13.0])).min() > 4.0


def test_claws_keep_to_the_body_of_an_animal():
    hold = first_hold("dog")
    middle = (min(tip.point_mm[0] for tip in hold.tips) + max(tip.point_mm[0] for tip in hold.tips)) / 2
    assert abs(middle) < 0.2 * hold.width_mm
    for tip in hold.tips:  # 99 mm before the middle lies the muzzle, 88 behind the tail
        assert abs(tip.point_mm[0]) < 72.0


def test_a_ring_lies_flat_under_a_round_foot_open_in_front_with_its_ends_turned_up():
    # a cone of 22 mm below and 36 above
    scene = scene_of_kind("beaker")
    foot = round_foot(scene)
    assert foot is not None and foot[1] == approx(22.0, abs=0.3)
    assert foot_narrows(scene) == approx(22.0 / 36.0, abs=0.02)
    (ring,) = foot_rings(scene)
    wire = scene.likely_wire_mm
    loop, low = ring_path(ring, wire), float(scene.low_mm[1])
    lift = ring.pad_thickness_mm + wire / 2
    flat = loop[loop[:, 1] < low - lift + 0.05]
    assert loop[:, 1].min() == approx(low - lift, abs=0.05) and len(flat) > 0.7 * len(loop)
    assert np.hypot(flat[:, 0], flat[:, 2]).max() < 22.0 + 2 * lift + 1.0
    front = flat[flat[:, 2] > 0.0]
    assert np.abs(front[:, 0]).min() > 22.0 * np.sin(np.radians(20.0))  # open towards the viewer
    for end in (loop[0], loop[-1]):
        assert end[1] > low and end[2] > 0.0
    stem = loop[ring.ring.stem]
    assert stem[2] < -15.0 and abs(stem[0]) < 3.0
    assert RingBelow().suits(scene) > FootCradle().suits(scene)


def test_no_ring_goes_under_what_is_square_or_as_wide_below_as_above():
    assert round_foot(scene_of(box(60, 90, 60))) is None
    straight = scene_of(cylinder(20, 60))
    assert foot_narrows(straight) == approx(1.0, abs=0.02)
    assert FootCradle().suits(straight) > RingBelow().suits(straight)


def test_a_ring_below_a_belly_is_open_towards_the_viewer():
    scene = scene_of(ball(25))
    found = support_ring(scene, float(scene.low_mm[1]) + 5.0, RULES.hold.ring_open_deg)
    assert found is not None
    turned = np.degrees(np.arctan2(found.ring.points_mm[:, 0], found.ring.points_mm[:, 2]))
    assert np.abs(turned).min() == approx(scene.rules.ring_open_deg, abs=1.0)


def test_what_opens_deep_below_hangs_on_a_peg():
    scene = scene_of_kind("peg_socket")  # bored to 44 of its 62 mm
    hollow = hollow_below(scene)
    assert hollow is not None and hollow.depth_mm == approx(44.0, abs=1.0) and peg_suits(scene) == 1.0
    assert FootCradle().suits(scene) == approx(RULES.hold.cradle_open_ratio)
    assert FootCradle().suits(scene_of(box(60, 90, 40))) == approx(1.0)


def test_two_openings_at_one_height_take_a_hook_each():
    # a board of 80 x 80 x 6 mm with two square holes 16 mm off its middle
    filled = np.ones((40, 40, 3), dtype=bool)
    filled[10:14, 28:32] = filled[26:30, 28:32] = False
    scene = scene_of(blocks("board", filled, (2.0, 2.0, 2.0)))
    first = next(iter(Hooks().proposals(scene)))
    seats = np.array([wire.point_mm for wire in first.wires[:2]])
    assert seats[0, 0] < -10.0 and seats[1, 0] > 10.0
    assert seats[:, 1] == approx(float(scene.low_mm[1]) + 64.0, abs=0.1)  # the upper edge of both
    assert (claws(scene).opening > 0).any()


def test_prongs_at_the_sides_come_in_twins():
    scene = scene_of(ball(25))
    for pair in prong_pairs(scene, [(120.0, 35.0), (105.0, 20.0)]):
        left, right = (np.asarray(one.point_mm) for one in pair)
        assert left * [-1, 1, 1] == approx(right, abs=0.6)


def test_one_mount_of_each_family_that_suits_comes_before_a_second_of_any():
    scene = scene_of(box(60, 90, 40), mass_g=150.0)
    drawn: list[str] = []
    for tipset in family_offers(scene, [], drawn):
        assert tipset.family is not None
        drawn.append(tipset.family.name)
        if len(drawn) == 3:
            break
    assert drawn[0] == "foot cradle with clip"
    assert len(set(drawn[:2])) == 2
