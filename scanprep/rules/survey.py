"""Rows of the survey: what a balance and a second method may be off by, and what stands in where nothing is said."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import SHOP, rule


@dataclass(frozen=True, slots=True)
class SurveyRules:
    """Mass, centre and size."""

    second_volume_ratio: float = rule(0.01, "", "measured on known solids: 0.05 %", SHOP,
                                      "how far plumb lines and closed form may differ in volume")
    second_centre_share: float = rule(0.004, "of the diagonal", "measured on known solids: 0.01 %", SHOP,
                                      "how far plumb lines and closed form may differ in the centre")
    volume_doubt_ratio: float = rule(0.05, "", "assumed", SHOP,
                                     "doubt of the volume by capping and scale that a person should look at")
    size_ratio: float = rule(0.03, "", "trial: boxes of scans are 1-5 % too large", SHOP,
                             "how far a known size and the scan may differ")
    weighed_ratio: float = rule(1.10, "", "assumed", SHOP,
                                "weighed mass over the nearest end of volume times density that a person should look "
                                "at")
    slip_ratio: float = rule(3.0, "", "assumed: kg for lb is 2.2 and hides in hollow walls; oz for g is 28", SHOP,
                             "weighed mass so many times off volume times density is a slip of unit, digit or material")
    balance_ratio: float = rule(0.005, "", "common practice: a bench balance, level and tared; nobody states it", SHOP,
                                "error of a weighing, over the mass")
    balance_least_g: float = rule(0.1, "g", "common practice: its last digit", SHOP, "least error of a weighing")
    any_density_low_kg_m3: float = rule(500.0, "kg/m3", "assumed: wood", SHOP,
                                        "density of an unknown material, light end")
    any_density_kg_m3: float = rule(2200.0, "kg/m3", "assumed: fired clay or stone", SHOP,
                                    "density of an unknown material, likeliest")
    any_density_high_kg_m3: float = rule(8900.0, "kg/m3", "assumed: bronze", SHOP,
                                         "density of an unknown material, heavy end")
    least_wall_mm: float = rule(2.0, "mm", "assumed", SHOP, "thinnest wall of a hollow thing whose inside nobody saw")
    wall_doubt_ratio: float = rule(0.15, "", "assumed: handmade", SHOP, "how far a wall strays from what is stated")
    mass_wide_ratio: float = rule(1.5, "", "assumed: what a post for the heavy end would show", SHOP,
                                  "heaviest over lightest that an object may be, above which it is to be weighed")
    open_skin_share: float = rule(0.005, "of the plumb lines", "trial: closed scans stay below", SHOP,
                                  "plumb lines that find an open skin, above which a scan is looked at")
    uneven_ratio: float = rule(
        0.6, "", "assumed: thick feet, thin rims; a blown bottle weighed in closed form needs 0.6", SHOP,
        "by how much a shell's wall is thicker at one end than in the middle, and thinner at the other")
