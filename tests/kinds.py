"""Things of the kinds that a mountmaker knows, stuck together from balls, rods and plates: closed meshes, y up, mm.

No scan shows them; which family of mounts each should come to is common practice. The front is +z.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import manifold3d as m3
import numpy as np

from tests.shapes import Solid

_EDGE_mm = 4.0  # triangles no longer than this, as a scan's would be
_SIDES = 48
Point = tuple[float, float, float]


def _ball(at: Point, radius: float, stretch: Point = (1.0, 1.0, 1.0)) -> m3.Manifold:
    return m3.Manifold.sphere(radius, _SIDES).scale(stretch).translate(at)


def _limb(start: Point, end: Point, first: float, last: float | None = None) -> m3.Manifold:
    """A rod with round ends, tapering from one radius to another."""
    return m3.Manifold.batch_hull([_ball(start, first), _ball(end, first if last is None else last)])


def _plate(size: Point, at: Point = (0.0, 0.0, 0.0)) -> m3.Manifold:
    return m3.Manifold.cube(size, True).translate(at)


def _disc(radius: float, low: float, high: float, top: float | None = None) -> m3.Manifold:
    """A round thing about the upright axis."""
    lying = m3.Manifold.cylinder(high - low, radius, radius if top is None else top, 2 * _SIDES)
    return lying.rotate((-90.0, 0.0, 0.0)).translate((0.0, low, 0.0))


def _turned(profile: Sequence[tuple[float, float]]) -> m3.Manifold:
    """A body of revolution about y from its (radius, height) outline."""
    return m3.Manifold.revolve(m3.CrossSection([profile]), 2 * _SIDES).rotate((-90.0, 0.0, 0.0))


def _drilled(body: m3.Manifold, places: Sequence[tuple[float, float]], radius: float) -> m3.Manifold:
    """Holes along z."""
    for x, y in places:
        body -= m3.Manifold.cylinder(400.0, radius, radius, _SIDES, True).translate((x, y, 0.0))
    return body


def _above(body: m3.Manifold, height: float) -> m3.Manifold:
    return body.trim_by_plane((0.0, 1.0, 0.0), height)


def bust() -> m3.Manifold:
    """A head on shoulders, cut flat below: no socle."""
    body = _ball((0, 30, 0), 48, (1.0, 0.8, 0.55)) + _limb((0, 50, -4), (0, 92, 0), 19, 17)
    head = _ball((0, 112, 4), 31, (0.85, 1.1, 1.0)) + _limb((0, 110, 32), (0, 104, 38), 4)
    return _above(body + head, 8.0)


def head_on_its_neck() -> m3.Manifold:
    """A head broken off below the chin: its neck ends aslant and narrow."""
    neck = _limb((0, -10, -8), (0, 40, -4), 17, 18)
    head = _ball((0, 68, 4), 34, (0.85, 1.15, 1.05)) + _limb((0, 66, 36), (0, 58, 44), 5) + _ball((0, 46, 22), 14)
    return (neck + head).trim_by_plane((0.0, 0.94, 0.34), -2.0)


def dog() -> m3.Manifold:
    """A four-legged animal seen from its side: thin tail, muzzle, ears."""
    body = _limb((-45, 60, 0), (40, 62, 0), 19, 21)
    legs = m3.Manifold()
    for x in (-48, 42):
        for z in (-12, 12):
            legs += _limb((x, 55, z), (x, 6, z), 8, 6.5)
    head = _limb((48, 70, 0), (66, 98, 0), 13) + _limb((66, 100, 0), (92, 94, 0), 13, 7)
    more = _limb((-60, 66, 0), (-88, 92, 0), 4, 2.5) + _limb((60, 108, 6), (58, 124, 10), 4, 2) + \
        _limb((60, 108, -6), (58, 124, -10), 4, 2)
    return _above(body + legs + head + more, 2.0)


def cow() -> m3.Manifold:
    """A heavy animal on thin legs, seen from its side: teats between its hind legs, a head on a neck to +x."""
    body = _limb((-40, 60, 0), (38, 62, 0), 20) + _ball((-18, 44, 0), 11)
    legs, teats = m3.Manifold(), m3.Manifold()
    for x in (-40, 38):
        for z in (-12, 12):
            legs += _limb((x, 55, z), (x, 5, z), 5)
    for x in (-22, -13):
        for z in (-4, 4):
            teats += _limb((x, 38, z), (x, 26, z), 2.2)
    head = _limb((45, 70, 0), (64, 92, 0), 11, 10) + _limb((64, 94, 0), (88, 84, 0), 10, 6)
    return _above(body + legs + teats + head, 1.0)


def arched_skull() -> m3.Manifold:
    """A solid braincase with hollow temples, each bridged by a thin arch; the face to +z, no jaw."""
    skull = _ball((0, 40, 0), 40) + _ball((0, 24, 34), 20)
    arches = m3.Manifold()
    for x in (-1, 1):
        skull -= _ball((x * 42, 34, 4), 14)
        arches += _limb((x * 16, 30, 34), (x * 42, 32, 14), 3) + _limb((x * 42, 32, 14), (x * 34, 34, -16), 3)
    return _above(skull + arches, 4.0)


def lidded_jug() -> m3.Manifold:
    """A closed vessel: a lid with a knob, a handle to -x, a short spout to +x."""
    pot = _turned([(0, 0), (28, 0), (36, 30), (34, 60), (28, 72), (27, 80), (0, 84)]) + _limb((0, 82, 0), (0, 96, 0), 4)
    handle = _limb((-30, 66, 0), (-58, 58, 0), 4) + _limb((-58, 58, 0), (-58, 30, 0), 4) + \
        _limb((-58, 30, 0), (-32, 20, 0), 4)
    return pot + handle + _limb((30, 40, 0), (54, 66, 0), 7, 4)


def tripod_bowl() -> m3.Manifold:
    """A bowl on three legs."""
    bowl = _ball((0, 60, 0), 40, (1.0, 0.75, 1.0)).trim_by_plane((0.0, -1.0, 0.0), -62.0) - \
        _ball((0, 64, 0), 36, (1.0, 0.75, 1.0))
    for turn in (90, 210, 330):
        x, z = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        bowl += _limb((26 * x, 42, 26 * z), (34 * x, 5, 34 * z), 6, 5)
    return _above(bowl, 1.0)


def vase() -> m3.Manifold:
    """A thick vessel with a foot, a belly, a neck and a rim."""
    outer = [(0, 0), (20, 0), (21, 5), (17, 9), (34, 45), (36, 60), (30, 78), (14, 96), (13, 104), (19, 114), (19, 116)]
    inner = [(15, 116), (9, 104), (10, 96), (26, 76), (31, 60), (29, 45), (12, 14), (0, 12)]
    return _turned([*outer, *inner])


def beaker() -> m3.Manifold:
    """A straight cup that widens upwards from a narrow flat base."""
    return _turned([(0, 0), (22, 0), (36, 84), (32, 84), (18.5, 5), (0, 5)])


def flaring_shell() -> m3.Manifold:
    """Open below, its walls flare all the way down: a bell without a crown, a helmet's skirt."""
    outer = [(0, 70), (14, 70), (20, 62), (24, 40), (32, 16), (46, 0)]
    return _turned([(42, 0), (28.5, 17), (20.5, 40), (16.5, 60), (12.5, 66), (0, 66), *outer][::-1])


def hollow_head() -> m3.Manifold:
    """A round hollow thing that stands on no base and opens below, as a skull does."""
    skull = _ball((0, 40, -8), 42, (0.85, 0.9, 1.1)) + _ball((0, 8, 22), 22, (0.9, 1.0, 0.9))
    hollow = _ball((0, 40, -8), 36, (0.83, 0.9, 1.1)) + _limb((0, 20, -14), (0, -30, -18), 13)
    return skull - hollow


def hoop() -> m3.Manifold:
    """A thin open ring, seen on its face."""
    section = m3.CrossSection.circle(2.0, 24).translate((45.0, 0.0))
    return m3.Manifold.revolve(section, 96)


def pan() -> m3.Manifold:
    """A shallow dish on a long handle with a hole to hang it by, seen on its face, handle to the right."""
    dish = _turned([(0, 0), (40, 0), (52, 14), (50, 15), (38.5, 2.5), (0, 2.5)]).rotate((90.0, 0.0, 0.0))
    handle = _limb((46, 0, 9), (130, 0, 12), 5).scale((1.0, 1.4, 1.0))
    return _drilled(dish + handle, [(126, 0)], 3.2)


def hammer() -> m3.Manifold:
    """A heavy head across the end of a long haft, standing on the haft's butt: its centre is near the head."""
    haft = m3.Manifold.cylinder(200, 11, 9, _SIDES).rotate((-90.0, 0.0, 0.0))
    return haft + _plate((84, 26, 24), (0, 205, 0))


def beetle() -> m3.Manifold:
    """A low dome on a flat base: a scarab's back, a paperweight."""
    return _above(_ball((0, 0, 0), 50, (1.0, 0.7, 0.65)), 0.0)


def hen() -> m3.Manifold:
    """A bird on a broad foot: its head stands up to -x, a third as wide as it is long."""
    body = _ball((0, 40, 0), 40, (1.2, 0.75, 0.8)) + _limb((30, 46, 0), (58, 58, 0), 12, 8)
    return _above(body + _ball((-34, 74, 0), 16) + _limb((-24, 48, 0), (-34, 74, 0), 20, 16) + _disc(20, 0, 14), 0.0)


def doll() -> m3.Manifold:
    """A figure that sits: a round head on a neck, its trunk on a broad base."""
    trunk = _ball((0, 36, 0), 34, (1.0, 1.1, 0.8)) + _limb((0, 60, 0), (0, 84, 0), 13)
    return _above(trunk + _ball((0, 104, 0), 24), 8.0)


def lidded_jar() -> m3.Manifold:
    """A jar whose domed lid with a knob lies over its straight wall and stands out by 2 mm."""
    jar = _turned([(0, 0), (34, 0), (36, 6), (36, 70), (0, 70)])
    lid = _turned([(0, 68), (38, 68), (38, 78), (33, 86), (18, 92), (0, 94)])
    return jar + lid + _limb((0, 92, 0), (0, 98, 0), 4) + _ball((0, 102, 0), 8)


def irregular_disc() -> m3.Manifold:
    """A thick flat disc with a wavy edge, no side of it like the other: a loaf, a potsherd, an ore cake."""
    turn = np.radians(np.arange(0.0, 360.0, 2.0))
    radius = 55.0 + 4.0 * np.sin(3 * turn + 0.4) + 2.5 * np.sin(7 * turn + 1.1) + 1.5 * np.cos(11 * turn)
    outline = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    return m3.Manifold.extrude(m3.CrossSection([outline.tolist()]), 14.0)


def flange() -> m3.Manifold:
    """A pipe's flange: a plate with bolt holes and a boss, shown on its face."""
    plate = m3.Manifold.cylinder(10, 45, 45, 96) + m3.Manifold.cylinder(34, 24, 22, 96)
    bolts = [(35 * math.cos(t), 35 * math.sin(t)) for t in np.radians([45, 135, 225, 315]).tolist()]
    return _drilled(_drilled(plate, bolts, 4.0), [(0, 0)], 14.0)


def bracket() -> m3.Manifold:
    """An angle of thick sheet with two holes."""
    angle = _plate((60, 8, 40), (0, 4, 0)) + _plate((60, 70, 8), (0, 35, -16))
    return _drilled(angle, [(-18, 50), (18, 50)], 5.0)


def gear() -> m3.Manifold:
    """A wheel with teeth and a bore, shown on its face."""
    wheel = m3.Manifold.cylinder(14, 34, 34, 96)
    for turn in range(0, 360, 20):
        wheel += _plate((10, 6, 14), (36, 0, 7)).rotate((0.0, 0.0, float(turn)))
    return _drilled(wheel, [(0, 0)], 9.0)


def crab() -> m3.Manifold:
    """A broad low body on eight thin legs, with claws before and a raised tail behind; its head to +x."""
    body = _ball((0, 16, 0), 26, (1.3, 0.4, 0.9))
    for x in (-18, -6, 6, 18):
        for z in (-1, 1):
            body += _limb((x, 15, 18 * z), (1.4 * x, 24, 32 * z), 2.6) + \
                _limb((1.4 * x, 24, 32 * z), (1.6 * x, 1.5, 42 * z), 2.6, 1.8)
    tail = _limb((-30, 17, 0), (-52, 26, 0), 6, 5) + _limb((-52, 26, 0), (-56, 48, 0), 5, 4) + \
        _limb((-56, 48, 0), (-38, 58, 0), 4, 2)
    claws = _limb((28, 15, 12), (50, 12, 22), 4, 6) + _limb((28, 15, -12), (50, 12, -22), 4, 6)
    return _above(body + tail + claws, 0.2)


def wagon() -> m3.Manifold:
    """An open box on four wheels, its long side to the viewer."""
    box = _plate((110, 36, 52), (0, 36, 0)) - _plate((100, 36, 42), (0, 44, 0))
    for x in (-36, 36):
        for z in (-31, 31):
            box += m3.Manifold.cylinder(9, 16, 16, _SIDES, True).translate((x, 16, z))
        box += m3.Manifold.cylinder(62, 4, 4, 24, True).translate((x, 16, 0))
    return box


def figure() -> m3.Manifold:
    """A standing figure with spread arms on a small plinth."""
    body = _limb((0, 20, 0), (0, 78, 0), 12, 15) + _limb((0, 78, 0), (0, 96, 0), 7) + _ball((0, 106, 2), 12)
    arms = _limb((0, 82, 0), (44, 70, 6), 6, 4.5) + _limb((0, 82, 0), (-44, 94, 6), 6, 4.5)
    return body + arms + _plate((44, 10, 34), (0, 5, 0))


def smoking_pipe() -> m3.Manifold:
    """A bowl on a bent stem, shown from its side."""
    bowl = _limb((0, 0, 0), (3, 34, 0), 11, 12).trim_by_plane((0.0, -1.0, 0.0), -36.0) - \
        _limb((0, 8, 0), (4, 60, 0), 7)
    return bowl + _limb((-4, -2, 0), (-70, 16, 0), 6, 4)


def mask() -> m3.Manifold:
    """A shallow shell, open behind, shown on its face."""
    shell = _ball((0, 0, -20), 60, (0.75, 1.0, 0.7)) - _ball((0, 0, -20), 56, (0.74, 0.99, 0.69))
    face = shell.trim_by_plane((0.0, 0.0, 1.0), -14.0) + _limb((0, 8, 20), (0, -8, 25), 5, 7)
    return _drilled(face, [(-16, 14), (16, 14)], 5.0)


def dish() -> m3.Manifold:
    """A thin plate with a broad rim, shown on its face."""
    profile = [(0, 0), (38, 0), (44, 8), (64, 11), (64, 12.6), (43.4, 9.8), (37.2, 1.8), (0, 1.8)]
    return _turned(profile).rotate((90.0, 0.0, 0.0))


def pebble() -> m3.Manifold:
    """A lump that stands on nothing."""
    lump = _ball((0, 0, 0), 30, (1.2, 0.85, 0.9)) + _ball((18, 12, 4), 20) + _ball((-20, -4, 8), 17)
    return lump


def shoe() -> m3.Manifold:
    """A low long thing with a flat sole, open above, its side to the viewer."""
    sole = _limb((-45, 14, 0), (45, 12, 0), 20, 16).scale((1.0, 0.8, 1.0))
    leg = _limb((-40, 20, 0), (-42, 60, 0), 19, 20).trim_by_plane((0.0, -1.0, 0.0), -62.0)
    inside = _limb((-40, 26, 0), (-42, 90, 0), 15, 16) + _limb((-40, 20, 0), (36, 14, 0), 14, 10).scale((1.0, 0.8, 1.0))
    return _above(sole + leg - inside, 2.0)


def peg_socket() -> m3.Manifold:
    """A stout tube with a deep bore from below: a spanner's socket, a thimble, a ferrule."""
    return _disc(15, 0, 62, 14) - _disc(10, -1, 44)


def eight() -> m3.Manifold:
    """Two thick rings grown together, openings along z, lying level."""
    section = m3.CrossSection.circle(7.0, 32).translate((20.0, 0.0))
    ring = m3.Manifold.revolve(section, 96)
    return ring.translate((-22.0, 0.0, 0.0)) + ring.translate((22.0, 0.0, 0.0))


def finger_ring() -> m3.Manifold:
    """A finger ring with a bezel on top, its opening along z."""
    hoop_ = m3.Manifold.revolve(m3.CrossSection.circle(1.6, 24).translate((10.5, 0.0)), 96)
    return hoop_ + _ball((0.0, 12.5, 0.0), 5.0, (1.3, 0.6, 1.0))


def hand_bell() -> m3.Manifold:
    """A bell with a loop on its crown, whose opening is along z."""
    body = _turned([(0, 38), (15, 34), (19, 12), (27, 0), (30, 0), (22, 12), (18, 36), (12, 42), (0, 42)])
    loop = m3.Manifold.revolve(m3.CrossSection.circle(2.2, 24).translate((7.0, 0.0)), 64)
    return body + loop.translate((0.0, 48.0, 0.0))


def key() -> m3.Manifold:
    """A key hung by its bow, its bit below to one side, shank along y."""
    bow = m3.Manifold.cylinder(4, 13, 13, 64, True) - m3.Manifold.cylinder(20, 7.5, 7.5, 64, True)
    shank = _limb((0, -11, 0), (0, -80, 0), 2.2)
    return bow + shank + _plate((15, 13, 3), (8, -72, 0))


def basin() -> m3.Manifold:
    """A round bowl on a flat base, a third as high as wide, its mouth up."""
    return _turned([(0, 0), (25, 0), (60, 40), (57, 40), (24, 4), (0, 4)])


def open_box() -> m3.Manifold:
    """A box without its lid, on four low feet, mouth up, deeper than wide from front to back."""
    walls = _plate((100, 60, 70), (0, 36, 0)) - _plate((92, 60, 62), (0, 40, 0))
    for x in (-42, 42):
        for z in (-28, 28):
            walls += _plate((14, 8, 12), (x, 4, z))
    return walls


def tusk() -> m3.Manifold:
    """A tapering tusk that stands on its butt, bent in an even curve towards +x: seen from the side along z."""
    spine = [(150 - 150 * math.cos(t), 150 * math.sin(t), 0.0) for t in np.radians(np.arange(0, 70, 6)).tolist()]
    thick = np.linspace(16, 4, len(spine)).tolist()
    return _above(m3.Manifold.batch_boolean([_limb(spine[k], spine[k + 1], thick[k], thick[k + 1])
                                             for k in range(len(spine) - 1)], m3.OpType.Add), 4.0)


def knobbed_sherd() -> m3.Manifold:
    """A piece broken from a globular vessel, with rows of knobs on its outer side, which is +z."""
    shell = _ball((0, 0, -50), 60) - _ball((0, 0, -50), 54)
    piece = m3.Manifold.cylinder(80, 46, 46, 5).rotate((0.0, 0.0, 17.0)).translate((0.0, 0.0, -18.0))
    for x in range(-24, 25, 12):
        for y in range(-24, 25, 12):
            shell += _ball((x, y, -50 + math.sqrt(60**2 - x * x - y * y)), 5)
    return shell ^ piece


def slit_plate() -> m3.Manifold:
    """A plate of 100 x 60 mm with three narrow slits near one end: the closed gaps of a comb's teeth."""
    plate = _plate((100, 60, 6))
    for y in (-15, 0, 15):
        plate -= _plate((16, 2.4, 20), (34, y, 0))
    return plate


def flask() -> m3.Manifold:
    """A round-bottomed oil flask: a narrow neck under a broad mouth, a handle from mouth to shoulder at -x."""
    body = _ball((0, 30, 0), 30) + _turned([(0, 50), (12, 50), (12, 72), (22, 76), (22, 80), (0, 80)])
    handle = _limb((-18, 77, 0), (-45, 72, 0), 3) + _limb((-45, 72, 0), (-45, 40, 0), 3) + \
        _limb((-45, 40, 0), (-26, 38, 0), 3)
    return body + handle.translate((0, 0, 0.7))  # rays through a mesh's own edges meet it twice


def _as_solid(body: m3.Manifold, name: str) -> Solid:
    mesh = body.refine_to_length(_EDGE_mm).to_mesh()
    corners = np.asarray(mesh.vert_properties[:, :3], dtype=np.float64)
    return Solid(name, corners, np.asarray(mesh.tri_verts, dtype=np.int32), float(body.volume()), corners.mean(axis=0),
                 np.eye(3))


KINDS: dict[str, Callable[[], m3.Manifold]] = {make.__name__: make for make in (
    bust, head_on_its_neck, dog, cow, arched_skull, lidded_jug, tripod_bowl, vase, beaker, flaring_shell, hollow_head,
    hoop, pan, flange, bracket, gear, crab, wagon, figure, smoking_pipe, mask, dish, pebble, shoe, peg_socket, eight,
    finger_ring, hand_bell, key, basin, open_box, hammer,
    beetle, hen, doll, lidded_jar, irregular_disc, tusk, knobbed_sherd,
    slit_plate, flask)}


def kind(name: str) -> Solid:
    """One of them as a solid; its centre and moments are not those of a table."""
    return _as_solid(KINDS[name](), name)
