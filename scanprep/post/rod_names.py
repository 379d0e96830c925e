"""Rods by what they are, however somebody spells them: `3/16`, `3/16 in` and `3/16"` are one rod, a tube another.

A rod is told by its nominal diameter and by whether it is a tube; its metal and its lot are said beside it. Wire is
named by its gauge. mm. Used by `post.fit`, the case file and the record.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from scanprep.units import parse_length_mm

_SAME_mm = 1e-3  # tolerance: tables print a 32nd of an inch to four decimals; no two stock sizes are so near


@dataclass(frozen=True, slots=True)
class RodSize:
    """What a rod's name says: its nominal diameter (0 for wire, which goes by its gauge) and its form."""

    diameter_mm: float
    tube: bool = False
    gauge: str = ""  # "20 ga"


@functools.lru_cache(maxsize=512)  # a check of 120 objects compares names 27,000 times
def rod_size(label: str) -> RodSize:
    """Return what a rod's name says; a bare fraction is inches. Raises ValueError where it is no size.

    >>> round(rod_size("3/16").diameter_mm, 4), rod_size("5 mm tube")
    (4.7625, RodSize(diameter_mm=5.0, tube=True, gauge=''))
    """
    plain = " ".join(label.lower().replace("ø", "").replace("⌀", "").split())
    if match := re.fullmatch(r"(\d+) ?(?:ga|gauge|awg)", plain):
        return RodSize(0.0, gauge=f"{match[1]} ga")
    tube = bool(re.search(r"\btube\b", plain))
    size = re.sub(r"\b(tube|rod)\b", "", plain).strip()
    if re.fullmatch(r"\d+/\d+", size):
        size += " in"
    try:
        return RodSize(parse_length_mm(size), tube)
    except ValueError:
        raise ValueError(f"{label!r} is not a rod's size; write it as 3/16, 5 mm, 3/16 tube or 20 ga") from None


def same_rod(first: str, second: str) -> bool:
    """Return whether two names mean the same rod. Raises ValueError where one is no size.

    >>> same_rod("3/16", "4.7625 mm"), same_rod("3/16", "3/16 tube")
    (True, False)
    """
    one, other = rod_size(first), rod_size(second)
    return (one.tube, one.gauge) == (other.tube, other.gauge) and abs(one.diameter_mm - other.diameter_mm) < _SAME_mm
