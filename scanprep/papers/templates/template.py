"""What a drill template says: one panel, its holes as each face's own viewer sees them, and what is not yet measured.

Plain values, filled from the case's record by whoever owns it. Both faces are told from one datum corner, face A's
lower left, which is face B's lower right once the sheet is turned about its long edge: so a sheet that is a millimetre
wider than ordered still registers. The ordinates are the authority; the printed sheet checks them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.panel.faces import FaceName, x_on_other_face_mm

STATES = ("planned", "marked", "drilled", "void")


@dataclass(frozen=True, slots=True)
class TemplateHole:
    """One hole as a template shows it. x, y: its own face's frame, mm."""

    number: str  # the hole's own number: a moved anchor is a new hole
    object_number: str
    face: FaceName
    x_mm: float
    y_mm: float
    drill: str  # catalogue label
    drill_diameter_mm: float
    depth_mm: float  # cylindrical part
    through: bool
    post_diameter_mm: float
    session: int
    clock_deg: float = 0.0  # counter-clockwise from straight up, as this face's viewer sees it
    state: str = "planned"
    unmeasured: tuple[str, ...] = ()  # what must be measured before this hole is drilled
    was_drilled: bool = False  # of a void hole: there is a real hole in the sheet

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise ValueError(f"a hole is {', '.join(STATES)}, not {self.state!r}")
        if not self.drill_diameter_mm > 0:
            raise ValueError(f"hole {self.number}: drill_diameter_mm must be above 0; got {self.drill_diameter_mm}")


    @property
    def to_drill(self) -> bool:
        """Whether it is still to be drilled."""
        return self.state in ("planned", "marked")


@dataclass(frozen=True, slots=True)
class TemplatePanel:
    """One sheet with the holes of both faces."""

    name: str
    width_mm: float
    height_mm: float
    thickness_mm: float
    thickness_measured: bool
    holes: tuple[TemplateHole, ...]

    def __post_init__(self) -> None:
        for hole in self.holes:
            if not (0 <= hole.x_mm <= self.width_mm and 0 <= hole.y_mm <= self.height_mm):
                raise ValueError(f"hole {hole.number} at {hole.x_mm}, {hole.y_mm} lies outside panel {self.name}")
        twice = [f"{number} on face {face}" for (number, face), count in
                 Counter((hole.number, hole.face) for hole in self.holes).items() if count > 1]
        if twice:
            raise ValueError(f"panel {self.name}: hole numbers given twice: {', '.join(twice)}")

    def on(self, face: FaceName) -> tuple[TemplateHole, ...]:
        """The holes drilled from a face, in reading order: from the top down, then from the viewer's left."""
        return tuple(sorted((h for h in self.holes if h.face == face), key=lambda h: (-h.y_mm, h.x_mm, h.number)))


@dataclass(frozen=True, slots=True)
class Correction:
    """How much a printer must be told to stretch so that its print comes out true; 1.0 = not at all."""

    x_ratio: float = 1.0
    y_ratio: float = 1.0

    @classmethod
    def from_bars(cls, nominal_x_mm: float, measured_x_mm: float, nominal_y_mm: float,
                  measured_y_mm: float) -> Correction:
        """Return the correction from two check bars measured on a print with a steel rule.

        Raises ValueError where a print is off by more than 2 %: then the printer's scaling is on, and is to be
        switched off instead.
        """
        for name, nominal, measured in (("x", nominal_x_mm, measured_x_mm), ("y", nominal_y_mm, measured_y_mm)):
            if not (nominal > 0 and measured > 0) or abs(nominal / measured - 1) > 0.02:
                raise ValueError(f"the {name} bar of {nominal:g} mm measured {measured:g} mm: a print that far off "
                                 "was scaled to fit; print it again at 100 %")
        return cls(nominal_x_mm / measured_x_mm, nominal_y_mm / measured_y_mm)

    @property
    def is_none(self) -> bool:
        """Whether nothing is corrected."""
        return self.x_ratio == 1.0 and self.y_ratio == 1.0


def datum_x_mm(hole: TemplateHole, panel: TemplatePanel) -> float:
    """Return a hole's distance from the datum edge, which is face A's left and face B's right: the panel frame's x."""
    return hole.x_mm if hole.face == "A" else x_on_other_face_mm(hole.x_mm, panel.width_mm)


def unmeasured_reasons(panel: TemplatePanel, holes: Sequence[TemplateHole]) -> tuple[str, ...]:
    """Return what stands between this sheet and drilling, each once: empty means it may be drilled from."""
    open_holes = [hole for hole in holes if hole.to_drill]
    reasons: dict[str, list[str]] = {}
    if open_holes and not panel.thickness_measured and not all(hole.through for hole in open_holes):
        reasons[f"thickness of panel {panel.name} is not measured (nominal {panel.thickness_mm:g} mm)"] = []
    for hole in open_holes:
        for reason in hole.unmeasured:
            reasons.setdefault(reason, []).append(hole.number)
    return tuple(
        f"{reason}: {'holes' if len(numbers) > 1 else 'hole'} {', '.join(numbers)}" if numbers else reason
        for reason, numbers in reasons.items())
