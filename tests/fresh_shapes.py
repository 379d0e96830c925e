"""Objects nothing was tuned on, for the held-back referee run: another modeller, other kinds, any seed.

Built with a geometry kernel (manifold3d: extrude, revolve, hull, booleans, warp), whose own volume is the reference.
`fresh_shapes(seed)` gives eighteen objects whose proportions change with the seed. Model frame: x right, y up, z front,
mm; then each is turned by its own axes, so that nothing leans on y being up. Do not tune a search on these: a seed
that was looked at is used up.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import manifold3d as m3
import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.vectors import F64, I32, rotation_about, vec3


@dataclass(frozen=True, slots=True, eq=False)
class FreshShape:
    """A closed mesh in mm, what a checklist would say of it, and the truth."""

    name: str
    vertices_mm: F64  # (n, 3), scan axes
    faces: I32  # (m, 3), outward
    brief: ObjectBrief  # unit mm, material, mass; up told where a person would tell it
    volume_mm3: float  # by the kernel
    centre_mm: F64  # (3,), scan axes
    up: F64  # (3,), scan axes
    front: F64
    stands: bool  # has a base to stand on
    holdable: bool  # a mountmaker would clasp it with wires


@dataclass(frozen=True, slots=True)
class _Model:
    solid: m3.Manifold
    material: str
    density: float  # g/cm3
    stands: bool
    holdable: bool = True
    edge_mm: float = 1.6  # mesh edge length


def _turned(profile: Sequence[tuple[float, float]], sides: int = 72) -> m3.Manifold:
    """Revolve (radius, height) about y."""
    section = m3.CrossSection([[(float(x), float(y)) for x, y in profile]], m3.FillRule.NonZero)
    return m3.Manifold.revolve(section, sides).rotate([-90, 0, 0])


def _plate(outline: F64, thick: float, scale: float = 1.0) -> m3.Manifold:
    """Extrude an outline in x, y to +-thick / 2 along z."""
    section = m3.CrossSection([np.asarray(outline, dtype=float).tolist()], m3.FillRule.NonZero)
    return m3.Manifold.extrude(section, thick, scale_top=(scale, scale)).translate([0, 0, -thick / 2])


def _ball(radius: float, centre: Sequence[float] | F64, sides: int = 28) -> m3.Manifold:
    return m3.Manifold.sphere(radius, sides).translate([float(x) for x in centre])


def _united(parts: Sequence[m3.Manifold]) -> m3.Manifold:
    return m3.Manifold.batch_boolean(list(parts), m3.OpType.Add)


def _rod(points: F64, radii: Sequence[float] | F64, sides: int = 24) -> m3.Manifold:
    """Chain of hulls of balls."""
    balls = [_ball(float(r), p, sides) for p, r in zip(points, radii, strict=True)]
    return _united([m3.Manifold.batch_hull([a, b]) for a, b in itertools.pairwise(balls)])


def _ellipse(a: float, b: float, count: int = 60, power: float = 2.0) -> F64:
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    c, s = np.cos(t), np.sin(t)
    return np.column_stack([a * np.sign(c) * np.abs(c) ** (2 / power), b * np.sign(s) * np.abs(s) ** (2 / power)])


def _thimble(r: np.random.Generator) -> _Model:
    h, w = r.uniform(20, 26), r.uniform(8, 9.5)
    out = _turned([(0, 0), (w, 0), (w + 0.8, 0.8), (w, 1.6), (w * 0.78, h * 0.85), (w * 0.5, h), (0, h)])
    inside = _turned([(0, -1), (w - 1.2, -1), (w * 0.78 - 1.2, h * 0.83), (w * 0.4, h - 1.4), (0, h - 1.4)])
    wide = w * 0.93 - 0.011 * np.arange(90)
    pits = [_ball(0.5, (a * np.cos(2.4 * k), h * (0.25 + k * 0.006), a * np.sin(2.4 * k)), 10)
            for k, a in enumerate(wide)]
    return _Model(out - inside - _united(pits), "brass", 8.5, True, edge_mm=0.6)


def _line_hook(r: np.random.Generator) -> _Model:
    s, t = r.uniform(0.85, 1.2), np.linspace(0, 1, 14)
    bend = np.column_stack([16 * s * (1 - np.cos(np.pi * t)), -16 * s * np.sin(np.pi * t), 0 * t])
    path = np.vstack([[0, 58 * s, 0], [0, 20 * s, 0.6], bend, [32 * s, 16 * s, 0]])
    radii = np.concatenate([[3.0, 3.2], np.full(14, 3.2), [1.0]])
    flat = m3.Manifold.cube([12 * s, 10 * s, 2.6], True).translate([0, float(60 * s), 0])
    return _Model(_rod(path, radii) + flat, "iron", 7.6, False, edge_mm=1.1)


def _axe_head(r: np.random.Generator) -> _Model:
    w, h = r.uniform(88, 120), r.uniform(62, 80)
    outline = np.array([(-w * 0.4, -h * 0.22), (0, -h * 0.2), (w * 0.42, -h * 0.5), (w * 0.5, -h * 0.1),
                        (w * 0.47, h * 0.5), (w * 0.3, h * 0.3), (0, h * 0.2), (-w * 0.4, h * 0.24)])
    body = _plate(outline, 26).warp_batch(lambda v: np.column_stack(
        [v[:, 0], v[:, 1], v[:, 2] * np.clip(0.92 - 0.85 * (v[:, 0] / w + 0.2), 0.06, 1)]))
    eye = m3.Manifold.extrude(m3.CrossSection([_ellipse(11, 7.5).tolist()]), 200).rotate([90, 0, 0]).translate(
        [float(-w * 0.24), 100, 0])
    return _Model(body - eye, "iron", 7.5, False, edge_mm=1.8)


def _goblet(r: np.random.Generator) -> _Model:
    h, w = r.uniform(105, 150), r.uniform(30, 38)
    out = _turned([(0, 0), (w * 0.95, 0), (w * 0.95, 2.5), (8, 7), (4.5, 14), (4.5, h * 0.3), (8, h * 0.34),
                   (5, h * 0.4), (9, h * 0.45), (w * 0.8, h * 0.58), (w, h * 0.75), (w * 0.92, h), (0, h)], 96)
    inside = _turned([(0, h * 0.5), (w * 0.7, h * 0.6), (w - 2.6, h * 0.75), (w * 0.92 - 2.4, h + 1), (0, h + 1)], 96)
    return _Model(out - inside, "lead glass", 3.05, True)


def _shell(r: np.random.Generator) -> _Model:
    size, ribs = r.uniform(28, 42), int(r.integers(11, 17))

    def fan(v: F64) -> F64:
        turn, away = np.arctan2(v[:, 0], v[:, 1] + size * 0.9), np.hypot(v[:, 0], v[:, 1] + size * 0.9)
        dome = 0.5 * size * (1 - (v[:, 0] ** 2 + v[:, 1] ** 2) / size**2 / 1.35)
        lift = dome + 0.03 * away * np.cos(ribs * 2.4 * turn)
        return np.column_stack([v[:, 0], v[:, 1], v[:, 2] + lift])

    flat = _plate(_ellipse(size, size * 0.9, 90), 2.8).refine_to_length(1.6)
    return _Model(flat.warp_batch(fan), "shell", 2.7, False, edge_mm=1.6)


def _ladle(r: np.random.Generator) -> _Model:
    size, length = r.uniform(24, 32), r.uniform(120, 170)
    cup = m3.Manifold.sphere(float(size), 80).trim_by_plane([0, -1, 0], float(-size * 0.15))
    hollow = m3.Manifold.sphere(float(size - 2.6), 80)
    t = np.linspace(0, 1, 20)
    path = np.column_stack([0 * t, size * 0.05 + length * t, -size + 1.2 - 14 * np.sin(1.6 * t)])
    return _Model((cup - hollow) + (_rod(path, 3.6 - 1.2 * t) - hollow), "bronze", 8.3, False, edge_mm=1.5)


def _bracelet(r: np.random.Generator) -> _Model:
    size, thick = r.uniform(27, 34), r.uniform(3.0, 4.4)
    t = np.linspace(0.25, 2 * np.pi - 0.25, 60)
    wobble = 1 + 0.10 * np.cos(8 * t)
    path = np.column_stack([size * np.sin(t), -size * 0.86 * np.cos(t), 1.5 * np.sin(3 * t)])
    ends = [m3.Manifold.sphere(float(thick * 1.45), 32).translate(list(map(float, path[k]))) for k in (0, -1)]
    return _Model(_rod(path, thick * wobble) + ends[0] + ends[1], "bronze", 8.4, False, edge_mm=1.1)


def _flint(r: np.random.Generator) -> _Model:
    w, h = r.uniform(26, 34), r.uniform(58, 82)
    picks = r.normal(size=(90, 3))
    picks /= np.linalg.norm(picks, axis=1, keepdims=True)
    points = picks * np.array([w / 2, h / 2, 6.5]) * r.uniform(0.93, 1.0, (90, 1))
    points[:, 0] *= np.where(points[:, 1] > 0, 1 - 0.8 * points[:, 1] / h, 1)
    return _Model(m3.Manifold.hull_points(points), "agate", 2.6, False, edge_mm=1.4)


def _fish(r: np.random.Generator) -> _Model:
    length = r.uniform(70, 105)
    t = np.linspace(-1, 1, 26)
    tall, wide = 0.19 * length * (1 - np.abs(t) ** 2.2) + 1.6, 0.08 * length * (1 - np.abs(t) ** 2.2) + 1.3
    rings = [m3.Manifold.sphere(1.0, 32).scale([2.0, float(a), float(b)]).translate([float(x * length / 2), 0, 0])
             for x, a, b in zip(t, tall, wide, strict=True)]
    body = _united([m3.Manifold.batch_hull(rings[k : k + 2]) for k in range(25)])
    tail = _plate(np.array([(0, 1.5), (16, 13), (13, 0), (16, -12), (0, -1.5)]) * length / 80, 2.6).translate(
        [float(length * 0.46), 0, 0])
    fin = _plate(np.array([(-14, 0), (12, 0), (4, 11), (-8, 14)]) * length / 80, 2.4)
    fin = fin.translate([0, float(length * 0.15), 0])
    eye = _ball(2.0, (-length * 0.36, 3, length * 0.05), 20)
    return _Model(body + tail + fin - eye, "lime / linden", 0.52, False, edge_mm=1.4)


def _inkstand(r: np.random.Generator) -> _Model:
    w, d, h = r.uniform(70, 95), r.uniform(44, 56), r.uniform(28, 36)
    block = _plate(_ellipse(w / 2, d / 2, 96, 5.0), h, 0.86).rotate([-90, 0, 0]).translate([0, float(h / 2), 0])
    well = _turned([(0, h * 0.3), (9, h * 0.3), (10.5, h + 1), (0, h + 1)])
    wells = [well.translate([float(s * w * 0.24), 0, 0]) for s in (-1, 1)]
    pen = _rod(np.array([(-w * 0.3, h, -d * 0.27), (w * 0.3, h, -d * 0.27)]), [3.2, 3.2])
    slots = [m3.Manifold.cube([float(w * 1.2), 1.2, 1.6], True).translate([0, float(y), float(s * d * 0.47)])
             for y in (h * 0.3, h * 0.6) for s in (-1, 1)]
    return _Model(block - _united([*wells, pen, *slots]), "soapstone", 2.75, True)


def _owl(r: np.random.Generator) -> _Model:
    h = r.uniform(62, 90)
    ball = functools.partial(m3.Manifold.sphere, circular_segments=48)
    parts = [ball(1.0).scale([h * 0.28, h * 0.36, h * 0.26]).translate([0, h * 0.38, 0]),
             ball(1.0).scale([h * 0.24, h * 0.2, h * 0.22]).translate([0, h * 0.76, h * 0.02]),
             m3.Manifold.cylinder(float(h * 0.1), float(h * 0.27), float(h * 0.25), 48).rotate([-90, 0, 0])]
    for s in (-1, 1):
        parts += [_rod(np.array([(s * h * 0.14, h * 0.88, 0), (s * h * 0.19, h * 1.0, 0)]), [h * 0.06, h * 0.015]),
                  ball(float(h * 0.075)).translate([float(s * h * 0.1), float(h * 0.79), float(h * 0.2)]),
                  ball(1.0).scale([h * 0.09, h * 0.27, h * 0.17]).translate([s * h * 0.25, h * 0.38, -h * 0.05])]
    beak = _rod(np.array([(0, h * 0.74, h * 0.2), (0, h * 0.68, h * 0.27)]), [h * 0.035, h * 0.01])
    return _Model(_united(parts) + beak, "earthenware", 1.85, True)


def _stirrup(r: np.random.Generator) -> _Model:
    w, h = r.uniform(50, 62), r.uniform(70, 88)
    t = np.linspace(-0.5 * np.pi - 0.6, 0.5 * np.pi + 0.6, 30)
    arch = _rod(np.column_stack([w * np.sin(t) / 1.9, h * 0.36 + h * 0.5 * np.cos(t), 0 * t]), np.full(30, 3.4))
    tread = _plate(_ellipse(w * 0.47, 4.0, 40, 4.0), 30).translate([0, float(h * 0.03), 0])
    loop = _plate(_ellipse(9, 8, 40), 6) - _plate(_ellipse(4.8, 3.8, 40), 20)
    return _Model(arch + tread + loop.translate([0, float(h * 0.91), 0]), "iron", 7.6, True, edge_mm=1.6)


def _gaming_piece(r: np.random.Generator) -> _Model:
    h, w = r.uniform(38, 60), r.uniform(11, 15)
    foot = [(0, 0), (w, 0), (w, 3), (w * 0.8, 5), (w * 0.45, h * 0.35), (w * 0.4, h * 0.62), (w * 0.75, h * 0.66),
            (w * 0.5, h * 0.7)]
    head = [(w * 0.62 * np.cos(a), h * 0.86 + w * 0.62 * np.sin(a)) for a in np.linspace(-1.1, np.pi / 2, 14)]
    cleft = m3.Manifold.cube([1.6, float(w * 0.8), 40], True).rotate([0, 0, 30])
    cleft = cleft.translate([float(w * 0.3), float(h * 0.92), 0])
    return _Model(_turned([*foot, *head[:-1], (0, head[-1][1])]) - cleft, "ivory", 1.84, True, edge_mm=1.0)


def _padlock(r: np.random.Generator) -> _Model:
    w, h = r.uniform(34, 48), r.uniform(34, 46)
    case = _plate(_ellipse(w / 2, h / 2, 72, 3.2), r.uniform(13, 18))
    t = np.linspace(0, np.pi, 20)
    arch = np.column_stack([w * 0.3 * np.cos(t), h * 0.62 + w * 0.36 * np.sin(t), 0 * t])
    bow = np.vstack([[w * 0.3, h * 0.3, 0], arch, [-w * 0.3, h * 0.3, 0]])
    hole = _plate(_ellipse(2.6, 2.6, 30), 8).translate([0, 0, 9])
    hole += m3.Manifold.cube([2.0, 9, 8], True).translate([0, -5, 9])
    return _Model(case + _rod(bow, np.full(22, 3.2)) - hole, "iron", 7.4, False, edge_mm=1.2)


def _tooth_pendant(r: np.random.Generator) -> _Model:
    t, length = np.linspace(0, 1, 22), r.uniform(48, 72)
    path = np.column_stack([length * 0.26 * np.sin(1.9 * t), length * (0.5 - t), 0 * t])
    tooth = _rod(path, 8.2 * (1 - t) ** 0.55 * (0.75 + 0.5 * t) + 0.7)
    drilled = _rod(np.array([(path[2, 0], path[2, 1], -20), (path[2, 0], path[2, 1], 20)]), [2.0, 2.0])
    return _Model(tooth - drilled, "bone", 1.95, False, edge_mm=1.0)


def _stepped_weight(r: np.random.Generator) -> _Model:
    w, h = r.uniform(16, 24), r.uniform(24, 34)
    steps = [(0, 0), (w, 0), (w, h * 0.35), (w * 0.75, h * 0.4), (w * 0.75, h * 0.65), (w * 0.5, h * 0.7), (w * 0.5, h),
             (0, h)]
    return _Model(_turned(steps, 12), "brass", 8.45, True, edge_mm=1.2)


def _wedge_box(r: np.random.Generator) -> _Model:
    w, d, h = r.uniform(60, 90), r.uniform(36, 50), r.uniform(30, 44)
    case = _plate(_ellipse(w / 2, d / 2, 80, 6.0), h).rotate([-90, 0, 0]).translate([0, float(h / 2), 0])
    slope = case.trim_by_plane([0.28, -1, 0], float(-h * 0.86))
    hollow = _plate(_ellipse(w / 2 - 4, d / 2 - 4, 80, 6.0), h).rotate([-90, 0, 0])
    hollow = hollow.translate([0, float(h / 2 + 4.5), 0])
    feet = [_ball(5.0, (a * w * 0.4, 0.5, b * d * 0.36)) for a in (-1, 1) for b in (-1, 1)]
    return _Model((slope - hollow) + _united(feet), "oak", 0.69, True)


def _smooth_cone(r: np.random.Generator) -> _Model:
    w, h = r.uniform(14, 18), r.uniform(60, 80)
    round_end = [(w * np.sin(a), w - w * np.cos(a)) for a in np.linspace(0.1, 1.35, 12)]
    body = _turned([(0, 0), *round_end, (1.0, h), (0, h + 0.4)], 96)
    return _Model(body, "jet", 1.31, False, holdable=False, edge_mm=1.3)


_MAKERS: tuple[Callable[[np.random.Generator], _Model], ...] = (
    _thimble, _line_hook, _axe_head, _goblet, _shell, _ladle, _bracelet, _flint, _fish, _inkstand, _owl, _stirrup,
    _gaming_piece, _padlock, _tooth_pendant, _stepped_weight, _wedge_box, _smooth_cone)


def _finished(name: str, model: _Model, draw: np.random.Generator) -> FreshShape:
    """Mesh evenly, wear a little, turn into arbitrary axes."""
    phase, wave = draw.uniform(0, 6.28, 3), draw.uniform(9, 17, 3)

    def worn(v: F64) -> F64:
        return np.asarray(v + 0.12 * np.sin(v[:, [1, 2, 0]] / wave * 6.28 + phase))

    even = model.solid.refine_to_length(model.edge_mm).simplify(0.003).refine_to_length(model.edge_mm * 1.2)
    solid = even.warp_batch(worn)
    mesh = solid.to_mesh()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    faces = np.asarray(mesh.tri_verts, dtype=np.int32)
    turn = rotation_about(vec3(draw.normal(size=3)), float(draw.uniform(0, 180)))
    points = points @ turn.T + draw.uniform(-300, 300, 3)
    volume, centre = _moments(points, faces)
    told = None if model.stands else vec3(turn[:, 1])  # a person tells the up of what does not stand
    brief = ObjectBrief(number=name, title=name.replace("-", " "), unit="mm", material=model.material,
                        condition="sound",
                        mass_g=volume * model.density / 1000, up=told, front=vec3(turn[:, 2]))
    return FreshShape(name, points, faces, brief, float(solid.volume()), centre, turn[:, 1], turn[:, 2], model.stands,
                      model.holdable)


def _moments(points: F64, faces: I32) -> tuple[float, F64]:
    """Volume and centre by tetrahedra from the mean point (divergence theorem)."""
    origin = points.mean(0)
    a, b, c = (points[faces[:, k]] - origin for k in range(3))
    six = np.einsum("ij,ij->i", a, np.cross(b, c))
    return float(six.sum() / 6), np.asarray(origin + ((a + b + c) * six[:, None]).sum(0) / (4 * six.sum()))


def fresh_shapes(seed: int) -> tuple[FreshShape, ...]:
    """Eighteen objects; the same seed gives the same ones."""
    result = []
    for index, maker in enumerate(_MAKERS):
        draw = np.random.default_rng([seed, index])
        result.append(_finished(maker.__name__[1:].replace("_", "-"), maker(draw), draw))
    return tuple(result)
