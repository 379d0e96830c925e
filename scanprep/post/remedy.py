"""What would help where even the thickest rod in stock is not enough: a thicker one, or standing nearer to the panel.

Both are worked out, not guessed: every solid rod of the rod table is tried, stocked or not, and every stand-off down to
the tool room that soldering and bending want. Called once for such an object, after its post was planned with the
thickest stocked rod all the same, its checks failing openly.
"""

from __future__ import annotations

from dataclasses import replace

from scanprep.brief import CaseBrief
from scanprep.findings import Check, Finding, loudest
from scanprep.hold.records import Hold
from scanprep.materials import metal_name
from scanprep.post.judge import fails, judged
from scanprep.post.loads import carried_by, rear_mm
from scanprep.post.plan import rod_table, serves, try_rod
from scanprep.post.records import PostPlan, Rod
from scanprep.rules import Rulebook
from scanprep.survey.records import Survey

_STEP_MM = 1.0  # tolerance: a stand-off is asked for in whole millimetres
_NO_WAY = ("no rod of the table and no nearer stand-off is enough: two posts, a shelf or a bracket; or, if it only "
           "droops, bend the mount up by what the checks say")


def failing(hold: Hold, survey: Survey, rod: Rod, rules: Rulebook, case: CaseBrief | None) -> tuple[Check, ...]:
    """Return the checks that a rod does not pass and a thicker one could mend, worst first."""
    tried = try_rod(carried_by(hold, survey, rules.post), rod, rules, case)
    return fails(tried, judged(tried))


def enough_rod(hold: Hold, survey: Survey, rules: Rulebook, case: CaseBrief | None, above_mm: float) -> Rod | None:
    """Return the thinnest solid rod of the table thicker than `above_mm` that would serve, in stock or not."""
    alloy = metal_name(rules.post.rod_material)
    for system, form, rod in rod_table():
        if rules.post.rod_system in ("both", system) and form != "wire" and rod.bore_mm == 0 \
                and rod.diameter_mm > above_mm + 1e-9 and serves(rod.material, alloy) \
                and not failing(hold, survey, replace(rod, material=alloy), rules, case):
            return rod
    return None


def enough_stand_off_mm(hold: Hold, survey: Survey, rod: Rod, rules: Rulebook, case: CaseBrief | None
                        ) -> float | None:
    """Return the greatest whole stand-off, below the one asked for, at which a rod would serve; None where none does.

    Never nearer than the tool room or than the hub needs.
    """
    asked, post = rules.post.stand_off_mm, rules.post
    least = max(rules.hold.tool_room_mm, post.least_free_length_mm + hold.back_mm - hold.attach_mm[2],
                post.wire_clear_mm + hold.back_mm - rear_mm(hold))
    steps = int((asked - least) / _STEP_MM)
    for step in range(1, steps + 1):
        nearer = replace(rules, post=replace(post, stand_off_mm=asked - step * _STEP_MM))
        if not failing(hold, survey, rod, nearer, case):
            return asked - step * _STEP_MM
    return None


def with_remedy(plan: PostPlan, hold: Hold, survey: Survey, rod: Rod, rules: Rulebook, case: CaseBrief | None
                ) -> PostPlan:
    """Return a plan on the thickest stocked rod with one finding that says what would serve better.

    The plan as it is where the rod serves after all.
    """
    bad = failing(hold, survey, rod, rules, case)
    if not bad:
        return plan
    thicker = enough_rod(hold, survey, rules, case, rod.diameter_mm)
    nearer = enough_stand_off_mm(hold, survey, rod, rules, case)
    ways = [f"stock {thicker.label} rod ({thicker.diameter_mm:.1f} mm)"] if thicker else []
    ways += [f"ask for a stand-off of {nearer:g} mm"] if nearer is not None else []
    remedy = " or ".join(ways) or _NO_WAY
    why = "; ".join(f"{check.name.removeprefix('post-').replace('-', ' ')} {check.value:.2g} {check.unit} "
                    f"against {check.limit:.2g}" for check in bad)
    told = Finding("rod-too-thin", "", loudest(check.verdict for check in bad),
                   f"the thickest rod in stock, {rod.label}, is too thin for it: {why}",
                   remedy[0].upper() + remedy[1:], bad[0].value, bad[0].limit, bad[0].unit)
    return replace(plan, findings=(*plan.findings, told), told_of=tuple(check.name for check in bad))
