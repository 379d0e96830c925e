"""Vessels: jug, bottle, bowl, cup, mortar, dish, box with lid, lamp, candlestick."""

from __future__ import annotations

import numpy as np
from scanprep_samples import colours, emblems
from scanprep_samples.noise import noise, rough
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
    joined,
    limb,
    moved,
    raised,
    rod,
    turned,
    wall,
)


def bands(heights: list[float], width: float, depth: float) -> Solid:
    """Return turned lines: grooves (depth below 0) or ribs at heights."""
    return lambda p: np.asarray(sum(depth * np.exp(-(((p[:, 1] - y) / width) ** 2)) for y in heights))


def hand_made(solid: Solid, strength: float, wavelength: float, seed: int) -> Solid:
    """Return a solid slightly out of true, as thrown or hammered things are."""
    return raised(solid, lambda p: strength * rough(p, wavelength, seed, 3))


def _medallion(size: float, at_y: float, at_z: float, emblem: emblems.Emblem) -> Solid:
    ring = emblems.most(emblem, emblems.beads(size * 0.88, 26, size * 0.085))

    def height(p: F64) -> F64:
        u, v = p[:, 0], p[:, 1] - at_y
        disc = np.clip((size - np.hypot(u, v)) / 1.2, 0, 1)
        return np.asarray(np.where(p[:, 2] > at_z, 1.2 * disc + 1.5 * ring(u, v) * disc, 0))

    return height


def jug() -> Shape:
    """A salt-glazed stoneware jug with a strap handle and an applied medallion."""
    outside: list[Pair] = [(37, 0), (36, 3), (35, 7), (42, 22), (56, 48), (61, 72), (57, 94), (43, 116), (31, 131),
                           (28.5, 140), (30, 152), (34, 163), (34.5, 167)]
    outer, cavity = wall(outside, 5.0, 7.0, 70)
    neck = np.array([(0.0, 122.0), (20, 123), (24, 130), (23.5, 141), (25, 152), (29, 163), (29.5, 178), (0, 178)])
    handle = rod([(29, 156, 0), (50, 158, 0), (67, 145, 0), (71, 122, 0), (65, 100, 0), (53, 84, 0)],
                 [6.5, 5.6, 5.2, 5.0, 4.8, 5.5])
    strap = moved(handle, turn=np.diag([1.0, 1.0, 0.62]))
    pinch = ball((-46, 166, 0), 13)
    lines = bands([8, 12, 100, 104, 108, 144, 148], 0.8, -0.5)
    device = _medallion(22, 72, 20, emblems.boat(28, 1.2))
    throwing = lambda p: 0.25 * np.sin(p[:, 1] * 0.9 + noise(p, 40, 4))  # noqa: E731 - finger rings
    whole = joined(turned(outer), strap, soft=5)
    whole = raised(whole, lambda p: lines(p) + throwing(p) + device(p))
    whole = hand_made(whole, 0.5, 45, 11)
    foot = egg((0, -3, 0), (28, 7, 28))

    def vessel(inside: F64) -> Solid:
        return cut(cut(whole, turned(inside), soft=1.6), foot, pinch, soft=1.5)

    def cobalt(p: F64, n: F64) -> F64:
        ground = np.clip(device(p), 0, 1) * (device(p) < 1.9)
        turn = np.arctan2(p[:, 0], p[:, 2])
        sprig = emblems.stroke([(-18, -10), (-6, 6), (0, -4), (6, 8), (18, -6)], 4.5, 2.0)
        sides = sprig((np.abs(turn) - 1.45) * 58, p[:, 1] - 72)
        rings = sum(np.exp(-(((p[:, 1] - y) / 2.2) ** 2)) for y in (14, 106, 146))
        return np.asarray(np.clip(np.maximum(ground, sides) + 0.9 * rings, 0, 1) * colours.soft_step(p[:, 1], 10, 3))

    bare = colours.body(colours.Body((150, 132, 104), (132, 116, 92), (80, 66, 50), (176, 160, 132), 10), 6)
    glazed = colours.over(colours.over(colours.body(colours.SALT_GREY, 21), (54, 66, 108), cobalt, 0.25), (116, 78, 48),
                          lambda p, n: 0.7 * colours.soft_step(rough(p, 34, 8), 0.55, 0.3), 0.3)
    paint = colours.split(glazed, bare, lambda p: colours.soft_step(p[:, 1] + 3 * noise(p, 12, 5), 7, 3))
    return Shape(vessel(cavity), (-62, 0, -62), (80, 168, 62), paint, vessel(neck))


def bottle() -> Shape:
    """A small squat bottle of green glass with a string rim and a pushed-in base."""
    outside: list[Pair] = [(25, 0), (29, 2), (31, 10), (32, 28), (29, 44), (20, 56), (11, 64), (9, 76), (8.6, 90)]
    outer, cavity = wall(outside, 2.6, 12.0, 70)
    rim = lambda p: 1.9 * np.exp(-(((p[:, 1] - 86.5) / 1.5) ** 2)) + 1.2 * np.exp(-(((p[:, 1] - 91) / 1.2) ** 2))  # noqa: E731
    whole = hand_made(raised(turned(outer), rim), 0.55, 26, 31)
    kick = egg((0, -1.5, 0), (20, 11.5, 20))
    plug = turned(np.array([(0.0, 82.0), (4.5, 83), (6, 87), (6.4, 99), (0, 99)]))
    paint = colours.over(
        colours.over(colours.body(colours.GREEN_GLASS, 33), (176, 172, 148),
                     lambda p, n: colours.soft_step(rough(p, 12, 35), 0.25, 0.4), 0.3),
        (120, 104, 132), lambda p, n: 0.7 * colours.soft_step(rough(p, 7, 41), 0.5, 0.3), 0.4)
    return Shape(cut(cut(whole, kick, soft=2), turned(cavity)), (-34, 0, -34), (34, 91, 34), paint,
                 cut(cut(whole, kick, soft=2), plug))


def bowl() -> Shape:
    """A tin-glazed bowl on a foot ring, painted in blue, with a chip out of its rim."""
    outside: list[Pair] = [(27, 5), (38, 10), (54, 22), (65, 38), (70, 52), (71, 56)]
    outer, cavity = wall(outside, 4.6, 5.2, 60)
    foot = cut(turned([(0, 0), (26, 0), (27.5, 7), (0, 9)]), turned([(0, -3), (20.5, -3), (20, 3.4), (0, 4.4)]))
    whole = hand_made(joined(turned(outer), foot, soft=2.5), 0.45, 40, 51)
    whole = cut(whole, turned(cavity), soft=1.6)
    chips = joined(egg((50, 58, 51), (9, 5, 7)), egg((-68, 57, 20), (4, 2.5, 5)))
    clay, glaze = colours.body(colours.RED_CLAY, 53), colours.body(colours.TIN_GLAZE, 52)
    picture = emblems.heron(58, 1.2)

    def painted(p: F64, n: F64) -> F64:
        r = np.hypot(p[:, 0], p[:, 2])
        rings = sum(np.exp(-(((r - at) / w) ** 2)) for at, w in ((62, 1.6), (57, 0.8), (37, 1.0), (40, 0.7)))
        turn = np.arctan2(p[:, 2], p[:, 0]) * 18 / (2 * np.pi)
        leaves = np.clip(1.2 - np.hypot((turn - np.round(turn)) * 16, r - 48.5) / 3.6, 0, 1)
        inside = colours.soft_step(n[:, 1], 0.15, 0.2) * (p[:, 1] > 8)
        outside = colours.soft_step(-n[:, 1], -0.2, 0.2) * sum(
            np.exp(-(((p[:, 1] - y) / 0.9) ** 2)) for y in (20.0, 46.0, 49.5))
        device = picture(p[:, 0], -p[:, 2]) * (r < 35)
        return np.asarray(np.clip(inside * (rings + leaves + device), 0, 1) + 0.8 * outside)

    painted_glaze = colours.over(glaze, (48, 74, 134), painted, 0.25)
    worn = colours.split(clay, painted_glaze, lambda p: np.maximum(
        colours.soft_step(-chips(p), -0.35, 0.4), colours.soft_step(rough(p, 5, 58) - 0.02 * p[:, 1], 0.72, 0.12)))
    return Shape(cut(whole, chips, soft=0.6), (-73, 0, -73), (73, 57, 73), worn)


def mortar() -> Shape:
    """A cast bronze mortar with eight fins, two lugs and a flared lip."""
    outside: list[Pair] = [(39, 0), (40, 3), (36, 9), (35, 30), (37, 60), (42, 74), (50, 84), (51, 87)]
    outer, cavity = wall(outside, 7.5, 9.0, 60)

    def fins(p: F64) -> F64:
        turn = np.arctan2(p[:, 2], p[:, 0]) * 8 / (2 * np.pi) + 0.5
        r = np.hypot(p[:, 0], p[:, 2])
        across = (turn - np.round(turn)) * 2 * np.pi / 8 * r
        fade = np.clip((p[:, 1] - 3) / 7, 0, 1) * np.clip((70 - p[:, 1]) / 6, 0, 1)
        rib = np.hypot(np.maximum(np.abs(across) - 1.4, 0), np.maximum(r - 39.5 * fade, 0)) - 1.2
        return np.asarray(np.maximum(rib, np.abs(p[:, 1] - 37) - 34))

    lugs = joined(*(rod([(s * 33, 62, 0), (s * 48, 60, 0), (s * 54, 50, 0), (s * 48, 40, 0), (s * 33, 38, 0)],
                        [6.0, 5.0, 4.8, 5.0, 6.0]) for s in (-1, 1)))
    band = bands([66, 70], 0.9, 0.7)
    body = joined(turned(outer), fins, lugs, soft=3)
    body = raised(body, lambda p: band(p) + 0.22 * rough(p, 4, 61))
    whole = cut(hand_made(body, 0.5, 30, 62), turned(cavity), soft=2.5)
    paint = colours.over(colours.body(colours.BRONZE_BROWN, 63), (96, 132, 108),
                         lambda p, n: colours.soft_step(rough(p, 14, 64), 0.42, 0.25), 0.3)
    return Shape(whole, (-62, -1, -53), (62, 89, 53), paint)


def box_with_lid() -> Shape:
    """A turned boxwood box with a knobbed lid lying on it: two pieces."""
    box_outer = [(0.0, 0.0), (27, 0), (28.5, 1.5), (26.5, 4), (28, 8), (29, 20), (28, 31), (28.8, 34), (25.6, 34),
                 (25.4, 37.5), (0, 37.5)]
    box_inner = [(0.0, 5.0), (20, 5), (23, 8), (23.3, 40), (0, 40)]
    lid_outer = [(0.0, 34.5), (28.8, 34.5), (29.2, 37), (27, 41),
                 *curve([(26, 41), (18, 46), (9, 48.5), (4, 49.5)], 14), (3.2, 52),
                 (5.6, 55), (5, 58.5), (2, 60), (0, 60.2)]
    lid_inner = [(0.0, 30.0), (26.1, 30), (26.1, 38.2), (20, 41), (8, 44), (0, 44.5)]
    lower = cut(turned(box_outer), turned(box_inner))
    upper = cut(turned(lid_outer), turned(lid_inner))
    grooves = bands([12, 15, 24, 27], 0.7, -0.5)
    lower = raised(lower, lambda p: np.where(np.hypot(p[:, 0], p[:, 2]) > 25, grooves(p), 0))
    crack = box((0, 20, 30), (0.7, 30, 9))
    lower = cut(lower, moved(crack, (4, 0, 0)))

    def both(p: F64) -> F64:
        return np.asarray(np.minimum(lower(p), upper(p)) - 0.12 * rough(p, 9, 71))

    paint = colours.split(colours.body(colours.BOXWOOD, 72), colours.body(colours.OAK, 73),
                          lambda p: 0.85 + 0.15 * noise(p, 8, 74))
    return Shape(both, (-31, 0, -31), (31, 61, 31), paint)


def cup() -> Shape:
    """A pewter cup with a looped handle and a dent."""
    outside: list[Pair] = [(29, 0), (30, 2), (28, 5), (29, 12), (33, 40), (36, 66), (37.5, 77)]
    outer, cavity = wall(outside, 2.8, 5.0, 60)
    handle = rod([(33, 64, 0), (47, 66, 0), (56, 55, 0), (54, 37, 0), (43, 25, 0), (30, 20, 0)],
                 [3.6, 3.6, 3.4, 3.2, 3.0, 3.4])
    lines = bands([9, 11.5, 60, 63, 74.5], 0.8, 0.5)
    dent = lambda p: -2.6 * np.exp(-(((p - [-24, 44, 26]) / [13, 11, 13]) ** 2).sum(1))  # noqa: E731
    shift = lambda p: dent(p)  # noqa: E731 - the wall moves as a whole, inside and out
    body = raised(turned(outer), lambda p: lines(p) + shift(p))
    inner = raised(turned(cavity), shift)
    outside_only = joined(body, cut(handle, raised(turned(cavity), lambda p: 1.0 + shift(p))), soft=2.2)
    whole = hand_made(cut(outside_only, inner, soft=0.8), 0.18, 14, 81)
    return Shape(whole, (-40, 0, -40), (61, 79, 40), colours.body(colours.PEWTER, 82))


def dish() -> Shape:
    """A shallow pewter dish with a reeded rim, bent a little out of flat."""
    outside: list[Pair] = [(34, 0), (37, 0.6), (43, 4.5), (48, 8.2), (58, 10.0), (65, 11.2)]
    outer, cavity = wall(outside, 3.7, 3.8, 60)

    def reeds(p: F64) -> F64:
        r = np.hypot(p[:, 0], p[:, 2])
        up = 0.6 * (np.exp(-(((r - 63) / 0.9) ** 2)) + 0.6 * np.exp(-(((r - 59.5) / 0.8) ** 2)))
        return np.asarray(up - 0.35 * np.exp(-(((r - 31) / 0.8) ** 2)))

    def bent(p: F64) -> F64:
        q = p.copy()
        q[:, 1] -= 0.9 * np.sin(2 * np.arctan2(p[:, 2], p[:, 0])) * (np.hypot(p[:, 0], p[:, 2]) / 65) ** 2
        return q

    whole = raised(cut(turned(outer), turned(cavity), soft=0.8), reeds)
    mark = emblems.boat(11, 0.5)
    stamped = raised(whole, lambda p: np.where(p[:, 1] > 1.5, -0.5 * mark(p[:, 0] - 52, -p[:, 2]), 0))
    return Shape(hand_made(lambda p: stamped(bent(p)), 0.2, 9, 91), (-68, -1, -68), (68, 14, 68),
                 colours.body(colours.PEWTER, 92))


def lamp() -> Shape:
    """A mould-made clay oil lamp with a nozzle, a filling hole and a ring handle."""
    body = egg((0, 14, 0), (31, 14.5, 31))
    nozzle = limb([(0, 14, 18), (0, 16, 44), (0, 18, 54)], [11, 8.5, 8.2], 4)
    ring = moved(cut(egg((0, 0, 0), (5.5, 12, 12)), egg((0, 0, 0), (30, 5.5, 5.5))), (0, 20, -34))
    base = turned([(0.0, 0.0), (17, 0), (18, 4), (0, 6)])
    whole = joined(body, nozzle, soft=7)
    whole = joined(whole, ring, base, soft=3)
    disc = turned([(0.0, 24.5), (20, 24.5), (22, 26.5), (22, 40), (0, 40)])
    whole = cut(whole, disc, soft=1.5)

    def relief(p: F64) -> F64:
        top = p[:, 1] > 20
        u, v = p[:, 0], -p[:, 2]
        heron = emblems.placed(emblems.heron(27, 0.9), 1.5, 0)(u, v) * (np.hypot(u, v) < 19)
        rays = np.cos(36 * np.arctan2(v, u)) * np.exp(-(((np.hypot(u, v) - 25.5) / 2.2) ** 2))
        return np.asarray(np.where(top, 0.9 * heron + 0.35 * rays, 0))

    whole = hand_made(raised(whole, relief), 0.3, 18, 101)
    hollow = cut(joined(egg((0, 13.5, 0), (26.5, 9.2, 26.5)), limb([(0, 13, 18), (0, 15, 46)], [6.5, 4.8], 4), soft=5),
                 half_space((0, 22, 0), (0, -1, 0)))
    holes = joined(limb([(-8, 12, 4), (-8, 40, 4)], [4.2, 4.2]), limb([(0, 14, 53), (0, 40, 53)], [4.6, 4.6]))
    shallow = joined(limb([(-8, 19, 4), (-8, 40, 4)], [4.2, 4.2]), limb([(0, 18, 53), (0, 40, 53)], [4.6, 4.6]))
    soot = lambda p, n: colours.soft_step(-np.linalg.norm(p - [0, 22, 54], axis=1) + 4 * noise(p, 5, 7), -17, 9)  # noqa: E731
    paint = colours.over(colours.body(colours.RED_CLAY, 102), (44, 36, 32), soot, 0.2)
    return Shape(cut(whole, hollow, holes), (-33, -1, -50), (33, 36, 64), paint, cut(whole, shallow, soft=0.8))


def candlestick() -> Shape:
    """A cast brass candlestick: stepped foot, knopped stem, socket."""
    outside = [(0.0, 0.0), (42, 0), (43, 2), (41, 5), (33, 8), (30, 12), (22, 15), (20, 19),
               *curve([(9, 22), (6.5, 32), (6, 40), (11, 45), (13, 50), (10, 56), (6.5, 60), (6, 78), (8, 96),
                       (12, 101), (8, 106), (9, 112), (12.5, 126), (13, 140)], 60), (15.5, 142), (15.5, 145), (0, 145)]
    socket = turned([(0.0, 120.0), (8.5, 120), (9.5, 146), (9.5, 150), (0, 150)])
    under = turned([(0.0, -2.0), (37, -2), (36, 2), (28, 6), (17, 12), (8, 16), (0, 17)])
    whole = hand_made(turned(outside), 0.15, 7, 111)
    tip = lambda p: np.column_stack([p[:, 0] + 0.02 * (p[:, 1] - 20).clip(0), p[:, 1], p[:, 2]])  # noqa: E731
    bent = lambda p: cut(whole, socket, under, soft=0.8)(tip(p))  # noqa: E731
    return Shape(bent, (-47, 0, -45), (45, 146, 45), colours.body(colours.BRASS, 112))
