"""Which column of a checklist is which: museums name and order them as they please.

A heading is compared without case, accents and punctuation; a unit at its end ("Height (mm)", "mass_g") counts for
bare numbers below it. A case file may map any other heading. Used by `files.checklist`.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.errors import InputError

#: field -> headings it is known by, normalised. The first is its own name.
HEADINGS: dict[str, tuple[str, ...]] = {
    "number": ("number", "object number", "object no", "no", "nr", "accession number", "accession no",
               "inventory number", "inventory no", "inv no", "inv nr", "catalogue number", "cat no",
               "checklist number", "id", "object id"),
    "title": ("title", "name", "object", "object name", "description", "object title"),
    "material": ("material", "materials", "medium"),
    "scan": ("scan", "scan file", "file", "mesh", "model", "scan path"),
    "unit": ("unit", "scan unit", "unit of scan", "units"),
    "known size": ("known size", "known dimension", "measured size"),
    "dimensions": ("dimensions", "dims", "size", "measurements"),
    "height": ("height", "h", "ht", "overall height"),
    "width": ("width", "w", "breadth", "overall width"),
    "depth": ("depth", "d", "overall depth"),
    "diameter": ("diameter", "diam", "dia", "o"),
    "longest": ("longest", "length", "l", "overall length"),
    "mass": ("mass", "weight", "wt", "weighed"),
    "wall": ("wall", "wall thickness"),
    "condition": ("condition", "state"),
    "pieces": ("pieces", "separate pieces", "number of pieces", "parts count"),
    "up": ("up", "up axis"),
    "front": ("front", "facing", "front axis"),
    "attitude": ("attitude", "orientation", "display attitude", "shown"),
    "tilt": ("tilt",),
    "turn": ("turn",),
    "roll": ("roll",),
    "group": ("group", "theme", "cluster", "section"),
    "order": ("order", "sequence", "position in group"),
    "panel": ("panel", "sheet"),
    "face": ("face", "side"),
    "x": ("x", "x from datum"),
    "from left": ("from left", "from left edge", "x on face"),
    "y": ("y", "y on face", "from bottom", "height on panel"),
    "tip limit": ("tip limit", "tip force limit", "force limit", "greatest tip force"),
    "pad": ("pad", "padding", "pad material"),
    "stand off": ("stand off", "standoff", "distance from panel"),
    "retention": ("retention", "post held by", "held by"),
    "parts": ("parts", "mixed materials", "other materials"),
    "no touch": ("no touch", "do not touch", "untouchable"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
}

_UNITS = {"mm": "mm", "cm": "cm", "m": "m", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "g": "g", "kg": "kg",
          "mg": "mg", "oz": "oz", "lb": "lb", "lbs": "lb", "n": "N", "deg": "deg", "degrees": "deg"}
_FIELD_OF = {heading: field for field, headings in HEADINGS.items() for heading in headings}


@dataclass(frozen=True, slots=True)
class Column:
    """One column that we read."""

    index: int
    heading: str  # as written
    field: str  # a key of HEADINGS
    unit: str | None  # for bare numbers


def plain_heading(text: str) -> str:
    """Return a heading without case, accents and punctuation.

    >>> plain_heading("  Größe (cm)")
    'grosse cm'
    """
    marked = text.replace('"', " in ").replace("″", " in ").replace("°", " deg ").replace("Ø", "o").replace("ø", "o")
    spread = unicodedata.normalize("NFKD", marked.casefold())
    letters = "".join(c for c in spread if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " for c in letters).split())


def split_unit(heading: str) -> tuple[str, str | None]:
    """Return a plain heading and the unit at its end, if one stands there after other words."""
    words = heading.split()
    if len(words) > 1 and words[-1] in _UNITS:
        return " ".join(words[:-1]), _UNITS[words[-1]]
    return heading, None


def field_of(heading: str, mapping: dict[str, tuple[str, str | None]]) -> tuple[str, str | None] | None:
    """Return the field and the unit that a heading stands for, or None for a column that is none of ours."""
    plain = plain_heading(heading)
    name, unit = split_unit(plain)
    if plain in mapping or name in mapping:
        field, mapped_unit = mapping.get(plain) or mapping[name]
        return field, mapped_unit or unit
    if plain in _FIELD_OF:
        return _FIELD_OF[plain], None
    return (_FIELD_OF[name], unit) if name in _FIELD_OF else None


def read_mapping(columns: Sequence[tuple[str, str]]) -> dict[str, tuple[str, str | None]]:
    """Return a case file's `columns` (heading -> field, perhaps with a unit: "Höhe" -> "height mm") for `field_of`.

    Raises InputError with the nearest field where one is not known.
    """
    mapping = {}
    for heading, wanted in columns:
        name, unit = split_unit(plain_heading(wanted))
        if name not in HEADINGS:
            near = difflib.get_close_matches(name, HEADINGS, n=3, cutoff=0.3)
            raise InputError(field=f"columns.{heading}", value=repr(wanted), problem="is not a field of the checklist",
                             remedy=f"Write one of: {', '.join(near or HEADINGS)}")
        mapping[plain_heading(heading)] = (name, unit)
    return mapping
