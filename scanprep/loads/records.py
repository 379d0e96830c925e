"""The load table: one cell for each load case and each part of the chain, demand against resistance.

A cell says what is asked, what can be borne, by which rule and from which source; or that the case does not reach the
part, and why. No cell is left out: `whole_table` refuses a table with a hole in it. The weakest link is read from it.

    object at its tips - pad - arm - arm's joint - hub - hub's joint - rod - seat - web - sheet at the hole - sheet
                                                                                              - foot - top fixing
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scanprep.findings import Check, Verdict, loudest


class ChainPart(StrEnum):
    """A link between the object and the floor, in the order in which loads pass."""

    TIPS = "object at its tips"
    PAD = "pad"
    ARM = "arm"
    ARM_JOINT = "arm's joint"
    HUB = "hub"
    HUB_JOINT = "hub's joint"
    ROD = "rod"
    SEAT = "seat"
    WEB = "web"
    AT_HOLE = "sheet at the hole"
    SHEET = "sheet"
    FOOT = "foot"
    TOP = "top fixing"


#: What belongs to one object and its hole; the others belong to the panel. exact: the order above.
OBJECT_PARTS = tuple(ChainPart)[:9]
PANEL_PARTS = tuple(ChainPart)[9:]  # exact: the rest


class LoadKind(StrEnum):
    """Why a load comes. A hand's load may move something that is set again; no other may."""

    STANDING = "standing"  # weight and years
    SITE = "site"  # shaking, walking
    HAND = "hand"  # touch, knock, push
    BENCH = "bench"  # while it is mounted, by trained hands
    SEASON = "season"  # temperature and damp


@dataclass(frozen=True, slots=True)
class LoadCase:
    """One thing that happens to a mount or a panel."""

    key: str  # a readable slug, such as "push-top"
    words: str  # "a hand brushes the object's edge"
    kind: LoadKind
    amount: float | None  # None: worked out of masses alone
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One load case at one part. Where it does not apply, `because` says why and all numbers are None."""

    case: str  # key of the load case
    part: ChainPart
    demand: float | None
    resistance: float | None  # safety factors already in it; None: nobody has said what the part can bear
    unit: str
    rule: str
    source: str
    verdict: Verdict
    because: str = ""

    @property
    def applies(self) -> bool:
        """Whether the load reaches the part at all."""
        return not self.because

    @property
    def margin(self) -> float | None:
        """How many times over the part bears it; None where that is not known."""
        if self.demand is None or self.resistance is None:
            return None
        return self.resistance / self.demand if self.demand > 0 else math.inf


def borne(case: str, part: ChainPart, demand: float, resistance: float, unit: str, rule: str, source: str, *,
          measured: bool = True, over: Verdict = Verdict.STOP) -> Cell:
    """Return a cell that is judged: demand at most resistance.

    measured  False where a default stands in for a measurement: then the best it can say is `unmeasured`
    over      the verdict where more is asked than can be borne
    """
    inside = Verdict.OK if measured else Verdict.UNMEASURED
    return Cell(case, part, demand, resistance, unit, rule, source, inside if demand <= resistance else over)


def unrated(case: str, part: ChainPart, demand: float, unit: str, rule: str, source: str) -> Cell:
    """Return a cell whose demand is known while nobody has said what the part can bear."""
    return Cell(case, part, demand, None, unit, rule, source, Verdict.UNMEASURED)


def spared(case: str, part: ChainPart, because: str) -> Cell:
    """Return the cell of a load that does not reach a part. Raises ValueError where no reason is given."""
    if not because:
        raise ValueError(f"{case} at {part}: a cell that does not apply must say why")
    return Cell(case, part, None, None, "", "", "", Verdict.OK, because)


@dataclass(frozen=True, slots=True)
class LoadTable:
    """Every load case at every part of one object or one panel."""

    subject: str  # "object 14", "panel West"
    cells: tuple[Cell, ...]
    gives_first: str = ""  # what yields first under a hand, and at how much; "" where no hand was judged

    def cell(self, case: str, part: ChainPart) -> Cell:
        """Return one cell. Raises KeyError."""
        for cell in self.cells:
            if cell.case == case and cell.part is part:
                return cell
        raise KeyError(f"{self.subject} has no cell for {case} at {part}")

    def weakest(self, cases: Sequence[LoadCase]) -> Cell | None:
        """Return the weakest link: least margin under what comes by itself; None where nothing is rated.

        What a hand does is judged by what gives first; what is done at the bench is set to its limit on purpose.
        """
        made = {case.key for case in cases if case.kind in (LoadKind.HAND, LoadKind.BENCH)}
        rated = [cell for cell in self.cells if cell.margin is not None and cell.case not in made]
        return min(rated, key=lambda cell: cell.margin or 0.0, default=None)

    @property
    def verdict(self) -> Verdict:
        """The loudest of all cells."""
        return loudest(cell.verdict for cell in self.cells)


def whole_table(subject: str, cells: Iterable[Cell], cases: Sequence[LoadCase], parts: Sequence[ChainPart],
                gives_first: str = "") -> LoadTable:
    """Return a table in reading order. Raises ValueError where a cell is missing or given twice."""
    found: dict[tuple[str, ChainPart], Cell] = {}
    for cell in cells:
        at = (cell.case, cell.part)
        if at in found:
            raise ValueError(f"{subject}: {cell.case} at {cell.part} is given twice")
        found[at] = cell
    wanted = [(case.key, part) for case in cases for part in parts]
    missing = [at for at in wanted if at not in found]
    extra = [at for at in found if at not in wanted]
    if missing or extra:
        raise ValueError(f"{subject}: cells missing {missing}, unknown {extra}")
    return LoadTable(subject, tuple(found[at] for at in wanted), gives_first)


def cell_words(cell: Cell, cases: Sequence[LoadCase]) -> str:
    """Return a cell as one sentence for papers and pages."""
    words = next((case.words for case in cases if case.key == cell.case), cell.case)
    if not cell.applies:
        return f"{cell.part}, {words}: does not apply, because {cell.because}"
    limit = "not rated" if cell.resistance is None else f"of {cell.resistance:.3g}"
    times = "" if cell.margin is None or math.isinf(cell.margin) else f" ({cell.margin:.1f} times)"
    return f"{cell.part}, {words}: {cell.demand:.3g} {limit} {cell.unit}{times}; {cell.rule}"


def weakest_words(table: LoadTable, cases: Sequence[LoadCase]) -> str:
    """Return the weakest link in a few words, such as "arm's joint, its weight for 10 years: 0.7 times"."""
    cell = table.weakest(cases)
    if cell is None or cell.margin is None:
        return ""
    words = next(case.words for case in cases if case.key == cell.case)
    return f"{cell.part}, {words}: " + ("nothing asked" if math.isinf(cell.margin) else f"{cell.margin:.1f} times")


def weakest_check(name: str, table: LoadTable, cases: Sequence[LoadCase]) -> Check:
    """Judge the weakest link of an object or a panel; as loud as the loudest cell that no hand makes."""
    hands = {one.key for one in cases if one.kind is LoadKind.HAND}
    cells = [cell for cell in table.cells if cell.case not in hands]
    weakest = table.weakest(cases)
    loud = [cell for cell in cells if cell.verdict in (Verdict.LOOK, Verdict.STOP)]
    said = cell_words(weakest, cases) if weakest else "nothing is rated yet"
    others: dict[str, list[str]] = {}
    for cell in loud:
        if cell is not weakest:
            others.setdefault(cell.part.value, []).append(cell.case)
    more = "; ".join(f"{part} ({', '.join(keys)})" for part, keys in others.items())
    return Check(name, None if weakest is None else weakest.margin, 1.0, "times",
                 None if weakest is None else weakest.margin, "load table", loudest(cell.verdict for cell in cells),
                 said + (f"; beyond its limit too: {more}" if more else ""))
