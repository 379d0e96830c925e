"""Rows of the sheet: its material, and what a standing panel may do."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import ENGINEER, SHOP, rule

_SHEET = "materials table: cast acrylic sheet (PMMA)"


@dataclass(frozen=True, slots=True)
class PanelRules:
    """The sheet."""

    density_kg_m3: float = rule(1190.0, "kg/m3", f"{_SHEET}, density, typical", ENGINEER, "density of the sheet")
    youngs_modulus_MPa: float = rule(3000.0, "MPa", f"{_SHEET}, youngs_modulus, typical", ENGINEER,
                                     "stiffness of the sheet, short term")
    creep_modulus_MPa: float = rule(1500.0, "MPa", f"{_SHEET}, creep_modulus_long_term, typical", ENGINEER,
                                    "stiffness of the sheet after years")
    poisson: float = rule(0.37, "", f"{_SHEET}, poisson, typical", ENGINEER, "Poisson's ratio of the sheet")
    alpha_per_K: float = rule(70e-6, "1/K", f"{_SHEET}, thermal_expansion, typical", ENGINEER,
                              "thermal expansion of the sheet")
    continuous_stress_cell_cast_MPa: float = rule(10.3, "MPa", f"{_SHEET}, long_term_design_stress, high", ENGINEER,
                                                  "tension that cell-cast acrylic bears for years without crazing")
    continuous_stress_unknown_MPa: float = rule(5.2, "MPa", f"{_SHEET}, long_term_design_stress, low", ENGINEER,
                                                "tension that acrylic of unknown grade bears for years without crazing")
    push_N: float = rule(100.0, "N", "assumed", ENGINEER, "push of a visitor on a panel")
    push_height_mm: float = rule(1200.0, "mm", "assumed", ENGINEER, "height above the floor at which a visitor pushes")
    least_frequency_Hz: float = rule(3.0, "Hz", "assumed", ENGINEER, "lowest frequency of a panel")
    lean_share: float = rule(1 / 300, "of the height", "assumed: what an eye sees next to a plumb edge", SHOP,
                             "sideways lean of a panel after years")
    twist_deg: float = rule(0.5, "deg", "assumed: what an eye sees", SHOP, "twist of a panel by weights off its middle")
    push_move_mm: float = rule(25.0, "mm", "assumed: more alarms a visitor", ENGINEER,
                               "how far a pushed panel may move")
    buckling_safety: float = rule(4.0, "", "assumed", ENGINEER,
                                  "times today's weight until a panel falls over by itself, creep modulus")
    hole_spacing_diameters: float = rule(3.0, "d", "common practice", ENGINEER,
                                         "centre to centre of two holes of one face")
    hole_edge_diameters: float = rule(2.0, "d", "common practice", ENGINEER, "hole's centre to the sheet's edge")
    woken_Hz: float = rule(15.0, "Hz",
                           "AISC Design Guide 11, from memory: 2.4 Hz and four harmonics reach 12 Hz, with a little "
                           "room", ENGINEER, "a panel's frequency above which neither steps nor doors move it")
