"""How a case stands after all that was decided: objects, holds, places, holes, mounts' lives, agreements, sessions.

Values only; `record.fold` makes them from the ledger's entries, `decide` reads them before anything new is said.
Positions are face coordinates in mm, as that face's viewer sees them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, TypeVar

from scanprep.brief import ObjectBrief
from scanprep.case.record.frozen import DrilledFacts, MadeFacts, Settled

#: A mount's life, in order. "planned" is where each begins. The post is tried in its hole in the workshop, dry, before
#: the sheet goes into its case.
STAGES = (
    "planned", "made", "fitted", "measured", "mocked-up", "marked", "drilled", "dry-fitted", "painted", "installed",
)
#: What an earlier version called a stage.
OLD_STAGES = {"post-fitted": "dry-fitted"}
#: Stages that a mount loses when its hole is abandoned or its place changes.
OF_THE_HOLE = ("marked", "drilled", "dry-fitted", "installed")

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
    kept: Mapping[str, Any] | None = None  # the hold itself as plain values, see `chosen`; None: an older record


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
class Reached:
    """A stage of a mount's life, and who said so."""

    stage: str
    person: str
    time: str
    session: int | None
    seq: int


@dataclass(frozen=True, slots=True)
class Agreement:
    """Who agreed to what or refused it; `standing` ends when what was meant has changed, or the word is withdrawn."""

    what: str
    person: str
    time: str
    session: int | None
    seq: int
    standing: bool
    note: str = ""  # of a refusal: its words
    refused: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """Somebody was asked for their word and has not given it yet."""

    what: str
    of: str  # a person's name or a role
    person: str  # who asks
    time: str
    seq: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where an object went after it was installed."""

    kind: str  # "removed", "on loan", "returned", "replaced"
    note: str  # its condition then; where it went; by which object it was replaced
    person: str
    time: str
    seq: int


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
class PostProof:
    """The proof pull and twist of a post in its hole."""

    pull_N: float
    twist_Nmm: float
    moved: str  # what moved; empty where nothing did
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
    made: MadeFacts | None = None  # what the finished mount is; None too in records of an older version
    settled: tuple[Settled, ...] = ()
    questions: tuple[Question, ...] = ()  # open ones
    moves: tuple[Whereabouts, ...] = ()  # after installation, in order
    proofs: tuple[PostProof, ...] = ()  # of the post in its hole

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
        """The standing agreement to something, if there is one and nobody refuses it."""
        if any(a.what == what for a in self.refusals):
            return None
        return next((a for a in reversed(self.agreements) if a.what == what and a.standing and not a.refused), None)

    @property
    def refusals(self) -> tuple[Agreement, ...]:
        """What people refuse, as it stands."""
        return tuple(a for a in self.agreements if a.standing and a.refused)

    @property
    def whereabouts(self) -> str:
        """Where the object is: "installed", "removed", "on loan", "returned", "replaced"; "" before installation."""
        installed = max((r.seq for r in self.reached if r.stage == "installed"), default=0)
        if self.moves and self.moves[-1].seq > installed:
            return self.moves[-1].kind
        return "installed" if installed else ""


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


def lapsed(life: MountLife, what: Sequence[str]) -> MountLife:
    """Return a mount's life after what some agreements or refusals were about has changed."""
    return replace(life, agreements=tuple(replace(a, standing=a.standing and a.what not in what)
                                          for a in life.agreements))


def without(life: MountLife, stages: Sequence[str]) -> MountLife:
    """Return a mount's life without some stages."""
    return replace(life, reached=tuple(r for r in life.reached if r.stage not in stages))


def another_mount(life: MountLife) -> MountLife:
    """Return an object's life with a mount that has still to be made. Its drilled hole, if any, stays drilled."""
    settled = tuple(s for s in life.settled if not s.code.startswith("made"))
    return replace(life, number=life.number + 1, reached=(), as_made=None, made=None, settled=settled)


def answered(life: MountLife, what: str) -> MountLife:
    """Return a mount's life after somebody gave their word: no question about it stays open."""
    return replace(life, questions=tuple(q for q in life.questions if q.what != what))


def without_word(life: MountLife, what: str, person: str) -> MountLife:
    """Return a mount's life after a person's earlier word about something counts no more."""
    return replace(life, agreements=tuple(
        replace(a, standing=False) if (a.what, a.person) == (what, person) else a for a in life.agreements))
