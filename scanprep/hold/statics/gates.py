"""The five gates that a set of tips must pass, the first four by LP, each reported with its value and its limit.

1  carried from below: without friction, tilted by 5 deg any way, the normals alone carry the weight;
2  margin: shaken at the pad's friction, and at low friction with the centre of mass off by its doubt;
3  torque capacity about every axis through the centre;
4  preload: the friction reserve that springs supply, or a shape that holds without any;
5  contact: the shake at which the object leaves its place, pads redrawn on the real surface, with part of its friction
   (see `contact`). Solved for sets that no other gate stops; asked again once a mount's own wires are drawn.

And one tip worn. Of mounts that are drawn the margin is proved again where their pads touch, on the mesh's own normals
with part of the friction. Display frame. Used by `find`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.findings import Check, Verdict, at_least, at_most
from scanprep.hold.places.spots import Surface
from scanprep.hold.statics.balance import SprungWire, single_wires
from scanprep.hold.statics.contact import ContactLimits, ContactVerdict, shake_withstood
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.preload import Preload, most_stiffness_N_per_mm, preload, redrawn
from scanprep.hold.statics.programme import Programme
from scanprep.hold.statics.wrench import ContactWrenches, Edges, edges_of, force_reach, sphere_directions, torque_reach
from scanprep.rules import HoldRules
from scanprep.vectors import F64

UP: F64 = np.array([0.0, 1.0, 0.0])  # exact: y is up
TOLERANCE = 0.005  # tolerance: of the weight, rounding of the linear programmes
MOST_W = 100.0  # tolerance: weights: enough said
MOST_g = 3.0  # tolerance: beyond this no margin need be known exactly: "at least"


@dataclass(frozen=True, slots=True, eq=False)
class GateResults:
    """What the gates say of one set of tips."""

    carried_ratio: float
    margin_g: float | None  # None: no balance
    margin_low_g: float | None
    torque_Nmm: float
    preload: Preload
    preload_ratio: float
    shape_g: float
    worn_g: float
    most_stiffness_N_per_mm: float
    shake: ContactVerdict | None  # None: not asked, since another gate says stop
    checks: tuple[Check, ...]

    @property
    def passes(self) -> bool:
        """Whether no gate says stop or look."""
        return all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in self.checks)

    @property
    def wants_reserve(self) -> bool:
        """Whether all that is wanting is preload: the gates that a swap for friction reserve may mend."""
        wanting = {check.name for check in self.checks if check.verdict not in (Verdict.OK, Verdict.UNMEASURED)}
        return wanting <= {"preload", "shake-withstood"}

    @property
    def stops(self) -> bool:
        """Whether a gate says stop."""
        return any(check.verdict is Verdict.STOP for check in self.checks)


def carried_ratio(grip: ContactWrenches, loads: Loads) -> tuple[float, F64]:
    """Return how many times its weight the frictionless normals carry at the worst tilt, and the LP's dual twists.

    0 where they can't balance it at all; the twists (m, 6) are the ways in which it then slides out.
    """
    bare = edges_of(grip.with_friction(0.0))
    ups = loads.tilts()
    width, faces = len(bare.force), len(bare.limits_N)
    size = max(float(np.abs(bare.torque).max()), 1.0)
    rows = np.zeros((6 + faces, width + len(ups)))
    rows[:6, :width] = np.vstack([bare.force.T, bare.torque.T / size])
    rows[:3, width:] = -loads.weight_N * ups.T
    rows[6 + bare.face, np.arange(width)] = 1.0
    even = np.zeros(6)
    asked = Programme(rows, np.concatenate([even, np.full(faces, -np.inf)]), np.concatenate([even, bare.limits_N]),
                      ceiling=np.concatenate([np.full(width, np.inf), np.full(len(ups), MOST_W)]))
    carried, duals = np.empty(len(ups)), np.empty((len(ups), 6))
    for i in range(len(ups)):
        found = asked.most(width + i, slice(width, None))
        if found is None:
            raise ArithmeticError("carrying nothing at all is always feasible")
        carried[i], duals[i] = found.x[width + i], found.duals[:6] / np.array([1, 1, 1, size, size, size])
    return float(carried.min()), duals


def turning_demand(loads: Loads) -> F64:
    """Return the share of the torque that is asked for about x, y, z: the weight turns nothing about the vertical.

    About a level axis the weight itself acts on the arm of the centre's doubt; about the vertical only a shake does.
    """
    return np.array([1.0, min(1.0, loads.margin_g), 1.0])


def shaken(grip: ContactWrenches, factor: float) -> ContactWrenches:
    """The set with the limits that hold for the moment of a shake."""
    return grip.with_limits(factor * grip.limits_N)


def margin_g(grip: ContactWrenches, weight_N: float, enough_g: float = np.inf,
             least_g: float = -np.inf) -> tuple[float | None, F64]:
    """Return the shake in g, in the worst direction, that a set withstands on top of gravity, and dual twists.

    None: no ball of forces is balanced at all ("no balance"). Limits are taken as given.
    """
    reach = force_reach(grip, weight_N * UP, TOLERANCE * weight_N, enough_g * weight_N, least_g * weight_N)
    if reach is None:
        raise ArithmeticError("no force at all is always balanced")
    return None if reach.flat else reach.radius / weight_N, reach.twists


def _unbalanced(edges: Edges, wrenches: F64, arm_mm: float) -> F64:
    """The least-squares rest (m, 6) of loads that no forces along the edges balance, limits left aside.

    The rest is itself a twist against which no edge does any work while the load does: a row that a table should know.
    """
    from scipy.optimize import nnls

    basis = np.vstack([edges.force.T, edges.torque.T / arm_mm])
    rests = []
    for wrench in wrenches:
        target = np.concatenate([wrench[:3], wrench[3:] / arm_mm])
        x, rest = nnls(basis, target)
        if rest > 1e-6 * np.linalg.norm(target):
            left = target - basis @ x
            rests.append(np.concatenate([left[:3], left[3:] / arm_mm]) / rest)
    return np.array(rests).reshape(-1, 6)


def unbalanced_twists(grip: ContactWrenches, loads: Loads, shape_g: float) -> F64:
    """Return twists (m, 6), display frame, that show a set to be unable to balance its loads with any forces at all.

    A quick screen before the certificates, which mind the force limits too: none found proves nothing.
    """
    weight = loads.weight_N
    arm_mm = max(float(np.abs(grip.points_mm).max()), 1.0)
    bare, rubbed = edges_of(grip.with_friction(0.0)), edges_of(grip)
    ways, none = sphere_directions(14), np.zeros((14, 3))
    tilted = np.hstack([weight * loads.tilts(), np.zeros((9, 3))])
    found = [_unbalanced(bare, tilted, arm_mm)]
    if len(found[0]):
        return found[0]
    if shape_g > 0:
        found.append(_unbalanced(bare, np.hstack([weight * (UP + shape_g * ways), none]), arm_mm))
    found.append(_unbalanced(rubbed, np.hstack([weight * (UP + loads.margin_g * ways), none]), arm_mm))
    turned = np.hstack([np.tile(weight * UP, (14, 1)), loads.torque_Nmm * ways * turning_demand(loads)])
    found.append(_unbalanced(rubbed, turned, arm_mm))
    return np.vstack(found)


def lacking_twists(grip: ContactWrenches, loads: Loads, shape_g: float) -> F64:
    """Return the twists (m, 6), display frame, against which the certificates find a set too weak; none: it holds."""
    quick = unbalanced_twists(grip, loads, shape_g)
    if len(quick):
        return quick
    carried, slides = carried_ratio(grip, loads)
    if carried < 1.0:
        return slides
    lacking = [np.zeros((0, 6))]
    hard = shaken(grip, loads.shake_factor)
    full, twists = margin_g(hard, loads.weight_N, loads.margin_g, loads.margin_g)
    if full is None or full < loads.margin_g:
        lacking.append(twists)
    torque = torque_reach(hard, loads.weight_N * UP, 0.02 * loads.torque_Nmm, loads.torque_Nmm, loads.torque_Nmm,
                          turning_demand(loads))
    if torque is not None and (torque.flat or torque.radius < loads.torque_Nmm):
        lacking.append(np.hstack([torque.twists[:, 3:], torque.twists[:, :3]]))
    if shape_g > 0:
        shape, twists = margin_g(hard.with_friction(0.0), loads.weight_N, shape_g, shape_g)
        if shape is None or shape < shape_g:
            lacking.append(twists)
    return np.vstack(lacking)


def _off_centre_g(low: ContactWrenches, loads: Loads) -> float | None:
    """The low-friction margin with the centre of mass off by its doubt; a lower bound is enough.

    The forces that stand a shake a, and those that stand a torque T at rest, may be mixed: with a share s of the latter
    the set stands (1 - s) a and s T together. Where that does not do, the centre is moved along each axis in turn.
    """
    weight = loads.weight_N
    full, _ = margin_g(low, weight, MOST_g)
    if full is None or full < loads.margin_low_g:
        return full
    asked_Nmm = (1 + loads.margin_low_g) * loads.centre_radius_mm * weight
    torque = torque_reach(low, weight * UP, 0.05 * asked_Nmm + 1e-6, 4 * asked_Nmm)
    if torque is not None and not torque.flat and asked_Nmm <= torque.radius * (1 - loads.margin_low_g / full):
        return full * (1 - asked_Nmm / torque.radius)
    worst = np.inf
    for sign in (1.0, -1.0):
        for axis in np.eye(3):
            found, _ = margin_g(low.about(sign * loads.centre_radius_mm * axis), weight, loads.margin_low_g,
                                loads.margin_low_g)
            if found is None or found < loads.margin_low_g:
                return found
            worst = min(worst, found)
    return worst


def judge(grip: ContactWrenches, radius_mm: F64, loads: Loads, surface: Surface, rotation: F64, rules: HoldRules,
          seed: int = 0, wires: Sequence[SprungWire] | None = None, *, gently: bool = False,
          briefly: bool = False) -> GateResults:
    """Return what the gates say of a set of tips.

    grip       display frame, static limits
    radius_mm  (f,) of each face's pad
    rotation   (3, 3) body frame to display frame
    wires      what each tip is sprung on; None: a wire of its own, equally stiff all round
    gently     what shape holds by itself is sprung on no harder than keeps its tips pressed, though it could be
    briefly    the contact gate need not be known beyond what it asks: it is asked again of the wires as drawn
    """
    weight = loads.weight_N
    hard = shaken(grip, loads.shake_factor)
    carried, _ = carried_ratio(grip, loads)
    full, _ = margin_g(hard, weight, MOST_g)
    low_grip = hard.with_friction(np.minimum(grip.friction, loads.friction_low))
    low = _off_centre_g(low_grip, loads) if full is not None else None
    torque = torque_reach(hard, weight * UP, 0.02 * loads.torque_Nmm, 3 * loads.torque_Nmm,
                          demand=turning_demand(loads))
    shape, _ = margin_g(hard.with_friction(0.0), weight, 2 * loads.shape_g)
    sprung = preload(grip, weight, UP, rules.preload_ratio)
    lacking = sprung.reserve_N < rules.preload_ratio * weight
    ratio = sprung.reserve_N / weight
    if (lacking or gently) and (shape or 0.0) >= loads.shape_g:
        sprung = preload(grip, weight, UP, rules.shaped_ratio)
        ratio = min(ratio, rules.shaped_ratio) if gently else ratio
    worn = _worn_g(hard, loads, rules)
    stiffness = most_stiffness_N_per_mm(grip, sprung.normal_N, rules.bend_error_mm)
    torque_Nmm = 0.0 if torque is None else max(torque.radius, 0.0)
    judged = GateResults(carried, full, low, torque_Nmm, sprung, ratio,
                         -1.0 if shape is None else shape, worn, stiffness, None, ())
    judged = _with_checks(judged, grip, loads, rules)
    if judged.stops:
        return judged
    draws = redrawn(grip, radius_mm, surface, rotation, rules.shake_redraws, seed)
    single = single_wires(grip.tips, loads.spring_N_per_mm)
    spin = None if loads.spin_axis is None else rotation @ np.asarray(loads.spin_axis)
    shake = shake_withstood(draws, sprung.forces_N, single if wires is None else wires, weight,
                            contact_limits(loads, rules), spin, every=False,
                            enough_g=rules.shake_look_ratio * loads.margin_g if briefly else np.inf)
    return replace(judged, shake=shake, checks=(*judged.checks, stays(shake, loads, rules)))


def margin_as_it_touches(draws: Sequence[ContactWrenches], loads: Loads, rules: HoldRules) -> Check:
    """Return the margin where pads really touch: on the mesh's own normals, redrawn, with part of the friction.

    A proof that within their limits the tips can supply what a shake asks. The middle redraw counts; none is asked for
    more than twice what the case's shake asks.
    """
    weight, stop_g = loads.weight_N, rules.shake_stop_ratio * loads.margin_g
    most_g = 2 * loads.margin_g
    proved: list[float] = []
    for draw in draws:
        hard = shaken(draw.with_friction(rules.shake_friction_ratio * draw.friction), loads.shake_factor)
        found, _ = margin_g(hard, weight, most_g)
        proved.append(-1.0 if found is None else min(found, most_g))
        if 2 * sum(value >= most_g for value in proved) > len(draws):
            break  # the middle one is known
    middle = float(np.median([*proved, *[most_g] * (len(draws) - len(proved))]))
    return at_least("margin-on-real-normals", middle, loads.margin_g, "g",
                    f"LP certificate at {rules.shake_friction_ratio:g} of the friction, pads redrawn",
                    under=Verdict.LOOK if middle >= stop_g else Verdict.STOP,
                    note="or more: no more is asked" if middle >= most_g else "of the middle redraw")


def contact_limits(loads: Loads, rules: HoldRules) -> ContactLimits:
    """Return what gate 5 counts as kept."""
    return ContactLimits(rules.shake_friction_ratio, rules.shake_shift_mm, rules.shake_turn_deg,
                         rules.shake_settle_ratio, rules.pad_press_N_per_mm, rules.shake_stop_ratio * loads.margin_g)


def _worn_g(hard: ContactWrenches, loads: Loads, rules: HoldRules) -> float:
    """The margin with one tip's pad worn through, at the worst tip."""
    every, _ = margin_g(hard.with_friction(np.minimum(hard.friction, rules.friction_worn)), loads.weight_N,
                        loads.margin_low_g, loads.margin_low_g)
    if every is not None and every >= loads.margin_low_g:
        return every  # all worn at once is worse than one
    worst = np.inf
    for tip in range(hard.tips):
        friction = np.where(hard.tip == tip, np.minimum(hard.friction, rules.friction_worn), hard.friction)
        found, _ = margin_g(hard.with_friction(friction), loads.weight_N, loads.margin_low_g, loads.margin_low_g)
        worst = min(worst, -1.0 if found is None else found)
    return worst


def _with_checks(j: GateResults, grip: ContactWrenches, loads: Loads, rules: HoldRules) -> GateResults:
    checks = [
        at_least("carried-from-below", j.carried_ratio, 1.0, "W",
                 "LP, friction 0, tilted 5 deg any way, static tip limits (assumed until a conservator confirms)",
                 note="how many times its weight the normals alone carry"),
        at_least("margin", _or_none(j.margin_g), loads.margin_g, "g", f"LP certificate at friction {loads.friction:g}",
                 note="shake in the worst direction on top of gravity" if j.margin_g is not None else "no balance"),
        at_least("margin-low-friction", _or_none(j.margin_low_g), loads.margin_low_g, "g",
                 f"LP certificate at friction {loads.friction_low:g}, centre of mass off by "
                 f"{loads.centre_radius_mm:.1f} mm"),
        at_least("torque-capacity", j.torque_Nmm, loads.torque_Nmm, "N mm",
                 "LP certificate, every axis; about the vertical the shake's share of it"),
        _sprung(j, loads, rules),
        at_least("one-tip-worn", j.worn_g, loads.margin_low_g, "g", f"LP, one pad at {rules.friction_worn:g}",
                 under=Verdict.LOOK),
        at_most("tip-force", round(float(np.max(j.preload.normal_N / np.maximum(grip.limits_N, 1e-9), initial=0.0)), 6),
                1.0, "of limit", "LP, sprung on at rest; limits assumed until a conservator confirms"),
    ]
    return replace(j, checks=tuple(checks))


def stays(shake: ContactVerdict, loads: Loads, rules: HoldRules, wires: str = "") -> Check:
    """Return what gate 5 says: the shake at which it leaves its place.

    wires  what was known of them, for the source
    """
    stop_g, look_g = rules.shake_stop_ratio * loads.margin_g, rules.shake_look_ratio * loads.margin_g
    return at_least("shake-withstood", shake.shake_g, look_g, "g",
                    f"contact solve at {rules.shake_friction_ratio:g} of the friction, pads redrawn{wires}",
                    under=Verdict.LOOK if shake.shake_g >= stop_g else Verdict.STOP,
                    note=f"{100 * shake.standing_share:.0f} % of the ways its pads may sit stand {stop_g:.2f} g")


def _by_shape(j: GateResults, loads: Loads) -> bool:
    """Whether the shape alone, without friction, stands the shake: then preload need only keep the tips pressed."""
    return j.shape_g >= loads.shape_g


def _sprung(j: GateResults, loads: Loads, rules: HoldRules) -> Check:
    """Gate 4: enough friction in reserve, or a shape that stands a shake without any and tips that stay pressed."""
    relaxed = rules.relaxation_ratio * j.preload_ratio
    by_grip = j.preload_ratio >= rules.preload_ratio
    limit, note = rules.preload_ratio, f"{relaxed:.2f} left after relaxation"
    if not by_grip and _by_shape(j, loads):
        limit = rules.pressed_ratio
        note = f"held by shape: {j.shape_g:.2f} g without any friction; the preload keeps the tips pressed"
    elif not by_grip:
        note = "the tips cannot be sprung on hard enough within their force limits"
    return at_least("preload", j.preload_ratio, limit, "s/W", "LP; relaxation to half assumed", note=note)


def _or_none(value: float | None) -> float:
    return -1.0 if value is None else value
