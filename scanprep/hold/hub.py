"""The hub: where arms and post meet behind the object, in a form that is made at the bench.

Drilled plate (post through the hole, fillet round it, arms lapped radially on the front), ring of wire (more than six
arms, lapped along the ring), bar (where only a narrow strip is hidden, arms lapped along it), cross-wire (light, small
objects: wires laid across slots in the post's end). Never a butt end. The post's axis runs at or above the centre of
mass in elevation, so that the object hangs and does not topple round its post. Display frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.body import View
from scanprep.hold.records import Contact, Hub
from scanprep.settings import HoldSettings
from scanprep.vectors import F64, Vec3

_FINGER_MM = 3.0  # wire to object over the hub, room for solder and cleaning; assumed
_FILLET_MM = 0.8
_BUNDLE_DEG = 40.0  # arms wanted closer than this are lapped side by side
_MOST_ON_PLATE = 6  # arms; more are lapped round a ring
_PLATE_MM = 1.6  # 1/16 in sheet; common stock
#: Post expected for a mass, mm: only the hub's size follows from it, the post is chosen later.
_POSTS = ((0.15, 3.175), (0.6, 4.7625), (math.inf, 6.35))
SOLDER_NOTES = (
    "Lap every wire at least {lap:.1f} mm ({times:.0f} diameters) on the {kind}; no butt ends.",
    "Tin-silver soft solder keeps the wire hard; silver solder would anneal 25-40 mm of it.",
    "Order: post into the {kind} first with a fillet all round, square to it; then the arms that carry, then the rest.",
    "Wash off the flux, lacquer, and only then pad the tips.",
)


@dataclass(frozen=True, slots=True, eq=False)
class Root:
    """Where an arm starts on the hub."""

    start_mm: F64  # inner end of the lap
    direction: F64  # unit, of the first straight run
    lap_mm: float  # soldered length from the start


@dataclass(frozen=True, slots=True, eq=False)
class HubPlan:
    """A hub, the arms' roots in the order of the contacts, and where the post meets its back."""

    hub: Hub
    roots: tuple[Root, ...]
    attach_mm: Vec3
    plane_mm: float  # z of the arms' centre lines on the hub
    floor_mm: float  # z behind which no wire goes: the hub's plane, or just behind the object if that is further back
    hidden_share: float


def expected_post_mm(mass_g: float) -> float:
    """Return the post diameter that a mass will likely take, mm."""
    return next(post for kg, post in _POSTS if mass_g / 1000 <= kg)


def _place(view: View, contacts: tuple[Contact, ...], radius_mm: float, least_y_mm: float
           ) -> tuple[float, float, float]:
    """x, y of the hub's centre and the hidden share of its disc."""
    from scipy.ndimage import uniform_filter

    front = view.front
    inside = np.isfinite(front.front_mm)
    window = max(1, int(2 * radius_mm / front.pitch_mm))
    share = uniform_filter(inside.astype(np.float64), size=window, mode="constant")
    ny, nx = inside.shape
    x = front.left_mm + front.pitch_mm * (np.arange(nx) + 0.5)
    y = front.low_mm + front.pitch_mm * (np.arange(ny) + 0.5)
    points = np.array([c.point_mm for c in contacts])
    gx, gy = np.meshgrid(x, y)
    reach = np.mean([np.hypot(gx - p[0], gy - p[1]) for p in points], axis=0)
    cost = 4 * np.abs(gx) + 1.0 * (gy - least_y_mm) + 0.5 * reach + 40 * radius_mm * (1 - share)
    cost[gy < least_y_mm] = np.inf
    if not bool(np.isfinite(cost).any()):
        return 0.0, least_y_mm, 0.0
    row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
    best_x = 0.0 if abs(x[column]) < front.pitch_mm else float(x[column])
    return best_x, float(y[row]), float(share[row, column])


def _back_mm(view: View, centre: tuple[float, float], radius_mm: float) -> float:
    """z of the rearmost surface over a disc; the object's own back where the disc is off the object."""
    front = view.front
    ny, nx = front.back_mm.shape
    x = front.left_mm + front.pitch_mm * (np.arange(nx) + 0.5)
    y = front.low_mm + front.pitch_mm * (np.arange(ny) + 0.5)
    near = (np.abs(x - centre[0]) <= radius_mm)[None, :] & (np.abs(y - centre[1]) <= radius_mm)[:, None]
    back = front.back_mm[near & np.isfinite(front.back_mm)]
    return float(back.min()) if len(back) else float(view.vertices_mm[:, 2].min())


def spread_deg(wanted_deg: F64, apart_deg: float) -> F64:
    """Return angles round a circle moved no more than needed to be `apart_deg` from each other.

    >>> [float(a) for a in spread_deg(np.array([90.0, 90.0]), 40.0)]
    [70.0, 110.0]
    """
    count = len(wanted_deg)
    apart = min(apart_deg, 360.0 / count)
    order = np.argsort(wanted_deg, kind="stable")
    angles = wanted_deg[order].astype(np.float64)
    for _ in range(200):
        after = np.roll(angles, -1)
        after[-1] += 360.0
        push = np.maximum(0.0, apart - (after - angles)) / 2 if count > 1 else np.zeros(1)
        if float(push.max()) < 1e-6:
            break
        angles = angles - push + np.roll(push, 1)
    found = np.empty(count)
    found[order] = angles
    return found


def _strip(view: View, centre: tuple[float, float], long_mm: float, wide_mm: float) -> tuple[float, float]:
    """The turn in the panel's plane at which a strip is most hidden, and its hidden share."""
    u = np.linspace(-0.5, 0.5, 21) * long_mm
    v = np.linspace(-0.5, 0.5, 9) * wide_mm
    angles, shares = np.arange(0.0, 180.0, 10.0), []
    for angle in np.radians(angles):
        c, s = math.cos(angle), math.sin(angle)
        flat = np.array([(centre[0] + a * c - b * s, centre[1] + a * s + b * c, -1e6) for a in u for b in v])
        _, beside = view.front.sight(flat)
        shares.append(1.0 - float(beside.mean()))
    good = angles[np.array(shares) >= max(shares) - 0.02]  # the middle of those that hide it equally well
    doubled = np.radians(2 * good)
    middle = math.degrees(math.atan2(float(np.sin(doubled).mean()), float(np.cos(doubled).mean()))) / 2 % 180.0
    return float(good[int(np.argmin(np.abs((good - middle + 90.0) % 180.0 - 90.0)))]), max(shares)


def plan_hub(view: View, contacts: tuple[Contact, ...], wire_mm: float, mass_g: float, centre_radius_mm: float,
             settings: HoldSettings) -> HubPlan:
    """Choose a hub and give every arm its root.

    wire_mm           thickest wire expected
    mass_g            of the object
    centre_radius_mm  doubt of the centre of mass: the post's axis stays above it
    """
    post = expected_post_mm(mass_g)
    lap = settings.lap_diameters * wire_mm + 0.4
    inner = post / 2 + _FILLET_MM
    plate = inner + lap + 0.6
    least_y = min(max(centre_radius_mm, 1.0), 5.0)
    x, y, hidden = _place(view, contacts, plate, least_y)
    wanted = np.array([math.degrees(math.atan2(c.point_mm[1] - y, c.point_mm[0] - x)) for c in contacts])
    back = _back_mm(view, (x, y), plate + 2.0)
    plane = back - _FINGER_MM - wire_mm / 2
    bar_deg, strip = _strip(view, (x, y), 2 * plate, post + 3 * wire_mm)
    if len(contacts) > _MOST_ON_PLATE and hidden > 0.9:
        kind = "ring"
    elif hidden > 0.97 or (hidden >= strip - 0.03 and hidden > 0.9):
        kind = "plate"
    elif mass_g < 60 and len(contacts) <= 4:
        kind = "cross-wire"
    else:
        kind = "bar"
    centre = np.array([x, y, plane])
    roots, size, share = _roots(kind, centre, wanted, wire_mm, lap, inner, bar_deg)
    front = plane - wire_mm / 2
    thick = {"plate": _PLATE_MM, "bar": 2 * _PLATE_MM, "ring": wire_mm, "cross-wire": wire_mm}[kind]
    notes = tuple(note.format(lap=lap, times=settings.lap_diameters, kind=kind) for note in SOLDER_NOTES)
    hub = Hub(kind, (x, y, front - thick / 2), size, thick, (_FORM_NOTES[kind], *notes),
              bar_deg if kind == "bar" else 0.0)
    shown = {"bar": strip, "plate": hidden, "ring": hidden}.get(kind, share)
    floor = min(plane, float(view.vertices_mm[:, 2].min()) - settings.arm_clear_mm - wire_mm)
    return HubPlan(hub, roots, (x, y, front - thick), plane, floor, shown)


_FORM_NOTES = {
    "plate": "Drilled plate: the post goes through and is filleted on both sides, a scribed line at 12 o'clock.",
    "ring": "Ring of the arms' wire soldered on the post's cross-bar; arms lapped along it, a nick at 12 o'clock.",
    "bar": "Flat bar drilled for the post, arms lapped along it; one end nicked, its clock angle on the sheet.",
    "cross-wire": "Wires laid across slots sawn in the post's end, flooded with solder; post scribed at 12 o'clock.",
}


def _roots(kind: str, centre: F64, wanted_deg: F64, wire_mm: float, lap: float, inner: float,
           bar_deg: float) -> tuple[tuple[Root, ...], float, float]:
    if kind == "bar":
        return _bar_roots(centre, wanted_deg, wire_mm, lap, inner, bar_deg), 2 * (inner + lap), 1.0
    if kind == "plate" and (beside := _parallel_roots(centre, wanted_deg, wire_mm, lap, inner)) is not None:
        return beside, 2 * (inner + lap + 0.6), 1.0
    start = {"plate": inner, "ring": inner + 1.5 * wire_mm, "cross-wire": 0.0}[kind]
    apart = 2 * math.degrees(math.asin(min(1.0, (wire_mm + 0.5) / 2 / max(inner, wire_mm))))
    angles = np.radians(spread_deg(wanted_deg, max(apart, 30.0)))
    roots = []
    for index, angle in enumerate(angles):
        radial = np.array([math.cos(angle), math.sin(angle), 0.0])
        if kind == "ring":
            # along the ring, leaving it where the arm is wanted
            tangent = np.array([-radial[1], radial[0], 0.0])
            roots.append(Root(centre + radial * start - tangent * lap / 2, tangent, lap))
        else:
            level = np.array([0.0, 0.0, wire_mm * (index // 2)]) if kind == "cross-wire" else np.zeros(3)
            roots.append(Root(centre + radial * start + level, radial, lap if kind == "plate" else inner + wire_mm))
    size = {"plate": 2 * (inner + lap + 0.6), "ring": 2 * start, "cross-wire": 2 * (inner + wire_mm)}[kind]
    return tuple(roots), size, 1.0


def _parallel_roots(centre: F64, wanted_deg: F64, wire_mm: float, lap: float, inner: float
                    ) -> tuple[Root, ...] | None:
    """Laps that point where their arms are wanted, those that point the same way side by side.

    None where the arms crowd round so much that they must be spread instead.
    """
    order = list(np.argsort(wanted_deg, kind="stable"))
    gaps = [float((wanted_deg[order[(k + 1) % len(order)]] - wanted_deg[order[k]]) % 360.0) for k in range(len(order))]
    if len(order) > 1:
        widest = int(np.argmax(gaps))
        order = order[widest + 1:] + order[:widest + 1]
    bundles = [[order[0]]]
    for i in order[1:]:
        if (wanted_deg[i] - wanted_deg[bundles[-1][-1]]) % 360.0 < _BUNDLE_DEG:
            bundles[-1].append(i)
        else:
            bundles.append([i])
    roots: list[Root | None] = [None] * len(order)
    for bundle in bundles:
        turned = [float((wanted_deg[i] - wanted_deg[bundle[0]]) % 360.0) for i in bundle]
        if len(bundle) > 3 or turned[-1] > 1.5 * _BUNDLE_DEG:
            return None
        middle = math.radians(float(wanted_deg[bundle[0]]) + turned[-1] / 2)
        across = np.array([-math.sin(middle), math.cos(middle), 0.0])
        along = np.array([math.cos(middle), math.sin(middle), 0.0])
        for place, i in enumerate(bundle):
            angle = math.radians(float(wanted_deg[i]))
            offset = (place - (len(bundle) - 1) / 2) * (wire_mm + 0.6)
            roots[i] = Root(centre + along * inner + across * offset,
                            np.array([math.cos(angle), math.sin(angle), 0.0]), lap)
    return tuple(root for root in roots if root is not None)


def _bar_roots(centre: F64, wanted_deg: F64, wire_mm: float, lap: float, inner: float,
               bar_deg: float) -> tuple[Root, ...]:
    along = np.array([math.cos(math.radians(bar_deg)), math.sin(math.radians(bar_deg)), 0.0])
    across = np.array([-along[1], along[0], 0.0])
    angles = np.radians(wanted_deg)
    target = np.column_stack([np.cos(angles), np.sin(angles), np.zeros(len(angles))])
    forward = target @ along >= 0
    roots: list[Root | None] = [None] * len(wanted_deg)
    for side, sign in ((True, 1.0), (False, -1.0)):
        group = [i for i in range(len(wanted_deg)) if forward[i] == side]
        group.sort(key=lambda i: float(target[i] @ across))
        for place, i in enumerate(group):
            offset = (place - (len(group) - 1) / 2) * (wire_mm + 0.6)
            roots[i] = Root(centre + sign * along * inner + across * offset, sign * along, lap)
    return tuple(root for root in roots if root is not None)
