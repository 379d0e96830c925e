"""Two arrangements side by side: what one has that the other has not, without a word to the record.

A try is a set of places for some objects, the rest standing as the record says. Compared are the findings, the rhythm
and where objects were moved (`relocation`). Pure values. Used by the try command and the review.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from scanprep.case.arrange.relocation import WAYS, Relocation, relocation
from scanprep.case.arrange.spacing import FaceSpacing, rhythm
from scanprep.case.check.checks import CaseChecks
from scanprep.case.placed import FacePosition
from scanprep.findings import Finding, Verdict


@dataclass(frozen=True, slots=True)
class Side:
    """One arrangement in figures."""

    name: str
    stops: int
    looks: int
    unplaced: int
    moved: int  # objects that stand elsewhere than the record says
    moved_mm: float  # together, those that stay on their face
    faces: tuple[FaceSpacing, ...]
    moves: tuple[Relocation, ...] = ()  # each of the moved


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two arrangements and the findings that only one of them has."""

    left: Side
    right: Side
    only_left: tuple[Finding, ...]
    only_right: tuple[Finding, ...]

    def elsewhere(self) -> tuple[tuple[str, int, int], ...]:
        """Return how many objects leave their face, one row (way, left, right) for each way that there is."""
        left, right = (Counter(move.way for move in side.moves) for side in (self.left, self.right))
        return tuple((way, left[way], right[way]) for way in WAYS[1:] if left[way] or right[way])


def tried(base: CaseChecks, stands: Mapping[str, FacePosition | None]) -> CaseChecks:
    """Return the case with some objects standing elsewhere; `base` stays as it is.

    Raises ValueError naming an object that the case does not have.
    """
    trial = base.copy()
    for number, stand in stands.items():
        if number not in base.placed:
            raise ValueError(f"object {number} is not in this case")
        trial.update(base.placed[number].moved_to(stand))
    return trial


def refused(base: CaseChecks, stands: Mapping[str, FacePosition | None]) -> tuple[str, ...]:
    """Return sentences for moves that the record would refuse: what is drilled or locked."""
    return tuple(
        f"object {number} is {'drilled' if base.placed[number].hole_state == 'drilled' else 'locked'}: the record "
        "would refuse this move"
        for number, stand in stands.items()
        if number in base.placed and base.placed[number].fixed and base.placed[number].stand != stand
    )


def compare(base: CaseChecks, left: tuple[str, CaseChecks], right: tuple[str, CaseChecks]) -> Comparison:
    """Return two arrangements side by side, each (name, checks); moves are counted from `base`."""
    a, b = set(left[1].findings()), set(right[1].findings())
    return Comparison(
        _side(base, *left), _side(base, *right), tuple(f for f in left[1].findings() if f not in b),
        tuple(f for f in right[1].findings() if f not in a),
    )


def _side(base: CaseChecks, name: str, checks: CaseChecks) -> Side:
    found = checks.findings()
    moves = tuple(move for number, item in checks.placed.items()
                  if (move := relocation(number, base.placed[number].stand, item.stand, base.panels)) is not None)
    return Side(
        name, sum(f.verdict is Verdict.STOP for f in found), sum(f.verdict is Verdict.LOOK for f in found),
        sum(item.stand is None for item in checks.placed.values()), len(moves),
        sum(move.along_mm or 0.0 for move in moves if move.way == "along its face"),
        rhythm(tuple(checks.placed.values()), checks.case, checks.rules, checks.outlines), moves,
    )
