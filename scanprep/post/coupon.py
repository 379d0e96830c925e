"""The coupon: which holes to try in an offcut of the panel, what to measure, and what the results decide.

No drill of the catalogue makes a snug hole for sure, so the offcut decides: same sheet, same drill press, same drill,
the line that will be laid. Rows to print, results to read back (`case.toml`, coupons and measured rods), and what
follows from them, which is `post.fit`'s verdict and no other.
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.cautions import NO_SOLVENT
from scanprep.errors import InputError
from scanprep.findings import Finding, Verdict
from scanprep.post.drill import HOLE_SOURCE, drill_name, hole_limits_mm, point_length_mm
from scanprep.post.fit import SeatFit, fit_verdict, fits_tried
from scanprep.post.hole import seat_depth_mm
from scanprep.post.plan import stocked_rods
from scanprep.post.records import Drill, Rod
from scanprep.post.retention import Means, Retention, line_for
from scanprep.post.rod_names import same_rod
from scanprep.rules import Rulebook
from scanprep.units import G_M_S2


def steps(rules: Rulebook) -> tuple[str, ...]:
    """Return what to do with every test hole, printed once on the sheet."""
    fit, post = rules.fit, rules.post
    push, least = post.push_in_look_N, fit.medium_twist_Nmm
    lever_mm = 100.0  # layout: of the sentence
    return (
        "Measure the rod's finished diameter with a micrometer at five places, cleaned of lacquer; note its lot.",
        "Drill each hole in an offcut of the same sheet, with the same press, drill, speed and coolant, to the full "
        "depth.",
        f"Let the offcut cool for an hour, brush out chips and wax; {NO_SOLVENT}.",
        "Measure each hole with pin gauges at the mouth and as deep as they reach; write the mean. Clearance = hole - "
        "rod.",
        f"Take a nylon line of clearance + {fit.line_over_um / 1000:.3f} mm, under the micrometer: labels err by 5 to "
        "10 %. Lay it at 12 o'clock.",
        f"Push the rod in on a kitchen scale ({push:g} N = {push / G_M_S2:.1f} kg), write the force; over "
        f"{post.push_in_stop_N:g} N: next drill. Wait an hour.",
        f"Twist with a {lever_mm:.0f} mm lever ({least:g} N mm = {least / lever_mm / G_M_S2 * 1000:.0f} g), then pull, "
        "coupon clamped to ballast on the scale, until it moves.",
        f"{fit.coupons} holes of one recipe (rod lot, drill, line) make a verdict, {fit.coupons_heavy} for an object "
        f"of {fit.medium_g:g} g or more.",
        "Two more: 30 days under load (at least 0.7 of the first hour's forces), then 24 h at 40 C: twist again, warm.",
        "Look along the sheet under a low lamp for fine cracks round the hole, at once and after a week.",
    )


@dataclass(frozen=True, slots=True)
class CouponRow:
    """One recipe as tried, or one test hole still to be drilled."""

    rod: str
    rod_mm: float
    rod_measured: bool
    drill: str
    drill_mm: float
    hole_low_mm: float  # what such a drill usually makes
    hole_high_mm: float
    depth_mm: float
    point_mm: float
    retention: str  # "line 0.16 mm", "bow", "bare"
    measured_mm: float | None  # mean hole, once measured
    push_N: float | None  # means of what was entered
    twist_Nmm: float | None
    pull_N: float | None
    coupons: int  # of this recipe so far
    verdict: Verdict
    says: str  # "try", or the fit's verdict in words


def _mean(values: tuple[float, ...]) -> float | None:
    return sum(values) / len(values) if values else None


def _tried_row(rod: Rod, fit: SeatFit, depth_mm: float, rules: Rulebook) -> CouponRow:
    recipe = fit.recipe
    assert recipe is not None
    push, twist, pull = recipe.push(rules), recipe.twist(rules), recipe.pull(rules)
    return _row(rod, recipe.drill, fit, depth_mm, rules, fit.retention, fit.verdict, fit.says, recipe.hole.best,
                _mean(push.values) if push else None, _mean(twist.values) if twist else None,
                _mean(pull.values) if pull else None, len(recipe.coupons))


def _row(rod: Rod, drill: Drill, fit: SeatFit, depth_mm: float, rules: Rulebook, held: Retention, verdict: Verdict,
         says: str, hole_mm: float | None = None, push_N: float | None = None, twist_Nmm: float | None = None,
         pull_N: float | None = None, coupons: int = 0) -> CouponRow:
    usual = hole_limits_mm(drill.diameter_mm)
    return CouponRow(
        rod.label, fit.rod.best, fit.rod_measured, drill_name(drill), drill.diameter_mm, usual.low, usual.high,
        depth_mm + rules.post.extra_depth_mm, point_length_mm(drill.diameter_mm, rules.post.drill_point_deg),
        held.words, hole_mm, push_N, twist_Nmm, pull_N, coupons, verdict, says)


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
                labels: tuple[str, ...] = (), retention: Retention | None = None) -> tuple[CouponRow, ...]:
    """Return what was tried with the rods in use and the test holes still to be drilled, thinnest rod first.

    labels     rods to try, all stocked ones when empty; InputError on one that is not in stock
    retention  judge every hole for this; None: as it was tried
    """
    found: list[CouponRow] = []
    for rod in _rods(rules, case, labels):
        depth_mm = seat_depth_mm(rod.diameter_mm, rules, panel)
        grade = panel.grade if panel else "unknown"
        tried = fits_tried(rod, depth_mm, grade, rules, case, retention)
        found += [_tried_row(rod, fit, depth_mm, rules) for fit in tried]
        best = fit_verdict(rod, depth_mm, grade, rules, case, retention)
        found += _to_try(rod, best, depth_mm, rules)
    return tuple(found)


def _to_try(rod: Rod, best: SeatFit, depth_mm: float, rules: Rulebook) -> list[CouponRow]:
    """The holes that would settle it: a hole of each neighbour and five of the first drill, or what is missing of five.

    Nothing where the best recipe so far is settled, or wants another drill.
    """
    def hole(drill: Drill, held: Retention) -> CouponRow:
        return _row(rod, drill, best, depth_mm, rules, held, Verdict.UNMEASURED, "try")

    if best.recipe is not None:
        whole = min((len(one.values) if one else 0 for one in
                     (best.recipe.push(rules), best.recipe.twist(rules), best.recipe.pull(rules))), default=0)
        wants = rules.fit.coupons - whole if best.verdict is Verdict.UNMEASURED else 0
        return [hole(best.recipe.drill, best.retention)] * wants
    rows = []
    for drill in best.choice.brackets:
        held = best.retention
        if held.means is Means.LINE:
            gap_um = (hole_limits_mm(drill.diameter_mm).best - best.rod.best) * 1000
            held = Retention(Means.LINE, line_for(gap_um, rules), held.key)
        rows += [hole(drill, held)] * (rules.fit.coupons if drill == best.choice.drill else 1)
    return rows


def coupon_findings(rules: Rulebook, case: CaseBrief | None, panel: PanelBrief | None = None,
                    labels: tuple[str, ...] = (), retention: Retention | None = None) -> tuple[Finding, ...]:
    """Return what the results decide: for each rod the verdict of its best recipe, or what still has to be measured."""
    found = []
    for rod in _rods(rules, case, labels):
        fit = fit_verdict(rod, seat_depth_mm(rod.diameter_mm, rules, panel), panel.grade if panel else "unknown",
                          rules, case, retention)
        subject, drill = f"rod {rod.label}", drill_name(fit.choice.drill)
        gap = fit.interference
        if not fit.measured:
            wants = [] if fit.rod_measured else ["the rod's diameter"]
            wants += [] if fit.choice.measured else ["a test hole"]
            tries = ", ".join(drill_name(one) for one in fit.choice.brackets)
            found.append(Finding("coupon-open", subject, Verdict.UNMEASURED,
                                 f"{subject}: {' and '.join(wants)} not measured; {HOLE_SOURCE} would leave it "
                                 f"anywhere from {-gap.high * 1000:+.0f} to {-gap.low * 1000:+.0f} um loose",
                                 f"Try {tries} in an offcut", gap.best, None, "mm"))
            continue
        found.append(Finding("coupon-result", subject, fit.verdict, f"{subject}: drill {drill}, {fit.says}", fit.remedy,
                             gap.best, None, "mm"))
    return tuple(found)
