"""The mount's cells of the load table: the object at its tips, the pads, the arms and their soldered joints.

Every load case that reaches the object is a set of wrenches at its centre of mass; frame and pads say what each wire
passes on (`passing`), materials by their state say what it bears. Display frame; N, MPa.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.findings import Verdict
from scanprep.hold.strength.joints import lap_needed_mm, lap_stress_MPa
from scanprep.hold.strength.passing import WirePassing
from scanprep.loads import cases as case
from scanprep.loads.records import Cell, ChainPart, borne, spared
from scanprep.loads.states import MetalStates, SolderStrength
from scanprep.rules import HoldRules
from scanprep.vectors import F64

FRAME = "space frame on pad springs, rigid object"
LIMITS = "tip limits: the conservator's, or assumed by material"


@dataclass(frozen=True, slots=True, eq=False)
class ObjectLoads:
    """What acts on one object in each load case, beside the weight that its tips bear at rest already."""

    acts: Mapping[str, F64]  # (7, n) by load case: see `passing`
    weight: F64  # (7, 1) the weight alone, as the wires share it once preload has gone
    pads_named: bool
    measured: bool  # weighed
    walks: int  # steps in its years
    mount_metal: MetalStates
    solder: SolderStrength
    slotted: bool  # arms lie in slots of the post's end: bonded on both sides

    @property
    def known(self) -> bool:
        """Whether what passes through the mount rests on no default."""
        return self.measured and self.pads_named


def mount_cells(wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> tuple[Cell, ...]:
    """Return the cells of tips, pads, arms and their joints under every load case of an object."""
    found: list[Cell] = []
    for part, (asks, why) in _PARTS.items():
        for key in (*loads.acts, case.YEARS):
            found.append(spared(key, part, why[key]) if key in why else asks(key, wires, loads, rules))
        found += [spared(key, part, reason) for key, reason in _SPARED.items()]
    return tuple(found)


_SPARED = {
    case.PUSH_SHEET: "the sheet moves slowly under a hand and the object rides with it",
    case.PUSH_TOP: "the sheet moves slowly under a hand and the object rides with it",
    case.HANDLING: "post and hub are pushed before the object is in, and one arm is opened on purpose, bends counted",
    case.ONE_SIDE_WARM: "a bowed sheet leans the object by far less than the tilt that gate 1 asks for",
}
_HAND = (case.TOUCH, case.KNOCK, case.PUSH_OBJECT)
_BRIEF = (case.SHAKE, case.LIFT, case.WALKING, *_HAND)
_NONE: F64 = np.zeros((7, 1))  # exact: no load


def _tips(key: str, wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> Cell:
    times = rules.shake_factor if key in _BRIEF else 1.0
    worst = max(((float(force), times * face.force_limit_N) for wire in wires
                 for force, face in zip(wire.pressed_N(loads.acts[key]).max(axis=1), wire.faces)),
                key=lambda pair: pair[0] / max(pair[1], 1e-9))
    rule = f"normal force at the worst tip at most its limit{f' times {times:g}, for a moment' if times > 1 else ''}"
    # a limit that the search has met to its last digit is met
    return borne(key, ChainPart.TIPS, worst[0] * (1 - 1e-6), worst[1], "N", rule, f"{FRAME}; {LIMITS}",
                 measured=loads.known, over=Verdict.STOP if key == case.WEIGHT else Verdict.LOOK)


def _pads(key: str, wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> Cell:
    carries = [wire for wire in wires if wire.bearing] or list(wires)
    pressure = max(float(force) / (np.pi * face.radius_mm**2) for wire in carries
                   for force, face in zip(wire.pressed_N(loads.acts[key]).max(axis=1), wire.faces))
    limit = rules.bearing_pressure_MPa * (rules.shake_factor if key in _BRIEF else 1.0)
    return borne(key, ChainPart.PAD, max(pressure, 0.0) * (1 - 1e-6), limit, "MPa", "pressure on a pad that carries",
                 f"{FRAME}; pad pressure: rulebook", measured=loads.known, over=Verdict.LOOK)


def _arms(key: str, wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> Cell:
    metal = loads.mount_metal
    if key == case.WALKING:
        return _tired(wires, loads)
    safety = 1.0 if key in _HAND else rules.wire_safety
    worst, allowed, state = 0.0, 1.0, "hard"
    for wire in wires:
        stress = wire.stress_MPa(loads.acts[key]).max(axis=1)
        for value, from_joint_mm, soft in zip(stress, wire.from_joint_mm, wire.softened):
            near = from_joint_mm < loads.solder.soft_zone_mm
            limit = (metal.annealed_MPa if near or soft else metal.hard_MPa) / safety
            if value / limit > worst / allowed:
                state = "annealed by its joint" if near else "softened for its hook" if soft else "hard"
                worst, allowed = float(value), limit
    over = Verdict.STOP if key in (case.WEIGHT, case.SHAKE, case.LIFT) else Verdict.LOOK
    return borne(key, ChainPart.ARM, worst, allowed, "MPa", f"wire {state}, least yield over {safety:g}",
                 f"{FRAME}; {metal.source}", measured=loads.known, over=over)


def _tired(wires: Sequence[WirePassing], loads: ObjectLoads) -> Cell:
    """The swing of stress by people walking, over and over."""
    swing = max(float(wire.stress_MPa(loads.acts[case.WALKING], at_rest=False).max()) for wire in wires)
    return borne(case.WALKING, ChainPart.ARM, swing, loads.mount_metal.fatigue_MPa, "MPa",
                 f"swing of stress, {loads.walks:.0e} times", f"{FRAME}; {loads.mount_metal.fatigue_source}",
                 measured=loads.known)


def _joints(key: str, wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> Cell:
    laps = [lap for wire in wires for lap in _laps(key, wire, loads, rules)]
    worst = max(laps, key=lambda one: one.stress_MPa)
    needed = max(one.needed_mm for one in laps)
    longer = f"make it {math.ceil(needed)} mm long" if needed else "make it longer"
    return joint_cell(key, ChainPart.ARM_JOINT, worst.stress_MPa, f"bond of {worst.words}", loads.solder, loads.known,
                      longer)


@dataclass(frozen=True, slots=True)
class _LapWorks:
    """How hard a lap works at the worst."""

    stress_MPa: float
    needed_mm: float  # length at which it bears what is allowed; 0: it does as it is
    words: str


def _laps(key: str, wire: WirePassing, loads: ObjectLoads, rules: HoldRules) -> Iterator[_LapWorks]:
    """How hard each soldered lap of a wire works."""
    solder, years = loads.solder, key == case.YEARS
    # for years the weight alone: what springs add creeps away, and gate 4 counts it gone
    acts, rest_N = (loads.weight, 0.0) if years else (loads.acts[key], wire.rest_N)
    allowed = solder.years_MPa if years else solder.moment_MPa
    for lap in wire.laps:
        length = lap.length_mm if lap.length_mm > 0 else rules.lap_diameters * wire.wire_mm
        width, height = lap.bond_mm * (2 if loads.slotted else 1), 0.0 if loads.slotted else wire.wire_mm / 2
        borne_by = lap.loads(acts, rest_N)
        stresses = [lap_stress_MPa(load, length, width, height) for load in borne_by]
        needed = max((lap_needed_mm(load, width, height, allowed) for load, stress in zip(borne_by, stresses)
                      if stress > allowed), default=0.0)
        yield _LapWorks(max(stresses), needed, "a brace's lap" if lap.brace else "the lap")


def lap_asked_mm(wires: Sequence[WirePassing], loads: ObjectLoads, rules: HoldRules) -> float:
    """Return how long the laps on a mount's hub must be for all that no hand does to it; 0: they are long enough."""
    return max((lap.needed_mm for key in (*loads.acts, case.YEARS) if key not in _HAND for wire in wires
                for lap in _laps(key, wire, loads, rules)), default=0.0)


def joint_cell(key: str, part: ChainPart, stress_MPa: float, rule: str, solder: SolderStrength, known: bool,
               longer: str = "make it longer") -> Cell:
    """Return the cell of a soldered joint: look above what is allowed, stop above all that the solder bears.

    longer  what would do in soft solder, in words
    """
    limit = solder.years_MPa if key == case.YEARS else solder.moment_MPa
    over = Verdict.STOP if stress_MPa > solder.breaks_MPa and key not in _HAND else Verdict.LOOK
    ways = "" if stress_MPa <= limit or solder.soft_zone_mm else f": silver-solder it, or {longer}"
    return borne(key, part, stress_MPa, limit, "MPa", f"{rule}, {solder.name}{ways}", solder.source, measured=known,
                 over=over)


_Asks = Callable[[str, Sequence[WirePassing], ObjectLoads, HoldRules], Cell]
_PARTS: dict[ChainPart, tuple[_Asks, dict[str, str]]] = {
    ChainPart.TIPS: (_tips, {case.YEARS: "a spring relaxes: no tip presses harder than on its first day"}),
    ChainPart.PAD: (_pads, {case.YEARS: "what a pad sets in years the preload loses: gate 4 counts half of it gone"}),
    ChainPart.ARM: (_arms, {case.YEARS: "brass does not creep at the temperature of a room"}),
    ChainPart.ARM_JOINT: (_joints, {}),
}


def arm_capacity_N(wires: Sequence[WirePassing], acts_per_N: F64, metal: MetalStates,
                   solder: SolderStrength) -> float:
    """Return the push at which the first wire yields, the worst of some unit pushes (7, n); rest forces counted."""
    least = np.inf
    for wire in wires:
        rest, pushed = wire.stress_MPa(_NONE)[:, 0], wire.stress_MPa(acts_per_N, at_rest=False).max(axis=1)
        soft = (wire.from_joint_mm < solder.soft_zone_mm) | wire.softened
        limit = np.where(soft, metal.annealed_MPa, metal.hard_MPa)
        # von Mises stresses add up to less than their sum
        least = min(least, float(((limit - rest) / np.maximum(pushed, 1e-9)).min()))
    return max(least, 0.0)


def tip_capacity_N(wires: Sequence[WirePassing], acts_per_N: F64, rules: HoldRules) -> float:
    """Return the push at which a tip first meets its limit for a moment, the worst of some unit pushes (7, n)."""
    least = np.inf
    for wire in wires:
        rest = wire.pressed_N(_NONE)[:, 0]
        pushed = (wire.pressed_N(acts_per_N) - rest[:, None]).max(axis=1)
        limits = rules.shake_factor * np.array([face.force_limit_N for face in wire.faces])
        room = np.where(pushed > 1e-9, (limits - rest) / np.maximum(pushed, 1e-9), np.inf)
        least = min(least, float(room.min()))
    return max(least, 0.0)
