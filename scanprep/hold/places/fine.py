"""How fine a wire an object's weight asks for, before any is chosen: wire follows the weight."""

from __future__ import annotations

from scanprep.rules import HoldRules


def likely_wire_mm(mass_g: float, rules: HoldRules) -> float:
    """Return the wire that clearances are kept for before one is chosen, by the object's weight."""
    over = mass_g > rules.fine_masses_g[-1]
    return rules.likely_wire_mm if over else rules.fine_likely_mm[weight_class(mass_g, rules)]


def end_wire_mm(mass_g: float, rules: HoldRules) -> float:
    """Return the wire that an object's mount must be able to end in, by the object's weight."""
    return rules.claw_wire_mm if mass_g > rules.fine_masses_g[-1] else rules.fine_wires_mm[weight_class(mass_g, rules)]


def weight_class(mass_g: float, rules: HoldRules) -> int:
    """Return which of the rulebook's classes of light things a mass belongs to; the last one for all above."""
    return next((k for k, most in enumerate(rules.fine_masses_g) if mass_g <= most), len(rules.fine_masses_g) - 1)
