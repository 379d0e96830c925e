"""What a page may say to the server, read strictly: a message is of a known kind with known fields, or it is refused.

Every text has a greatest length and every number is finite, so that nothing a browser sends reaches the case unread.
Raises MessageError with one sentence. Touches no files. Used by `server`.
"""

from __future__ import annotations

import dataclasses
import json
import math
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from scanprep.errors import ScanprepError
from scanprep.plain_values import from_plain
from scanprep.vectors import Vec3

#: format: Bytes of one message: a layout of 500 objects with reasons, many times over.
MOST_BYTES = 65_536
#: format: Characters of one text, such as a refusal in words.
MOST_LETTERS = 2_000
#: format: Objects that one message may name: the tool is for cases of a few hundred.
MOST_OBJECTS = 500
#: format: Greatest number that a coordinate or angle may be: 100 m.
MOST_mm = 1e5

HALF_TURN_deg = 180.0  # exact: greatest angle either way

T = TypeVar("T")


class MessageError(ScanprepError):
    """A message that cannot be taken as it stands."""


@dataclass(frozen=True, slots=True)
class MoveTo:
    """Where an object shall stand; panel None: off its panel."""

    object: str
    panel: str | None
    face: str | None = None
    from_left_mm: float | None = None
    y_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Drag:
    """Where objects are being dragged to: nothing is saved, the findings come back under the same ticket."""

    ticket: int
    moves: tuple[MoveTo, ...]


@dataclass(frozen=True, slots=True)
class Speaker:
    """Who says something, and in which role."""

    person: str
    role: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """One touch of the brush that marks where nothing may touch. Scan axes, mm."""

    centre_mm: Vec3
    radius_mm: float
    why: str


@dataclass(frozen=True, slots=True)
class LineSaid:
    """What is said of an object besides its hold and place; what is left out stays as it is."""

    marks: tuple[Mark, ...] = ()  # painted now
    unmark: tuple[str, ...] = ()  # reasons whose marks are taken away
    up: Vec3 | None = None  # scan axes
    front: Vec3 | None = None
    stand_off_mm: float | None = None
    usual_stand_off: bool = False  # the shop's own again
    note: str | None = None
    pad: str = ""


@dataclass(frozen=True, slots=True)
class Angles:
    """Angles at which somebody wants to see an object held."""

    object: str
    tilt_deg: float
    turn_deg: float
    roll_deg: float


@dataclass(frozen=True, slots=True)
class KeptTry:
    """Moves to be kept beside the record under a name."""

    name: str
    moves: tuple[MoveTo, ...]


@dataclass(frozen=True, slots=True)
class Decision:
    """Something to be put on record.

    what  of `KINDS`; which of the other fields are read depends on it
    base  the last entry that the page had seen, of each object it speaks about ("" the case itself)
    """

    what: str
    by: Speaker
    base: dict[str, int]
    object: str = ""
    moves: tuple[MoveTo, ...] = ()
    index: int = 0  # of a hold
    topic: str = ""  # what is agreed to, refused or asked about
    words: str = ""  # the reason, refusal, question or note
    entries: tuple[int, ...] = ()  # to be taken back
    yes: bool = True  # lock or unlock, open or close, sign off or lift
    people: tuple[str, ...] = ()
    line: LineSaid | None = None


#: Every kind of decision that a page may bring.
KINDS = ("hold", "place", "agree", "refuse", "ask", "take-back-word", "note", "lock", "undo", "session", "sign-off",
         "say")


def read(raw: str | bytes) -> dict[str, Any]:
    """Return a message's fields. Raises MessageError where it is too long or no JSON record."""
    if len(raw) > MOST_BYTES:
        raise MessageError(f"the message has {len(raw)} bytes; at most {MOST_BYTES} are read. Send less at once")
    try:
        plain = json.loads(raw, parse_constant=_no_constant)
    except (ValueError, RecursionError) as problem:
        raise MessageError(f"the message is not JSON ({problem})") from None
    if not isinstance(plain, dict):
        raise MessageError("the message is not a JSON record")
    return plain


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _of(cls: type[T], plain: Mapping[str, Any]) -> T:
    try:
        value: T = from_plain(cls, dict(plain), where="message")
    except (ValueError, TypeError, LookupError, RecursionError, OverflowError) as problem:
        raise MessageError(f"the message cannot be read: {problem}") from None
    for text in _texts(value):
        if len(text) > MOST_LETTERS:
            raise MessageError(f"a text of the message has {len(text)} letters; at most {MOST_LETTERS} are kept")
        if any(unicodedata.category(letter) == "Cc" and letter not in "\n\t" for letter in text):
            raise MessageError("a text of the message holds control characters. Type it again")
    for number in _numbers(value):
        if not math.isfinite(number) or abs(number) > MOST_mm:
            raise MessageError(f"{number} in the message is no length, angle or number that a case can have")
    return value


def _numbers(value: Any) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _numbers(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _numbers(item)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _texts(getattr(value, field.name))
    elif isinstance(value, dict):
        yield from value
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


def _checked_moves(moves: tuple[MoveTo, ...]) -> None:
    if len(moves) > MOST_OBJECTS:
        raise MessageError(f"the message moves {len(moves)} objects; at most {MOST_OBJECTS} can be moved at once")
    for move in moves:
        if move.panel is None:
            continue
        if move.face not in ("A", "B"):
            raise MessageError(f"object {move.object}: {move.face!r} is no face of a panel: write A or B")
        for name, value in (("from_left_mm", move.from_left_mm), ("y_mm", move.y_mm)):
            if value is None:
                raise MessageError(f"object {move.object}: {name} = {value} is no length in mm on a panel")


def drag_of(plain: Mapping[str, Any]) -> Drag:
    """Return a drag. Raises MessageError."""
    drag = _of(Drag, plain)
    _checked_moves(drag.moves)
    return drag


def try_of(plain: Mapping[str, Any]) -> KeptTry:
    """Return moves to be kept as a try. Raises MessageError where there are none."""
    kept = _of(KeptTry, plain)
    _checked_moves(kept.moves)
    if not kept.moves:
        raise MessageError("nothing is moved on this page: there is nothing to keep as a try")
    return kept


def angles_of(plain: Mapping[str, Any]) -> Angles:
    """Return angles to be tried. Raises MessageError."""
    angles = _of(Angles, plain)
    for name, value in (("tilt", angles.tilt_deg), ("turn", angles.turn_deg), ("roll", angles.roll_deg)):
        if abs(value) > HALF_TURN_deg:
            raise MessageError(f"{name} {value:g}° is more than half a turn; say an angle from -180 to 180")
    return angles


def decision_of(plain: Mapping[str, Any]) -> Decision:
    """Return a decision. Raises MessageError where it is of no known kind, or says not who decides."""
    said = _of(Decision, plain)
    if said.what not in KINDS:
        raise MessageError(f"{said.what!r} is nothing that can be put on record; say one of {', '.join(KINDS)}")
    if not said.by.person.strip():
        raise MessageError("a decision needs the name of who made it. Write your name at the top of the page")
    if len(said.base) > MOST_OBJECTS or len(said.entries) > MOST_OBJECTS or len(said.people) > MOST_OBJECTS:
        raise MessageError(f"the message names more than {MOST_OBJECTS} things. Send less at once")
    _checked_moves(said.moves)
    return said
