"""Which showings a row of labels accepts."""

import numpy as np
import pytest

from tests.labels import accepted, poses_of

POSES = poses_of("upright-front[up=0 1 0;front=0 0 1] | upright-threequarter[up=0 1 0;front=0 0 1]")


@pytest.mark.parametrize(("turn_deg", "well"), [(0, True), (20, True), (50, True), (-50, True), (60, False),
                                                (90, False), (180, False)])
def test_a_three_quarter_view_lies_between_front_and_side(turn_deg, well):
    turn = np.radians(turn_deg)
    assert accepted(POSES, 12.0, np.array([0.0, 1.0, 0.0]), np.array([np.sin(turn), 0.0, np.cos(turn)])) is well


def test_a_three_quarter_view_that_is_named_itself_is_no_leave_to_turn_on():
    side = poses_of("upright-threequarter[up=0 1 0;front=1 0 0]")
    up = np.array([0.0, 1.0, 0.0])
    assert accepted(side, 12.0, up, np.array([1.0, 0.0, 0.0]))
    assert not accepted(side, 12.0, up, np.array([0.6, 0.0, 0.8]))  # 53 deg further round: a quarter from the front
