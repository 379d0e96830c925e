"""What it changes when a hole is not level: dipping a few degrees inwards, or plumb.

A level post is kept in by friction alone. A hole that falls towards its inner end lets the weight keep it in; a plumb
post (in a shelf or plinth) cannot come out at all. Both cost something else. Degrees, N, mm.

          \\  post          |  post
    face |  \\              |
    ~~~~~|====\\            v
         | dip              plumb
"""

from __future__ import annotations

import math
from dataclasses import dataclass

_PLUMB_deg = 89.9  # tolerance: beyond this the length across, d / cos, means nothing


@dataclass(frozen=True, slots=True)
class Inclination:
    """A post at an angle below level, inner end down."""

    dip_deg: float  # 0 level, 90 plumb
    held_N: float  # the weight's own hold along the post
    pull_N: float  # what still tries to draw it out, 0 when the weight wins
    bending_ratio: float  # bending at the mouth over that of a level post of the same reach
    mouth_long_mm: float  # the hole's mouth on the face is an oval
    depth_square_mm: float  # how deep it goes square to the face
    sentence: str


def inclined(dip_deg: float, weight_N: float, acceleration_g: float, touch_N: float, diameter_mm: float,
             seat_mm: float) -> Inclination:
    """Return what a dip changes for a post that carries a weight.

    The weight's share along the post, W sin(dip), holds it in; shaking and a hand draw it out as before.
    Raises ValueError outside 0 to 90 degrees.

    >>> inclined(0, 5, 0.35, 10, 4.76, 20).pull_N
    11.75
    """
    if not 0 <= dip_deg <= 90:
        raise ValueError(f"a hole dips between 0 (level) and 90 degrees (plumb); got {dip_deg}")
    sine, cosine = math.sin(math.radians(dip_deg)), math.cos(math.radians(dip_deg))
    if dip_deg >= _PLUMB_deg:
        return Inclination(90.0, weight_N, max(0.0, touch_N - weight_N), 0.0, diameter_mm, seat_mm,
                           "a plumb post is kept in by its weight and not bent by it; nothing but the fit keeps it "
                           "from turning about its own axis, and shaking bends it from every side")
    pull = max(0.0, weight_N * acceleration_g + touch_N - weight_N * sine)
    return Inclination(
        dip_deg, weight_N * sine, pull, cosine, diameter_mm / cosine, seat_mm * cosine,
        f"falling {dip_deg:g} deg inwards, the weight itself holds {weight_N * sine:.1f} N of it in; the hub must be "
        f"set {dip_deg:g} deg the other way, a drill guide cut to the angle, and the point comes out "
        f"{seat_mm * sine:.1f} mm lower than its mouth: check meeting holes there")
