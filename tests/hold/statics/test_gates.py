"""The gates just inside and just outside their limits, on sets of tips that a hand can work out.

Two jaws press along x; weight W, limit L each (F for the moment of a shake), friction mu. Equal shares of the load by
their levers give |across| <= 2 mu min(N); N1 - N2 is the push along x. The certificates cut the circle down to an
octagon with corners along the axes, c = cos 22.5 deg. Coulomb friction and levers: any text on engineering mechanics.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.findings import Verdict
from scanprep.hold.statics import gates
from scanprep.hold.statics.contact import ContactVerdict
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.rules import HoldRules

WEIGHT_N = 1.2
NARROW = math.cos(math.pi / 8)
RULES = HoldRules()


def jaws(limit_N=4.0, friction=0.5, half_mm=20.0):
    return ContactWrenches(np.array([[half_mm, 0, 0], [-half_mm, 0, 0]]), np.array([[-1.0, 0, 0], [1.0, 0, 0]]),
                           np.full(2, friction), np.full(2, limit_N), np.arange(2))


def bowl(limit_N):
    """Four pads below, at 45 deg, each pointing at the centre of mass."""
    inward = np.array([(-1, 1, 0), (1, 1, 0), (0, 1, -1), (0, 1, 1)]) / math.sqrt(2)
    return ContactWrenches(-20.0 * inward, inward, np.full(4, 0.5), np.full(4, limit_N), np.arange(4))


def footed(limit_N=4.0):
    """Two jaws and, as the first tip, a foot without friction under the centre of mass."""
    both = jaws(limit_N)
    return ContactWrenches(np.vstack([[0, -10.0, 0], both.points_mm]), np.vstack([[0, 1.0, 0], both.normals]),
                           np.array([0.0, 0.5, 0.5]), np.full(3, limit_N), np.arange(3))


def loads(**said):
    usual = {"weight_N": WEIGHT_N, "friction": 0.5, "friction_low": 0.15, "margin_g": 0.35, "margin_low_g": 0.2,
             "target_g": 0.6, "shape_g": 0.2, "tilt_deg": 5.0, "centre_radius_mm": 0.0, "torque_Nmm": 6.0,
             "rocking_deg": 0.6, "spring_N_per_mm": 2.0, "pad": "suede", "pad_thickness_mm": 0.8, "shake_factor": 2.0}
    return Loads(**usual | said)


@pytest.fixture
def judged(monkeypatch):
    """Judge a set whose pads sit as `drawn` says, all as planned where nothing is said."""
    def judge(grip, demand=None, rules=RULES, drawn=None, **more):
        monkeypatch.setattr(gates, "redrawn", lambda *_: drawn or [grip] * rules.shake_redraws)
        return gates.judge(grip, np.full(len(grip.points_mm), 2.0), demand or loads(), None, np.eye(3), rules, **more)
    return judge


def verdict(found, name):
    (check,) = [check for check in found.checks if check.name == name]
    return check.verdict


def jaws_margin_g(limit_N, friction):
    """The shortest way out of |across| <= 2 mu min(N), N <= limit: by slipping, or by pushing one jaw to its limit."""
    slips = NARROW * (2 * friction * limit_N - WEIGHT_N)
    # push + across / (2 mu) <= limit, across measured to the octagon's sides
    overloads = (limit_N - WEIGHT_N / (2 * friction)) / math.hypot(1, 1 / (2 * friction * NARROW))
    return min(slips, overloads) / WEIGHT_N


@pytest.mark.parametrize(("limit_N", "said"), [(0.80, Verdict.OK), (0.785, Verdict.STOP)])
def test_carried_from_below_while_the_normals_alone_bear_the_tilted_weight(judged, limit_N, said):
    # W 2 N tilted by 5 deg between two pads, both of which lose half of what leans over: with all four at most at L
    # 4 L = k W (sqrt 2 cos 5 + 2 sin 5) = 1.5832 k W, so k = 1 at L = 0.7916 N; no other tilt asks more
    found = judged(bowl(limit_N), loads(weight_N=2.0))
    assert found.carried_ratio == pytest.approx(4 * limit_N / (1.5832 * 2.0), rel=1e-3)
    assert verdict(found, "carried-from-below") is said


def test_the_margin_counts_what_a_tip_may_press_for_a_moment(judged):
    # L 4 N, twice that in a shake: min(c (8 - 1.2), (8 - 1.2) / 1.4736) / 1.2 = 3.8 g; at L 2.5: 5 N, 2.149 g
    found = judged(jaws(2.5))
    assert found.margin_g == pytest.approx(jaws_margin_g(5.0, 0.5), abs=0.006)
    assert found.margin_g == pytest.approx(2.149, abs=0.006)
    assert verdict(judged(jaws(2.5), loads(margin_g=2.13)), "margin") is Verdict.OK
    assert verdict(judged(jaws(2.5), loads(margin_g=2.17)), "margin") is Verdict.STOP


def test_the_low_margin_takes_the_lower_of_pad_and_low_friction(judged):
    # at 0.15: min(c (2.4 - 1.2), (8 - 4) / sqrt(1 + 1 / (0.3 c)^2)) / 1.2 = min(0.924, 0.890) g
    asked = loads(margin_low_g=0.90)
    found = judged(jaws(), asked)
    assert found.margin_low_g == pytest.approx(0.890, abs=0.006) == jaws_margin_g(8.0, 0.15)
    assert verdict(found, "margin-low-friction") is Verdict.STOP
    assert verdict(judged(jaws(), loads(margin_low_g=0.88)), "margin-low-friction") is Verdict.OK
    # a pad that rubs less than the low friction is judged by itself: at 0.10 min(c (1.6 - 1.2), 2 / 5.504) / 1.2
    slick = judged(jaws(friction=0.10), asked)
    assert slick.margin_low_g == pytest.approx(jaws_margin_g(8.0, 0.10), abs=0.006)


def test_the_low_margin_is_the_worst_of_the_places_where_the_centre_may_be(judged):
    # six places, each certificate by itself; jaws with two pads each stand what a centre off its place turns
    points = np.array([(x, y, 0.0) for x in (-20, 20) for y in (-8, 8)])
    pads = ContactWrenches(points, np.array([(1.0, 0, 0)] * 2 + [(-1.0, 0, 0)] * 2), np.full(4, 0.5), np.full(4, 4.0),
                           np.arange(4))
    asked = loads(margin_low_g=2.4, centre_radius_mm=3.0)
    low = gates.shaken(pads, 2.0).with_friction(0.15)
    each = [gates.margin_g(low.about(3.0 * sign * axis), WEIGHT_N)[0] for axis in np.eye(3) for sign in (1, -1)]
    middle = gates.margin_g(low, WEIGHT_N)[0]
    assert min(each) < middle - 0.1
    found = judged(pads, replace(asked, margin_low_g=min(each) + 0.05))
    assert found.margin_low_g < min(each) + 0.05
    assert verdict(found, "margin-low-friction") is Verdict.STOP
    assert verdict(judged(pads, replace(asked, margin_low_g=min(each) - 0.05)), "margin-low-friction") is Verdict.OK


@pytest.mark.parametrize(("share", "said"), [(0.205, Verdict.OK), (0.195, Verdict.STOP)])
def test_preload_leaves_the_friction_reserve_that_relaxation_halves(judged, share, said):
    # s = mu L - (W / 2) / c (the octagon lies the other way round): L for s = share W
    limit_N = (share * WEIGHT_N + WEIGHT_N / 2 / NARROW) / 0.5
    found = judged(jaws(limit_N))
    assert found.preload_ratio == pytest.approx(share, abs=1e-4)
    assert verdict(found, "preload") is said
    if said is Verdict.OK:  # half of 0.205
        assert "0.10 left after relaxation" in [check.note for check in found.checks if check.name == "preload"]


def test_where_friction_must_hold_and_cannot_enough_the_tips_press_all_they_may(judged):
    # no shape holds two jaws: for s = 0.15 W both press their limit, though a hold by shape would press for 0.10 only
    limit_N = (0.15 * WEIGHT_N + WEIGHT_N / 2 / NARROW) / 0.5
    assert judged(jaws(limit_N)).preload.normal_N == pytest.approx([limit_N, limit_N], abs=1e-4)


def test_what_holds_by_shape_presses_for_a_tenth_of_the_weight_only(judged):
    # s (1 + 4 mu c) = 2.8 mu + 16 mu^2 c, see below: 0.149 N at mu = 0.05, between 0.10 W and 0.20 W
    found = judged(cage(0.05))
    gentle, most = (gates.preload(cage(0.05), WEIGHT_N, gates.UP, share).normal_N for share in (0.10, 0.20))
    assert gentle.sum() < most.sum() - 0.1
    assert found.preload.normal_N == pytest.approx(gentle, abs=1e-6)


def test_sprung_on_gently_is_only_what_shape_holds_and_says_how_hard_it_presses(judged):
    # at friction 0.2 the cage could keep 0.20 W; gently it presses for 0.10 W, and is judged as held by shape
    hard, gentle = judged(cage(0.2)), judged(cage(0.2), gently=True)
    assert hard.preload_ratio > RULES.preload_ratio and gentle.preload_ratio == pytest.approx(RULES.shaped_ratio)
    assert gentle.preload.normal_N.sum() < hard.preload.normal_N.sum() - 0.1
    (check,) = [check for check in gentle.checks if check.name == "preload"]
    assert check.limit == RULES.pressed_ratio and "held by shape" in check.note
    # two jaws hold by friction alone: asked gently, nothing changes
    assert judged(jaws(4.0), gently=True).preload.normal_N == pytest.approx(judged(jaws(4.0)).preload.normal_N)


def test_the_low_margin_gives_a_share_of_what_it_stands_to_the_centre_s_doubt(judged):
    # a shake and a torque may be mixed: of the torque asked for, 1.2 x 1 mm x 1.2 N, four times is stood, so at least
    # three quarters of the margin are left, and less than all
    full = judged(cage(0.15)).margin_low_g
    off = judged(cage(0.15), loads(centre_radius_mm=1.0)).margin_low_g
    assert 0.75 * full - 1e-3 <= off < full


def cage(friction):
    """Pads all round, two along each axis."""
    inward = np.vstack([np.eye(3), -np.eye(3)])
    return ContactWrenches(-20.0 * inward, inward, np.full(6, friction), np.full(6, 4.0), np.arange(6))


def test_a_hold_by_shape_asks_less_of_preload(judged):
    # without friction, twice 4 N each way: up it stands 8 - 1.2 more, 6.8 / 1.2 = 5.67 g; by friction 0.05 only little
    found = judged(cage(0.05))
    assert found.shape_g >= 0.2 and found.preload_ratio < 0.2
    assert verdict(found, "preload") is Verdict.OK
    # a shape that must stand 6 g does not: then friction must hold it, and it does not
    assert verdict(judged(cage(0.05), loads(shape_g=6.0)), "preload") is Verdict.STOP


@pytest.mark.parametrize(("friction", "ratio", "said"), [(0.013, 0.0309, Verdict.OK), (0.0125, 0.0297, Verdict.STOP)])
def test_what_holds_by_shape_still_presses_every_tip(judged, friction, ratio, said):
    # The least pressed is the pad above: 4 N below less the weight, more what four at the side take by friction beyond
    # their own reserve. s = mu (2.8 + 4 c (4 mu - s)), so s (1 + 4 mu c) = 2.8 mu + 16 mu^2 c; limit 0.03 W
    found = judged(cage(friction))
    assert found.preload_ratio == pytest.approx(ratio, abs=1e-4)
    assert verdict(found, "preload") is said


@pytest.mark.parametrize(("asked_g", "said"), [(1.295, Verdict.OK), (1.32, Verdict.LOOK)])
def test_every_tip_may_be_the_worn_one(judged, asked_g, said):
    # The foot bears the weight, the jaws what goes sideways in equal shares: with one of them at 0.10 and 8 N each,
    # across / 0.2 + push <= 8 N, and 8 / sqrt(26) / 1.2 = 1.307 g. The worn foot, the first tip, changes nothing.
    found = judged(footed(), loads(margin_low_g=asked_g))
    assert verdict(found, "one-tip-worn") is said
    assert found.worn_g == pytest.approx(1.307, abs=0.012)


@pytest.mark.parametrize(("torque_Nmm", "said"), [(155.0, Verdict.OK), (165.0, Verdict.STOP)])
def test_torque_about_the_weakest_axis(judged, torque_Nmm, said):
    # Jaws along x and along z, 8 N in a shake, friction 0.5: about x the two along z rub 4 N each at 20 mm, 160 N mm,
    # while those along x carry the weight; about the vertical all four. Known to 2 % of what is asked for.
    points = np.array([[20.0, 0, 0], [-20, 0, 0], [0, 0, 20], [0, 0, -20]])
    found = judged(ContactWrenches(points, -points / 20, np.full(4, 0.5), np.full(4, 4.0), np.arange(4)),
                   loads(torque_Nmm=torque_Nmm))
    assert found.torque_Nmm == pytest.approx(160.0, abs=0.02 * torque_Nmm)
    assert verdict(found, "torque-capacity") is said


def test_about_the_vertical_only_the_shakes_share_of_the_torque_is_asked_for():
    assert gates.turning_demand(loads(margin_g=0.35)) == pytest.approx([1.0, 0.35, 1.0])
    assert gates.turning_demand(loads(margin_g=1.4)) == pytest.approx([1.0, 1.0, 1.0])


def test_springs_too_soft_for_what_they_carry_let_it_go(judged):
    # four pads at 45 deg bear 1.2 N: on 0.05 N/mm each it sinks by more than it may settle, W / (4 k / 2) = 12 mm
    assert verdict(judged(bowl(8.0), loads(spring_N_per_mm=0.05)), "shake-withstood") is Verdict.STOP
    assert verdict(judged(bowl(8.0)), "shake-withstood") is Verdict.OK


def test_a_set_is_judged_by_shaking_it_only_when_no_other_gate_stops_it(judged):
    assert judged(jaws()).stops and judged(jaws()).shake is None
    found = judged(cage(0.05))
    assert found.shake is not None and found.passes and not found.stops
    assert found.checks[-1].name == "shake-withstood"


@pytest.mark.parametrize(("asked_g", "said"), [(1.47, Verdict.OK), (1.51, Verdict.LOOK), (1.75, Verdict.STOP)])
def test_the_margin_where_pads_touch_is_the_margin_with_part_of_the_friction(asked_g, said):
    # true pads of friction 0.5, of which 0.7 counts; 5 N for a moment: 1.487 g, and 0.86 of 1.73 g is that again
    check = gates.margin_as_it_touches([jaws(2.5)] * 8, loads(margin_g=asked_g), RULES)
    assert check.verdict is said
    assert check.value == pytest.approx(jaws_margin_g(5.0, 0.35), abs=0.006) == 1.487


def test_pads_that_touch_askew_stand_less_and_the_middle_redraw_counts():
    down = math.sin(math.radians(8.0))  # both jaws press it down by so much: the friction bears that besides the weight
    level = math.cos(math.radians(8.0))
    askew = replace(jaws(2.5), normals=np.array([(-level, -down, 0), (level, -down, 0)]))
    true_g, askew_g = (gates.margin_g(gates.shaken(each.with_friction(0.35), 2.0), WEIGHT_N)[0]
                       for each in (jaws(2.5), askew))
    assert askew_g < true_g - 0.2
    asked = loads(margin_g=0.9)
    few = gates.margin_as_it_touches([jaws(2.5)] * 5 + [askew] * 3, asked, RULES)
    many = gates.margin_as_it_touches([jaws(2.5)] * 3 + [askew] * 5, asked, RULES)
    assert few.value == pytest.approx(true_g, abs=0.02) and many.value == pytest.approx(askew_g, abs=0.02)


def test_no_more_than_twice_the_asked_margin_is_sought_where_pads_touch():
    check = gates.margin_as_it_touches([jaws(2.5)] * 8, loads(margin_g=0.35), RULES)
    assert check.value == pytest.approx(0.70) and check.note.startswith("or more")


@pytest.mark.parametrize(("shake_g", "said"), [
    # 0.35 g asked for: refused below 0.86 x 0.35 = 0.301 g, looked at below 1.14 x 0.35 = 0.399 g
    (0.300, Verdict.STOP), (0.302, Verdict.LOOK), (0.398, Verdict.LOOK), (0.400, Verdict.OK)])
def test_the_contact_solve_stops_and_looks_at_shares_of_the_cases_shake(shake_g, said):
    shake = ContactVerdict(shake_g, np.array([shake_g]), 1.0, (0.0, -1.0, 0.0))
    assert gates.stays(shake, loads(), RULES).verdict is said


# What the search is told of a set that is too weak


def works(grip, twists, loads_N_Nmm):
    """Most work of any force within the cones, and the work of a load, against each twist (u, tau)."""
    edges = gates.edges_of(grip)
    return ((edges.force @ twists[:, :3].T + edges.torque @ twists[:, 3:].T).max(axis=0),
            twists[:, :3] @ loads_N_Nmm[:3] + twists[:, 3:] @ loads_N_Nmm[3:])


def test_what_no_forces_balance_is_shown_by_twists_against_which_only_the_load_works():
    # jaws without friction carry nothing: straight up, tilted any way
    bare = jaws().with_friction(0.0)
    twists = gates.unbalanced_twists(jaws(), loads(), 0.0)
    ups = loads().tilts()
    assert len(twists) == len(ups)
    for twist, up in zip(twists, ups):
        most, load = works(bare, twist[None], np.concatenate([WEIGHT_N * up, np.zeros(3)]))
        assert most[0] < 1e-6 < load[0]


def test_a_push_or_a_turn_that_nothing_resists_is_shown_too():
    # a bowl carries its weight by shape, yet nothing holds it down under 1.5 g, nor against turning without friction
    asked = loads(margin_g=1.5)
    twists = gates.unbalanced_twists(bowl(40.0).with_friction(0.0), asked, 0.0)
    assert len(twists)
    assert (works(bowl(40.0).with_friction(0.0), twists, np.zeros(6))[0] < 1e-6).all()
    # held by shape against 0.2 g: level pushes need walls, and 45 deg stand up to 1 g
    assert len(gates.unbalanced_twists(bowl(40.0), loads(), 0.2)) == 0
    up_most = gates.unbalanced_twists(bowl(40.0), loads(), 1.4)
    assert len(up_most) and (works(bowl(40.0).with_friction(0.0), up_most, np.zeros(6))[0] < 1e-6).all()


@pytest.mark.parametrize(("limit_N", "demand", "shape_g", "lacks"), [
    (4.0, {}, 0.2, False),
    # level it stands L times two over W without friction: 2 x 4 / 1.2 = 6.67 g; up, with W on it, 5.67 g
    (4.0, {}, 5.6, False), (4.0, {}, 5.8, True),
    # four at the side rub 0.4 N each besides: at most (8 + 1.6 - 1.2) / 1.2 = 7.0 g
    (4.0, {"margin_g": 5.6}, 0.0, False), (4.0, {"margin_g": 7.1}, 0.0, True),
    # a pad of 1.1 N does not carry 1.2 N
    (1.25, {}, 0.0, False), (1.1, {}, 0.0, True),
    # four pads about each axis rub 0.4 N each at 20 mm: at most 32 N mm
    (4.0, {"torque_Nmm": 22.0}, 0.0, False), (4.0, {"torque_Nmm": 33.0}, 0.0, True)])
def test_a_set_that_lacks_nothing_shows_no_twists(limit_N, demand, shape_g, lacks):
    grip = cage(0.05).with_limits(np.full(6, limit_N))
    assert bool(len(gates.lacking_twists(grip, loads(**demand), shape_g))) is lacks
