"""Rows of a whole case: room between things, heights, lists, and what a first arrangement weighs."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import SHOP, rule

_GUIDELINES = "Glasgow Museums Display Guidelines: cased displays"


@dataclass(frozen=True, slots=True)
class CaseRules:
    """Arrangement and checks between objects."""

    object_gap_mm: float = rule(15.0, "mm", "assumed: fingers of one hand", SHOP,
                                "clearance between two objects, in space")
    outline_gap_mm: float = rule(10.0, "mm", "assumed", SHOP, "clearance between two objects' outlines on a face")
    edge_gap_mm: float = rule(20.0, "mm", "assumed", SHOP, "outline of an object to the panel's edge")
    hand_room_mm: float = rule(60.0, "mm", "assumed", SHOP, "room that a hand needs to hang an object")
    hand_depth_mm: float = rule(150.0, "mm", "assumed", SHOP, "how far a hand reaches in from the front")
    withdraw_clear_mm: float = rule(3.0, "mm", "assumed", SHOP, "clearance round an object on its way in or out")
    saw_kerf_mm: float = rule(1.0, "mm", "assumed", SHOP, "what a saw cut takes off a rod")
    bar_length_mm: float = rule(914.4, "mm", "36 in rod: common stock, from memory", SHOP,
                                "length that rod is bought in")
    comfortable_low_mm: float = rule(750.0, "mm", _GUIDELINES, SHOP, "lowest height that is seen in comfort")
    comfortable_high_mm: float = rule(2000.0, "mm", _GUIDELINES, SHOP, "greatest height that is seen in comfort")
    fine_detail_high_mm: float = rule(1015.0, "mm", _GUIDELINES, SHOP,
                                      "greatest height at which fine detail is seen from a chair")
    reach_mm: float = rule(1900.0, "mm", "assumed", SHOP, "height that a standing installer reaches")
    weight_band: float = rule(3.0, "", "assumed", SHOP, "arrangement: objects outside the heights seen in comfort")
    weight_groups: float = rule(2.0, "", "assumed", SHOP, "arrangement: groups torn apart")
    weight_heavy_low: float = rule(1.0, "", "assumed", SHOP, "arrangement: heavy objects high up")
    weight_even_gaps: float = rule(1.0, "", "assumed", SHOP, "arrangement: uneven gaps")
    weight_order: float = rule(1.0, "", "assumed", SHOP, "arrangement: objects out of the checklist's order")
    weight_balance: float = rule(1.0, "", "assumed", SHOP, "arrangement: a lopsided face")
