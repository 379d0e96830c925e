"""A bracket for what is too heavy for wire: two flat bars under a flat base, sized as plain cantilevers.

Not a hold: nothing is judged of it but what a mountmaker would reckon before he makes one by eye. The base lies on pads
along both bars, which lie flat and are bent the easy way, as the family's are; they come forward from a back plate on
one post, or on two, one above the other, where one alone would be stressed too much. Display frame, origin at the
centre of mass; mm, N, MPa. Used where an attitude is refused.

        panel | post  |  back plate
              |=======|#
              |       |#####################   bars under the base
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.hold.places.limits import TipLimits
from scanprep.hold.strength.wire import alloy
from scanprep.rules import Rulebook
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Bracket:
    """What would be made."""

    apart_mm: float  # the bars, middle to middle
    length_mm: float  # of each, from the back plate
    wide_mm: float  # level; the pad along each is as wide
    thickness_mm: float
    sag_mm: float  # under the centre of mass
    posts: int
    post_stress_MPa: float  # of a single one, under the shake

    @property
    def words(self) -> str:
        """It in a mountmaker's words."""
        posts = "one post bears it" if self.posts == 1 else (
            f"on two posts, one above the other: one alone would be stressed to {self.post_stress_MPa:.0f} MPa")
        return (f"Proposed to be made by eye: a bracket of two flat brass bars, {self.wide_mm:.1f} x "
                f"{self.thickness_mm:.1f} mm, {self.length_mm:.0f} mm long and {self.apart_mm:.0f} mm apart under its "
                f"base, bent up behind and before it, padded over their whole width, a clip above; {posts}")


def bracket_for(vertices_mm: F64, weight_N: float, limits: TipLimits, rules: Rulebook) -> Bracket | None:
    """Return the bracket for an object as it is shown, the lightest of the stocked bars; None where none will do.

    vertices_mm  (n, 3) display frame
    weight_N     the most that it may weigh

    None too where it stands on no base, or its weight is not over the base. Source: cantilevers, M = W a and
    w = W a3 / (3 E I), any beam table; each bar bears half.
    """
    hold = rules.hold
    base = vertices_mm[vertices_mm[:, 1] < vertices_mm[:, 1].min() + hold.base_rise_mm]
    low, high = base.min(axis=0), base.max(axis=0)
    wide, front, back = float(high[0] - low[0]), float(high[2]) - hold.bracket_back_mm, float(vertices_mm[:, 2].min())
    apart = hold.bracket_apart_share * wide
    over = low[0] + 0.25 * wide < 0.0 < high[0] - 0.25 * wide and low[2] < 0.0 < front
    root = back - hold.hub_finger_mm
    length, reach = front - root, -root
    bearing_mm = front - float(low[2])
    if not over or bearing_mm <= 0:
        return None
    pressure = limits.pressure_MPa * (1.0 if limits.measured else limits.bearing_N / hold.bearing_limit_N)
    least_mm = weight_N / pressure / (2 * bearing_mm)
    brass, half = alloy(hold), weight_N / 2
    shaken = hold.shake_factor * half * reach
    widest_mm = min(hold.flat_width_share * wide, 0.5 * apart)
    stock = sorted((bar_mm * thick, bar_mm, thick) for bar_mm in hold.flat_widths_mm
                   for thick in hold.flat_thicknesses_mm if least_mm <= bar_mm <= widest_mm)
    for _, bar_mm, thick in stock:
        second = bar_mm * thick**3 / 12
        sag = half * reach**3 / (3 * brass.youngs_modulus_MPa * second)
        # softened where it is bent, and hot at the back plate
        if sag <= hold.bearing_sag_mm and shaken * thick / 2 / second <= brass.yield_annealed_MPa / hold.wire_safety:
            moment = 2 * shaken + hold.shake_factor * weight_N * rules.post.stand_off_mm
            stress = moment / (math.pi * hold.post_thickest_mm**3 / 32)
            posts = 1 if stress <= brass.yield_hard_MPa / hold.wire_safety else 2
            return Bracket(apart, length, bar_mm, thick, sag, posts, stress)
    return None

