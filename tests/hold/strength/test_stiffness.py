"""The mount as the object feels it: a frame library agrees, and its limits and laws hold."""

import dataclasses

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.records import Face
from scanprep.hold.strength.stiffness import contact_of, face_compliance, mount_compliance, moved, pad_compliance
from scanprep.rules import PadRules, find_pad
from tests.hold.clasped import HUB, add_arms, arm, compliance_at, new_model, three_arms, tip


def compliance(tips):
    return mount_compliance(tips, HUB)[0]


def theirs(tips):
    def build():
        model = new_model()
        model.add_node("object", 0, 0, 0)

        def ground(name, point):
            model.add_node(name, *point)
            model.def_support(name, True, True, True, True, True, True)

        add_arms(model, tips, "object", ground)
        return model

    return compliance_at(build, "object")


def test_frame_library_agrees_in_all_six_directions():
    # PyNiteFEA: wires, a brace, a hooked tip on two faces, each pad as twelve springs; to 1e-3 of the largest of a kind
    tips = three_arms()
    ours, other = compliance(tips), theirs(tips)
    for rows in (slice(0, 3), slice(3, 6)):
        for columns in (slice(0, 3), slice(3, 6)):
            block, want = ours[rows, columns], other[rows, columns]
            assert np.abs(block - want).max() <= 1e-3 * np.abs(want).max()


def test_brace_counts():
    with_brace = three_arms()
    bare = tuple(dataclasses.replace(t, arm=dataclasses.replace(t.arm, pieces_mm=())) for t in with_brace)
    assert compliance(with_brace)[1, 1] < 0.8 * compliance(bare)[1, 1]


def test_one_straight_arm_on_a_hard_pad_is_a_cantilever():
    # along its run E A/L, across it 3 E I/L^3 (Roark table 8.1, 1a); d 2, L 40: 8639 and 4.050 N/mm
    bent = arm([(0, 0, -40.0), (0, 0, 0.0)], 2.0)
    hard = dataclasses.replace(tip(bent, ((0, 0, 1.0), (0, 0, 1), 2.0)), pad="lacquered wire", pad_thickness_mm=1e-5)
    c = compliance((hard,))
    assert c[0, 0] == approx(1 / 4.0497, rel=1e-3)
    assert c[1, 1] == approx(1 / 4.0497, rel=1e-3)
    assert c[2, 2] == approx(1 / 8639.4, rel=1e-3)


def test_two_faces_on_one_straight_wire_give_as_a_cantilever_does():
    # a wire of length L under two pads, a and L from its root, pressed across (any beam table): L^3 / 3 E I at its end,
    # a^2 (3 L - a) / 6 E I at either under a force at the other
    wire, length, near = 1.6, 50.0, 20.0
    lift = 0.8 + wire / 2
    bent = arm([(0, -lift, -30), (0, -lift, -30 + length)], wire)
    held = tip(bent, ((0, 0, -30 + near), (0, 1, 0), 2.0), ((0, 0, -30 + length), (0, 1, 0), 2.0))
    EI = 110_000.0 * np.pi * wire**4 / 64
    gives = face_compliance(contact_of(held), bent, HUB)
    assert gives[4, 4] == approx(length**3 / (3 * EI), rel=2e-3)  # shear and the corner of the last run aside
    assert gives[1, 4] == approx(near**2 * (3 * length - near) / (6 * EI), rel=2e-3)
    assert gives == approx(gives.T)


def test_pad_by_hand():
    # suede 5 MPa, 0.8 mm, radius 2: E A/t = 5 x 12.566/0.8 = 78.54 N/mm; shear over 2.8: 28.05; turning x r^2/4, r^2/2
    c = pad_compliance(Face((0, 0, 0), (0.0, 1.0, 0.0), 5.0, 2.0), 0.8, find_pad("suede", PadRules()))
    assert np.diag(c) == approx([1 / 28.05, 1 / 78.54, 1 / 28.05, 1 / 78.54, 1 / (28.05 * 2), 1 / 78.54], rel=1e-3)
    assert np.count_nonzero(c - np.diag(np.diag(c))) == 0


def test_compliance_is_symmetric_and_positive():
    c = compliance(three_arms())
    assert c == approx(c.T, rel=1e-9, abs=1e-15)
    assert np.linalg.eigvalsh(c).min() > 0


@pytest.mark.parametrize("extra", [0, 1, 2])
def test_another_tip_never_softens(extra):
    tips = three_arms()
    fewer = tuple(t for k, t in enumerate(tips) if k != extra)
    gain = compliance(fewer) - compliance(tips)
    assert np.linalg.eigvalsh((gain + gain.T) / 2).min() >= -1e-12


def test_hard_pads_leave_the_wires_own_give():
    soft, hard = mount_compliance(three_arms(), HUB)
    lacquered = tuple(dataclasses.replace(t, pad="lacquered wire", pad_thickness_mm=0.05) for t in three_arms())
    assert np.linalg.eigvalsh(soft - hard).min() >= -1e-12
    # the same but for the wire, which lies 0.75 mm nearer where the pad is thin
    assert np.diag(compliance(lacquered)) == approx(np.diag(hard), rel=0.1)


def test_softer_pads_never_stiffen():
    felt = tuple(dataclasses.replace(t, pad="felt") for t in three_arms())
    gain = compliance(felt) - compliance(three_arms())
    assert np.linalg.eigvalsh((gain + gain.T) / 2).min() >= -1e-12


def test_turning_mount_and_object_together_turns_the_compliance():
    c, s = np.cos(0.7), np.sin(0.7)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]) @ np.array([[1, 0, 0], [0, s, -c], [0, c, s]])

    def turned(t):
        faces = tuple(dataclasses.replace(f, point_mm=tuple(turn @ f.point_mm), normal=tuple(turn @ f.normal))
                      for f in t.faces)
        bent = dataclasses.replace(t.arm, path_mm=t.arm.path_mm @ turn.T,
                                   pieces_mm=tuple(p @ turn.T for p in t.arm.pieces_mm))
        return dataclasses.replace(t, faces=faces, point_mm=faces[0].point_mm, normal=faces[0].normal, arm=bent)

    both = np.kron(np.eye(2), turn)
    ours = compliance(tuple(turned(t) for t in three_arms()))
    assert ours == approx(both @ compliance(three_arms()) @ both.T, rel=1e-6, abs=1e-12)


def test_felt_elsewhere_is_felt_there():
    # a force at the centre and a moment that together are a force at an offset point move that point alike
    c, offset = compliance(three_arms()), np.array([3.0, -5.0, 9.0])
    there = moved(c, offset)
    force = np.array([0.3, -1.0, 0.2])
    twist = c @ np.concatenate([force, np.cross(offset, force)])
    assert there[:3, :3] @ force == approx(twist[:3] + np.cross(twist[3:], offset))


def test_nothing_holds_an_object_without_tips():
    with pytest.raises(ValueError, match="tips"):
        compliance(())
