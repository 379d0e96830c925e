"""How the case stands next to how it stood or might stand: before a session, or as a kept try has it.

What moved and by how much, which findings only one of the two has, and both as places, so that a page can draw them
side by side. Reads the record and the case's tries; writes tries only. Used by `desk`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scanprep.case.arrange.comparison import compare, refused, tried
from scanprep.case.arrange.relocation import relocation
from scanprep.case.check.checks import CaseChecks
from scanprep.case.placed import FacePosition
from scanprep.case.record.fold import fold
from scanprep.review.messages import MessageError
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.wall import kept_tries, kept_try


@dataclass(frozen=True, slots=True)
class Moved:
    """An object that stands elsewhere there than it does now."""

    number: str
    before: FacePosition | None  # there; None: it has no place there
    sentence: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Another state of the case next to the one on record."""

    name: str
    moved: tuple[Moved, ...]
    stops: tuple[int, int]  # on record, there
    only_now: tuple[str, ...]  # stops that only the record has
    only_there: tuple[str, ...]
    refused: tuple[str, ...]  # moves that the record would refuse


def before_session(folder: CaseFolder, checks: CaseChecks, session: int) -> Comparison:
    """Return the case as it stood before a session was opened. Raises MessageError."""
    opened = next((e.seq for e in folder.entries if e.kind == "session-opened"
                   and int(e.payload["number"]) == session), None)
    if opened is None:
        raise MessageError(f"there was no session {session}")
    before = fold([entry for entry in folder.entries if entry.seq < opened])
    stood: dict[str, FacePosition | None] = {}
    for number in checks.placed:
        then = before.placements.get(number)
        stood[number] = None if then is None or then.hole is None else FacePosition(
            then.panel, then.face, then.anchor_from_left_mm, then.anchor_y_mm)
    there = {number: stand for number, stand in stood.items()
             if stand is None or stand.panel in checks.panels}
    return _compared(f"before session {session}", checks, there, from_there=True)


def with_try(folder: CaseFolder, checks: CaseChecks, name: str) -> Comparison:
    """Return the case as a kept try has it. Raises InputError where there is none of that name or it does not fit."""
    if name not in kept_tries(folder):
        raise MessageError(f"there is no try {name[:60]!r}")
    stands = {number: stand for number, stand in kept_try(folder, name).items() if number in checks.placed}
    return _compared(name, checks, stands, from_there=False)


def _compared(name: str, checks: CaseChecks, there: Mapping[str, FacePosition | None], *,
              from_there: bool) -> Comparison:
    """Compare the record with another state; `from_there`: the moves are told from it to the record."""
    found = []
    for number, stand in there.items():
        now = checks.placed[number].stand
        move = relocation(number, stand, now, checks.panels) if from_there else relocation(
            number, now, stand, checks.panels)
        if move is not None:
            found.append(Moved(number, stand, move.sentence))
    other = compare(checks, ("record", checks), (name, tried(checks, there)))
    stops = [tuple(f.sentence for f in only if f.verdict.value == "stop")
             for only in (other.only_left, other.only_right)]
    return Comparison(name, tuple(found), (other.left.stops, other.right.stops), stops[0], stops[1],
                      () if from_there else refused(checks, there))
