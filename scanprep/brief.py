"""What people say about an object and a display before anything is computed: the checklist's line, typed.

Numbers are already in mm, g and degrees; text stays as it was written. Made by `files`, read by every stage.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from scanprep.vectors import Vec3


@dataclass(frozen=True, slots=True)
class KnownSize:
    """One dimension measured on the real object."""

    kind: str  # "height", "width", "depth", "diameter", "longest", or "distance" between two picked points
    value_mm: float
    points: tuple[Vec3, Vec3] | None = None  # scan file's own coordinates; for "distance" only


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the object's surface, in scan axes scaled to mm: a box, a ball or a half-space, or a painted colour."""

    kind: str  # "box", "ball", "plane", "colour"
    centre_mm: Vec3 = (0.0, 0.0, 0.0)  # box and ball: centre; plane: a point on it
    size_mm: Vec3 = (0.0, 0.0, 0.0)  # box: full edge lengths; ball: radius first
    normal: Vec3 = (0.0, 0.0, 0.0)  # plane: the region lies on the side it points to
    colour: tuple[int, int, int] = (255, 0, 255)  # colour: sRGB, within 40 of each channel
    why: str = ""  # "rim", "handle", "gilding"


@dataclass(frozen=True, slots=True)
class MaterialRegion:
    """A region of other material, for the mass of mixed objects."""

    region: Region
    material: str


@dataclass(frozen=True, slots=True)
class ObjectBrief:
    """One line of the checklist."""

    number: str
    title: str = ""
    scan: str = ""  # file, relative to the case folder
    unit: str | None = None  # of the scan's coordinates: mm, cm, m, in
    sizes: tuple[KnownSize, ...] = ()
    material: str | None = None  # a name of the object-density table
    mass_g: float | None = None  # weighed
    wall_mm: float | None = None  # a hollow object whose inside was not scanned
    condition: str = ""  # "sound", "flaking", "gilded", "repaired", ""
    moving: str = ""  # what its condition calls a part that moves: "hinged", "loose", ""
    pieces: int = 1  # real separate parts in the scan (lid and jar: 2)
    up: Vec3 | None = None  # scan axes
    front: Vec3 | None = None  # scan axes: this side faces the viewer
    attitude: str | None = None  # an attitude's name, such as "upright", "face-on"
    tilt_deg: float | None = None
    turn_deg: float | None = None
    roll_deg: float | None = None
    no_touch: tuple[Region, ...] = ()
    parts: tuple[MaterialRegion, ...] = ()
    tip_limit_N: float | None = None  # the conservator's number; wins over every default
    pad: str | None = None  # a pad of the friction table
    stand_off_mm: float | None = None  # face of the panel to its nearest point; None: as the rulebook says
    retention: str | None = None  # what holds its post: "line 0.16 mm", "bow", "slit + second pin"
    group: str = ""
    order: float | None = None
    panel: str | None = None
    face: str | None = None  # "A" or "B"
    from_left_mm: float | None = None  # anchor point, from the face's own left edge as its viewer sees it
    datum_x_mm: float | None = None  # or X, from the datum edge: face A's left, face B's right
    y_mm: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class PanelBrief:
    """One clear sheet as ordered, and what of it has been measured."""

    name: str
    width_mm: float
    height_mm: float
    thickness_mm: float = 30.0
    thickness_measured: bool = False
    grade: str = "unknown"  # "cell cast" or "unknown"
    foot: str = "clamped"  # "clamped", "flexible", "four corners"
    foot_stiffness_Nmm_per_rad: float | None = None
    top_restraint: bool = False
    stands_at_mm: float = 0.0  # lower edge above the visitors' floor
    keep_clear_mm: float = 40.0  # least distance of a hole's centre from the edges
    door_open_mm: float | None = None  # clear width of a sliding door before each face, open left or right; None: all
    foot_known: str = "assumed"  # "assumed", "measured" (its turning under a push), "designed" (by an engineer)
    foot_moment_limit_Nmm: float | None = None  # what its design bears, bending over; None: nobody has said
    top_limit_N: float | None = None  # what the top fixing bears across the sheet
    top_room_mm: float | None = None  # that the sheet may grow upwards inside it


@dataclass(frozen=True, slots=True)
class RodMeasured:
    """A rod whose finished diameter was measured with a micrometer."""

    label: str
    diameter_mm: float
    tolerance_mm: float = 0.005
    lot: str | None = None  # a new bar is a new lot: measure it anew


@dataclass(frozen=True, slots=True)
class CouponResult:
    """A test hole in an offcut: which drill, the hole it made, and what holding a post in it took."""

    drill: str
    hole_mm: float
    spread_mm: float = 0.01
    note: str = ""
    rod: str | None = None  # label of the rod that was tried in it; None: the nearest in size
    lot: str | None = None  # of that rod
    retention: str | None = None  # "bow", "slit", "lacquer"; None: a line where one is given, else bare
    line_mm: float | None = None  # nylon line beside the rod, under the micrometer
    push_N: float | None = None  # pushed in by hand on a scale
    twist_Nmm: float | None = None  # at which it began to turn, an hour later
    pull_N: float | None = None  # at which it began to slide out
    temperature_C: float | None = None  # of the coupon; None: the room's


@dataclass(frozen=True, slots=True)
class PersonBrief:
    """Somebody who decides, and as what."""

    name: str
    roles: tuple[str, ...]  # "conservator", "curator", "designer", "mountmaker", "driller", ...


@dataclass(frozen=True, slots=True)
class MayBrief:
    """Whose word something is, where it is not the usual roles'."""

    what: str  # "contacts", "angle", "place", ...
    roles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CaseBrief:
    """The whole display as its case.toml says it, objects not included."""

    title: str
    units: str = "mm"
    panels: tuple[PanelBrief, ...] = ()
    max_post_diameters: int = 3
    site: str = "no seismic demand; handling and footfall only"
    acceleration_g: float = 0.35
    site_reason: str = "assumed"
    mock_up: bool = False  # thin mock-up sheet, through-holes, blank lengths
    measured_rods: tuple[RodMeasured, ...] = ()
    coupons: tuple[CouponResult, ...] = ()
    eye_heights_mm: tuple[float, ...] = (1205.0, 1612.0)  # seated, standing mean: US DOJ consent order 1995, as quoted
    columns: tuple[tuple[str, str], ...] = field(default=())  # checklist column -> field
    people: tuple[PersonBrief, ...] = ()  # empty: anybody may say anything
    may: tuple[MayBrief, ...] = ()
    spectral_g: float | None = None  # S_DS of the site, where the code's formula is to say the acceleration
    vertical_g: float | None = None  # an engineer's number up or down; None: as much as sideways
    importance: float = 1.0  # I_p
    height_share: float = 0.0  # z/h of the floor in its building
    response: float = 2.5  # R_p
    damp: bool = False  # a room that is not kept dry
    square_deg: float | None = None  # how far out of square this drilling set-up's holes were measured to be
    barrier: str = "none"  # who is kept off the objects: "none", "visitors", "everyone" but trained staff
    case_id: str | None = None  # which case the file belongs to; None: an older file, which does not say so
    scans_at: str | None = None  # address or folder below which the checklist's scans lie; None: the case folder
