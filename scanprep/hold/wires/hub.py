"""The hub: where arms and post meet behind the object, in a form that is made at the bench.

Drilled plate (post through the hole, fillet round it, arms lapped radially on the front), ring of wire (more than six
arms, lapped along the ring), bar (where only a narrow strip is hidden, arms lapped along it), cross-wire (light, small
objects: wires laid across slots in the post's end). Never a butt end. The post's axis runs at or above the centre of
mass in elevation, so that the object hangs and does not topple round its post. Display frame, mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, Hub, MadeFor
from scanprep.rules import HoldRules
from scanprep.vectors import F64, Vec3, steady

_FINGER_MM, _FINGER_SMALL_MM = HoldRules().hub_finger_mm, HoldRules().hub_finger_small_mm
_SMALL_G = HoldRules().hub_small_mass_g
_SLOT_SHARE = HoldRules().hub_slot_share
_PLATE_SHARE = HoldRules().hub_plate_share
_BAR_COST_MM = HoldRules().hub_bar_cost_mm
_FILLET_MM = HoldRules().hub_fillet_mm
_MOST_ON_PLATE = HoldRules().hub_plate_arms
_PLATE_MM = HoldRules().hub_plate_mm
_RIM_MM = HoldRules().hub_rim_mm
_BESIDE_MM = HoldRules().hub_solder_gap_mm
#: tolerance: tried in turn, each side of the way to the tip
_AZIMUTHS_DEG = (0.0, 20.0, -20.0, 42.0, -42.0, 63.0, -63.0, 84.0, -84.0, 120.0, -120.0, 160.0, -160.0)
MOST_OPTIONS = 12  # tolerance: starts of one arm that are kept
_CROSS_DEG = HoldRules().hub_cross_deg
#: Post expected for a mass, mm: only the hub's size follows from it, the post is chosen later.
_POSTS = tuple(zip((*HoldRules().hub_post_masses_kg, math.inf), HoldRules().hub_posts_mm, strict=True))
SOLDER_NOTES = (
    "Lap every wire at least {lap:.1f} mm ({times:.0f} diameters) on the {kind}; no butt ends.",
    "Tin-silver soft solder keeps the wire hard; silver solder would anneal 25-40 mm of it.",
    "Order: post into the {kind} first with a fillet all round, square to it; then the arms that carry, then the rest.",
    "Wash off the flux, lacquer, and only then pad the tips.",
)


# layout: which of the solderer's notes a slotted post's end shares with a plate
_CROSS_NOTES = (
    "Each pair of wires lies across its own slot, {lap:.1f} mm from the middle to the last solder; no butt ends.",
    SOLDER_NOTES[1],
    "Order: the wires that carry in the deepest slot first, then the rest, square to the post.",
    SOLDER_NOTES[3],
)


@dataclass(frozen=True, slots=True, eq=False)
class Root:
    """Where an arm starts on the hub."""

    start_mm: F64  # inner end of the lap
    direction: F64  # unit, of the first straight run
    lap_mm: float  # soldered length from the start
    cost_mm: float = 0.0  # of a lap that is turned away from its tip


@dataclass(frozen=True, slots=True, eq=False)
class HubPlan:
    """A hub, where arms may be lapped on it, and where the post meets its back."""

    hub: Hub
    centre_mm: F64  # (3,) of the arms' plane on the hub
    wanted_deg: F64  # (n,) which way each contact lies
    wire_mm: float  # thickest that the hub was planned for
    inner_mm: float  # from the centre to where a lap begins
    lap_mm: float
    attach_mm: Vec3
    floor_mm: float  # z behind which no wire goes: the hub's plane, or just behind the object if that is further back
    hidden_share: float

    @property
    def plane_mm(self) -> float:
        """z of the arms' centre lines on the hub."""
        return float(self.centre_mm[2])


def expected_post_mm(mass_g: float) -> float:
    """Return the post diameter that a mass will likely take, mm."""
    return next(post for kg, post in _POSTS if mass_g / 1000 <= kg)


def lap_starts_mm(post_mm: float) -> float:
    """Return how far from a post's axis a lap may begin: beyond its fillet."""
    return post_mm / 2 + _FILLET_MM


def planned_post_mm(hub: Hub, lap_mm: float) -> float:
    """Return the post that a hub was made for, mm: what to draw before the post is chosen.

    lap_mm  of its arms: a hub that was kept before posts were, tells it by its size
    """
    if hub.made_for is not None:
        return hub.made_for.post_mm
    beyond = {"plate": _FILLET_MM + lap_mm + _RIM_MM, "bar": _FILLET_MM + lap_mm, "cross-wire": hub.thickness_mm,
              "ring": _FILLET_MM + 1.5 * hub.thickness_mm}
    return max(hub.size_mm - 2 * beyond[hub.kind], _POSTS[0][1]) if hub.kind in beyond else _POSTS[-2][1]


def _place(view: View, contacts: tuple[Contact, ...], wide_mm: float, high_mm: float, least_y_mm: float
           ) -> tuple[float, float, float, float]:
    """x, y of the hub's centre, the hidden share of a hub so wide and high, and its cost, mm.

    Hidden, near the tips, and not far from the middle.
    """
    from scipy.ndimage import uniform_filter

    front = view.front
    inside = np.isfinite(front.front_mm)
    window = [max(1, int(size / front.pitch_mm)) for size in (high_mm, wide_mm)]
    share = uniform_filter(inside.astype(np.float64), size=window, mode="constant")
    ny, nx = inside.shape
    x = front.left_mm + front.pitch_mm * (np.arange(nx) + 0.5)
    y = front.low_mm + front.pitch_mm * (np.arange(ny) + 0.5)
    gx, gy = np.meshgrid(x, y)
    gz = np.where(inside, front.back_mm, float(view.vertices_mm[:, 2].min())) - _FINGER_MM
    reach = np.mean([np.sqrt((gx - p[0]) ** 2 + (gy - p[1]) ** 2 + (gz - p[2]) ** 2)
                     for p in (c.point_mm for c in contacts)], axis=0)
    # a post beside the centre of mass turns in its hole, one far above it shows its hub sooner
    shown = 30 * min(wide_mm, high_mm) * (1 - share)
    cost = 1.5 * np.abs(gx) + 0.3 * (gy - least_y_mm) + 1.0 * reach + shown
    cost[gy < least_y_mm] = np.inf
    if not bool(np.isfinite(cost).any()):
        return 0.0, least_y_mm, 0.0, math.inf
    row, column = np.unravel_index(int(np.argmin(steady(cost))), cost.shape)
    best_x = 0.0 if abs(x[column]) < front.pitch_mm else float(x[column])
    return best_x, float(y[row]), float(share[row, column]), float(cost[row, column])


def _back_mm(view: View, centre: tuple[float, float], radius_mm: float) -> float:
    """z of the rearmost surface over a disc; the object's own back where the disc is off the object."""
    front = view.front
    ny, nx = front.back_mm.shape
    x = front.left_mm + front.pitch_mm * (np.arange(nx) + 0.5)
    y = front.low_mm + front.pitch_mm * (np.arange(ny) + 0.5)
    near = (np.abs(x - centre[0]) <= radius_mm)[None, :] & (np.abs(y - centre[1]) <= radius_mm)[:, None]
    back = front.back_mm[near & np.isfinite(front.back_mm)]
    return float(back.min()) if len(back) else float(view.vertices_mm[:, 2].min())


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
             rules: HoldRules, asked: MadeFor | None = None) -> HubPlan:
    """Choose a hub.

    wire_mm           thickest wire expected
    mass_g            of the object
    centre_radius_mm  doubt of the centre of mass: the post's axis stays above it
    asked             what it is made for; None: the post that the mass will likely take, and usual laps
    """
    asked = asked or MadeFor(expected_post_mm(mass_g))
    post, lap = asked.post_mm, max(rules.lap_diameters * wire_mm + 0.4, asked.lap_mm)
    inner = lap_starts_mm(post)
    plate = inner + lap + _RIM_MM
    least_y = min(max(centre_radius_mm, 1.0), 5.0)
    # a slot is as long as its post is thick: laps that must be longer want a plate or a bar
    slots = asked.lap_mm <= post / 2 + wire_mm
    kind, x, y, bar_deg, shown = _form(view, contacts, plate, post, wire_mm, mass_g if slots else math.inf, least_y)
    small = kind == "cross-wire"
    radius = post / 2 + wire_mm if small else plate
    plane = _back_mm(view, (x, y), radius + 2.0) - (_FINGER_SMALL_MM if small else _FINGER_MM) - wire_mm / 2
    wanted = np.array([math.degrees(math.atan2(c.point_mm[1] - y, c.point_mm[0] - x)) for c in contacts])
    if small:
        inner, lap = 0.0, post / 2 + wire_mm
    size = {"plate": 2 * plate, "bar": 2 * (inner + lap), "ring": 2 * (inner + 1.5 * wire_mm),
            "cross-wire": 2 * (post / 2 + wire_mm)}[kind]
    thick = {"plate": _PLATE_MM, "bar": 2 * _PLATE_MM, "ring": wire_mm, "cross-wire": wire_mm}[kind]
    front = plane - wire_mm / 2
    notes = tuple(note.format(lap=lap, times=lap / wire_mm, kind=kind)
                  for note in (_CROSS_NOTES if small else SOLDER_NOTES))
    hub = Hub(kind, (x, y, front - thick / 2), size, thick, (_FORM_NOTES[kind], *notes),
              bar_deg if kind == "bar" else 0.0, asked)
    floor = min(plane, float(view.vertices_mm[:, 2].min()) - rules.arm_clear_mm - wire_mm)
    return HubPlan(hub, np.array([x, y, plane]), wanted, wire_mm, inner, lap, (x, y, front - thick), floor, shown)


def _form(view: View, contacts: tuple[Contact, ...], plate_mm: float, post_mm: float, wire_mm: float, mass_g: float,
          least_y_mm: float) -> tuple[str, float, float, float, float]:
    """Kind of hub, x, y, a bar's turn, and how much of it is hidden."""
    x, y, hidden, cost = _place(view, contacts, 2 * plate_mm, 2 * plate_mm, least_y_mm)
    smaller = float(np.ptp(view.vertices_mm[:, :2], axis=0).min())
    fits = 2 * plate_mm <= _PLATE_SHARE * smaller
    light = mass_g < _SMALL_G and len(contacts) <= 4 and wire_mm <= _SLOT_SHARE * post_mm
    if light and not (fits and hidden > 0.97):
        across = post_mm + 2 * wire_mm
        x, y, hidden, _ = _place(view, contacts, across, across, least_y_mm)
        return "cross-wire", x, y, 0.0, hidden
    if len(contacts) > _MOST_ON_PLATE and hidden > 0.9:
        return "ring", x, y, 0.0, hidden
    # behind a stem a plate hides only where the thing is wide; a bar hides along it, wherever the tips want it
    strip_mm = post_mm + 3 * wire_mm
    bars = [_place(view, contacts, *size, least_y_mm)
            for size in ((strip_mm, 2 * plate_mm), (2 * plate_mm, strip_mm))]
    bar = min(bars, key=lambda one: round(one[3], 6))
    if hidden > 0.9 and cost <= bar[3] + _BAR_COST_MM:
        return "plate", x, y, 0.0, hidden
    x, y, _, _ = bar
    bar_deg, strip = _strip(view, (x, y), 2 * plate_mm, strip_mm)
    return "bar", x, y, bar_deg, strip


_FORM_NOTES = {
    "plate": "Drilled plate: the post goes through and is filleted on both sides, a scribed line at 12 o'clock.",
    "ring": "Ring of the arms' wire soldered on the post's cross-bar; arms lapped along it, a nick at 12 o'clock.",
    "bar": "Flat bar drilled for the post, arms lapped along it; one end nicked, its clock angle on the sheet.",
    "cross-wire": "Wires laid across slots sawn in the post's end, flooded with solder; post scribed at 12 o'clock.",
}


def root_options(plan: HubPlan, index: int, wire_mm: float, taken: Sequence[tuple[Root, float]]) -> list[Root]:
    """Return where an arm may be lapped on a hub, towards its tip first.

    index  of the contact
    taken  roots already given, each with its wire's diameter
    """
    if plan.hub.high_mm:
        options = _on_back_bar(plan, wire_mm)
    elif plan.hub.kind == "bar":
        options = _on_bar(plan, index, wire_mm)
    elif plan.hub.kind == "cross-wire":
        options = _across(plan, index, wire_mm, len(taken))
    else:
        options = _round(plan, index, wire_mm)
    free = [root for root in options if all(_beside(root, other, (wire_mm + wire) / 2) for other, wire in taken)]
    return free[:MOST_OPTIONS]


def _radial(angle_deg: float) -> tuple[F64, F64]:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([c, s, 0.0]), np.array([-s, c, 0.0])


def _round(plan: HubPlan, index: int, wire_mm: float) -> list[Root]:
    """Radial laps on a plate, tangent ones on a ring."""
    roots = []
    for turned in _AZIMUTHS_DEG:
        radial, across = _radial(float(plan.wanted_deg[index]) + turned)
        if plan.hub.kind == "ring":
            start = plan.centre_mm + radial * (plan.inner_mm + 1.5 * wire_mm)
            roots += [Root(start - way * plan.lap_mm / 2, way, plan.lap_mm, abs(turned) / 20)
                      for way in (across, -across)]
            continue
        for side in (0.0, 1.0, -1.0) if abs(turned) < 50 else (0.0,):
            start = plan.centre_mm + radial * plan.inner_mm + across * side * (wire_mm + _BESIDE_MM + 0.1)
            roots.append(Root(start, radial, plan.lap_mm, abs(turned) / 20 + 0.5 * abs(side)))
    return roots


def _across(plan: HubPlan, index: int, wire_mm: float, before: int) -> list[Root]:
    """Wires through slots in the post's end, two a level."""
    level = np.array([0.0, 0.0, wire_mm * (before // 2)])
    return [Root(plan.centre_mm + level, _radial(float(plan.wanted_deg[index]) + turned)[0], plan.lap_mm,
                 abs(turned) / 20) for turned in _AZIMUTHS_DEG]


def _on_bar(plan: HubPlan, index: int, wire_mm: float) -> list[Root]:
    along, across = _radial(plan.hub.angle_deg)
    to_tip = _radial(float(plan.wanted_deg[index]))[0]
    roots = []
    for sign, place in itertools.product((1.0, -1.0), (0.0, 0.5, -0.5, 1.0, -1.0)):
        start = plan.centre_mm + sign * along * plan.inner_mm + across * place * (wire_mm + _BESIDE_MM + 0.1)
        away = 1.0 - float(to_tip @ (sign * along))
        roots.append(Root(start, sign * along, plan.lap_mm, 2.0 * away + abs(place)))
    return roots


def _on_back_bar(plan: HubPlan, wire_mm: float) -> list[Root]:
    """Upwards and downwards on a bar of wider flat stock: beside the post over its whole height, else above or below
    the post's fillet, where the lap is shorter."""
    half, pitch, roots = plan.hub.high_mm / 2, wire_mm + _BESIDE_MM + 0.1, []
    beside = plan.inner_mm + wire_mm / 2
    for sign, aside in itertools.product((1.0, -1.0), (beside, -beside, beside + pitch, -beside - pitch, 0.0, pitch,
                                                       -pitch)):
        begins = -half if abs(aside) >= beside else plan.inner_mm
        if half - begins >= plan.lap_mm - 0.01:
            start = plan.centre_mm + np.array([aside, sign * begins, 0.0])
            roots.append(Root(start, np.array([0.0, sign, 0.0]), half - begins, 2.0 * (sign < 0) + (begins > 0)))
    return roots


def _beside(root: Root, other: Root, radii_mm: float) -> bool:
    """Whether two laps lie clear of each other: wires in one slot's level need only part their ways."""
    if np.linalg.norm(root.start_mm[:2] - other.start_mm[:2]) < 1e-6:
        same = abs(float(root.start_mm[2] - other.start_mm[2])) < 1e-6
        return not same or float(root.direction @ other.direction) < math.cos(math.radians(_CROSS_DEG))
    mine = root.start_mm + root.direction * np.linspace(0, root.lap_mm, 9)[:, None]
    theirs = other.start_mm + other.direction * np.linspace(0, other.lap_mm, 9)[:, None]
    apart = np.linalg.norm(mine[:, None] - theirs[None], axis=2).min()
    return bool(apart >= radii_mm + _BESIDE_MM - 0.15)
