"""How far an object sinks, nods and rolls: what is bent away before it hangs, what is in doubt, what years add.

Droop and slope that a mountmaker trims are a pre-set for the sheet, not a reason for a thick rod; only what cannot be
trimmed, the creep of hole and pads, decides a diameter.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from scanprep.findings import Check, Verdict, at_most
from scanprep.post.assessment import RodAssessment, gives_noted
from scanprep.post.bearing import bed_bearing, two_sided_bearing
from scanprep.post.compliance import Contribution
from scanprep.post.loads import standing_load
from scanprep.post.trimmed import Sunk
from scanprep.rules import PostRules

BEAM_SOURCE = "Roark; Hetényi; space frame; bed and pads from memory"
TRIM_SOURCE = "Roark; Hetényi; space frame; trim assumed"


def _shares(case: RodAssessment, of: Callable[[Contribution], float], unit: str) -> str:
    parts = sorted(case.parts, key=lambda part: -abs(of(part)))
    return ", ".join(f"{part.name} {of(part):.3f} {unit}" for part in parts[:4])


def droop(case: RodAssessment) -> Check:
    """How far the object's centre sinks, all members, untrimmed: the mount is bent up by as much."""
    value, trim = max(0.0, sum(part.droop_mm for part in case.parts)), case.trim
    note = (f"{_shares(case, lambda p: p.droop_mm, 'mm')}; set the mount {trim.preset.droop_mm:.1f} mm high, give or "
            f"take {trim.left.droop_mm:.1f}")
    return gives_noted(case, at_most("post-droop", value, case.rules.loads.trim_most_mm, "mm", TRIM_SOURCE,
                                     measured=case.gives_measured, over=Verdict.LOOK, note=note))


def clearance_tilt_deg(case: RodAssessment) -> float:
    """Return how far a loose rod leans more than a snug one; about c / L, more as it bears on less of its length."""
    if case.fit.clearance_mm == 0:
        return 0.0
    load, member = standing_load(case.carried), case.later
    given = (load.shear_N, load.bending_Nmm, member.seat_depth_mm, member.modulus_MPa * member.section.inertia_mm4,
             member.bed_MPa)
    loose = two_sided_bearing(*given, -case.fit.clearance_mm / 2)
    return math.degrees(loose.mouth_slope_rad - bed_bearing(*given).mouth_slope_rad)


def slope(case: RodAssessment) -> Check:
    """How far the object nods forward, all members and the play in the hole, untrimmed."""
    nod, tilt = sum(part.nod_deg for part in case.parts), clearance_tilt_deg(case)
    up = case.trim.preset.nod_deg + tilt
    note = (f"{_shares(case, lambda p: p.nod_deg, 'deg')}, play {tilt:.3f} deg; bend {'up' if up >= 0 else 'down'} by "
            f"{abs(up):.2f} deg, give or take {case.trim.left.nod_deg:.2f}")
    return gives_noted(case, at_most("post-slope", abs(nod) + tilt, case.rules.loads.trim_most_deg, "deg", TRIM_SOURCE,
                                     measured=case.gives_measured, over=Verdict.LOOK, note=note))


def roll(case: RodAssessment) -> Check:
    """How far the object turns about the post by winding up rod and arms, untrimmed."""
    value = abs(sum(part.roll_deg for part in case.parts))
    note = (f"weight {case.carried.level_offset_mm:.1f} mm off the axis; turn the clock mark back by "
            f"{abs(case.trim.preset.roll_deg):.2f} deg, give or take {case.trim.left.roll_deg:.2f}")
    return gives_noted(case, at_most("post-roll", value, case.rules.loads.trim_most_deg, "deg", TRIM_SOURCE,
                                     measured=case.gives_measured, over=Verdict.LOOK, note=note))


def _nearest(sunk: Sunk, post: PostRules) -> tuple[float, float, str]:
    """Droop, nod or roll, whichever is nearest its limit: value, limit, unit."""
    return max(((abs(sunk.droop_mm), post.droop_mm, "mm"), (abs(sunk.nod_deg), post.slope_deg, "deg"),
                (abs(sunk.roll_deg), post.roll_deg, "deg")), key=lambda one: one[0] / one[1])


def creep(case: RodAssessment) -> Check:
    """What years add after trimming to droop, slope or roll, whichever is nearest its limit: no one bends that away."""
    more, years = case.trim.creep, case.rules.loads.years
    value, limit, unit = _nearest(more, case.rules.post)
    note = f"{more.droop_mm:.2f} mm and {more.nod_deg:.2f} deg more in {years:g} years, hole and pads"
    return gives_noted(case, at_most("post-creep", value, limit, unit, "Hetényi; creep from memory",
                                     measured=case.gives_measured, over=Verdict.LOOK, note=note))


def preset(case: RodAssessment) -> Check:
    """How far off the pre-set may be when the object is first hung: trim once more where it shows."""
    left, up = case.trim.left, case.trim.preset
    value, limit, unit = _nearest(left, case.rules.post)
    note = (f"pre-set {up.droop_mm:.1f} mm and {up.nod_deg:.2f} deg; left in doubt {left.droop_mm:.2f} mm and "
            f"{left.nod_deg:.2f} deg either way: hang it once and trim again where it shows")
    return gives_noted(case, at_most("post-preset", value, limit, unit, BEAM_SOURCE, measured=case.gives_measured,
                                     over=Verdict.LOOK, note=note))


def aim(case: RodAssessment) -> Check:
    """Where the post may point: what the pre-set leaves in doubt, and a hole drilled out of square."""
    known = case.square_deg is not None
    square = case.rules.post.drill_square_deg if case.square_deg is None else case.square_deg
    value, limit = case.trim.left.nod_deg + square, case.rules.post.slope_deg
    off_mm = math.tan(math.radians(square)) * case.carried.front_mm
    verdict = Verdict.UNMEASURED if not known or not case.gives_measured else \
        Verdict.OK if value <= limit else Verdict.LOOK
    told = f"a hole {square:g} deg out of square moves the object's front {off_mm:.1f} mm"
    how = "as this drilling set-up was found to be" if known else \
        "stand a long rod in the drilled hole, measure it against a square, and enter it as measured_squareness"
    return Check("post-aim", value, limit, "deg", limit / value if value > 0 else math.inf,
                 "measured" if known else "drill squareness assumed", verdict,
                 f"{told}; {how}; trim the mount to suit")
