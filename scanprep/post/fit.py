"""How one rod sits in its hole and what holds it there: the one verdict that coupon, plan and papers all print.

`fit_verdict` looks at every recipe that was tried with a rod (lot, drill, line) and gives the best with its reasons.
Forces measured on coupons overrule every calculation. Without them a fit is judged at its bad ends: largest hole on the
thinnest rod for holding, the reverse for pushing in and crazing; relaxed, warm and slippery together. Nothing counts
while rod or hole are unmeasured. N, mm, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scanprep.brief import CaseBrief
from scanprep.findings import Verdict
from scanprep.interval import Interval
from scanprep.materials import metal
from scanprep.post.drill import DrillChoice, brackets, first_drill, hole_limits_mm
from scanprep.post.recipe import Measured, Recipe, recipes
from scanprep.post.records import Rod
from scanprep.post.retention import (
    KeyKind,
    Means,
    Retention,
    calculated_push_N,
    line_for,
    retention_rule,
)
from scanprep.post.rod_names import same_rod
from scanprep.post.seat import Fit, greatest_interference_mm, interference_fit, thermal_interference_mm
from scanprep.rules import Rulebook

_NOTHING = Fit(0.0, 0.0, 0.0, 0.0)  # exact: a loose post holds nothing


@dataclass(frozen=True, slots=True)
class SeatFit:
    """A rod, its hole and what holds it: verdict, forces, and what they do at their bad ends."""

    rod: Interval
    rod_measured: bool
    choice: DrillChoice
    interference: Interval  # rod minus hole
    retention: Retention
    verdict: Verdict  # of the fit alone, whatever it carries
    says: str
    remedy: str
    craze_mm: float  # the interference that uses the fit's share of the crazing limit
    push: Interval | None  # least, mean, most; measured, or worked out; None: no figure
    forces_measured: bool  # enough coupons of this recipe, with push, twist and pull
    fresh: Fit  # as pushed in: greatest push, tension in the bore
    years: Fit  # after ten years at the room's temperature
    holding: Fit  # the same, and warm; nothing while unmeasured
    planned: Fit  # what an unmeasured fit is judged by
    recipe: Recipe | None  # None: nothing was tried yet
    left_warm: float  # share of the twist that is left: measured on warm coupons, or the table's
    play_mm: float  # of the rod in its hole as it is held

    @property
    def measured(self) -> bool:
        """Whether rod and hole both were measured."""
        return self.rod_measured and self.choice.measured

    @property
    def clearance_mm(self) -> float:
        """Greatest play of the post as it is held; 0 while unmeasured, since a coupon will choose."""
        return self.play_mm if self.measured else 0.0


def rod_diameter(rod: Rod, case: CaseBrief | None, lot: str = "") -> tuple[Interval, bool]:
    """Return a rod's diameter and whether it was measured; of all its measured lots together where none is named."""
    found = [one for one in (case.measured_rods if case else ()) if same_rod(one.label, rod.label)
             and (not lot or one.lot == lot)]
    if found:
        sizes = [one.diameter_mm for one in found]
        return Interval(min(one.diameter_mm - one.tolerance_mm for one in found), (min(sizes) + max(sizes)) / 2,
                        max(one.diameter_mm + one.tolerance_mm for one in found)), True
    if rod.measured_mm is not None and not lot:
        return Interval.exactly(rod.measured_mm), True
    nominal = rod.diameter_mm
    return Interval(nominal + rod.tol_lower_mm, nominal + (rod.tol_upper_mm + rod.tol_lower_mm) / 2,
                    nominal + rod.tol_upper_mm), False


def continuous_stress_MPa(rules: Rulebook, grade: str) -> float:
    """Return the stress that acrylic of a grade bears for years without crazing."""
    panel = rules.panel
    return panel.continuous_stress_cell_cast_MPa if grade == "cell cast" else panel.continuous_stress_unknown_MPa


def pushed_bore_MPa(push_N: float, diameter_mm: float, depth_mm: float, friction: float) -> float:
    """Return the most that a bore can be stretched by a post that a push of so much moved in.

    Contact runs the whole seat: F = mu p pi d L; in open sheet tension equals pressure (Lamé), doubled for a post that
    bears on half of the bore's round only.

    >>> round(pushed_bore_MPa(100, 4.7625, 18, 0.2), 1), round(pushed_bore_MPa(100, 3.175, 18, 0.2), 1)
    (3.7, 5.6)
    """
    return 2 * push_N / (friction * math.pi * diameter_mm * depth_mm)


@dataclass(frozen=True, slots=True)
class _Seat:
    """One rod in one sheet, before any hole."""

    rod: Rod
    depth_mm: float
    rules: Rulebook
    case: CaseBrief | None
    craze_mm: float

    def lame(self, interference_mm: float, friction: float, sheet_MPa: float, d_mm: float) -> Fit:
        alloy, panel = metal(self.rod.material), self.rules.panel
        return interference_fit(interference_mm, d_mm, self.depth_mm, friction, sheet_modulus_MPa=sheet_MPa,
                                sheet_poisson=panel.poisson, pin_modulus_MPa=alloy.youngs_modulus_MPa,
                                pin_poisson=alloy.poisson, bore_mm=self.rod.bore_mm)

    def warm_mm(self, d_mm: float) -> float:
        return thermal_interference_mm(d_mm, self.rules.panel.alpha_per_K, metal(self.rod.material).alpha_per_K,
                                       self.rules.post.temperature_range_C)


def _seat(rod: Rod, depth_mm: float, grade: str, rules: Rulebook, case: CaseBrief | None) -> _Seat:
    alloy, panel = metal(rod.material), rules.panel
    craze_mm = greatest_interference_mm(
        continuous_stress_MPa(rules, grade) * rules.post.fit_share, rod_diameter(rod, case)[0].best,
        sheet_modulus_MPa=panel.youngs_modulus_MPa, sheet_poisson=panel.poisson,
        pin_modulus_MPa=alloy.youngs_modulus_MPa, pin_poisson=alloy.poisson, bore_mm=rod.bore_mm)
    return _Seat(rod, depth_mm, rules, case, craze_mm)


def fit_verdict(rod: Rod, depth_mm: float, grade: str, rules: Rulebook, case: CaseBrief | None,
                retention: Retention | None = None) -> SeatFit:
    """Return how a rod of the stock fits the hole that would be drilled for it, by the best recipe tried so far.

    retention  what was chosen for the object; None: as the coupons were tried, or a line where nothing was
    """
    tried = fits_tried(rod, depth_mm, grade, rules, case, retention)
    return min(tried, key=lambda fit: _rank(fit, rules)) if tried else \
        _untried(_seat(rod, depth_mm, grade, rules, case), retention)


def fits_tried(rod: Rod, depth_mm: float, grade: str, rules: Rulebook, case: CaseBrief | None,
               retention: Retention | None = None) -> tuple[SeatFit, ...]:
    """Return every recipe that was tried with a rod, each with its verdict, thinnest hole first."""
    seat = _seat(rod, depth_mm, grade, rules, case)
    return tuple(_tried(seat, recipe) for recipe in recipes(rod, rules, case, retention))


def _rank(fit: SeatFit, rules: Rulebook) -> tuple[float, ...]:
    """Verdict first, then how near the push is to a good hand's, then how near the gap to the middle of its range."""
    aim_N = rules.post.push_in_look_N
    off_N = abs(fit.push.best - aim_N) if fit.push is not None else aim_N
    middle_um = (rules.fit.loose_least_um + rules.fit.loose_most_um) / 2
    return fit.verdict.loudness, off_N, abs(-fit.interference.best * 1000 - middle_um)


def _untried(seat: _Seat, retention: Retention | None) -> SeatFit:
    rules, (size, rod_measured) = seat.rules, rod_diameter(seat.rod, seat.case)
    drill = first_drill(size.best, rules.fit)
    hole = hole_limits_mm(drill.diameter_mm)
    choice = DrillChoice(drill, hole, False, brackets(drill.diameter_mm, rules.post.brackets_each_side))
    gap_um = (hole.best - size.best) * 1000
    held = retention if retention is not None else Retention(Means.LINE, line_for(gap_um, rules))
    push_N = rules.post.push_in_look_N
    planned = _pressed(seat, held, push_N, size.best)
    says = f"try {held.words}"
    wants = " and ".join(([] if rod_measured else ["the rod's diameter"]) + ["a test hole"])
    rule = retention_rule(held, size.best)
    return SeatFit(
        size, rod_measured, choice, Interval(size.low - hole.high, size.best - hole.best, size.high - hole.low), held,
        Verdict.UNMEASURED, says, f"Measure {wants}", seat.craze_mm, None, False, _NOTHING, _NOTHING, _NOTHING, planned,
        None, rule.left_warm if rule else 0.0, 0.0)


def _pressed(seat: _Seat, held: Retention, push_N: float, d_mm: float) -> Fit:
    """A post that a push of so much moved in: what stretches the bore, what turns and draws it."""
    rules, rule = seat.rules, retention_rule(held, d_mm)
    if held.means is Means.BARE:  # the bore closes on a bare rod when it cools; a line gives
        hoop = pushed_bore_MPa(push_N, d_mm, seat.depth_mm, rules.post.seat_friction_low)
        hoop += seat.lame(seat.warm_mm(d_mm), 0.0, rules.panel.youngs_modulus_MPa, d_mm).hoop_MPa
    else:  # a line, bow or slit presses the rod on one side of the bore only: F = 2 mu N over d L, or the table's
        side = push_N / (2 * rules.post.seat_friction_low) / (d_mm * seat.depth_mm)
        hoop = max(side, (rule.bearing_MPa if rule else 0.0) * push_N / rules.post.push_in_stop_N)
    return Fit(hoop, hoop, push_N, push_N * d_mm / 2)


def _tried(seat: _Seat, recipe: Recipe) -> SeatFit:
    rules, held = seat.rules, recipe.retention
    size, rod_measured = rod_diameter(seat.rod, seat.case, recipe.lot)
    hole, d = recipe.hole, size.best
    tight = Interval(size.low - hole.high, d - hole.best, size.high - hole.low)
    choice = DrillChoice(recipe.drill, hole, True, brackets(recipe.drill.diameter_mm, rules.post.brackets_each_side))
    push = recipe.push(rules)
    rule = retention_rule(held, d)
    left_warm = recipe.left_warm(rules)
    left = left_warm if left_warm is not None else rule.left_warm if rule else 0.0
    play_mm = max(0.0, -tight.low)
    if held.means is not Means.BARE:
        play_mm = min(play_mm, rules.fit.held_play_um / 1000)
    shell = SeatFit(size, rod_measured, choice, tight, held, Verdict.UNMEASURED, "", "", seat.craze_mm, None, False,
                    _NOTHING, _NOTHING, _NOTHING, _NOTHING, recipe, left, play_mm)
    if push is not None:
        shell = _with_forces(seat, shell, recipe, push)
    elif held.means is Means.BARE:
        shell = _bare(seat, shell)
    else:
        shell = _closed(seat, shell)
    if rule is None and left_warm is None and shell.verdict is Verdict.OK:  # the plan would count nothing of it
        shell = replace(shell, verdict=Verdict.UNMEASURED, says="no table says what is left of it on a rod this thin",
                        remedy="Twist coupons at 40 C and enter their temperature")
    if not rod_measured:
        return replace(shell, verdict=Verdict.UNMEASURED, says="the rod is not measured",
                       remedy="Measure the rod's diameter", forces_measured=False, years=_NOTHING, holding=_NOTHING)
    return _keyed(shell, rules)


def _held(seat: _Seat, shell: SeatFit, push: Interval, pull_N: float, twist_Nmm: float, *, measured: bool,
          verdict: Verdict, says: str, remedy: str) -> SeatFit:
    """A fit with its forces, now and after the years."""
    rule = retention_rule(shell.retention, shell.rod.best)
    years = rule.left_years if rule else 0.0
    fresh = replace(_pressed(seat, shell.retention, push.high, shell.rod.best), slip_torque_Nmm=twist_Nmm)
    aged, warm = (Fit(fresh.pressure_MPa * left, fresh.hoop_MPa * left, pull_N * left, twist_Nmm * left)
                  for left in (years, shell.left_warm))
    return replace(shell, push=push, forces_measured=measured, fresh=fresh, years=aged, holding=warm, verdict=verdict,
                   says=says, remedy=remedy)


def _keyed(shell: SeatFit, rules: Rulebook) -> SeatFit:
    """The same with what a second pin or a through-bolt holds besides, whatever friction does."""
    key, fit = shell.retention.key, rules.fit
    if key is KeyKind.NONE:
        return shell
    if key is KeyKind.PIN:
        pull, twist = 0.0, fit.pin_twist_Nmm
    else:
        pull, twist = fit.bolt_pull_N * fit.bolt_left, fit.bolt_twist_Nmm * fit.bolt_left
    years, holding = (replace(one, pull_out_N=max(one.pull_out_N, pull),
                              slip_torque_Nmm=max(one.slip_torque_Nmm, twist)) for one in (shell.years, shell.holding))
    verdict, says, remedy = shell.verdict, f"{shell.says}; {key.value}", shell.remedy
    if key is KeyKind.BOLT and shell.push is None and verdict is Verdict.STOP and shell.interference.best < 0:
        verdict, says, remedy = Verdict.LOOK, f"loose, held by its {key.value}", "Try it in the offcut: it may rattle"
    return replace(shell, years=years, holding=holding, verdict=verdict, says=says, remedy=remedy)


def _with_forces(seat: _Seat, shell: SeatFit, recipe: Recipe, push: Measured) -> SeatFit:
    """Judge by what the coupons took: no calculation is asked."""
    rules, fit = seat.rules, seat.rules.fit
    content, trust = fit.content, fit.confidence
    pull, twist = recipe.pull(rules), recipe.twist(rules)
    pull_N = pull.lower(content, trust) if pull else 0.0
    twist_Nmm = twist.lower(content, trust) if twist else 0.0
    n = min(len(one.values) if one else 0 for one in (push, pull, twist))
    span = Interval(min(push.values), push.mean, max(push.values))
    words = f"{shell.retention.words}: push {span.low:.0f}-{span.high:.0f} N" if span.high > span.low else \
        f"{shell.retention.words}: push {span.best:.0f} N"
    stop_N = rules.post.push_in_stop_N
    verdict, remedy = Verdict.OK, ""
    says = f"{words}; holds {max(0.0, pull_N):.0f} N and {max(0.0, twist_Nmm):.0f} N mm"
    if span.high > stop_N:
        verdict, says, remedy = Verdict.STOP, f"{words}, over {stop_N:.0f} N", "Try the next drill up"
    elif n < fit.coupons:
        wants = [name for name, one in (("push", push), ("twist", twist), ("pull", pull))
                 if one is None or len(one.values) < fit.coupons]
        verdict = Verdict.UNMEASURED if span.low >= fit.push_least_N else Verdict.LOOK
        says, remedy = f"{words}; {n} of {fit.coupons} coupons complete", \
            f"Try {fit.coupons} of this recipe; enter {', '.join(wants)} of each"
    elif push.upper(content, trust) > stop_N:
        verdict, says, remedy = Verdict.LOOK, f"{words}; one in ten may need more than {stop_N:.0f} N", \
            "Try the next drill up"
    elif span.best < fit.push_least_N or pull_N < fit.light_pull_N or twist_Nmm < fit.light_twist_Nmm:
        verdict = Verdict.LOOK
        remedy = (f"A light object needs {fit.light_pull_N:.0f} N and {fit.light_twist_Nmm:.0f} N mm: a thicker line "
                  "or the next drill down")
    return _held(seat, shell, span, max(0.0, pull_N), max(0.0, twist_Nmm), measured=n >= fit.coupons, verdict=verdict,
                 says=says, remedy=remedy)


def _bare(seat: _Seat, shell: SeatFit) -> SeatFit:
    """A bare rod in a measured hole that nobody pushed on a scale yet."""
    rules, post, panel, d = seat.rules, seat.rules.post, seat.rules.panel, shell.rod.best
    gap_um = Interval(*(-x * 1000 for x in (shell.interference.high, shell.interference.best, shell.interference.low)))
    warm_mm = seat.warm_mm(d)
    fresh = seat.lame(shell.interference.high + warm_mm, post.seat_friction_high, panel.youngs_modulus_MPa, d)
    aged = seat.lame(shell.interference.low, post.seat_friction_low, panel.creep_modulus_MPa, d)
    warm = seat.lame(shell.interference.low - warm_mm, post.seat_friction_low, panel.creep_modulus_MPa, d)
    shell = replace(shell, fresh=fresh, years=aged, holding=warm)
    if shell.interference.best > seat.craze_mm:
        return replace(shell, verdict=Verdict.STOP,
                       says=f"too tight: {-gap_um.best:.0f} um, over the fit's share of the crazing limit",
                       remedy="Try the next drill up")
    # whoever pushes stops at 100 N, and that bounds what the bore is stretched
    most = _pressed(seat, shell.retention, post.push_in_stop_N, d).hoop_MPa
    shell = replace(shell, fresh=replace(fresh, hoop_MPa=min(fresh.hoop_MPa, most)))
    if gap_um.high > rules.fit.bare_clearance_um + 1e-6:
        line = line_for(max(gap_um.best, rules.fit.line_clearance_least_um), rules)
        way = f"lay {line:.2f} mm nylon line" if line is not None else \
            f"drill {rules.fit.loose_least_um:.0f} to {rules.fit.loose_most_um:.0f} um loose for a line"
        loose = "loose" if gap_um.best > 0 else "may be loose"
        return replace(shell, verdict=Verdict.STOP, says=f"{loose}: {gap_um.high:.0f} um and nothing holds it",
                       remedy=f"{way[0].upper()}{way[1:]} and try five coupons, or key it")
    tight = shell.interference.high > seat.craze_mm
    says = f"bare, {gap_um.low:+.0f} to {gap_um.high:+.0f} um of clearance: no calculation says how it holds"
    return replace(shell, verdict=Verdict.LOOK if tight else Verdict.UNMEASURED, says=says,
                   remedy="Push one in on a scale, or better drill for a line: a bare fit's window is 6 um")


def _closed(seat: _Seat, shell: SeatFit) -> SeatFit:
    """A gap closed by a line, bow, slit or lacquer that nobody pushed on a scale yet: worked out, so never ok."""
    rules, fit, held, d = seat.rules, seat.rules.fit, shell.retention, shell.rod.best
    gap_um = Interval(*(-x * 1000 for x in (shell.interference.high, shell.interference.best, shell.interference.low)))
    five = f"Try {fit.coupons} coupons of this recipe: push, twist and pull"
    line = line_for(max(gap_um.best, fit.line_clearance_least_um), rules)
    other = f"Take {line:.2f} mm line" if line is not None else "Drill anew"
    if held.means is Means.LINE and held.line_mm is None:
        return replace(shell, verdict=Verdict.STOP, says=f"loose: {gap_um.best:.0f} um and no line is named for it",
                       remedy=other)
    if retention_rule(held, d) is None:
        return replace(shell, verdict=Verdict.LOOK, says=f"{held.words}: no rule for so thin a rod", remedy=other)
    closing_um = held.line_mm * 1000 if held.line_mm is not None else \
        fit.line_clearance_least_um if held.means is Means.LACQUER else math.inf
    if closing_um <= gap_um.low:
        return replace(shell, verdict=Verdict.STOP, remedy=other,
                       says=f"{held.words} does not fill {gap_um.low:.0f} um: nothing holds it")
    push = calculated_push_N(held, d, gap_um, fit)
    if push is None:
        return replace(shell, says=f"{held.words}: no figure, coupons only", remedy=five)
    slip = rules.post.seat_friction_low / fit.table_friction  # slippery end
    verdict, says, remedy = Verdict.UNMEASURED, f"{held.words}: about {push.low:.0f}-{push.high:.0f} N to push", five
    if push.low < fit.push_least_N or push.high > rules.post.push_in_stop_N:
        verdict, remedy = Verdict.LOOK, f"{other}: {push.low:.0f} to {push.high:.0f} N are out of its window"
    return _held(seat, shell, push, push.low * fit.pull_share * slip, push.low * d / 2 * slip, measured=False,
                 verdict=verdict, says=says, remedy=remedy)
