"""What a judgement says, as a record: the value, its limit, where the limit comes from, and the verdict.

A Check is one judged quantity of one object; a Finding is a sentence a person must read. `ok` is never said of
mechanics that rest on defaults: those are `unmeasured`, with what to measure and how.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """How a check ends, from quiet to loud."""

    OK = "ok"
    UNMEASURED = "unmeasured"
    LOOK = "look"
    STOP = "stop"

    @property
    def loudness(self) -> int:
        """Its place in that order, 0 the quietest: the one order that lists, papers and notes sort by."""
        return list(Verdict).index(self)


def loudest(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the worst of some verdicts; ok where there are none."""
    return max(verdicts, key=lambda verdict: verdict.loudness, default=Verdict.OK)


@dataclass(frozen=True, slots=True)
class Check:
    """One judged quantity. `margin` is how many times over it passes: >= 1 is inside the limit."""

    name: str  # a readable slug, such as "post-droop"
    value: float | None
    limit: float | None
    unit: str
    margin: float | None
    source: str  # author, title, table; or "common practice", "from memory", "assumed", "measured"
    verdict: Verdict
    note: str = ""  # one sentence: what governs, what to measure, what to do


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a person must look at. `sentence` stands alone; `remedy` says what to do."""

    code: str
    subject: str  # "object 14", "face West A", "scan bowl.obj"
    verdict: Verdict
    sentence: str
    remedy: str = ""
    measured: float | None = None
    limit: float | None = None
    unit: str = ""


def at_most(name: str, value: float, limit: float, unit: str, source: str, *, note: str = "",
            over: Verdict = Verdict.STOP, measured: bool = True) -> Check:
    """Judge a quantity that must not exceed its limit.

    over      the verdict when it does
    measured  False where a default stood in for a measurement: then the best it can say is `unmeasured`
    """
    margin = limit / value if value > 0 else float("inf")
    inside = Verdict.OK if measured else Verdict.UNMEASURED
    return Check(name, value, limit, unit, margin, source, inside if value <= limit else over, note)


def at_least(name: str, value: float, limit: float, unit: str, source: str, *, note: str = "",
             under: Verdict = Verdict.STOP, measured: bool = True) -> Check:
    """Judge a quantity that must reach its limit; see `at_most`."""
    margin = value / limit if limit > 0 else float("inf")
    inside = Verdict.OK if measured else Verdict.UNMEASURED
    return Check(name, value, limit, unit, margin, source, inside if value >= limit else under, note)


def finding_of(check: Check, subject: str, remedy: str = "") -> Finding:
    """Return a check that is not ok as a finding."""
    amount = "" if check.value is None else f" {check.value:.3g} {check.unit}".rstrip()
    limit = "" if check.limit is None else f" (limit {check.limit:.3g} {check.unit})".replace(" )", ")")
    name = check.name.replace("-", " ")
    note = f": {check.note}" if check.note else ""
    return Finding(check.name, subject, check.verdict, f"{subject}: {name}{amount}{limit}{note}", remedy,
                   check.value, check.limit, check.unit)
