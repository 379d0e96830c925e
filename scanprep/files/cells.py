"""One cell of a checklist or case file as a typed value.

Lengths, masses and angles carry a unit in the cell, or take the column's; a bare number without either is refused.
Every function raises ValueError with a sentence; the caller adds file, row and column.
"""

from __future__ import annotations

import math
import re

from scanprep.brief import KnownSize, MaterialRegion, Region
from scanprep.materials import material_name
from scanprep.units import MM_PER, parse_hold_angle_deg, parse_length_mm, parse_mass_g
from scanprep.vectors import parse_direction

_BARE = re.compile(r"[-+]?(?:\d+\s+\d+/\d+|\d+/\d+|\d*[.,]?\d+)")
_THOUSANDS = re.compile(r"\d[.,]\d{3}(?!\d).*[.,]\d|\d,\d{3}(?!\d)")
#: From the most fragile: where a text names several, the first wins.
CONDITIONS = ("flaking", "gilded", "repaired", "sound")
#: What of a condition says that the object is not one stiff shape.
MOVING = ("articulated", "flexible", "hinged", "jointed", "limp", "loose", "moving", "rattling", "strung", "wobbly")
_DENIED = ("no", "not", "nothing", "without")
_SIZE_WORDS = {"h": "height", "ht": "height", "height": "height", "w": "width", "width": "width", "d": "depth",
               "depth": "depth", "diam": "diameter", "dia": "diameter", "diameter": "diameter", "ø": "diameter",
               "l": "longest", "length": "longest", "longest": "longest"}
_NUMBER = r"\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?"
_LABELLED = re.compile(
    rf"(?P<word>ø|[a-z]+)\.?\s*:?\s*(?P<number>{_NUMBER})\s*(?P<unit>mm|cm|m|in|inches|\"|″)?\.?(?![a-z])"
)


def _with_unit(text: str, unit: str | None) -> str:
    stripped = text.strip().rstrip(".")
    if _THOUSANDS.search(stripped):
        raise ValueError(f"{text!r} can be read in two ways; write it without a comma between thousands")
    return f"{stripped} {unit}" if unit and _BARE.fullmatch(stripped) else stripped


def length_mm(text: str, unit: str | None = None) -> float:
    """Return a length in mm; a bare number takes the column's unit."""
    return parse_length_mm(_with_unit(text, unit))


def positive_length_mm(text: str, unit: str | None = None) -> float:
    """Return a length that must be above zero."""
    value = length_mm(text, unit)
    if value <= 0:
        raise ValueError(f"{text!r} must be above 0")
    return value


def mass_g(text: str, unit: str | None = None) -> float:
    """Return a mass in g, above zero; a bare number takes the column's unit."""
    value = parse_mass_g(_with_unit(text, unit))
    if value <= 0:
        raise ValueError(f"{text!r} must be above 0")
    return value


def angle_deg(text: str, unit: str | None = None) -> float:
    """Return a hold angle in degrees; a bare number is degrees."""
    return parse_hold_angle_deg(_with_unit(text, unit))


def force_N(text: str, unit: str | None = None) -> float:
    """Return a force in N, >= 0, from `2 N`."""
    match = re.fullmatch(r"\s*(\d{1,12}(?:[.,]\d+)?)\s*N\s*", _with_unit(text, unit))
    if match is None:
        raise ValueError(f"{text!r} is not a force; write a number and N, such as 2 N")
    return float(match[1].replace(",", "."))


def plain_number(text: str) -> float:
    """Return a number without unit."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):  # "inf" and "nan" are numbers to Python, not to a checklist
        raise ValueError(f"{text!r} is not a number")
    return value


def count(text: str) -> int:
    """Return a whole number of at least 1."""
    value = plain_number(text)
    if value < 1 or value != int(value):
        raise ValueError(f"{text!r} is not a whole number of at least 1")
    return int(value)


def face(text: str) -> str:
    """Return "A" or "B"."""
    name = text.strip().upper().removeprefix("FACE").strip()
    if name not in ("A", "B"):
        raise ValueError(f"{text!r} is not a face; write A or B")
    return name


def scan_unit(text: str) -> str:
    """Return a unit of a scan's coordinates."""
    written = text.strip().lower()
    name = {"millimetre": "mm", "metre": "m", "meter": "m", "inch": "in"}.get(written, written)
    if name not in MM_PER:
        raise ValueError(f"{text!r} is not a unit; write {', '.join(MM_PER)}")
    return name


def condition(text: str) -> str:
    """Return the most fragile condition that a text names, "" where it names none of ours."""
    words = re.findall(r"[a-z]+", text.lower())
    return next((name for name in CONDITIONS if name in words), "")


def moving(text: str) -> str:
    """Return the first word of a condition that says a part moves, "" where none does or it is denied ("not loose")."""
    words = re.findall(r"[a-z]+", text.lower())
    return next((word for before, word in zip(["", *words], words) if word in MOVING and before not in _DENIED), "")


def known_sizes(text: str) -> tuple[KnownSize, ...]:
    """Return known sizes from `height 92 mm; diameter 3 5/8 in`, or with an = between."""
    found = []
    for part in (piece for piece in text.split(";") if piece.strip()):
        word, _, value = part.replace("=", " ").strip().partition(" ")
        kind = _SIZE_WORDS.get(word.lower().strip(".:"))
        if kind is None or not value.strip():
            raise ValueError(f"{part.strip()!r} is not a known size; write one such as height 92 mm")
        found.append(KnownSize(kind, positive_length_mm(value)))
    return tuple(found)


def dimensions(text: str, unit: str | None = None) -> tuple[KnownSize, ...]:
    """Return labelled dimensions from `H. 9.2 x W. 4.5 x D. 4.5 cm`; the last unit counts for those without."""
    lowered = text.lower().replace("×", "x")
    found = [(m["word"], m["number"], m["unit"]) for m in _LABELLED.finditer(lowered.replace(" x ", "  "))]
    if not found or any(word not in _SIZE_WORDS for word, _, _ in found):
        raise ValueError(f"{text!r} does not say which number is which; write H 9.2 x W 4.5 x D 4.5 cm")
    last = next((u for _, _, u in reversed(found) if u), unit)
    return tuple(KnownSize(_SIZE_WORDS[word], positive_length_mm(number, own or last)) for word, number, own in found)


_REGIONS = ("write `box x y z sx sy sz mm why`, `ball x y z r mm why`, `plane x y z nx ny nz mm why` (the side n "
            "points to), `beyond +y 80 mm why` or `colour #ff00ff why`, in the scan's axes")


def regions(text: str) -> tuple[Region, ...]:
    """Return the parts of a surface that a cell names, several divided by `;`.

    box cx cy cz sx sy sz UNIT why    ball cx cy cz r UNIT why    plane x y z nx ny nz UNIT why
    beyond DIRECTION distance UNIT why    colour #rrggbb why
    """
    return tuple(_region(piece.split(), piece.strip()) for piece in text.split(";") if piece.strip())


def parts(text: str) -> tuple[MaterialRegion, ...]:
    """Return the parts of other material that a cell names: `bronze: box ...; ivory: ball ...`."""
    found = []
    for piece in (piece.strip() for piece in text.split(";") if piece.strip()):
        stuff, colon, region = piece.partition(":")
        if not colon:
            raise ValueError(f"{piece!r} names no material; write such as bronze: box x y z sx sy sz mm")
        found.append(MaterialRegion(_region(region.split(), region.strip()), material_name(stuff.strip())))
    return tuple(found)


def _region(words: list[str], text: str) -> Region:
    kind = words[0].lower() if words else ""
    if kind in ("colour", "color") and len(words) > 1 and re.fullmatch(r"#[0-9a-fA-F]{6}", words[1]):
        red, green, blue = (int(words[1][k:k + 2], 16) for k in (1, 3, 5))
        return Region("colour", colour=(red, green, blue), why=" ".join(words[2:]))
    numbers = {"box": 6, "ball": 4, "plane": 6, "beyond": 2}.get(kind)
    if numbers is None or len(words) < numbers + 2 or words[numbers + 1] not in MM_PER:
        raise ValueError(f"{text!r} is not a region; {_REGIONS}")
    per, why = MM_PER[words[numbers + 1]], " ".join(words[numbers + 2:])
    if kind == "beyond":
        way, far = parse_direction(words[1]), plain_number(words[2]) * per
        return Region("plane", (way[0] * far, way[1] * far, way[2] * far), normal=way, why=why)
    values = [plain_number(word) for word in words[1:numbers + 1]]
    centre = (values[0] * per, values[1] * per, values[2] * per)
    if kind == "plane":
        if not any(values[3:]):
            raise ValueError(f"{text!r}: the direction n has no length")
        return Region(kind, centre, normal=(values[3], values[4], values[5]), why=why)
    if min(values[3:]) <= 0:
        raise ValueError(f"{text!r}: sizes must be above 0")
    size = [value * per for value in values[3:]]
    return Region(kind, centre, (size[0], size[1], size[2]) if kind == "box" else (size[0], 0.0, 0.0), why=why)
