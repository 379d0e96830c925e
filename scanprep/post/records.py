"""The rod from hub to panel and the hole it is pressed into."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.findings import Check, Finding
from scanprep.loads.records import LoadTable
from scanprep.vectors import Vec3


@dataclass(frozen=True, slots=True)
class Rod:
    """One size of the rod table."""

    label: str  # "3/16", "5 mm"
    diameter_mm: float
    tol_upper_mm: float
    tol_lower_mm: float
    material: str
    source: str
    measured_mm: float | None = None
    bore_mm: float = 0.0  # inside diameter of a tube


@dataclass(frozen=True, slots=True)
class Drill:
    """One drill of the catalogue."""

    series: str  # "fraction", "number", "letter", "metric"
    label: str  # "3/16", "#12", "F", "4.7"
    diameter_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class PostNeed:
    """The thinnest rod an object can have, and what each stocked one would do."""

    thinnest: Rod | None  # None: no stocked rod is enough
    governs: str  # the check that fails on the next smaller
    by_rod: tuple[tuple[Rod, tuple[Check, ...]], ...]


@dataclass(frozen=True, slots=True)
class Preset:
    """What a mount is bent up by before it hangs, so that it hangs true, and what is left after that."""

    droop_mm: float  # set the object so much higher
    nod_deg: float  # and so much back, top away from the viewer
    roll_deg: float
    left_mm: float  # the doubt of it, either way
    left_deg: float
    creep_mm: float  # what years add
    creep_deg: float


@dataclass(frozen=True, slots=True)
class Post:
    """A cut length of rod. Display frame, origin at the object's centre of mass."""

    material: str
    rod: str  # label
    diameter_mm: float
    attach_point_mm: Vec3  # where it meets the hub
    stand_off_mm: float  # panel's face to the object's nearest point
    free_length_mm: float  # panel's face to the hub
    seat_depth_mm: float
    cut_length_mm: float
    blank_length_mm: float
    clock_deg: float  # as planned, where the 12-o'clock mark points: 0 straight up, counter-clockwise for the viewer +
    push_in_N: float
    paint_stop_mm: float  # from the inner end: bare below this
    droop_mm: float
    slope_deg: float
    frequency_Hz: float
    through_hub_mm: float = 0.0  # part of the cut length that passes through a drilled hub plate
    vent_flat_mm: float = 0.0  # depth of the flat filed along the seat; 0 in a through-hole
    fitting_note: str = ""  # one sentence: bare seat, vent flat
    carried_g: float = 0.0  # object at its heaviest, arms and hub
    reach_mm: float = 0.0  # panel's face to the centre of mass of what it carries
    mass_measured: bool = False
    preset: Preset | None = None
    # of the finished mount, once measured: its axis at the face right of and above the plan, its mark from the planned
    # angle, counter-clockwise for the viewer +
    as_made_dx_mm: float | None = None
    as_made_dy_mm: float | None = None
    as_made_deg: float | None = None
    proof_pull_N: float = 0.0  # of the post in its hole, before an object hangs on it
    proof_twist_Nmm: float = 0.0
    retention: str = ""  # what holds it in its hole: "line 0.16 mm", "bow", "slit + second pin"


@dataclass(frozen=True, slots=True)
class Hole:
    """What is drilled. Panel, face and place are None for a single scan."""

    panel: str | None
    face: str | None  # "A" or "B"
    from_left_mm: float | None  # face frame, as that face's viewer sees it
    y_mm: float | None
    drill: str  # catalogue label
    drill_diameter_mm: float
    brackets: tuple[str, ...]  # drills to try in an offcut
    depth_mm: float  # cylindrical part
    point_depth_mm: float
    point_angle_deg: float
    through: bool
    web_mm: float  # left to the far face at the least thickness
    state: str = "planned"  # planned, drilled, void
    shows: str = ""  # what each face's viewer sees of it
    datum_x_mm: float | None = None  # X of drawings and tables, from the datum corner


@dataclass(frozen=True, slots=True)
class PostPlan:
    """A post with its hole and everything judged about them."""

    post: Post
    hole: Hole
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    told_of: tuple[str, ...] = ()  # checks that one of the findings speaks for
    table: LoadTable | None = None  # every load case at every part
    weakest: str = ""  # the weakest link, in a few words for sheet and page
    lap_mm: float = 0.0  # how long the arms' laps on the hub must be; 0: they are long enough
