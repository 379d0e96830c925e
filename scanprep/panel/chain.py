"""The load table of one panel: the sheet at its holes, the sheet, its foot and its top fixing, and their reactions.

Every load case at the worst stage of hanging. Demands on foot and top are unfactored; what the fixings bear is entered
from their design (`foot_moment_limit_Nmm`, `top_limit_N` of the panel in case.toml), else they are not rated. A
"clamped" foot that nobody measured or designed is a bound: the sheet is judged with a foot that turns as well. N, N mm,
MPa, mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.findings import Check, Verdict, at_most
from scanprep.loads import cases as case
from scanprep.loads.cases import load_cases
from scanprep.loads.records import (
    PANEL_PARTS,
    Cell,
    ChainPart,
    LoadCase,
    LoadTable,
    borne,
    spared,
    unrated,
    weakest_check,
    whole_table,
)
from scanprep.loads.site import Shake, shake_of
from scanprep.loads.states import SheetStates, sheet_states
from scanprep.panel.reactions import Reaction, bowed_load, greatest, reaction, shaken_load, total_weight_N
from scanprep.panel.resonance import transmissibility
from scanprep.panel.sheet import Strip
from scanprep.panel.strength import HOLE_KT, FaceLoad, Stage, foot_known, stages, strip_of
from scanprep.rules import Rulebook
from scanprep.units import G_M_S2

STRIP_SOURCE = "strip with P-delta (Vlasov)"
SAYS = "the engineer's design of the fixing"


@dataclass(frozen=True, slots=True, eq=False)
class PanelChain:
    """One panel with what its cells need."""

    panel: PanelBrief
    rules: Rulebook
    strips: tuple[Strip, ...]  # a stage of hanging each, with each way its foot may be
    shake: Shake
    states: SheetStates
    measured: bool
    fit_MPa: float  # the most that any post's fit and bearing put round its hole
    first_Hz: float
    highest_mm: float  # the highest hole
    cases: tuple[LoadCase, ...]
    barrier: str


def panel_chain(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook, brief: CaseBrief | None = None,
                fit_MPa: float | None = None) -> PanelChain:
    """Return a panel's chain.

    loads    as for `judge_panel`
    fit_MPa  the most that a post's fit and bearing put round a hole; None: half of the continuous limit
    """
    site = brief or CaseBrief("")
    variants = [panel]
    if panel.foot == "clamped" and not foot_known(panel):
        variants.append(replace(panel, foot="flexible"))
    # bare, one face, the other, both: what foot and top carry step by step lies between these
    whole = [stage for stage in stages(loads) if not stage.name.startswith("after")] if loads else []
    found = [Stage("bare", ()), *whole]
    strips = tuple(strip_of(stage, one, rules.panel) for one in variants for stage in found)
    first_Hz = min(strip.frequencies_Hz(1)[0] for strip in strips)
    shake = shake_of(site, first_Hz or rules.loads.step_low_Hz)  # what falls over by itself is flexible
    states = sheet_states(rules.panel, rules.loads, panel.grade, site.damp)
    share = rules.post.fit_share * states.years_MPa if fit_MPa is None else fit_MPa
    known = panel.thickness_measured and all(load.measured for load in loads) and foot_known(panel)
    highest_mm = max((load.y_mm for load in loads), default=panel.height_mm / 2)
    return PanelChain(panel, rules, strips, shake, states, known, share, first_Hz, highest_mm,
                      load_cases(rules.loads, rules.post, rules.panel, site.acceleration_g, shake.vertical_g),
                      site.barrier)


def _every(key: str, chain: PanelChain, of: Callable[[Strip], Reaction]) -> Reaction:
    return greatest(key, [of(strip) for strip in chain.strips])


def reactions(chain: PanelChain) -> tuple[Reaction, ...]:
    """Return what each load case asks of foot and top, weight included, unfactored; the worst of all stages."""
    rules, shake = chain.rules, chain.shake
    panel_rules = rules.panel
    hand_mm = min(max(0.0, panel_rules.push_height_mm - chain.panel.stands_at_mm), chain.panel.height_mm)
    creep = chain.states.long_modulus_MPa

    def pushed(key: str, at_mm: float) -> Reaction:
        return _every(key, chain, lambda strip: greatest(key, [
            reaction(key, strip, strip.load(push_N=sign * panel_rules.push_N, push_at_mm=at_mm),
                     along_N=panel_rules.push_N, along_at_mm=at_mm,
                     twist_Nmm=panel_rules.push_N * strip.sheet.width_mm / 2) for sign in (1.0, -1.0)]))

    def shaken(key: str, level_g: float, upright_g: float) -> Reaction:
        return _every(key, chain, lambda strip: greatest(key, [
            reaction(key, strip, strip.load() + shaken_load(strip, sign * level_g, upright * upright_g),
                     along_N=level_g * total_weight_N(strip), along_at_mm=centre_mm(strip),
                     twist_Nmm=level_g * twist_Nmm(strip), vertical_g=upright_g)
            for sign in (1.0, -1.0) for upright in (1.0, -1.0)]))

    walk_g = walking_g(chain)
    return (
        _every(case.WEIGHT, chain, lambda strip: reaction(case.WEIGHT, strip, strip.load())),
        _every(case.YEARS, chain, lambda strip: reaction(case.YEARS, strip, strip.load(), modulus_MPa=creep)),
        shaken(case.SHAKE, shake.horizontal_g, shake.vertical_g if shake.vertical_g != shake.horizontal_g else 0.0),
        shaken(case.LIFT, 0.0, shake.vertical_g),
        pushed(case.PUSH_SHEET, hand_mm), pushed(case.PUSH_TOP, chain.panel.height_mm),
        pushed(case.PUSH_OBJECT, chain.highest_mm),
        _every(case.ONE_SIDE_WARM, chain, lambda strip: bowed(strip, chain)),
        shaken(case.WALKING, walk_g, 0.0),
    )


def bowed(strip: Strip, chain: PanelChain) -> Reaction:
    """Return what one warm face asks: a free sheet bows, a held one presses."""
    rules = chain.rules
    free_per_mm = rules.panel.alpha_per_K * rules.loads.one_side_warm_C / strip.sheet.thickness_mm
    return reaction(case.ONE_SIDE_WARM, strip, bowed_load(strip, free_per_mm), free_per_mm=free_per_mm)


def centre_mm(strip: Strip) -> float:
    """Return the height of the centre of mass of sheet and objects."""
    sheet_g = strip.sheet.mass_g
    hung = sum(mass.mass_g * mass.y_mm for mass in strip.masses)
    return (sheet_g * strip.sheet.height_mm / 2 + hung) / (sheet_g + sum(mass.mass_g for mass in strip.masses))


def twist_Nmm(strip: Strip) -> float:
    """Return the twist about the upright middle line by 1 g along or across, of what hangs off it and beside it."""
    pulls = [(mass.mass_g * 1e-3 * G_M_S2, mass) for mass in strip.masses]
    return float(max(abs(sum(pull * mass.offset_mm for pull, mass in pulls)),
                     abs(sum(pull * mass.x_mm for pull, mass in pulls))))


def walking_g(chain: PanelChain) -> float:
    """Return how hard steps sway the panel: the floor's swing by how many times the panel makes it.

    In step where a step's rate or one of its harmonics meets the panel's first mode.
    """
    rules = chain.rules.loads
    rates = [rules.step_high_Hz * k for k in range(1, rules.step_harmonics + 1)]
    lows = [rules.step_low_Hz * k for k in range(1, rules.step_harmonics + 1)]
    damping = chain.rules.post.damping_ratio
    gains = []
    for k, (low, high) in enumerate(zip(lows, rates), start=1):
        nearest = min(max(chain.first_Hz, low), high)
        gains.append(transmissibility(nearest / chain.first_Hz, damping) / k)
    return rules.floor_g * max(gains)


def swing(chain: PanelChain) -> Reaction:
    """Return what steps of people add to all that stands, weight left out: what tires the sheet, and what an eye sees.

    Not a difference of two greatest stresses: these may lie at different heights.
    """
    level_g = walking_g(chain)
    return _every(case.WALKING, chain, lambda strip: reaction(case.WALKING, strip, shaken_load(strip, level_g)))


@dataclass(frozen=True, slots=True)
class PanelLoads:
    """One panel's load table, what its fixings must carry, and what is said of both."""

    table: LoadTable
    reactions: tuple[Reaction, ...]
    cases: tuple[LoadCase, ...]
    checks: tuple[Check, ...]


def panel_loads(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook, brief: CaseBrief | None = None
                ) -> PanelLoads:
    """Return every load case at every part of one panel, its reactions, and the two checks that speak of them."""
    chain = panel_chain(panel, loads, rules, brief)
    if chain.first_Hz <= 0:
        return _fallen(chain)
    found = reactions(chain)
    table = panel_table(chain, found)
    return PanelLoads(table, found, chain.cases, (weakest_check("panel-weakest-link", table, chain.cases),
                                                  _overturning(chain, found)))


def _fallen(chain: PanelChain) -> PanelLoads:
    """A sheet that does not stand by itself carries nothing: no figure of it would mean anything."""
    why = "the sheet falls over by its own weight: a thicker one, a lower one, or a top restraint first"
    cells = [spared(one.key, part, why) for one in chain.cases for part in PANEL_PARTS]
    table = whole_table(f"panel {chain.panel.name}", cells, chain.cases, PANEL_PARTS)
    return PanelLoads(table, (), chain.cases, tuple(
        Check(name, 0.0, limit, unit, 0.0, STRIP_SOURCE, Verdict.STOP, why)
        for name, limit, unit in (("panel-weakest-link", 1.0, "times"), ("panel-overturning", None, "N mm"))))


def _overturning(chain: PanelChain, found: tuple[Reaction, ...]) -> Check:
    """Judge the foot: what bends it over, site and hands and weight, against the fixing or the loose sheet's weight."""
    worst = max(found, key=lambda one: one.out_moment_Nmm)
    top = max(found, key=lambda one: one.top_N)
    sheet = chain.strips[0].sheet
    alone = sheet.mass_g * 1e-3 * G_M_S2 * chain.panel.thickness_mm / 2
    words = {one.key: one.words for one in chain.cases}
    note = (f"bending over by {words[worst.case]}: {worst.out_moment_Nmm / 1000:.0f} N m and {worst.out_shear_N:.0f} N "
            f"at the foot" + (f"; {top.top_N:.0f} N at the top by {words[top.case]}" if top.top_N else "") +
            f"; the free sheet's own weight stands {alone / 1000:.1f} N m. Unfactored: an engineer sizes the fixing")
    limit = chain.panel.foot_moment_limit_Nmm
    if limit is None:
        return Check("panel-overturning", worst.out_moment_Nmm, alone, "N mm", alone / worst.out_moment_Nmm, "statics",
                     Verdict.UNMEASURED, note)
    return at_most("panel-overturning", worst.out_moment_Nmm, limit, "N mm", SAYS, measured=chain.measured, note=note)


def panel_table(chain: PanelChain, every: tuple[Reaction, ...]) -> LoadTable:
    """Return every load case at every part of one panel."""
    found = {one.case: one for one in every}
    cells: list[Cell] = []
    for asks in (_at_hole, _sheet, _foot, _top):
        cells += asks(chain, found)
    return whole_table(f"panel {chain.panel.name}", cells, chain.cases, PANEL_PARTS)


_OBJECT_ONLY = {
    case.TOUCH: "a touch on an object is a tenth of the push on the sheet",
    case.KNOCK: "a knock on an object is a fraction of the push on the sheet",
}
_FREE = {case.WARM: "the sheet is free to grow upwards", case.COLD: "the sheet is free to shrink",
         case.DAMP: "the sheet is free to grow upwards", case.DRY: "the sheet is free to shrink"}


def _loud(key: str) -> Verdict:
    return Verdict.LOOK if key in (case.PUSH_SHEET, case.PUSH_TOP, case.PUSH_OBJECT, case.WALKING,
                                   case.ONE_SIDE_WARM) else Verdict.STOP


def _at_hole(chain: PanelChain, found: dict[str, Reaction]) -> list[Cell]:
    """The sheet's stress three times over beside a hole, on top of what the post does there."""
    part, states = ChainPart.AT_HOLE, chain.states
    cells = [spared(key, part, why) for key, why in _OBJECT_ONLY.items()]
    cells += [spared(key, part, "judged with the fit at every seat") for key in _FREE]
    for key, one in found.items():
        local = HOLE_KT * one.stress_MPa
        if key == case.WALKING:
            cells.append(borne(key, part, HOLE_KT * swing(chain).stress_MPa, states.fatigue_MPa, "MPa",
                               "swing of stress at a hole, over and over", f"{STRIP_SOURCE}; Kirsch; {states.source}",
                               measured=chain.measured, over=Verdict.LOOK))
            continue
        lasting = key in (case.WEIGHT, case.YEARS)
        limit = states.years_MPa if lasting else states.moment_MPa
        cells.append(borne(key, part, local + chain.fit_MPa, limit, "MPa",
                           f"3 x {one.stress_MPa:.2f} MPa at a hole and {chain.fit_MPa:.1f} MPa of fit and bearing",
                           f"{STRIP_SOURCE}; Kirsch; {states.source}", measured=chain.measured))
    push = chain.rules.post.push_in_stop_N
    handled = _every(case.HANDLING, chain, lambda strip: reaction(
        case.HANDLING, strip, strip.load(push_N=push, push_at_mm=chain.highest_mm)))
    cells.append(borne(case.HANDLING, part, HOLE_KT * handled.stress_MPa + chain.fit_MPa, states.moment_MPa, "MPa",
                       f"posts pushed in with {push:g} N on the standing sheet", f"{STRIP_SOURCE}; Kirsch",
                       measured=chain.measured))
    return cells


def _sheet(chain: PanelChain, found: dict[str, Reaction]) -> list[Cell]:
    part, rules, states = ChainPart.SHEET, chain.rules, chain.states
    cells = [spared(key, part, why) for key, why in {**_OBJECT_ONLY, **_FREE}.items()]
    cells.append(spared(case.HANDLING, part, "a push on it at 1.2 m is judged; carried, it lies flat and supported"))
    lean = chain.panel.height_mm * rules.panel.lean_share
    for key, one in found.items():
        if key in (case.YEARS, case.ONE_SIDE_WARM):
            cells.append(borne(key, part, one.move_mm, lean, "mm", "lean: height over 300", STRIP_SOURCE,
                               measured=chain.measured, over=Verdict.LOOK))
        elif key in (case.PUSH_SHEET, case.PUSH_TOP, case.PUSH_OBJECT):
            cells.append(borne(key, part, one.move_mm, rules.panel.push_move_mm, "mm", "how far it moves",
                               STRIP_SOURCE, measured=chain.measured, over=Verdict.LOOK))
        elif key == case.WALKING:
            cells.append(borne(key, part, swing(chain).move_mm, rules.loads.walking_move_mm, "mm",
                               f"sway of a {chain.first_Hz:.1f} Hz panel when people walk by", STRIP_SOURCE,
                               measured=chain.measured, over=Verdict.LOOK))
        else:
            limit = states.years_MPa if key == case.WEIGHT else states.moment_MPa
            cells.append(borne(key, part, one.stress_MPa, limit, "MPa", "bending of the plain sheet",
                               f"{STRIP_SOURCE}; {states.source}", measured=chain.measured))
    return cells


def _foot(chain: PanelChain, found: dict[str, Reaction]) -> list[Cell]:
    part, limit = ChainPart.FOOT, chain.panel.foot_moment_limit_Nmm
    cells = [spared(key, part, why) for key, why in {**_OBJECT_ONLY, **_FREE}.items()]
    cells.append(spared(case.HANDLING, part, "a push on the sheet at its top edge asks more"))
    for key, one in found.items():
        rule = f"bending over; with it {one.out_shear_N:.0f} N across and {one.down_N:.0f} N down, unfactored"
        cells.append(_rated(key, part, one.out_moment_Nmm, limit, "N mm", rule, chain))
    return cells


def _top(chain: PanelChain, found: dict[str, Reaction]) -> list[Cell]:
    part, panel, rules = ChainPart.TOP, chain.panel, chain.rules
    if not (panel.top_restraint or panel.foot == "four corners"):
        return [spared(one.key, part, "the top is free") for one in chain.cases]
    cells = [spared(key, part, why) for key, why in _OBJECT_ONLY.items()]
    cells.append(spared(case.HANDLING, part, "a push at the top edge asks more"))
    cells += [_rated(key, part, one.top_N, panel.top_limit_N, "N", "held across, unfactored", chain)
              for key, one in found.items()]
    grown = {case.WARM: rules.panel.alpha_per_K * rules.post.temperature_range_C,
             case.DAMP: chain.states.swell_per_RH * rules.loads.humidity_range_percent}
    for key, strain in grown.items():
        cells.append(_rated(key, part, strain * panel.height_mm, panel.top_room_mm, "mm",
                            "room to grow upwards inside the fixing", chain))
    cells += [spared(key, part, "the sheet shrinks out of the fixing: see that it still overlaps")
              for key in (case.COLD, case.DRY)]
    return cells


def _rated(key: str, part: ChainPart, demand: float, limit: float | None, unit: str, rule: str,
           chain: PanelChain) -> Cell:
    if limit is None:
        return unrated(key, part, demand, unit, f"{rule}; nobody has said what it bears", STRIP_SOURCE)
    return borne(key, part, demand, limit, unit, rule, f"{STRIP_SOURCE}; {SAYS}", measured=chain.measured)
