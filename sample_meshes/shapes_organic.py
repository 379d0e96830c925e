"""Clay, bone, wood, stone: figures, whistle, comb, pipe, tile, handle, ball, egg, die, bead, weight, needle."""

from __future__ import annotations

import numpy as np
from scanprep_samples import colours, emblems
from scanprep_samples.noise import noise, rough
from scanprep_samples.shape import Shape
from scanprep_samples.solids import (
    F64,
    Pair,
    ball,
    box,
    curve,
    cut,
    egg,
    half_space,
    joined,
    limb,
    moved,
    raised,
    rod,
    slab,
    turned,
    wall,
)


def horse() -> Shape:
    """A hand-modelled clay toy horse with a saddle and a combed mane; one ear is lost."""
    trunk = limb([(-26, 46, 0), (-8, 44, 0), (12, 45, 0), (22, 49, 0)], [15, 13.5, 13.5, 14.5], 6)
    neck = limb([(23, 52, 0), (34, 70, 0), (38, 80, 0)], [12, 8.5, 7.5], 3)
    head = limb([(37, 81, 0), (50, 74, 0), (57, 69, 0)], [8.2, 6.2, 5.2], 3)
    legs = joined(*(limb([(x, 44, z * 0.7), (x + lean, 20, z), (x + lean * 1.5, 3, z * 1.05)], [9, 6.2, 6.6], 3)
                    for x, lean in ((-29, -3), (20, 2)) for z in (-9.5, 9.5)))
    tail = limb([(-39, 54, 0), (-49, 46, 1), (-51, 28, 2)], [5, 4.5, 3.2], 3)
    ear = limb([(35, 86, 4), (34, 94, 5.5)], [3.2, 1.4])
    stump = ball((35.5, 87, -4), 2.8)
    mane = limb([(14, 62, 0), (24, 76, 0), (31, 88, 0), (40, 90, 0)], [4, 4.2, 4.2, 3.4], 2)
    saddle = cut(egg((-5, 53, 0), (15, 9, 15.5)), half_space((0, 49, 0), (0, 1, 0)))
    whole = joined(trunk, neck, head, legs, tail, soft=9)
    whole = joined(whole, ear, stump, mane, saddle, soft=3)
    eyes = joined(*(ball((43, 82, s * 7.4), 1.9) for s in (-1, 1)))
    rein = joined(*(limb([(52, 73, s * 6.8), (38, 70, s * 9.5), (20, 58, s * 14), (4, 58, s * 13)], [1.5] * 4)
                    for s in (-1, 1)))
    mouth = box((61.5, 66.5, 0), (7, 1.2, 20))
    whole = cut(joined(whole, rein, soft=1), eyes, mouth, soft=0.8)
    comb = lambda p: 0.7 * np.sin(2.4 * (p[:, 0] - 0.5 * p[:, 1])) * np.exp(-(mane(p) / 1.5) ** 2)  # noqa: E731
    body = raised(whole, lambda p: comb(p) + 0.55 * rough(p, 16, 241, 4))
    slip = lambda p, n: colours.soft_step(-rein(p), -0.9, 0.8) + colours.soft_step(-saddle(p), -1.6, 1.0)  # noqa: E731
    paint = colours.over(colours.body(colours.RED_CLAY, 242), (214, 198, 166), slip, 0.35)
    return Shape(body, (-57, -4, -19), (65, 97, 19), paint)


def cloaked_figure() -> Shape:
    """A boxwood figure in a hooded cloak with a staff; the hood is dark and empty."""

    def cloak(p: F64) -> F64:
        y = p[:, 1]
        turn = np.arctan2(p[:, 0], p[:, 2])
        r = np.interp(y, [8, 14, 40, 62, 78, 84], [24, 22, 17.5, 16.5, 12, 8])
        folds = 1.5 * np.cos(9 * turn + 0.05 * y + 1.4 * noise(p, 26, 251)) * np.clip((70 - y) / 60, 0, 1)
        deep = 0.82 + 0.0 * y
        away = np.hypot(p[:, 0], p[:, 2] / deep) - r - folds
        return np.asarray(np.maximum(0.78 * away, np.maximum(7.5 - y, y - 86)))

    hood = joined(egg((0, 92, -1), (13.5, 15.5, 13.5)), limb([(0, 104, -4), (0, 109, -9)], [5.5, 2.2]), soft=4)
    hollow = egg((0, 91, 13), (7.8, 10.5, 9.5))
    cape = cut(egg((0, 72, -1), (21, 17, 17)), half_space((0, 64, 0), (0, 1, 0)))
    sleeves = joined(*(limb([(s * 15, 76, 2), (s * 18, 60, 9), (s * 6, 56, 17)], [7, 6, 5], 3) for s in (-1, 1)))
    staff = limb([(13.5, 7, 17), (10, 100, 16)], [1.9, 1.7])
    grip = egg((9.5, 57, 18), (5.5, 4.2, 4.2))
    base = joined(box((0, 3.5, 0), (56, 7, 46), 1.6), box((0, 7.5, 0), (50, 3, 40), 1.0), soft=0.6)
    person = joined(cloak, hood, soft=6)
    person = joined(cut(person, hollow, soft=1.2), cape, soft=2.5)
    whole = joined(person, sleeves, soft=3)
    whole = joined(whole, staff, grip, base, soft=1.2)
    hem = lambda p: 0.6 * np.exp(-(((p[:, 1] - 66 - 1.2 * np.cos(6 * np.arctan2(p[:, 0], p[:, 2]))) / 0.9) ** 2))  # noqa: E731
    marks = lambda p: 0.16 * rough(p * [1, 0.2, 1], 2.2, 252, 3) + 0.3 * rough(p, 14, 253, 2)  # noqa: E731
    split = box((-6, 2, 20), (0.8, 18, 14))
    carved = cut(raised(whole, lambda p: marks(p) + hem(p)), split)
    paint = colours.over(colours.body(colours.BOXWOOD, 254), (112, 42, 36),
                         lambda p, n: colours.soft_step(rough(p, 10, 255) + 0.35 * (cloak(p) > -3), 0.62, 0.2)
                         * (p[:, 1] > 12), 0.35)
    return Shape(carved, (-29, -1, -24), (29, 113, 25), paint)


def hound() -> Shape:
    """A small pipe-clay hound lying on a plinth."""
    trunk = limb([(-20, 14, 0), (-4, 15, 1), (12, 17, 0)], [9, 8.2, 9.5], 4)
    neck = limb([(13, 20, 0), (18, 29, 3)], [7, 5.5], 2)
    head = limb([(18, 31, 3), (25, 29, 7), (30, 27, 9)], [5.8, 4.2, 3.0], 2)
    ears = joined(limb([(15, 34, 0), (11, 29, -3)], [2.6, 1.8]), limb([(17, 34, 7), (15, 28, 9)], [2.6, 1.8]))
    front = joined(*(limb([(14, 13, z), (18, 8, z * 1.2), (30, 7.5, z * 1.2)], [5, 3.8, 3.2], 2) for z in (-6.0, 7.0)))
    back = joined(*(limb([(-20, 13, z), (-10, 9, z * 1.7), (-2, 7.5, z * 1.9)], [7, 5, 3.2], 3) for z in (-5.0, 5.5)))
    tail = limb([(-28, 12, 0), (-30, 8, 8), (-20, 7.5, 14)], [3, 2.6, 2.0], 2)
    edge: list[Pair] = [(-34, -14), (0, -16.5), (34, -14), (36, 0), (34, 15), (0, 18), (-34, 15), (-36, 0)]
    plinth = slab(curve(edge, 60, closed=True), 3.0, 0.8)
    base = moved(plinth, (0, 3, 0), np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]]))
    collar = moved(turned([(0.0, -1.6), (7.6, -1.6), (7.6, 1.6), (0, 1.6)]), (15.5, 25, 1.5),
                   np.array([[0.88, 0.47, 0], [-0.47, 0.88, 0], [0, 0, 1.0]]))
    whole = joined(trunk, neck, head, front, back, tail, soft=4)
    whole = joined(whole, ears, collar, base, soft=1.2)
    eyes = joined(ball((22, 33.5, 1.2), 1.1), ball((23.2, 32.5, 9.5), 1.1))
    coat = lambda p: 0.22 * rough(p * [0.4, 1, 1], 2.4, 262, 3)  # noqa: E731
    return Shape(raised(cut(whole, eyes), coat), (-38, -1, -20), (38, 41, 22), colours.body(colours.PIPE_CLAY, 261))


def whistle() -> Shape:
    """A bone whistle cut from a bird's long bone, with a mouth and two finger holes."""

    def tube(p: F64) -> F64:
        y = p[:, 1]
        bow = 0.0009 * (y**2)
        oval = 0.25 * np.cos(2 * np.arctan2(p[:, 2], p[:, 0] - bow))
        r = 6.4 + 0.9 * np.clip((np.abs(y) - 24) / 14, 0, 1) ** 2 + oval
        return np.asarray(np.maximum(np.hypot(p[:, 0] - bow, p[:, 2]) - r, np.abs(y) - 37) * 0.95)

    bore = lambda p: np.hypot(p[:, 0] - 0.0009 * p[:, 1] ** 2, p[:, 2]) - 4.2  # noqa: E731
    mouth = box((0, 18, 8.0), (4.6, 5.4, 9), 0.4)
    holes = joined(*(limb([(0, y, 2), (0, y, 14)], [2.1, 2.1]) for y in (-6, -18)))
    nick = egg((5, -38, 4), (4, 4, 5))
    marks = lambda p: -0.35 * sum(np.exp(-(((p[:, 1] - y) / 0.4) ** 2)) for y in (29, 31, 33, -28, -30))  # noqa: E731
    whole = cut(raised(tube, marks), bore, mouth, holes, nick, soft=0.4)
    return Shape(raised(whole, lambda p: 0.12 * rough(p * [1, 0.3, 1], 4, 271)), (-9, -38, -9), (11, 38, 9),
                 colours.body(colours.BONE, 272))


def comb() -> Shape:
    """A double-sided boxwood comb, coarse and fine; some teeth are broken."""
    plate = box((0, 0, 0), (78, 56, 7.5), 0.8)

    def lens(p: F64) -> F64:
        return np.asarray((np.abs(p[:, 2]) - np.interp(np.abs(p[:, 1]), [0, 9, 28], [3.6, 3.2, 0.9])) * 0.95)

    def slots(p: F64) -> F64:
        x, y = p[:, 0], p[:, 1]
        coarse = np.abs((x / 3.3 - np.floor(x / 3.3)) - 0.5) * 3.3
        fine = np.abs((x / 2.2 - np.floor(x / 2.2)) - 0.5) * 2.2
        upper = np.maximum(coarse - 0.75, 9.5 - y + 0.6 * np.cos(0.08 * x))
        lower = np.maximum(fine - 0.5, 9.0 + y)
        return np.asarray(np.maximum(np.minimum(upper, lower), np.abs(x) - 33))

    broken = joined(*(box((x, y, 0), (w, h, 20)) for x, y, w, h in
                      ((-9.9, 26, 3.3, 22), (9.9, 29, 3.2, 14), (-20.9, -27, 4.4, 20), (14.3, -29, 2.2, 10),
                       (-2.2, -28, 2.2, 8))))

    def whole(p: F64) -> F64:
        d = np.maximum(np.maximum(plate(p), lens(p)), -slots(p))
        line = 0.35 * sum(np.exp(-(((p[:, 1] - y) / 0.45) ** 2)) for y in (-7.2, 7.2))
        circles = emblems.most(*(emblems.placed(emblems.ringed(2.3, 0.6, 0.4), x, 0.0) for x in (-24, -12, 0, 12, 24)))
        rings = circles(p[:, 0], p[:, 1])
        return np.asarray(np.maximum(d, -broken(p)) + line + 0.4 * rings - 0.07 * rough(p * [1, 0.2, 1], 3, 281))

    return Shape(whole, (-40, -29, -4.5), (40, 29, 4.5), colours.body(colours.BOXWOOD, 282))


def pipe_bowl() -> Shape:
    """A clay tobacco pipe: bowl with a milled rim and a heel, and a broken length of stem."""
    outer, cavity = wall([(4.5, 0), (7.5, 5), (9.6, 16), (9.4, 26), (7.6, 36)], 2.1, 3.0, 50)
    lean = np.array([[0.94, 0.34, 0], [-0.34, 0.94, 0], [0, 0, 1.0]])
    bowl, hollow = moved(turned(outer), (14, 3, 0), lean), moved(turned(cavity), (14, 3, 0), lean)
    stem = limb([(15, 6, 0), (0, 4, 0), (-34, 2.5, 0)], [5.6, 4.7, 4.0], 3)
    heel = limb([(15, 3, 0), (15.5, -3.2, 0)], [3.6, 3.0])
    whole = joined(joined(bowl, stem, soft=4), heel, soft=1.6)
    bore = limb([(13, 6.5, 0), (-40, 2.4, 0)], [1.35, 1.35])
    beyond = half_space((-33.5, 0, 0), (1, 0.25, 0.2))

    def milled(p: F64) -> F64:
        q = (p - [14, 3, 0]) @ lean
        turn = np.arctan2(q[:, 2], q[:, 0])
        line = 0.35 * np.exp(-(((q[:, 1] - 33.2) / 0.5) ** 2)) * (1 + np.cos(40 * turn)) / 2
        mark = emblems.boat(8, 0.5)(q[:, 0], q[:, 1] - 16) * (p[:, 2] > 4)
        return np.asarray(0.6 * mark - line)

    soot = lambda p, n: colours.soft_step(-hollow(p), -0.8, 0.7) * 0.85  # noqa: E731
    paint = colours.over(colours.body(colours.PIPE_CLAY, 291), (70, 58, 48), soot, 0.25)
    shape = cut(raised(whole, milled), hollow, bore, beyond, soft=0.5)
    return Shape(raised(shape, lambda p: 0.08 * rough(p, 6, 292)), (-42, -7, -12), (40, 42, 12), paint)


def tile() -> Shape:
    """A fragment of a relief tile, glazed, broken on two sides."""
    piece = slab([(-46, -38), (-20, -44), (10, -39), (31, -44), (44, -30), (40, -8), (47, 10), (47, 46), (-44, 46),
                  (-45, 5)], 7.0, 0.6)
    crumble = lambda p: 0.9 * rough(p, 7, 301, 4) * colours.soft_step(-np.abs(p[:, 2]), -5.6, 2.0)  # noqa: E731
    stem = emblems.stroke([(x, y) for x, y in curve([(-34, -36), (-22, -6), (0, 8), (24, 18), (38, 40)], 24)], 4.0, 2.4)
    leaf = [(0, 0), (0.22, 0.20), (0.2, 0.55), (0, 1.0), (-0.2, 0.55), (-0.22, 0.2)]
    leaves = emblems.most(*(emblems.placed(emblems.filled(leaf, 27, 2.5), x, y, turn) for x, y, turn in
                            ((-25, -12, 60), (-10, 4, -40), (8, 12, 35), (16, 14, -70), (28, 24, 70))))
    border = lambda u, v: np.clip(1 - np.abs(v - 40) / 3.0, 0, 1)  # noqa: E731
    rose = emblems.placed(emblems.most(emblems.beads(7.5, 8, 4.0), emblems.ringed(0, 6, 1.0)), 16, -18)
    device = emblems.most(stem, leaves, border, rose)

    def relief(p: F64) -> F64:
        front = 2.6 * device(p[:, 0], p[:, 1]) + 0.15 * rough(p, 12, 303)
        return np.asarray(np.where(p[:, 2] > 0, front, 0.5 * rough(p, 11, 304)))

    whole = raised(piece, lambda p: relief(p) + crumble(p))
    green = colours.Body((74, 104, 62), (104, 122, 58), (40, 58, 40), (150, 160, 104), 12, 0.7, 0.04)
    glaze = colours.over(colours.body(green, 305), (186, 150, 74),
                         lambda p, n: colours.soft_step(device(p[:, 0], p[:, 1]), 0.55, 0.3), 0.2)

    def on_glaze(p: F64) -> F64:
        lost = colours.soft_step(-rough(p, 8, 307), -0.75, 0.1)
        return colours.soft_step(p[:, 2] + 0.8 * noise(p, 6, 306), 5.4, 0.8) * lost

    paint = colours.split(glaze, colours.body(colours.RED_CLAY, 308), on_glaze)
    return Shape(whole, (-50, -48, -9), (51, 50, 12), paint)


def knife_handle() -> Shape:
    """A carved bone knife handle with rings and a lattice, and the stub of an iron tang."""

    def grip(p: F64) -> F64:
        y = p[:, 1]
        r = np.interp(y, [-48, -44, -20, 10, 34, 42, 46, 48], [6.2, 7.0, 6.4, 7.6, 9.2, 10.6, 9.5, 6])
        oval = np.hypot(p[:, 0], p[:, 2] / 0.74) - r
        return np.asarray(np.maximum(oval * 0.8, np.abs(y) - 47.5))

    def carving(p: F64) -> F64:
        y, turn = p[:, 1], np.arctan2(p[:, 2], p[:, 0])
        rings = sum(np.exp(-(((y - at) / 0.6) ** 2)) for at in (-42, -39.5, -12, -9.5, 24, 26.5, 37))
        a, b = np.sin(3 * turn + 0.42 * y), np.sin(3 * turn - 0.42 * y)
        lattice = np.maximum(np.exp(-((a / 0.16) ** 2)), np.exp(-((b / 0.16) ** 2))) * (y > -7) * (y < 22)
        return np.asarray(-0.6 * rings - 0.5 * lattice + 0.12 * rough(p * [1, 0.25, 1], 4, 311))

    tang = raised(box((0, -50, 0), (5.2, 14, 3.2), 0.6), lambda p: 0.4 * rough(p, 3, 312))
    crack = box((7, 30, 3), (8, 34, 0.6))
    whole = joined(cut(raised(grip, carving), crack), tang, soft=0.4)
    rust = colours.body(colours.IRON, 313)
    paint = colours.split(rust, colours.over(colours.body(colours.BONE, 314), (122, 76, 44),
                          lambda p, n: colours.soft_step(-p[:, 1] + 3 * noise(p, 5, 315), 40, 8), 0.3),
                          lambda p: colours.soft_step(-p[:, 1], 47.8, 0.8))
    return Shape(whole, (-12, -58, -9), (12, 49, 9), paint)


def stone_ball() -> Shape:
    """A smooth stone shot."""
    body = raised(egg((0, 0, 0), (27, 26.7, 27.2)), lambda p: 0.18 * rough(p, 14, 321, 3))
    return Shape(body, (-28, -28, -28), (28, 28, 28), colours.body(colours.STONE, 322))


def nest_egg() -> Shape:
    """A polished alabaster egg."""

    def body(p: F64) -> F64:
        q = p.copy()
        q[:, [0, 2]] *= (1 + 0.0042 * p[:, 1])[:, None]
        return egg((0, 0, 0), (20.5, 28.5, 20.5))(q) * 0.95

    veins = lambda p, n: np.exp(-((rough(p, 18, 332, 3) / 0.06) ** 2))  # noqa: E731
    return Shape(body, (-25, -29, -25), (25, 29, 25), colours.over(colours.body(colours.ALABASTER, 331), (158, 112, 72),
                                                                     veins, 0.3))


def die() -> Shape:
    """A bone die with drilled pips."""
    cube = box((0, 0, 0), (14.6, 14.2, 14.8), 1.3)
    spots = {1: [(0, 0)], 2: [(-1, -1), (1, 1)], 3: [(-1, -1), (0, 0), (1, 1)], 4: [(-1, -1), (1, 1), (-1, 1), (1, -1)],
             5: [(-1, -1), (1, 1), (-1, 1), (1, -1), (0, 0)], 6: [(-1, -1), (1, 1), (-1, 1), (1, -1), (-1, 0), (1, 0)]}
    pips = []
    for value, axis, side in ((1, 2, 1), (6, 2, -1), (2, 0, 1), (5, 0, -1), (3, 1, 1), (4, 1, -1)):
        for u, v in spots[value]:
            place = [0.0, 0.0, 0.0]
            place[axis], place[(axis + 1) % 3], place[(axis + 2) % 3] = side * 7.6, u * 3.9, v * 3.9
            pips.append(ball((place[0], place[1], place[2]), 1.25))
    holes = joined(*pips)
    paint = colours.over(colours.body(colours.BONE, 342), (46, 36, 30),
                         lambda p, n: colours.soft_step(-holes(p), -0.15, 0.2), 0.1)
    return Shape(raised(cut(cube, holes), lambda p: 0.06 * rough(p, 4, 341)), (-8, -8, -8), (8, 8, 8), paint)


def net_weight() -> Shape:
    """A fired clay net weight: a thick ring with finger marks."""
    shift = lambda p: np.hypot(np.hypot(p[:, 0], p[:, 1]) - 24, p[:, 2] * 0.85)  # noqa: E731
    thumb = joined(*(ball((38 * np.cos(a), 38 * np.sin(a), 12), 9) for a in (0.4, 1.5, 2.9, 4.1, 5.3)))
    ring = cut(lambda p: (shift(p) - 13.5) * 0.9, thumb, soft=4)
    groove = limb([(24 * np.cos(a), 24 * np.sin(a), 14.8) for a in np.linspace(0, 6.28, 24)], [1.6] * 24)
    return Shape(raised(cut(ring, groove, soft=1), lambda p: 0.5 * rough(p, 12, 351, 4)), (-40, -40, -18), (40, 40, 18),
                 colours.over(colours.body(colours.RED_CLAY, 352), (84, 66, 56),
                              lambda p, n: colours.soft_step(rough(p, 26, 353), 0.3, 0.4), 0.3))


def netting_needle() -> Shape:
    """A long bone netting needle with forked ends."""
    blade: list[Pair] = [(-5.0, -103), (-9.4, -84), (-7.4, -58), (-5.6, 0), (-7.4, 58), (-9.6, 84), (-5.4, 104),
                         (5.0, 104), (9.4, 84), (7.3, 58), (5.6, 0), (7.4, -58), (9.6, -84), (5.4, -103)]
    shaft = slab(curve(blade, 90, closed=True), 3.1, 1.8)
    slots = joined(rod([(0, 120, 0), (0, 82, 0)], [3.4, 4.2]), rod([(0.2, -120, 0), (0.2, -81, 0)], [3.4, 4.2]))
    drilled = joined(*(limb([(0, y, -9), (0, y, 9)], [1.8, 1.8]) for y in (-56, 56)))
    bow = lambda p: np.column_stack([p[:, 0] - 0.0002 * p[:, 1] ** 2, p[:, 1], p[:, 2] + 0.00018 * p[:, 1] ** 2])  # noqa: E731
    whole = cut(shaft, slots, drilled, soft=0.5)
    scratches = lambda p: -0.25 * sum(np.exp(-(((p[:, 1] - y) / 0.5) ** 2)) for y in (-48, -45, -42, 42, 45, 48))  # noqa: E731
    return Shape(raised(lambda p: whole(bow(p)), lambda p: scratches(p) + 0.1 * rough(p * [1, 0.2, 1], 5, 361)),
                 (-13, -106, -9), (16, 107, 9), colours.body(colours.BONE, 362))
