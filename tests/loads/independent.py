"""A second solution of a mount, written apart from the library: one stiffness matrix of wires, pads and rigid object.

Members are built from their flexibility at the free end (force and moment to shift and turn of a cantilever), inverted
and carried to the other end by statics, not from the twelve-by-twelve of the textbooks. The object is six unknowns of
its own, joined to the wires by a pad at every face. N, mm.
"""

import numpy as np

BRASS_E, BRASS_G = 110_000.0, 110_000.0 / (2 * 1.31)  # C26000, materials table
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
