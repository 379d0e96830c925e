"""A recipe is a rod's lot, a drill and what closes the gap; coupons of one recipe are judged together.

Five of a kind say what nine of ten further fits will hold, with nine in ten confidence: mean less k standard
deviations, k the one-sided tolerance factor of the normal distribution. mm, N, N mm. Pure. Used by `post.fit`.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.brief import CaseBrief, CouponResult
from scanprep.interval import Interval
from scanprep.post.drill import parse_drill
from scanprep.post.records import Drill, Rod
from scanprep.post.retention import Means, Retention, parse_retention
from scanprep.post.rod_names import same_rod
from scanprep.rules import Rulebook


def tolerance_factor(count: int, content: float, confidence: float) -> float:
    """Return k of mean - k s, below which at most 1 - content of a normal population lies, with a confidence.

    count  of measurements, at least 2
    Source: noncentral t, k = t(confidence; n - 1, z sqrt(n)) / sqrt(n), NIST/SEMATECH e-Handbook 7.2.6.3.

    >>> round(tolerance_factor(5, 0.90, 0.90), 3), round(tolerance_factor(10, 0.95, 0.90), 3)
    (2.742, 2.568)
    """
    from scipy.special import nctdtrit, ndtri  # late: heavy, and most cases have no coupon yet

    return float(nctdtrit(count - 1, ndtri(content) * math.sqrt(count), confidence) / math.sqrt(count))


def _mean(values: Sequence[float]) -> float:
    return min(max(values), max(min(values), statistics.fmean(values)))


@dataclass(frozen=True, slots=True)
class Measured:
    """Forces of one kind on coupons of one recipe."""

    values: tuple[float, ...]

    @property
    def mean(self) -> float:
        """Their mean, never a rounding error outside them."""
        return _mean(self.values)

    def lower(self, content: float, confidence: float) -> float:
        """Return what a share of all such fits holds at least; the least measured where there is only one."""
        if len(self.values) < 2:
            return min(self.values)
        return self.mean - tolerance_factor(len(self.values), content, confidence) * statistics.stdev(self.values)

    def upper(self, content: float, confidence: float) -> float:
        """Return what a share of all such fits takes at the most."""
        return 2 * self.mean - self.lower(content, confidence)


@dataclass(frozen=True, slots=True)
class Recipe:
    """Coupons of one kind: rod lot, drill, retention."""

    retention: Retention
    drill: Drill
    lot: str
    coupons: tuple[CouponResult, ...]  # at least one; those of the room's temperature and the warm ones
    forces_count: bool = True  # False: the holes were measured with something else in them, so only their size counts

    @property
    def hole(self) -> Interval:
        """The holes' least, mean and greatest diameter, each with its own spread, in mm."""
        return Interval(min(c.hole_mm - c.spread_mm for c in self.coupons),
                        _mean([c.hole_mm for c in self.coupons]),
                        max(c.hole_mm + c.spread_mm for c in self.coupons))

    @property
    def hole_spread_um(self) -> float | None:
        """Standard deviation between holes, in um; None below three."""
        sizes = [c.hole_mm * 1000 for c in self.coupons]
        return statistics.stdev(sizes) if len(sizes) >= 3 else None

    def _of(self, name: str, warm: bool, rules: Rulebook) -> Measured | None:
        found = tuple(float(value) for coupon in self.coupons if self.forces_count
                      and ((coupon.temperature_C or 0.0) >= rules.fit.warm_celsius) is warm
                      for value in (getattr(coupon, name),) if value is not None)
        return Measured(found) if found else None

    def push(self, rules: Rulebook) -> Measured | None:
        """Pushes in N, at the room's temperature."""
        return self._of("push_N", False, rules)

    def pull(self, rules: Rulebook) -> Measured | None:
        """Pulls in N, at the room's temperature."""
        return self._of("pull_N", False, rules)

    def twist(self, rules: Rulebook) -> Measured | None:
        """Twists in N mm, at the room's temperature."""
        return self._of("twist_Nmm", False, rules)

    def left_warm(self, rules: Rulebook) -> float | None:
        """Share of the twist left in warm coupons, as measured; None where none was tried warm."""
        warm, room = self._of("twist_Nmm", True, rules), self.twist(rules)
        return None if warm is None or room is None or room.mean <= 0 else min(1.0, warm.mean / room.mean)


def coupon_retention(coupon: CouponResult) -> Retention:
    """Return what held the rod in a coupon."""
    if coupon.line_mm is not None:
        return Retention(Means.LINE, coupon.line_mm)
    return parse_retention(coupon.retention) if coupon.retention else Retention(Means.BARE)


def _for_rod(coupon: CouponResult, rod: Rod, rules: Rulebook) -> bool:
    if coupon.rod:
        return same_rod(coupon.rod, rod.label)
    nominal_mm = rod.diameter_mm if rod.measured_mm is None else rod.measured_mm
    return abs(coupon.hole_mm - nominal_mm) < rules.post.coupon_near_mm


def recipes(rod: Rod, rules: Rulebook, case: CaseBrief | None, retention: Retention | None = None
            ) -> tuple[Recipe, ...]:
    """Return the recipes that were tried with a rod, thinnest drill first.

    retention  what a post is to be held by: then coupons of other means count for their holes' size only
    """
    groups: list[list[CouponResult]] = []
    for coupon in (c for c in (case.coupons if case else ()) if _for_rod(c, rod, rules)):
        for group in groups:
            if _alike(group[0], coupon):
                group.append(coupon)
                break
        else:
            groups.append([coupon])
    found = [_recipe(group, retention) for group in groups]
    tried = {(recipe.drill, recipe.lot) for recipe in found if recipe.forces_count}
    if retention is not None:  # a hole of the very recipe says more than the same drill's hole with something else
        found = [recipe for recipe in found if recipe.forces_count or (recipe.drill, recipe.lot) not in tried]
    return tuple(sorted(found, key=lambda recipe: recipe.hole.best))


def _alike(one: CouponResult, other: CouponResult) -> bool:
    return (parse_drill(one.drill) == parse_drill(other.drill) and (one.lot or "") == (other.lot or "")
            and coupon_retention(one).same_recipe(coupon_retention(other)))


def _recipe(group: Sequence[CouponResult], retention: Retention | None) -> Recipe:
    tried = coupon_retention(group[0])
    held = tried if retention is None else retention
    return Recipe(held, parse_drill(group[0].drill), group[0].lot or "", tuple(group), held.same_recipe(tried))
