"""How a case stands after all that was decided: objects, holds, places, holes, mounts' lives, agreements, sessions.

Values only; `record.fold` makes them from the ledger's entries, `decide` reads them before anything new is said.
Positions are face coordinates in mm, as that face's viewer sees them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeVar

from scanprep.brief import ObjectBrief

#: A mount's life, in order. "planned" is where each begins.
STAGES = (
    "planned", "made", "fitted", "measured", "mocked-up", "marked", "drilled", "post-fitted", "painted", "installed",
)

#: What people agree to, and whose word it is. Moving an object or choosing another hold lets some of them lapse.
AGREEMENTS = {
    "contacts": "conservator, before bending",
    "angle": "curator",
    "place": "curator and designer",
    "fit": "mountmaker",
    "drilling": "driller and checker",
    "installed": "installer",
    "retouched": "mountmaker",
}
LAPSE_WITH_HOLD = ("contacts", "angle", "fit", "drilling", "installed")
LAPSE_WITH_PLACE = ("place", "drilling", "installed")

K = TypeVar("K")
V = TypeVar("V")


def _none() -> Mapping[K, V]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Choice:
    """The hold that was chosen for an object."""

    attitude: str  # the attitude's name, "asked" for angles that were set by hand
    tilt_deg: float
    turn_deg: float
    roll_deg: float
    index: int  # in the ranked list as it stood then
    person: str
    session: int | None
    seq: int


@dataclass(frozen=True, slots=True)
class AsMade:
    """Where the finished mount's post really is, with the object held at its own attitude.

    dx, dy: the post's axis at the panel's face against the plan, viewer's right and up; angle: how far its 12 o'clock
    mark then points from the planned one, counter-clockwise for the viewer +.
    """

    dx_mm: float
    dy_mm: float
    angle_deg: float
    seq: int


@dataclass(frozen=True, slots=True)
class Placement:
    """Where an object is wanted, and the hole that this asks for."""

    panel: str
    face: str
    x_mm: float  # the planned anchor: where the hole would be for a mount made exactly as planned
    y_mm: float
    hole: str | None  # number of the hole that now counts; None after it was made void and before the next move
    anchor_x_mm: float  # the planned anchor corrected by the as-made axis
    anchor_y_mm: float
    locked: bool
    state: str  # of the hole: planned, marked, drilled, void
    source: str  # "checklist" or "decision"
    session: int | None
    person: str
    seq: int


@dataclass(frozen=True, slots=True)
class RecordedHole:
    """One hole that was ever given a number."""

    number: str
    object: str
    panel: str
    face: str
    x_mm: float
    y_mm: float
    state: str  # planned, marked, drilled, void
    was_drilled: bool  # also true of a void one: then there is a real hole in the sheet
    session: int | None
    drill: str | None = None
    depth_mm: float | None = None
    why_void: str = ""


@dataclass(frozen=True, slots=True)
class Reached:
    """A stage of a mount's life, and who said so."""

    stage: str
    person: str
    time: str
    session: int | None
    seq: int


@dataclass(frozen=True, slots=True)
class Agreement:
    """Who agreed to what; `standing` ends when what was agreed to has changed."""

    what: str
    person: str
    time: str
    session: int | None
    seq: int
    standing: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class ConditionNote:
    """What somebody saw on an object, with photographs."""

    text: str
    photos: tuple[str, ...]
    occasion: str  # "before", "after", "" for in between
    person: str
    time: str
    seq: int


@dataclass(frozen=True, slots=True)
class SnugCheck:
    """The yearly look at whether a post still sits snug."""

    snug: bool
    note: str
    person: str
    time: str
    seq: int


@dataclass(frozen=True, slots=True)
class MountLife:
    """One object's mount from planned to installed, and what happened to the object on the way."""

    number: int = 1  # counts up each time a mount has to be made anew
    reached: tuple[Reached, ...] = ()
    as_made: AsMade | None = None
    agreements: tuple[Agreement, ...] = ()
    openings: int = 0
    conditions: tuple[ConditionNote, ...] = ()
    snug_checks: tuple[SnugCheck, ...] = ()

    @property
    def stage(self) -> str:
        """The furthest stage reached."""
        return max((r.stage for r in self.reached), key=STAGES.index, default="planned")

    def has(self, stage: str) -> bool:
        """Whether a stage was reached."""
        return any(r.stage == stage for r in self.reached)

    def come_to(self, stage: str) -> bool:
        """Whether it has come so far: a stage that was passed over counts as reached."""
        return STAGES.index(self.stage) >= STAGES.index(stage)

    def agreed(self, what: str) -> Agreement | None:
        """The standing agreement to something, if there is one."""
        return next((a for a in reversed(self.agreements) if a.what == what and a.standing), None)


@dataclass(frozen=True, slots=True)
class Session:
    """A numbered review."""

    number: int
    title: str
    people: tuple[str, ...]
    opened: str
    closed: str | None


@dataclass(frozen=True, slots=True)
class SignOff:
    """The case was signed off: later changes need a reason."""

    person: str
    time: str
    note: str
    seq: int


@dataclass(frozen=True, slots=True)
class CaseState:
    """Everything that stands, as of entry `seq`."""

    seq: int = 0
    objects: Mapping[str, ObjectBrief] = field(default_factory=_none)
    off_list: frozenset[str] = frozenset()  # objects that the checklist no longer names
    choices: Mapping[str, Choice] = field(default_factory=_none)
    placements: Mapping[str, Placement] = field(default_factory=_none)
    holes: tuple[RecordedHole, ...] = ()
    mounts: Mapping[str, MountLife] = field(default_factory=_none)
    sessions: tuple[Session, ...] = ()
    signed_off: SignOff | None = None
    next_hole: int = 1
    last_of: Mapping[str, int] = field(default_factory=_none)  # object ("" the case) -> its latest standing entry

    @property
    def session(self) -> int:
        """The number of the open session; else of the last one; 0 before the first."""
        return self.sessions[-1].number if self.sessions else 0

    @property
    def open_session(self) -> Session | None:
        """The session now open."""
        return self.sessions[-1] if self.sessions and self.sessions[-1].closed is None else None

    def life(self, number: str) -> MountLife:
        """An object's mount; a fresh one where nothing was said yet."""
        return self.mounts.get(number, MountLife())

    def hole(self, number: str) -> RecordedHole | None:
        """A hole by its number."""
        return next((hole for hole in self.holes if hole.number == number), None)
