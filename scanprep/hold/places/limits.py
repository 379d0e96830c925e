"""How hard a tip may press an object: by its material, wall and condition, never by its weight.

Bearing faces (the object's weight comes down on them) may press to 10 N, 5 N where material or wall is unknown;
retaining faces to 5, 2, 1 or 0 N. No pad presses harder than 0.5 MPa. Under shake the force may reach twice these.
The conservator's number wins over all of them. All defaults are assumed until a conservator confirms them.
Used by `spots` and `gates`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.brief import ObjectBrief
from scanprep.errors import InputError
from scanprep.materials import material_name
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey

SHAKE_FACTOR = 2.0  # assumed: what a tip may press for the moment of a shake, over what it may press for years
RISING = 0.5  # a face bears when its inward normal rises by 30 deg or more

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
    lamed = [word for word in _LAMED if word in brief.condition.lower()]
    family = _family(brief.material)
    wall_mm = brief.wall_mm if brief.wall_mm is not None else survey.wall_mm
    if family == "unknown":
        retaining, bearing, why = 1.0, rules.bearing_limit_unknown_N, "material unknown"
    elif wall_mm is None:
        retaining = 5.0 if family == "hard" else 1.0
        bearing = rules.bearing_limit_N if family == "hard" else rules.bearing_limit_unknown_N
        why = f"{brief.material}, wall unknown"
    elif wall_mm < 2.0:
        retaining, bearing, why = 1.0, rules.bearing_limit_unknown_N, f"wall {wall_mm:.1f} mm, under 2 mm"
    elif wall_mm <= 4.0:
        retaining, bearing, why = 2.0, rules.bearing_limit_N, f"wall {wall_mm:.1f} mm"
    else:
        retaining, bearing, why = 5.0, rules.bearing_limit_N, f"{brief.material}, {wall_mm:.0f} mm thick"
    if lamed:
        retaining, why = 0.0, f"condition {brief.condition!r}: nothing presses on it but its own weight"
    return TipLimits(retaining, bearing, pressure, f"assumed: {why}", False)


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
