"""Whether a panel stands: what both faces' objects do to it at every stage of hanging and taking down.

A sheet bends under the weight that hangs in front of its middle, for years, so lean and stress are judged with the
creep modulus; it sways and is pushed with the short-term one. Judged at the least thickness. Figures are aids: the
sheet, its foot and its fixing belong to an engineer. Takes the loads of one panel, gives checks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scanprep.brief import PanelBrief
from scanprep.findings import Check, Verdict, at_least, at_most
from scanprep.panel.faces import datum_x_of
from scanprep.panel.sheet import Ends, PointMass, Sheet, Strip
from scanprep.post.drill import least_thickness_mm
from scanprep.post.fit import continuous_stress_MPa
from scanprep.post.records import PostPlan
from scanprep.rules import PanelRules, Rulebook
from scanprep.units import weight_N

BEAM_SOURCE = "strip with P-delta (Vlasov); creep from memory"
HOLE_KT = 3.0  # exact: stress beside a small hole in a stretched sheet; Kirsch, from memory


@dataclass(frozen=True, slots=True)
class FaceLoad:
    """One object with its mount, hanging on a face."""

    face: str  # "A" or "B"
    from_left_mm: float  # face frame
    y_mm: float
    mass_g: float
    offset_mm: float  # its centre of mass from the sheet's mid-plane, > 0 out of its own face
    stage: int = 0  # when it is hung: 0 first
    measured: bool = True  # weighed


def load_of(plan: PostPlan, panel: PanelBrief, stage: int = 0) -> FaceLoad:
    """Return what a placed post hangs on its panel. Raises ValueError while its hole has no place."""
    hole, post = plan.hole, plan.post
    if hole.face is None or hole.from_left_mm is None or hole.y_mm is None:
        raise ValueError("this post's hole has not been placed on a face yet")
    return FaceLoad(hole.face, hole.from_left_mm, hole.y_mm, post.carried_g, panel.thickness_mm / 2 + post.reach_mm,
                    stage, post.mass_measured)


@dataclass(frozen=True, slots=True)
class Stage:
    """What hangs at one moment of hanging or taking down."""

    name: str
    loads: tuple[FaceLoad, ...]


def stages(loads: tuple[FaceLoad, ...]) -> tuple[Stage, ...]:
    """Return every state the panel goes through: step by step, one face full and the other empty, and all."""
    steps = sorted({load.stage for load in loads})
    found = [Stage(f"after step {step}", tuple(load for load in loads if load.stage <= step)) for step in steps[:-1]]
    for face, other in (("A", "B"), ("B", "A")):
        only = tuple(load for load in loads if load.face == face)
        if only and len(only) < len(loads):
            found.append(Stage(f"{face} full, {other} empty", only))
    return (*found, Stage("all hung", loads))


def sheet_of(panel: PanelBrief, rules: PanelRules) -> Sheet:
    """Return the sheet at its least thickness, short-term."""
    return Sheet(panel.width_mm, least_thickness_mm(panel.thickness_mm, panel.thickness_measured), panel.height_mm,
                 rules.youngs_modulus_MPa, rules.poisson, rules.density_kg_m3 * 1e-6)


def ends_of(panel: PanelBrief, sheet: Sheet, *, top_held: bool | None = None) -> Ends:
    """Return how a panel is held; a flexible foot of unknown stiffness is taken as soft as the sheet, 3 E I / h."""
    held = panel.top_restraint if top_held is None else top_held
    if panel.foot == "four corners":
        return Ends(None, foot_pinned=True, top_held=True)
    if panel.foot == "flexible":
        spring = panel.foot_stiffness_Nmm_per_rad
        if spring is None:
            spring = 3 * sheet.modulus_MPa * sheet.inertia_mm4 / sheet.height_mm
        return Ends(spring, top_held=held)
    return Ends(None, top_held=held)


def masses_of(loads: tuple[FaceLoad, ...], panel: PanelBrief) -> tuple[PointMass, ...]:
    """Return loads as masses in the panel frame, x from the middle of the width, offsets + in front of face A."""
    found = []
    for load in loads:
        front = load.face == "A"
        x_mm = datum_x_of(load.face, load.from_left_mm, panel.width_mm)
        found.append(PointMass(load.y_mm, x_mm - panel.width_mm / 2, load.offset_mm if front else -load.offset_mm,
                               load.mass_g))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a panel stands at one stage, after years."""

    stage: str
    lean_mm: float  # greatest sideways
    lean_now_mm: float  # at once, short-term
    twist_deg: float
    foot_Nmm: float
    stress_MPa: float  # greatest in bending


@dataclass(frozen=True, slots=True)
class Swaying:
    """How a panel sways at one stage, and how near it is to falling over by itself."""

    stage: str
    bending_Hz: tuple[float, ...]
    torsion_Hz: tuple[float, ...]
    buckling_share: float  # times the weight of today, long-term


def strip_of(stage: Stage, panel: PanelBrief, rules: PanelRules, *, top_held: bool | None = None) -> Strip:
    """Return the panel as a strip with what hangs on it at a stage; `top_held` overrules the panel's own top."""
    sheet = sheet_of(panel, rules)
    return Strip(sheet, masses_of(stage.loads, panel), ends_of(panel, sheet, top_held=top_held))


def standing(stage: Stage, panel: PanelBrief, rules: PanelRules, *, top_held: bool | None = None) -> Standing:
    """Return lean, twist and stress of the panel at one stage."""
    strip, creep = strip_of(stage, panel, rules, top_held=top_held), rules.creep_modulus_MPa
    load = strip.load()
    later, now = strip.bent_mm(load, creep), strip.bent_mm(load)
    twisted = strip.twisted_rad(strip.twist_load(), creep)
    return Standing(
        stage.name, float(max(abs(later[::2]))), float(max(abs(now[::2]))),
        math.degrees(float(max(abs(twisted[::2])))), strip.foot_moment_Nmm(load, later, creep),
        strip.greatest_moment_Nmm(later, creep) / strip.sheet.modulus_mm3)


def swaying(stage: Stage, panel: PanelBrief, rules: PanelRules, *, top_held: bool | None = None) -> Swaying:
    """Return the modes of the panel at one stage. Every object more makes it slower and nearer to buckling."""
    strip = strip_of(stage, panel, rules, top_held=top_held)
    return Swaying(stage.name, strip.frequencies_Hz(), strip.frequencies_Hz(2, twisting=True),
                   strip.buckling_share(rules.creep_modulus_MPa))


def _measured(panel: PanelBrief, loads: tuple[FaceLoad, ...]) -> bool:
    return panel.thickness_measured and foot_known(panel) and all(load.measured for load in loads)


def foot_known(panel: PanelBrief) -> bool:
    """Return whether somebody measured or designed how the panel is held at its foot: "clamped" alone is a bound."""
    return panel.foot_known != "assumed" or panel.foot_stiffness_Nmm_per_rad is not None


def _want(panel: PanelBrief) -> str:
    if panel.thickness_measured:
        return ""
    thinnest = least_thickness_mm(panel.thickness_mm, False)
    return f"; judged at {thinnest:.1f} mm, the least of a nominal {panel.thickness_mm:g} mm sheet: measure it"


def judge_panel(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook) -> tuple[Check, ...]:
    """Return the checks of one panel under both faces' loads at every stage.

    loads  masses at their heaviest, each with its face, place and offset from the sheet's mid-plane
    """
    seen = [standing(stage, panel, rules.panel) for stage in stages(loads)]
    slowest = swaying(stages(loads)[-1], panel, rules.panel)
    known = _measured(panel, loads)
    return (
        _first_mode(panel, seen, slowest, loads, rules, known), _lean(panel, seen, rules, known),
        _twist(panel, seen, rules, known), _stress(panel, seen, rules, known),
        _buckling(panel, slowest, rules, known), *_pushes(panel, loads, rules, known),
        _floor_weight(panel, loads, rules),
    )


def _foot_note(panel: PanelBrief) -> str:
    if panel.foot == "flexible":
        return ("foot spring as given" if panel.foot_stiffness_Nmm_per_rad else
                "foot taken as soft as the sheet, assumed: measure its turning under a known push")
    if panel.foot == "four corners":
        return "held at four corners"
    return f"foot clamped as {panel.foot_known}" if foot_known(panel) else \
        "foot taken as clamped, a bound: a real one turns; measure or design it"


def _first_mode(panel: PanelBrief, seen: list[Standing], slowest: Swaying, loads: tuple[FaceLoad, ...],
                rules: Rulebook, known: bool) -> Check:
    held = panel.top_restraint or panel.foot == "four corners"
    note = (f"{slowest.stage}: bending {slowest.bending_Hz[0]:.2f} Hz, twisting {slowest.torsion_Hz[0]:.1f} Hz; "
            f"walking is 1.6 to 2.4 Hz; {_foot_note(panel)}")
    if not held:
        whole = Stage("all hung", loads)
        faster = swaying(whole, panel, rules.panel, top_held=True)
        straighter = standing(whole, panel, rules.panel, top_held=True)
        note += (f"; a top restraint would give {faster.bending_Hz[0]:.1f} Hz and lean {straighter.lean_mm:.1f} mm "
                 f"instead of {max(b.lean_mm for b in seen):.1f} mm")
    return at_least("panel-first-mode", slowest.bending_Hz[0], rules.panel.least_frequency_Hz, "Hz", BEAM_SOURCE,
                    under=Verdict.LOOK if held else Verdict.STOP, measured=known, note=note + _want(panel))


def _lean(panel: PanelBrief, seen: list[Standing], rules: Rulebook, known: bool) -> Check:
    worst = max(seen, key=lambda b: b.lean_mm)
    return at_most("panel-lean", worst.lean_mm, panel.height_mm * rules.panel.lean_share, "mm", BEAM_SOURCE,
                   over=Verdict.LOOK, measured=known,
                   note=f"{worst.stage}: {worst.lean_now_mm:.1f} mm at once, {worst.lean_mm:.1f} mm after years; hang "
                        f"faces in turns to keep it down; {_foot_note(panel)}{_want(panel)}")


def _twist(panel: PanelBrief, seen: list[Standing], rules: Rulebook, known: bool) -> Check:
    worst = max(seen, key=lambda b: b.twist_deg)
    return at_most("panel-twist", worst.twist_deg, rules.panel.twist_deg, "deg", BEAM_SOURCE, over=Verdict.LOOK,
                   measured=known, note=f"{worst.stage}; weights hung to one side{_want(panel)}")


def _stress(panel: PanelBrief, seen: list[Standing], rules: Rulebook, known: bool) -> Check:
    worst = max(seen, key=lambda b: b.stress_MPa)
    return at_most("panel-stress", worst.stress_MPa * HOLE_KT, continuous_stress_MPa(rules, panel.grade), "MPa",
                   f"{BEAM_SOURCE}; Kirsch", measured=known,
                   note=f"{worst.stage}: {worst.stress_MPa:.2f} MPa in the plain sheet, grade {panel.grade}"
                        f"{_want(panel)}")


def _buckling(panel: PanelBrief, slowest: Swaying, rules: Rulebook, known: bool) -> Check:
    return at_least("panel-buckling", slowest.buckling_share, rules.panel.buckling_safety, "times", "Timoshenko, "
                    "column under its own weight (from memory)", measured=known,
                    note=f"{slowest.stage}, creep modulus: times today's weight until it falls over by itself"
                         f"{_want(panel)}")


def _pushes(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook, known: bool) -> tuple[Check, ...]:
    sheet = sheet_of(panel, rules.panel)
    strip = Strip(sheet, masses_of(loads, panel), ends_of(panel, sheet))
    found = []
    hand_mm = max(0.0, rules.panel.push_height_mm - panel.stands_at_mm)
    for name, at_mm in (("panel-push", min(hand_mm, panel.height_mm)), ("panel-push-top", panel.height_mm)):
        moved = strip.bent_mm(strip.load(moments=False, push_N=rules.panel.push_N, push_at_mm=at_mm))
        edge = strip.twisted_rad(strip.twist_load(rules.panel.push_N, at_mm) - strip.twist_load())
        found.append(at_most(
            name, float(max(abs(moved[::2]))), rules.panel.push_move_mm, "mm", f"{BEAM_SOURCE}; push assumed",
            over=Verdict.LOOK, measured=known,
            note=f"{rules.panel.push_N:g} N at {at_mm:.0f} mm; at the edge it also twists "
                 f"{math.degrees(float(max(abs(edge[::2])))):.2f} deg{_want(panel)}"))
    return tuple(found)


def _floor_weight(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook) -> Check:
    thick = panel.thickness_mm if panel.thickness_measured else panel.thickness_mm * 1.1 + 0.4
    sheet_g = rules.panel.density_kg_m3 * 1e-6 * panel.width_mm * panel.height_mm * thick
    value = weight_N(sheet_g + sum(load.mass_g for load in loads))
    return Check("panel-floor-weight", value, None, "N", None,
                 f"density {rules.panel.density_kg_m3:g} kg/m3; masses at their heaviest",
                 Verdict.UNMEASURED, f"sheet {sheet_g / 1000:.1f} kg with {len(loads)} objects; the floor and its "
                 "fixing are the engineer's to confirm")
