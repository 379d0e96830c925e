"""Which hold is best: a stated sum of stated parts, each 0..1, with weights from the rulebook.

    seen      how much of the object's surface the viewer sees, over the best of its attitudes
    natural   how natural the attitude is for this object; a straight view comes first where it has one
    sound     whether no gate wants a person's look
    margin    shake withstood in the contact solve, full at the margin that the search aims for
    hidden    how little the mount covers and shows beside
    depth     how close to the panel the object can stay
    force     how gently the tips press, against their limits
    tips      how few tips there are

Within one attitude several whole mounts are compared by parts of their own (`mount_merits`), and the record says in a
sentence why the first is preferred to the next. Used by `find` and `tries`.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.findings import Verdict
from scanprep.hold.making.mount import Draft
from scanprep.rules import HoldRules

Merits = tuple[tuple[str, float], ...]
#: What a part of a mount's merit is called where it decides.
_BETTER = {
    "suits": "that way of mounting suits the object better",
    "margin": "it withstands a stronger shake",
    "hidden": "less of it shows",
    "line": "less of it runs in a line across the front",
    "alike": "its left and right are alike",
    "sturdy": "it touches sturdier places",
    "plain": "it touches plainer ground",
    "spread": "it holds the object further apart, on both sides of its balance point",
    "simple": "it has fewer wires",
    "wire": "it needs no wire thicker than hands bend",
    "sound": "nothing about it wants a second look",
}
_DECIDES = HoldRules().merit_named


def score_parts(*, seen: float, natural: float, sound: bool, shake_g: float, target_g: float, covered_share: float,
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
        ("margin", rules.weight_margin * min(max(shake_g / target_g, 0.0), 1.0)),
        ("hidden", rules.weight_hidden * hidden),
        ("depth", rules.weight_depth * (least_depth_mm / depth_mm if depth_mm > 0 else 1.0)),
        ("force", rules.weight_force * max(0.0, 1.0 - force_ratio)),
        ("tips", rules.weight_tips * min(1.0, 3.0 / max(tips, 1))),
    )


def in_order(natural: float, score: float) -> tuple[bool, float]:
    """Return the key by which holds are ordered, the best first.

    What the viewer sees is decided before how it is held: a straight view (natural 1) comes first wherever it has one.
    """
    return natural < 1.0, -round(score, 6)


def mount_merits(mount: Draft, symmetric: bool, rules: HoldRules) -> Merits:
    """Return the named parts of a drawn mount's merit within its attitude, each already times its weight.

    symmetric  the object's left and right are mirror images in this attitude
    """
    tipset, seen = mount.tipset, mount.meshes_seen
    family = tipset.family
    sturdy = 1.0 if family is None else min(max(family.sturdy_ratio, 0.0), 1.0)
    plain = 1.0 if family is None else 1.0 - family.painted_ratio
    spread = 1.0 if family is None else family.spread_ratio
    lopsided = 0.0 if family is None else min(family.alike_ratio / rules.alike_ratio, 1.0)
    beside = seen.beside + rules.through_times * seen.through
    shown = 0.5 * seen.covered / rules.covered_share + 0.5 * beside / rules.beside_share
    looks = sum(check.verdict in (Verdict.LOOK, Verdict.STOP) for check in (*mount.checks, *tipset.checks))
    thickest = max((arm.wire_mm for arm in mount.arms if not arm.wide_mm), default=0.0)
    return (
        ("suits", rules.merit_suits * (0.0 if family is None else family.suits)),
        ("margin", rules.merit_margin * min((tipset.shake_g or 0.0) / (2 * rules.target_margin_g), 1.0)),
        ("hidden", rules.merit_hidden * max(1.0 - shown, 0.0)),
        ("line", rules.merit_line * max(1.0 - seen.line, 0.0)),
        ("alike", (rules.merit_alike if symmetric else 0.3 * rules.merit_alike) * (1.0 - lopsided)),
        ("sturdy", rules.merit_sturdy * sturdy),
        ("plain", rules.merit_plain * plain),
        ("spread", rules.merit_spread * spread),
        ("simple", rules.merit_simple * min(1.0, 3.0 / len(mount.arms))),
        ("wire", rules.merit_wire * (thickest <= rules.wire_thickest_mm)),
        ("sound", rules.merit_sound * max(0.0, 1.0 - 0.5 * looks)),
    )


def better_because(merits: Sequence[Merits], names: Sequence[str]) -> str:
    """Return why the first of several mounts, best first, is preferred to the next, as a sentence.

    names  the families they come from, "" for the free search
    """
    if len(merits) < 2:
        return "The only mount of this attitude that could be drawn."
    gains = sorted(((value - dict(merits[1])[name], name) for name, value in merits[0]), reverse=True)
    told = [_BETTER[name] for gain, name in gains if gain >= _DECIDES][:2]
    other = names[1] or "tips found by search"
    if not told:
        return f"As good as the next, {other}; the first proposed is kept."
    return f"Preferred to the next, {other}: {' and '.join(told)}."
