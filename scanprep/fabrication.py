"""The hold that counts, fabricated for the post that the case chose: hub, laps and arms; then post and hole for that.

While objects are studied the case's few diameters are not known: hubs are drawn for the post that each would take by
itself. Here the settled rod is known, and with it what every joint bears. The hub is made anew where the rod would lie
over its laps, the laps longer where their solder asks for it, within what a mountmaker would do. Tips, forces and the
attitude stay. Pure. Called by the pipeline for one hold of each object.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.findings import Finding, Verdict
from scanprep.held import Held, Keeping, anew, made_anew, of_object
from scanprep.hold.making.refit import fits, laps_covered_mm, made_for
from scanprep.hold.records import Hold, MadeFor
from scanprep.loads.records import ChainPart
from scanprep.post import plan_post, stocked_rods, thinnest_rod
from scanprep.post.records import PostNeed, PostPlan, Rod
from scanprep.post.remedy import with_remedy
from scanprep.post.retention import Retention
from scanprep.rules import Rulebook
from scanprep.spec import ObjectStudy

_ROUNDS = 3  # tolerance: times that a lap is made longer: the arms that begin further out bear something else
_AS_WEAK = 0.98  # tolerance: of a margin, what is no weaker


def rod_for(study: ObjectStudy, index: int, rules: Rulebook, case: CaseBrief | None) -> Rod:
    """Return the thinnest stocked rod that is enough for a hold; the thickest where none is, its checks then say by
    how much."""
    rods = stocked_rods(rules, case)
    thinnest = study.needs[index].thinnest or rods[-1]
    enough = [rod for rod in rods if rod.diameter_mm >= thinnest.diameter_mm - 1e-9]
    return min(enough, key=lambda rod: rod.diameter_mm, default=rods[-1])


def fabricate(one: Held, rod: Rod | None, rules: Rulebook, case: CaseBrief | None = None,
              panel: PanelBrief | None = None, retention: Retention | None = None, *, made: MadeFor | None = None,
              keeping: Keeping = anew) -> tuple[Held, PostPlan | None]:
    """Return the hold that counts on a hub made for its post, and its post and hole; no plan where there is no hold.

    rod        that the case settled for it; None for a loose scan: the thinnest that serves
    retention  what was chosen to hold its post; None: as the coupons were tried
    made       what its hub was made for, where the mount is made: that binds whatever is settled since

    A hub that cannot be made so stays as it was drawn, and a finding says what is wrong with it.
    """
    if one.index is None:
        return one, None
    bench = _Bench(of_object(rules, one.study.brief), case, panel, retention, keeping)
    rod = rod or rod_for(one.study, one.index, bench.rules, case)
    if made is None:
        one, plan = bench.made_for(one, rod)
    else:
        one = bench.remade(one, made)
        plan = bench.plan(one, rod)
    covered_mm = laps_covered_mm(_hold_of(one), rod.diameter_mm)
    return one, plan if covered_mm == 0.0 else replace(plan, findings=(*plan.findings, _hub_finding(
        one.study.brief.number, covered_mm, rod)))


def _hold_of(one: Held) -> Hold:
    if one.hold is None:
        raise ValueError("only a hold is fabricated")
    return one.hold


@dataclass(frozen=True, slots=True)
class _Bench:
    """What one object's mount is fabricated by."""

    rules: Rulebook
    case: CaseBrief | None
    panel: PanelBrief | None
    retention: Retention | None
    keeping: Keeping

    def plan(self, one: Held, rod: Rod) -> PostPlan:
        """The post and hole of the hold that counts."""
        study, hold = one.study, _hold_of(one)
        plan = self.keeping("plan", PostPlan, plan_post, hold, study.survey, rod, self.rules, self.case, self.panel,
                            study.brief.material, self.retention)
        enough = one.index is not None and study.needs[one.index].thinnest is not None
        return plan if enough else with_remedy(plan, hold, study.survey, rod, self.rules, self.case)

    def remade(self, one: Held, asked: MadeFor) -> Held:
        """The hold that counts on another hub; as it was where that fits already, or cannot be made."""
        hold = _hold_of(one)
        if fits(hold, asked):
            return one
        made = made_anew(one.study, hold, asked, self.rules, self.case, self.keeping)
        if not fits(made, asked):
            return one
        need = self.keeping("need", PostNeed, thinnest_rod, made, one.study.survey, self.rules, self.case)
        return one.with_hold(made, need)

    def made_for(self, one: Held, rod: Rod) -> tuple[Held, PostPlan]:
        """The hold that counts on a hub for a rod, with laps as long and arms as strong as they must be, and its plan.

        Laps and arms stay as usual where others cannot be made, or where the mount would then stop for what it did not,
        or be weaker at its weakest link: shorter and thicker arms are stiffer.
        """
        made = self.remade(one, replace(made_for(_hold_of(one)), post_mm=rod.diameter_mm))
        plan = self.plan(made, rod)
        for stronger in (True, False):
            better = self._better(made, plan, rod, stronger=stronger)
            if better is not None:
                return better
        return made, plan

    def _better(self, made: Held, plan: PostPlan, rod: Rod, *, stronger: bool) -> tuple[Held, PostPlan] | None:
        """The hold with laps, and where asked for arms, that bear what they must; None where it cannot be made."""
        found, judged = made, plan
        for _ in range(_ROUNDS):
            was = made_for(_hold_of(found))
            arms_ratio = was.arms_ratio * max(math.ceil(20 * _arms_ratio(judged)) / 20, 1.0) if stronger else 1.0
            asked = MadeFor(rod.diameter_mm, max(was.lap_mm, self._lap_mm(found, judged)), arms_ratio)
            if fits(_hold_of(found), asked):
                return found, judged
            found = self.remade(made, asked)
            if not fits(_hold_of(found), asked):
                return None
            judged = self.plan(found, rod)
            if _stops(judged) - _stops(plan) or _weakest(judged) < _AS_WEAK * _weakest(plan):
                return None
        return found, judged

    def _lap_mm(self, one: Held, plan: PostPlan) -> float:
        """How long the laps are to be made, in whole mm; no longer than anyone solders."""
        wire_mm = max((tip.arm.wire_mm for tip in _hold_of(one).tips), default=0.0)
        return float(min(math.ceil(plan.lap_mm), math.floor(self.rules.hold.lap_most_diameters * wire_mm)))


def _arms_ratio(plan: PostPlan) -> float:
    """How many times what it may an arm is stressed, where that stops the mount; at most 1 where it does not."""
    cells = () if plan.table is None else plan.table.cells
    return max((cell.demand / cell.resistance for cell in cells if cell.part is ChainPart.ARM and
                cell.verdict is Verdict.STOP and cell.demand is not None and cell.resistance), default=1.0)


def _stops(plan: PostPlan) -> set[str]:
    return {check.name for check in plan.checks if check.verdict is Verdict.STOP}


def _weakest(plan: PostPlan) -> float:
    found = [check.value for check in plan.checks if check.name == "weakest-link" and check.value is not None]
    return min(found, default=math.inf)


def _hub_finding(number: str, covered_mm: float, rod: Rod) -> Finding:
    """Say that a hub was drawn for a thinner post than the case settled."""
    return Finding("hub-post", f"object {number}", Verdict.LOOK,
                   f"object {number}: the hub is drawn for a post {2 * covered_mm:.1f} mm thinner than the "
                   f"{rod.label} rod, which would lie over the ends of its laps",
                   f"Make the hub {2 * covered_mm:.1f} mm larger and begin every lap {covered_mm:.1f} mm further out",
                   covered_mm, 0.0, "mm")
