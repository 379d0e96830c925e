"""Frames and faces: right-handed turns with the signs of the design, and one place that mirrors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from scanprep.panel.faces import display_to_face, face_to_panel, from_other_left_mm, panel_to_face
from scanprep.vectors import check_shape, hold_rotation, parse_direction, rotation_about, rotation_to

angles = st.floats(-180, 180)


@given(angles, angles, angles)
def test_hold_rotation_agrees_with_scipy(tilt, turn, roll):
    # outside referee: scipy's intrinsic Euler angles z, x, y
    expected = Rotation.from_euler("ZXY", [roll, tilt, turn], degrees=True).as_matrix()
    np.testing.assert_allclose(hold_rotation(tilt, turn, roll), expected, atol=1e-12)


def test_signs_of_the_angles():
    up, front, right = np.eye(3)[1], np.eye(3)[2], np.eye(3)[0]
    assert (hold_rotation(10, 0, 0) @ up)[2] > 0  # tilt: top towards the viewer
    assert (hold_rotation(0, 10, 0) @ front)[0] > 0  # turn: front swings to the viewer's right
    assert (hold_rotation(0, 0, 10) @ right)[1] > 0  # roll: counter-clockwise for the viewer


@given(st.lists(st.floats(-1, 1), min_size=6, max_size=6).filter(lambda v: abs(v[0]) > 0.1 and abs(v[4]) > 0.1))
def test_rotation_to_brings_one_direction_onto_another(values):
    a, b = np.array(values[:3]), np.array(values[3:])
    turn = rotation_to(a, b)
    np.testing.assert_allclose(turn @ a / np.linalg.norm(a), b / np.linalg.norm(b), atol=1e-9)
    assert np.linalg.det(turn) == pytest.approx(1)


@given(st.floats(0, 700), st.floats(0, 2200))
def test_a_hole_axis_seen_from_both_faces(x_mm, y_mm):
    # design: x_B = width - x_A, same y, for the same axis
    through = face_to_panel("A", 700, 30).points(np.array([x_mm, y_mm, 0.0]))
    seen_from_b = panel_to_face("B", 700, 30).points(through + np.array([0, 0, -30]))
    np.testing.assert_allclose(seen_from_b, [from_other_left_mm(x_mm, 700), y_mm, 0], atol=1e-9)


def test_turning_over_twice_is_the_identity():
    twice = face_to_panel("B", 700, 30).then(face_to_panel("B", 700, 30))
    np.testing.assert_allclose(twice.rotation, np.eye(3), atol=0)
    np.testing.assert_allclose(twice.shift_mm, 0, atol=0)


def test_an_object_stands_in_front_of_either_face():
    move = display_to_face(350, 1500, (0.0, 5.0), -40.0, 30.0)
    hub = move.points(np.array([0.0, 5.0, -40.0]))
    np.testing.assert_allclose(hub, [350, 1500, 30])
    np.testing.assert_allclose(face_to_panel("B", 700, 30).points(hub), [350, 1500, -60])


def test_quarter_turn_about_z():
    np.testing.assert_allclose(rotation_about((0, 0, 1), 90) @ [1, 0, 0], [0, 1, 0], atol=1e-15)


def test_shapes_are_checked_by_name():
    with pytest.raises(ValueError, match=r"vertices_mm must be an array of shape \(any, 3\); got \(4, 2\)"):
        check_shape("vertices_mm", np.zeros((4, 2)), (-1, 3))


@pytest.mark.parametrize(("text", "direction"), [("+y", (0, 1, 0)), ("-z", (0, 0, -1)), ("x", (1, 0, 0)),
                                                  ("0, 0, 2", (0, 0, 1)), ("0.6 0.8 0", (0.6, 0.8, 0))])
def test_directions_as_people_write_them(text, direction):
    np.testing.assert_allclose(parse_direction(text), direction, atol=1e-15)


@pytest.mark.parametrize("text", ["up", "", "xy", "0 0 0", "1 2", "+"])
def test_what_is_no_direction(text):
    with pytest.raises(ValueError, match="not a direction"):
        parse_direction(text)
