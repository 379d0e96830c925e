"""One object's mount from planned to installed and after: the stages it reached, whose word it has, what was seen.

Values, and what a change takes from them; `fold` makes them from the entries, `state` holds one for each object.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scanprep.case.record.frozen import MadeFacts, Settled

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
