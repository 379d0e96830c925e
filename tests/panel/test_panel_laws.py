"""Laws that every panel obeys, by property tests."""

import dataclasses

from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.panel import FaceLoad
from scanprep.panel.strength import Stage, stages, standing, swaying
from scanprep.rules import PanelRules

QUICK = settings(max_examples=12, deadline=None)
TALL = PanelBrief("West", 700, 2200, 30.0, thickness_measured=True)
SHOP = PanelRules()
# eigenvalues of the strip spread over a factor of 3.3e8, so the lowest is known to 3.3e8 machine epsilons = 7e-8;
# a light object at the foot changes it by less than that
NOISE = 1 + 1e-7

one_load = st.builds(FaceLoad, st.sampled_from(["A", "B"]), st.floats(50, 650), st.floats(50, 2150),
                     st.floats(50, 3000), st.floats(40, 120), st.integers(0, 2))
some_loads = st.lists(one_load, min_size=1, max_size=5).map(tuple)


def stands(loads, panel=TALL, **how):
    return standing(Stage("all hung", loads), panel, SHOP, **how)


def sways(loads, panel=TALL, **how):
    return swaying(Stage("all hung", loads), panel, SHOP, **how)


@QUICK
@given(loads=some_loads, more=st.floats(1.01, 3))
def test_heavier_objects_slow_the_panel_and_bring_it_nearer_to_buckling(loads, more):
    light, heavy = sways(loads), sways(tuple(dataclasses.replace(x, mass_g=x.mass_g * more) for x in loads))
    assert heavy.bending_Hz[0] <= light.bending_Hz[0] * NOISE
    assert heavy.buckling_share <= light.buckling_share * NOISE
    assert heavy.torsion_Hz[0] <= light.torsion_Hz[0] * NOISE


@QUICK
@given(loads=some_loads, thicker=st.floats(1.05, 2))
def test_a_thicker_sheet_leans_less_and_sways_faster(loads, thicker):
    thick = dataclasses.replace(TALL, thickness_mm=30 * thicker)
    assert stands(loads, thick).lean_mm <= stands(loads).lean_mm + 1e-12
    assert sways(loads, thick).bending_Hz[0] > sways(loads).bending_Hz[0]


@QUICK
@given(loads=some_loads, one_more=one_load)
def test_every_object_more_makes_it_slower(loads, one_more):
    # so the modes of the steps between are bounded by bare and all hung
    assert sways((*loads, one_more)).bending_Hz[0] <= sways(loads).bending_Hz[0] * NOISE
    assert sways((*loads, one_more)).buckling_share <= sways(loads).buckling_share * NOISE


@QUICK
@given(loads=some_loads)
def test_seen_from_behind_it_is_the_same_panel(loads):
    turned = tuple(dataclasses.replace(load, face="B" if load.face == "A" else "A") for load in loads)
    front, behind = stands(loads), stands(turned)
    assert behind.lean_mm == approx(front.lean_mm, rel=1e-9, abs=1e-12)
    assert behind.twist_deg == approx(front.twist_deg, rel=1e-9, abs=1e-12)
    assert sways(turned).bending_Hz == approx(sways(loads).bending_Hz)


@QUICK
@given(loads=some_loads)
def test_holding_the_top_never_makes_it_slower(loads):
    assert sways(loads, top_held=True).bending_Hz[0] > sways(loads).bending_Hz[0]
    # both faces' loads may cancel at a free top and not below a held one: the lean's law is that of one face
    same = tuple(dataclasses.replace(load, face="A") for load in loads)
    assert stands(same, top_held=True).lean_mm <= stands(same).lean_mm + 1e-12


@QUICK
@given(loads=some_loads)
def test_years_double_what_a_moment_does_or_more(loads):
    seen = stands(loads)
    # half the modulus: twice the lean, and more for the weights that lean with it
    assert seen.lean_mm >= 2 * seen.lean_now_mm * (1 - 1e-9)


@QUICK
@given(loads=some_loads)
def test_the_last_stage_is_everything_and_each_face_is_seen_alone(loads):
    found = stages(loads)
    assert found[-1].loads == loads
    faces = {load.face for load in loads}
    alone = [stage for stage in found if stage.name.endswith("empty")]
    assert len(alone) == (2 if len(faces) == 2 else 0)
    assert all(len({load.face for load in stage.loads}) == 1 for stage in alone)
