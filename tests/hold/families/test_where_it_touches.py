"""What a family takes where several places would do: smooth edges, plain ground, a neck beside its handle, both sides
of the balance point. On shapes painted and notched here; that a mountmaker keeps off drawing and chips is from memory
of the trade.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.hold.families.edge_claws import EdgeClaws, low_claws
from scanprep.hold.families.keeping import claws_above, clips, neck_clips, steady, ways_of_keeping
from scanprep.hold.families.probes import claws, outline
from scanprep.hold.families.round_things import RingBelow
from scanprep.hold.families.sections import section_centre
from scanprep.hold.families.tops import on_top, top_from_mm
from scanprep.hold.families.verdicts import gated, spread_ratio
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.search.offers import Search, study
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.hold.families.test_families import scene_of
from tests.hold.families.test_kinds import scene_of_kind
from tests.hold.mounting import attitude
from tests.kinds import kind
from tests.shapes import Solid, blocks, box, cleaned_of, cylinder

RULES = Rulebook()
SLAB = blocks("slab", np.ones((60, 40, 4), dtype=bool), (2.0, 2.0, 2.0), 2)


def painted(solid: Solid, marked: np.ndarray):
    """A solid as the families see it, dark lines on a light ground where it is marked (n,)."""
    colours = np.where(marked[:, None], [50, 40, 30], [190, 180, 150]).astype(np.uint8)
    cleaned = cleaned_of(solid, colours)
    survey = survey_object(cleaned, ObjectBrief(number="1", material="bronze", mass_g=150.0), RULES)
    bare = scene_of(solid)
    return replace(bare, view=View.of(Obstacle.of(cleaned.working, survey), bare.attitude.rotation))


def low_x_mm(scene) -> np.ndarray:
    """How far left and right the likeliest pair of claws under an edge stands."""
    return np.sort(claws(scene).points_mm[list(low_claws(scene)[0]), 0])


def test_claws_under_a_slab_leave_what_is_drawn_on_it_free_and_stay_a_pair():
    plain = low_x_mm(painted(SLAB, np.zeros(len(SLAB.vertices_mm), dtype=bool)))
    # hatched on the front, 6 mm to either side of where the left one stood
    low = SLAB.vertices_mm.min(axis=0)
    x = SLAB.vertices_mm[:, 0] - low[0] - 60.0
    hatched = (SLAB.vertices_mm[:, 2] > low[2] + 7.9) & (np.abs(x - plain[0]) < 6.0) & (x % 6 < 2.4)
    moved = low_x_mm(painted(SLAB, hatched))
    assert abs(moved[0] - plain[0]) > 6.0
    assert moved[0] + moved[1] == approx(0.0, abs=3.0)


def test_where_all_of_an_edge_is_drawn_the_claws_stay_where_they_were():
    hatched = SLAB.vertices_mm[:, 0] % 6 < 2.4
    plain = low_x_mm(painted(SLAB, np.zeros(len(SLAB.vertices_mm), dtype=bool)))
    assert low_x_mm(painted(SLAB, hatched)) == approx(plain, abs=4.0)


def notched(at: int) -> Solid:
    """A slab of 120 x 80 x 8 mm with a notch of 6 x 6 mm in its lower edge, so many times 2 mm from its left end."""
    filled = np.ones((60, 40, 4), dtype=bool)
    filled[at:at + 3, :3] = False
    return blocks("slab", filled, (2.0, 2.0, 2.0))


def test_a_claw_keeps_a_pads_breadth_away_from_a_notch():
    whole = scene_of(notched(60))  # none: beyond the end
    at_mm = low_x_mm(whole)[0]
    cell = int((at_mm - float(whole.low_mm[0])) / 2.0) - 1
    scene = scene_of(notched(cell))
    low = float(scene.low_mm[0])
    notch = np.array([low + 2.0 * cell, low + 2.0 * cell + 6.0])
    for pair in low_claws(scene)[:2]:
        for x in claws(scene).points_mm[list(pair), 0]:
            assert np.abs(notch - x).min() > 4.0 and not notch[0] < x < notch[1]


def test_a_notch_is_ragged_and_straight_and_evenly_round_edges_are_not():
    scene = scene_of(notched(20))
    found = outline(scene)
    below = (found.points_mm[:, 1] < float(scene.low_mm[1]) + 1.0) & (np.abs(found.points_mm[:, 0]) < 45.0)
    notch = float(scene.low_mm[0]) + 43.0
    beside = np.abs(np.abs(found.points_mm[:, 0] - notch) - 5.0) < 2.0  # of its rims, 3 mm to either side
    assert (below & beside).any() and found.ragged[below & beside].min() > 0.5
    assert found.ragged[below & (np.abs(found.points_mm[:, 0] - notch) > 12.0)].max() == 0.0
    lying = scene_of(cylinder(30, 8, sides=128).mapped(np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])))
    assert outline(lying).ragged.max() < 0.1


def test_a_neck_beside_a_handle_has_its_own_middle_and_takes_the_clip():
    # the neck is 24 mm thick about x = 0, the handle reaches to x = -48
    scene = scene_of_kind("flask")
    neck = float(scene.low_mm[1]) + 65.0
    axis = float(scene.high_mm[0]) - 30.0  # its belly reaches 30 mm to the right of its axis
    middle = section_centre(scene, neck)
    assert middle is not None and middle[0] == approx(axis, abs=1.0)
    kept = neck_clips(scene)
    assert kept and [one.why for one in kept] == [one.why for one in clips(scene)[:len(kept)]]
    for clip in kept:
        ring = clip.wires[0].ring
        assert ring is not None and 56.0 < ring.points_mm[0, 1] - float(scene.low_mm[1]) < 78.0
        assert np.abs(ring.points_mm[:, 0] - axis).max() < 20.0  # never round the handle, 30 mm off and more


def test_what_rests_in_a_ring_below_its_belly_is_kept_by_its_neck_first():
    first = next(RingBelow().proposals(scene_of_kind("flask")))
    assert "belly" in first.why and "neck" in first.why and len(first.wires) == 2


def test_a_doll_is_kept_below_its_head_where_that_has_a_place():
    # its neck lies between 73 and 82 mm above the ground that it was cut from, its head above
    scene = scene_of_kind("doll")
    neck = float(scene.low_mm[1]) + 80.0 - 8.0
    assert neck - 6.0 < top_from_mm(scene) < neck + 10.0
    low, high = float(scene.low_mm[1]), float(scene.high_mm[1])
    assert on_top(scene, np.array([high - 20.0, low + 40.0])).tolist() == [True, False]
    kept = clips(scene)
    by_head = [one.wires[0].point_mm[1] > neck + 12.0 for one in kept]
    assert kept and by_head == sorted(by_head) and not by_head[0]
    above = claws_above(scene)
    by_body = [one.suits for one in above if max(wire.point_mm[1] for wire in one.wires) < neck]
    by_head_suits = [one.suits for one in above if max(wire.point_mm[1] for wire in one.wires) > neck + 12.0]
    assert by_body and max(by_head_suits, default=0.0) < 0.7 * max(by_body)


def test_a_jar_is_not_kept_by_its_lid_nor_by_the_lids_knob():
    # the seam lies 68 mm above its foot; the lid's wall stands out by 2 mm up to 78, its knob's neck is at 96
    scene = scene_of_kind("lidded_jar")
    assert top_from_mm(scene) == approx(float(scene.low_mm[1]) + 68.0, abs=4.0)
    kept = clips(scene)
    assert kept and kept[0].wires[0].point_mm[1] < float(scene.low_mm[1]) + 68.0
    assert max((one.suits for one in kept if one.wires[0].point_mm[1] > float(scene.low_mm[1]) + 72.0), default=0.0) \
        < 0.7 * kept[0].suits


def test_a_clip_round_a_birds_head_suits_less_than_one_round_its_body():
    # its head stands 25 to 50 mm to the left of the middle and rises from 55 to 89 mm; the body ends at 70
    scene = scene_of_kind("hen")
    kept = [(one.wires[0].ring, one.suits) for one in clips(scene)]
    by_head = [suits for ring, suits in kept if ring.points_mm[0, 1] > float(scene.low_mm[1]) + 70.0]
    by_body = [suits for ring, suits in kept if ring.points_mm[0, 1] < float(scene.low_mm[1]) + 55.0]
    assert by_head and by_body and max(by_head) < 0.7 * max(by_body) and min(by_head) < 0.5 * max(by_body)


def test_what_is_low_and_broad_is_kept_low_at_its_sides_before_anything_goes_over_its_top():
    # a dome 35 mm high on a base of 100 x 65 mm, its centre 12 to 13 mm up: it stands a tilt of atan(32.5 / 13)
    scene = scene_of_kind("beetle")
    assert scene.stands_deg == approx(69.0, abs=2.0) and steady(scene)
    assert not steady(scene_of(box(40, 120, 40))) and not steady(scene_of_kind("dog"))
    claws_only = [one for kept in ways_of_keeping(scene) for one in kept if one.wires and one.wires[0].ring is None]
    best = max(claws_only, key=lambda one: one.suits)
    assert "low" in best.why
    first = [next(k for k, one in enumerate(claws_only) if word in one.why) for word in ("low", "over")]
    assert first[0] < first[1]
    over = [one.suits for one in claws_only if "over" in one.why]
    assert over and max(over) < 0.85 * best.suits


@pytest.mark.parametrize("solid", [box(90, 60, 40), cylinder(20, 120), kind("vase"), kind("beaker")],
                         ids=["box", "cylinder", "vase", "beaker"])
def test_what_has_neither_head_nor_lid_is_kept_anywhere_below_its_rim(solid):
    scene = scene_of(solid)
    assert top_from_mm(scene) > float(scene.low_mm[1]) + 0.8 * float(scene.size_mm[1])


def test_clips_go_round_plain_ground_before_drawn():
    shaft = cylinder(20, 120, sides=96, bands=80)
    bare = scene_of(shaft)
    first = clips(bare)[0].wires[0].point_mm[1]
    up = shaft.vertices_mm[:, 1] - shaft.vertices_mm[:, 1].min() + float(bare.low_mm[1])
    hatched = (np.abs(up - first) < 8.0) & (up % 5 < 2.0)
    scene = painted(shaft, hatched)
    assert abs(clips(scene)[0].wires[0].point_mm[1] - first) > 6.0
    # slid off it or later, not never: each of those of a bare shaft has its own within a clip's reach
    reach = min(RULES.hold.clip_slides_ratio * 120.0, RULES.hold.clip_slides_mm) + 0.5
    heights = [sorted(clip.wires[0].point_mm[1] for clip in clips(one)) for one in (bare, scene)]
    assert len(heights[0]) == len(heights[1]) and np.abs(np.subtract(*heights)).max() <= reach


def wires_at(scene, indices):
    return tuple(claws(scene).contact(scene, i) for i in indices)


def test_a_slab_is_held_on_both_sides_of_its_balance_point():
    scene = scene_of(box(120, 80, 8))
    low, found = low_claws(scene)[0], claws(scene)
    above = np.flatnonzero(found.sits & (found.outward[:, 1] > 0.9))
    top = int(above[np.argmin(np.abs(found.points_mm[above, 0]))])
    down = np.flatnonzero(found.sits & (found.outward[:, 1] < -0.9))
    at = found.points_mm[down, 0]
    one_end = down[np.argsort(np.abs(at + 50.0))[:1]].tolist() + down[np.argsort(np.abs(at + 35.0))[:1]].tolist()
    assert spread_ratio(wires_at(scene, (*low, top)), scene) == approx(1.0)
    # both at the left: none of the right half is borne; from -50 to 0 mm is 0.42 of its length
    assert spread_ratio(wires_at(scene, (*one_end, top)), scene) == approx(0.5, abs=0.01)
    assert spread_ratio(wires_at(scene, one_end), scene) < 0.25


@pytest.mark.parametrize("hatched", [False, True])
def test_a_mount_knows_whether_its_ground_is_drawn(hatched):
    marked = (SLAB.vertices_mm[:, 0] % 6 < 2.4) & (SLAB.vertices_mm[:, 2] > SLAB.vertices_mm[:, 2].max() - 0.1)
    scene = painted(SLAB, marked & hatched)
    tipset, _ = gated(next(EdgeClaws().proposals(scene)), scene)
    assert tipset.family is not None
    assert (tipset.family.painted_ratio > 0.5) == hatched


def test_the_free_search_pays_for_drawn_ground_and_for_what_stands_out_from_the_trunk():
    pinned = np.zeros((12, 20, 8), dtype=bool)
    pinned[:, :12] = True
    pinned[5:7, 12:, 3:5] = True
    solid = blocks("pin", pinned, (4.0, 4.0, 4.0), 2)
    cleaned = cleaned_of(solid)
    brief = ObjectBrief(number="1", material="bronze", mass_g=150.0)
    survey = survey_object(cleaned, brief, RULES)
    shown = (attitude(),)
    body = Obstacle.of(cleaned.working, survey)
    found = study(cleaned.working, survey, brief, RULES, 0.35, shown, None, body)
    height = found.spots.middles_mm[:, 1] + survey.centre_of_mass_mm[1]
    assert found.off_trunk[height > 56.0].min() == approx(RULES.hold.search_off_trunk_cost)
    assert np.median(found.off_trunk[height < 44.0]) == 0.0  # only the bar's own corners stand out from it
    without = study(cleaned.working, survey, brief, RULES, 0.35, shown)
    front = View.of(body, shown[0].rotation).front
    views = [Search(context, shown[0], None, front).view for context in (found, without)]
    assert views[0] is not None and views[1] is not None
    paid = views[0].cost - views[1].cost - found.drawn
    assert paid == approx(np.where(views[0].bearing, 0.0, found.off_trunk))  # a base off the trunk still bears
