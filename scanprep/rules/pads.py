"""Rows of the pads that cover a tip, and the pads themselves as values."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.errors import InputError
from scanprep.rules.row import CONSERVATOR, rule

_ORDER = "order of magnitude, from memory"


@dataclass(frozen=True, slots=True)
class PadRules:
    """Pads: friction for design (the low end), thickness, and stiffness across the thickness."""

    lacquered_wire_friction: float = rule(0.10, "", "assumed", CONSERVATOR, "friction of lacquered wire")
    lacquered_wire_thickness_mm: float = rule(0.05, "mm", "assumed", CONSERVATOR, "thickness of a coat of lacquer")
    lacquered_wire_modulus_MPa: float = rule(1000.0, "MPa", _ORDER, CONSERVATOR, "stiffness of lacquer", book_only=True)
    shrink_tube_friction: float = rule(0.15, "", "assumed: on glaze or polished metal", CONSERVATOR,
                                       "friction of shrink tube")
    shrink_tube_thickness_mm: float = rule(0.5, "mm", "assumed", CONSERVATOR, "thickness of shrink tube")
    shrink_tube_modulus_MPa: float = rule(100.0, "MPa", _ORDER, CONSERVATOR, "stiffness of shrink tube", book_only=True)
    felt_friction: float = rule(0.15, "",
                                "materials table: felt (polyester or wool) on ceramic, glass, metal, static_friction, "
                                "low", CONSERVATOR, "friction of felt")
    felt_thickness_mm: float = rule(1.0, "mm", "assumed", CONSERVATOR, "thickness of felt")
    felt_modulus_MPa: float = rule(2.0, "MPa", _ORDER, CONSERVATOR, "stiffness of felt", book_only=True)
    suede_friction: float = rule(0.25, "",
                                 "materials table: synthetic suede on ceramic, glass, metal, static_friction, low",
                                 CONSERVATOR, "friction of suede")
    suede_thickness_mm: float = rule(0.8, "mm", "assumed", CONSERVATOR, "thickness of suede")
    suede_modulus_MPa: float = rule(5.0, "MPa", _ORDER, CONSERVATOR, "stiffness of suede", book_only=True)
    unknown_friction: float = rule(0.15, "", "assumed until the conservator names the pad", CONSERVATOR,
                                   "friction of a pad that nobody named, on glaze")
    unknown_thickness_mm: float = rule(0.8, "mm", "assumed: shrink tube or suede on wire", CONSERVATOR,
                                       "thickness of a pad that nobody named")
    unknown_modulus_MPa: float = rule(2.0, "MPa", "as felt, the softest", CONSERVATOR,
                                      "stiffness of a pad that nobody named", book_only=True)
    sleeve_wire_share: float = rule(0.58, "of the wire's diameter", "geometry: less, and a wire bent to 1.5 of its "
                                    "diameter touches a sharp edge that it turns round", CONSERVATOR,
                                    "thickness of a pad that nobody named, on the wire that a thing's ends are bent of")
    sleeve_share: float = rule(0.02, "of the middle extent", "assumed: a sleeve on a small thing, suede from 40 mm on",
                               CONSERVATOR, "the same, on what is no light thing, where that is more")


@dataclass(frozen=True, slots=True)
class Pad:
    """What covers a tip."""

    name: str
    friction: float  # for design, the low end
    thickness_mm: float
    modulus_MPa: float  # pressed a little, across its thickness


def pads(rules: PadRules) -> tuple[Pad, ...]:
    """Return the pads that a tip may have; `unknown` stands for one that nobody named."""
    return (
        Pad("lacquered wire", rules.lacquered_wire_friction, rules.lacquered_wire_thickness_mm,
            rules.lacquered_wire_modulus_MPa),
        Pad("shrink tube", rules.shrink_tube_friction, rules.shrink_tube_thickness_mm, rules.shrink_tube_modulus_MPa),
        Pad("felt", rules.felt_friction, rules.felt_thickness_mm, rules.felt_modulus_MPa),
        Pad("suede", rules.suede_friction, rules.suede_thickness_mm, rules.suede_modulus_MPa),
        Pad("unknown", rules.unknown_friction, rules.unknown_thickness_mm, rules.unknown_modulus_MPa),
    )


def find_pad(name: str | None, rules: PadRules) -> Pad:
    """Return a pad by name; None gives "unknown". Raises InputError listing the pads."""
    known = pads(rules)
    for pad in known:
        if pad.name == (name or "unknown"):
            return pad
    raise InputError(field="pad", value=repr(name), problem="is not a pad we know",
                     remedy=f"Write one of: {', '.join(pad.name for pad in known)}")
