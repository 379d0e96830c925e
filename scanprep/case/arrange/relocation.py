"""Where an object goes when it is moved: along its face, to the other face, to another panel, off, or to a first place.

Along a face a move has a length and a way, as that face's viewer sees it. To the other face of the same panel the hole
moves along the sheet by what both faces' coordinates say of one axis; an object that only changes sides has moved 0 mm
along it and yet is a new hole, so the way is told before the figure. Between panels there is no length.
Used by `tryout` and `nudge`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from scanprep.brief import PanelBrief
from scanprep.case.placed import FacePosition
from scanprep.panel.faces import datum_x_of, from_left_of

Way = Literal["along its face", "to the other face", "to another panel", "to a first place", "off the panels"]
#: Every way there is, in the order in which they are counted.
WAYS: tuple[Way, ...] = ("along its face", "to the other face", "to another panel", "to a first place",
                         "off the panels")
#: layout: A shift below this is 0.0 when it is written with one decimal.
TOLD_mm = 0.05


@dataclass(frozen=True, slots=True)
class Relocation:
    """One object's move."""

    number: str
    way: Way
    along_mm: float | None  # between the two hole axes, along the sheet; None where they are not in one sheet
    sentence: str


def relocation(number: str, before: FacePosition | None, after: FacePosition | None,
               panels: Mapping[str, PanelBrief]) -> Relocation | None:
    """Return how an object was moved; None where it stands as before.

    panels  by name; where the stand's is not among them, nothing is said of how far along its sheet
    """
    if before == after:
        return None
    if after is None:
        return Relocation(number, "off the panels", None, f"object {number}: off {_named(before)}")
    to = f"to {_spot(after, panels)} on {_named(after)}"
    if before is None:
        return Relocation(number, "to a first place", None, f"object {number}: {to}; it had no place")
    if before.panel != after.panel:
        return Relocation(number, "to another panel", None, f"object {number}: from {_named(before)} {to}")
    if before.face == after.face:
        dx, dy = after.from_left_mm - before.from_left_mm, after.y_mm - before.y_mm
        return Relocation(number, "along its face", float(np.hypot(dx, dy)),
                          f"object {number}: {ways_of(dx, dy)}, {to}")
    turned = (f"object {number}: from face {before.face} to face {after.face} of {after.panel}, to "
              f"{_spot(after, panels)}")
    panel = panels.get(after.panel)
    if panel is None:
        return Relocation(number, "to the other face", None, turned)
    x_mm = datum_x_of(after.face, after.from_left_mm, panel.width_mm)
    dx = from_left_of(before.face, x_mm, panel.width_mm) - before.from_left_mm
    dy = after.y_mm - before.y_mm
    along = float(np.hypot(dx, dy))
    shift = "on the same axis" if along < TOLD_mm else f"its hole {ways_of(dx, dy)} as face {before.face} sees it"
    return Relocation(number, "to the other face", along, f"{turned}; {shift}")


def ways_of(dx_mm: float, dy_mm: float) -> str:
    """Return a shift in words: "3.0 mm left and 1.5 mm up"; what is under half a tenth is left out."""
    shifts = ((dx_mm, ("right", "left")), (dy_mm, ("up", "down")))
    told = [f"{abs(d):.1f} mm {way[int(d < 0)]}" for d, way in shifts if abs(d) >= TOLD_mm]
    return " and ".join(told) or "under 0.1 mm"


def _spot(stand: FacePosition, panels: Mapping[str, PanelBrief]) -> str:
    """X and Y from the datum corner; from the face's own left edge where the sheet's width is not known."""
    panel = panels.get(stand.panel)
    across = (f"{stand.from_left_mm:.1f} from its left" if panel is None
              else f"X {datum_x_of(stand.face, stand.from_left_mm, panel.width_mm):.1f}")
    return f"{across}, Y {stand.y_mm:.1f}"


def _named(stand: FacePosition | None) -> str:
    return "" if stand is None else f"{stand.panel} {stand.face}"
