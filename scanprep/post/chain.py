"""The load table of one object: every load case from the object's tips to the web behind its hole.

The mount's cells come from `hold.strength.cells`, the rod's from `chain_rod`; hub and hub's joint are judged here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from scanprep.findings import Verdict
from scanprep.hold.records import Hold
from scanprep.hold.strength.cells import ObjectLoads, joint_cell, lap_asked_mm, mount_cells
from scanprep.hold.strength.frame import torsion_modulus_mm3
from scanprep.hold.strength.joints import fillet_stress_MPa, plate_stress_MPa
from scanprep.hold.strength.stiffness import MOUNT_ALLOY
from scanprep.loads import cases as case
from scanprep.loads.records import OBJECT_PARTS, Cell, ChainPart, LoadTable, borne, spared, whole_table
from scanprep.materials import metal
from scanprep.post.chain_rod import rod_cells, seat_cells, tired_cell, web_cells
from scanprep.post.hand import hand_words
from scanprep.post.loads import MouthLoad, directions, upright_ways
from scanprep.post.object_chain import ObjectChain, kept_off, pushed, shaking_ways
from scanprep.units import weight_N
from scanprep.vectors import F64


def object_table(subject: str, hold: Hold, chain: ObjectChain) -> LoadTable:
    """Return every load case at every part of one object. Nothing is left out: see `whole_table`."""
    tried = chain.tried
    mount = mount_cells(chain.wires, _object_loads(hold, chain), tried.rules.hold) if chain.wires else _no_mount(chain)
    cells = [*mount, *_hub_cells(chain), *_hub_joint_cells(chain), *rod_cells(chain), *seat_cells(chain),
             *web_cells(chain)]
    off = kept_off(chain.barrier)
    kept = [spared(cell.case, cell.part, f"a barrier keeps {chain.barrier} off") if cell.case in off else cell
            for cell in cells]
    known = {(cell.case, cell.part) for cell in kept}
    kept += [spared(key, part, f"a barrier keeps {chain.barrier} off") for key in off for part in OBJECT_PARTS
             if (key, part) not in known]
    return whole_table(subject, kept, chain.cases, OBJECT_PARTS, hand_words(chain))


def arms_lap_mm(hold: Hold, chain: ObjectChain) -> float:
    """Return how long the arms' laps on the hub must be, see `lap_asked_mm`; 0: they are long enough."""
    return lap_asked_mm(chain.wires, _object_loads(hold, chain), chain.tried.rules.hold) if chain.wires else 0.0


def _no_mount(chain: ObjectChain) -> list[Cell]:
    return [spared(one.key, part, "the object sits fast on the hub") for one in chain.cases
            for part in (ChainPart.TIPS, ChainPart.PAD, ChainPart.ARM, ChainPart.ARM_JOINT)]


def _object_loads(hold: Hold, chain: ObjectChain) -> ObjectLoads:
    tried, rules = chain.tried, chain.tried.rules
    weight = weight_N(tried.carried.object_g)

    def pulled(ways_g: F64) -> F64:
        return np.vstack([weight * ways_g.T, np.zeros((4, len(ways_g)))])

    def grown(strain: float) -> F64:
        return strain * np.eye(7)[:, 6:]

    warm = metal(MOUNT_ALLOY).alpha_per_K * rules.post.temperature_range_C
    swollen = rules.loads.organic_swell_share if chain.swells else 0.0
    acts = {
        case.WEIGHT: np.zeros((7, 1)), case.SHAKE: pulled(shaking_ways(chain.shake)),
        case.LIFT: pulled(upright_ways(chain.shake.vertical_g)), case.WALKING: pulled(chain.walking_g * directions()),
        case.TOUCH: pushed(chain.pushes_mm, rules.post.touch_N),
        case.KNOCK: pushed(chain.pushes_mm, rules.loads.knock_N),
        case.PUSH_OBJECT: pushed(chain.pushes_mm, rules.panel.push_N),
        # an object that does not grow with the mount at all is the bad end
        case.WARM: grown(warm), case.COLD: grown(-warm), case.DAMP: grown(-swollen), case.DRY: grown(swollen)}
    acts = {key: value for key, value in acts.items() if key not in kept_off(chain.barrier)}
    return ObjectLoads(acts, pulled(np.array([[0.0, -1.0, 0.0]])), tried.carried.pads_named,
                       tried.carried.object_measured, chain.walks, chain.states, chain.solder,
                       hold.hub.kind == "cross-wire")


_SLOW = {
    case.PUSH_SHEET: "the sheet moves slowly under a hand and the object rides with it",
    case.PUSH_TOP: "the sheet moves slowly under a hand and the object rides with it",
    case.WARM: "one piece of brass, free to grow", case.COLD: "one piece of brass, free to shrink",
    case.DAMP: "brass does not swell", case.DRY: "brass does not swell",
    case.ONE_SIDE_WARM: "a bowed sheet leans the object by a fraction of a degree",
}


def _hub_cells(chain: ObjectChain) -> list[Cell]:
    part, tried = ChainPart.HUB, chain.tried
    hub, rules = tried.carried.hub, tried.rules
    if hub.kind == "cross-wire":
        return [spared(one.key, part, "there is none: the wires lie in slots of the post's end")
                for one in chain.cases]
    soft = chain.solder.soft_zone_mm > 0
    found = [spared(key, part, why) for key, why in _SLOW.items()]
    found += [spared(case.YEARS, part, "brass does not creep at the temperature of a room"),
              spared(case.HANDLING, part, "it is pushed along the post's axis, in the middle")]
    swing = _hub_stress_MPa(chain, chain.swing_at(tried.now.length_mm))
    found.append(tired_cell(part, swing, chain))
    for key, loads in chain.at_post(tried.now.length_mm).items():
        if key == case.WALKING:
            continue
        value = _hub_stress_MPa(chain, loads)
        hand = key in (case.TOUCH, case.KNOCK, case.PUSH_OBJECT)
        safety = 1.0 if hand else rules.post.strength_safety
        limit = (chain.states.annealed_MPa if soft else chain.states.hard_MPa) / safety
        found.append(borne(key, part, value, limit, "MPa", f"{hub.kind} in bending by the post, least yield over "
                           f"{safety:g}", f"thin plate clamped at its rim; {chain.states.source}",
                           measured=tried.measured, over=Verdict.LOOK if hand else Verdict.STOP))
    return found


def _hub_stress_MPa(chain: ObjectChain, loads: Sequence[MouthLoad]) -> float:
    """The greatest. Plate: thin plate with the post as a boss. Bar and ring: two stubs of stock bent or wound.

    Which way a load turns the hub is not told here: of flat bar the worse of both is taken, von Mises.
    """
    hub, rod_mm = chain.tried.carried.hub, chain.tried.now.section.diameter_mm
    if hub.kind == "plate" and hub.size_mm > rod_mm:
        return plate_stress_MPa(max(load.bending_Nmm for load in loads), hub.size_mm / 2, rod_mm / 2, hub.thickness_mm,
                                metal(MOUNT_ALLOY).poisson)
    if hub.high_mm:
        high, thick = np.array(hub.high_mm), np.array(hub.thickness_mm)
        nods = math.sqrt(3) / float(torsion_modulus_mm3(high, thick))
        worst = max(nods, 6 / (hub.high_mm * hub.thickness_mm**2))
        twist = 6 / (hub.thickness_mm * hub.high_mm**2)
        return max(math.hypot(load.bending_Nmm * worst, load.torque_Nmm * twist) for load in loads) / 2
    modulus = np.pi * hub.thickness_mm**3 / 32
    return float(max(np.hypot(load.bending_Nmm, load.torque_Nmm) for load in loads) / 2 / modulus)


def _hub_joint_cells(chain: ObjectChain) -> list[Cell]:
    part, tried, solder = ChainPart.HUB_JOINT, chain.tried, chain.solder
    if tried.carried.hub.kind == "cross-wire":
        return [spared(one.key, part, "the wires' own joint in the slots of the post's end is judged")
                for one in chain.cases]
    rules, found = tried.rules, [spared(key, part, why) for key, why in _SLOW.items()]
    hub, diameter, leg = tried.carried.hub, tried.now.section.diameter_mm, tried.rules.loads.fillet_mm
    drilled = hub.kind in ("plate", "bar")
    fillets, bore_mm = (2, hub.thickness_mm) if drilled else (1, 0.0)
    rule = f"{fillets} fillet{'s' * (fillets > 1)} of {leg:g} mm{' and the bore' * drilled}"

    def stressed(load: MouthLoad) -> float:
        return fillet_stress_MPa(load.bending_Nmm, load.torque_Nmm, load.shear_N, load.axial_N, diameter, leg, fillets,
                                 bore_mm)

    at_hub = chain.at_post(tried.now.length_mm)
    at_hub = {**at_hub, case.YEARS: at_hub[case.WEIGHT]}
    found += [joint_cell(key, part, max(map(stressed, loads)), rule, solder, tried.measured)
              for key, loads in at_hub.items()]
    if not drilled:
        return [*found, spared(case.HANDLING, part, "it is pushed on the post's own end")]
    push = fillet_stress_MPa(0.0, 0.0, 0.0, rules.post.push_in_stop_N, diameter, leg, fillets, bore_mm)
    return [*found, joint_cell(case.HANDLING, part, push, f"{rule}, pushed on the hub", solder, True)]
