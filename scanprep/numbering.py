"""Object and hole numbers in the order in which people count: H2 before H10, FB-9 before FB-010.

A number is text as the checklist has it. Digits inside it count as numbers, everything else as text without case. Used
wherever numbers are listed.
"""

from __future__ import annotations

import re

_DIGITS = re.compile(r"([0-9]+)")

NumberKey = tuple[tuple[int, int, str], ...]


def natural_key(number: str) -> NumberKey:
    """Return a sort key for an object's or a hole's number.

    Numbers that read alike (`7`, `07`) stay apart by their spelling, so that an order never depends on what came first.

    >>> sorted(["H10", "H2", "h1", "FB-010", "FB-9"], key=natural_key)
    ['FB-9', 'FB-010', 'h1', 'H2', 'H10']
    """
    pieces = (piece for piece in _DIGITS.split(number) if piece)
    counted = tuple((0, int(piece), "") if piece.isdecimal() else (1, 0, piece.casefold()) for piece in pieces)
    return (*counted, (-1, 0, number))
