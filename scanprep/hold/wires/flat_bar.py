"""A flat bar that bears a heavy object, and the flat bar behind the object on which two of them are made fast.

Each is bent the easy way, in an upright plane: down behind the object, forward under it, up before it as a lip, which
is filed down to a tongue. Its padded side is what touches; its centre line lies pad and half its thickness off that.
The bar behind them is drilled for the post. Display frame, mm.

    from the side:  back bar |#|           from above:   =====================  back bar
                             | |  leg                       ||           ||
                             | |_______|  lip               ||           ||     bars under the base
                             |_________|                    ||           ||
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, FlatBar, Hub, MadeFor, Tip
from scanprep.hold.wires.bends import Bent, along, bend_wire
from scanprep.hold.wires.hub import SOLDER_NOTES, HubPlan, Root, expected_post_mm, lap_starts_mm
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_LEVEL = np.array([1.0, 0.0, 0.0])  # exact: the way in which a bar is wide
_STEP_mm = 1.5  # tolerance: between places at which a bar is held against the object
_HEIGHTS = 8  # tolerance: of a back bar, tried from the centre of mass down
_HIDDEN = 0.97  # tolerance: of a back bar, from which one lower down is not sought
# layout: words on the sheet
_NOTES = (
    "Back bar: flat bar as given, drilled for the post at its middle; the post goes through and is filleted on both "
    "sides, a scribed line at 12 o'clock.",
    "Both bars are marked out and bent together as a pair, flat in the vice, then their lips are filed to tongues, "
    "corners rounded.",
    "Each bar's leg lies on the front of the back bar over its whole height: two 1/8 in rivets and solder between; "
    "never a butt end.",
    *SOLDER_NOTES[1:2],
    "Wires that keep it are lapped on the front of the back bar at least {lap:.1f} mm beyond the post's fillet.",
    "Wash off the flux, lacquer, then pad the bars where they lie under the base, their lips, and their legs if they "
    "touch: full width.",
)


def bar_path_mm(corners_mm: F64, lift_mm: float) -> F64:
    """Return a bar's centre line (4, 3) that lies so far off its padded side; or back, with the sign turned.

    >>> corners = np.array([[0.0, 30, -10], [0, 0, -10], [0, 0, 20], [0, 6, 20]])
    >>> bar_path_mm(corners, 2.0)[:, 1:].tolist()
    [[30.0, -12.0], [-2.0, -12.0], [-2.0, 22.0], [6.0, 22.0]]
    """
    runs = np.diff(corners_mm[:, 1:], axis=0)
    runs = runs / np.linalg.norm(runs, axis=1)[:, None]
    off = np.column_stack([-runs[:, 1], runs[:, 0]]) * lift_mm
    path = corners_mm.copy()
    path[0, 1:] += off[0]
    path[3, 1:] += off[2]
    for k in (1, 2):
        lines = np.array([[-runs[j, 1], runs[j, 0]] for j in (k - 1, k)])
        sides = [line @ (corners_mm[k, 1:] + off[j]) for line, j in zip(lines, (k - 1, k))]
        path[k, 1:] = np.linalg.solve(lines, np.array(sides))
    return path


def flat_of(tip: Tip) -> FlatBar | None:
    """Return the flat bar that a tip is, by its arm's own corners; None where that is of wire."""
    arm = tip.arm
    if not arm.wide_mm or arm.thin is not None or arm.strip is not None:
        return None
    return FlatBar(bar_path_mm(arm.path_mm, -arm.wire_mm / 2 - tip.pad_thickness_mm), arm.wide_mm, arm.lip_mm)


def bent_bar(flat: FlatBar, lift_mm: float, thick_mm: float, rules: HoldRules) -> tuple[F64, Bent]:
    """Return the centre line's corners and what it is when bent: softened first, so that it goes round an edge."""
    path = bar_path_mm(flat.corners_mm, lift_mm)
    return path, bend_wire(path, thick_mm, rules.bend_annealed_diameters)


def across_mm(curve_mm: F64, wide_mm: float, lip_mm: float, lip_from_mm: float) -> F64:
    """Return lines along a bar's two edges and its middle, (3, n, 3).

    lip_from_mm  height from which, at its front, it is only as wide as its lip
    """
    ahead = curve_mm[:, 2] > float(curve_mm[:, 2].mean())
    half = np.where(ahead & (curve_mm[:, 1] > lip_from_mm), lip_mm, wide_mm) / 2
    return np.stack([curve_mm + side * half[:, None] * _LEVEL for side in (-1.0, 0.0, 1.0)])


def bar_room_mm(view: View, contact: Contact, thick_mm: float, rules: HoldRules) -> float:
    """Return how much of a bar's pad is left at its tightest place, over its thickness: below 0 metal touches."""
    flat = contact.flat
    assert flat is not None
    lift = contact.pad_thickness_mm + thick_mm / 2
    path, bent = bent_bar(flat, lift, thick_mm, rules)
    lines = across_mm(along(bent.curve_mm, _STEP_mm), flat.wide_mm, flat.lip_mm, float(path[2, 1]) + thick_mm)
    return float(view.exact_mm(lines.reshape(-1, 3)).min()) - thick_mm / 2


def back_bar_mm(view: View, half_mm: float, base_mm: float, doubt_mm: float, rules: HoldRules) -> float:
    """Return the height of a back bar's middle: at the centre of mass, or lower down where only there it is hidden.

    half_mm   half its length
    base_mm   height of what it must stay above
    doubt_mm  of the centre of mass
    """
    high = rules.back_bar_mm
    most = min(max(doubt_mm, 1.0), 5.0)
    least = min(base_mm + high / 2 + rules.base_rise_mm, most)
    u, v = np.meshgrid(np.linspace(-half_mm, half_mm, 25), np.linspace(-high / 2, high / 2, 7))
    best, share = most, -1.0
    for y in np.linspace(most, least, _HEIGHTS):
        flat = np.column_stack([u.ravel(), y + v.ravel(), np.full(u.size, -1e6)])
        hidden = 1.0 - float(view.front.sight(flat)[1].mean())
        if hidden > share + 0.01:
            best, share = float(y), hidden
        if share >= _HIDDEN:
            break
    return best


def plan_back_bar(contacts: tuple[Contact, ...], bar_mm: float, wire_mm: float, mass_g: float, rules: HoldRules,
                  asked: MadeFor | None = None) -> HubPlan:
    """Return the hub of a mount some of whose tips are flat bars.

    bar_mm   their thickness
    wire_mm  thickest wire of the others
    asked    what it is made for; None: the post that the mass will likely take, and usual laps
    """
    bars = [(contact.flat, contact.pad_thickness_mm) for contact in contacts if contact.flat is not None]
    asked = asked or MadeFor(expected_post_mm(mass_g))
    high = rules.back_bar_mm
    y = max(float(flat.corners_mm[0, 1]) for flat, _ in bars) - high / 2
    size = 2 * max(abs(float(flat.corners_mm[0, 0])) + flat.wide_mm / 2 for flat, _ in bars)
    front = min(float(flat.corners_mm[0, 2]) - pad - bar_mm for flat, pad in bars)
    lap = min(max(rules.lap_diameters * wire_mm + 0.4, asked.lap_mm), high)
    plane = front + wire_mm / 2
    centre = np.array([0.0, y, plane])
    wanted = np.array([np.degrees(np.arctan2(c.point_mm[1] - y, c.point_mm[0])) for c in contacts])
    hub = Hub("bar", (0.0, y, front - bar_mm / 2), size, bar_mm, tuple(note.format(lap=lap) for note in _NOTES),
              made_for=asked, high_mm=high)
    rear = min(float(flat.corners_mm[:, 2].min()) for flat, _ in bars)
    return HubPlan(hub, centre, wanted, wire_mm, lap_starts_mm(asked.post_mm), lap, (0.0, y, front - bar_mm),
                   min(plane, rear - rules.arm_clear_mm - wire_mm), 1.0)


def front_stem(plan: HubPlan, x_mm: float, rules: HoldRules) -> Root | None:
    """Return how a flat stem may lie on the back bar's front at a place, upwards: over its whole height, or above the
    post's fillet; None off the bar."""
    wide, half = rules.flat_stem_mm, plan.hub.high_mm / 2
    if abs(x_mm) + wide / 2 > plan.hub.size_mm / 2:
        return None
    begins = -half if abs(x_mm) >= plan.inner_mm + wide / 2 else plan.inner_mm
    return Root(plan.centre_mm + np.array([x_mm, begins, 0.0]), np.array([0.0, 1.0, 0.0]), half - begins)


def bar_root(path_mm: F64, rules: HoldRules) -> Root:
    """Return how a bar's leg lies on the back bar: over all its height, downwards."""
    return Root(path_mm[0], np.array([0.0, -1.0, 0.0]), rules.back_bar_mm)
