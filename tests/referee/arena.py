"""A physics engine as referee: does a set of sprung tips keep an object while it is shaken?

The object moves freely; its surface is known to the engine only under the tips, as the hull of a dense patch (at least
3 samples a square millimetre, 3 mm around each face). Each tip is a small mass on three springs of 2 N/mm, set so that
at the start every face presses as the preload asks; or, for a finished mount, on the springs that its own arm and pad
are there, hub held fast. Each of its faces touches through four small balls that follow the surface as a soft pad does.
Tips of one continuous wire give together: every way in which it bends (an eigenvector of its stiffness) is one spring
over all its tips' sliders. So may a mount's wires: each face is then a body of its own, tied to the others by its wire
(`own_wires`). Step 0.1 ms. The engine's own contacts give a little, and a stiff arm would lose half its
preload by it: a mount's arms are drawn until their tips press as asked, before the object is let go. After settling,
the shake pushes from all six sides in turn.

A face whose patch cannot be found is an error, never left out. MuJoCo must come after open3d (the other way round the
loader fails), so import this module only after scanprep.rays has loaded it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
from scipy.spatial import ConvexHull

from scanprep.findings import Check
from scanprep.hold.places.spots import Surface, disc, tangents
from scanprep.hold.records import Attitude, Contact, Hold, Tip, faces_of
from scanprep.hold.statics.balance import SprungWire
from scanprep.hold.statics.preload import preload
from scanprep.hold.statics.wrench import BEARS_SHARE, ContactWrenches
from scanprep.hold.strength.stiffness import contact_of, face_compliance, pad_of, tip_compliance
from scanprep.rays import load_open3d
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey
from scanprep.vectors import F64

PATCH_mm = 3.0
RISE_mm = 2.0  # how far outside a patch's rays begin
LOOKS_ALIKE = 0.3  # a patch's surface looks the face's way within 72 deg
LEAST_SAMPLES = 8
SPRING_N_PER_MM = 2.0
STIFFEST_N_PER_MM = 100.0  # of an own arm: a tip of 2 g on it swings in 9 steps; 5 N move it by 0.05 mm
STEP_s = 1e-4
SETTLE_s, PUSH_s, REST_s = 0.25, 0.12, 0.15
DRAWS, DRAW_s = 6, 0.004  # no longer, or tips creep along the object while it is held
TIP_kg = 0.002
BALL_mm = 0.5
HOLLOW_mm = 0.05  # how far a patch's hull may stand proud of the surface under the pad
SHIFT_mm = 0.3  # most that a pad's ball is moved to lie on its patch
SETTLE_mm, DRIFT_mm, TURN_deg = 3.0, 2.0, 4.0


@dataclass(frozen=True, slots=True)
class Ruling:
    """How far an object moved."""

    settle_mm: float
    drift_mm: float
    turn_deg: float

    @property
    def stayed(self) -> bool:
        """Settled by less than 3 mm, drifted by less than 2 mm, turned by less than 4 deg."""
        return self.settle_mm < SETTLE_mm and self.drift_mm < DRIFT_mm and self.turn_deg < TURN_deg


class Held(Protocol):
    """A set of tips, or a whole hold: what both have."""

    attitude: Attitude
    checks: tuple[Check, ...]


def contacts_of(held: Held) -> Sequence[Contact | Tip]:
    """What touches the object."""
    return held.tips if isinstance(held, Hold) else held.contacts


def grip_of(contacts: Sequence[Contact | Tip]) -> ContactWrenches:
    """The faces of a set as the mechanics sees them: no friction is planned on the jaws of a fork."""
    faces = [(number, face) for number, contact in enumerate(contacts) for face in contact.faces]
    rubs = [contact.friction * (place == 0 or contact.kind != "fork")
            for contact in contacts for place in range(len(contact.faces))]
    return ContactWrenches(np.array([face.point_mm for _, face in faces]), np.array([face.normal for _, face in faces]),
                           np.array(rubs), np.array([face.force_limit_N for _, face in faces]),
                           np.array([number for number, _ in faces]),
                           BEARS_SHARE * np.array([face.radius_mm for _, face in faces]))


def own_wires(hold: Hold) -> tuple[SprungWire, ...]:
    """Every wire of a finished mount, by numbers of faces, as these feel it: pads counted in, hub held fast."""
    wires, first = [], 0
    for tip in hold.tips:
        contact = contact_of(tip)
        gives = face_compliance(contact, tip.arm, hold.hub)
        for k, face in enumerate(faces_of(contact)):
            gives[3 * k:3 * k + 3, 3 * k:3 * k + 3] += pad_of(face, contact)[:3, :3]
        wires.append(SprungWire(tuple(range(first, first + len(gives) // 3)), gives))
        first += len(gives) // 3
    return tuple(wires)


def arm_springs(hold: Hold) -> F64:
    """The stiffness (n, 3, 3) of each tip on its own arm and pad, N/mm, the hub held fast."""
    return np.array([np.linalg.inv(tip_compliance(contact_of(tip), tip.arm, hold.hub)) for tip in hold.tips])


def tip_slides(spring: F64, force_N: F64, share_kg: float) -> str:
    """Three sliders along a spring's principal axes, drawn so that they press with a force; SI units.

    spring  (3, 3) N/mm, symmetric
    """
    stiff, axes = np.linalg.eigh(spring)
    stiff = np.minimum(stiff, STIFFEST_N_PER_MM) * 1e3
    drawn = force_N @ axes / stiff
    damping = 0.5 * np.sqrt(stiff * share_kg)
    return "".join(f'<joint type="slide" axis="{_numbers(axis)}" stiffness="{one:.9g}" springref="{far:.9g}" '
                   f'damping="{lost:.6g}"/>' for axis, one, far, lost in zip(axes.T, stiff, drawn, damping))


def coupled_springs(wire: SprungWire, forces_N: F64, share_kg: float) -> tuple[list[str], str]:
    """Three sliders for each tip of a wire along x, y and z, and the springs over them all; SI units.

    forces_N  (m, 3) what each of its tips presses with
    """
    stiff, ways = np.linalg.eigh(np.linalg.inv(wire.compliance_mm_per_N))
    stiff = np.minimum(stiff, STIFFEST_N_PER_MM) * 1e3
    damping = 0.5 * np.sqrt(float(stiff.mean()) * share_kg)
    names = [[f"slide{tip}_{k}" for k in range(3)] for tip in wire.tips]
    slides = ["".join(f'<joint name="{name}" type="slide" axis="{_numbers(axis)}" damping="{damping:.6g}"/>'
                      for name, axis in zip(own, np.eye(3))) for own in names]
    springs = []
    for one, way in zip(stiff, ways.T):
        drawn = float(way @ forces_N.ravel()) / one
        way, drawn = (way, drawn) if drawn >= 0 else (-way, -drawn)  # the engine reads a negative length as "find it"
        over = "".join(f'<joint joint="{name}" coef="{share:.9g}"/>'
                       for name, share in zip([name for own in names for name in own], way))
        springs.append(f'<fixed stiffness="{one:.9g}" springlength="{drawn:.9g}">{over}</fixed>')
    return slides, "".join(springs)


def surface_patch(surface: Surface, rotation: F64, ball_mm: F64, normal: F64) -> F64:
    """Dense points of the mesh round a ball's touch that look the same way, and the same a little inside; (n, 3).

    3 mm around it; less where the surface is hollow and the hull of so much would stand in the way of the tip. Asked by
    rays along the pad's own normal, so that nothing under the ball can be missing.
    """
    first, second = (side[0] for side in tangents(normal[None]))
    spread = np.vstack([disc(PATCH_mm), disc(PATCH_mm / 2), disc(0.9), disc(0.5)])
    start = ball_mm - RISE_mm * normal + spread[:, :1] * first + spread[:, 1:] * second
    points, good = _met(surface, rotation, start, normal)
    away = np.linalg.norm(points - ball_mm - BALL_mm * normal, axis=1)
    for reach in (PATCH_mm, 2.2, 1.6, 1.2, 0.9, 0.65, 0.45):
        local = points[good & (away < reach)]
        if len(local) < LEAST_SAMPLES:
            raise ArithmeticError(f"only {len(local)} samples under the tip at {ball_mm}: no surface")
        hull = ConvexHull(np.vstack([local, local + 1.5 * normal])).equations
        if BALL_mm - (hull[:, :3] @ ball_mm + hull[:, 3]).max() < HOLLOW_mm:
            break
    return np.vstack([local, local + 1.5 * normal])


def _met(surface: Surface, rotation: F64, start: F64, normal: F64) -> tuple[F64, np.ndarray]:
    """Where rays along a face's normal meet the surface, and whether it looks against them there; display frame."""
    hits = surface.rays.cast(start @ rotation, np.broadcast_to(normal @ rotation, start.shape))
    far = hits.distance_mm.astype(np.float64)
    outward = hits.normal.astype(np.float64) @ rotation.T
    good = (far < 2 * RISE_mm) & (outward @ -normal > LOOKS_ALIKE)
    return start + np.where(np.isfinite(far), far, 0.0)[:, None] * normal, good


def pad_balls(surface: Surface, rotation: F64, point_mm: F64, normal: F64, radius_mm: float) -> F64:
    """Centres (n, 3) of the balls by which a face touches: four where the surface carries on, else the middle."""
    first, second = (side[0] for side in tangents(normal[None]))
    reach = BEARS_SHARE * radius_mm
    around = [point_mm + reach * (x * first + y * second) for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    start = np.array([*around, point_mm]) - 1.5 * normal
    hits = surface.rays.cast(start @ rotation, np.broadcast_to(normal @ rotation, start.shape))
    far = hits.distance_mm.astype(np.float64)
    outward = hits.normal.astype(np.float64) @ rotation.T
    fits = (np.abs(far - 1.5) < 0.5) & (outward @ -normal > 0.6)
    touched = start + np.where(np.isfinite(far), far, 0.0)[:, None] * normal
    balls = touched + BALL_mm * outward
    if fits[:4].sum() >= 2:
        return balls[:4][fits[:4]]
    if not fits[4]:
        return (point_mm - BALL_mm * normal)[None]
    return balls[4:]


def set_touching(model: Any, normals: dict[str, F64]) -> None:
    """Move every ball along its face's normal until it just touches its patch: none begins in the air or inside.

    model    the engine's own
    normals  ball's name -> into the object, display frame
    Raises ArithmeticError where that would take more than SHIFT_mm.
    """
    import mujoco

    data = mujoco.MjData(model)
    at = model.geom_pos.copy()
    for _ in range(4):
        mujoco.mj_forward(model, data)
        for first, second in zip(model.pair_geom1, model.pair_geom2):
            ball = first if model.geom(first).name in normals else second
            gap = mujoco.mj_geomDistance(model, data, int(first), int(second), 0.01, np.zeros(6))
            model.geom_pos[ball] += gap * normals[model.geom(ball).name]
    moved_mm = np.linalg.norm(model.geom_pos - at, axis=1).max() * 1e3
    if moved_mm > SHIFT_mm:
        raise ArithmeticError(f"a pad lies {moved_mm:.2f} mm off the patch that it should touch")


def draw_springs(model: Any, data: Any) -> bool:
    """Draw the tips' springs, the object held fast, until each presses as it was asked to; whether none slips off.

    The engine's contacts give under a force (0.05 mm under 5 N): nothing to a spring of 2 N/mm, half of what an arm of
    40 N/mm was to press with.
    """
    import mujoco

    slides = np.flatnonzero(model.jnt_type == mujoco.mjtJoint.mjJNT_SLIDE)
    at = model.jnt_qposadr[slides]
    asked_N = model.jnt_stiffness[slides] * model.qpos_spring[at]
    sprung = model.jnt_stiffness[slides] > 0
    coupled_N = model.tendon_stiffness * model.tendon_lengthspring[:, 0]
    free = data.qpos[:7].copy()
    for _ in range(DRAWS):
        for _ in range(round(DRAW_s / STEP_s)):
            mujoco.mj_step(model, data)
            data.qpos[:7], data.qvel[:6] = free, 0.0
        model.qpos_spring[at[sprung]] = data.qpos[at[sprung]] + asked_N[sprung] / model.jnt_stiffness[slides][sprung]
        if model.ntendon:
            model.tendon_lengthspring[:] = (data.ten_length + coupled_N / model.tendon_stiffness)[:, None]
    data.qvel[:] = 0.0
    return bool(np.abs(data.qpos[at]).max() < SETTLE_mm * 1e-3)


def bend_wrong(model: Any, aside_mm: dict[str, F64]) -> None:
    """Move where springs rest by what arms were bent wrong, once they are drawn: a tip off the object is not drawn on.

    aside_mm  body -> (3,), display frame
    """
    import mujoco

    shift = np.zeros(model.njnt)
    for joint in np.flatnonzero(model.jnt_type == mujoco.mjtJoint.mjJNT_SLIDE):
        shift[joint] = float(model.jnt_axis[joint] @ aside_mm[model.body(model.jnt_bodyid[joint]).name]) * 1e-3
        if model.jnt_stiffness[joint] > 0:
            model.qpos_spring[model.jnt_qposadr[joint]] += shift[joint]
    for tendon in range(model.ntendon):
        over = slice(model.tendon_adr[tendon], model.tendon_adr[tendon] + model.tendon_num[tendon])
        model.tendon_lengthspring[tendon] += float(model.wrap_prm[over] @ shift[model.wrap_objid[over]])


def _numbers(values: F64) -> str:
    return " ".join(f"{value:.9g}" for value in np.ravel(values))


def _scene(surface: Surface, survey: Survey, held: Held, without: frozenset[int], friction: float,
           springs: F64, coupled: Sequence[SprungWire] = (), centre_off_mm: F64 | None = None,
           wires: Sequence[SprungWire] = ()) -> tuple[str, dict[str, F64]]:
    """The engine's own description, SI units, display frame, origin at the centre of mass; and each ball's normal."""
    rotation, contacts = held.attitude.rotation, contacts_of(held)
    grip = grip_of(contacts)
    weight_N = survey.mass_g.best * 9.80665e-3
    # as set: what friction holds to 0.2 W, what shape holds to half of that
    limit = next((check.limit for check in held.checks if check.name == "preload"), None) or 0.2
    asked = 0.2 if limit >= 0.2 else HoldRules().shaped_ratio
    forces = preload(grip, weight_N, np.array([0.0, 1.0, 0.0]), asked).forces_N
    radius = [face.radius_mm for contact in contacts for face in contact.faces]
    inertia = rotation @ np.asarray(survey.inertia_g_mm2) @ rotation.T * 1e-9
    assets, patches, bodies, pairs = [], [], [], []
    into: dict[str, F64] = {}
    share_kg = max(survey.mass_g.best * 1e-3 / grip.tips, TIP_kg)
    if wires:  # every face is a body of its own, and the wires tie them
        grip, coupled = replace(grip, tip=np.arange(len(grip.tip))), wires
    pressed = np.array([forces[grip.tip == tip].sum(0) for tip in range(grip.tips)])
    together: dict[int, str] = {}
    tendons = ""
    for wire in coupled:
        slides, over = coupled_springs(wire, pressed[list(wire.tips)], share_kg)
        together.update(zip(wire.tips, slides))
        tendons += over
    for tip in range(grip.tips):
        if tip in without:
            continue
        own = np.flatnonzero(grip.tip == tip)
        at = grip.points_mm[own[0]]
        balls = []
        for face in own:
            for number, ball in enumerate(pad_balls(surface, rotation, grip.points_mm[face], grip.normals[face],
                                                    radius[face])):
                name, touch = f"patch{face}_{number}", f"ball{face}_{number}"
                into[touch] = grip.normals[face]
                points = surface_patch(surface, rotation, ball, grip.normals[face])
                assets.append(f'<mesh name="{name}" vertex="{_numbers(points * 1e-3)}"/>')
                # an engine's mesh geom is centred by itself; the asset's own position brings it back
                patches.append(f'<geom name="{name}" type="mesh" mesh="{name}" mass="0" contype="0" conaffinity="0"/>')
                balls.append(f'<geom name="{touch}" type="sphere" size="{BALL_mm * 1e-3}" mass="1e-5" contype="0" '
                             f'conaffinity="0" pos="{_numbers((ball - at) * 1e-3)}"/>')
                pairs.append(f'<pair geom1="{name}" geom2="{touch}" friction="{friction} {friction} 1e-4 1e-5 1e-5" '
                             'condim="3" solref="0.004 1" solimp="0.95 0.99 0.0005"/>')
        # each spring is drawn towards the object so that its faces press as set
        slides = together.get(tip) or tip_slides(springs[tip], pressed[tip], share_kg)
        bodies.append(f'<body name="tip{tip}" pos="{_numbers(at * 1e-3)}" gravcomp="1">{slides}<geom type="sphere" '
                      f'size="1e-4" mass="{TIP_kg}" contype="0" conaffinity="0"/>{"".join(balls)}</body>')
    centre = _numbers((np.zeros(3) if centre_off_mm is None else centre_off_mm) * 1e-3)
    full = _numbers(inertia[[0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2]])
    return f"""<mujoco><option timestep="{STEP_s}" cone="elliptic" impratio="20" noslip_iterations="5"
      integrator="implicitfast" gravity="0 -9.80665 0"/><compiler balanceinertia="true"/><size memory="64M"/>
      <asset>{''.join(assets)}</asset><worldbody><body name="object"><freejoint/>
      <inertial pos="{centre}" mass="{survey.mass_g.best * 1e-3:.9g}" fullinertia="{full}"/>{''.join(patches)}</body>
      {''.join(bodies)}</worldbody>{f"<tendon>{tendons}</tendon>" if tendons else ""}
      <contact>{''.join(pairs)}</contact></mujoco>""", into


def rule(surface: Surface, survey: Survey, held: Held, *, shake_g: float = 0.2,
         without: frozenset[int] = frozenset(), friction: float | None = None, springs: F64 | None = None,
         bent_mm: F64 | None = None, coupled: Sequence[SprungWire] = (), centre_off_mm: F64 | None = None,
         wires: Sequence[SprungWire] = ()) -> Ruling:
    """Return how an object fares in a set of tips, or in a hold, under a shake on all six sides.

    without  tips taken away
    friction None: the pads' own
    springs  (n, 3, 3) stiffness of each tip, N/mm, such as `arm_springs`; None: 2 N/mm all round
    bent_mm  (n,) how much too far in each arm was bent, along its tip's normal, and left so; None: all as set
    coupled  wires whose tips give together, instead of their own springs
    wires    all wires of a mount as their faces feel them, such as `own_wires`, instead of springs
    centre_off_mm  (3,) how far the centre of mass lies from where the mount was planned for
    """
    load_open3d()
    import mujoco

    mu = contacts_of(held)[0].friction if friction is None else friction
    soft = springs is None and not wires
    if springs is None:
        springs = np.tile(SPRING_N_PER_MM * np.eye(3), (len(contacts_of(held)), 1, 1))
    if without and (coupled or wires):
        raise ValueError("no tip is taken off a continuous wire")
    description, normals = _scene(surface, survey, held, without, mu, springs, coupled, centre_off_mm, wires)
    model = mujoco.MjModel.from_xml_string(description)
    set_touching(model, normals)
    data = mujoco.MjData(model)
    drawn = soft or draw_springs(model, data)
    if bent_mm is not None:
        stations = [(tip, face) for tip, contact in enumerate(contacts_of(held)) for face in range(
            len(faces_of(contact)) if wires else 1)]
        bend_wrong(model, {f"tip{number}": bent_mm[tip] * np.asarray(contacts_of(held)[tip].normal)
                           for number, (tip, _) in enumerate(stations)})
    g = 9.80665

    def run(seconds: float, push: F64) -> bool:
        steps = round(seconds / STEP_s)
        for step in range(steps):
            model.opt.gravity[:] = np.array([0, -g, 0]) + np.sin(np.pi * (step + 1) / steps) * push
            mujoco.mj_step(model, data)
            if step % 200 == 0 and np.linalg.norm(data.qpos[:3]) > 0.02:
                return False  # 20 mm away: it has fallen
        return True

    fell = Ruling(np.inf, np.inf, 180.0)
    if not drawn or not run(SETTLE_s, np.zeros(3)):
        return fell
    start, turned = data.qpos[:3].copy(), data.qpos[3:7].copy()
    settle = float(np.linalg.norm(start)) * 1e3
    for push in np.vstack([np.eye(3), -np.eye(3)]):
        if not run(PUSH_s, shake_g * g * push):
            return fell
    if not run(REST_s, np.zeros(3)):
        return fell
    drift = float(np.linalg.norm(data.qpos[:3] - start)) * 1e3
    angle = 2 * np.degrees(np.arccos(np.clip(abs(float(data.qpos[3:7] @ turned)), 0, 1)))
    return Ruling(settle, drift, float(angle))
