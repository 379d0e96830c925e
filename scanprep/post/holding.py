"""Whether what holds a post in the sheet is enough for its object: four checks and the proof of the installed post.

All from one `SeatFit`, so that the plan cannot say otherwise than the coupons. A hand on the object may turn the post,
which is then set again by its clock mark, but never draw it out: ten years later, at room temperature, it still bears
the touch. Weight and shaking are asked of it warm. A heavy object's friction is not counted: a post that slips in
turning loses its axial grip, so a key has to hold. N, N mm, mm. Used by `post.judge`, the record and the papers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.findings import Check, Verdict, at_least
from scanprep.post.fit import SeatFit
from scanprep.post.retention import Demand, KeyKind, propose_retention, retention_rule, twist_asked_Nmm
from scanprep.rules import Rulebook

SOURCE = "coupons, or tables of estimates"  # docs/why/posts.md


def drill_fit(fit: SeatFit) -> Check:
    """What the hole does with this rod and what closes it: the verdict of the fit alone."""
    gap_um = [-x * 1000 for x in (fit.interference.high, fit.interference.low)]
    note = f"hole {gap_um[0]:+.0f} to {gap_um[1]:+.0f} um over the rod; {fit.says}"
    return Check("drill-fit", fit.interference.best, fit.craze_mm, "mm", None, "rod and test hole; coupons; AND10387",
                 fit.verdict, f"{note}; {fit.remedy[0].lower()}{fit.remedy[1:]}" if fit.remedy else note)


def push_window_N(demand: Demand, rules: Rulebook) -> tuple[float, float]:
    """Return how hard a post of an object's class should be to push in."""
    fit, post = rules.fit, rules.post
    return {"light": (fit.light_push_low_N, fit.light_push_high_N),
            "medium": (fit.medium_push_low_N, fit.medium_push_high_N)}.get(
                demand.size(rules), (fit.push_least_N, post.push_in_stop_N))


def push_in(fit: SeatFit, demand: Demand, rules: Rulebook) -> Check:
    """How hard the post is to push in: by the scale where coupons were pushed."""
    low_N, high_N = push_window_N(demand, rules)
    push = "push on hub or post, never on arms"
    if not fit.measured:
        return Check("seat-push-in", fit.planned.pull_out_N, high_N, "N", None, "hand-snug: common practice",
                     Verdict.UNMEASURED, f"{push}; measure rod and test hole")
    if fit.push is None:
        tight = fit.interference.best > 0 and fit.verdict is Verdict.STOP
        return Check("seat-push-in", fit.fresh.pull_out_N, high_N, "N", None, "Lamé, smooth bore",
                     Verdict.STOP if tight else Verdict.UNMEASURED,
                     f"of a smooth bore at its tight end, at most; only a push on a scale says; {push}")
    stop_N, value = rules.post.push_in_stop_N, fit.push.high
    pushed = fit.recipe.push(rules) if fit.recipe is not None else None
    verdict = Verdict.OK if fit.forces_measured else Verdict.UNMEASURED
    least_N = fit.push.best
    if demand.heavy(rules) and pushed is not None:  # more must hold: more coupons, and their tolerance limit
        least_N = pushed.lower(rules.fit.content_heavy, rules.fit.confidence)
        if len(pushed.values) < rules.fit.coupons_heavy:
            verdict, push = Verdict.UNMEASURED, f"{rules.fit.coupons_heavy} coupons for a heavy object; {push}"
    if value > stop_N:
        verdict = Verdict.STOP if pushed is not None else Verdict.LOOK
    elif least_N < low_N or fit.push.best > high_N:
        verdict = Verdict.LOOK
    kind = "on a scale" if pushed is not None else "worked out"
    return Check("seat-push-in", value, high_N, "N", high_N / value if value else math.inf, SOURCE, verdict,
                 f"{fit.push.low:.0f} to {fit.push.high:.0f} N {kind}, {low_N:.0f} to {high_N:.0f} N for a "
                 f"{demand.size(rules)} object; {push}")


@dataclass(frozen=True, slots=True)
class Proof:
    """What every installed post is pulled and twisted with before an object hangs on it; nothing may move."""

    pull_N: float
    twist_Nmm: float


def proof_of(demand: Demand, rules: Rulebook) -> Proof:
    """Return the proof pull, max(10 N, 1.5 W), 5 W + 10 N for a heavy object, and twist, 1.5 x standing.

    >>> proof_of(Demand(weight_N=4.0, standing_twist_Nmm=20.0, shake_pull_N=1.4), Rulebook())
    Proof(pull_N=10.0, twist_Nmm=30.0)
    """
    fit = rules.fit
    pull = max(fit.proof_pull_least_N, fit.proof_pull_weights * demand.weight_N)
    if demand.heavy(rules):
        pull = max(pull, fit.proof_heavy_weights * demand.weight_N + fit.proof_pull_least_N)
    return Proof(pull, fit.proof_twist_times * demand.standing_twist_Nmm)


def pull_out(fit: SeatFit, demand: Demand, rules: Rulebook) -> Check:
    """What holds the post in the sheet: a touch in ten years' time, shaking when it is warm besides."""
    touch_N, shake_N = rules.post.touch_N, demand.shake_pull_N * rules.post.torque_safety
    asked = [(fit.years.pull_out_N, touch_N, f"a touch of {touch_N:g} N after ten years"),
             (fit.holding.pull_out_N, shake_N, "shaking, warm")]
    least = {"light": rules.fit.light_pull_N, "medium": rules.fit.medium_pull_N}.get(demand.size(rules))
    note = f"held by {fit.retention.words}"
    if demand.heavy(rules):
        proof = proof_of(demand, rules)
        fresh = fit.years.pull_out_N if fit.retention.key is KeyKind.BOLT else 0.0
        asked.append((fresh, proof.pull_N, "a key's pull, friction not counted"))
    elif fit.forces_measured and fit.recipe is not None and (pull := fit.recipe.pull(rules)) is not None:
        asked.append((pull.lower(rules.fit.content, rules.fit.confidence), least or 0.0, "fresh, of its class"))
    value, limit, what = min(asked, key=lambda one: one[0] / one[1] if one[1] > 0 else math.inf)
    known = fit.forces_measured or (demand.heavy(rules) and fit.measured)
    return at_least("seat-pull-out", value, limit, "N", SOURCE, measured=known,
                    under=Verdict.LOOK if fit.measured else Verdict.UNMEASURED,
                    note=f"{note}; {what}" + ("" if fit.measured else "; nothing counts while the hole is unmeasured"))


def turning(fit: SeatFit, demand: Demand, rules: Rulebook) -> Check:
    """Whether the post stays where its clock mark was set under weight and shaking."""
    rule = retention_rule(fit.retention, fit.rod.best)
    safety = rules.post.torque_safety
    if demand.heavy(rules):
        held = fit.holding.slip_torque_Nmm if fit.retention.key is not KeyKind.NONE else 0.0
        value, limit = held, safety * (demand.standing_twist_Nmm + demand.touch_twist_Nmm)
        why = "a key's turn, friction not counted"
    elif fit.retention.key is not KeyKind.NONE or rule is None:
        value, limit = fit.holding.slip_torque_Nmm, safety * demand.standing_twist_Nmm
        why = "weight and shaking, twice"
    else:
        value, limit = fit.fresh.slip_torque_Nmm if fit.measured else 0.0, twist_asked_Nmm(rule, demand, rules,
                                                                                            fit.left_warm)
        why = f"fresh, of which {fit.left_warm:.2f} is left after ten years and warm"
    touch = f"a touch asks {demand.touch_twist_Nmm:.0f} N mm: it may slip, set it again by the clock mark"
    better = "" if value >= limit else f"; {_proposed(fit, demand, rules)}"
    limit = min(limit, 1e9)  # nothing left when warm: no finite twist would do, and a paper prints a number
    return at_least("seat-turning", value, limit, "N mm", "T = W (|e|(1+a) + |h| a); " + SOURCE,
                    measured=fit.forces_measured or (fit.retention.key is not KeyKind.NONE and fit.measured),
                    under=Verdict.LOOK if fit.measured else Verdict.UNMEASURED,
                    note=("" if fit.measured else "nothing counts while the hole is unmeasured; ")
                    + f"{why}; {touch}{better}")


def _proposed(fit: SeatFit, demand: Demand, rules: Rulebook) -> str:
    spread = fit.recipe.hole_spread_um if fit.recipe is not None else None
    proposal = propose_retention(fit.rod.best, -fit.interference.best * 1000, rules, demand, spread)
    return f"proposed: {proposal.retention.words} ({proposal.why})" if proposal.retention else proposal.why
