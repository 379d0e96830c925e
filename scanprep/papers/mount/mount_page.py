"""The mount specification on one page: what the bench needs at arm's length, written beside every `spec.json`.

Pictures with the mount, dimensions, tips, arms, hub, post, hole; then the few checks that govern, the worst findings,
who signs and the cautions. Words are as big as the mount lets them be (ISO 3098 heights near 2.2 mm); the pictures take
the room that is left. Every check, hub notes and the scan's facts are on the two-sided sheet. Touches no files.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scanprep.causes import FindingGroup
from scanprep.findings import Check, Finding
from scanprep.hold.records import Hold
from scanprep.papers.drawing.grid import grid, heading
from scanprep.papers.drawing.letters import letters_finding
from scanprep.papers.drawing.listing import stretched_columns
from scanprep.papers.drawing.measures import amount
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import BLACK, Box, Item, Pen, Sheet, Text, line, rectangle, wrapped
from scanprep.papers.mount.mount_parts import (
    HEADER_MM,
    header,
    no_hold,
    object_column,
    post_column,
    release_band,
    tip_table,
    told_finding,
)
from scanprep.papers.mount.mount_views import Extents, mount_views, views_depth_mm
from scanprep.papers.pictures.scenes import shaded_object
from scanprep.papers.pictures.shading import ShadedMesh
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec

KIND = "Mount specification"
SIGN_OFFS = (
    ("contact areas, before bending", "conservator"), ("angle of display", "curator"),
    ("fit on the object", "mountmaker"), ("as-made post axis: dx, dy, angle", "mountmaker"),
    ("hole location", "driller, checker"), ("hole drilled, measured", "driller, checker"),
    ("installed; condition, photos", "installer, conservator"), ("retouched", "mountmaker"),
)
#: layout: Room for the pictures, mm on paper, the heights of words then tried, and whether bends are given or left to
#: the two-sided sheet. At 600 mm a letter of 1.8 mm is seen under 10', twice what a sharp eye needs (5', the letter of
#: visual acuity 1.0: ISO 8596).
_TRIES = ((102.0, (2.4, 2.3, 2.2, 2.1, 2.0), True), (92.0, (2.2, 2.1, 2.0, 1.9), True),
          (82.0, (2.0, 1.9, 1.8), True), (73.0, (1.9, 1.8, 1.7), True), (66.0, (1.8, 1.7, 1.6, 1.5), True),
          (66.0, (2.0, 1.9, 1.8, 1.7, 1.6, 1.5, 1.4), False))
_LEFT_SHARE = 0.47  # layout: of the page's width
_LEAST_ROWS, _LEAST_FINDINGS = 5, 3  # layout: kept on the page whatever else must go


def mount_page(spec: MountSpec, working: WorkingMesh, issue: Issue) -> Sheet:
    """Return the page as a display list; it stands outside a case's papers and releases nothing.

    Raises ValueError for an unknown paper.
    """
    number = spec.number or spec.scan.file
    page = blank(issue, KIND, number, 1, 1, caution="")
    room = page.room
    foot, floor = _foot(spec, room)
    band, top = release_band(None, room, room.top_mm - HEADER_MM)
    items, hold = [*header(spec, number, room), *band, *foot], spec.hold
    if hold is None:
        words, y = no_hold(spec, room, top - 5.0)
        items += words
        items += _findings(spec, number, Box(room.left_mm, floor, room.right_mm, y - 2.0), 2.0)[0]
    else:
        shown = shaded_object(working, spec.survey, hold.attitude)
        items += _bench(spec, number, hold, shown, Box(room.left_mm, floor, room.right_mm, top), issue)
    return finished(page, items, f"{KIND} {number}")


def _bench(spec: MountSpec, number: str, hold: Hold, shown: ShadedMesh, room: Box, issue: Issue) -> list[Item]:
    """Pictures, then words as big as the room lets them be; where it is too little the pictures give way."""
    extents = Extents.of(shown.vertices_mm)
    for most_mm, sizes_mm, with_bends in _TRIES:
        views = Box(room.left_mm, room.top_mm - most_mm, room.right_mm, room.top_mm)
        y = room.top_mm - views_depth_mm(shown, hold, spec.plan, views)
        for words_mm in sizes_mm:
            below = Box(room.left_mm, room.bottom_mm, room.right_mm, y - 2.0)
            words, fits = _words(spec, number, hold, extents, below, issue, words_mm, with_bends)
            if fits:
                break
        if fits:
            break
    # where nothing fits, the mount is drawn and its tips are told; what is left is on the two-sided sheet
    return [*mount_views(shown, hold, spec.plan, views, issue.measures, third_angle=issue.third_angle)[0], *words]


def _words(spec: MountSpec, number: str, hold: Hold, extents: Extents, box: Box, issue: Issue,
           words_mm: float, with_bends: bool) -> tuple[list[Item], bool]:
    """Tips and arms over two columns that end in governing checks and findings; and whether all that must fits."""
    tips, y = tip_table(hold, extents, issue.measures, box, box.top_mm, words_mm, with_bends)
    left = Box(box.left_mm, box.bottom_mm, box.left_mm + box.width_mm * _LEFT_SHARE - 2.0, y - 1.0)
    right = Box(left.right_mm + 4.0, box.bottom_mm, box.right_mm, y - 1.0)
    first, first_ends = object_column(spec, hold, extents, left, issue.measures, words_mm)
    second, second_ends = post_column(spec, hold, extents, right, issue.measures, words_mm)
    checks, rows = _checks(spec, Box(left.left_mm, left.bottom_mm, left.right_mm, first_ends - 1.0), min(words_mm, 1.8))
    told, count = _findings(spec, number, Box(right.left_mm, right.bottom_mm, right.right_mm, second_ends - 1.0),
                            min(words_mm, 2.0))
    fits = (min(first_ends, second_ends) > box.bottom_mm and rows >= min(_LEAST_ROWS, len(spec.checks))
            and count >= min(_LEAST_FINDINGS, len(spec.groups)))
    return [*tips, *first, *second, *checks, *told], fits


def governing(spec: MountSpec, most: int = 7) -> list[Check]:
    """Return the few checks that decide: the hold's margin, and of survey, hold, post and hole the loudest, then those
    with least margin."""
    plan = spec.plan.checks if spec.plan else ()
    stages = (spec.survey.checks, spec.hold.checks if spec.hold else (),
              tuple(c for c in plan if c.name.startswith("post-")),
              tuple(c for c in plan if not c.name.startswith("post-")))
    known = {id(c) for stage in stages for c in stage}
    others = tuple(c for c in spec.checks if id(c) not in known)
    ranked = [sorted(stage, key=_weight) for stage in (*stages, others)]
    shares = (1, 3, 2, 2, most)
    first = [check for check in spec.checks if check.name == "margin"]
    chosen = [check for stage, share in zip(ranked, shares, strict=True) for check in stage[:share]
              if check not in first]
    return [*first, *sorted(chosen, key=_weight)][:most]


def _weight(check: Check) -> tuple[int, float]:
    return -check.verdict.loudness, float("inf") if check.margin is None else check.margin


def _checks(spec: MountSpec, box: Box, words_mm: float) -> tuple[list[Item], int]:
    """The checks that govern, as many as fit the box; and how many those are."""
    head = heading("CHECKS THAT GOVERN", box.left_mm, box.top_mm, box.width_mm, 2.2)
    columns = stretched_columns(box.width_mm, (("check", 23.0, "start"), ("value", 10.5, "end"), ("limit", 16.0, "end"),
                                               ("margin", 12.0, "end"), ("", 22.5, "start")))
    rows = [[check.name.replace("-", " "), amount(check.value), amount(check.limit, check.unit), amount(check.margin),
             check.verdict.value.upper()] for check in governing(spec)]
    table = grid(columns, rows, box.left_mm, head.bottom_mm, height_mm=words_mm, floor_mm=box.bottom_mm)
    return [*head.items, *table.items], table.rows


def _findings(spec: MountSpec, number: str, box: Box, words_mm: float) -> tuple[list[Item], int]:
    """What findings come from, the worst that fit a box, and how many; what is left is counted, not dropped silently.

    One line a cause, with how many more findings it has; all of them stand on the two-sided sheet.
    """
    head = heading("LOOK AT THESE FIRST", box.left_mm, box.top_mm, box.width_mm, 2.2)
    items, y = list(head.items), head.bottom_mm
    letters = letters_finding(f"{spec.title} {number}", f"object {number}")
    ordered = sorted([*map(_lead, spec.groups), *([letters] if letters else [])],
                     key=lambda finding: -finding.verdict.loudness)
    for done, finding in enumerate(ordered):
        words, below = told_finding(finding, number, box, y, words_mm)
        last = done == len(ordered) - 1
        if below < box.bottom_mm + (0.0 if last else words_mm * 1.8):
            more = f"… and {len(ordered) - done} more: spec.json, two-sided sheet"
            items.append(Text(box.left_mm, y - words_mm, more, words_mm, bold=True))
            return items, done
        items, y = [*items, *words], below
    if not ordered:
        items.append(Text(box.left_mm, y - words_mm, "nothing", words_mm))
    return items, len(ordered)


def _lead(group: FindingGroup) -> Finding:
    """A cause as one finding: its loudest, what to do, and how many more say the same."""
    more = len(group.findings) - 1
    sentence = f"{group.sentence} (and {more} more from this cause)" if more else group.sentence
    return replace(group.findings[0], sentence=sentence, remedy=group.remedy)


def _foot(spec: MountSpec, room: Box) -> tuple[list[Item], float]:
    """Sign-off boxes over the cautions, set at the foot; returns also where they begin."""
    cautions = wrapped(" ".join(spec.cautions), room.width_mm, 1.6)
    y = room.bottom_mm + len(cautions) * 2.55
    items: list[Item] = [Text(room.left_mm, y - 2.1 - i * 2.55, text, 1.6) for i, text in enumerate(cautions)]
    signs, top = _signatures(SIGN_OFFS, room, y + 1.0)
    return [*items, *signs], top


def _signatures(agreed: Sequence[tuple[str, str]], room: Box, bottom_mm: float) -> tuple[list[Item], float]:
    """Boxes to tick and lines to sign, two in a row."""
    deep, rows = 6.0, (len(agreed) + 1) // 2
    top = bottom_mm + rows * deep
    half = room.width_mm / 2
    items: list[Item] = []
    for n, (what, who) in enumerate(agreed):
        left, y = room.left_mm + (n % 2) * half, top - (n // 2 + 1) * deep
        right = left + half - (3.0 if n % 2 == 0 else 0.0)
        items += [rectangle(Box(left, y + 1.0, left + 3.2, y + 4.2), Pen(0.25)),
                  Text(left + 4.4, y + 2.4, what, 1.8), Text(left + 4.4, y + 0.0, who, 1.4),
                  line(left + 47.0, y + 0.4, right - 17.0, y + 0.4, Pen(0.15, BLACK)),
                  line(right - 15.0, y + 0.4, right, y + 0.4, Pen(0.15, BLACK))]
    head = heading("SIGN-OFF  (name and signature, date)", room.left_mm, top + 4.6, room.width_mm, 2.2)
    return [*head.items, *items], top + 5.6
