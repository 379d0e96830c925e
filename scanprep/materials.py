"""Brass, steel, acrylic and object materials: each value with its source, read from the tables beside us.

Returns typed values in mm, g, N, MPa. Rows that were not seen in a source say "from memory"; callers pass that on.
"""

from __future__ import annotations

import csv
import difflib
import functools
from dataclasses import dataclass
from importlib import resources

from scanprep.errors import InputError
from scanprep.interval import Interval


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the materials table."""

    group: str
    material: str
    prop: str
    low: float | None
    typical: float | None
    high: float | None
    unit: str
    condition: str
    source: str
    status: str  # "verified in stored text", "library's table" or "from memory"


@dataclass(frozen=True, slots=True)
class Metal:
    """A wire or rod alloy."""

    name: str
    density_g_mm3: float
    youngs_modulus_MPa: float
    shear_modulus_MPa: float
    poisson: float
    yield_hard_MPa: float  # as stocked (half hard rod, hard wire): the low end
    yield_annealed_MPa: float  # inside the soft zone of a hot joint: the low end
    yield_typical_MPa: float  # as stocked, typical: what an uncertified rod most likely has
    alpha_per_K: float
    source: str  # of stiffness, density and expansion
    yield_source: str  # of both strengths
    from_memory: tuple[str, ...] = ()  # properties that were not seen in a source


#: Everyday words for rows of the object-density table.
ALIASES = {
    "ceramic": "earthenware / terracotta",
    "terracotta": "earthenware / terracotta",
    "earthenware": "earthenware / terracotta",
    "glass": "soda-lime glass",
    "brass": "brass (object)",
    "silver": "silver 925",
    "pewter": "pewter / tin",
    "tin": "pewter / tin",
    "faience": "faience / frit body",
    "alabaster": "alabaster (gypsum)",
    "soapstone": "soapstone / steatite",
    "wood": "oak",
    "stone": "limestone",
    "iron": "wrought iron",
    "gold": "gold 18k yellow",
    "jade": "jade (nephrite-jadeite)",
    "shell": "shell / mother of pearl",
    "plaster": "plaster of Paris",
    "lacquer": "lacquer on wood core",
    "plastic": "early plastics (celluloid, casein, bakelite)",
    "wax": "beeswax",
    "textile": "textile (bulk, folded or stuffed)",
    "agate": "rock crystal / agate",
}


#: Metal of rods and wire: the table's name, the words people use for it, and the temper it is stocked in.
_METALS = (
    ("C36000 / CZ121 / CW614N free-cutting brass", ("c36000", "c360", "cz121", "cw614n", "free-cutting brass", "brass"),
     "H02"),
    ("C26000 / CW505L cartridge brass", ("c26000", "c260", "cw505l", "cartridge brass", "bendable brass"), "H02"),
    ("C77000 nickel silver 55-18", ("c77000", "c770", "nickel silver"), "H04"),
    ("C75200 nickel silver 65-18", ("c75200", "c752"), "H04"),
    ("stainless 304", ("304", "stainless", "stainless steel"), "cold drawn"),
    ("stainless 316", ("316", "316l"), "cold finished"),
)


def _maybe(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


@functools.cache
def rows() -> tuple[Row, ...]:
    """Return the whole materials table."""
    text = resources.files("scanprep.tables").joinpath("materials.csv").read_text(encoding="utf-8")
    return tuple(
        Row(line["group"], line["material"], line["property"], _maybe(line["low"]), _maybe(line["typical"]),
            _maybe(line["high"]), line["unit"], line["condition"], line["source"], line["status"])
        for line in csv.DictReader(text.splitlines())
    )


def find(material: str, prop: str, condition: str = "") -> Row:
    """Return the first row of a material's property whose condition contains some text. Raises KeyError."""
    for row in rows():
        if row.material == material and row.prop == prop and condition in row.condition:
            return row
    raise KeyError(f"the materials table has no {prop} of {material} ({condition or 'any condition'})")


def object_materials() -> tuple[str, ...]:
    """Return the names that an object's material may have."""
    return tuple(dict.fromkeys(row.material for row in rows() if row.group == "object density"))


def material_name(text: str) -> str:
    """Return the table's name for what a person wrote. Raises InputError with the nearest names."""
    wanted = text.strip().lower()
    names = {name.lower(): name for name in object_materials()}
    if wanted in names:
        return names[wanted]
    if wanted in ALIASES:
        return ALIASES[wanted]
    near = difflib.get_close_matches(wanted, [*names, *ALIASES], n=4, cutoff=0.3)
    raise InputError(field="material", value=repr(text), problem="is not in the materials table",
                     remedy=f"Write one of: {', '.join(near) or 'ceramic, glass, bronze, ivory, wood'}")


def density_g_mm3(material: str) -> tuple[Interval, str]:
    """Return the density range in g/mm3 of an object's material, and its source."""
    row = find(material_name(material), "density")
    if row.low is None or row.typical is None or row.high is None:
        raise KeyError(f"the density row of {material} is not complete")
    source = row.source or row.status
    return Interval(row.low * 1e-6, row.typical * 1e-6, row.high * 1e-6), f"{source} ({row.status})"


#: Materials of the object-density table that swell and shrink with the damp of the air.
_ORGANIC = frozenset((
    "ivory", "bone", "antler", "horn", "tortoiseshell", "oak", "birch", "maple", "ash", "pine", "spruce",
    "lime / linden", "walnut", "pear / fruitwood", "boxwood", "ebony", "lignum vitae", "bamboo", "lacquer on wood core",
    "papier-mache", "leather", "parchment", "textile (bulk, folded or stuffed)", "basketry"))


def moves_with_damp(material: str | None) -> bool:
    """Return whether an object's material moves with the humidity; False where nothing is said of it.

    >>> moves_with_damp("wood"), moves_with_damp("marble"), moves_with_damp(None)
    (True, False, False)
    """
    return material is not None and material_name(material) in _ORGANIC


def metals() -> tuple[str, ...]:
    """Return the names of the alloys that rods and wire may be of."""
    return tuple(name for name, _, _ in _METALS)


def metal_name(text: str) -> str:
    """Return the table's name of an alloy for what a person wrote. Raises InputError with the nearest names."""
    wanted = text.strip().lower()
    for name, words, _ in _METALS:
        if wanted == name.lower() or wanted in words:
            return name
    words_of = {word: name for name, words, _ in _METALS for word in (name.lower(), *words)}
    near = difflib.get_close_matches(wanted, list(words_of), n=3, cutoff=0.3)
    raise InputError(field="metal", value=repr(text), problem="is not an alloy of the materials table",
                     remedy=f"Write one of: {', '.join(dict.fromkeys(words_of[word] for word in near)) or metals()[0]}")


def _number(row: Row, end: str) -> float:
    value: float | None = getattr(row, end)
    if value is None:
        raise KeyError(f"the {row.prop} row of {row.material} has no {end} value")
    return value


def _joined(used: tuple[Row, ...]) -> str:
    parts = (part.strip() for row in used for part in row.source.split(";"))
    return "; ".join(dict.fromkeys(part for part in parts if part))


@functools.cache
def metal(name: str) -> Metal:
    """Return an alloy's properties by its name in the table or a common word for it, such as `C26000`.

    Stiffness is the typical value and strength the low end, since those are what a rod is judged by. Where the table
    has no shear modulus, G = E / (2 (1 + nu)). Raises InputError with the nearest names.

    >>> metal("brass").youngs_modulus_MPa
    97000.0
    """
    full = metal_name(name)
    temper = next(temper for known, _, temper in _METALS if known == full)
    density, young, poisson = (find(full, prop) for prop in ("density", "youngs_modulus", "poisson"))
    hard, soft = find(full, "yield", temper), find(full, "yield", "annealed")
    alpha = find(full, "thermal_expansion")
    nu, modulus_MPa = _number(poisson, "typical"), _number(young, "typical") * 1000
    shear = [row for row in rows() if row.material == full and row.prop == "shear_modulus"]
    shear_MPa = _number(shear[0], "typical") * 1000 if shear else modulus_MPa / (2 * (1 + nu))
    used = (density, young, poisson, hard, soft, alpha, *shear)
    return Metal(full, _number(density, "typical") * 1e-6, modulus_MPa, shear_MPa, nu, _number(hard, "low"),
                 _number(soft, "low"), _number(hard, "typical"), _number(alpha, "typical") * 1e-6,
                 _joined((density, young, poisson, alpha, *shear)), _joined((hard, soft)),
                 tuple(f"{row.prop} {row.condition}".strip() for row in used if row.status == "from memory"))
