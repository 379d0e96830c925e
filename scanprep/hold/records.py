"""An attitude with the tips, arms and hub that keep the object there.

Display frame throughout (x viewer's right, y up, z to the viewer), origin at the centre of mass, mm and N.
`Attitude.rotation` takes scan axes to display axes: p_display = rotation @ (p_scan_mm - centre_of_mass_mm).
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.findings import Check, Finding
from scanprep.vectors import F64, Vec3


@dataclass(frozen=True, slots=True, eq=False)
class Attitude:
    """The orientation an object is shown in."""

    name: str  # "upright", "three-quarter", "leaned-back", "face-on", "profile", "along-axis", "asked"
    tilt_deg: float
    turn_deg: float
    roll_deg: float
    rotation: F64  # (3, 3) scan axes -> display axes
    reason: str
    natural: float  # 0..1, how natural it is for this object


@dataclass(frozen=True, slots=True)
class Bend:
    """One bend of an arm."""

    at_mm: float  # along the developed wire, from the hub
    angle_deg: float
    radius_mm: float  # inside radius


@dataclass(frozen=True, slots=True)
class Thin:
    """The end of an arm in thinner wire: soldered into a hole drilled along the end of the thicker stem."""

    wire_mm: float
    corner: int  # of the arm's path: the stem's last, after which the thin end begins

    def wires_mm(self, stem_mm: float, corners: int) -> tuple[float, ...]:
        """Return the wire that each of so many corners of a path is bent in."""
        return tuple(stem_mm if k <= self.corner else self.wire_mm for k in range(corners))


@dataclass(frozen=True, slots=True, eq=False)
class Arm:
    """The wire from the hub to one tip."""

    path_mm: F64  # (k, 3) centre line, hub first, straight runs between bends
    wire_mm: float
    developed_length_mm: float
    bends: tuple[Bend, ...]
    stress_MPa: float
    deflection_mm: float  # at the tip under its force
    stiffness_N_per_mm: float
    paint: str  # sRGB hex beside the tip, "#a08c70"
    paint_lab: Vec3
    note: str = ""
    pieces_mm: tuple[F64, ...] = ()  # further wires of the same size soldered on: fork prongs, shelf loop, brace
    lap_mm: float = 0.0  # soldered on the hub, from the path's start; 0: unknown, all of it bends
    thin: Thin | None = None  # its end is of thinner wire; None: all of it is one wire
    wide_mm: float = 0.0  # flat bar so wide, level and bent the easy way, wire_mm its thickness; 0: round wire.
    # With a thin end its stem alone is flat bar.
    lip_mm: float = 0.0  # of flat bar: what its turned-up end is filed down to
    strip: Strip | None = None  # what goes round the object from its end is flat strip; None: of the end's own wire

    @property
    def end_mm(self) -> float:
        """The wire that touches: the thin end's where it has one."""
        return self.wire_mm if self.thin is None else self.thin.wire_mm


@dataclass(frozen=True, slots=True)
class Face:
    """One place where a tip touches. A pad or shelf has one; a lipped tip two, a fork a seat and two jaws."""

    point_mm: Vec3  # on the object's surface
    normal: Vec3  # into the object, unit
    force_limit_N: float  # greatest normal force at rest
    radius_mm: float  # of the pad there


@dataclass(frozen=True, slots=True, eq=False)
class Tip:
    """Where a mount touches the object."""

    point_mm: Vec3  # on the object's surface
    normal: Vec3  # into the object
    kind: str  # "pad", "lipped", "fork", "shelf"
    bearing: bool  # carries weight from below
    force_N: float  # normal, at rest with preload
    force_limit_N: float
    friction: float
    pad: str
    pad_radius_mm: float
    pad_thickness_mm: float
    arm: Arm
    needed: bool  # without it the margin falls below its limit
    faces: tuple[Face, ...] = ()  # all places it touches, the first being the tip's own point
    along: tuple[int, ...] = ()  # the order in which the wire passes its faces, from the hub; (): either way
    ring: Ring | None = None  # the wire's end goes round the object; None: it ends at its last face
    shaken_N: float | None = None  # most normal force under the site's shake; None: not known


@dataclass(frozen=True, slots=True)
class MadeFor:
    """What a mount is made for, as far as it is known: its post, and what hub and arms bear on it."""

    post_mm: float
    lap_mm: float = 0.0  # least length of every lap on the hub; 0: so many diameters of the wire as the rulebook says
    arms_ratio: float = 1.0  # how many times what its own tip presses each arm must stand: what the whole mount adds


@dataclass(frozen=True, slots=True)
class Hub:
    """Where arms and post meet, behind the object."""

    kind: str  # "plate", "ring", "bar", "cross-wire"
    centre_mm: Vec3
    size_mm: float  # plate edge, ring diameter, bar length
    thickness_mm: float
    notes: tuple[str, ...]  # soldering
    angle_deg: float = 0.0  # of a bar's length from the horizontal, as the viewer sees it
    made_for: MadeFor | None = None  # None: kept by a version that did not say
    high_mm: float = 0.0  # of a bar cut from wider flat stock; 0: a little more than the post


@dataclass(frozen=True, slots=True)
class Opening:
    """How the object comes out."""

    arm: int  # index of the tip whose arm opens
    kind: str  # "bend", "finger", "sleeved pin", "screw"
    direction: Vec3  # the way that arm is moved
    force_N: float
    withdraw: Vec3  # the way the object then leaves
    travel_mm: float
    wire_mm: float = 0.0  # of a finger; 0: the arm's own


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """One way to hold one object, complete."""

    attitude: Attitude
    tips: tuple[Tip, ...]
    hub: Hub
    opening: Opening | None
    attach_mm: Vec3  # post axis meets the hub's back, display frame
    clock_deg: float  # 0 = 12 o'clock mark straight up
    margin_g: float
    margin_low_friction_g: float
    torque_capacity_Nmm: float
    preload_ratio: float  # s/W as set
    weight_on_normals_ratio: float
    covered_share: float  # of the object's front area hidden by the mount
    beside_share: float  # mount seen beside the object, over its front area
    seen_share: float  # of the object's whole surface the front viewer sees
    depth_mm: float  # panel-side extent: hub's back to the object's frontmost point
    width_mm: float
    height_mm: float
    back_mm: float  # z of the object's rearmost point (negative)
    score: float
    score_parts: tuple[tuple[str, float], ...]
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    family: str = ""  # of mounts; "" where the free search found the tips
    why: str = ""  # this way of mounting, and why it was preferred to the next best one


@dataclass(frozen=True, slots=True, eq=False)
class Refusal:
    """An attitude without a hold, and why."""

    attitude: Attitude
    reason: str
    best_margin_g: float | None  # None: no balance at all
    advice: str


@dataclass(frozen=True, slots=True, eq=False)
class HoldSet:
    """All that was found for one object, best first."""

    holds: tuple[Hold, ...]
    refusals: tuple[Refusal, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """Flat strip that lies round an object on its broad side, in place of wire: bent the easy way, stiff the other."""

    wide_mm: float
    thick_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A wire's end that goes round an object: a collar, a ring under a foot, the loop of a shelf."""

    points_mm: F64  # (k, 3) on the object's surface, or where that would be, from one end to the other
    outward: F64  # (k, 3) unit, the way from there to the wire
    stem: int | None = None  # the point at which its stem meets it; None: at its seat, which is its middle
    strip: Strip | None = None  # it is flat strip, its broad side on the object; None: round wire


@dataclass(frozen=True, slots=True, eq=False)
class FlatBar:
    """A tip that is one flat bar: down behind the object, forward under it, and up before it as a lip."""

    corners_mm: F64  # (4, 3) of its padded side in its middle plane: top of its leg, both bends, top of its lip
    wide_mm: float  # level
    lip_mm: float  # its lip is filed down to so much


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """A candidate or chosen place for a tip, before any wire: what the search works with."""

    point_mm: Vec3  # display frame, on the object's surface
    normal: Vec3  # into the object
    kind: str  # "pad", "lipped", "fork", "shelf"
    bearing: bool
    force_limit_N: float
    friction: float
    pad: str
    pad_radius_mm: float
    pad_thickness_mm: float
    faces: tuple[Face, ...] = ()  # all places it touches, the first being the contact's own point
    shaken_N: float | None = None  # most normal force under the site's shake; None: not known
    along: tuple[int, ...] = ()  # the order in which the wire passes its faces, from the hub; (): either way
    ring: Ring | None = None  # the wire's end goes round the object; None: it ends at its last face
    flat: FlatBar | None = None  # all of it is a flat bar, from the hub on; None: round wire


def faces_of(contact: Contact) -> tuple[Face, ...]:
    """Return every place the tip touches, the seat first."""
    if contact.faces:
        return contact.faces
    return (Face(contact.point_mm, contact.normal, contact.force_limit_N, contact.pad_radius_mm),)


@dataclass(frozen=True, slots=True)
class FamilyPlan:
    """Which family of mounts proposed a set of tips, and what it knows of it."""

    name: str
    why: str  # this way of mounting, in a mountmaker's words
    suits: float  # how well the family suits the object so shown, 0..1
    sturdy_ratio: float  # least thickness where it touches, over the object's usual one
    alike_ratio: float  # how far it is from its own mirror image, over the object's diagonal
    painted_ratio: float = 0.0  # how painted the ground is that it touches, the mean of its wires, 0..1
    spread_ratio: float = 1.0  # how well its wires stand about the object, 0 all in one place .. 1


@dataclass(frozen=True, slots=True, eq=False)
class TipSet:
    """Contacts that keep the object in one attitude, with what the gates said. No mount yet."""

    attitude: Attitude
    contacts: tuple[Contact, ...]
    forces_N: tuple[float, ...]  # normal force at each, at rest with preload
    needed: tuple[bool, ...]
    margin_g: float
    margin_low_friction_g: float
    torque_capacity_Nmm: float
    preload_ratio: float
    weight_on_normals_ratio: float
    checks: tuple[Check, ...]  # one a gate
    family: FamilyPlan | None = None  # None where the free search found the tips

    @property
    def shake_g(self) -> float | None:
        """The shake at which the object leaves its place; None: not known."""
        return next((check.value for check in self.checks if check.name == "shake-withstood"), None)


@dataclass(frozen=True, slots=True, eq=False)
class Mount:
    """Hub, arms and opening for a tip set."""

    arms: tuple[Arm, ...]  # one a contact, same order
    hub: Hub
    opening: Opening | None
    attach_mm: Vec3
    clock_deg: float
    covered_share: float
    beside_share: float
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class NoMount:
    """Why no wire could be bent for a tip set."""

    reason: str
