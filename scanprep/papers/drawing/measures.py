"""How lengths, angles and forces are written on papers, in millimetres or inches.

A bench measure has the fineness of the tool that checks it: calipers 0.1 mm (or 1/64 in), ordinates of holes 0.01 mm
(or 0.001 in, as digital scales and the drill's digital readout show them).
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.units import MM_PER, inch_fraction


@dataclass(frozen=True, slots=True)
class Measures:
    """Millimetres or inches. Every paper says which in its title block."""

    units: str = "mm"

    def __post_init__(self) -> None:
        if self.units not in ("mm", "in"):
            raise ValueError(f"units are mm or in, not {self.units!r}")

    @property
    def name(self) -> str:
        """For the title block."""
        return "millimetres" if self.units == "mm" else "inches"

    def length(self, value_mm: float) -> str:
        """A length for calipers and rule, without its unit: `92.1`, or `3 5/8`."""
        return inch_fraction(value_mm).replace(" ", "\u00a0") if self.units == "in" else _plain(value_mm, 1)

    def fine(self, value_mm: float) -> str:
        """An ordinate or a diameter, without its unit: `92.12`, or `3.627`."""
        return _plain(value_mm / MM_PER["in"], 3) if self.units == "in" else _plain(value_mm, 2)

    def micro(self, value_mm: float) -> str:
        """A fit between rod and hole, without its unit: `4.763`, or `0.1875`."""
        return _plain(value_mm / MM_PER["in"], 4) if self.units == "in" else _plain(value_mm, 3)

    def named(self, value_mm: float) -> str:
        """A length with its unit: `92.1 mm`."""
        return f"{self.length(value_mm)} {self.units}"

    def named_fine(self, value_mm: float) -> str:
        """An ordinate or a diameter with its unit: `4.76 mm`."""
        return f"{self.fine(value_mm)} {self.units}"


def _plain(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text


def angle(value_deg: float) -> str:
    """An angle for protractor or clock mark: `12.5°`."""
    return f"{_plain(value_deg, 1)}°"


def clock(value_deg: float) -> str:
    """Where a 12 o'clock mark points, counter-clockwise for the viewer being +: `up`, `15.0° ↺`, `20.0° ↻`."""
    turned = (value_deg + 180.0) % 360.0 - 180.0
    if abs(turned) < 0.05:
        return "up"
    return f"{abs(turned):.1f}° {'↺' if turned > 0 else '↻'}"


def force(value_N: float) -> str:
    """A force with its unit, also as the reading of a gram gauge: `2.0 N (204 gf)`."""
    gf = value_N / 9.80665e-3
    return f"{value_N:.1f} N ({gf:.0f} gf)" if gf < 1000 else f"{value_N:.0f} N ({gf / 1000:.1f} kgf)"


def amount(value: float | None, unit: str = "") -> str:
    """A number of a check in three figures, with its unit; a dash where there is none."""
    if value is None:
        return "–"
    if abs(value) >= 1e6 or value != value:
        return "∞" if value > 0 else str(value)
    text = f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
    return f"{text} {unit}".rstrip()
