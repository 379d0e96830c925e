"""What a mountmaker bends away before the object hangs, and what is left after it: doubt of the pre-set, and years.

Droop and slope under the weight are no reason for a thick post: the mount is bent up by as much. What cannot be bent
away is the doubt of that figure (how stiff the hole, how soft the pads), and what acrylic and pads still give in the
years after. Mouth frame; N, mm, degrees.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.post.compliance import Contribution, Member, weight_parts
from scanprep.post.loads import Carried
from scanprep.post.records import Preset


@dataclass(frozen=True, slots=True)
class Sunk:
    """How far the object's centre sinks, nods forward and rolls under the weight."""

    droop_mm: float
    nod_deg: float
    roll_deg: float

    def less(self, other: Sunk) -> Sunk:
        """Return this without another."""
        return Sunk(self.droop_mm - other.droop_mm, self.nod_deg - other.nod_deg, self.roll_deg - other.roll_deg)

    def plus(self, other: Sunk, share: float) -> Sunk:
        """Return this with a share of another added."""
        return Sunk(self.droop_mm + share * other.droop_mm, self.nod_deg + share * other.nod_deg,
                    self.roll_deg + share * other.roll_deg)


def total(parts: Sequence[Contribution]) -> Sunk:
    """Return what the members add up to."""
    return Sunk(sum(part.droop_mm for part in parts), sum(part.nod_deg for part in parts),
                sum(part.roll_deg for part in parts))


@dataclass(frozen=True, slots=True)
class Trim:
    """What to bend before hanging, and what is left."""

    least: Sunk  # stiffest hole, pads as hard as they may be
    most: Sunk  # softest hole, softest pads, on the day it is hung
    creep: Sunk  # what years add after that, pads included
    pads: Sunk  # the pads' share of it

    @property
    def preset(self) -> Sunk:
        """What to bend the mount up by: the middle of what it may be."""
        return self.least.plus(self.most.less(self.least), 0.5)

    @property
    def left(self) -> Sunk:
        """How far off the pre-set may be, either way."""
        half = self.most.less(self.least)
        return Sunk(abs(half.droop_mm) / 2, abs(half.nod_deg) / 2, abs(half.roll_deg) / 2)

    @property
    def record(self) -> Preset:
        """The same as a record for sheet and page."""
        up, left = self.preset, self.left
        return Preset(up.droop_mm, up.nod_deg, up.roll_deg, left.droop_mm, left.nod_deg, self.creep.droop_mm,
                      self.creep.nod_deg)


def trim_of(carried: Carried, now: Member, later: Member, stiff_bed_MPa: float, pad_creep_share: float) -> Trim:
    """Return what to bend away under the weight, and what is left.

    now, later       the rod in its soft bed, fresh and after years
    stiff_bed_MPa    the bed at its stiff end
    pad_creep_share  of what pads give at once, how much more they give in years
    """
    hard = replace(carried, arms=carried.wires)
    stiffest = carried if carried.pads_named else hard
    least = total(weight_parts(stiffest, replace(now, bed_MPa=stiff_bed_MPa)))
    most = total(weight_parts(carried, now))
    pads = most.less(total(weight_parts(hard, now)))
    hole = total(weight_parts(carried, later)).less(most)
    setting = Sunk(0.0, 0.0, 0.0).plus(pads, pad_creep_share)
    return Trim(least, most, hole.plus(setting, 1.0), setting)


def vent_flat_modulus_ratio(diameter_mm: float, flat_mm: float) -> tuple[float, float]:
    """Return how much of its section modulus a round rod keeps with a flat along it: across the flat, and along it.

    The first is with the flat at the top or bottom, where the weight bends most; the second with the flat at the side.
    Segment of a circle removed: area and second moments from any table of sections (worked here), about the centroid.

    >>> across, beside = vent_flat_modulus_ratio(4.7625, 0.3)
    >>> round(across, 3), round(beside, 3)
    (0.931, 0.995)
    """
    if not 0 <= flat_mm < diameter_mm / 2:
        raise ValueError(f"a vent flat is less than half the rod deep; got {flat_mm} mm of {diameter_mm} mm")
    r = diameter_mm / 2
    if flat_mm == 0:
        return 1.0, 1.0
    half = np.arccos((r - flat_mm) / r)  # half the angle that the flat is seen under
    s, c = np.sin(half), np.cos(half)
    cut = r**2 * (half - s * c)
    middle = 2 * r**3 * s**3 / (3 * cut)  # centroid of the segment from the rod's axis
    about_flat = r**4 / 4 * (half - s * c + 2 * s**3 * c)  # second moment about the axis parallel to the flat
    beside = r**4 / 12 * (3 * half - 3 * s * c - 2 * s**3 * c)  # about the axis through the flat's middle
    area = np.pi * r**2 - cut
    shift = cut * middle / area
    across_I = np.pi * r**4 / 4 - about_flat - area * shift**2
    whole = np.pi * r**3 / 4
    return float(across_I / max(r - shift, r - flat_mm + shift) / whole), float((np.pi * r**4 / 4 - beside) / r / whole)
