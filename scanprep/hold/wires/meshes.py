"""The mount as triangle meshes: wires as swept tubes, pads, hub and a stub of the post.

For pictures, for shares of the front view and for clashes. Display frame (x right, y up, z to the viewer, origin at the
object's centre of mass), mm. Touches no files.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.records import Arm, Contact, FlatBar, Hold, Hub, Strip, Thin, Tip
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.hold.wires.flat_bar import across_mm, bent_bar, flat_of
from scanprep.hold.wires.hub import planned_post_mm
from scanprep.hold.wires.rings import across_strip
from scanprep.rules import HoldRules
from scanprep.vectors import F64, I32

_BRASS = (181, 155, 92)  # layout: colour of a picture
_PAD = (90, 86, 80)  # layout: likewise
_SIDES = 10  # layout: of a wire in a picture
_NEXT, _LAST = [1, 2, 0], [2, 0, 1]  # exact: the axes in turn
_REPEATED_mm = 1e-6  # tolerance: nearer than this two points of a curve are one


@dataclass(frozen=True, slots=True, eq=False)
class MountMesh:
    """One part of a mount."""

    name: str  # "arm 1", "pad 1", "hub", "post"
    vertices_mm: F64  # (n, 3)
    faces: I32  # (m, 3), outward
    colour: tuple[int, int, int]


def tube(curve_mm: F64, radius_mm: float, sides: int = _SIDES) -> tuple[F64, I32]:
    """Return a closed tube swept along a polyline (n, 3), without twist."""
    keep = np.r_[True, np.linalg.norm(np.diff(curve_mm, axis=0), axis=1) > 1e-6]
    points = curve_mm[keep]
    steps = np.diff(points, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    tangents = np.vstack([steps[:1], steps[:-1] + steps[1:], steps[-1:]])
    tangents /= np.maximum(np.linalg.norm(tangents, axis=1), 1e-9)[:, None]
    across = np.cross(tangents[0], np.eye(3)[int(np.argmin(np.abs(tangents[0])))])
    angles = 2 * math.pi * np.arange(sides) / sides
    cosines, sines = np.cos(angles)[:, None], np.sin(angles)[:, None]
    rings = []
    for point, tangent in zip(points, tangents):
        across = across - (across @ tangent) * tangent
        across /= np.linalg.norm(across)
        other = tangent[_NEXT] * across[_LAST] - tangent[_LAST] * across[_NEXT]  # their cross product
        rings.append(point + radius_mm * (cosines * across + sines * other))
    return np.vstack([*rings, points[:1], points[-1:]]), _tube_faces(len(points), sides)


@functools.lru_cache(maxsize=256)
def _tube_faces(count: int, sides: int) -> I32:
    """The faces of a tube of so many rings: its side, ring by ring, then both ends."""
    ring, side = np.arange(count - 1)[:, None] * sides, np.arange(sides)
    a, b = ring + side, ring + (side + 1) % sides
    skin = np.stack([a, b, b + sides, a, b + sides, a + sides], axis=2).reshape(-1, 3)
    first, last = count * sides, count * sides + 1
    rim = (count - 1) * sides
    ends = np.stack([np.full(sides, first), (side + 1) % sides, side,
                     np.full(sides, last), rim + side, rim + (side + 1) % sides], axis=1).reshape(-1, 3)
    faces: I32 = np.vstack([skin, ends]).astype(np.int32)
    faces.flags.writeable = False
    return faces


def _block(centre_mm: F64, size_mm: Sequence[float], angle_deg: float) -> tuple[F64, I32]:
    signs = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=np.float64)
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
    vertices = centre_mm + (signs * np.asarray(size_mm) / 2) @ turn.T
    faces = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6),
             (0, 6, 4), (1, 5, 7), (1, 7, 3)]
    return vertices, np.asarray(faces, dtype=np.int32)


def circle(centre_mm: F64, normal: F64, radius_mm: float, points: int = 24) -> F64:
    """Return a closed polyline round a centre, (points + 1, 3)."""
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first /= np.linalg.norm(first)
    second = np.cross(normal, first)
    angles = np.linspace(0, 2 * math.pi, points + 1)
    return np.asarray(centre_mm + radius_mm * (np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second)))


def bar_high_mm(hub: Hub, post_mm: float) -> float:
    """Return how high a hub that is a bar is."""
    return hub.high_mm or post_mm + 3.0


def hub_meshes(hub: Hub, post_mm: float, stub_mm: float) -> list[MountMesh]:
    """Return the hub and a stub of the post behind it."""
    centre = np.asarray(hub.centre_mm)
    behind = np.array([0.0, 0.0, -1.0])
    back = centre + behind * hub.thickness_mm / 2
    if hub.kind == "plate":
        shape = tube(np.array([back, back - behind * hub.thickness_mm]), hub.size_mm / 2, 28)
    elif hub.kind == "bar":
        shape = _block(centre, (hub.size_mm, bar_high_mm(hub, post_mm), hub.thickness_mm), hub.angle_deg)
    elif hub.kind == "ring":
        shape = tube(circle(centre, behind, hub.size_mm / 2), hub.thickness_mm / 2)
    else:
        shape = tube(np.array([back, back - behind * hub.thickness_mm]), post_mm / 2 + 0.4, 20)
    post = tube(np.array([back + behind * stub_mm, back - behind * (hub.thickness_mm + 0.4)]), post_mm / 2, 20)
    return [MountMesh("hub", *shape, _BRASS), MountMesh("post", *post, _BRASS)]


def wire_meshes(number: int, path_mm: F64, wire_mm: float, pieces_mm: Sequence[F64], tip: Contact | Tip,
                colour: tuple[int, int, int] = _BRASS, radius_diameters: float = 1.5, thin: Thin | None = None,
                wide_mm: float = 0.0) -> list[MountMesh]:
    """Return an arm's bent wire, what is soldered to it, and the pad over its end."""
    flat = tip.flat if isinstance(tip, Contact) else flat_of(tip)
    if flat is not None:
        return _bar_meshes(number, flat, wire_mm, tip, colour)
    curve = bend_wire(path_mm, wire_mm, radius_diameters, thin=thin).curve_mm
    end_mm = wire_mm if thin is None else thin.wire_mm
    strip = None if tip.ring is None else tip.ring.strip
    ring = next((piece for piece in pieces_mm if is_ring(piece, path_mm[-1], wire_mm, strip)), None)
    parts = []
    if thin is None:
        whole = _strip(curve, wire_mm, wide_mm, wide_mm, np.inf) if wide_mm else tube(curve, wire_mm / 2)
        parts.append(MountMesh(f"arm {number}", *whole, colour))
    else:
        joint = int(np.argmin(np.linalg.norm(curve - path_mm[thin.corner], axis=1))) + 1
        joint = min(max(joint, 1), len(curve) - 2)
        stem = _strip(curve[:joint + 1], wire_mm, wide_mm, wide_mm, np.inf) if wide_mm else \
            tube(curve[:joint + 1], wire_mm / 2)
        parts.append(MountMesh(f"arm {number}", *stem, colour))
        parts.append(MountMesh(f"arm {number} end", *tube(curve[joint:], end_mm / 2), colour))
    if ring is not None and strip is not None:
        assert tip.ring is not None
        wide = across_strip(ring, tip.ring.outward) * strip.wide_mm
        off = tip.ring.outward * (strip.thick_mm + tip.pad_thickness_mm) / 2
        parts.append(MountMesh(f"arm {number} piece", *_ribbon(ring, wide, strip.thick_mm * tip.ring.outward), colour))
        parts.append(MountMesh(f"pad {number}", *_ribbon(ring - off, wide, tip.pad_thickness_mm * tip.ring.outward),
                               _PAD))
        pieces_mm = [piece for piece in pieces_mm if piece is not ring]
    parts += [MountMesh(f"arm {number} piece", *tube(piece, (end_mm if piece is ring else wire_mm) / 2), colour)
              for piece in pieces_mm]
    if strip is None:
        covered = _sleeve(curve, tip) if ring is None else ring
        parts.append(MountMesh(f"pad {number}", *tube(covered, end_mm / 2 + tip.pad_thickness_mm), _PAD))
    return parts


def _ribbon(curve_mm: F64, wide_mm: F64, thick_mm: F64) -> tuple[F64, I32]:
    """A closed ribbon swept along a curve (n, 3): from one edge to the other and from face to face, vectors (n, 3)."""
    corners = [curve_mm + (side * wide_mm + face * thick_mm) / 2 for side, face in ((-1, 1), (-1, -1), (1, -1), (1, 1))]
    points = np.vstack([np.stack(corners, axis=1).reshape(-1, 3), curve_mm[:1], curve_mm[-1:]])
    return points, _tube_faces(len(curve_mm), 4)


def _bar_meshes(number: int, flat: FlatBar, thick_mm: float, tip: Contact | Tip, colour: tuple[int, int, int]
                ) -> list[MountMesh]:
    """A flat bar and the pad on it, from the first place that touches to the end of its lip."""
    pad_mm = tip.pad_thickness_mm
    _, bent = bent_bar(flat, pad_mm + thick_mm / 2, thick_mm, HoldRules())
    curve = along(bent.curve_mm, 2.0)
    lip_from = float(flat.corners_mm[2, 1])
    touched = np.array([face.point_mm for face in tip.faces])
    first = min(int(np.linalg.norm(curve - point, axis=1).argmin()) for point in touched)
    steps = np.gradient(curve, axis=0)
    inward = np.cross(steps / np.linalg.norm(steps, axis=1)[:, None], [1.0, 0.0, 0.0])
    padded = (curve + (thick_mm + pad_mm) / 2 * inward)[max(first - 2, 0):]
    widths = (flat.wide_mm, flat.lip_mm, lip_from)
    return [MountMesh(f"arm {number}", *_strip(curve, thick_mm, *widths), colour),
            MountMesh(f"pad {number}", *_strip(padded, pad_mm, *widths), _PAD)]


def _strip(curve_mm: F64, thick_mm: float, wide_mm: float, lip_mm: float, lip_from_mm: float) -> tuple[F64, I32]:
    """A closed strip swept along a curve in an upright plane: wide to the sides, its lip narrower."""
    moves = np.linalg.norm(np.diff(curve_mm, axis=0), axis=1) > _REPEATED_mm  # a bend may take up all of the last run
    curve_mm = curve_mm[np.r_[True, moves]]
    left, _, right = across_mm(curve_mm, wide_mm, lip_mm, lip_from_mm)
    steps = np.gradient(curve_mm, axis=0)
    out = np.cross(steps / np.linalg.norm(steps, axis=1)[:, None], [1.0, 0.0, 0.0]) * thick_mm / 2
    rings = np.stack([left + out, left - out, right - out, right + out], axis=1)
    points = np.vstack([rings.reshape(-1, 3), curve_mm[:1], curve_mm[-1:]])
    return points, _tube_faces(len(curve_mm), 4)


def is_ring(piece_mm: F64, end_mm: F64, wire_mm: float, strip: Strip | None = None) -> bool:
    """Return whether a piece goes round the object: an open one of many corners that the arm's end lies on.

    strip  what the piece is where it is no wire: the arm's end then lies behind it
    """
    if len(piece_mm) <= 4 or np.linalg.norm(piece_mm[0] - piece_mm[-1]) <= wire_mm:
        return False
    runs = np.diff(piece_mm, axis=0)
    along_mm2 = np.einsum("ij,ij->i", end_mm - piece_mm[:-1], runs)
    share = np.clip(along_mm2 / np.maximum(np.einsum("ij,ij->i", runs, runs), _REPEATED_mm**2), 0.0, 1.0)
    off = np.linalg.norm(piece_mm[:-1] + share[:, None] * runs - end_mm, axis=1).min()
    return bool(off <= 0.75 * wire_mm + (0.0 if strip is None else strip.thick_mm / 2))


def _sleeve(path_mm: F64, tip: Contact | Tip) -> F64:
    """The end of the wire that the pad covers: from a pad's radius before the first place that touches."""
    touched = np.array([face.point_mm for face in tip.faces] or [tip.point_mm])
    line = along(path_mm, 0.5)
    line = line[np.append(True, np.linalg.norm(np.diff(line, axis=0), axis=1) > 1e-6)]
    lengths = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1)))
    tail = lengths > lengths[-1] - 12.0 * len(touched)  # an arm may pass near its own tip earlier
    distance = np.linalg.norm(line[:, None] - touched[None], axis=2)
    nearest = min(float(lengths[tail][int(np.argmin(distance[tail, k]))]) for k in range(len(touched)))
    covered: F64 = line[lengths >= min(nearest - tip.pad_radius_mm, lengths[-1] - 1.0)]
    last = covered[-1] - covered[-2]
    covered[-1] = covered[-1] + last / np.linalg.norm(last) * 0.3
    return covered


def _rgb(hex_colour: str) -> tuple[int, int, int]:
    return int(hex_colour[1:3], 16), int(hex_colour[3:5], 16), int(hex_colour[5:7], 16)


def arm_meshes(number: int, arm: Arm, tip: Contact | Tip, painted: bool) -> list[MountMesh]:
    """Return one arm of a finished mount, in brass or in its paint."""
    return wire_meshes(number, arm.path_mm, arm.wire_mm, arm.pieces_mm, tip, _rgb(arm.paint) if painted else _BRASS,
                       thin=arm.thin, wide_mm=arm.wide_mm)


def mount_meshes(hold: Hold, post_mm: float | None = None, stub_mm: float = 12.0, *, painted: bool = False
                 ) -> list[MountMesh]:
    """Return the whole mount of a hold: arms with pads, hub, and `stub_mm` of the post behind the hub's back.

    post_mm  rod diameter, once it is chosen; None: what the hub was planned for
    painted  arms in the colour beside their tips instead of bare brass
    """
    parts: list[MountMesh] = []
    for number, tip in enumerate(hold.tips, start=1):
        parts += arm_meshes(number, tip.arm, tip, painted)
    if post_mm is None:
        post_mm = planned_post_mm(hold.hub, max((tip.arm.lap_mm for tip in hold.tips), default=0.0))
    return parts + hub_meshes(hold.hub, post_mm, stub_mm)
