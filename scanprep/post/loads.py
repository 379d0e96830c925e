"""What a post carries: object and mount, where their weight acts, and how far a hand could reach them.

Everything is taken at its bad end: the heaviest mass, the centre of mass off by its own doubt in the worse direction.
Frame of this stage ("mouth frame"): origin where the post's axis meets the panel's face, x to the viewer's right, y up,
z out of the panel along the post. Used by `post.compliance` and `post.judge`.

         face|            hub        object
             |             |   ______
    mouth o--|=============|--(  com )      z ->
             |             |   ------
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace

import numpy as np

from scanprep.hold.records import Arm, Hold, Hub
from scanprep.hold.strength.stiffness import MOUNT_ALLOY, mount_compliance, moved, rings_of
from scanprep.materials import metal
from scanprep.rules import PostRules
from scanprep.survey.records import Survey
from scanprep.units import weight_N
from scanprep.vectors import F64, Vec3, vec3


@dataclass(frozen=True, slots=True, eq=False)
class Carried:
    """What hangs on one post. Mouth frame."""

    object_g: float  # heaviest it can be
    object_measured: bool
    mount_g: float  # arms and hub
    centre_mm: Vec3  # of the object, off by its doubt: lower reach is never assumed
    mount_centre_mm: Vec3
    inertia_g_mm2: F64  # (3, 3) of the object about its centre of mass
    free_length_mm: float  # face to the hub's back
    stand_off_mm: float  # face to the object's rearmost point
    front_mm: float  # face to the object's frontmost point
    half_width_mm: float  # of what a hand can reach, from the post's axis
    half_height_mm: float
    arms: F64 | None  # (6, 6) compliance of the arms at centre_mm; None: the object sits fast on the hub
    wires: F64 | None  # the same on pads that do not give
    pads_named: bool
    hub: Hub
    centre_doubt_mm: float = 0.0  # how far centre_mm was moved each way

    @property
    def weight_N(self) -> float:
        """Object and mount together."""
        return weight_N(self.object_g + self.mount_g)

    @property
    def outer_radius_mm(self) -> float:
        """From the post's axis to the outermost point a hand can push."""
        return math.hypot(self.half_width_mm, self.half_height_mm)

    @property
    def level_offset_mm(self) -> float:
        """|e_x|: how far the weight hangs beside the axis."""
        return abs(self.joint_centre_mm[0])

    @property
    def upright_offset_mm(self) -> float:
        """|h|: how far the weight hangs above or below the axis."""
        return abs(self.joint_centre_mm[1])

    @property
    def joint_centre_mm(self) -> Vec3:
        """Centre of mass of object and mount together."""
        total = self.object_g + self.mount_g
        object_mm, mount_mm = np.asarray(self.centre_mm), np.asarray(self.mount_centre_mm)
        return vec3((object_mm * self.object_g + mount_mm * self.mount_g) / total)


def free_and_stand_off_mm(hold: Hold, rules: PostRules) -> tuple[float, float]:
    """Return the free length and the stand-off, the latter grown where the mount would not fit between.

    The stand-off is asked for; where the hub with its fillet, or an arm that passes behind it, needs more room than it
    leaves, the object moves out.
    """
    free_mm = rules.stand_off_mm + hold.attach_mm[2] - hold.back_mm
    arms_mm = rules.stand_off_mm + rear_mm(hold) - hold.back_mm
    grown_mm = max(0.0, rules.least_free_length_mm - free_mm, rules.wire_clear_mm - arms_mm)
    return free_mm + grown_mm, rules.stand_off_mm + grown_mm


def rear_mm(hold: Hold) -> float:
    """Return how far back the arms and their braces reach, z in the display frame; the hub's back without arms."""
    wires = [float(path[:, 2].min()) - tip.arm.wire_mm / 2
             for tip in hold.tips for path in (tip.arm.path_mm, *tip.arm.pieces_mm)]
    return min([hold.attach_mm[2], *wires])


def arm_mass_g(arm: Arm) -> float:
    """Return the mass of an arm's wire, its braces and loops included."""
    rings = rings_of(arm) if arm.strip is not None else ()
    if arm.strip is not None and rings:
        bare = replace(arm, strip=None, pieces_mm=tuple(p for p in arm.pieces_mm if not any(p is r for r in rings)))
        strip_mm = sum(float(_runs(ring)[0].sum()) for ring in rings)
        return arm_mass_g(bare) + \
            metal(MOUNT_ALLOY).density_g_mm3 * arm.strip.wide_mm * arm.strip.thick_mm * strip_mm
    length_mm = arm.developed_length_mm + sum(float(runs.sum()) for runs, _ in map(_runs, arm.pieces_mm))
    section_mm2 = arm.wide_mm * arm.wire_mm or math.pi / 4 * arm.wire_mm**2
    if arm.wide_mm and arm.thin is not None:  # its stem alone is flat bar
        stem_mm = float(_runs(arm.path_mm[:arm.thin.corner + 1])[0].sum())
        end_mm3 = math.pi / 4 * arm.end_mm**2 * max(length_mm - stem_mm, 0.0)
        return metal(MOUNT_ALLOY).density_g_mm3 * (section_mm2 * stem_mm + end_mm3)
    return metal(MOUNT_ALLOY).density_g_mm3 * section_mm2 * length_mm


def _runs(path_mm: F64) -> tuple[F64, F64]:
    """The lengths (k - 1,) and middles (k - 1, 3) of a path's straight runs."""
    return np.linalg.norm(np.diff(path_mm, axis=0), axis=1), (path_mm[1:] + path_mm[:-1]) / 2


def hub_mass_g(hub: Hub) -> float:
    """Return the mass of a hub: a square plate, a flat bar, or a ring or bar of round stock of the hub's thickness."""
    density = metal(MOUNT_ALLOY).density_g_mm3
    if hub.high_mm:
        return density * hub.size_mm * hub.high_mm * hub.thickness_mm
    if hub.kind == "plate":
        return density * hub.size_mm**2 * hub.thickness_mm
    length_mm = {"ring": math.pi * hub.size_mm, "bar": hub.size_mm}.get(hub.kind, 2 * hub.size_mm)
    return density * length_mm * math.pi / 4 * hub.thickness_mm**2


def _mount_mass_and_centre(hold: Hold) -> tuple[float, F64]:
    """Return the mount's mass and centre of mass in the display frame."""
    masses, centres = [hub_mass_g(hold.hub)], [np.asarray(hold.hub.centre_mm)]
    for tip in hold.tips:
        wires = [_runs(path) for path in (tip.arm.path_mm, *tip.arm.pieces_mm)]
        runs, middles = (np.concatenate(part) for part in zip(*wires))
        masses.append(arm_mass_g(tip.arm))
        centres.append((middles * runs[:, None]).sum(axis=0) / runs.sum())
    total = sum(masses)
    return total, np.asarray(sum(m * c for m, c in zip(masses, centres)) / total, dtype=np.float64)


def carried_by(hold: Hold, survey: Survey, rules: PostRules) -> Carried:
    """Return what the post of a hold carries, in the mouth frame.

    The centre of mass is moved by its radius of doubt outwards (z) and away from the axis (x and y).
    """
    free_mm, stand_off_mm = free_and_stand_off_mm(hold, rules)
    to_mouth = np.array([-hold.attach_mm[0], -hold.attach_mm[1], free_mm - hold.attach_mm[2]])
    mount_g, mount_centre = _mount_mass_and_centre(hold)
    doubt = survey.centre_radius_mm
    away = np.array([math.copysign(doubt, to_mouth[0]), math.copysign(doubt, to_mouth[1]), doubt])
    turn = hold.attitude.rotation
    gives = mount_compliance(hold.tips, hold.hub) if hold.tips else None
    heavier = survey.mass_g.high / survey.mass_g.best
    return Carried(
        object_g=survey.mass_g.high, object_measured=survey.mass_measured, mount_g=mount_g,
        centre_mm=vec3(to_mouth + away), mount_centre_mm=vec3(mount_centre + to_mouth),
        inertia_g_mm2=np.asarray(turn @ survey.inertia_g_mm2 @ turn.T * heavier, dtype=np.float64),
        free_length_mm=free_mm, stand_off_mm=stand_off_mm, front_mm=free_mm + hold.depth_mm,
        half_width_mm=hold.width_mm / 2 + abs(to_mouth[0]), half_height_mm=hold.height_mm / 2 + abs(to_mouth[1]),
        arms=None if gives is None else moved(gives[0], away), wires=None if gives is None else moved(gives[1], away),
        pads_named=all(tip.pad != "unknown" for tip in hold.tips),
        hub=hold.hub, centre_doubt_mm=doubt,
    )


@functools.cache
def directions() -> F64:
    """Return 98 unit directions, to a lattice of 5 x 5 points on each face of a cube, (98, 3).

    None lies further than 15 degrees from one of them: the worst direction is met to 3 % of the shaking.
    """
    steps = np.arange(-2, 3)
    grid = np.array([(x, y, z) for x in steps for y in steps for z in steps if max(abs(x), abs(y), abs(z)) == 2],
                    dtype=np.float64)
    return np.asarray(grid / np.linalg.norm(grid, axis=1, keepdims=True), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class MouthLoad:
    """Forces of one load case where the post enters the panel. Mouth frame."""

    name: str
    axial_N: float  # + pulls out
    shear_N: float
    bending_Nmm: float
    torque_Nmm: float


def mouth_loads(name: str, forces_N: F64, points_mm: F64, at_mm: float) -> tuple[MouthLoad, ...]:
    """Return the section forces at `at_mm` along the post of some load cases, each of the same number of forces.

    forces_N   (cases, k, 3)
    points_mm  (cases, k, 3) where they act
    """
    lever = points_mm - np.array([0.0, 0.0, at_mm])
    total, moment = forces_N.sum(axis=1), np.cross(lever, forces_N).sum(axis=1)
    shear, bending = np.hypot(total[:, 0], total[:, 1]), np.hypot(moment[:, 0], moment[:, 1])
    return tuple(MouthLoad(name, *map(float, row)) for row in zip(total[:, 2], shear, bending, moment[:, 2]))


def _weights(carried: Carried) -> tuple[F64, F64]:
    """Return the weights in N, (2,), and centres, (2, 3), of object and mount."""
    return (np.array([weight_N(carried.object_g), weight_N(carried.mount_g)]),
            np.array([carried.centre_mm, carried.mount_centre_mm]))


def _with_gravity(carried: Carried, accelerations: F64) -> tuple[F64, F64]:
    weights, centres = _weights(carried)
    pulls = accelerations + np.array([0.0, -1.0, 0.0])
    return pulls[:, None, :] * weights[None, :, None], np.broadcast_to(centres, (len(pulls), 2, 3))


def acting_at(carried: Carried, ways_g: F64, at_mm: float) -> F64:
    """Return the wrench (6, n) about a place along the post of weight with each of some accelerations in g, (n, 3)."""
    forces, points = _with_gravity(carried, ways_g)
    lever = points - np.array([0.0, 0.0, at_mm])
    return np.asarray(np.hstack([forces.sum(axis=1), np.cross(lever, forces).sum(axis=1)]).T, dtype=np.float64)


def standing_load(carried: Carried, at_mm: float = 0.0) -> MouthLoad:
    """Return the load of weight alone."""
    return mouth_loads("weight", *_with_gravity(carried, np.zeros((1, 3))), at_mm)[0]


def upright_ways(vertical_g: float) -> F64:
    """Return the accelerations up and down in g, (2, 3)."""
    return np.array([[0.0, vertical_g, 0.0], [0.0, -vertical_g, 0.0]])


def shaken_loads(carried: Carried, ways_g: F64, at_mm: float = 0.0) -> tuple[MouthLoad, ...]:
    """Return the loads of weight with each of some accelerations in g, (n, 3)."""
    return mouth_loads("shaken", *_with_gravity(carried, ways_g), at_mm)


def swung_loads(carried: Carried, ways_g: F64, at_mm: float = 0.0) -> tuple[MouthLoad, ...]:
    """Return the loads of some accelerations in g, (n, 3), without the weight: by how much a load swings."""
    weights, centres = _weights(carried)
    return mouth_loads("swung", ways_g[:, None, :] * weights[None, :, None],
                       np.broadcast_to(centres, (len(ways_g), 2, 3)), at_mm)


def touched_loads(carried: Carried, touch_N: float, at_mm: float = 0.0) -> tuple[MouthLoad, ...]:
    """Return the loads of weight with an accidental push at the object's outermost points, in six directions."""
    half_w, half_h, front = carried.half_width_mm, carried.half_height_mm, carried.front_mm
    points = np.array([(half_w, 0, front), (-half_w, 0, front), (0, half_h, front), (0, -half_h, front)])
    ways = touch_N * np.vstack([np.eye(3), -np.eye(3)])
    count = len(points) * len(ways)
    forces, centres = _with_gravity(carried, np.zeros((count, 3)))
    pushes, places = np.tile(ways, (len(points), 1)), np.repeat(points, len(ways), axis=0)
    return mouth_loads("touched", np.concatenate([forces, pushes[:, None]], axis=1),
                       np.concatenate([centres, places[:, None]], axis=1), at_mm)
