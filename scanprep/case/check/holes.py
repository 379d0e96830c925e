"""Holes of one panel against each other and against its edges: spacing, meeting inside the sheet, void ones included.

A hole that was drilled and given up still weakens the sheet; one that was only marked is a scratch that a drill may run
into. The geometry is the panel's; here it becomes findings about objects. Face frame, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scanprep.brief import PanelBrief
from scanprep.case.placed import PlacedObject
from scanprep.case.record.state import RecordedHole
from scanprep.errors import InputError
from scanprep.findings import Check, Finding, Verdict
from scanprep.panel.anchor import SPACING_SOURCE, edge_check, meeting_check
from scanprep.panel.holes import hole_axis_mm
from scanprep.post.drill import parse_drill, point_length_mm
from scanprep.post.records import Hole
from scanprep.rules import Rulebook

_HALVED_mm = 0.005  # tolerance: of a distance found by halving

WIDEST_HOLE_mm = 12.7  # exact: half an inch, where AND10387 stops


@dataclass(frozen=True, slots=True)
class NamedHole:
    """A hole with the name people know it by."""

    name: str  # "object 14" or "void hole H3"
    hole: Hole
    real: bool = True  # False: void and never drilled, a scratch only


def reach_mm(rules: Rulebook) -> float:
    """Return how far apart two holes' axes may stand and still matter to each other: half-inch holes with their web."""
    return (1 + rules.post.web_diameters) * WIDEST_HOLE_mm + rules.post.web_mm


def void_holes(holes: Iterable[RecordedHole], panel: PanelBrief, rules: Rulebook) -> tuple[NamedHole, ...]:
    """Return a panel's void holes as geometry."""
    return tuple(
        NamedHole(f"void hole {h.number}", _void(h, rules), h.was_drilled)
        for h in holes if h.state == "void" and h.panel == panel.name
    )


def _void(hole: RecordedHole, rules: Rulebook) -> Hole:
    usual_mm = rules.post.seat_depth_mm + rules.post.extra_depth_mm
    width = drill_width_mm(hole.drill) or rules.case.unnoted_drill_mm
    angle = rules.post.drill_point_deg
    return Hole(hole.panel, hole.face, hole.from_left_mm, hole.y_mm, hole.drill or "", width, (),
                hole.depth_mm or usual_mm, point_length_mm(width, angle), angle, False, 0.0, "void")


def drill_width_mm(label: str | None) -> float | None:
    """Return the diameter of a catalogue drill by its label, or None where the catalogue has none such."""
    if not label:
        return None
    try:
        return parse_drill(label).diameter_mm
    except InputError:
        return None


def edge_finding(placed: PlacedObject, panel: PanelBrief, rules: Rulebook) -> Finding | None:
    """Return what is wrong with a hole's distance from the sheet's edges, if anything."""
    hole = placed.hole()
    if hole is None or hole.from_left_mm is None or hole.y_mm is None:
        return None
    check = edge_check(hole, panel, hole.from_left_mm, hole.y_mm, rules.panel)
    if check.verdict is Verdict.OK or check.value is None or check.limit is None:
        return None
    short = check.limit - check.value
    return Finding("hole-near-edge", f"object {placed.number}", check.verdict,
                   f"object {placed.number}: its hole is {check.value:.1f} mm from the edge of {panel.name}; "
                   f"{check.limit:.1f} mm are required", f"Move it {short:.1f} mm inwards", check.value, check.limit,
                   "mm")


def edge_clear_mm(hole: Hole, panel: PanelBrief, rules: Rulebook) -> float:
    """Return how far from the sheet's edges a hole's centre has to stay."""
    limit = edge_check(hole, panel, panel.width_mm / 2, panel.height_mm / 2, rules.panel).limit
    return panel.keep_clear_mm if limit is None else limit


def clear_spacing_mm(one: Hole, other: Hole, panel: PanelBrief, rules: Rulebook) -> float:
    """Return the least distance of two holes' axes at which no finding about them says stop."""

    def stops(apart_mm: float) -> bool:
        x = 0.0 if one.face == other.face else panel.width_mm
        a, b = replace(one, from_left_mm=0.0, y_mm=0.0), replace(other, from_left_mm=x, y_mm=apart_mm)
        check = meeting_check(a, b, panel, rules.post)
        return check.verdict is Verdict.STOP

    low, high = 0.0, reach_mm(rules)
    if not stops(low):
        return 0.0
    while high - low > _HALVED_mm:
        middle = (low + high) / 2
        low, high = (middle, high) if stops(middle) else (low, middle)
    return high


def pair_findings(one: NamedHole, other: NamedHole, panel: PanelBrief, rules: Rulebook) -> tuple[Finding, ...]:
    """Return what two holes of one panel do to each other: too near on a face, or meeting inside the sheet."""
    (ax, ay), (bx, by) = hole_axis_mm(one.hole, panel), hole_axis_mm(other.hole, panel)
    apart = math.hypot(ax - bx, ay - by)
    wide = max(one.hole.drill_diameter_mm, other.hole.drill_diameter_mm)
    least = rules.panel.hole_spacing_diameters * wide
    if apart > max(least, reach_mm(rules)):
        return ()
    real = one.real and other.real
    found = []
    meeting = meeting_check(one.hole, other.hole, panel, rules.post)
    if meeting.verdict is not Verdict.OK:
        found.append(_meeting(one, other, meeting, apart, real))
    if one.hole.face == other.hole.face and apart < least and meeting.verdict is not Verdict.STOP:
        found.append(Finding(
            "hole-spacing", one.name, Verdict.LOOK, f"{one.name} and {other.name}: hole centres {apart:.1f} mm apart; "
            f"{least:.1f} mm are required ({SPACING_SOURCE})", f"Move one of them {least - apart:.1f} mm away", apart,
            least, "mm"))
    return tuple(found)


def _meeting(one: NamedHole, other: NamedHole, check: Check, apart: float, real: bool) -> Finding:
    value, limit = check.value or 0.0, check.limit or 0.0
    same = one.hole.face == other.hole.face
    where = "on one face" if same else "from both faces"
    if check.verdict is Verdict.UNMEASURED:
        return Finding("hole-web-between", one.name, Verdict.UNMEASURED,
                       f"{one.name} and {other.name}: {value:.1f} mm of acrylic stay between their holes {where}, on "
                       "an unmeasured thickness", "Measure the sheet there", value, limit, "mm")
    verdict = Verdict.STOP if real else Verdict.LOOK
    touch = "meet inside the sheet" if value <= 0 else f"leave only {value:.1f} mm of acrylic between them"
    away = f"about {limit - value:.1f} mm away"
    remedy = f"Move one of them {away}" + ("" if same else ", or drill one of them less deep")
    if not real:
        remedy = f"The void one was only marked: clean the mark off, or move {away}"
    return Finding("hole-web-between", one.name, verdict, f"{one.name} and {other.name}: holes {where}, "
                   f"{apart:.1f} mm apart, {touch}; {limit:.1f} mm are required", remedy, value, limit, "mm")
