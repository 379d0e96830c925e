"""Laws that every post obeys, whatever its numbers: monotonicity and limits, by property tests."""

import dataclasses

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.post import stocked_rods, thinnest_rod
from scanprep.post.compliance import modes, weight_parts
from scanprep.post.judge import turning_demand_Nmm
from scanprep.post.loads import carried_by, directions, shaken_loads, standing_load
from scanprep.post.plan import try_rod
from scanprep.post.rod import SWAYING_SHARE, Section, end_move, rod_stress
from scanprep.post.seat import interference_fit
from scanprep.rules import PostRules, Rulebook
from tests.post.hung import hold_of_block, survey_of_block

SHOP = Rulebook()
WIDE = Rulebook(post=dataclasses.replace(PostRules(), stocked=("1/8", "5/32", "3/16", "7/32", "1/4", "5/16", "3/8")))
QUICK = settings(max_examples=15, deadline=None)
BRASS_IN_ACRYLIC = {"sheet_modulus_MPa": 3000, "sheet_poisson": 0.37, "pin_modulus_MPa": 97_000, "pin_poisson": 0.31}

masses = st.floats(20, 1500)
sides = st.floats(20, 120)


def thinnest_mm(mass_g, size=(50.0, 70.0, 40.0), shop=WIDE, **hold):
    need = thinnest_rod(hold_of_block(size, **hold), survey_of_block(mass_g, size), shop, None)
    return float("inf") if need.thinnest is None else need.thinnest.diameter_mm


def carried(mass_g=200.0, size=(50.0, 70.0, 40.0), **hold):
    return carried_by(hold_of_block(size, **hold), survey_of_block(mass_g, size), SHOP.post)


def on_rod(one, label="3/16"):
    rod = next(rod for rod in stocked_rods(WIDE, None) if rod.label == label)
    return try_rod(one, rod, WIDE, None)


def droop(trial):
    return sum(part.droop_mm for part in trial.parts)


@QUICK
@given(mass_g=masses, more=st.floats(1.0, 3.0))
def test_a_heavier_object_never_gets_a_thinner_rod(mass_g, more):
    assert thinnest_mm(mass_g * more) >= thinnest_mm(mass_g)


@QUICK
@given(depth=sides, more=st.floats(1.0, 2.0), mass_g=masses)
def test_an_object_standing_further_out_never_gets_a_thinner_rod(depth, more, mass_g):
    assert thinnest_mm(mass_g, (50, 70, depth * more)) >= thinnest_mm(mass_g, (50, 70, depth))


@QUICK
@given(mass_g=masses, size=st.tuples(sides, sides, sides))
def test_a_thicker_rod_droops_less_and_sways_faster(mass_g, size):
    one = carried(mass_g, size)
    trials = [on_rod(one, label) for label in ("1/8", "3/16", "1/4", "3/8")]
    droops = [droop(trial) for trial in trials]
    frequencies = [modes(one, trial.now)[0].frequency_Hz for trial in trials]
    assert droops == sorted(droops, reverse=True)
    # a thick rod's own swaying mass slows a light object a little: half its share of the whole
    for thin, thick, trial in zip(frequencies, frequencies[1:], trials[1:]):
        rod_g = trial.now.density_g_mm3 * trial.now.section.area_mm2 * trial.now.length_mm
        assert thick >= thin * (1 - SWAYING_SHARE * rod_g / mass_g / 2)


@QUICK
@given(mass_g=masses, stiffness=st.floats(0.5, 50), more=st.floats(1.0, 10))
def test_stiffer_arms_droop_less(mass_g, stiffness, more):
    soft = carried(mass_g, stiffness_N_per_mm=stiffness)
    stiff = dataclasses.replace(soft, arms=soft.arms / more)
    assert droop(on_rod(stiff)) <= droop(on_rod(soft)) + 1e-12
    assert modes(stiff, on_rod(stiff).now)[0].frequency_Hz >= modes(soft, on_rod(soft).now)[0].frequency_Hz - 1e-9


@QUICK
@given(mass_g=masses, size=st.tuples(sides, sides, sides))
def test_the_whole_is_softer_than_any_of_its_parts(mass_g, size):
    one = carried(mass_g, size)
    trial = on_rod(one)
    whole = modes(one, trial.now)[0].frequency_Hz
    assert whole <= modes(one, trial.now, mount=False)[0].frequency_Hz * (1 + 1e-9)
    assert whole <= modes(one, trial.now, post=False)[0].frequency_Hz * (1 + 1e-9)
    assert all(part.droop_mm >= -1e-12 for part in trial.parts)


@QUICK
@given(mass_g=masses, acceleration=st.floats(0, 2))
def test_no_offset_no_torque(mass_g, acceleration):
    one = dataclasses.replace(carried(mass_g), centre_mm=(0.0, 0.0, 40.0), mount_centre_mm=(0.0, 0.0, 10.0))
    assert turning_demand_Nmm(one, acceleration, 0.0) == 0
    assert all(load.torque_Nmm == approx(0, abs=1e-9) for load in shaken_loads(one, acceleration * directions()))
    assert sum(part.roll_deg for part in weight_parts(one, on_rod(one).later)) == approx(0, abs=1e-9)


@QUICK
@given(beside=st.floats(0, 30), more=st.floats(0.1, 10), acceleration=st.floats(0, 2))
def test_hanging_further_beside_the_axis_turns_more(beside, more, acceleration):
    near, far = carried(beside_mm=-beside), carried(beside_mm=-beside - more)
    assert turning_demand_Nmm(far, acceleration, 10) > turning_demand_Nmm(near, acceleration, 10)


@QUICK
@given(mass_g=masses, acceleration=st.floats(0.01, 2), beside=st.floats(-20, 20))
def test_the_turning_demand_bounds_every_shaken_direction(mass_g, acceleration, beside):
    one = carried(mass_g, beside_mm=beside)
    demand = turning_demand_Nmm(one, acceleration, 0.0)
    assert max(abs(load.torque_Nmm) for load in shaken_loads(one, acceleration * directions())) <= demand * (1 + 1e-9)


@QUICK
@given(mass_g=masses, a=st.floats(0, 1), more=st.floats(0, 1))
def test_more_shaking_never_loads_less(mass_g, a, more):
    one = carried(mass_g)
    worst = [max(load.bending_Nmm for load in shaken_loads(one, x * directions())) for x in (a, a + more)]
    assert worst[1] >= worst[0] * (1 - 1e-12)
    assert worst[0] >= standing_load(one).bending_Nmm * (1 - 1e-12)


@QUICK
@given(interference=st.floats(-0.1, 0.05), depth=st.floats(5, 30), deeper=st.floats(0.1, 20), mu=st.floats(0.1, 0.5))
def test_a_deeper_seat_is_never_weaker_in_pull_out(interference, depth, deeper, mu):
    shallow, deep = (interference_fit(interference, 4.7625, d, mu, **BRASS_IN_ACRYLIC) for d in (depth, depth + deeper))
    assert deep.pull_out_N >= shallow.pull_out_N and deep.slip_torque_Nmm >= shallow.slip_torque_Nmm
    assert (shallow.pull_out_N == 0) == (interference <= 0)


@QUICK
@given(interference=st.floats(0.0001, 0.05), bore=st.floats(0, 4.5), edge=st.floats(2.4, 100))
def test_a_tube_and_an_edge_soften_the_grip_and_an_edge_raises_the_hoop(interference, bore, edge):
    solid = interference_fit(interference, 4.7625, 20, 0.3, **BRASS_IN_ACRYLIC)
    tube = interference_fit(interference, 4.7625, 20, 0.3, **BRASS_IN_ACRYLIC, bore_mm=bore)
    near = interference_fit(interference, 4.7625, 20, 0.3, **BRASS_IN_ACRYLIC, outer_diameter_mm=2 * edge)
    assert tube.pressure_MPa <= solid.pressure_MPa
    assert near.pressure_MPa <= solid.pressure_MPa and near.hoop_MPa >= solid.hoop_MPa


@QUICK
@given(warm=st.floats(0, 40), warmer=st.floats(0, 40))
def test_a_warm_sheet_never_holds_better(warm, warmer):
    def holding(kelvin):
        from scanprep.brief import CaseBrief, CouponResult, RodMeasured
        from scanprep.post.fit import fit_verdict

        case = CaseBrief("C", measured_rods=(RodMeasured("3/16", 4.7625, 0.001),),
                         coupons=(CouponResult("4.7", 4.745, 0.001),))
        shop = Rulebook(post=dataclasses.replace(PostRules(), temperature_range_C=kelvin))
        return fit_verdict(stocked_rods(shop, case)[3], 20, "cell cast", shop, case)

    cool, hot = holding(warm), holding(warm + warmer)
    assert hot.holding.pull_out_N <= cool.holding.pull_out_N
    assert hot.fresh.pull_out_N >= cool.fresh.pull_out_N  # and as much cooler it grips harder
    assert cool.holding.pull_out_N <= cool.fresh.pull_out_N


@QUICK
@given(force=st.floats(0.1, 50), length=st.floats(5, 150), diameter=st.floats(1.5, 10), k=st.floats(1.01, 3))
def test_a_cantilever_scales_as_the_cube_of_its_length(force, length, diameter, k):
    rod = Section(diameter)
    short, long = (end_move(force, 0, x, rod, 97_000).deflection_mm for x in (length, k * length))
    assert long / short == approx(k**3)


@QUICK
@given(bore=st.floats(0, 0.95), diameter=st.floats(2, 10))
def test_a_tube_is_softer_and_lighter_than_its_rod_and_stiffer_for_its_weight(bore, diameter):
    tube, rod = Section(diameter, bore * diameter), Section(diameter)
    assert tube.inertia_mm4 <= rod.inertia_mm4 and tube.area_mm2 <= rod.area_mm2
    assert tube.inertia_mm4 / tube.area_mm2 >= rod.inertia_mm4 / rod.area_mm2


@QUICK
@given(moment=st.floats(0, 5000), torque=st.floats(0, 5000))
def test_von_mises_lies_between_bending_alone_and_both_added(moment, torque):
    assume(moment + torque > 0)
    stress = rod_stress(moment, torque, Section(4.7625))
    assert stress.bending_MPa <= stress.von_mises_MPa <= (stress.bending_MPa + 3**0.5 * stress.shear_MPa) * (1 + 1e-12)


def test_a_body_on_a_rod_alone_is_the_textbook_s():
    # series of a rigid seat and hub, no arms: F2c, 0.5 kg 20 mm ahead of a 40 mm rod, 38.078 Hz
    import numpy as np

    from scanprep.post.compliance import Member
    from tests.books.vectors import vector

    given_, wanted, _ = vector("F2c")
    one = dataclasses.replace(
        carried(), arms=None, object_g=500.0, mount_g=0.0, centre_mm=(0.0, 0.0, 60.0),
        inertia_g_mm2=np.eye(3) * given_["Jc"] * 1000, hub=dataclasses.replace(carried().hub, thickness_mm=1e4))
    member = Member(Section(given_["d"]), given_["E"], given_["G"], 0.0, 40.0, 20.0, 1e15)
    # on any bed the rod is held 1/beta deeper: beta = 100/mm here, 1/4000 of the rod's length
    found = [mode for mode in modes(one, member) if mode.name in ("nodding", "swinging sideways")]
    assert found[0].frequency_Hz == approx(wanted["f1"], rel=1e-3)


@pytest.mark.parametrize("name", ["nodding", "swinging sideways", "turning"])
def test_bending_both_ways_and_turning_are_all_there(name):
    one = carried()
    assert name in {mode.name for mode in modes(one, on_rod(one).now)}
