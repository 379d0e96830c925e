"""A second solution of a mount, written apart from the library: one stiffness matrix of wires, pads and rigid object.

Members are built from their flexibility at the free end (force and moment to shift and turn of a cantilever), inverted
and carried to the other end by statics, not from the twelve-by-twelve of the textbooks. The object is six unknowns of
its own, joined to the wires by a pad at every face. N, mm.
"""

import functools
import math

import numpy as np
from scipy.integrate import solve_bvp

BRASS_E, BRASS_G = 110_000.0, 110_000.0 / (2 * 1.31)  # C26000, materials table
WEIGHT = 9.80665e-3  # N a gram
PAD_MPa = {"lacquered wire": 1000.0, "shrink tube": 100.0, "felt": 2.0, "suede": 5.0, "unknown": 2.0}


def lever(r):
    """Forces at r, as felt at the origin."""
    x, y, z = r
    big = np.eye(6)
    big[3:, :3] = [[0, -z, y], [z, 0, -x], [-y, x, 0]]
    return big


def member(a, b, d):
    """Stiffness of a round member between a and b, display axes, (12, 12): forces at both ends by their moves."""
    length = np.linalg.norm(b - a)
    t = (b - a) / length
    area, second = np.pi * d**2 / 4, np.pi * d**4 / 64
    along, across = np.outer(t, t), np.eye(3) - np.outer(t, t)
    turn = np.array([[0, -t[2], t[1]], [t[2], 0, -t[0]], [-t[1], t[0], 0]])
    bend = BRASS_E * second
    soft = np.zeros((6, 6))  # of end b, a held
    soft[:3, :3] = length / (BRASS_E * area) * along + length**3 / (3 * bend) * across
    soft[3:, 3:] = length / (BRASS_G * 2 * second) * along + length / bend * across
    # a force F at b turns it by L2/(2EI) t x F; a moment M shifts it by L2/(2EI) M x t
    soft[3:, :3] = length**2 / (2 * bend) * turn
    soft[:3, 3:] = soft[3:, :3].T
    end = np.linalg.inv(soft)
    back = -lever(b - a)  # what end a must give for end b's forces
    return np.block([[back @ end @ back.T, back @ end], [end @ back.T, end]])


def pad(face, thickness, name):
    """Stiffness of a pad at its face, (6, 6)."""
    n = np.asarray(face.normal)
    press = PAD_MPa[name] * np.pi * face.radius_mm**2 / thickness
    shear = press / 2.8
    along, across = np.outer(n, n), np.eye(3) - np.outer(n, n)
    stiff = np.zeros((6, 6))
    stiff[:3, :3] = press * along + shear * across
    stiff[3:, 3:] = face.radius_mm**2 * (press / 4 * across + shear / 2 * along)
    return stiff


def line_of(tip, hub):
    """The wire's own line from the end of its lap, with a node at the seat of every face."""
    path = np.asarray(tip.arm.path_mm)
    run = path[1] - path[0]
    launch = path[0] + run * min(1.0, tip.arm.lap_mm / np.linalg.norm(run))
    line = [launch, *(path[1:] if np.linalg.norm(path[1] - launch) > 0.05 else path[2:])]
    lift = tip.pad_thickness_mm + tip.arm.wire_mm / 2
    seats = [np.asarray(f.point_mm) - lift * np.asarray(f.normal) for f in tip.faces]
    joined = [np.asarray(p)[-1] for p in tip.arm.pieces_mm if starts_on_hub(p, tip, hub)]
    for place in (*seats, *joined):
        best = None
        for k in range(len(line) - 1):
            a, b = line[k], line[k + 1]
            s = np.clip((place - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
            at = a + s * (b - a)
            if best is None or np.linalg.norm(at - place) < best[0] - 1e-12:
                best = (np.linalg.norm(at - place), k, at)
        _, k, at = best
        if min(np.linalg.norm(at - line[k]), np.linalg.norm(at - line[k + 1])) >= 0.05:
            line.insert(k + 1, at)
    return line, seats


def starts_on_hub(piece, tip, hub):
    """Whether a further wire is a brace from the hub, not a loop at the tip."""
    away = np.linalg.norm(np.asarray(piece)[0] - np.asarray(tip.arm.path_mm)[0])
    return len(piece) >= 3 and away <= hub.thickness_mm + 2 * tip.arm.wire_mm


def solve_mount(hold, wrench, strain=0.0):
    """Return for each tip: forces of the object on its wire at every face, at the lap's end, and member end forces."""
    nodes, members, springs, roots = [], [], [], []
    for t, tip in enumerate(hold.tips):
        line, seats = line_of(tip, hold.hub)
        first = len(nodes)
        nodes += line
        members += [(t, first + k, first + k + 1, tip.arm.wire_mm) for k in range(len(line) - 1)]
        roots.append(first)
        for face, seat in zip(tip.faces, seats):
            at = first + int(np.argmin([np.linalg.norm(p - seat) for p in line]))
            springs.append((t, at, face))
        for piece in tip.arm.pieces_mm:
            if starts_on_hub(piece, tip, hold.hub):
                piece = np.asarray(piece)
                joined = first + int(np.argmin([np.linalg.norm(p - piece[-1]) for p in line]))
                nodes.append(piece[1])
                members.append((t, len(nodes) - 1, joined, tip.arm.wire_mm))
                roots.append(len(nodes) - 1)
    count = len(nodes)
    size = 6 * count + 6
    big, load = np.zeros((size, size)), np.zeros(size)
    for _, i, j, d in members:
        at = np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]
        big[np.ix_(at, at)] += member(nodes[i], nodes[j], d)
    load[6 * count:] = wrench
    links = []
    for t, node, face in springs:
        tip, point = hold.tips[t], np.asarray(face.point_mm)
        stiff = pad(face, tip.pad_thickness_mm, tip.pad)
        wire, thing = lever(point - nodes[node]), lever(point)  # moves of the face: lever.T @ moves of the node
        grown = np.r_[strain * (point - np.asarray(hold.hub.centre_mm)), 0, 0, 0]
        a, o = np.r_[6 * node:6 * node + 6], np.r_[6 * count:size]
        big[np.ix_(a, a)] += wire @ stiff @ wire.T
        big[np.ix_(o, o)] += thing @ stiff @ thing.T
        big[np.ix_(a, o)] -= wire @ stiff @ thing.T
        big[np.ix_(o, a)] -= thing @ stiff @ wire.T
        load[a] -= wire @ stiff @ grown
        load[o] += thing @ stiff @ grown
        links.append((t, a, o, stiff, wire, thing, grown))
    free = [i for i in range(size) if i // 6 not in roots]
    moved = np.zeros(size)
    moved[free] = np.linalg.solve(big[np.ix_(free, free)], load[free])
    faces = [[] for _ in hold.tips]
    for t, a, o, stiff, wire, thing, grown in links:
        faces[t].append(stiff @ (thing.T @ moved[o] - wire.T @ moved[a] - grown))
    ends = [[] for _ in hold.tips]
    for t, i, j, d in members:
        at = np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]
        ends[t].append((nodes[i], nodes[j], d, member(nodes[i], nodes[j], d) @ moved[at]))
    return faces, ends


def root_of(ends, launch):
    """What the hub gives the arm at the end of its lap: (force, moment)."""
    for a, _, _, found in ends:
        if np.linalg.norm(a - launch) < 1e-9:
            return found[:6]
    raise AssertionError("no member starts there")


def rest_members(hold, t):
    """Member end forces of one tip's wire under its own force at rest, pressed off the object."""
    tip = hold.tips[t]
    line, seats = line_of(tip, hold.hub)
    nodes, members, fixed = list(line), [(k, k + 1) for k in range(len(line) - 1)], [0]
    at = int(np.argmin([np.linalg.norm(p - seats[0]) for p in line]))
    for piece in tip.arm.pieces_mm:
        if starts_on_hub(piece, tip, hold.hub):
            joined = int(np.argmin([np.linalg.norm(p - np.asarray(piece)[-1]) for p in line]))
            nodes.append(np.asarray(piece)[1])
            members.append((len(nodes) - 1, joined))
            fixed.append(len(nodes) - 1)
    size = 6 * len(nodes)
    big, load = np.zeros((size, size)), np.zeros(size)
    for i, j in members:
        span = np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]
        big[np.ix_(span, span)] += member(nodes[i], nodes[j], tip.arm.wire_mm)
    force = -tip.force_N * np.asarray(tip.normal)
    load[6 * at:6 * at + 3] = force
    load[6 * at + 3:6 * at + 6] = np.cross(np.asarray(tip.point_mm) - nodes[at], force)
    free = [i for i in range(size) if i // 6 not in fixed]
    moved = np.zeros(size)
    moved[free] = np.linalg.solve(big[np.ix_(free, free)], load[free])
    return [(nodes[i], nodes[j], tip.arm.wire_mm,
             member(nodes[i], nodes[j], tip.arm.wire_mm) @ moved[np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]])
            for i, j in members]


def skin_MPa(ends, a, b, d):
    """Greatest von Mises stress of a round wire's two ends: bending and stretch, torsion by sqrt 3."""
    t = (b - a) / np.linalg.norm(b - a)
    worst = 0.0
    for at in (0, 6):
        force, moment = ends[at:at + 3], ends[at + 3:at + 6]
        bending = np.linalg.norm(moment - (moment @ t) * t)
        normal = abs(force @ t) / (np.pi * d**2 / 4) + bending / (np.pi * d**3 / 32)
        worst = max(worst, np.hypot(normal, np.sqrt(3) * abs(moment @ t) / (np.pi * d**3 / 16)))
    return worst


def laps_of(tip, hub, members):
    """A wire's laps on the hub, the arm's own first: force and moment at the end, run, length."""
    path = np.asarray(tip.arm.path_mm)
    run = path[1] - path[0]
    launch = path[0] + run * min(1.0, tip.arm.lap_mm / np.linalg.norm(run))
    found = [(root_of(members, launch), run, tip.arm.lap_mm)]
    for piece in (np.asarray(p) for p in tip.arm.pieces_mm if starts_on_hub(p, tip, hub)):
        run = piece[1] - piece[0]
        found.append((root_of(members, piece[1]), run, np.linalg.norm(run)))
    return found


def strips_MPa(root, run, lap, wire, slotted):
    """Greatest stress on a bond of many cells under force and moment at the end of the lap."""
    width, height = (2 * wire, 0.0) if slotted else (wire, wire / 2)
    flat = np.array([run[0], run[1], 0.0])
    x = flat / np.linalg.norm(flat)
    axes = np.vstack([x, np.cross([0, 0, 1.0], x), [0, 0, 1.0]])
    force, moment = np.abs(axes @ root[:3]), np.abs(axes @ root[3:])
    s = (np.arange(400) + 0.5) / 400 - 0.5
    along, across = s * lap, s * width
    # linear spread of stress: p = P/A + M x / I, I summed over the cells
    second_along = (along**2).sum() * lap / 400 * width
    second_across = (across**2).sum() * width / 400 * lap
    peel = moment[1] + force[2] * lap / 2 + force[0] * height
    slew = moment[2] + force[1] * lap / 2
    twist = moment[0] + force[1] * height
    off = force[2] / (lap * width) + peel * lap / 2 / second_along + twist * width / 2 / second_across
    side = force[1] / (lap * width) + slew * lap / 2 / second_along
    return float(np.sqrt(off**2 + side**2 + (force[0] / (lap * width)) ** 2))


def pulls(carried, way):
    """(force, place) of object and mount, gravity and a shake in g together."""
    g = np.array(way) + np.array([0.0, -1.0, 0.0])
    return ((carried.object_g * WEIGHT * g, np.array(carried.centre_mm)),
            (carried.mount_g * WEIGHT * g, np.array(carried.mount_centre_mm)))


def section_at(forces, z):
    """Bending, torque, shear and pull at a place along the post, summed force by force."""
    total = sum(f for f, _ in forces)
    moment = sum(np.cross(p - (0, 0, z), f) for f, p in forces)
    return math.hypot(moment[0], moment[1]), moment[2], math.hypot(total[0], total[1]), total[2]


def flat_modulus_mm3(d, flat):
    """Section modulus across the flat, by a thousand strips of the round."""
    r = d / 2
    y = np.linspace(-r, r - flat, 200_001)
    width = 2 * np.sqrt(np.maximum(r**2 - y**2, 0))
    middle = np.trapezoid(width * y, y) / np.trapezoid(width, y)
    second = np.trapezoid(width * (y - middle) ** 2, y)
    return second / max(r - flat - middle, r + middle)


@functools.cache
def bed_moments(depth, EI, bed):
    """Moments along a pin on springs by a unit force and a unit moment at its mouth, (401,) each.

    400 elements of the simplest kind: central differences.
    """
    n = 401
    h = depth / (n - 1)
    # free beam by its bending energy: second differences at inner nodes, springs at all
    second = np.zeros((n - 2, n))
    for i in range(n - 2):
        second[i, i:i + 3] = np.array([1, -2, 1]) / h**2
    springs = np.full(n, bed * h)
    springs[[0, -1]] /= 2
    stiff = EI * h * second.T @ second + np.diag(springs)
    load = np.zeros((n, 2))
    load[0] = 1.0, 1 / h  # a couple at the mouth on the first two nodes
    load[1, 1] = -1 / h
    return (EI * second @ np.linalg.solve(stiff, load)).T


@functools.cache
def plate_of_turned_boss(rim, boss, t):
    """Stress (MPa) and turn (times D) by a moment of 1 N mm on a rigid boss in a plate clamped at its rim; radii in mm.

    (1/r d/dr r d/dr - 1/r2)^2 w = 0 for w(r) cos, turned by 1 at the boss, by a boundary value solver (thin plate).
    """
    nu, E = 0.31, 110_000.0
    D = E * t**3 / (12 * (1 - nu**2))

    def slopes(r, y):
        # y = w, w', g, g' with g = w'' + w'/r - w/r2
        return np.vstack([y[1], y[2] - y[1] / r + y[0] / r**2, y[3], -y[3] / r + y[2] / r**2])

    def ends(a, b):
        return np.array([a[0] - boss, a[1] - 1.0, b[0], b[1]])

    r = np.linspace(boss, rim, 400)
    found = solve_bvp(slopes, ends, r, np.zeros((4, 400)), tol=1e-8)
    assert found.success
    w, dw, g, dg = found.sol(boss)
    bending = -D * ((g - dw / boss + w / boss**2) + nu * (dw / boss - w / boss**2))
    # what turns the boss, summed round its edge: pi b (M_r - b V), V the shear with the twisting moment's change
    twisting = D * (1 - nu) * (dw / boss - w / boss**2)  # M_rt / sin
    effective = -D * dg + twisting / boss  # Kirchhoff's shear, over cos
    moment = abs(np.pi * boss * (bending - effective * boss))
    return abs(bending) * 6 / t**2 / moment, D / moment
