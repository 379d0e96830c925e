"""The hole for a post: how deep, how it ends, what is left behind it, what shows from either face.

Blind in a thick sheet, with the drill's point and a little air beyond the seat; through a thin one. A cast sheet may be
a tenth thinner than ordered, so until it is measured every depth is taken for the least it can be, and none is final.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scanprep.brief import PanelBrief
from scanprep.findings import Check, Verdict, at_least
from scanprep.post.drill import DrillChoice, drill_name, hole_volume_mm3, least_thickness_mm, point_length_mm
from scanprep.post.records import Hole
from scanprep.rules import Rulebook

AIR_MPa = 0.101325  # exact: standard atmosphere


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """What is known of the sheet that will be drilled."""

    least_mm: float
    measured: bool
    grade: str


def sheet_facts(rules: Rulebook, panel: PanelBrief | None) -> SheetFacts:
    """Return the sheet's least thickness and grade; without a panel a nominal unmeasured sheet stands in."""
    if panel is None:
        return SheetFacts(least_thickness_mm(rules.post.sheet_thickness_mm, False), False, "unknown")
    return SheetFacts(least_thickness_mm(panel.thickness_mm, panel.thickness_measured), panel.thickness_measured,
                      panel.grade)


def _blind_room_mm(diameter_mm: float, rules: Rulebook, sheet: SheetFacts) -> float:
    post = rules.post
    # the drill that a coupon picks may be a size up: its point is a little longer
    diameter_mm *= post.next_drill_ratio
    return sheet.least_mm - post.web_mm - point_length_mm(diameter_mm, post.drill_point_deg) - post.extra_depth_mm


def goes_through(diameter_mm: float, rules: Rulebook, panel: PanelBrief | None) -> bool:
    """Whether the sheet is too thin for a blind hole of two diameters with its web."""
    room = _blind_room_mm(diameter_mm, rules, sheet_facts(rules, panel))
    return room < rules.post.least_blind_diameters * diameter_mm


def seat_depth_mm(diameter_mm: float, rules: Rulebook, panel: PanelBrief | None) -> float:
    """Return the seat: as asked where its web stays at the least thickness, less to the half millimetre otherwise.

    In a sheet too thin for a blind hole the seat is the whole least thickness.
    """
    sheet = sheet_facts(rules, panel)
    if goes_through(diameter_mm, rules, panel):
        return min(rules.post.seat_depth_mm, sheet.least_mm)
    room = _blind_room_mm(diameter_mm, rules, sheet)
    return rules.post.seat_depth_mm if room >= rules.post.seat_depth_mm else math.floor(room * 2) / 2


def trapped_air_N(hole: Hole, seat_mm: float) -> float:
    """Return how hard the air shut in a blind hole pushes a tight post back, had it no vent flat (Boyle).

    >>> hole = Hole(None, None, None, None, "", 6.0, (), 21.5, 1.8026, 118, False, 6)
    >>> round(trapped_air_N(hole, 20.0), 1)
    27.3
    """
    area = math.pi / 4 * hole.drill_diameter_mm**2
    whole = hole_volume_mm3(hole.drill_diameter_mm, hole.depth_mm, hole.point_angle_deg)
    left = whole - area * min(seat_mm, hole.depth_mm)
    return AIR_MPa * (whole / left - 1) * area


def planned_hole(choice: DrillChoice, seat_mm: float, rules: Rulebook, panel: PanelBrief | None) -> Hole:
    """Return the hole for a chosen drill, not yet placed on a face."""
    post, sheet = rules.post, sheet_facts(rules, panel)
    d = choice.drill.diameter_mm
    through = goes_through(d, rules, panel)
    tip_mm = point_length_mm(d, post.drill_point_deg)
    depth_mm = seat_mm if through else seat_mm + post.extra_depth_mm
    web_mm = 0.0 if through else sheet.least_mm - depth_mm - tip_mm
    hole = Hole(
        panel=None, face=None, from_left_mm=None, y_mm=None, drill=drill_name(choice.drill), drill_diameter_mm=d,
        brackets=tuple(drill_name(drill) for drill in choice.brackets), depth_mm=depth_mm, point_depth_mm=tip_mm,
        point_angle_deg=post.drill_point_deg, through=through, web_mm=web_mm)
    return replace(hole, shows=what_shows(hole))


def mock_up_hole(hole: Hole, rules: Rulebook) -> Hole:
    """Return the same hole as it is drilled through the thin sheet of a mock-up: same place, same drill."""
    through = replace(hole, through=True, depth_mm=rules.post.mock_up_thickness_mm, web_mm=0.0)
    return replace(through, shows=what_shows(through))


def what_shows(hole: Hole) -> str:
    """Return what each face's viewer sees of a hole, in one sentence."""
    if hole.through:
        return ("seen from both faces as a grey tube with the rod's end in it: face that end off flush and dab it with "
                "the hole's grey")
    return (f"seen from its own face as the rod's ring, from the other as a grey disc of {hole.drill_diameter_mm:.1f} "
            f"mm with the drill's cone, at least {hole.web_mm:.0f} mm behind the surface: dab only the post's inner "
            "end")


def hole_checks(hole: Hole, seat_mm: float, rod_mm: float, rules: Rulebook,
                panel: PanelBrief | None) -> tuple[Check, ...]:
    """Return what is judged about a hole alone: what stays behind it, how deep the seat is, how air gets out."""
    sheet = sheet_facts(rules, panel)
    ask = "" if sheet.measured else "; measure the sheet at the hole, no depth is final before"
    seat = at_least("hole-seat", seat_mm, rules.post.least_seat_diameters * rod_mm, "mm",
                    "common practice: three diameters", measured=sheet.measured, under=Verdict.LOOK,
                    note=f"{rules.post.seat_depth_mm:g} mm asked{ask}")
    if hole.through:
        return (seat,)
    web = at_least("hole-web", hole.web_mm, rules.post.web_mm, "mm", "ISO 7823-1 thickness; web assumed",
                   measured=sheet.measured, note=f"left to the far face at the least thickness{ask}")
    return (web, seat)


def fitting_note(hole: Hole, seat_mm: float, rules: Rulebook) -> str:
    """Return how the post is pushed in: bare metal in the seat, air let out of a blind hole."""
    bare = f"no paint or lacquer on the last {seat_mm:.1f} mm: 25 um a side is already too tight"
    if hole.through:
        return bare
    return (f"{bare}; file a flat {rules.post.vent_flat_mm:g} mm deep along the seat: shut in, the air would push a "
            f"tight post back with {trapped_air_N(hole, seat_mm):.0f} N")
