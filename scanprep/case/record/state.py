"""How a case stands after all that was decided: objects, holds, places, holes, mounts' lives, agreements, sessions.

Values only; `record.fold` makes them from the ledger's entries, `decide` reads them before anything new is said.
Positions are face coordinates in mm, as that face's viewer sees them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeVar

from scanprep.brief import ObjectBrief
from scanprep.case.record.frozen import DrilledFacts
from scanprep.case.record.mount_life import MountLife

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
    kept: Mapping[str, Any] | None = None  # the hold itself as plain values, see `chosen`; None: an older record


@dataclass(frozen=True, slots=True)
class Placement:
    """Where an object is wanted, and the hole that this asks for."""

    panel: str
    face: str
    from_left_mm: float  # the planned anchor: where the hole would be for a mount made exactly as planned
    y_mm: float
    hole: str | None  # number of the hole that now counts; None after it was made void and before the next move
    anchor_from_left_mm: float  # the planned anchor corrected by the as-made axis
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
    from_left_mm: float
    y_mm: float
    state: str  # planned, marked, drilled, void
    was_drilled: bool  # also true of a void one: then there is a real hole in the sheet
    session: int | None
    real: DrilledFacts | None = None  # as drilled; kept by a void hole too
    why_void: str = ""
    later: str = ""  # what became of a void one: "plugged with ..."

    @property
    def drill(self) -> str | None:
        """The drill that made it; None where it was not drilled."""
        return None if self.real is None else self.real.drill

    @property
    def depth_mm(self) -> float | None:
        """How deep it was drilled; None where it was not."""
        return None if self.real is None else self.real.depth_mm


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """An object that is not shown any more: off every template and list; the record keeps it."""

    person: str
    reason: str
    time: str
    seq: int


@dataclass(frozen=True, slots=True)
class RodChoice:
    """The rod that an object's post is made of."""

    rod: str  # label
    how: str  # "proposed" with the case's diameters, "chosen" by a person
    person: str
    seq: int


@dataclass(frozen=True, slots=True)
class DiameterChoice:
    """The few post diameters of the case."""

    rods: tuple[str, ...]  # labels, thin to thick
    how: str  # "proposed", "chosen"
    person: str
    seq: int


@dataclass(frozen=True, slots=True)
class Measured:
    """Something measured at the bench and entered on record; it counts before the case file until that changes."""

    what: str  # "rod", "test hole", "sheet", "mass", "pad"
    name: str  # of the rod, drill, panel or object
    values: Mapping[str, Any]  # plain, with units in the names
    person: str
    time: str
    seq: int


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
    lines: Mapping[str, ObjectBrief] = field(default_factory=_none)  # as the checklist has them, nothing measured since
    inputs: Mapping[str, Any] = field(default_factory=_none)  # what case.toml and the rules say, see `inputs`
    case_seq: int = 0  # latest entry that bears on every paper: inputs, rods and sheets measured, diameters
    measured: Mapping[tuple[str, str], Measured] = field(default_factory=_none)  # (what, name)
    withdrawn: Mapping[str, Withdrawal] = field(default_factory=_none)
    diameters: DiameterChoice | None = None
    rods: Mapping[str, RodChoice] = field(default_factory=_none)
    retentions: Mapping[str, str] = field(default_factory=_none)  # by decision: "line 0.16 mm"

    def retention(self, number: str) -> str | None:
        """What holds an object's post: as decided, else as the checklist says; None where nobody said."""
        brief = self.objects.get(number)
        return self.retentions.get(number) or (brief.retention if brief is not None else None)

    @property
    def session(self) -> int:
        """The number of the open session; else of the last one; 0 before the first."""
        return self.sessions[-1].number if self.sessions else 0

    @property
    def open_session(self) -> Session | None:
        """The session now open."""
        return self.sessions[-1] if self.sessions and self.sessions[-1].closed is None else None

    @property
    def shown(self) -> tuple[str, ...]:
        """The numbers of the objects that are to be shown: on record, not withdrawn."""
        return tuple(number for number in self.objects if number not in self.withdrawn)

    def revision(self, *numbers: str) -> int:
        """The number of the latest entry that bears on some objects' papers; of the whole case without any."""
        if not numbers:
            return self.seq
        return max(self.case_seq, *(self.last_of.get(number, 0) for number in numbers))

    def life(self, number: str) -> MountLife:
        """An object's mount; a fresh one where nothing was said yet."""
        return self.mounts.get(number, MountLife())

    def hole(self, number: str) -> RecordedHole | None:
        """A hole by its number."""
        return next((hole for hole in self.holes if hole.number == number), None)
