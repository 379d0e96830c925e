"""What a metal, a solder or the sheet bears in the state it is in: hard, annealed by its joint, for years, wet.

Values are the least of what is sold for the size stocked, from the materials table and the rulebook, each with where
it comes from. MPa, mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.materials import metal
from scanprep.rules import LoadRules, PanelRules, PostRules


@dataclass(frozen=True, slots=True)
class MetalStates:
    """One alloy as stocked and as softened."""

    name: str
    hard_MPa: float  # least yield as stocked
    typical_MPa: float
    annealed_MPa: float
    fatigue_MPa: float  # swing of stress, either way, borne over and over
    source: str
    fatigue_source: str


@dataclass(frozen=True, slots=True)
class SolderStrength:
    """What a joint's solder bears, safety already taken off, and how far its heat softens the brass."""

    name: str
    moment_MPa: float
    years_MPa: float
    breaks_MPa: float  # for a moment, no safety taken off
    soft_zone_mm: float
    source: str


def metal_states(name: str, rules: LoadRules) -> MetalStates:
    """Return an alloy's strength by state. Raises InputError for a name that is not in the table."""
    found = metal(name)
    return MetalStates(found.name, found.yield_hard_MPa, found.yield_typical_MPa, found.yield_annealed_MPa,
                       rules.brass_fatigue_MPa, f"yield: {found.yield_source}",
                       "fatigue of brass, 1e8 cycles: from memory")


def solder_strength(post: PostRules, rules: LoadRules) -> SolderStrength:
    """Return the strength of the solder that the shop joins with: soft tin-silver, or silver solder that anneals."""
    if post.soft_zone_mm > 0:
        return SolderStrength("silver solder", rules.silver_solder_MPa / rules.solder_safety,
                              rules.silver_solder_MPa / rules.solder_safety, rules.silver_solder_MPa, post.soft_zone_mm,
                              "silver solder in shear: from memory; it does not creep at the temperature of a room")
    return SolderStrength("tin-silver", rules.tin_silver_MPa / rules.solder_safety, rules.tin_silver_years_MPa,
                          rules.tin_silver_MPa, 0.0,
                          "tin-silver in shear for a moment: Manko, Solders and Soldering, table 5-3, as quoted "
                          "(6000 psi), two thirds of it taken; for years: from memory")


@dataclass(frozen=True, slots=True)
class SheetStates:
    """Acrylic for a moment and for years, dry and damp."""

    moment_MPa: float  # stress beside a hole, short-term
    years_MPa: float  # continuous, by grade
    short_modulus_MPa: float
    long_modulus_MPa: float
    fatigue_MPa: float
    swell_per_RH: float  # strain by per cent of relative humidity, in years
    source: str


def sheet_states(panel: PanelRules, rules: LoadRules, grade: str, damp: bool) -> SheetStates:
    """Return what a sheet of a grade bears. A damp room takes a share off strength and stiffness."""
    wet = 1.0 - (rules.damp_loss_share if damp else 0.0)
    years = panel.continuous_stress_cell_cast_MPa if grade == "cell cast" else panel.continuous_stress_unknown_MPa
    return SheetStates(rules.acrylic_moment_MPa * wet, years * wet, panel.youngs_modulus_MPa,
                       panel.creep_modulus_MPa * wet, rules.acrylic_fatigue_MPa * wet,
                       rules.acrylic_swell_share / rules.acrylic_swell_humidity_percent,
                       "UFGS table 3-1 flexural minimum 97 MPa over 4; continuous 1500 psi cell cast, 750 psi unknown "
                       "(Cope Plastics); damp and fatigue from memory")
