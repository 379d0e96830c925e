"""The blocks that the one-page and the two-sided mount sheet share: header, tips and arms, columns of facts.

Each is laid out from a top down and says where it ends; y runs up, mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.case.release import HoleRelease
from scanprep.findings import Finding
from scanprep.hold.records import Hold, Tip
from scanprep.papers.drawing.grid import Cell, Column, Grid, Swatch, facts, grid, heading
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import verdict_stamp
from scanprep.papers.drawing.sheet import BLACK, GREY, WHITE, Box, Item, Text, rectangle, shortened, wrapped
from scanprep.papers.mount.mount_views import Extents
from scanprep.papers.mount.mount_words import (
    bar_words,
    bend_words,
    caliper_words,
    end_words,
    face_words,
    hub_facts,
    leaving_words,
    object_facts,
    post_facts,
    second_wire_words,
    strip_words,
    tip_distances,
)
from scanprep.spec import MountSpec

HEADER_MM = 15.0  # layout: of a mount sheet


def header(spec: MountSpec, number: str, room: Box) -> list[Item]:
    """Return number, title, who chose and the verdict, filling the top `HEADER_MM` of a room."""
    stamp = verdict_stamp(spec.verdict, room.right_mm, room.top_mm, 4.0)
    how = "proposed, not yet agreed" if spec.chosen_by == "proposed" else f"chosen by {spec.chosen_by}"
    return [Text(room.left_mm, room.top_mm - 7.0, shortened(number, 120.0, 7.0, True), 7.0, bold=True),
            Text(room.left_mm, room.top_mm - 12.5, shortened(spec.title or "(no title)", 128.0, 3.5), 3.5),
            Text(room.right_mm, room.top_mm - 12.5, how, 1.8, "end", colour=GREY), *stamp]


def release_band(release: HoleRelease | None, room: Box, top_mm: float) -> tuple[list[Item], float]:
    """Return whether the hole of a mount may be drilled, in white on black where it may not, and where that ends.

    release  None: the sheet stands outside a case's papers, where nothing is released
    """
    if release is None:
        lines = ["NOT FOR DRILLING: no sheet outside a case's printed papers releases a hole"]
    elif release.held or not (release.released or release.state == "drilled"):
        named = f"Hole {release.number} is " if release.number else ""
        drilled = "DRILLED, but not to be used yet" if release.state == "drilled" else "HELD: NOT FOR DRILLING"
        lines = [f"{named}{drilled}", *release.reasons]
    else:
        what = "drilled: its figures are those of the hole in the sheet" if release.state == "drilled" else "released"
        return [Text(room.left_mm, top_mm - 3.2, f"Hole {release.number} is {what}", 2.2, bold=True)], top_mm - 4.6
    across = 2 if len(lines) > 4 else 1
    wide = room.width_mm / across
    # a finding that says stop may be long: it is told in full among the findings
    words = [text for line in lines for text in _at_most(wrapped(line, wide - 4.0, 1.9, True), 2)]
    rows = -(-len(words) // across)
    items: list[Item] = [rectangle(Box(room.left_mm, top_mm - 3.0 * rows - 1.4, room.right_mm, top_mm), None, BLACK)]
    items += [Text(room.left_mm + 2.0 + n // rows * wide, top_mm - 3.0 * (n % rows) - 2.9, text, 1.9, bold=True,
                   colour=WHITE) for n, text in enumerate(words)]
    return items, top_mm - 3.0 * rows - 2.0


def _at_most(lines: list[str], most: int) -> list[str]:
    return lines if len(lines) <= most else [*lines[:most - 1], f"{lines[most - 1][:-1]}…"]


def no_hold(spec: MountSpec, room: Box, top_mm: float) -> tuple[list[Item], float]:
    """Return why no hold was found, attitude by attitude, and where the words end."""
    y = top_mm - 3.5
    items: list[Item] = [Text(room.left_mm, y, "No hold was found that keeps this object with margin.", 3.5, bold=True)]
    for refusal in spec.holds.refusals:
        best = "" if refusal.best_margin_g is None else f" (best margin {refusal.best_margin_g:.2f} g)"
        for words in wrapped(f"{refusal.attitude.name}: {refusal.reason}{best}. {refusal.advice}", room.width_mm, 2.2):
            y -= 4.2
            items.append(Text(room.left_mm, y, words, 2.2))
        y -= 1.5
    return items, y - 2.0


def _tip_cells(number: int, tip: Tip, extents: Extents, measures: Measures) -> list[Cell]:
    x, y, z = tip.point_mm
    limit_N = tip.faces[0].force_limit_N if tip.faces else tip.force_limit_N
    wide = f"{measures.length(tip.arm.wide_mm)} × {measures.length(tip.arm.wire_mm)}"
    wire = wide if tip.arm.wide_mm else measures.fine(tip.arm.wire_mm)
    wire += "" if tip.arm.strip is None else f", {strip_words(tip.arm.strip, measures)}"
    wire += "" if tip.arm.thin is None else f", end {measures.fine(tip.arm.end_mm)}"
    kind = "clip" if tip.arm.strip is not None else "bar" if tip.arm.wide_mm and tip.arm.thin is None else tip.kind
    return [
        f"{number}{'' if tip.needed else ' *'}", f"{kind}{', bears' if tip.bearing else ''}",
        measures.length(x - extents.left_mm), measures.length(y - extents.low_mm),
        measures.length(z - extents.back_mm), f"{tip.force_N:.1f} / {limit_N:.1f}",
        f"{tip.pad} {measures.length(tip.pad_thickness_mm)}", wire,
        measures.length(tip.arm.developed_length_mm), Swatch(tip.arm.paint),
    ]


# layout: widths of the table of tips
_TIP_COLUMNS = (("tip", 9.0, "start"), ("kind", 25.0, "start"), ("from left", 17.0, "end"), ("up", 15.0, "end"),
                ("forward", 16.0, "end"), ("N / limit", 19.0, "end"), ("pad", 27.0, "start"), ("wire ⌀", 13.0, "end"),
                ("length", 15.0, "end"), ("paint", 25.0, "start"))


_SHORT_KEY = ("Bends in order from the hub, where on the straight wire: how far, inside radius; ↻ ↺ first turn the "
              "wire so far in the fingers, looking from hub to tip.")
_KEY = ("KEY to the bends, in order from the hub: ↻ ↺ first turn the wire so far in the fingers, looking from hub "
        "to tip; then the straight wire from its hub end to the MIDDLE of the bend's arc; the angle TURNED (180° "
        "less the included one); r, the inside radius. Lay the wire on its strip of the gauge. Directions are the "
        "viewer's. The force is that of the tip's own face, next to the limit of the same face.")


def _under(tip: Tip, hold: Hold, extents: Extents, measures: Measures, whole: bool) -> str:
    """What stands under a tip's line."""
    bends = f"bends  {bend_words(tip.arm, measures)}"
    if not whole:
        return bends
    faces = [f"touches also at  {face_words(tip, extents, measures)}"] if len(tip.faces) > 1 else []
    bar = bar_words(tip, measures)
    end, second = end_words(tip.arm, measures), second_wire_words(hold, tip.arm, measures)
    return "\n".join([*faces, f"leaves hub  {leaving_words(tip.arm, hold.attach_mm, measures)}", bends,
                      *(f"{name}  {words}" for name, words in
                        (("stock", bar), ("its end", end), ("second wire", second)) if words)])


def tip_table(hold: Hold, extents: Extents, measures: Measures, room: Box, top_mm: float,
              words_mm: float = 2.0, with_bends: bool = True, whole: bool = False) -> tuple[list[Item], float]:
    """Return the tips, each with its arm's bends under it, and where the table ends.

    with_bends  False: only how many there are, and that the two-sided sheet gives them
    whole       with every face that a tip touches at, how its arm leaves the hub, and the key to reading the bends
    """
    head = heading(f"TIPS AND ARMS ({measures.units}; contact points on the object, before the pad)", room.left_mm,
                   top_mm, room.width_mm, 2.2)
    stretch = room.width_mm / sum(width for _, width, _ in _TIP_COLUMNS)
    columns = [Column(name, width * stretch, side) for name, width, side in _TIP_COLUMNS]
    rows = [_tip_cells(i + 1, tip, extents, measures) for i, tip in enumerate(hold.tips)]
    bends = [_under(tip, hold, extents, measures, whole) for tip in hold.tips] if with_bends else []
    table = grid(columns, rows, room.left_mm, head.bottom_mm, height_mm=words_mm, under=bends)
    small = max(1.5, words_mm * 0.8)
    told = ((_KEY if whole else _SHORT_KEY) if with_bends else
            f"Bends ({sum(len(tip.arm.bends) for tip in hold.tips)}): see the two-sided mount sheet.")
    words = (f"Left, lowest and back are the object's own, as the viewer sees it. {told} * spare tip.   Pad material "
             "and batch, agreed with the conservator: ______________________")
    items = [Text(room.left_mm, table.bottom_mm - 1.2 - small - i * small * 1.6, text, small)
             for i, text in enumerate(wrapped(words, room.width_mm, small))]
    return [*head.items, *table.items, *items], table.bottom_mm - 1.6 - len(items) * small * 1.6


def object_column(spec: MountSpec, hold: Hold, extents: Extents, box: Box, measures: Measures,
                  words_mm: float) -> tuple[list[Item], float]:
    """Return the object, its hold and what calipers must confirm, under each other, and where they end."""
    head = heading("OBJECT AND HOLD", box.left_mm, box.top_mm, box.width_mm, 2.2)
    told = _facts(object_facts(spec, hold, extents, measures), box, head.bottom_mm, words_mm)
    check = heading("CONFIRM WITH CALIPERS BEFORE BENDING", box.left_mm, told.bottom_mm - 1.5, box.width_mm, 2.2)
    calipers = _facts(caliper_words(spec.survey, measures), box, check.bottom_mm, words_mm, gap_mm=2.2)
    spans = _facts([("tip to tip", tip_distances(hold, measures))], box, calipers.bottom_mm, words_mm)
    return [*head.items, *told.items, *check.items, *calipers.items, *spans.items], spans.bottom_mm


def post_column(spec: MountSpec, hold: Hold, extents: Extents, box: Box, measures: Measures,
                words_mm: float, place: str = "") -> tuple[list[Item], float]:
    """Return hub, post and hole under each other, and where they end.

    place  where the hole is, from the datum corner; without it, as its own face's viewer finds it
    """
    head = heading("HUB, POST AND HOLE", box.left_mm, box.top_mm, box.width_mm, 2.2)
    pairs = hub_facts(hold, extents, measures)
    pairs += post_facts(spec.plan, measures, place) if spec.plan else [("post", "not planned yet")]
    table = _facts(pairs, box, head.bottom_mm, words_mm)
    return [*head.items, *table.items], table.bottom_mm


def _facts(pairs: Sequence[tuple[str, str]], box: Box, top_mm: float, words_mm: float, gap_mm: float = 1.3) -> Grid:
    name_mm = max(text_width_mm(name, words_mm * 0.9) for name, _ in pairs) + 2.5
    return facts(pairs, box.left_mm, top_mm, box.width_mm, name_mm=max(name_mm, words_mm * 10.5), height_mm=words_mm,
                 gap_mm=gap_mm)


def finding_words(finding: Finding, number: str) -> str:
    """Return a finding with its remedy, without saying on an object's own sheet which object it is."""
    sentence = finding.sentence.removeprefix(f"object {number}: ").removeprefix(f"object {number}, ")
    return f"{sentence}. {finding.remedy}" if finding.remedy else sentence


def told_finding(finding: Finding, number: str, box: Box, top_mm: float, words_mm: float) -> tuple[list[Item], float]:
    """Return one finding, its verdict in bold before it, and where it ends."""
    verdict = finding.verdict.value.upper()
    indent = text_width_mm(verdict, words_mm, True) + words_mm
    words = finding_words(finding, number)
    first = wrapped(words, box.width_mm - indent, words_mm)[0]
    rest = words[len(first):].strip(" ")
    lines = wrapped(rest, box.width_mm, words_mm) if rest else []
    y = top_mm - words_mm
    items: list[Item] = [Text(box.left_mm, y, verdict, words_mm, bold=True),
                         Text(box.left_mm + indent, y, first, words_mm)]
    items += [Text(box.left_mm, y - (i + 1) * words_mm * 1.6, text, words_mm) for i, text in enumerate(lines)]
    return items, y - len(lines) * words_mm * 1.6 - words_mm * 0.7
