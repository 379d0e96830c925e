"""The coupon: which drills to try in an offcut of the panel, what to measure, and what the results decide.

No drill of the catalogue makes a snug hole for sure, so the offcut decides: same sheet, same drill press, same drill.
Rows to print, results to read back (they live in `case.toml` as coupons and measured rods), and what follows from them.
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.errors import InputError
from scanprep.findings import Finding, Verdict
from scanprep.post.drill import HOLE_SOURCE, drill_name, hole_limits_mm, line_for_mm, point_length_mm
from scanprep.post.fit import SeatFit, seat_fit
from scanprep.post.hole import seat_depth_mm
from scanprep.post.plan import stocked_rods
from scanprep.post.records import Drill, Rod
from scanprep.post.rod_names import same_rod
from scanprep.rules import PostRules, Rulebook


def steps(rules: PostRules) -> tuple[str, ...]:
    """Return what to do with every test hole, printed once on the sheet."""
    return (
        "Measure the rod's finished diameter with a micrometer at three places, cleaned of lacquer; write the mean.",
        "Drill each hole in an offcut of the same sheet, with the same press, drill, speed and coolant, to the full "
        "depth.",
        "Let the offcut cool for an hour, brush out chips and wax; no solvent, no alcohol.",
        "Measure each hole with pin gauges or a small-hole gauge at the mouth and as deep as it reaches; write the "
        "mean.",
        f"Push the rod in by hand with a spring balance: write the force; hand-snug is under "
        f"{rules.push_in_look_N:g} N.",
        "Hang the moment of the object on it overnight, then twist and pull: write where it moves.",
        "Look along the sheet under a low lamp for fine cracks round the hole, at once and after a week.",
    )


@dataclass(frozen=True, slots=True)
class CouponRow:
    """One test hole."""

    rod: str
    rod_mm: float
    rod_measured: bool
    drill: str
    drill_mm: float
    hole_low_mm: float  # what such a drill usually makes
    hole_high_mm: float
    depth_mm: float
    point_mm: float
    snug_low_mm: float  # the hole that a hand can just push the rod into
    snug_high_mm: float  # the hole in which it just touches
    measured_mm: float | None  # hole, once measured
    push_in_N: float | None  # at the grippy end, once rod and hole are measured
    says: str  # "try", "tight", "snug", "loose: 0.10 mm line", ...


def _says(fit: SeatFit, hole_mm: float | None, rules: PostRules) -> str:
    if hole_mm is None:
        return "try"
    play_um = (hole_mm - fit.rod.best) * 1000
    if play_um < -fit.craze_mm * 1000:
        return f"too tight: {-play_um:.0f} um, over the fit's share of the crazing limit"
    if play_um < -fit.hand_snug_mm * 1000:
        return f"tight: {-play_um:.0f} um, more than a hand can push"
    if play_um <= 0:
        return "snug"
    line = line_for_mm(play_um / 1000, rules)
    return f"loose: {play_um:.0f} um" + (f", try {line:.2f} mm nylon line" if line else ", a key is needed")


def _row(rod: Rod, drill: Drill, fit: SeatFit, depth_mm: float, rules: Rulebook, hole_mm: float | None,
         push_in_N: float | None) -> CouponRow:
    usual = hole_limits_mm(drill.diameter_mm)
    return CouponRow(
        rod.label, fit.rod.best, fit.rod_measured, drill_name(drill), drill.diameter_mm, usual.low, usual.high,
        depth_mm + rules.post.extra_depth_mm, point_length_mm(drill.diameter_mm, rules.post.drill_point_deg),
        fit.rod.best - fit.hand_snug_mm, fit.rod.best, hole_mm, push_in_N, _says(fit, hole_mm, rules.post))


def _is(label: str, rod: Rod) -> bool:
    try:
        return same_rod(label, rod.label)
    except ValueError:
        return False


def _rods(rules: Rulebook, case: CaseBrief | None, labels: tuple[str, ...]) -> list[Rod]:
    stocked = stocked_rods(rules, case)
    for label in labels:
        if not any(_is(label, rod) for rod in stocked):
            raise InputError(field="rod", value=label, problem="is not in stock",
                             remedy=f"Take one of {', '.join(rod.label for rod in stocked)}, or name it in case.toml "
                             "(rules.post, stocked)")
    return [rod for rod in stocked if not labels or any(_is(label, rod) for label in labels)]


def coupon_rows(rules: Rulebook, case: CaseBrief | None, panel: PanelBrief | None = None,
                labels: tuple[str, ...] = ()) -> tuple[CouponRow, ...]:
    """Return the test holes for the rods in use, thinnest first; measured ones say what they turned out to be.

    labels  rods to try, all stocked ones when empty; InputError on one that is not in stock
    """
    found = []
    for rod in _rods(rules, case, labels):
        depth_mm = seat_depth_mm(rod.diameter_mm, rules, panel)
        grade = panel.grade if panel else "unknown"
        fit = seat_fit(rod, depth_mm, grade, rules, case)
        tried = {test.drill.label: test for test in fit.tests}
        # a neighbour as good as the same size as one already tried needs no hole of its own
        untried = [drill for drill in fit.choice.brackets
                   if all(abs(drill.diameter_mm - test.drill.diameter_mm) > 0.01 for test in fit.tests)]
        for drill in sorted((*untried, *(test.drill for test in fit.tests)), key=lambda one: one.diameter_mm):
            test = tried.get(drill.label)
            found.append(_row(rod, drill, fit, depth_mm, rules, test.hole.best if test else None,
                              test.push_in_N if test and fit.rod_measured else None))
    return tuple(found)


def coupon_findings(rules: Rulebook, case: CaseBrief | None, panel: PanelBrief | None = None,
                    labels: tuple[str, ...] = ()) -> tuple[Finding, ...]:
    """Return what the results decide: for each rod the drill to use, or what still has to be measured."""
    found = []
    for rod in _rods(rules, case, labels):
        fit = seat_fit(rod, seat_depth_mm(rod.diameter_mm, rules, panel), panel.grade if panel else "unknown",
                       rules, case)
        subject, drill = f"rod {rod.label}", drill_name(fit.choice.drill)
        if not fit.measured:
            wants = [] if fit.rod_measured else ["the rod's diameter"]
            wants += [] if fit.choice.measured else ["a test hole"]
            tries = ", ".join(drill_name(one) for one in fit.choice.brackets)
            low_um, high_um = fit.interference.low * 1000, fit.interference.high * 1000
            found.append(Finding("coupon-open", subject, Verdict.UNMEASURED,
                                 f"{subject}: {' and '.join(wants)} not measured; {HOLE_SOURCE} would leave it "
                                 f"anywhere from {low_um:+.0f} to {high_um:+.0f} um tight",
                                 f"Try {tries} in an offcut", fit.interference.best, None, "mm"))
            continue
        says = _says(fit, fit.choice.hole.best, rules.post)
        verdict = Verdict.STOP if "tight" in says else Verdict.OK if says == "snug" else Verdict.LOOK
        found.append(Finding("coupon-result", subject, verdict, f"{subject}: drill {drill}, {says}",
                             "Try the next drill up" if verdict is Verdict.STOP else "", fit.interference.best, None,
                             "mm"))
    return tuple(found)
