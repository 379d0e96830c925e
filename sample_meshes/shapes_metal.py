"""Metal things: tokens, plaque, spoon, rings, buckles, keys, bell, seal, hook."""

from __future__ import annotations

import numpy as np
from scanprep_samples import colours, emblems
from scanprep_samples.noise import rough
from scanprep_samples.shape import Shape
from scanprep_samples.solids import (
    F64,
    Pair,
    Solid,
    ball,
    box,
    curve,
    cut,
    egg,
    half_space,
    hoop,
    joined,
    limb,
    moved,
    raised,
    rod,
    slab,
    turned,
)

_STAND = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])  # what lay along y comes to face +z


def corroded(solid: Solid, depth: float, wavelength: float, seed: int) -> Solid:
    """Return a solid with pits and crusts."""

    def height(p: F64) -> F64:
        crust = rough(p, wavelength, seed, 4)
        return np.asarray(depth * crust - 1.6 * depth * np.clip(rough(p, wavelength * 0.6, seed + 3, 2) - 0.45, 0, 1))

    return raised(solid, height)


def token() -> Shape:
    """A cast lead ferry token: a boat on one side, three strokes on the other."""
    rim = curve([(15.2, 0), (10.6, 11.0), (0, 15.5), (-11.2, 10.4), (-15.4, -0.4), (-10.8, -11), (0.4, -15),
                 (11, -10.6)], 90, closed=True)
    front = emblems.most(emblems.boat(17, 0.7), emblems.beads(12.9, 32, 0.85), emblems.ringed(14.4, 0.9, 0.6))
    back = emblems.most(*(emblems.stroke([(x - 0.8, -6), (x + 0.6, 6)], 1.6, 0.8) for x in (-4.5, 0, 4.5)),
                        emblems.ringed(11.6, 0.9, 0.7))

    def relief(p: F64) -> F64:
        return np.asarray(np.where(p[:, 2] > 0, front(p[:, 0], p[:, 1]), back(-p[:, 0], p[:, 1])) * 0.75)

    bent = lambda p: np.column_stack([p[:, 0], p[:, 1], p[:, 2] - 0.004 * (p[:, 0] - p[:, 1]) ** 2 + 0.35])  # noqa: E731
    disc = raised(slab(rim, 1.3, 0.7), relief)
    clipped = half_space((-11.6, -8.4, 0), (1, 0.75, 0))
    whole = corroded(cut(lambda p: disc(bent(p)), clipped, soft=0.5), 0.10, 3, 121)
    return Shape(whole, (-17, -17, -5), (17, 17, 6), colours.body(colours.LEAD, 122))


def plaque() -> Shape:
    """A cast plaque: a boat under an arch, in a moulded frame, with two nail holes."""
    w, h = 44.0, 32.0
    outline = [(-w, -h), (w, -h), (w, h - 6), (w - 7, h), (8, h), (0, h + 7), (-8, h), (-w + 7, h), (-w, h - 6)]
    plate = slab(outline, 2.3, 0.7)
    arch = [(x, y) for x, y in curve([(-27, -22), (-27, 4), (-19, 17), (0, 23), (19, 17), (27, 4), (27, -22)], 30)]
    device = emblems.most(emblems.placed(emblems.boat(36, 1.2), 0, 0), emblems.stroke(arch, 2.6, 1.0),
                          *(emblems.stroke([(s * 33, -21), (s * 33, 14)], 3.6, 1.4) for s in (-1, 1)),
                          *(emblems.placed(emblems.beads(2.6, 7, 0.9), s * 33.0, 19.5) for s in (-1, 1)))

    def relief(p: F64) -> F64:
        u, v = p[:, 0], p[:, 1]
        edge = np.minimum(w - np.abs(u), h - np.abs(v))
        frame = np.clip(1 - np.abs(edge - 3.0) / 1.9, 0, 1) ** 0.6
        ground = 0.12 * rough(p, 3.0, 131, 2)
        up = np.maximum(1.5 * frame * (v < h + 0.5), 1.9 * device(u, v) * (edge > 4.5)) + ground
        return np.asarray(np.where(p[:, 2] > 0, up, 0.15 * rough(p, 9, 133)))

    holes = joined(*(limb([(s * 40.0, -28.0, -9), (s * 40.0, -28.0, 9)], [1.7, 1.7]) for s in (-1, 1)))
    warp = lambda p: np.column_stack([p[:, 0], p[:, 1], p[:, 2] + 0.0006 * p[:, 0] ** 2 - 0.0009 * p[:, 0] * p[:, 1]])  # noqa: E731
    whole = cut(raised(plate, relief), holes, soft=0.5)
    torn = egg((45, 33, 0), (8, 6, 8))
    paint = colours.over(colours.body(colours.BRONZE_GREEN, 134), (150, 112, 66),
                         lambda p, n: colours.soft_step(rough(p, 16, 135), 0.5, 0.3) * (p[:, 2] > 1), 0.3)
    return Shape(cut(corroded(lambda p: whole(warp(p)), 0.12, 5, 132), torn), (-46, -34, -6), (46, 41, 7), paint)


def spoon() -> Shape:
    """A pewter spoon with a fig-shaped bowl, a six-sided stem and a turned knop."""

    def blade(p: F64, grow: float) -> F64:
        q = p.copy()
        y = p[:, 1] + 52
        narrow = 1 + 0.007 * np.clip(y, -30, 40)
        q[:, 0] = p[:, 0] * narrow
        return egg((0, -52, 3.5), (22 + grow, 31 + grow, 9.5 + grow))(q)

    def bowl(p: F64) -> F64:
        shell = np.maximum(blade(p, 0.0), -blade(p, -2.3))
        return np.asarray(np.maximum(shell, p[:, 2] - 1.2 - 0.02 * np.abs(p[:, 1] + 52)))

    def stem(p: F64) -> F64:
        bow = p[:, 2] - 0.5 - 5.5 * np.clip((p[:, 1] + 18) / 96, -0.2, 1.1) * (1 - np.clip((p[:, 1] + 18) / 96, 0, 1))
        six = np.maximum(np.abs(p[:, 0]), 0.5 * np.abs(p[:, 0]) + 0.866 * np.abs(bow))
        return np.asarray(np.maximum(six - 3.1, np.maximum(-26 - p[:, 1], p[:, 1] - 74)) * 0.9)

    knop = turned([(0.0, 72.0), (3.0, 72), (3.2, 74), (5.2, 75), (5.2, 76.5), (4, 77.5), (6.2, 81), (6.4, 84),
                   (4.6, 88), (2, 90), (1.4, 92), (0, 92.4)])
    whole = joined(bowl, joined(stem, limb([(0, -24, 0.6), (0, -33, -3.8)], [3.2, 2.0]), soft=2), soft=3)
    whole = joined(whole, moved(knop, (0, 0, 1.0)), soft=1)
    dent = lambda p: -0.9 * np.exp(-(((p - [8, -62, -5]) / [6, 7, 6]) ** 2).sum(1))  # noqa: E731
    return Shape(corroded(raised(whole, dent), 0.12, 5, 141), (-25, -85, -9), (25, 94, 9),
                 colours.body(colours.PEWTER, 142))


def finger_ring() -> Shape:
    """A cast bronze finger ring with an engraved bezel."""
    band = moved(hoop(9.6, 1.35, 0.75), turn=_STAND)
    taper = lambda p: joined(band, limb([(-5.5, -7.9, 0), (0, -9.6, 0), (5.5, -7.9, 0)], [1.2, 1.5, 1.2], 1), soft=1)(p)  # noqa: E731
    shoulders = limb([(-7.5, 6.6, 0), (-4.2, 9.4, 0), (4.2, 9.4, 0), (7.5, 6.6, 0)], [1.5, 2.2, 2.2, 1.5], 1.5)
    bezel = turned([(0.0, 9.0), (4.2, 9.0), (5.4, 10.8), (5.2, 12.4), (4.6, 12.6), (4.4, 12.2), (0, 12.2)])
    device = emblems.boat(6.4, 0.35)
    whole = joined(taper, shoulders, bezel, soft=1.2)
    whole = cut(whole, moved(turned([(0.0, -9.0), (8.15, -9), (8.15, 9), (0, 9)]), turn=_STAND), soft=0.5)
    engraved = raised(whole, lambda p: np.where(p[:, 1] > 11.5, -0.45 * device(p[:, 0], -p[:, 2]), 0))
    return Shape(corroded(engraved, 0.05, 6, 151), (-13, -12, -7), (13, 14, 7), colours.body(colours.GOLD, 152))


def thin_hoop() -> Shape:
    """A very thin wire hoop, not quite closed and not quite round."""
    turn = np.radians(np.linspace(96, 96 + 352, 46))
    path = [(19.0 * np.cos(t) * (1 + 0.03 * np.cos(2 * t)), 19 * np.sin(t), 1.1 * np.sin(3 * t) + 0.9 * t - 4.3)
            for t in turn]
    path = [(x, y, 0.25 * z) for x, y, z in path]
    return Shape(corroded(limb(path, [0.8] * len(path)), 0.05, 2, 161), (-21, -21, -3), (21, 21, 3),
                 colours.body(colours.BRONZE_BROWN, 162))


def buckle() -> Shape:
    """A double-looped copper-alloy buckle with its pin."""

    def loop(s: float) -> Solid:
        path = [(s * 2.0, 15.5, 0), (s * 12, 15, 1.2), (s * 20.5, 9.5, 2.2), (s * 22.5, 0, 2.4), (s * 20.5, -9.5, 2.2),
                (s * 12, -15, 1.2), (s * 2.0, -15.5, 0)]
        points = curve([(x, y) for x, y, _ in path], 40)
        return limb([(float(x), float(y), 0.11 * abs(float(x))) for x, y in points], [2.1] * 40)

    bar = limb([(0, -16.5, 0), (0, 16.5, 0)], [1.9, 1.9])
    frame = joined(loop(1), loop(-1), bar, soft=1.6)
    lobes = joined(*(ball((s * 22.8, 0, 2.6), 2.9) for s in (-1, 1)), *(ball((0, s * 17, 0), 2.5) for s in (-1, 1)))
    pin = joined(moved(hoop(2.9, 1.0, 1.2), (0, 0.6, 0)),
                 limb([(3.0, 0.6, 0.6), (12, 0.5, 3.2), (24.5, 0.3, 5.4)], [1.5, 1.3, 0.9], 1), soft=0.8)
    whole = joined(frame, lobes, pin, soft=0.9)
    cuts = lambda p: -0.5 * np.exp(-(((np.abs(p[:, 0]) - 15.5) / 0.5) ** 2)) * (p[:, 2] > 1)  # noqa: E731
    return Shape(corroded(raised(whole, cuts), 0.09, 5, 171), (-27, -21, -4), (27, 21, 8),
                 colours.body(colours.BRONZE_GREEN, 172))



def key() -> Shape:
    """A forged iron key: kidney bow, collared shank, bit with clefts."""
    bow = rod([(0, 26, 0), (-13, 30, 0), (-17, 42, 0), (-9, 52, 0), (0, 48.5, 0), (9, 52, 0), (17, 42, 0), (13, 30, 0),
               (0, 26, 0)], [3.2, 3.0, 2.9, 3.0, 3.3, 3.0, 2.9, 3.0, 3.2], 40)
    flat = moved(bow, turn=np.diag([1.0, 1.0, 0.72]))
    shank = limb([(0, 26, 0), (0, -60, 0)], [4.1, 3.6])
    collars = joined(*(moved(hoop(3.6, 1.4), (0, y, 0)) for y in (22, 17)))
    bit = box((11.5, -46, 0), (20, 23, 4.4), 0.6)
    clefts = joined(box((14, -39, 0), (9, 2.4, 12)), box((16, -52.5, 0), (14, 2.6, 12)),
                    box((9.5, -46, 0), (2.4, 8, 12)), box((21, -45.5, 0), (6, 2.4, 12)))
    whole = joined(flat, shank, collars, soft=2)
    whole = joined(whole, cut(bit, clefts, soft=0.6), soft=1.0)
    pipe = limb([(0, -48, 0), (0, -66, 0)], [1.7, 1.7])
    return Shape(corroded(cut(whole, pipe), 0.38, 6, 191), (-22, -66, -7), (24, 58, 7), colours.body(colours.IRON, 192))



def bell() -> Shape:
    """A small cast bell with a suspension loop; its clapper is lost."""
    outside: list[Pair] = [(31, 0), (31.5, 2), (28, 8), (23, 22), (20.5, 36), (18, 42), (11, 46), (5, 47)]
    inside = [(0.0, -3.0), (29.2, -3), (28, 1), (24.5, 9), (19.8, 22), (17.3, 35), (13, 40), (6, 42), (0, 42.4)]
    dome = [(0.0, 0.0), *curve(outside, 50), (0, 47.2)]
    lines = lambda p: sum(0.55 * np.exp(-(((p[:, 1] - y) / 0.7) ** 2)) for y in (5, 8, 34, 36.5))  # noqa: E731
    loop = moved(rod([(-7, 44, 0), (-8.5, 54, 0), (-4.5, 61, 0), (4.5, 61, 0), (8.5, 54, 0), (7, 44, 0)], [3.2] * 6),
                 turn=np.diag([1.0, 1.0, 0.8]))
    body = joined(raised(turned(dome), lines), loop, soft=2)
    staple = moved(limb([(-3, 43, 0), (-3, 38, 0), (0, 36, 0), (3, 38, 0), (3, 43, 0)], [1.1] * 5))
    whole = joined(cut(body, turned(inside), soft=1.0), staple, soft=0.8)
    crack = box((0, 5, 29), (1.3, 22, 14))
    paint = colours.over(colours.body(colours.BRONZE_BROWN, 213), (104, 146, 122),
                         lambda p, n: colours.soft_step(rough(p, 11, 214) + 0.3 * (p[:, 1] < 8), 0.4, 0.25), 0.3)
    return Shape(corroded(cut(whole, crack, soft=0.3), 0.16, 5, 211), (-34, -1, -34), (34, 66, 34), paint)


def seal() -> Shape:
    """A lead seal: two discs and the strip between them, folded and struck."""
    rim = curve([(11.5, 0), (8, 8.3), (0, 11), (-8.6, 8), (-11.2, 0), (-7.6, -8.5), (0, -11.4), (8.4, -7.8)], 60,
                closed=True)
    upper, lower = moved(slab(rim, 1.5, 0.8), (0.6, 0.8, 2.2)), moved(slab(rim, 1.6, 0.8), (0, 0, -2.0))
    rivet = limb([(0, 0, -0.6), (0.4, 0.4, 0.8)], [2.4, 2.4])
    strip = limb([(-10.5, 0.5, -2), (-14.2, 1.5, 0.2), (-10, 1, 2.2)], [1.6, 1.4, 1.6], 0.5)
    wide = moved(strip, turn=np.diag([1.0, 0.45, 1.0]))
    front = emblems.most(emblems.heron(15, 0.6), emblems.beads(9.2, 24, 0.7))
    back = emblems.most(emblems.stroke([(-5, 5), (0, -5), (5, 5)], 1.4, 0.6), emblems.ringed(8.6, 0.8, 0.5))

    def relief(p: F64) -> F64:
        return np.asarray(np.where(p[:, 2] > 2.4, 0.7 * front(p[:, 0] - 0.6, p[:, 1] - 0.8),
                                   np.where(p[:, 2] < -2.4, 0.6 * back(-p[:, 0], p[:, 1]), 0)))

    return Shape(corroded(raised(joined(upper, lower, rivet, wide, soft=0.8), relief), 0.13, 3, 221),
                 (-19, -13, -6), (14, 14, 6), colours.body(colours.LEAD, 222))
