"""How one rod sits in its hole: now and after the sheet has relaxed, warm and cool, at high and low friction.

Gathers the bad ends. Holding is judged relaxed, warm and slippery together, and is nothing at all while the hole has
not been measured; pushing in and crazing are judged fresh, cool and grippy. N, mm, MPa.
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.brief import CaseBrief
from scanprep.interval import Interval
from scanprep.materials import metal
from scanprep.post.drill import DrillChoice, choose_drill, parse_drill
from scanprep.post.records import Drill, Rod
from scanprep.post.rod_names import same_rod
from scanprep.post.seat import Fit, greatest_interference_mm, interference_fit, thermal_interference_mm
from scanprep.rules import Rulebook


@dataclass(frozen=True, slots=True)
class TestHole:
    """One hole tried in an offcut."""

    drill: Drill
    hole: Interval
    push_in_N: float  # of this rod at best size, grippy end


@dataclass(frozen=True, slots=True)
class SeatFit:
    """A rod and its hole, with what they do at their bad ends."""

    rod: Interval
    rod_measured: bool
    choice: DrillChoice
    interference: Interval  # rod minus hole
    hand_snug_mm: float  # the interference that the strongest allowed push makes
    craze_mm: float  # the interference that uses the fit's share of the crazing limit
    fresh: Fit  # tight end, cool, grippy, short-term sheet
    holding: Fit  # loose end, warm, slippery, relaxed sheet; nothing while unmeasured
    planned: Fit  # at the most that may be accepted: what an unmeasured fit is judged by
    tests: tuple[TestHole, ...]  # of the offcut, for this rod

    @property
    def measured(self) -> bool:
        """Whether rod and hole both were measured."""
        return self.rod_measured and self.choice.measured

    @property
    def clearance_mm(self) -> float:
        """Greatest play of the rod in its hole; 0 while unmeasured, since a coupon will choose."""
        return max(0.0, -self.interference.low) if self.measured else 0.0


def rod_diameter(rod: Rod, case: CaseBrief | None) -> tuple[Interval, bool]:
    """Return a rod's diameter and whether it was measured."""
    for measured in case.measured_rods if case else ():
        if same_rod(measured.label, rod.label):
            size, spread = measured.diameter_mm, measured.tolerance_mm
            return Interval(size - spread, size, size + spread), True
    if rod.measured_mm is not None:
        return Interval.exactly(rod.measured_mm), True
    nominal = rod.diameter_mm
    return Interval(nominal + rod.tol_lower_mm, nominal + (rod.tol_upper_mm + rod.tol_lower_mm) / 2,
                    nominal + rod.tol_upper_mm), False


def continuous_stress_MPa(rules: Rulebook, grade: str) -> float:
    """Return the stress that acrylic of a grade bears for years without crazing."""
    panel = rules.panel
    return panel.continuous_stress_cell_cast_MPa if grade == "cell cast" else panel.continuous_stress_unknown_MPa


def seat_fit(rod: Rod, depth_mm: float, grade: str, rules: Rulebook, case: CaseBrief | None) -> SeatFit:
    """Return how a rod of the stock fits the hole that would be drilled for it."""
    alloy, panel, post = metal(rod.material), rules.panel, rules.post
    diameter, rod_measured = rod_diameter(rod, case)
    d = diameter.best

    def fit(interference_mm: float, friction: float, sheet_MPa: float) -> Fit:
        return interference_fit(interference_mm, d, depth_mm, friction, sheet_modulus_MPa=sheet_MPa,
                                sheet_poisson=panel.poisson, pin_modulus_MPa=alloy.youngs_modulus_MPa,
                                pin_poisson=alloy.poisson, bore_mm=rod.bore_mm)

    craze_mm = greatest_interference_mm(
        continuous_stress_MPa(rules, grade) * post.fit_share, d, sheet_modulus_MPa=panel.youngs_modulus_MPa,
        sheet_poisson=panel.poisson, pin_modulus_MPa=alloy.youngs_modulus_MPa, pin_poisson=alloy.poisson,
        bore_mm=rod.bore_mm)
    per_mm_N = fit(0.001, post.seat_friction_high, panel.youngs_modulus_MPa).pull_out_N / 0.001
    snug_mm = min(craze_mm, post.push_in_look_N / per_mm_N)
    tests = tuple(
        TestHole(parse_drill(c.drill), Interval(c.hole_mm - c.spread_mm, c.hole_mm, c.hole_mm + c.spread_mm),
                 max(0.0, d - c.hole_mm) * per_mm_N)
        for c in (case.coupons if case else ()) if abs(c.hole_mm - d) < post.coupon_near_mm)
    choice = choose_drill(diameter, min(craze_mm, post.push_in_stop_N / per_mm_N), post,
                          tuple((test.drill, test.hole) for test in tests))
    interference = Interval(diameter.low - choice.hole.high, d - choice.hole.best, diameter.high - choice.hole.low)
    warm_mm = thermal_interference_mm(d, panel.alpha_per_K, alloy.alpha_per_K, post.temperature_range_C)
    measured = rod_measured and choice.measured
    relaxed = fit(interference.low - warm_mm, post.seat_friction_low, panel.creep_modulus_MPa)
    return SeatFit(
        rod=diameter, rod_measured=rod_measured, choice=choice, interference=interference, hand_snug_mm=snug_mm,
        craze_mm=craze_mm,
        fresh=fit(interference.high + warm_mm, post.seat_friction_high, panel.youngs_modulus_MPa),
        holding=relaxed if measured else Fit(0.0, 0.0, 0.0, 0.0),
        planned=fit(snug_mm, post.seat_friction_high, panel.youngs_modulus_MPa), tests=tests)
