"""What a drill template says: one panel, its holes as each face's own viewer sees them, and which of them are released.

Plain values, filled from the case's record by whoever owns it. Both faces are told from one datum corner, face A's
lower left, which is face B's lower right once the sheet is turned about its long edge: so a sheet that is a millimetre
wider than ordered still registers. The ordinates are the authority; the printed sheet checks them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scanprep.numbering import natural_key
from scanprep.panel.faces import FaceName, datum_x_of
from scanprep.rules import CaseRules

NOT_FOR_DRILLING = "NOT FOR DRILLING"
_LISTED, _LEFT_OUT = 6, 3  # layout: names listed of a reason that holds all, and left out of "every one"
STATES = ("planned", "marked", "drilled", "void")


@dataclass(frozen=True, slots=True)
class TemplateHole:
    """One hole as a template shows it. x, y: its own face's frame, mm."""

    number: str  # the hole's own number: a moved anchor is a new hole
    object_number: str
    face: FaceName
    from_left_mm: float
    y_mm: float
    drill: str  # catalogue label
    drill_diameter_mm: float
    depth_mm: float  # cylindrical part
    through: bool
    post_diameter_mm: float
    session: int
    clock_deg: float = 0.0  # counter-clockwise from straight up, as this face's viewer sees it
    state: str = "planned"
    held: tuple[str, ...] = ()  # why it may not be drilled yet or, once drilled, not be used; empty: nothing is
    was_drilled: bool = False  # of a void hole: there is a real hole in the sheet

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise ValueError(f"a hole is {', '.join(STATES)}, not {self.state!r}")
        if not self.drill_diameter_mm > 0:
            raise ValueError(f"hole {self.number}: drill_diameter_mm must be above 0; got {self.drill_diameter_mm}")

    @property
    def waits(self) -> bool:
        """Whether it is not drilled yet, released or not."""
        return self.state in ("planned", "marked")

    @property
    def released(self) -> bool:
        """Whether it may be drilled now."""
        return self.waits and not self.held

    @property
    def standing(self) -> str:
        """Its release in one word, as every paper and file spells it: released, held, drilled or not used."""
        if self.state == "void":
            return "not used"
        if self.state == "drilled":
            return "drilled"
        return "held" if self.held else "released"


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
            if not (0 <= hole.from_left_mm <= self.width_mm and 0 <= hole.y_mm <= self.height_mm):
                raise ValueError(f"hole {hole.number}, {hole.from_left_mm} from the left and {hole.y_mm} up, lies "
                                 f"outside panel {self.name}")
        twice = [f"{number} on face {face}" for (number, face), count in
                 Counter((hole.number, hole.face) for hole in self.holes).items() if count > 1]
        if twice:
            raise ValueError(f"panel {self.name}: hole numbers given twice: {', '.join(twice)}")

    def on(self, face: FaceName) -> tuple[TemplateHole, ...]:
        """The holes drilled from a face, in reading order: from the top down, then from the viewer's left."""
        return tuple(sorted((h for h in self.holes if h.face == face),
                            key=lambda h: (-h.y_mm, h.from_left_mm, natural_key(h.number))))


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
            if not (nominal > 0 and measured > 0) or abs(nominal / measured - 1) > CaseRules().print_off_share:
                raise ValueError(f"the {name} bar of {nominal:g} mm measured {measured:g} mm: a print that far off "
                                 "was scaled to fit; print it again at 100 %")
        return cls(nominal_x_mm / measured_x_mm, nominal_y_mm / measured_y_mm)

    @property
    def words(self) -> str:
        """What every page that was stretched, and the tables beside it, say of it; empty where nothing is corrected."""
        return "" if self.is_none else (f"STRETCHED FOR ONE PRINTER: x × {self.x_ratio:.5f}, y × {self.y_ratio:.5f}: "
                                        "no other printer may be used")

    @property
    def is_none(self) -> bool:
        """Whether nothing is corrected."""
        return self.x_ratio == 1.0 and self.y_ratio == 1.0


def datum_x_mm(hole: TemplateHole, panel: TemplatePanel) -> float:
    """Return a hole's distance from the datum edge, which is face A's left and face B's right: the panel frame's x."""
    return datum_x_of(hole.face, hole.from_left_mm, panel.width_mm)


def reason_lines(held: Iterable[tuple[str, Sequence[str]]], what: str) -> tuple[str, ...]:
    """Return reasons, each once, those that hold most first: `rod 3/16 is not measured: holes H2, H5`.

    held  (name, its reasons)
    what  a name's kind, such as "hole"

    What holds every one of many, or all but a few, is said so: `every held hole (12) but H2`.
    """
    reasons: dict[str, list[str]] = {}
    every = list[str]()
    for name, own in held:
        every += [name] if own else []
        for reason in own:
            reasons.setdefault(reason, []).append(name)

    def whose(names: Sequence[str]) -> str:
        others = [name for name in every if name not in names]
        if len(names) <= _LISTED or len(others) > _LEFT_OUT:
            return f"{what}{'s' if len(names) > 1 else ''} {', '.join(names)}"
        return f"every held {what} ({len(names)}){' but ' if others else ''}{', '.join(others)}"

    return tuple(f"{reason}: {whose(names)}"
                 for reason, names in sorted(reasons.items(), key=lambda pair: -len(pair[1])))


def held_reasons(holes: Sequence[TemplateHole]) -> tuple[str, ...]:
    """Return why holes are held, one reason a line; empty: none is held."""
    return reason_lines(((hole.number, hole.held) for hole in holes if hole.state != "void"), "hole")


def stamp_words(holes: Sequence[TemplateHole]) -> str:
    """Return the stamp of a paper that gives figures of some holes; empty where every one of them is released or made.

    NOT FOR DRILLING where holes are held and none may be drilled; which ones are held where others may; and where
    nothing is left to drill, which ones are not to be used yet.
    """
    held = [hole.number for hole in holes if hole.standing == "held"]
    if held:
        released = any(hole.released for hole in holes)
        return f"HELD, do not drill: {', '.join(held)}" if released else NOT_FOR_DRILLING
    unused = [hole.number for hole in holes if hole.standing == "drilled" and hole.held]
    return f"DRILLED, not to be used yet: {', '.join(unused)}" if unused else ""
