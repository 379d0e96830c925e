"""Mass, centre and their doubts on bodies given by numbers: each figure worked out by hand.

The body: 1000 mm3 (900 to 1100) in a skin of 600 mm2, its centre 10 mm above the skin's. Marble 2600, 2700, 2850 kg/m3.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.interval import Interval
from scanprep.rules import SurveyRules
from scanprep.scan.mesh import Hollow
from scanprep.survey.capping import ClosedBody
from scanprep.survey.mass import Weight, hollowness, weigh, weighed_mass
from scanprep.vectors import F64

RULES = SurveyRules()
SOLID, UNKNOWN = Hollow("solid"), Hollow("unknown", None)
SKIN = np.array([1.0, 2.0, 3.0])


def raised(mm: float) -> F64:
    """Above the skin's centre."""
    return SKIN + np.array([0.0, mm, 0.0])


BODY = ClosedBody(Interval(900.0, 1000.0, 1100.0), raised(10.0), 0.3, 0.0, 0, 1000.0, SKIN,
                  np.diag([4.0, 9.0, 16.0]), Interval(600.0, 600.0, 600.0), SKIN, np.diag([12.0, 27.0, 48.0]), 30.0)


def weight(hollow: Hollow = SOLID, body: ClosedBody = BODY, **said: object) -> Weight:
    brief = ObjectBrief("1", **said)  # type: ignore[arg-type]  # by name
    return weigh(None, body, hollow, None, brief, RULES)  # type: ignore[arg-type]  # asked for parts only


def test_a_solid_weighs_its_volume_by_its_density_end_by_end() -> None:
    found = weight(material="marble")
    assert (found.mass_g.low, found.mass_g.best, found.mass_g.high) == approx((900 * 2.6e-3, 2.7, 1100 * 2.85e-3))
    assert not found.measured and found.weighed_ratio is None and found.basis.startswith("volume x density of marble")


def test_an_unknown_material_is_anything_from_wood_to_bronze() -> None:
    # 500, 2200, 8900 kg/m3
    found = weight()
    assert (found.mass_g.low, found.mass_g.best, found.mass_g.high) == approx((0.45, 2.2, 9.79))


@pytest.mark.parametrize(("mass_g", "off_g"), [(600.0, 3.0), (20.1, 0.1005), (19.9, 0.1), (3.0, 0.1), (0.1, 0.05)])
def test_a_balance_is_off_by_half_a_per_cent_and_a_tenth_of_a_gram(mass_g: float, off_g: float) -> None:
    found = weighed_mass(mass_g, RULES)
    assert (found.low, found.best, found.high) == approx((mass_g - off_g, mass_g, mass_g + off_g))


def test_a_solid_of_sure_volume_has_its_bodys_centre() -> None:
    sure = dataclasses.replace(BODY, volume_mm3=Interval.exactly(1000.0))
    found = weight(body=sure, material="marble")
    assert found.centre_mm == approx(raised(10)) and found.radius_mm == approx(0.3)
    # its own moments: the sum of the two other directions, by 2.7 g
    assert found.inertia_g_mm2 == approx(np.diag([25.0, 20.0, 13.0]) * 2.7)


def test_a_solid_of_doubtful_volume_may_lie_nearer_to_its_skin() -> None:
    # least over greatest is 900 / 1100 of a solid: half way between both, 0.909 of the 10 mm from skin to body and as
    # far from either end; and the floor of 0.3 mm
    found = weight(material="marble")
    assert found.centre_mm == approx(raised(10 * (1 + 900 / 1100) / 2))
    assert found.radius_mm == approx(10 * (1 - 900 / 1100) / 2 + 0.3)


def test_the_caps_doubt_adds_to_the_centres() -> None:
    sure = dataclasses.replace(BODY, volume_mm3=Interval.exactly(1000.0), capping_mm=2.0)
    assert weight(body=sure, material="marble").radius_mm == approx(2.3)


@pytest.mark.parametrize(("mass_g", "left"), [
    # 2.7 g of marble are 947.4 to 1038.5 mm3: 52.6 below and 38.5 above of 100 are left
    (2.7, 0.5263), (2.6, 0.8772), (2.8, 0.7692), (2.4, 1.0), (3.3, 1.0)])
def test_a_balance_says_how_much_the_caps_may_still_hide(mass_g: float, left: float) -> None:
    capped = dataclasses.replace(BODY, capping_mm=10.0)
    with_caps = weight(body=capped, material="marble", mass_g=mass_g)
    without = weight(material="marble", mass_g=mass_g)
    assert with_caps.radius_mm - without.radius_mm == approx(10 * left, abs=2e-3)
    # no balance, no density, or perhaps hollow: the whole doubt stays
    for said, hollow in (({"material": "marble"}, SOLID), ({"mass_g": mass_g}, SOLID)):
        assert weight(hollow, capped, **said).radius_mm - weight(hollow, **said).radius_mm == approx(10.0)
    hollow_said = {"material": "marble", "mass_g": mass_g}
    assert weight(UNKNOWN, capped, **hollow_said).radius_mm - weight(UNKNOWN, **hollow_said).radius_mm == approx(10.0)


@pytest.mark.parametrize(("mass_g", "ratio"), [(2.7, 1.0), (2.34, 1.0), (3.135, 1.0), (3.4485, 1.1), (2.106, 0.9)])
def test_weighed_mass_is_compared_with_the_nearest_end(mass_g: float, ratio: float) -> None:
    # 900 x 2.6 = 2.34 g to 1100 x 2.85 = 3.135 g
    assert weight(material="marble", mass_g=mass_g).weighed_ratio == approx(ratio)
    # of an unknown material too: 900 x 0.5 = 0.45 g of wood to 1100 x 8.9 = 9.79 g of bronze
    assert weight(mass_g=mass_g).weighed_ratio == 1.0
    assert (weight(mass_g=0.36).weighed_ratio, weight(mass_g=11.748).weighed_ratio) == approx((0.8, 1.2))


def test_what_is_heavier_than_solid_has_lost_its_walls_so_nothing_is_excluded() -> None:
    # 3.2 g > 1100 x 2.85: the centre half way, both ends 5 mm off
    found = weight(material="marble", mass_g=3.2)
    assert found.centre_mm == approx(raised(5)) and found.radius_mm == approx(5.0 + 0.3)


def test_an_unknown_inside_is_a_shell_at_the_light_end() -> None:
    # a wall of 2 mm under 600 mm2: A t - m t2 + 4/3 pi t3, m the larger of sqrt(4 pi A) = 86.83 and A2 / 3V = 120
    found = weight(UNKNOWN, material="marble")
    wall = 600 * 2 - 120 * 4 + 4 / 3 * np.pi * 8
    assert found.mass_g.low == approx(wall * 2.6e-3) and found.mass_g.high == approx(1100 * 2.85e-3)
    # half way between wall / 1100 and solid, and as far to either end; a wall that thickens by 0.6 from end to end
    # moves the skin's centre by 0.6 sqrt(48 / 3) mm, as far as it is a skin
    low = wall / 1100
    assert found.centre_mm == approx(raised(10 * (1 + low) / 2))
    assert found.radius_mm == approx(10 * (1 - low) / 2 + (1 - low) * 0.6 * 4.0 + 0.3)


def test_a_balance_tells_how_hollow_an_unknown_inside_is() -> None:
    # 1.35 g of marble is 0.4306, 0.5, 0.5769 of the body (heaviest, likeliest, lightest)
    found = weight(UNKNOWN, material="marble", mass_g=1.35)
    low, high = 1.35 / (2.85 * 1.1), 1.35 / (2.6 * 0.9)
    assert found.centre_mm == approx(raised(5))
    assert found.radius_mm == approx(10 * max(high - 0.5, 0.5 - low) + (1 - low) * 2.4 + 0.3)
    # inertia: half skin, half body, each 5 mm off the centre along y
    second = 0.5 * (np.diag([4.0, 9, 16]) + np.diag([12.0, 27, 48])) + np.diag([0.0, 25.0, 0.0])
    assert found.inertia_g_mm2 == approx((np.eye(3) * np.trace(second) - second) * 1.35)


def test_a_stated_wall_is_a_shell_with_its_doubt() -> None:
    # 3 mm, 15 % either way
    found = hollowness(ObjectBrief("1", wall_mm=3.0), np.full(9, 20.0), 60.0, RULES)
    assert found.kind == "shell" and found.wall_mm is not None
    assert (found.wall_mm.low, found.wall_mm.best, found.wall_mm.high) == approx((2.55, 3.0, 3.45))
    weighed = weight(found, material="marble")
    assert weighed.basis.startswith("shell of 3 mm") and weighed.mass_g.high < 1100 * 2.85e-3


@pytest.mark.parametrize(("said", "seen_mm", "kind"), [
    # a wall that the scan shows from both sides: thinner than 2.5 walls or 2 % of the diagonal is the wall itself
    ({"wall_mm": 3.0}, 7.4, "solid"), ({"wall_mm": 3.0}, 7.6, "shell"), ({"wall_mm": 0.3}, 1.1, "solid"),
    ({"wall_mm": 0.3}, 1.3, "shell"),
    # thinner than a tenth of the diagonal, 60 mm, was scanned on both sides
    ({}, 5.9, "solid"), ({}, 6.1, "unknown"), ({"material": "ceramic"}, 6.1, "unknown"),
    ({"material": "marble"}, 6.1, "solid")])
def test_what_is_solid_and_what_may_be_hollow(said: dict[str, object], seen_mm: float, kind: str) -> None:
    brief = ObjectBrief("1", **said)  # type: ignore[arg-type]  # by name
    assert hollowness(brief, np.array([0.5, seen_mm, 500.0]), 60.0, RULES).kind == kind
