"""What the heavy few may stand on instead of one thick post: two thinner ones, a bracket, a shelf, each with figures.

Two posts one above the other share the weight as a couple of pulls: far stronger and stiffer than one, for a second
hole. A bracket is bolted through the sheet and shows behind it. A shelf takes the weight under the base, so that the
arms only steady the object. N, mm, MPa, Hz; mouth frame.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.findings import Finding, Verdict
from scanprep.hold.strength.stiffness import moved, wrench_move
from scanprep.post.assessment import RodAssessment
from scanprep.post.compliance import frequencies_of, hub_compliance, rod_compliance, seat_compliance
from scanprep.post.fit import continuous_stress_MPa
from scanprep.post.loads import acting_at, directions
from scanprep.post.records import Rod
from scanprep.post.rod import rod_stress
from scanprep.post.trimmed import vent_flat_modulus_ratio
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Pair:
    """Two posts on one hub."""

    rod: Rod
    stress_MPa: float  # greatest of both, weight and shake
    limit_MPa: float
    frequency_Hz: float
    pull_N: float  # the most that one of them is pulled out with

    @property
    def serves(self) -> bool:
        """Whether both bear it."""
        return self.stress_MPa <= self.limit_MPa


def pair_of(tried: RodAssessment, rod: Rod, apart_mm: float, *, upright: bool = True, shelf: bool = False) -> Pair:
    """Return what two posts of a rod do for an object.

    tried     the object on that rod, one post
    apart_mm  centre to centre
    upright   one above the other; else side by side
    shelf     the weight lies on them direct: no arms in between
    """
    member, carried = tried.now, tried.carried
    hub_at, centre = np.array([0.0, 0.0, member.length_mm]), np.asarray(carried.centre_mm)
    one = np.linalg.inv(moved(seat_compliance(member), hub_at) + rod_compliance(member))
    shifts = [np.array([0.0, side, 0.0]) if upright else np.array([side, 0.0, 0.0])
              for side in (apart_mm / 2, -apart_mm / 2)]
    # the hub's own forces, as felt at each post's end, and back
    reach = [wrench_move(shift) for shift in shifts]
    both = sum((far @ one @ far.T for far in reach), np.zeros((6, 6)))
    acts = acting_at(carried, tried.acceleration_g * directions(), member.length_mm)  # (6, n) at the hub
    hub_moves = np.linalg.solve(both, acts)
    worst, pull = 0.0, 0.0
    left, _ = vent_flat_modulus_ratio(member.section.diameter_mm, tried.vent_flat_mm)
    for far in reach:
        ends = one @ far.T @ hub_moves
        mouth = wrench_move(hub_at) @ ends
        for column in mouth.T:
            stress = rod_stress(math.hypot(column[3], column[4]), column[5], member.section)
            worst = max(worst, float(stress.von_mises_MPa / left + abs(column[2]) / member.section.area_mm2))
            pull = max(pull, float(column[2]))
    whole = moved(np.asarray(np.linalg.inv(both), dtype=np.float64), centre - hub_at)
    if not shelf:
        whole = whole + moved(hub_compliance(carried, member.section.diameter_mm), centre - hub_at)
        whole = whole if carried.arms is None else whole + carried.arms
    return Pair(tried.rod, worst, tried.alloy.yield_hard_MPa / tried.rules.post.strength_safety,
                frequencies_of(whole, carried, member)[0].frequency_Hz, pull)


def bolt_pull_N(tried: RodAssessment, apart_mm: float) -> float:
    """Return the pull on one of two bolts of a bracket, one above the other: the moment at the face over their gap."""
    acts: F64 = acting_at(tried.carried, tried.acceleration_g * directions(), 0.0)
    return float((np.abs(acts[3]) / apart_mm + np.maximum(acts[2], 0.0) / 2).max())


def heavy_finding(tries: Sequence[RodAssessment], rod: Rod) -> tuple[Finding, ...]:
    """Return what an object may stand on instead of a rod that is thicker than the eye likes; none where it need not.

    tries  the object on each stocked rod that is not too thick, thinnest first
    """
    if not tries:
        return ()
    loads = tries[0].rules.loads
    apart = loads.second_post_mm
    two = next((pair for pair in (pair_of(one, one.rod, apart) for one in tries) if pair.serves), None)
    shelf = next((pair for pair in (pair_of(one, one.rod, apart, upright=False, shelf=True) for one in tries)
                  if pair.serves), None)
    pull = bolt_pull_N(tries[-1], loads.bracket_bolts_mm)
    press = pull / (math.pi / 4 * loads.bracket_washer_mm**2)
    limit = continuous_stress_MPa(tries[-1].rules, tries[-1].grade)
    ways = [f"two {two.rod.label} posts {apart:g} mm one above the other: {two.stress_MPa:.0f} of {two.limit_MPa:.0f} "
            f"MPa, {two.frequency_Hz:.0f} Hz, {two.pull_N:.0f} N of pull on one" if two else "",
            f"a bracket on two bolts {loads.bracket_bolts_mm:g} mm apart through the sheet: {pull:.0f} N each, "
            f"{press:.1f} of {limit:g} MPa under washers of {loads.bracket_washer_mm:g} mm" if press <= limit else "",
            f"a shelf on two {shelf.rod.label} posts side by side under its base, arms only steadying it: "
            f"{shelf.stress_MPa:.0f} of {shelf.limit_MPa:.0f} MPa, {shelf.frequency_Hz:.0f} Hz" if shelf else ""]
    said = "; ".join(way for way in ways if way)
    if not said:
        return ()
    return (Finding("post-heavy", "", Verdict.LOOK, f"one post has to be a {rod.label} rod ({rod.diameter_mm:.1f} mm)",
                    f"Or {said}", rod.diameter_mm, loads.thick_rod_mm, "mm"),)
