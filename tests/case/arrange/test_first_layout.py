"""First arrangements: what stands stays, nothing overlaps, and the objective says what it claims."""

from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import CaseBrief
from scanprep.case.arrange.first_layout import arrange, first_positions, ground_of
from scanprep.case.arrange.layout import Box, in_rows
from scanprep.case.arrange.objective import objective
from scanprep.case.check.checks import CaseChecks
from scanprep.case.placed import FacePosition
from scanprep.rules import Rulebook
from tests.case.cases import CASE, EAST, WEST, an_object, box

SHOP = Rulebook()
GROUND = ground_of(WEST, "A", [], SHOP.case)


def a_box(number, mass_g=100.0, group="", order=None, fine=False, size=40.0):
    return Box(number, -size / 2, size / 2, -size / 2, size / 2, mass_g, group, order, fine)


def some(count, seed=0, **more):
    rng = np.random.default_rng(seed)
    return [an_object(i, box(*rng.uniform(20, 90, 2), 30), group=f"g{i // 5}", order=float(i), **more)
            for i in range(count)]


def test_every_proposal_is_free_of_gaps_that_stop_and_keeps_what_stands():
    fixed = [an_object("f1", box(120, 200, 30), "West", "A", 350, 1300), an_object("f2", box(), "West", "B", 100, 900)]
    placed = [*fixed, *some(24)]
    proposals = arrange(placed, replace(CASE, panels=(WEST,)), SHOP)
    assert [p.score for p in proposals] == sorted(p.score for p in proposals)
    for proposal in proposals:
        assert proposal.left_out == ()
        assert set(proposal.stands) == {item.number for item in placed if item.stand is None}
        checks = CaseChecks([i.moved_to(proposal.stands.get(i.number, i.stand)) for i in placed], CASE, SHOP)
        assert not {f.code for f in checks.findings()} & {"objects-too-near", "outlines-too-near", "outline-near-edge",
                                                          "hole-near-edge", "unplaced"}


def test_same_seed_same_arrangement():
    placed = some(12)
    assert arrange(placed, CASE, SHOP, seed=4) == arrange(placed, CASE, SHOP, seed=4)


def test_groups_share_a_face_and_asked_faces_are_kept():
    placed = [replace(item, asked_panel="East", asked_face="B") if item.group == "g1" else item for item in some(20)]
    stands = first_positions(placed, CASE, SHOP)
    faces = {}
    for item in placed:
        faces.setdefault(item.group, set()).add((stands[item.number].panel, stands[item.number].face))
    assert faces["g1"] == {("East", "B")}
    assert all(len(found) == 1 for found in faces.values())


def test_what_finds_no_room_is_named():
    small = CaseBrief("small", panels=(replace(EAST, width_mm=200.0, height_mm=300.0),))
    proposal = arrange([an_object(1, box(500, 50, 30)), an_object(2, box())], small, SHOP)[0]
    assert set(proposal.stands) == {"2"}
    assert len(proposal.left_out) == 1
    assert proposal.left_out[0].startswith("object 1 found no room on East")
    nowhere = arrange([replace(an_object(1, box()), asked_panel="North")], small, SHOP)[0]
    assert nowhere.left_out == ("object 1 asks for North, which the case does not have",)


def test_rows_by_hand():
    # four 40 mm boxes in two rows on 660 mm between the edges: spare 660 - 80 = 580 over three gaps, 193.33 each, so
    # the first centre stands at 20 + 193.33 + 20; heights: band 750..2000, spare 1250 - 80 over three, 390: rows at
    # 2000 - 390 - 20 = 1590 and 1590 - 40 - 390 = 1160
    spots = in_rows([a_box(str(i)) for i in range(4)], GROUND, 2, False)
    assert spots["0"] == pytest.approx((20 + 580 / 3 + 20, 2000 - 390 - 20))
    assert spots["1"] == pytest.approx((700 - 20 - 580 / 3 - 20, 1590))
    assert spots["2"] == pytest.approx((20 + 580 / 3 + 20, 1160))


def test_rows_go_round_an_obstacle():
    ground = replace(GROUND, obstacles=((300.0, 400.0, 700.0, 2100.0),))
    spots = in_rows([a_box(str(i), size=80) for i in range(4)], ground, 1, False)
    for x, _ in spots.values():
        assert x + 40 <= 300 - 15 or x - 40 >= 400 + 15
    # 265 mm on either side hold two boxes of 90 each, not three
    assert in_rows([a_box(str(i), size=90) for i in range(6)], ground, 1, False) is None


def parts(boxes, *spots):
    return objective(boxes, {b.number: s for b, s in zip(boxes, spots)}, GROUND, SHOP.case)


def test_objective_parts_by_hand():
    two = [a_box("1", 300.0), a_box("2", 100.0)]
    assert parts(two, (300, 800), (400, 1500))["heavy-low"] == 0  # the heavier stands lower
    assert parts(two, (300, 1500), (400, 800))["heavy-low"] == 1
    assert parts(two, (300, 700), (400, 800))["band"] == pytest.approx(50 / 2 / 500)  # 50 mm below 750, mean of two
    assert parts([a_box("1", fine=True)], (350, 1115))["band"] == pytest.approx(100 / 500)  # 100 mm above 1015
    ordered = [a_box("1", group="g", order=1), a_box("2", group="g", order=2), a_box("3", group="g", order=3)]
    assert parts(ordered, (100, 900), (200, 900), (300, 900))["order"] == 0
    assert parts(ordered, (100, 900), (300, 900), (200, 900))["order"] == 0.5
    assert parts(ordered, (100, 900), (200, 900), (300, 900))["even-gaps"] == 0  # 60 mm each
    # gaps to the nearest: 60, 60, 160: mean 93.33, standard deviation 47.14
    assert parts(ordered, (100, 900), (200, 900), (400, 900))["even-gaps"] == pytest.approx(47.140 / 93.333, abs=1e-4)
    assert parts(two, (250, 900), (450, 900))["balance"] == 0
    assert parts(two, (350, 900), (680, 900))["balance"] == pytest.approx(330 / 2 / 330)


def test_heavy_things_come_to_stand_low_and_groups_together():
    boxes = [an_object(i, box(60, 60, 10 + 8 * (i % 4)), group=f"g{i % 2}") for i in range(12)]
    stands = first_positions(boxes, replace(CASE, panels=(WEST,)), SHOP)
    heavy = [stands[b.number].y_mm for b in boxes if b.mass_g > np.median([x.mass_g for x in boxes])]
    light = [stands[b.number].y_mm for b in boxes if b.mass_g < np.median([x.mass_g for x in boxes])]
    assert np.mean(heavy) < np.mean(light)
    assert isinstance(next(iter(stands.values())), FacePosition)
