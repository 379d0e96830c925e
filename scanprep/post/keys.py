"""What keeps a post from turning or sliding out when the fit alone does not: a flat, a second pin, a spot of adhesive.

A hand-snug post holds by friction, and friction in acrylic fades with years, warmth and wax. A key carries the whole
demand by itself; the fit counts for nothing. All three can be undone. A filed flat does not lock by its shape (rod and
shim together are round again): it makes room for a springy strip, so that a loose post becomes snug without drilling to
a micrometre. N, mm, MPa. Used by `post.judge` and the papers.

    flat with strip       second pin            spot of adhesive
      ___                     o                    ~~~~
     /___\\ <- strip         ( O )                |====|
     |   |                 shares the turn        sheared round the seat
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.cautions import NO_SOLVENT
from scanprep.rules import PostRules


@dataclass(frozen=True, slots=True)
class Key:
    """One way to lock a post, sized for a demand."""

    kind: str  # "flat and strip", "second pin", "adhesive spot"
    size_mm: float  # depth of the flat; centre distance of the pins; length of the spot
    length_mm: float  # of seat that it needs
    stress_MPa: float  # in the acrylic beside it
    short: str  # "a second pin 14 mm away"
    sentence: str


def flat_depth_mm(diameter_mm: float, flat_share: float) -> float:
    """Return how deep a flat is filed for its width to be a share of d; at 0.6 d: r (1 - sqrt(1 - 0.36)) = d/10."""
    return diameter_mm / 2 * (1 - math.sqrt(1 - flat_share**2))


def flat_and_strip(torque_Nmm: float, pull_N: float, diameter_mm: float, seat_mm: float, rules: PostRules) -> Key:
    """Return the flat and the strip's squeeze: friction on both sides, T = mu N d and F = 2 mu N.

    Friction at its low end, since years and wax lower it.
    """
    squeeze_N = math.hypot(torque_Nmm / diameter_mm, pull_N / 2) / rules.seat_friction_low
    depth = flat_depth_mm(diameter_mm, rules.flat_share)
    return Key("flat and strip", depth, seat_mm, squeeze_N / (rules.flat_share * diameter_mm * seat_mm),
               f"a flat of {depth:.1f} mm with a springy strip",
               f"file a flat {depth:.1f} mm deep along the seat for a springy strip that presses with {squeeze_N:.0f} "
               f"N; still friction: twist it in an offcut, it must hold {torque_Nmm:.0f} N mm")


def second_pin(torque_Nmm: float, diameter_mm: float, seat_mm: float, spacing_mm: float) -> Key:
    """Return a second pin of half the diameter at a distance, the turn carried as a couple of side forces."""
    force = torque_Nmm / spacing_mm
    pressure = force / (diameter_mm / 2 * seat_mm)
    return Key("second pin", spacing_mm, seat_mm, pressure, f"a second pin {spacing_mm:.0f} mm away",
               f"solder a second pin of {diameter_mm / 2:.1f} mm {spacing_mm:.0f} mm from the post: each is pushed "
               f"sideways with {force:.1f} N; it costs a second hole")


def adhesive_spot(torque_Nmm: float, pull_N: float, diameter_mm: float, shear_MPa: float) -> Key:
    """Return how long a reversible spot must be for torque and pull together, sheared round the post."""
    per_mm = math.pi * diameter_mm * shear_MPa
    length = math.hypot(torque_Nmm / (per_mm * diameter_mm / 2), pull_N / per_mm)
    return Key("adhesive spot", length, length, shear_MPa,
               f"a reversible adhesive spot {length:.0f} mm long that the conservator allows",
               f"a reversible spot {length:.0f} mm long round the post at {shear_MPa:g} MPa (assumed); resin and "
               f"solvent only as the conservator allows: else {NO_SOLVENT}, they craze stressed acrylic")


def keys_for(torque_Nmm: float, pull_N: float, diameter_mm: float, seat_mm: float, rules: PostRules) -> tuple[Key, ...]:
    """Return the three keys sized for a torque and a pull (with their safety already in them)."""
    return (flat_and_strip(torque_Nmm, pull_N, diameter_mm, seat_mm, rules),
            second_pin(torque_Nmm, diameter_mm, seat_mm, rules.second_pin_diameters * diameter_mm),
            adhesive_spot(torque_Nmm, pull_N, diameter_mm, rules.spot_shear_MPa))
