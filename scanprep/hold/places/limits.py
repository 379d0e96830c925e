"""How hard a tip may press an object: by its material, wall and condition, never by its weight.

Bearing faces (the object's weight comes down on them) may press harder than retaining faces; `force_table` gives both
by family of material and class of wall. No pad presses harder than a pressure, and under shake the force may reach a
multiple of it all: rows of the rulebook. The conservator's number wins over all of them. All are assumed
until a conservator confirms them. Used by `spots` and `gates`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.brief import ObjectBrief
from scanprep.errors import InputError
from scanprep.materials import material_name
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey

RISING = HoldRules().bears_rise_cos  # a face bears when its inward normal rises at least so much

#: Materials of the density table that bear 5 N on a retaining tip where they are sound: metal and sound stone.
_HARD = frozenset({
    "silver 925", "silver fine", "gold 18k yellow", "gold 22k", "gold fine", "bronze", "brass (object)",
    "copper", "wrought iron", "cast iron", "pewter / tin", "lead", "zinc", "aluminium", "jade (nephrite-jadeite)",
    "rock crystal / agate", "marble", "limestone", "soapstone / steatite", "granite", "basalt", "slate", "sandstone",
})
#: Materials judged by their wall: fired clay, glass, and what grows.
_WALLED = frozenset({
    "earthenware / terracotta", "stoneware", "porcelain", "faience / frit body", "soda-lime glass", "lead glass",
    "ancient soda glass", "ivory", "bone", "antler", "horn", "tortoiseshell", "amber", "jet", "coral",
    "shell / mother of pearl", "alabaster (gypsum)", "plaster of Paris", "obsidian", "turquoise", "lapis lazuli",
    "oak", "birch", "maple", "ash", "pine", "spruce", "lime / linden", "walnut", "pear / fruitwood", "boxwood", "ebony",
    "lignum vitae", "bamboo", "lacquer on wood core", "rubber, hard", "early plastics (celluloid, casein, bakelite)",
})
_HARD_LOWER = frozenset(name.lower() for name in _HARD)
_WALLED_LOWER = frozenset(name.lower() for name in _WALLED)
_LAMED = ("flak", "gild", "repair", "crack", "loose", "fragile")


@dataclass(frozen=True, slots=True)
class TipLimits:
    """Greatest normal forces at rest."""

    retaining_N: float
    bearing_N: float
    pressure_MPa: float
    source: str
    measured: bool  # True when a conservator said so

    def face_N(self, rise: float, radius_mm: float) -> float:
        """The limit of a face whose inward normal rises by `rise` (n.up) and whose pad has a radius."""
        most = self.bearing_N if rise >= RISING else self.retaining_N
        return most if self.measured else min(most, self.pressure_MPa * math.pi * radius_mm**2)


def tip_limits(brief: ObjectBrief, survey: Survey, rules: HoldRules) -> TipLimits:
    """Return the force limits of one object's tips, with their source.

    wall: the thinnest wall known (stated or measured); a solid body counts as thick.
    """
    pressure = rules.bearing_pressure_MPa
    if brief.tip_limit_N is not None:
        return TipLimits(brief.tip_limit_N, brief.tip_limit_N, pressure, "the conservator's number", True)
    wall_mm = brief.wall_mm if brief.wall_mm is not None else survey.wall_mm
    family, wall = _family(brief.material), wall_class(wall_mm, rules)
    row = next(row for row in force_table(rules) if row.family == family and wall in row.walls)
    why = _why(family, brief.material, wall, wall_mm, rules)
    retaining = row.retaining_N
    if any(word in brief.condition.lower() for word in _LAMED):
        retaining = min(retaining, rules.retaining_lamed_N)
        why = f"condition {brief.condition!r}: nothing presses on it but its own weight"
    return TipLimits(retaining, row.bearing_N, pressure, f"assumed: {why}", False)


@dataclass(frozen=True, slots=True)
class ForceRow:
    """What a tip may press on a family of materials with walls of some classes."""

    family: str  # "hard", "walled", "unknown"
    walls: tuple[str, ...]  # of "unknown", "thin", "middle", "thick"
    retaining_N: float
    bearing_N: float


def force_table(rules: HoldRules) -> tuple[ForceRow, ...]:
    """Return the force limits by family of material and class of wall; every pair of them stands in one row."""
    full, careful = rules.bearing_limit_N, rules.bearing_limit_unknown_N
    return (
        ForceRow("unknown", ("unknown", "thin", "middle", "thick"), rules.retaining_unknown_N, careful),
        ForceRow("hard", ("unknown", "thick"), rules.retaining_thick_N, full),
        ForceRow("hard", ("middle",), rules.retaining_middle_N, full),
        ForceRow("hard", ("thin",), rules.retaining_thin_N, careful),
        ForceRow("walled", ("unknown",), rules.retaining_unknown_N, careful),
        ForceRow("walled", ("thick",), rules.retaining_thick_N, full),
        ForceRow("walled", ("middle",), rules.retaining_middle_N, full),
        ForceRow("walled", ("thin",), rules.retaining_thin_N, careful),
    )


def wall_class(wall_mm: float | None, rules: HoldRules) -> str:
    """Return which class a wall belongs to: thin, middle, thick, or unknown.

    >>> [wall_class(wall, HoldRules()) for wall in (1.9, 2.0, 4.0, 4.1, None)]
    ['thin', 'middle', 'middle', 'thick', 'unknown']
    """
    if wall_mm is None:
        return "unknown"
    return "thin" if wall_mm < rules.thin_wall_mm else "middle" if wall_mm <= rules.thick_wall_mm else "thick"


def _why(family: str, material: str | None, wall: str, wall_mm: float | None, rules: HoldRules) -> str:
    """The row's reason, as papers give it."""
    if family == "unknown":
        return "material unknown"
    if wall_mm is None:
        return f"{material}, wall unknown"
    if wall == "thick":
        return f"{material}, {wall_mm:.0f} mm thick"
    return f"wall {wall_mm:.1f} mm" + (f", under {rules.thin_wall_mm:g} mm" if wall == "thin" else "")


def _family(material: str | None) -> str:
    if material is None:
        return "unknown"
    try:
        name = material_name(material).lower()
    except InputError:
        return "unknown"
    if name in _HARD_LOWER:
        return "hard"
    return "walled" if name in _WALLED_LOWER else "unknown"
