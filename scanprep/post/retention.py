"""What keeps a post in its hole: each means with its window, what the years and warmth leave of it, its own rule.

Smooth-cylinder interference holds 20 to 100 N within two micrometres, below any drill's spread. So a hole is drilled
loose on purpose and the gap closed with something that gives: a nylon line that is squeezed, a bowed or a slit end; a
heavy object gets a key besides (second pin, through-bolt). The figures are tables (`retention.csv`,
`line_squeeze.csv`), calculated from estimates: the shop's coupons overrule them all. Clearance C is hole less rod, in
micrometres; N, N mm, mm. Pure. Used by `post.fit`, `post.coupon`, the checklist and the record.
"""

from __future__ import annotations

import csv
import functools
import math
import re
from dataclasses import dataclass, replace
from enum import StrEnum
from importlib import resources

from scanprep.interval import Interval
from scanprep.rules import Rulebook
from scanprep.rules.fits import FitRules
from scanprep.units import G_M_S2, parse_length_mm

_LAST_N = 100.0  # format: the last push of retention.csv


class Means(StrEnum):
    """What closes the gap or presses on the wall."""

    BARE = "bare"
    LINE = "line"
    BOW = "bow"
    SLIT = "slit"
    LACQUER = "lacquer"


class KeyKind(StrEnum):
    """What holds by its shape, whatever the fit does."""

    NONE = ""
    PIN = "second pin"
    BOLT = "through-bolt"


@dataclass(frozen=True, slots=True)
class Retention:
    """What one post is held by."""

    means: Means
    line_mm: float | None = None  # thickness of the nylon line under the micrometer
    key: KeyKind = KeyKind.NONE

    @property
    def words(self) -> str:
        """As a bench says it, and as `parse_retention` reads it back."""
        first = f"line {self.line_mm:.2f} mm" if self.line_mm is not None else self.means.value
        return f"{first} + {self.key.value}" if self.key else first

    def same_recipe(self, other: Retention) -> bool:
        """Whether a coupon of the one says something of the other: the same means, the same line to 5 um.

        A key is beside the hole: the fit in the coupon has none.
        """
        lines = (self.line_mm, other.line_mm)
        alike = lines[0] == lines[1] if None in lines else abs((lines[0] or 0.0) - (lines[1] or 0.0)) <= 0.005 + 1e-9
        return self.means is other.means and alike


def parse_retention(text: str) -> Retention:
    """Return a retention from `line 0.16 mm`, `bow`, `slit + second pin`, `bare`. Raises ValueError.

    >>> parse_retention("line 0.16 mm + second pin").words
    'line 0.16 mm + second pin'
    """
    first, _, second = (part.strip() for part in text.lower().partition("+"))
    keys = {key.value.replace("-", " "): key for key in KeyKind}
    key = keys.get(second.replace("-", " "))
    if first and not second and first.replace("-", " ") in keys:
        return Retention(Means.BARE, key=keys[first.replace("-", " ")])
    match = re.fullmatch(r"(?:nylon )?line\s*(.*)", first)
    if key is not None and match and match[1]:
        size_mm = parse_length_mm(match[1])
        if not 0 < size_mm <= 1:
            raise ValueError(f"a line of {size_mm:g} mm? Write its thickness, such as line 0.16 mm")
        return Retention(Means.LINE, size_mm, key)
    if key is None or first == Means.LINE or first not in [means.value for means in Means]:
        raise ValueError(f"{text!r} is no retention; write one of line 0.16 mm, {', '.join(m.value for m in Means)}, "
                         f"perhaps with + {KeyKind.PIN.value} or + {KeyKind.BOLT.value}")
    return Retention(Means(first), key=key)


@dataclass(frozen=True, slots=True)
class RetentionRule:
    """What a means does in a rod's hole, an 18 mm seat, before any coupon says otherwise."""

    means: Means
    closes_um: tuple[float, float, float] | None  # closing less clearance at 20, 60, 100 N; None: no figure
    window_um: float  # of clearance, from 20 to 100 N
    push_most_N: float  # it yields there
    left_years: float  # share of the force after ten years at room temperature
    left_warm: float  # the same and 20 K warmer
    bearing_MPa: float  # where it presses on the wall, at 100 N; 0: see the hand's push
    source: str

    def push_N(self, over_um: float) -> float:
        """Return the push at some closing less clearance, straight lines between the table's points, 0 below touch."""
        assert self.closes_um is not None
        xs, ys = list(self.closes_um), [20.0, 60.0, 100.0]
        if self.means is Means.LINE:  # touches at 0
            xs, ys = [0.0, *xs], [0.0, *ys]
        slope = (ys[1] - ys[0]) / (xs[1] - xs[0])
        if over_um <= xs[0]:
            return max(0.0, ys[0] - slope * (xs[0] - over_um))
        for (x0, y0), (x1, y1) in zip(zip(xs, ys), zip(xs[1:], ys[1:])):
            if over_um <= x1:
                return min(self.push_most_N, y0 + (y1 - y0) * (over_um - x0) / (x1 - x0))
        slope = (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
        beyond = ys[-1] + slope * (over_um - xs[-1])
        return beyond if self.push_most_N >= _LAST_N else min(self.push_most_N, beyond)


@functools.cache
def _table() -> dict[Means, list[tuple[float, RetentionRule]]]:
    text = resources.files("scanprep.tables").joinpath("retention.csv").read_text(encoding="utf-8")
    rules: dict[Means, list[tuple[float, RetentionRule]]] = {}
    for line in csv.DictReader(text.splitlines()):
        over = (line["over_20_um"], line["over_60_um"], line["over_100_um"])
        points: tuple[float, float, float] | None = None
        if over[0]:  # a slit end yields before 60 N: its line goes on, capped
            first, last = float(over[0]), float(over[2] or float(over[0]) + float(line["window_um"]))
            at_last = 100.0 if over[2] else float(line["push_most_N"])
            slope = (last - first) / (at_last - 20.0)
            points = (first, float(over[1] or first + 40 * slope), float(over[2] or first + 80 * slope))
        means = Means(line["means"])
        rules.setdefault(means, []).append((float(line["rod_mm"]), RetentionRule(
            means, points, float(line["window_um"] or 0.0), float(line["push_most_N"]),
            float(line["left_years"]), float(line["left_warm"]), float(line["bearing_MPa"]),
            f"{line['source']} ({line['status']})")))
    return rules


@functools.cache
def _lines() -> tuple[tuple[float, tuple[float, float, float]], ...]:
    text = resources.files("scanprep.tables").joinpath("line_squeeze.csv").read_text(encoding="utf-8")
    return tuple((float(line["line_mm"]), (float(line["squeeze_20_um"]), float(line["squeeze_60_um"]),
                                           float(line["squeeze_100_um"])))
                 for line in csv.DictReader(text.splitlines()))


def _between(x: float, low: float, high: float) -> float:
    return 0.0 if high == low else min(1.0, max(0.0, (x - low) / (high - low)))


def line_squeeze_um(line_mm: float) -> tuple[float, float, float]:
    """Return the squeeze of a nylon line at 20, 60 and 100 N of push; the table's ends beyond it.

    >>> line_squeeze_um(0.16)
    (22.0, 58.0, 83.0)
    """
    rows = _lines()
    below = max((row for row in rows if row[0] <= line_mm), default=rows[0])
    above = min((row for row in rows if row[0] >= line_mm), default=rows[-1])
    share = _between(line_mm, below[0], above[0])
    low, high = below[1], above[1]
    return (low[0] + share * (high[0] - low[0]), low[1] + share * (high[1] - low[1]),
            low[2] + share * (high[2] - low[2]))


def retention_rule(retention: Retention, rod_mm: float) -> RetentionRule | None:
    """Return a means' rule for a rod, between the table's three rods; None where the rod is too thin for it.

    A line's squeeze does not depend on the rod, so a thinner rod than the table's takes its first row.
    """
    rows = _table()[retention.means]
    too_thin = retention.means is not Means.LINE and rod_mm < rows[0][0] - 0.8
    if too_thin or (retention.means is Means.SLIT and rod_mm < rows[0][0] - 0.01):
        return None  # a thin rod's slit end holds 15 N only
    below = max((row for row in rows if row[0] <= rod_mm), default=rows[0], key=lambda row: row[0])
    above = min((row for row in rows if row[0] >= rod_mm), default=rows[-1], key=lambda row: row[0])
    share = _between(rod_mm, below[0], above[0])

    def mid(low: float, high: float) -> float:
        return low + share * (high - low)

    one, other = below[1], above[1]
    points = None if one.closes_um is None or other.closes_um is None else (
        mid(one.closes_um[0], other.closes_um[0]), mid(one.closes_um[1], other.closes_um[1]),
        mid(one.closes_um[2], other.closes_um[2]))
    window = mid(one.window_um, other.window_um)
    if retention.means is Means.LINE and retention.line_mm is not None:
        points = line_squeeze_um(retention.line_mm)
        window = points[2] - points[0]
    return replace(
        one, closes_um=points, window_um=window, push_most_N=mid(one.push_most_N, other.push_most_N),
        left_years=mid(one.left_years, other.left_years), left_warm=mid(one.left_warm, other.left_warm),
        bearing_MPa=mid(one.bearing_MPa, other.bearing_MPa))


def calculated_push_N(retention: Retention, rod_mm: float, clearance_um: Interval, rules: FitRules) -> Interval | None:
    """Return the push that a means is worked out to want, least to most over the whole clearance; None: no figure.

    A bow or slit end is bent to suit its hole, so its own doubt is the coupon's to find: the middle of its window.
    """
    rule = retention_rule(retention, rod_mm)
    if rule is None or rule.closes_um is None:
        return None
    doubt = 0.0
    if retention.means is Means.BARE:
        closing = 0.0
    elif retention.means is Means.LINE:
        if retention.line_mm is None:
            return None
        closing, doubt = retention.line_mm * 1000, rules.line_doubt_um
    else:  # set to the middle of the window at the best clearance
        closing = clearance_um.best + (rule.closes_um[0] + rule.closes_um[2]) / 2
    found = [rule.push_N(closing + d - c) for d, c in ((-doubt, clearance_um.high), (0.0, clearance_um.best),
                                                        (doubt, clearance_um.low))]
    return Interval(*found)


def line_for(clearance_um: float, rules: Rulebook) -> float | None:
    """Return the stocked line nearest to clearance + 45 um, or None where none lies 25 to 75 um over it.

    >>> line_for(120.0, Rulebook())
    0.16
    """
    fit = rules.fit
    if not fit.line_clearance_least_um <= clearance_um <= fit.line_clearance_most_um:
        return None
    over = {line: line * 1000 - clearance_um for line in rules.post.shim_lines_mm}
    able = [line for line, more in over.items()
            if fit.line_over_least_um - 1e-9 <= more <= fit.line_over_most_um + 1e-9]
    return min(able, key=lambda line: abs(over[line] - fit.line_over_um), default=None)


@dataclass(frozen=True, slots=True)
class Demand:
    """What one object asks of its post's hold in the sheet."""

    weight_N: float
    standing_twist_Nmm: float  # W (|e|(1 + a) + |h| a), no hand on it
    shake_pull_N: float  # W a, along the post
    touch_twist_Nmm: float = 0.0  # of a hand at the outermost radius: it may slip, and is set right by the clock mark

    def heavy(self, rules: Rulebook) -> bool:
        """Whether friction is not counted: a key has to hold."""
        return self.size(rules) == "heavy"

    def size(self, rules: Rulebook) -> str:
        """light, medium or heavy."""
        mass_g = self.weight_N / G_M_S2 * 1000
        return "light" if mass_g < rules.fit.light_g else "medium" if mass_g < rules.fit.medium_g else "heavy"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the rule proposes for one post, and why."""

    retention: Retention | None  # None: drill anew
    why: str


def spread_um(retention: Retention, rules: FitRules, hole_um: float | None = None) -> float:
    """Return the standard deviation of the gap, s = sqrt(rod^2 + hole^2 + line^2); the shop's own where measured."""
    line = rules.line_doubt_um if retention.means is Means.LINE else 0.0
    return math.hypot(rules.rod_spread_um, rules.hole_spread_um if hole_um is None else hole_um, line)


def _wide(retention: Retention, rod_mm: float, rules: FitRules, hole_um: float | None) -> RetentionRule | None:
    """A means' rule where its window is wide enough for the spread of the gap."""
    rule = retention_rule(retention, rod_mm)
    return rule if rule is not None and rule.window_um >= rules.window_spreads * spread_um(
        retention, rules, hole_um=hole_um) - 1e-9 else None


def propose_retention(rod_mm: float, clearance_um: float, rules: Rulebook, demand: Demand | None = None,
                      hole_spread_um: float | None = None) -> Proposal:
    """Return what the rule proposes: a line first, then a bowed, then a slit end, then a line with a second pin.

    clearance_um    hole less rod, best size
    demand          None: no object yet; the fit is judged alone
    hole_spread_um  standard deviation of holes of this drill as measured; None: the rulebook's
    """
    fit = rules.fit
    line = line_for(clearance_um, rules)
    ways = [Retention(Means.LINE, line)] if line is not None else []
    ways += [Retention(Means.BOW), Retention(Means.SLIT)]
    if clearance_um > fit.line_clearance_most_um or (clearance_um < 0 and line is None):
        return Proposal(None, f"{clearance_um:.0f} um of clearance is out of every window: drill "
                              f"{fit.loose_least_um:.0f} to {fit.loose_most_um:.0f} um loose")
    if demand is not None and demand.heavy(rules):
        held = Retention(Means.LINE, line, KeyKind.PIN) if line is not None else Retention(Means.BOW, key=KeyKind.PIN)
        return Proposal(held, "heavy: friction is not counted, a key holds and the line keeps it from rattling")
    for way in ways:
        rule = _wide(way, rod_mm, fit, hole_spread_um)
        if rule is None:
            continue
        asked = 0.0 if demand is None else twist_asked_Nmm(rule, demand, rules)
        push_N = min(rules.post.push_in_look_N, rule.push_most_N)
        if push_N * rod_mm / 2 >= asked:
            return Proposal(way, f"clearance {clearance_um:.0f} um, window {rule.window_um:.0f} um")
    if line is not None:
        return Proposal(Retention(Means.LINE, line, KeyKind.PIN),
                        "no friction carries its twist for years: a second pin")
    return Proposal(None, f"no means has a window for {clearance_um:.0f} um of clearance: drill "
                          f"{fit.loose_least_um:.0f} to {fit.loose_most_um:.0f} um loose")


def twist_asked_Nmm(rule: RetentionRule, demand: Demand, rules: Rulebook, left_warm: float | None = None) -> float:
    """Return the fresh twist that an object asks: its class's least, or safety x standing twist over what is left.

    left_warm  as measured on warm coupons; None: the table's
    """
    left = rule.left_warm if left_warm is None else left_warm
    least = {"light": rules.fit.light_twist_Nmm, "medium": rules.fit.medium_twist_Nmm}.get(demand.size(rules), 0.0)
    standing = rules.post.torque_safety * demand.standing_twist_Nmm
    return max(least, standing / left) if left > 0 else (math.inf if standing > 0 else least)
