"""A frame library's model of an object in its mount, built face by face and pad by pad. Used to check our stiffness."""

import numpy as np

from scanprep.hold.records import Arm, Face, Hub, Tip

BRASS_MPa, BRASS_G_MPa = 110_000.0, 110_000.0 / (2 * 1.31)  # C26000, from the materials table
SUEDE_MPa = 5.0
LINK_MPa = 1e7  # links that shall not bend
AXES = ("FX", "FY", "FZ", "MX", "MY", "MZ")
HUB = Hub("plate", (0.0, 10.0, -30.0), 16.0, 1.6, ())


def arm(path_mm, wire_mm, lap_mm=0.0, pieces=()):
    path = np.asarray(path_mm, dtype=float)
    length = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    return Arm(path, wire_mm, length, (), 10.0, 0.1, 1.0, "#808080", (54.0, 0.0, 0.0), pieces_mm=tuple(pieces),
               lap_mm=lap_mm)


def tip(bent, *faces):
    """A suede tip touching at (point, normal, pad radius) each, its wire where the seats want it."""
    found = tuple(Face(tuple(map(float, p)), tuple(map(float, n)), 5.0, r) for p, n, r in faces)
    kind, first = "pad" if len(found) == 1 else "lipped", found[0]
    return Tip(first.point_mm, first.normal, kind, True, 1.0, 5.0, 0.35, "suede", first.radius_mm, 0.8, bent, True,
               found)


def three_arms():
    """A braced arm under the base, a hooked one round an edge, a plain one at the side: nothing alike."""
    brace = np.array([[0.0, 6, -33.2], [0, 0, -33.2], [4, -38, -26], [6, -44, -25.5]])
    under = arm([(0, 6, -30), (0, 0, -30), (8, -51.7, -24), (8, -51.7, 6)], 1.8, 6.0, (brace,))
    hooked = arm([(0, 12, -30), (-6, 18, -30), (-31.5, 40, -20), (-31.5, 42, 2), (-31.5, 42, 12), (-24, 42, 13.7)],
                 1.6, 5.0)
    side = arm([(5, 10, -30), (12, 10, -30), (37.5, 5, -18), (37.5, -2, 4)], 1.4, 4.0)
    return (tip(under, ((8, -50, 0), (0, 1, 0), 3.0)),
            tip(hooked, ((-30, 42, 6), (1, 0, 0), 2.0), ((-27, 42, 12), (0, 0, -1), 1.5)),
            tip(side, ((36, 0, 0), (-1, 0, 0), 2.0)))


def _link(model, node, point, other):
    # mind where links run: the library joins a member to every node that lies on it
    model.add_node(node, *point)
    model.add_member(f"link {node}", other, node, "link", "link")


def _pad(model, name, face, wire_node, object_node):
    """Twelve springs: three at each of four points, r/sqrt 2 from the middle, make the disc's six stiffnesses."""
    normal = np.asarray(face.normal)
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first /= np.linalg.norm(first)
    second = np.cross(normal, first)
    press = SUEDE_MPa * np.pi * face.radius_mm**2 / 0.8
    shear = press / 2.8
    for k, way in enumerate((first, second, -first, -second)):
        at = np.asarray(face.point_mm) + way * face.radius_mm / np.sqrt(2)
        _link(model, f"{name}{k}o", at, object_node)
        for axis, (along, stiff) in enumerate(((normal, press), (first, shear), (second, shear))):
            _link(model, f"{name}{k}{axis}w", at + 5.0 * along, wire_node)
            model.add_spring(f"{name}{k}{axis}s", f"{name}{k}{axis}w", f"{name}{k}o", stiff / 4)


def _nearest(points, place):
    return int(np.argmin(np.linalg.norm(np.asarray(points) - place, axis=1)))


def add_arms(model, tips, object_node, ground):
    """Add wires, braces and pads; `ground(name, point)` makes a node that the hub holds."""
    for i, one in enumerate(tips):
        path, d = one.arm.path_mm, one.arm.wire_mm
        section = f"wire{i}"
        model.add_section(section, np.pi * d**2 / 4, np.pi * d**4 / 64, np.pi * d**4 / 64, np.pi * d**4 / 32)
        run = path[1] - path[0]
        launch = path[0] + run * one.arm.lap_mm / np.linalg.norm(run)
        line = [launch, *path[1 if np.linalg.norm(path[1] - launch) > 0.05 else 2:]]
        lift = 0.8 + d / 2
        seats = [np.asarray(f.point_mm) - np.asarray(f.normal) * lift for f in one.faces]
        for place in (*seats, *(piece[-1] for piece in one.arm.pieces_mm)):
            line = _with(line, place)
        ground(f"a{i}n0", line[0])
        for k, point in enumerate(line[1:], start=1):
            model.add_node(f"a{i}n{k}", *point)
            model.add_member(f"a{i}m{k}", f"a{i}n{k - 1}", f"a{i}n{k}", "brass", section)
        for b, piece in enumerate(one.arm.pieces_mm):
            ground(f"a{i}b{b}", piece[1])
            model.add_member(f"a{i}b{b}m", f"a{i}b{b}", f"a{i}n{_nearest(line, piece[-1])}", "brass", section)
        for f, face in enumerate(one.faces):
            _pad(model, f"a{i}f{f}", face, f"a{i}n{_nearest(line, seats[f])}", object_node)


def _with(line, place):
    """The line with a node where it passes nearest a place."""
    best = None
    for k in range(len(line) - 1):
        a, b = np.asarray(line[k]), np.asarray(line[k + 1])
        t = np.clip((place - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
        at = a + t * (b - a)
        away = np.linalg.norm(at - place)
        if best is None or away < best[0] - 1e-12:
            best = (away, k, t, at)
    _, k, t, at = best
    if min(np.linalg.norm(at - line[k]), np.linalg.norm(at - line[k + 1])) < 0.05:
        return line
    return [*line[:k + 1], at, *line[k + 1:]]


def new_model():
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("brass", BRASS_MPa, BRASS_G_MPa, 0.31, 1e-9)
    model.add_material("link", LINK_MPa, LINK_MPa / 2.6, 0.3, 1e-9)
    model.add_section("link", 100.0, 1000.0, 1000.0, 2000.0)
    return model


def moves(model, node):
    at = model.nodes[node]
    return np.array([getattr(at, name)["Combo 1"] for name in ("DX", "DY", "DZ", "RX", "RY", "RZ")])


def compliance_at(build, node):
    """Return the (6, 6) compliance at a node, one unit load at a time."""
    columns = []
    for axis in AXES:
        model = build()
        model.add_node_load(node, axis, 1.0)
        # stiff links beside thin wires fail its test of the residual, not the solution
        model.analyze_linear(check_stability=False)
        columns.append(moves(model, node))
    return np.array(columns).T
