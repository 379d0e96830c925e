"""Which hold is best: a stated sum of stated parts, each 0..1, with weights from the rulebook.

    seen      how much of the object's surface the viewer sees, over the best of its attitudes
    natural   how natural the attitude is for this object; a straight view comes first where it has one
    sound     whether no gate wants a person's look
    margin    shake withstood, full at the margin that the search aims for
    hidden    how little the mount covers and shows beside
    depth     how close to the panel the object can stay
    force     how gently the tips press, against their limits
    tips      how few tips there are

Used by `find`.
"""

from __future__ import annotations

from scanprep.rules import HoldRules


def score_parts(*, seen: float, natural: float, sound: bool, margin_g: float, target_g: float, covered_share: float,
                beside_share: float, depth_mm: float, least_depth_mm: float, force_ratio: float, tips: int,
                rules: HoldRules) -> tuple[tuple[str, float], ...]:
    """Return the named parts of a hold's score, each already times its weight.

    seen         share of the surface seen over the largest among the object's attitudes, 0..1
    depth_mm     of this hold; least_depth_mm the least among the object's holds
    force_ratio  greatest tip force at rest over its limit
    """
    hidden = max(0.0, 1.0 - covered_share / rules.covered_share) * 0.5 + max(
        0.0, 1.0 - beside_share / rules.beside_share) * 0.5
    return (
        ("seen", rules.weight_seen * min(max(seen, 0.0), 1.0)),
        ("natural", rules.weight_natural * natural),
        ("sound", rules.weight_sound * sound),
        ("margin", rules.weight_margin * min(max(margin_g / target_g, 0.0), 1.0)),
        ("hidden", rules.weight_hidden * hidden),
        ("depth", rules.weight_depth * (least_depth_mm / depth_mm if depth_mm > 0 else 1.0)),
        ("force", rules.weight_force * max(0.0, 1.0 - force_ratio)),
        ("tips", rules.weight_tips * min(1.0, 3.0 / max(tips, 1))),
    )
