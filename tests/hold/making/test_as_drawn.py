"""A drawn mount's contact gate: each face on its own wire. Laws of springs; a cantilever's ratio (any beam table)."""

from dataclasses import replace
from itertools import islice

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.families.offers import family_offers
from scanprep.hold.making.as_drawn import draws_of, judged_as_drawn, shake_check, wires_at_faces
from scanprep.hold.making.mount import Draft
from scanprep.hold.making.planned import draft_planned
from scanprep.hold.records import faces_of
from scanprep.hold.strength.stiffness import pad_of, tip_compliance
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.hold.families.test_families import scene_of
from tests.shapes import box, cleaned_of

RULES = Rulebook()


@pytest.fixture(scope="module")
def drawn():
    """A scene, and the first mount of a family that can be drawn for a small block."""
    solid = box(60, 40, 30)
    scene = scene_of(solid)
    survey = survey_object(cleaned_of(solid), ObjectBrief(number="1", material="bronze",
                                                          mass_g=solid.volume_mm3 * 2e-3), RULES)
    made = (draft_planned(scene.view, tipset, survey, RULES)
            for tipset in islice(family_offers(scene, [], [], straight=True), 6))
    return scene, next(one for one in made if isinstance(one, Draft))


def test_a_wire_gives_at_its_seat_as_its_tip_does_less_the_pad(drawn):
    _, mount = drawn
    hub = mount.attempt.plan.hub
    wires = wires_at_faces(mount)
    assert [face for wire in wires for face in wire.tips] == list(range(sum(
        len(faces_of(contact)) for contact in mount.tipset.contacts)))
    for wire, contact, arm in zip(wires, mount.tipset.contacts, mount.arms):
        pad = pad_of(faces_of(contact)[0], contact)[:3, :3]
        assert wire.compliance_mm_per_N[:3, :3] + pad == pytest.approx(tip_compliance(contact, arm, hub), abs=1e-9)


def test_the_gate_speaks_of_the_wires_as_bent_and_thinner_ones_withstand_less(drawn):
    scene, mount = drawn
    one = judged_as_drawn(mount, scene.loads, scene.surface, RULES.hold)
    own = next(check for check in one.tipset.checks if check.name == "shake-withstood")
    assert own.source.endswith("each wire as it is bent")
    others = [check.name for check in mount.tipset.checks if check.name != own.name]
    assert [check.name for check in one.tipset.checks] == [*others, own.name, "margin-on-real-normals"]
    again = judged_as_drawn(one, scene.loads, scene.surface, RULES.hold)
    assert again.tipset.checks == one.tipset.checks
    # a round wire half as thick gives sixteen times as much
    thin = replace(mount, arms=tuple(replace(arm, wire_mm=arm.wire_mm / 2, thin=None) for arm in mount.arms))
    stiff, soft = (np.trace(wires_at_faces(each)[0].compliance_mm_per_N[:3, :3]) for each in (mount, thin))
    assert soft > 8 * stiff
    weak = shake_check(thin, draws_of(thin, scene.surface, RULES.hold), scene.loads, RULES.hold)
    assert weak.value < own.value
