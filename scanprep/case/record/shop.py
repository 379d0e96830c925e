"""The shop's own spread: what its measurements on record say of its rods, holes, sheets and hands.

Readings are gathered by what should be alike (one rod, one drill, one recipe, one sheet), and their spread about each
mean is pooled. Few readings say little of a spread, so what counts is its upper confidence limit, s sqrt(v / chi2) with
chi2 the lower percentage point for v degrees of freedom (NIST/SEMATECH e-Handbook 1.3.5.8; ISO 2854). From a number of
readings on it takes the place of what the rulebook assumes. Pure; used when a case folder is opened and by `spread`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from scanprep.brief import CouponResult
from scanprep.case.record.state import CaseState
from scanprep.post.drill import drill_name, parse_drill
from scanprep.rules import FitRules, Rulebook


def spread_factor(degrees: int, confidence: float) -> float:
    """Return sqrt(v / chi2(1 - confidence; v)): a standard deviation times this is not exceeded, with a confidence.

    >>> round(spread_factor(9, 0.90), 3)
    1.469
    """
    from scipy.special import chdtri  # late: heavy, and a new case has no reading yet

    return math.sqrt(degrees / float(chdtri(degrees, confidence)))


@dataclass(frozen=True, slots=True)
class OwnSpread:
    """What was measured of one thing in this shop."""

    what: str  # "holes of one drill"
    unit: str
    count: int  # readings
    mean: float | None  # of all of them where they are of one kind; None: of unlike things
    spread: float | None  # standard deviation about each kind's mean, pooled; None: too few
    most: float | None  # its upper confidence limit
    rule: str = ""  # row of the rulebook that it may take the place of: "hole_spread_um"
    assumed: float | None = None  # what that row says
    used: bool = False

    @property
    def words(self) -> str:
        """Return it in words: `holes of one drill: n 12, spread 6.1 um, at most 8.6 um; used instead of 10 um`."""
        said = f"{self.what}: n {self.count}"
        said += "" if self.mean is None else f", mean {self.mean:.4g} {self.unit}"
        said += "" if self.spread is None else f", spread {self.spread:.2g} {self.unit}"
        said += "" if self.most is None else f", at most {self.most:.2g} {self.unit}"
        if self.used:
            said += f"; used instead of {self.assumed:g} {self.unit}"
        return said


def own_spreads(state: CaseState, coupons: Sequence[CouponResult], rules: Rulebook) -> tuple[OwnSpread, ...]:
    """Return what the record's readings and a case's coupons say, in the order of the work.

    rules  as the case has them: a row that somebody changed stays theirs
    """
    rods = [[1000 * float(r) for r in one.values.get("readings_mm", ())]
            for (what, _), one in state.measured.items() if what == "rod"]
    sheets = [[float(r) for r in one.values.get("readings_mm", ())]
              for (what, _), one in state.measured.items() if what == "sheet"]
    holes: dict[str, list[float]] = {}
    pushes: dict[str, list[float]] = {}
    for coupon in coupons:
        drill = drill_name(parse_drill(coupon.drill))
        holes.setdefault(drill, []).append(1000 * coupon.hole_mm)
        if coupon.push_N is not None:
            recipe = f"{drill} {coupon.lot or ''} {coupon.line_mm or coupon.retention or ''}"
            pushes.setdefault(recipe, []).append(coupon.push_N)
    return (
        _own("readings along one rod", "um", rods, rules.fit, "rod_spread_um"),
        _own("holes of one drill", "um", list(holes.values()), rules.fit, "hole_spread_um"),
        _own("push-ins of one recipe", "N", list(pushes.values()), rules.fit),
        _own("readings of one sheet", "mm", sheets, rules.fit),
        *_mounts(state, rules.fit),
    )


def _mounts(state: CaseState, fit: FitRules) -> tuple[OwnSpread, OwnSpread, OwnSpread]:
    made = [life.as_made for life in state.mounts.values() if life.as_made is not None]
    return (_own("finished mounts, right of plan", "mm", [[one.dx_mm for one in made]], fit),
            _own("finished mounts, above plan", "mm", [[one.dy_mm for one in made]], fit),
            _own("finished mounts, turned", "deg", [[one.angle_deg for one in made]], fit))


def mounts_words(state: CaseState, fit: FitRules) -> str:
    """Return how far a finished post comes out of its plan: by this shop's own mounts from enough of them on."""
    right, above, turned = _mounts(state, fit)
    if right.count < fit.own_readings or None in (right.most, above.most, turned.most):
        return "by hand it comes out 1-3 mm and 1-2 deg off its plan"
    return (f"the {right.count} mounts measured so far came out {right.mean:+.1f} mm right and {above.mean:+.1f} mm "
            f"above their plan in the mean, with a spread of up to {right.most:.1f} and {above.most:.1f} mm, and "
            f"{turned.mean:+.1f} deg turned, up to {turned.most:.1f}")


def _own(what: str, unit: str, kinds: Sequence[Sequence[float]], fit: FitRules, rule: str = "") -> OwnSpread:
    kinds = [kind for kind in kinds if kind]
    count, degrees = sum(map(len, kinds)), sum(len(kind) - 1 for kind in kinds)
    means = [math.fsum(kind) / len(kind) for kind in kinds]
    spread = most = None
    if degrees > 0:
        squares = math.fsum((value - mean) ** 2 for kind, mean in zip(kinds, means, strict=True) for value in kind)
        spread = math.sqrt(squares / degrees)
        most = spread * spread_factor(degrees, fit.confidence)
    assumed = float(getattr(fit, rule)) if rule else None
    theirs = bool(rule) and assumed != getattr(FitRules(), rule)
    used = bool(rule) and not theirs and most is not None and most > 0 and count >= fit.own_readings
    return OwnSpread(what, unit, count, means[0] if len(means) == 1 else None, spread, most, rule, assumed, used)


def with_own_spreads(rules: Rulebook, spreads: Sequence[OwnSpread]) -> Rulebook:
    """Return the rules with the shop's own spreads in place of assumed ones, to a tenth of a unit."""
    fit = rules.fit
    for one in spreads:
        if one.used and one.most is not None:
            fit = replace(fit, **{one.rule: math.ceil(one.most * 10) / 10})  # type: ignore[arg-type]  # a row of floats
    return rules if fit == rules.fit else replace(rules, fit=fit)

