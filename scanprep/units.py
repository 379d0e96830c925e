"""Lengths, masses and angles as people write them, and back.

Inside everything is mm, g, degrees; at the edges people write `92 mm`, `3 5/8 in`, `0.25"`, `240 g`, `8.5 oz`. A bare
number where a unit matters is refused: a hole drilled in the wrong unit is permanent. Touches no files.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

G_M_S2 = 9.80665  # exact: standard gravity, ISO 80000-3

#: exact: Millimetres per unit. Inch: exactly 25.4 (international yard and pound agreement, 1959).
MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 0.001, "in": 25.4, "ft": 304.8}
_LENGTH_NAMES = {'"': "in", "″": "in", "inch": "in", "inches": "in", "'": "ft", "metre": "m", "meter": "m", "µm": "um"}

#: exact: Grams per unit. Pound: exactly 453.59237 g (same agreement); ounce is a sixteenth.
G_PER = {"g": 1.0, "kg": 1000.0, "mg": 0.001, "oz": 453.59237 / 16, "lb": 453.59237}
_MASS_NAMES = {"gram": "g", "grams": "g", "lbs": "lb", "ounce": "oz", "ounces": "oz"}

#: At most 12 digits before the point: more is a slip of the keyboard, and far more would overflow.
_NUMBER = r"(?:\d{1,12}\s+\d{1,12}/\d{1,12}|\d{1,12}/\d{1,12}|\d{1,12}(?:[.,]\d+)?|[.,]\d+)"
_QUANTITY = re.compile(rf"\s*(?P<sign>[-+])?\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s.,/+-][^\d\s]*)?\s*")


def _number(text: str) -> float:
    whole, _, fraction = text.replace(",", ".").rpartition(" ")
    try:
        if "/" in text:
            return float(Fraction(fraction) + (int(whole) if whole.strip() else 0))
    except ZeroDivisionError:
        raise ValueError(f"{text!r} divides by zero") from None
    return float(text.replace(",", "."))


def _quantity(text: str, per: dict[str, float], names: dict[str, str], what: str, example: str) -> float:
    match = _QUANTITY.fullmatch(text)
    unit = (match["unit"] or "").lower() if match else ""
    unit = names.get(unit, unit)
    if match is None or unit not in per:
        article = "an" if what[0] in "aeiou" else "a"
        raise ValueError(f"{text!r} is not {article} {what}; write a number and {', '.join(per)}, such as {example}")
    value = _number(match["number"]) * per[unit]
    return -value if match["sign"] == "-" else value


def parse_length_mm(text: str) -> float:
    """Return a length in mm from `92 mm`, `3 5/8 in`, `0.25"`, `9,2 cm`.

    Raises ValueError with a whole sentence when the unit is missing or unknown.

    >>> round(parse_length_mm("3 5/8 in"), 6)
    92.075
    """
    return _quantity(text, MM_PER, _LENGTH_NAMES, "length", "92mm or 3 5/8 in")


def parse_mass_g(text: str) -> float:
    """Return a mass in g from `240 g`, `8.5 oz`, `0.2 kg`. Raises ValueError when the unit is missing or unknown."""
    return _quantity(text, G_PER, _MASS_NAMES, "mass", "240g or 8.5 oz")


def parse_force_N(text: str) -> float:
    """Return a force in N, not below 0, from `12 N`, `1.2 kN`. Raises ValueError when the unit is missing."""
    force_N = _quantity(text, {"n": 1.0, "kn": 1000.0}, {}, "force", "12N")
    if force_N < 0:
        raise ValueError(f"{text!r} is below 0; write a force such as 12N")
    return force_N


def parse_torque_Nmm(text: str) -> float:
    """Return a twist in N mm, not below 0, from `80 N mm`, `0.08 N m`. Raises ValueError when the unit is missing.

    >>> parse_torque_Nmm("80 N mm"), parse_torque_Nmm("0.08Nm")
    (80.0, 80.0)
    """
    joined = re.sub(r"[Nn]\s*(m{1,2})\s*$", r"N\1", text)
    torque_Nmm = _quantity(joined, {"nmm": 1.0, "nm": 1000.0}, {}, "twist", "80Nmm")
    if torque_Nmm < 0:
        raise ValueError(f"{text!r} is below 0; write a twist such as 80Nmm")
    return torque_Nmm


def parse_angle_deg(text: str) -> float:
    """Return an angle in degrees from `15`, `15 deg`, `-7.5°`. Raises ValueError when it is no angle."""
    return _quantity(
        text if re.search(r"[a-z°]", text.lower()) else f"{text} deg", {"deg": 1.0, "rad": math.degrees(1.0)},
        {"°": "deg", "degrees": "deg", "degree": "deg"}, "angle", "15deg",
    )


def parse_hold_angle_deg(text: str) -> float:
    """Return a tilt, turn or roll in degrees. Raises ValueError when it is no angle or more than half a turn."""
    angle_deg = parse_angle_deg(text)
    if abs(angle_deg) > 180:
        raise ValueError(f"{text!r} is more than half a turn; write an angle from -180 to 180 deg")
    return angle_deg


def inch_fraction(value_mm: float, denominator: int = 64) -> str:
    """Return a length as whole inches and a fraction to the nearest 1/denominator, such as `3 5/8`."""
    steps = round(abs(value_mm) / MM_PER["in"] * denominator)
    whole, rest = divmod(steps, denominator)
    sign = "-" if value_mm < 0 and steps else ""
    if rest == 0:
        return f"{sign}{whole}"
    part = Fraction(rest, denominator)
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


def format_length(value_mm: float, units: str = "mm", decimals: int = 1) -> str:
    """Return a length for people: `92.1 mm`, or `3 5/8 in` where `units` is "in"."""
    if units == "in":
        return f"{inch_fraction(value_mm)} in"
    return f"{value_mm:.{decimals}f} mm"


def weight_N(mass_g: float) -> float:
    """Return the weight in N of a mass in g."""
    return mass_g * 1e-3 * G_M_S2
