"""Where a post's hole goes on a face, and whether the sheet has room for it there.

The anchor point is the hole's centre in the face's own coordinates, as its viewer sees them. Takes a plan that is not
placed, gives one that is. Used when an object gets its position, and again at every move.
"""

from __future__ import annotations

import math
from dataclasses import replace

from scanprep.brief import PanelBrief
from scanprep.findings import Check, Verdict, at_least
from scanprep.panel.faces import FaceName, datum_x_of
from scanprep.panel.holes import hole_gap_mm
from scanprep.post.records import Hole, PostPlan
from scanprep.post.seat import edge_hoop_ratio
from scanprep.rules import PanelRules, PostRules

_WORTH_WORDS = 0.005  # layout: of a share: less is not mentioned

EDGE_SOURCE = "common practice (from memory): two diameters"
SPACING_SOURCE = "common practice (from memory): three diameters"


def edge_distance_mm(panel: PanelBrief, from_left_mm: float, y_mm: float) -> float:
    """Return how far a point of a face is inside the sheet's nearest edge; negative outside."""
    return min(from_left_mm, panel.width_mm - from_left_mm, y_mm, panel.height_mm - y_mm)


def edge_check(hole: Hole, panel: PanelBrief, from_left_mm: float, y_mm: float, rules: PanelRules) -> Check:
    """Judge a hole's distance from the edges: diameters, the thickness, and what the order keeps clear."""
    least = max(rules.hole_edge_diameters * hole.drill_diameter_mm, panel.keep_clear_mm)
    inside = edge_distance_mm(panel, from_left_mm, y_mm)
    note = f"panel {panel.name} keeps {panel.keep_clear_mm:g} mm clear"
    if inside > hole.drill_diameter_mm:
        more = edge_hoop_ratio(hole.drill_diameter_mm, inside, rules.poisson) - 1
        note += f"; the edge raises the fit's tension by {more:.1%}" if more > _WORTH_WORDS else ""
    return at_least("hole-edge", inside, least, "mm", EDGE_SOURCE, note=note)


def place_anchor(plan: PostPlan, panel: PanelBrief, face: FaceName, from_left_mm: float, y_mm: float,
                 rules: PanelRules | None = None) -> PostPlan:
    """Return the plan with its hole placed on a face, and its edge distance judged.

    from_left_mm, y_mm  the hole's centre in the face's frame, as its viewer sees it
    """
    if face not in ("A", "B"):
        raise ValueError(f"a panel has faces A and B; got {face!r}")
    hole = replace(plan.hole, panel=panel.name, face=face, from_left_mm=from_left_mm, y_mm=y_mm,
                   datum_x_mm=datum_x_of(face, from_left_mm, panel.width_mm))
    judged = edge_check(hole, panel, from_left_mm, y_mm, rules or PanelRules())
    return replace(plan, hole=hole, checks=(*(c for c in plan.checks if c.name != judged.name), judged))


def web_limit_mm(a: Hole, b: Hole, rules: PostRules) -> float:
    """Return the acrylic that must stay between two holes: the web, or so many diameters of the wider one."""
    return max(rules.web_mm, rules.web_diameters * max(a.drill_diameter_mm, b.drill_diameter_mm))


def meeting_check(a: Hole, b: Hole, panel: PanelBrief, rules: PostRules) -> Check:
    """Judge the acrylic left between two placed holes, each drilled out of square by what the rules allow."""
    deep_mm = a.depth_mm + a.point_depth_mm + b.depth_mm + b.point_depth_mm
    lean = math.tan(math.radians(rules.drill_square_deg)) * deep_mm
    gap = max(0.0, hole_gap_mm(a, b, panel) - lean)
    note = f"{lean:.1f} mm taken off for holes {rules.drill_square_deg:g} deg out of square"
    if not panel.thickness_measured:
        note += "; measure the sheet here"
    return at_least("hole-web-between", gap, web_limit_mm(a, b, rules), "mm",
                    "exact gap; least thickness by ISO 7823-1", measured=panel.thickness_measured, under=Verdict.STOP,
                    note=note)
