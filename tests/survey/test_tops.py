"""Which side of a thing is shown and which of its edges is up, on solids that were made upright with their front at +z.

What is right follows from how each was made; that rings show their opening, bowls stand, keys and pans hang by their
hole and a ring's bezel is on top: common practice.
"""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook
from scanprep.survey import Survey, survey_object
from scanprep.vectors import F64, rotation_about
from tests.kinds import kind
from tests.shapes import cleaned_of

RULES = Rulebook()
ASKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # so that no axis of the file helps
LYING = rotation_about((1, 0, 0), 90) @ rotation_about((0, 0, 1), 26)  # on its back in a file with y up, turned


def surveyed(name: str, turn: F64, **said: object) -> Survey:
    return survey_object(cleaned_of(kind(name).mapped(turn)), ObjectBrief("1", material="ivory", **said), RULES)


def off_deg(one: object, other: F64) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(np.asarray(one), other), -1, 1))))


def codes(found: Survey) -> set[str]:
    return {finding.code for finding in found.findings if finding.code.startswith("which")}


@pytest.mark.parametrize("turn", [np.eye(3), LYING, ASKEW])
def test_an_eight_shows_its_openings_and_lies_level_or_stands(turn: F64) -> None:
    found = surveyed("eight", turn)
    assert found.shown.kind == "face"
    front = off_deg(found.shown.front, turn @ [0, 0, 1])
    assert min(front, 180 - front) < 2
    assert min(off_deg(found.shown.up, turn @ np.array(way)) for way in
               ([1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0])) < 2


@pytest.mark.parametrize("turn", [LYING, ASKEW])
def test_a_rings_bezel_is_on_top(turn: F64) -> None:
    found = surveyed("finger_ring", turn)
    front = off_deg(found.shown.front, turn @ [0, 0, 1])
    assert min(front, 180 - front) < 3 and off_deg(found.shown.up, turn @ [0, 1, 0]) < 3


@pytest.mark.parametrize("turn", [LYING, ASKEW])
def test_a_key_hangs_by_its_bow_and_its_shank_is_plumb(turn: F64) -> None:
    # The principal axis of the whole leans towards the bit.
    found = surveyed("key", turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 1.5
    assert codes(found) <= {"which-side-front"}


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_a_pan_hangs_by_the_hole_in_its_handle_with_its_inside_to_the_viewer(turn: F64) -> None:
    found = surveyed("pan", turn)  # made with its handle along x
    assert off_deg(found.shown.front, turn @ [0, 0, 1]) < 3 and off_deg(found.shown.up, turn @ [1, 0, 0]) < 3
    assert codes(found) == set()


def test_a_disc_with_a_hole_in_its_middle_is_not_hung_by_it() -> None:
    found = surveyed("flange", LYING)  # four bolt holes and a bore: none of them at one end
    assert "which-way-up" in codes(found)


def test_a_bowl_stands_on_its_base_and_a_dish_shows_its_inside() -> None:
    bowl = surveyed("basin", np.eye(3))
    assert bowl.flatness_ratio < 0.36 and bowl.shown.kind == "upright"
    assert off_deg(bowl.shown.up, np.array([0.0, 1, 0])) < 1 and codes(bowl) == set()
    plate = surveyed("dish", np.eye(3))
    assert plate.shown.kind == "face"


@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 80.0])
def test_a_bell_shows_the_opening_of_its_loop(turn_deg: float) -> None:
    turn = rotation_about((0, 1, 0), turn_deg)
    found = surveyed("hand_bell", turn)
    assert off_deg(found.shown.up, np.array([0.0, 1, 0])) < 1
    front = off_deg(found.shown.front, turn @ [0, 0, 1])
    assert min(front, 180 - front) < 4


@pytest.mark.parametrize("turn", [np.eye(3), LYING, ASKEW])
def test_a_box_without_its_lid_is_proposed_mouth_up_though_it_lies_on_its_back_in_the_file(turn: F64) -> None:
    found = surveyed("open_box", turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 1
    if off_deg(turn @ [0, 1, 0], np.array([0.0, 1, 0])) > 1:
        assert "which-way-up" in codes(found)


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_a_tusk_shows_its_bend_from_the_side(turn: F64) -> None:
    found = surveyed("tusk", turn, up=tuple(turn @ [0.0, 1, 0]))
    front = off_deg(found.shown.front, turn @ [0, 0, 1])
    assert min(front, 180 - front) < 3


@pytest.mark.parametrize("turn", [LYING, ASKEW])
def test_a_sherd_with_its_relief_outside_is_proposed_hollow_away_and_asks(turn: F64) -> None:
    found = surveyed("knobbed_sherd", turn)
    assert off_deg(found.shown.front, turn @ [0, 0, 1]) < 10 and "which-side-front" in codes(found)
    assert any(off_deg(choice.front, turn @ [0, 0, -1]) < 10 for choice in found.choices)


def test_slits_are_no_eyes_to_hang_by() -> None:
    assert "which-way-up" in codes(surveyed("slit_plate", LYING))
