"""One line of the record: who decided what, when, in which session, and why.

A `NewEntry` is what somebody wants to say; an `Entry` is what the ledger has taken, numbered, dated and chained to the
line before it. Values only, nothing heavy, so that the ledger starts in milliseconds. Payloads are JSON values in mm,
g and degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Payload = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class NewEntry:
    """A decision not yet on record."""

    kind: str  # one of `scanprep.case.record.fold.KINDS`
    object: str | None  # the object's number; None for the case as a whole
    payload: Payload = field(default_factory=dict)
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A decision on record. Never changed, never removed."""

    seq: int  # 1, 2, 3 ... without a gap
    time: str  # ISO 8601, UTC
    person: str
    session: int | None  # number of the review it was said in
    kind: str
    object: str | None
    payload: Payload
    reason: str
    previous_hash: str
    hash: str  # SHA-256 of everything above
