"""The rod's cells of the load table: rod, seat and the web behind the hole.

A rod is judged where it enters the sheet, with the vent flat in its section, and where a hot joint may have softened
it. The seat holds by friction that fades; whatever turns it is set right by the clock mark, nothing may pull it out.
N, N mm, MPa, mm.
"""

from __future__ import annotations

import math

from scanprep.findings import Verdict
from scanprep.loads import cases as case
from scanprep.loads.records import Cell, ChainPart, borne, spared, unrated
from scanprep.post.assessment import RodAssessment
from scanprep.post.fit import continuous_stress_MPa
from scanprep.post.judge import pull_demand_N, seat_tension_MPa, worst_stress_MPa
from scanprep.post.loads import standing_load
from scanprep.post.object_chain import ObjectChain
from scanprep.post.rod import rod_stress
from scanprep.post.sinking import creep

ROD_SOURCE = "Shigley (from memory); yield: materials table"
FIT_SOURCE = "Lamé, or the coupons' measured forces; creep, friction from memory"
_HANDS = (case.TOUCH, case.KNOCK, case.PUSH_OBJECT)
_RIDES = "the sheet moves slowly under a hand and the post rides with it"


def rod_cells(chain: ObjectChain) -> list[Cell]:
    """Return the cells of the rod."""
    tried, part = chain.tried, ChainPart.ROD
    found = [spared(case.PUSH_SHEET, part, _RIDES), spared(case.PUSH_TOP, part, _RIDES),
             spared(case.WARM, part, "free to grow out of the sheet"),
             spared(case.COLD, part, "free to shrink, its seat is judged"),
             spared(case.DAMP, part, "brass does not swell"), spared(case.DRY, part, "brass does not swell"),
             spared(case.ONE_SIDE_WARM, part, "a bowed sheet turns the post, it does not bend it")]
    zone = chain.solder.soft_zone_mm
    soft_at = max(0.0, tried.now.length_mm - zone)
    at_mouth, at_joint = chain.at_post(0.0), chain.at_post(soft_at)
    for key, loads in at_mouth.items():
        if key == case.WALKING:
            found.append(tired_cell(part, worst_stress_MPa(tried, chain.swing_at(0.0))[0], chain))
            continue
        hand = key in _HANDS
        safety = 1.0 if hand else tried.rules.post.strength_safety
        hard = tried.alloy.yield_typical_MPa if hand else tried.alloy.yield_hard_MPa
        places = []
        if zone > 0:
            soft_MPa = worst_stress_MPa(tried, at_joint[key])[0]
            places.append((soft_MPa, tried.alloy.yield_annealed_MPa, "softened by its joint"))
        if soft_at > 0 or zone == 0:
            places.append((worst_stress_MPa(tried, loads)[0], hard, "hard"))
        value, bears, state = max(places, key=lambda place: place[0] / place[1])
        found.append(borne(key, part, value, bears / safety, "MPa", f"bending and torsion, rod {state}, flat counted, "
                           f"yield over {safety:g}", ROD_SOURCE, measured=tried.measured,
                           over=Verdict.LOOK if hand else Verdict.STOP))
    return [*found, _creeping(tried), _turned(chain)]


def tired_cell(part: ChainPart, swing_MPa: float, chain: ObjectChain) -> Cell:
    """Return the cell of metal that people walking by tire: by the swing of stress, what stands does not count."""
    return borne(case.WALKING, part, swing_MPa, chain.states.fatigue_MPa, "MPa",
                 f"swing of stress, {chain.walks:.0e} times", chain.states.fatigue_source,
                 measured=chain.tried.measured)


def _creeping(tried: RodAssessment) -> Cell:
    told = creep(tried)
    assert told.value is not None and told.limit is not None  # what is judged against a limit has both
    return borne(case.YEARS, ChainPart.ROD, told.value, told.limit, told.unit, "what years add after trimming",
                 told.source, measured=tried.gives_measured, over=Verdict.LOOK)


def _turned(chain: ObjectChain) -> Cell:
    """Pushed in half a diameter off its axis, then turned to its clock mark in a fresh hole."""
    tried = chain.tried
    fit, section = tried.fit.fresh if tried.fit.measured else tried.fit.planned, tried.now.section
    aslant = rod_stress(fit.pull_out_N * section.diameter_mm / 2, 0.0, section).von_mises_MPa
    twisted = rod_stress(0.0, fit.slip_torque_Nmm, section).von_mises_MPa
    value = max(twisted, aslant + fit.pull_out_N / section.area_mm2)
    return borne(case.HANDLING, ChainPart.ROD, value, tried.alloy.yield_hard_MPa / tried.rules.post.strength_safety,
                 "MPa", "pushed in half a diameter off its axis, or turned in a fresh hole", ROD_SOURCE,
                 measured=tried.fit.measured)


def seat_cells(chain: ObjectChain) -> list[Cell]:
    """Return the cells of the seat."""
    tried, part = chain.tried, ChainPart.SEAT
    carried, fit, rules = tried.carried, tried.fit, tried.rules
    safety = rules.post.torque_safety
    found = [spared(case.PUSH_SHEET, part, _RIDES), spared(case.PUSH_TOP, part, _RIDES),
             spared(case.ONE_SIDE_WARM, part, "the hole bows with the sheet")]
    for key, loads in chain.at_post(0.0).items():
        if key in _HANDS:
            push = {case.TOUCH: rules.post.touch_N, case.KNOCK: rules.loads.knock_N,
                    case.PUSH_OBJECT: rules.panel.push_N}[key]
            found.append(_held(key, pull_demand_N(carried, 0.0, push), fit.holding.pull_out_N, "N",
                               "pulled out, relaxed, warm and slippery; that it may turn is allowed", chain))
            continue
        turn = max(abs(load.torque_Nmm) for load in loads) * safety
        found.append(_held(key, turn, fit.holding.slip_torque_Nmm, "N mm", f"turned in its hole, safety {safety:g}",
                           chain))
    limit = continuous_stress_MPa(rules, tried.grade)
    tension = seat_tension_MPa(tried)
    found.append(borne(case.YEARS, part, tension, limit, "MPa", f"crazing: fit and bearing, {tried.grade}",
                       "Lamé; Hetényi; continuous stress: Cope Plastics", measured=fit.measured and tried.measured))
    look, stop = rules.post.push_in_look_N, rules.post.push_in_stop_N
    push_in = (fit.fresh if fit.measured else fit.planned).pull_out_N
    found.append(borne(case.HANDLING, part, push_in * (1 - 1e-9), look, "N", "pushed in by hand, grippy end",
                       FIT_SOURCE, measured=fit.measured, over=Verdict.STOP if push_in > stop else Verdict.LOOK))
    return [*found, *_seasons(chain, tension, limit)]


def _held(key: str, demand: float, held: float, unit: str, rule: str, chain: ObjectChain) -> Cell:
    """Friction that nobody measured counts for nothing, and is not judged before it is."""
    if not chain.tried.fit.measured:
        return unrated(key, ChainPart.SEAT, demand, unit, f"{rule}: rod and hole not measured", FIT_SOURCE)
    return borne(key, ChainPart.SEAT, demand, held, unit, rule, FIT_SOURCE, measured=chain.tried.measured,
                 over=Verdict.LOOK)


def _seasons(chain: ObjectChain, tension_MPa: float, limit_MPa: float) -> list[Cell]:
    """Warm and damp open the hole: what still turns it is judged; cold and dry close it: the tension rises."""
    tried = chain.tried
    rules, d = tried.rules, tried.now.section.diameter_mm
    turn = abs(standing_load(tried.carried).torque_Nmm) * rules.post.torque_safety
    swell = rules.loads.acrylic_swell_share / rules.loads.acrylic_swell_humidity_percent
    moves = {case.COLD: (rules.panel.alpha_per_K - tried.alloy.alpha_per_K) * rules.post.temperature_range_C,
             case.DRY: swell * rules.loads.humidity_range_percent}
    per_mm = rules.panel.youngs_modulus_MPa / (1 + rules.panel.poisson) / d
    found = []
    for key in (case.WARM, case.DAMP):
        opens = {case.WARM: moves[case.COLD], case.DAMP: moves[case.DRY]}[key] * d * 1000
        found.append(_held(key, turn, tried.fit.holding.slip_torque_Nmm, "N mm",
                           f"turned by its weight in a hole {opens:.1f} um wider", chain))
    for key, strain in moves.items():
        if not tried.fit.measured:  # a planned fit is at its limit by choice: nothing of it can be judged colder
            found.append(unrated(key, ChainPart.SEAT, strain * d * per_mm, "MPa",
                                 f"crazing: the hole {strain * d * 1000:.1f} um tighter; not measured", FIT_SOURCE))
            continue
        tighter = strain * d * per_mm if tried.fit.interference.high > 0 else 0.0
        found.append(borne(key, ChainPart.SEAT, tension_MPa + tighter, limit_MPa, "MPa",
                           f"crazing: the hole {strain * d * 1000:.1f} um tighter",
                           "Lamé, thick sheet; seasons assumed",
                           measured=tried.fit.measured and tried.measured))
    return found


def web_cells(chain: ObjectChain) -> list[Cell]:
    """Return the cells of the sheet left behind a blind hole: only pushing the post in asks anything of it."""
    part, hole, tried = ChainPart.WEB, chain.hole, chain.tried
    if hole.through:
        return [spared(one.key, part, "the hole goes through: there is none") for one in chain.cases]
    found = [spared(one.key, part, "a seated post does not press on the bottom of its hole")
             for one in chain.cases if one.key != case.HANDLING]
    rules = tried.rules
    radius, push = hole.drill_diameter_mm / 2, rules.post.push_in_stop_N
    # punched through round the hole; bent as a disc clamped at the hole's edge under an even push (Roark, table 11.2)
    web = max(hole.web_mm, 1e-6)
    shear = push / (2 * math.pi * radius * web)
    bend = 3 * push / (4 * math.pi * web**2)
    value = max(shear * math.sqrt(3), bend)
    limit = rules.loads.acrylic_moment_MPa
    return [*found, borne(case.HANDLING, part, value, limit, "MPa", f"pushed with {push:g} N against {web:.1f} mm",
                          "Roark, clamped disc (from memory); UFGS table 3-1 over 4",
                          measured=tried.fit.measured)]
