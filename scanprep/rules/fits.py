"""How a post is held in its hole: windows, what coupons must show, classes of object, proof.

Rows marked as estimated give way to the shop's own coupons.
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import ENGINEER, SHOP, rule

_OURS = "calculated from estimates: docs/why/posts.md"
_EST = "estimated: docs/why/posts.md"


@dataclass(frozen=True, slots=True)
class FitRules:
    """Retention, coupons and proof."""

    loose_least_um: float = rule(60.0, "um", _OURS, SHOP, "least clearance a hole is drilled with on purpose")
    loose_most_um: float = rule(200.0, "um", _OURS, SHOP, "most clearance a hole is drilled with on purpose")
    line_over_um: float = rule(45.0, "um", _OURS, SHOP, "how much thicker than the clearance a nylon line should be")
    line_over_least_um: float = rule(25.0, "um", _OURS, SHOP, "least by which a line is thicker than the clearance")
    line_over_most_um: float = rule(75.0, "um", _OURS, SHOP, "most by which a line is thicker than the clearance")
    line_clearance_least_um: float = rule(35.0, "um", _OURS, SHOP, "clearance below which no line fits in")
    line_clearance_most_um: float = rule(330.0, "um", _OURS, SHOP, "clearance above which a hole is drilled anew")
    line_doubt_um: float = rule(5.0, "um", "assumed: read with a micrometer", SHOP, "doubt of a line's thickness")
    bare_clearance_um: float = rule(25.0, "um", _EST, SHOP, "clearance at which a rough bore still touches a bare rod")
    window_spreads: float = rule(4.0, "standard deviations", "assumed: 95 of 100 gaps inside", SHOP,
                                 "how wide the window of a way of holding has to be")
    hole_spread_um: float = rule(10.0, "um", _EST, SHOP, "standard deviation of holes of one drill until measured")
    rod_spread_um: float = rule(5.0, "um", _EST, SHOP, "standard deviation of diameter along one rod")
    table_friction: float = rule(0.3, "",
                                 "materials table: cast acrylic sheet (PMMA), friction_vs_brass_press_fit, typical",
                                 SHOP,
                                 "friction that the table of retentions was worked out with")
    held_play_um: float = rule(20.0, "um", _OURS, SHOP, "play left to a post on its line, bow or slit end")
    pull_share: float = rule(0.7, "of the push", _EST, SHOP, "pull that goes with a push where none was measured")
    push_least_N: float = rule(20.0, "N", _EST, SHOP, "push below which a post rattles")
    light_g: float = rule(100.0, "g", "assumed", SHOP, "mass below which an object is light for its post's hold")
    medium_g: float = rule(500.0, "g", "assumed", SHOP, "mass from which an object is heavy: friction is not counted")
    light_push_low_N: float = rule(30.0, "N", _EST, SHOP, "least push-in of a light object's post")
    light_push_high_N: float = rule(60.0, "N", "common practice: hand-snug", SHOP,
                                    "most push-in of a light object's post")
    medium_push_low_N: float = rule(40.0, "N", _EST, SHOP, "least push-in of a medium object's post")
    medium_push_high_N: float = rule(100.0, "N", "common practice: what a hand pushes", SHOP,
                                     "most push-in of a medium object's post")
    light_pull_N: float = rule(30.0, "N", "a line leaves 12 N after ten years, more than a touch", ENGINEER,
                               "pull that coupons for light objects must show")
    medium_pull_N: float = rule(40.0, "N", "a line leaves 16 N after ten years", ENGINEER,
                                "pull that coupons for medium objects must show")
    light_twist_Nmm: float = rule(30.0, "N mm", _EST, ENGINEER, "twist that coupons for light objects must show")
    medium_twist_Nmm: float = rule(80.0, "N mm", _EST, ENGINEER, "twist that coupons for medium objects must show")
    coupons: int = rule(5, "coupons", "one-sided tolerance factor 2.74", ENGINEER,
                        "coupons of one recipe for a verdict")
    coupons_heavy: int = rule(10, "coupons", "one-sided tolerance factor 2.57", ENGINEER,
                              "coupons of one recipe for a heavy object")
    content: float = rule(0.90, "of all fits", "assumed", ENGINEER, "share of further fits that must hold the limit")
    content_heavy: float = rule(0.95, "of all fits", "assumed", ENGINEER, "the same share for a heavy object")
    confidence: float = rule(0.90, "", "assumed", ENGINEER, "confidence of what coupons show")
    own_readings: int = rule(10, "readings", "one-sided chi-square factor 1.47 at 9 degrees of freedom", SHOP,
                             "readings from which the shop's own spread takes the place of the assumed one")
    warm_celsius: float = rule(35.0, "degrees Celsius", "assumed", SHOP,
                              "temperature from which a coupon counts as tried warm")
    proof_pull_least_N: float = rule(10.0, "N", "a touch", ENGINEER, "least proof pull of an installed post")
    proof_pull_weights: float = rule(1.5, "of the weight", "assumed", ENGINEER, "proof pull of an installed post")
    proof_heavy_weights: float = rule(5.0, "of the weight", "assumed", ENGINEER,
                                      "proof pull of a heavy object's post, besides the least one")
    proof_twist_times: float = rule(1.5, "of the standing twist", "assumed", ENGINEER,
                                    "proof twist of an installed post")
    pin_twist_Nmm: float = rule(700.0, "N mm", _OURS, ENGINEER, "turn that a second pin of 2 mm, 12 mm away, carries")
    bolt_twist_Nmm: float = rule(225.0, "N mm", _OURS, ENGINEER, "turn that an M3 through-bolt carries when fresh")
    bolt_pull_N: float = rule(150.0, "N", _OURS, ENGINEER, "pull that an M3 through-bolt is set to")
    bolt_left: float = rule(0.4, "of the pull", _OURS, ENGINEER, "share of a bolt's pull left after ten years")
