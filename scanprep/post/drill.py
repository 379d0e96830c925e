"""Which drill makes a hole for a rod, and how deep it goes.

Rods vary by +-0.04 mm and drilled holes by more, while a bare hand-snug fit in acrylic is a few micrometres wide: no
drill of the catalogue makes it for sure. So the first drill makes a hole loose on purpose, in which a line or a bowed
end takes up the play; its neighbours are named for trying in an offcut, and what the offcut showed decides from then
on. mm throughout. Used by `post.fit` and `post.plan`.
"""

from __future__ import annotations

import csv
import functools
import math
import re
from dataclasses import dataclass
from importlib import resources

from scanprep.errors import InputError
from scanprep.interval import Interval
from scanprep.post.records import Drill
from scanprep.rules.fits import FitRules
from scanprep.units import MM_PER

#: exact: drilled-hole limits by drill diameter, up to, over, under, in inches: AND10387 as printed on
#: engineersedge.com.
HOLE_LIMITS_IN = ((0.125, 0.004, 0.001), (0.250, 0.005, 0.001), (0.500, 0.006, 0.001))
HOLE_SOURCE = "AND10387 drilled-hole limits (engineersedge.com)"



@functools.cache
def catalogue() -> tuple[Drill, ...]:
    """Return the drill catalogue, thinnest first: inch fractions, numbers, letters and metric sizes."""
    text = resources.files("scanprep.tables").joinpath("drills.csv").read_text(encoding="utf-8")
    drills = [Drill("metric" if line["series"] == "metric-half" else line["series"], line["label"],
                    float(line["diameter_mm"]), line["standard"]) for line in csv.DictReader(text.splitlines())]
    return tuple(sorted(drills, key=lambda drill: (drill.diameter_mm, drill.series)))


def drill_name(drill: Drill) -> str:
    """Return a drill as a shop calls it: `4.7 mm`, `3/16 in`, `#12`, `F`."""
    return f"{drill.label}{ {'metric': ' mm', 'fraction': ' in'}.get(drill.series, '')}"


_FRACTION = re.compile(r"(\d+/\d+)(?:in|inch|inches|\")?")
_NUMBER = re.compile(r"(?:#|no\.?|nr\.?|number)(\d{1,2})")
_LETTER = re.compile(r"(?:letter)?([a-z])")
_SIZE = re.compile(r"(?:ø|⌀|dia\.?)?(\d*[.,]?\d+)(mm|in|inch|inches|\")?")
_SAME_mm = 5e-4  # tolerance: finer than any drill is ground, coarser than the rounding of a printed table


def parse_drill(text: str) -> Drill:
    """Return the drill that a person wrote, however it is spelled; one drill, one answer.

    `4.7`, `4.70 mm` and `4,7mm` are one drill; so are `#23`, `No. 23` and `0.154 in`; `3/16` and `3/16"`; `F` and
    `letter F`. A bare number is millimetres. Raises InputError where the catalogue has no such drill.

    >>> parse_drill("4.7") == parse_drill("4.7 mm")
    True
    >>> drill_name(parse_drill("No. 23")), drill_name(parse_drill("letter f"))
    ('#23', 'F')
    """
    plain = "".join(text.lower().replace("″", '"').split())
    for drill in _spelled(plain):
        return drill
    raise InputError(field="drill", value=repr(text), problem="is not in the drill catalogue",
                     remedy="Write a fraction such as 3/16, a number such as #12, a letter or millimetres such as 4.7")


def _spelled(plain: str) -> tuple[Drill, ...]:
    """The catalogue's drills that some text without spaces may mean, the best first."""
    if match := _FRACTION.fullmatch(plain):
        return tuple(drill for drill in catalogue() if drill.series == "fraction" and drill.label == match[1])
    if match := _NUMBER.fullmatch(plain):
        return tuple(drill for drill in catalogue() if drill.series == "number" and drill.label == f"#{int(match[1])}")
    if match := _LETTER.fullmatch(plain):
        return tuple(drill for drill in catalogue() if drill.series == "letter" and drill.label == match[1].upper())
    if match := _SIZE.fullmatch(plain):
        metric = match[2] in (None, "mm")
        size_mm = float(match[1].replace(",", ".")) * (1.0 if metric else MM_PER["in"])
        # inch decimals are printed to a tenth of a thousandth (a 64th: 0.0156), so half of that is the same drill
        near_mm = _SAME_mm if metric else 0.00005 * MM_PER["in"] + 1e-9
        return tuple(drill for drill in catalogue() if (drill.series == "metric") == metric
                     and abs(drill.diameter_mm - size_mm) <= near_mm)
    return ()


def same_drill(first: str, second: str) -> bool:
    """Return whether two drills, however spelled, make the same hole: `4.7` and `4.7 mm`, `1/4` and letter `E`.

    Raises InputError where the catalogue does not have one of them.
    """
    return abs(parse_drill(first).diameter_mm - parse_drill(second).diameter_mm) < _SAME_mm


@functools.cache
def hole_limits_mm(drill_mm: float) -> Interval:
    """Return the least, middle and greatest hole that a drill of the catalogue makes, in mm.

    Raises ValueError above 1/2 in, where the source stops. Source: AND10387.

    >>> hole_limits_mm(4.7)
    Interval(low=4.6746, best=4.7508, high=4.827)
    """
    for up_to_in, over_in, under_in in HOLE_LIMITS_IN:
        if drill_mm <= up_to_in * MM_PER["in"] + 1e-9:
            low, high = drill_mm - under_in * MM_PER["in"], drill_mm + over_in * MM_PER["in"]
            return Interval(round(low, 6), round((low + high) / 2, 6), round(high, 6))
    raise ValueError(f"no hole limits are known for a drill of {drill_mm} mm")


def point_length_mm(diameter_mm: float, point_angle_deg: float) -> float:
    """Return how far a drill's point reaches beyond the full diameter, (d/2) / tan(A/2).

    >>> round(point_length_mm(1.0, 118), 6)
    0.30043
    """
    if not 0 < point_angle_deg <= 180:
        raise ValueError(f"a drill point has an angle in (0, 180] degrees; got {point_angle_deg}")
    return diameter_mm / 2 / math.tan(math.radians(point_angle_deg / 2))


def hole_volume_mm3(diameter_mm: float, depth_mm: float, point_angle_deg: float) -> float:
    """Return the volume of a blind hole with its point."""
    return math.pi / 4 * diameter_mm**2 * (depth_mm + point_length_mm(diameter_mm, point_angle_deg) / 3)


def least_thickness_mm(thickness_mm: float, measured: bool) -> float:
    """Return the thinnest a cast sheet can be: measured, or nominal less 0.4 + 0.1 t (ISO 7823-1).

    >>> least_thickness_mm(30, measured=False)
    26.6
    """
    return thickness_mm if measured else thickness_mm - (0.4 + 0.1 * thickness_mm)


def greatest_thickness_mm(thickness_mm: float, measured: bool) -> float:
    """Return what a cast sheet may be at the most, by the same standard.

    >>> greatest_thickness_mm(30, measured=False)
    33.4
    """
    return 2 * thickness_mm - least_thickness_mm(thickness_mm, measured)


@dataclass(frozen=True, slots=True)
class DrillChoice:
    """A drill for a rod, and the neighbours to try in an offcut."""

    drill: Drill
    hole: Interval  # diameter it makes
    measured: bool  # from a test hole
    brackets: tuple[Drill, ...]  # thinnest first, the chosen one among them


def brackets(drill_mm: float, each_side: int, step_mm: float = 0.02) -> tuple[Drill, ...]:
    """Return the catalogue's neighbours of a drill, thinnest first, itself in the middle.

    step_mm  nearer sizes make the same hole for all that a hand can tell (#13 and 4.7 mm), so one of them is enough
    """
    middle = min(catalogue(), key=lambda drill: abs(drill.diameter_mm - drill_mm))
    thinner: list[Drill] = [middle]
    for drill in reversed(catalogue()):
        if drill.diameter_mm <= thinner[-1].diameter_mm - step_mm:
            thinner.append(drill)
    thicker: list[Drill] = [middle]
    for drill in catalogue():
        if drill.diameter_mm >= thicker[-1].diameter_mm + step_mm:
            thicker.append(drill)
    return (*reversed(thinner[1 : each_side + 1]), middle, *thicker[1 : each_side + 1])


def nearest_drill(rod_mm: float, wanted_interference_mm: float) -> Drill:
    """Return the drill whose usual hole comes nearest to a wanted interference with a rod."""
    usual = [(abs(rod_mm - hole_limits_mm(drill.diameter_mm).best - wanted_interference_mm), drill)
             for drill in catalogue() if drill.diameter_mm <= HOLE_LIMITS_IN[-1][0] * MM_PER["in"]]
    return min(usual, key=lambda pair: pair[0])[1]


def first_drill(rod_mm: float, rules: FitRules) -> Drill:
    """Return the drill to try first: its usual hole is loose on purpose, in the middle of the range for a line.

    >>> drill_name(first_drill(4.7625, FitRules()))
    '#11'
    """
    return nearest_drill(rod_mm, -(rules.loose_least_um + rules.loose_most_um) / 2000)
