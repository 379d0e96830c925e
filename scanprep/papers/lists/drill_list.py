"""The drill list: every hole released to be drilled, set-up by set-up, bit by bit, so that bits change least.

A set-up is one face of one panel, face up on the table. Within it, every bit is put in once; the bit that is in the
chuck at the end of a set-up stays in for the next one where that needs it too. The order of panels, of faces and of
bits is the one with the fewest changes: exact up to six panels, else in the panels' own order. Held holes are listed
apart, with what each waits for and no figure to drill by. Pure values.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.cautions import NO_SOLVENT
from scanprep.panel.faces import FACES, FaceName
from scanprep.papers.drawing.grid import Cell, TickBox
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.drawing.tables import Table, Value
from scanprep.papers.templates.template import NOT_FOR_DRILLING, TemplateHole, TemplatePanel, datum_x_mm
from scanprep.rules import PostRules

_ROW_mm = 60.0  # layout: of the order of drilling: holes in a strip so high are one row

_MOST_PANELS = 6  # tolerance: 6! orders x 2^6 faces first: 46 080 short sums


@dataclass(frozen=True, slots=True)
class SetUp:
    """One face on the drill table, its bits in order."""

    panel: TemplatePanel
    face: FaceName
    bits: tuple[str, ...]

    def holes(self, bit: str) -> tuple[TemplateHole, ...]:
        """The holes of one bit, top down, each row from where the last one ended."""
        found = [h for h in self.panel.on(self.face) if h.released and h.drill == bit]
        rows: list[list[TemplateHole]] = []
        for hole in found:  # already top down
            if rows and rows[-1][0].y_mm - hole.y_mm < _ROW_mm:
                rows[-1].append(hole)
            else:
                rows.append([hole])
        return tuple(hole for i, row in enumerate(rows)
                     for hole in sorted(row, key=lambda h: h.from_left_mm, reverse=i % 2 == 1))


def _needs(panel: TemplatePanel, face: FaceName) -> tuple[str, ...]:
    sizes = {h.drill: h.drill_diameter_mm for h in panel.on(face) if h.released}
    return tuple(sorted(sizes, key=lambda drill: (sizes[drill], drill)))


def _bit_order(needs: Sequence[tuple[str, ...]]) -> tuple[int, list[tuple[str, ...]]]:
    """The least number of bits put in for set-ups in a given order, and each set-up's bits in that order.

    State: the bit in the chuck at a set-up's end. A set-up with bits S costs |S|, less one where it starts with the bit
    that is in; with more than one bit it cannot start and end with the same.
    """
    best: dict[str, tuple[int, list[tuple[str, ...]]]] = {"": (0, [])}
    for bits in needs:
        after: dict[str, tuple[int, list[tuple[str, ...]]]] = {}
        for chuck, (cost, done) in best.items():
            for last in bits:
                first = chuck if chuck in bits and (chuck != last or len(bits) == 1) else next(
                    (b for b in bits if b != last), last)
                total = cost + len(bits) - (first == chuck)
                if last not in after or total < after[last][0]:
                    middle = tuple(b for b in bits if b not in (first, last))
                    order = (first, *middle, last) if len(bits) > 1 else (last,)
                    after[last] = (total, [*done, order])
        best = after or best
    return min(best.values(), key=lambda pair: pair[0])


def set_ups(panels: Sequence[TemplatePanel]) -> tuple[tuple[SetUp, ...], int]:
    """Return the set-ups in drilling order, and how often a bit is put in the chuck in all.

    Both faces of a panel follow each other, so that each panel is lifted on the table once.
    """
    busy = [panel for panel in panels if any(h.released for h in panel.holes)]
    if not busy:
        return (), 0
    needs = [{face: _needs(panel, face) for face in FACES} for panel in busy]
    best: tuple[int, list[tuple[str, ...]], list[tuple[int, FaceName]]] | None = None
    orders = itertools.permutations(range(len(busy))) if len(busy) <= _MOST_PANELS else iter([tuple(range(len(busy)))])
    for order in orders:
        for flips in itertools.product((False, True), repeat=len(busy)):
            faces = [(i, face) for i, flip in zip(order, flips, strict=True)
                     for face in (reversed(FACES) if flip else FACES) if needs[i][face]]
            count, bits = _bit_order([needs[i][face] for i, face in faces])
            if best is None or count < best[0]:
                best = (count, bits, faces)
    assert best is not None
    return tuple(SetUp(busy[i], face, bits) for (i, face), bits in zip(best[2], best[1], strict=True)), best[0]


DrillRow = tuple[int, SetUp, str, TemplateHole, bool]


def drill_rows(panels: Sequence[TemplatePanel]) -> tuple[list[DrillRow], int]:
    """Return (number, set-up, bit, hole, whether a bit is put in first) in drilling order, and how many bits are put
    in."""
    rows: list[DrillRow] = []
    chuck = ""
    ordered, changes = set_ups(panels)
    for set_up in ordered:
        for bit in set_up.bits:
            for hole in set_up.holes(bit):
                rows.append((len(rows) + 1, set_up, bit, hole, bit != chuck))
                chuck = bit
    return rows, changes


def speed_words(panels: Sequence[TemplatePanel], rules: PostRules) -> str:
    """Return for each bit how fast it turns, in rev/min, and which point it is ground to.

    n = v / (pi d): cutting speed over the drill's circumference.
    """
    holes: dict[str, list[TemplateHole]] = {}
    for _, _, bit, hole, _ in drill_rows(panels)[0]:
        holes.setdefault(bit, []).append(hole)
    said = []
    for bit, own in holes.items():
        around_mm = math.pi * own[0].drill_diameter_mm
        slow, fast = (speed * 1000.0 / around_mm for speed in (rules.drill_speed_low_m_per_min,
                                                               rules.drill_speed_high_m_per_min))
        deep = any(not h.through and h.depth_mm > rules.deep_hole_diameters * h.drill_diameter_mm for h in own)
        point = rules.drill_point_deg if deep else rules.shallow_point_deg
        said.append(f"{bit}: {round(slow, -1):.0f} to {round(fast, -1):.0f} rev/min, point {point:.0f}°")
    return "; ".join(said)


def drill_sheets(panels: Sequence[TemplatePanel], issue: Issue, rules: PostRules) -> list[Sheet]:
    """Return the drill list as pages."""
    measures = issue.measures
    ordered, changes = drill_rows(panels)
    rows: list[list[Cell]] = []
    for number, set_up, bit, hole, change in ordered:
        depth = "through" if hole.through else measures.length(hole.depth_mm)
        rows.append([str(number), f"{set_up.panel.name} {set_up.face}", f"▶ {bit}" if change else bit,
                     measures.fine(hole.drill_diameter_mm), depth, hole.number, hole.object_number,
                     measures.fine(datum_x_mm(hole, set_up.panel)), measures.fine(hole.y_mm), TickBox(), ""])
    counts = Counter(bit for _, _, bit, _, _ in ordered)
    totals = ", ".join(f"{count} × {bit}" for bit, count in counts.items()) or "none"
    notes = (f"Holes by bit: {totals}. A bit is put in {changes} {'times' if changes != 1 else 'time'} (▶), "
             "the fewest that this case allows.",
             "Face up on the table, fully supported, two people to turn it. Set the depth stop with the bit in, on an "
             f"offcut, each time a bit goes in; peck every diameter, clear chips, {NO_SOLVENT}.",
             f"Speed and point: {speed_words(panels, rules) or 'none'}. Feed {rules.drill_feed_low_mm_per_rev:g} to "
             f"{rules.drill_feed_high_mm_per_rev:g} mm/rev; lips ground for acrylic, rake at most "
             f"{rules.drill_rake_deg:g}°, clearance at least {rules.drill_clearance_deg:g}°: try them on the coupons.",
             "Measure the first hole of each bit with a pin gauge before the next.")
    held = held_rows(panels)
    more = len(_held_sheets(held, issue, 0))
    warning = f"{len(held)} holes are HELD and not on this list: see its last sheets" if held else ""
    released = list_sheets(
        issue, "Drill list", "all panels", "Drill list in drilling order: released holes only",
        lambda width: stretched_columns(width, (
            ("n", 8, "end"), ("face up", 18, "start"), ("bit", 21, "start"), ("⌀", 12, "end"), ("depth", 14, "end"),
            ("hole", 20, "start"), ("object", 22, "start"), (f"X {measures.units}", 17, "end"),
            (f"Y {measures.units}", 17, "end"), ("✓", 6, "start"), ("measured ⌀, signed", 30, "start"))),
        rows, notes=notes, warning=warning if rows else warning and f"{NOT_FOR_DRILLING}\n{warning}", least_row_mm=5.5,
        more_pages=more)
    return [*released, *_held_sheets(held, issue, len(released))]


HeldRow = tuple[TemplatePanel, TemplateHole]


def held_rows(panels: Sequence[TemplatePanel]) -> list[HeldRow]:
    """Return the holes that wait for something, panel by panel, in reading order."""
    return [(panel, hole) for panel in panels for face in FACES for hole in panel.on(face) if hole.standing == "held"]


def _held_sheets(held: Sequence[HeldRow], issue: Issue, before: int) -> list[Sheet]:
    """The holes that may not be drilled and what each waits for; no drill, depth or place is given. None, no pages."""
    if not held:
        return []
    return list_sheets(
        issue, "Drill list", "held holes", "Held holes: not to be drilled",
        lambda width: stretched_columns(width, (
            ("hole", 20, "start"), ("object", 24, "start"), ("face", 20, "start"), ("waits for", 120, "start"))),
        [[hole.number, hole.object_number, f"{panel.name} {hole.face}", "\n".join(hole.held)] for panel, hole in held],
        warning=NOT_FOR_DRILLING, pages_before=before)


def drill_table(panels: Sequence[TemplatePanel]) -> Table:
    """Return the drill list for CSV and XLSX, in mm; held holes come last and have no figures."""
    rows: list[tuple[Value, ...]] = [
        (number, set_up.panel.name, set_up.face, bit, round(hole.drill_diameter_mm, 4),
         None if hole.through else round(hole.depth_mm, 2), hole.number, hole.object_number,
         round(datum_x_mm(hole, set_up.panel), 3), round(hole.y_mm, 3), round(hole.from_left_mm, 3), hole.clock_deg,
         hole.session, "yes" if change else "", hole.standing, "")
        for number, set_up, bit, hole, change in drill_rows(panels)[0]]
    rows += [(None, panel.name, hole.face, None, None, None, hole.number, hole.object_number, None, None, None, None,
              None, "", hole.standing, "; ".join(hole.held)) for panel, hole in held_rows(panels)]
    return Table("drill list", ("n", "panel", "face", "drill", "drill_diameter_mm", "depth_mm", "hole", "object",
                                "x_mm", "y_mm", "from_left_mm", "clock_deg", "session", "bit_change", "release",
                                "reasons"), tuple(rows))
