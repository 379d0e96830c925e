"""One modelled find before any damage: its solid, what of it a camera can see, its box and its paint."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep_samples.colours import Painter
from scanprep_samples.solids import Solid, Triple


@dataclass(frozen=True, slots=True)
class Shape:
    """Model frame: x right, y up, z front, mm."""

    solid: Solid  # the material, with every cavity
    low: Triple
    high: Triple
    paint: Painter
    seen: Solid | None = None  # what a scanner gets where a cavity stays dark; None: all of it
