"""Outlines at 1:1: to be cut out as paper mock-ups, and as setting gauges that carry the post's axis and clock mark.

A mock-up is hung on the wall or the mock-up panel at the anchor's place to judge rhythm before metal is bent. A gauge
lies under the mount on the bench, seen from behind: it says where the post's axis lies against the outline, which
way is 12 o'clock, and has a strip for each arm with the places of its bends on the straight wire.
Each page is as large as it must be: an office size where the outline fits one, else a roll length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.case.release import HoleRelease
from scanprep.hold.records import Arm, Hold
from scanprep.hold.wires.meshes import bar_high_mm
from scanprep.papers.drawing.dimensions import arrow, centre_mark, first_clear, word_spots
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures, angle, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import (
    CENTRE_LINE,
    GREY,
    HIDDEN_LINE,
    PALE,
    PAPERS,
    Box,
    Circle,
    ControlMark,
    Item,
    Path,
    Pen,
    Point,
    Sheet,
    Text,
    bounds,
    line,
    paper_mm,
    rectangle,
    shortened,
)
from scanprep.papers.mount.mount_views import opening_marks
from scanprep.papers.mount.mount_words import stock_words, wire_turns_deg
from scanprep.papers.templates.marks import check_bar
from scanprep.vectors import F64, Vec3

_EDGE_MM, _HEAD_MM, _FOOT_MM = 12.0, 24.0, 20.0  # layout: of the sheet, and its head and foot
_BEND_MM, _BEND_ROW_MM = 1.9, 3.0  # layout: height and pitch of a bend's words


@dataclass(frozen=True, slots=True, eq=False)
class OutlineSubject:
    """One object's outline as its viewer sees it, and where the post goes. Display frame, centre of mass at 0, 0."""

    number: str
    title: str
    rings_mm: tuple[F64, ...]  # (k, 2) each
    attach_xy_mm: tuple[float, float]  # the post's axis
    clock_deg: float
    post_diameter_mm: float
    place: str  # "West A, X 412.35, Y 1260.50", or "not placed"
    side_rings_mm: tuple[F64, ...] = ()  # the same from the viewer's right: (-z, y), panel at the right
    free_length_mm: float | None = None  # hub's back to the panel's face; None without a post

    @property
    def box(self) -> Box:
        """The least rectangle round outline and post axis."""
        points = np.concatenate([*self.rings_mm, np.asarray([self.attach_xy_mm])])
        low, high = points.min(axis=0), points.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def page_for(wide_mm: float, tall_mm: float, preferred: str) -> tuple[float, float]:
    """Return the preferred paper, upright or lying, where a drawing fits; else a larger one; else its own size."""
    for name in (preferred, *(p for p in PAPERS if p != preferred)):
        w, h = paper_mm(name)
        if w * h < paper_mm(preferred)[0] * paper_mm(preferred)[1]:
            continue
        for page in ((w, h), (h, w)):
            if wide_mm <= page[0] and tall_mm <= page[1]:
                return page
    return wide_mm, tall_mm


def _axis_marks(x: float, y: float, subject: OutlineSubject, mirrored: bool) -> list[Item]:
    """The post's axis with its circle and the 12 o'clock line."""
    radians = np.radians(subject.clock_deg)
    up = (float(np.sin(radians)) * (1 if mirrored else -1), float(np.cos(radians)))
    reach = subject.post_diameter_mm / 2
    start, end = ((x + up[0] * k, y + up[1] * k) for k in (reach + 1.5, reach + 14.0))
    return [*centre_mark(x, y, 10.0), Circle(x, y, reach, Pen(0.25)), line(*start, *end, Pen(0.5)),
            arrow(end, start, 3.5, slim_ratio=0.28), Text(end[0] + 1.5, end[1] - 1.0, "12", 2.5, bold=True)]


def _head(subject: OutlineSubject, kind: str, issue: Issue, page: tuple[float, float],
          release: HoleRelease | None) -> list[Item]:
    top = page[1] - _EDGE_MM
    room = page[0] - 2 * _EDGE_MM
    said = f"{kind}, 1:1   {issue.case}{issue.rules_hint}"
    return [Text(_EDGE_MM, top - 6.0, shortened(subject.number, room - 45.0, 6.0, True), 6.0, bold=True),
            *_held_words(release, page[0] - _EDGE_MM, top),
            Text(_EDGE_MM, top - 11.0, shortened(subject.title, room, 2.8), 2.8),
            Text(_EDGE_MM, top - 15.0, shortened(said, room, 2.0), 2.0, colour=GREY),
            ControlMark(_EDGE_MM, top - 18.5, 2.0, bold=True),
            *check_bar(_EDGE_MM, _EDGE_MM, 100.0, "100 mm", False)]


def _held_words(release: HoleRelease | None, right_mm: float, top_mm: float) -> list[Item]:
    """HELD and the first reasons at the top right, where a hole may not be drilled or used; the rest is counted."""
    if release is None or not release.held:
        return []
    more = len(release.reasons) - 3
    lines = [*release.reasons[:3], *([f"and {more} more: see the mount sheet"] if more > 0 else [])]
    return [Text(right_mm, top_mm - 3.5, "HELD: NOT FOR DRILLING", 3.0, "end", bold=True),
            *(Text(right_mm, top_mm - 6.0 - 2.2 * n, shortened(text, 80.0, 1.5), 1.5, "end")
              for n, text in enumerate(lines))]


def mock_up_sheet(subject: OutlineSubject, issue: Issue, release: HoleRelease | None) -> Sheet:
    """Return one outline at 1:1 to be cut out, as its viewer sees it."""
    box = subject.box
    needed = (max(box.width_mm, 110.0) + 2 * _EDGE_MM, box.height_mm + 2 * _EDGE_MM + _HEAD_MM + _FOOT_MM)
    page = page_for(*needed, issue.paper)
    x0 = page[0] / 2 - (box.left_mm + box.right_mm) / 2
    y0 = _EDGE_MM + _FOOT_MM - box.bottom_mm + max(0.0, (page[1] - needed[1]) / 2)
    rings = [Path(tuple((float(x) + x0, float(y) + y0) for x, y in ring), Pen(0.35), True, layer="OUTLINE")
             for ring in subject.rings_mm]
    x, y = subject.attach_xy_mm[0] + x0, subject.attach_xy_mm[1] + y0
    inner = [Text(u + x0, v + y0, words, size, "middle", bold=True)
             for words, size, u, v in _inside_words(subject, (f"↑ {subject.number}", f"↑{subject.number}", "↑"))]
    foot = Text(_EDGE_MM, _EDGE_MM + 9.0, f"anchor: {subject.place}; the cross is the hole's centre, ↑ is up, seen "
                "from the front; cut out, write the number on its back as well", 2.0)
    head = _head(subject, "Outline for a paper mock-up", issue, page, release)
    items = [*rings, *centre_mark(x, y, 6.0), *inner, foot, *head]
    return Sheet(*page, tuple(items), f"Outline {subject.number}")


def _inside_words(subject: OutlineSubject, choices: Sequence[str]) -> list[tuple[str, float, float, float]]:
    """Words that stay inside the outline when it is cut out, the first that fit: (words, height, x, y); or none.

    The widest level chords of the outline are tried, clear of the cross at the post's axis.
    """
    chords = sorted(_chords(subject.rings_mm), key=lambda chord: chord[0] - chord[1])
    for words in choices:
        wide = text_width_mm(words, 1.0, True)
        for left, right, y in chords:
            middle = (left + right) / 2
            for size in (8.0, 5.0, 3.5, 2.5):
                half = wide * size / 2 + 0.5
                clear = abs(y - subject.attach_xy_mm[1]) > 7.0 + size / 2 or \
                    abs(middle - subject.attach_xy_mm[0]) > 7.0 + half
                if clear and all(_covers(chords, middle - half, middle + half, y + at * size) for at in (-0.8, 0, 0.8)):
                    return [(words, size, middle, y - size / 2)]
    return []


def _chords(rings_mm: Sequence[F64]) -> list[tuple[float, float, float]]:
    """(left, right, y) of what lies inside the rings along level lines 1 mm apart."""
    heights = np.concatenate([ring[:, 1] for ring in rings_mm])
    chords = []
    for y in range(int(np.ceil(heights.min())), int(np.floor(heights.max())) + 1):
        xs: list[float] = []
        for ring in rings_mm:
            a, b = ring, np.roll(ring, -1, axis=0)
            cuts = (a[:, 1] > y) != (b[:, 1] > y)
            xs += list(a[cuts, 0] + (y - a[cuts, 1]) / (b[cuts, 1] - a[cuts, 1]) * (b[cuts, 0] - a[cuts, 0]))
        xs.sort()
        chords += [(float(left), float(right), float(y)) for left, right in zip(xs[::2], xs[1::2])]
    return chords


def _covers(chords: Sequence[tuple[float, float, float]], left: float, right: float, y: float) -> bool:
    """Whether a chord near height y spans left to right."""
    return any(abs(c[2] - y) <= 0.5 and c[0] <= left and c[1] >= right for c in chords)


def gauge_sheet(subject: OutlineSubject, hold: Hold, issue: Issue, release: HoleRelease | None) -> Sheet:
    """Return a setting gauge at 1:1: the outline as seen from behind, post axis, clock mark, tips, bend strips."""
    measures = issue.measures
    box = subject.box
    strips = [(i + 1, tip.arm) for i, tip in enumerate(hold.tips)]
    longest = max((arm.developed_length_mm for _, arm in strips), default=0.0)
    depths = [_strip_depth(1 + max((row for _, _, row in _bend_rows(arm)), default=0)) for _, arm in strips]
    below = sum(depths) + 16.0
    needed = (max(box.width_mm, longest + 18.0, 110.0) + 2 * _EDGE_MM,
              box.height_mm + 2 * _EDGE_MM + _HEAD_MM + _FOOT_MM + below + 8.0)
    page = page_for(*needed, issue.paper)
    # from behind: x is turned, so that the gauge lies on the back of the mount on the bench
    x0 = page[0] / 2 + (box.left_mm + box.right_mm) / 2
    y0 = _EDGE_MM + _FOOT_MM + below - box.bottom_mm + max(0.0, (page[1] - needed[1]) / 2)
    items: list[Item] = [Path(tuple((x0 - float(x), float(y) + y0) for x, y in ring), Pen(0.35), True, layer="OUTLINE")
                         for ring in subject.rings_mm]
    for tip in hold.tips:  # wires and bars as thick and as wide as they are, under everything else
        items += [Path(tuple((x0 - float(p[0]), float(p[1]) + y0) for p in path), Pen(across_mm, PALE))
                  for path, across_mm in _from_front(tip.arm)]
    items += _hub_outline(hold, subject.post_diameter_mm, x0, y0)
    axis = _axis_marks(x0 - subject.attach_xy_mm[0], subject.attach_xy_mm[1] + y0, subject, mirrored=True)
    taken = [bounds(mark) for mark in axis]
    for i, tip in enumerate(hold.tips):
        path = tuple((x0 - float(p[0]), float(p[1]) + y0) for p in tip.arm.path_mm)
        at = (x0 - tip.point_mm[0], tip.point_mm[1] + y0)
        spot = first_clear(word_spots(*at, text_width_mm(str(i + 1), 2.2, True), 2.2, 1.6), taken)
        taken.append(spot)
        items += [Path(path, HIDDEN_LINE), Circle(*at, 0.8, Pen(0.25)),
                  Text(spot.left_mm, spot.bottom_mm, str(i + 1), 2.2, bold=True)]
    items += axis
    items += opening_marks(hold, lambda p: (x0 - p[0], y0 + p[1]), lambda d: (-d[0], d[1]), taken)
    items += _strips(strips, _EDGE_MM + _FOOT_MM + below - 12.0, measures)
    items.append(Text(_EDGE_MM, _EDGE_MM + 9.0,
                      f"SEEN FROM BEHIND. Post ⌀ {measures.named_fine(subject.post_diameter_mm)}, 12 o'clock "
                      f"{clock(subject.clock_deg)} for the viewer in front. Lay each wire on its strip, mark the "
                      "bends.", 2.0))
    return Sheet(*page, (*items, *_head(subject, "Setting gauge", issue, page, release)), f"Gauge {subject.number}")


def side_gauge_sheet(subject: OutlineSubject, hold: Hold, issue: Issue, release: HoleRelease | None) -> Sheet:
    """Return the setting gauge from the side at 1:1: outline, wires, hub, post to the panel's face, how it opens."""
    behind = -hold.attach_mm[2] + (subject.free_length_mm or 12.0)  # the panel's face, or a stub of the post
    points = np.concatenate([*subject.side_rings_mm, *(_from_side(tip.arm.path_mm) for tip in hold.tips),
                             np.array([[behind, hold.attach_mm[1]]])])
    low, high = points.min(axis=0), points.max(axis=0)
    needed = (max(float(high[0] - low[0]) + 30.0, 110.0) + 2 * _EDGE_MM,
              float(high[1] - low[1]) + 2 * _EDGE_MM + _HEAD_MM + _FOOT_MM + 16.0)
    page = page_for(*needed, issue.paper)
    x0 = page[0] / 2 - float(low[0] + high[0]) / 2
    y0 = _EDGE_MM + _FOOT_MM + 8.0 - float(low[1]) + max(0.0, (page[1] - needed[1]) / 2)

    def at(point: Vec3 | F64) -> Point:
        return x0 - float(point[2]), y0 + float(point[1])

    items: list[Item] = [Path(tuple((x0 + float(u), y0 + float(v)) for u, v in ring), Pen(0.35), True, layer="OUTLINE")
                         for ring in subject.side_rings_mm]
    for tip in hold.tips:
        items += [Path(tuple(at(p) for p in path), Pen(tip.arm.wire_mm, PALE))
                  for path in (tip.arm.path_mm, *tip.arm.pieces_mm)]
    axis, face = at(hold.attach_mm), x0 + behind
    reach = subject.post_diameter_mm / 2
    half = (hold.hub.high_mm or hold.hub.size_mm) / 2
    items += [line(axis[0] - hold.hub.thickness_mm, axis[1] - half, axis[0] - hold.hub.thickness_mm, axis[1] + half,
                   Pen(0.25)),
              line(axis[0], axis[1] - half, axis[0], axis[1] + half, Pen(0.25)),
              rectangle(Box(axis[0], axis[1] - reach, face, axis[1] + reach), Pen(0.25)),
              line(float(low[0]) + x0 - 4.0, axis[1], face + 6.0, axis[1], CENTRE_LINE)]
    if subject.free_length_mm is not None:
        items += [line(face, float(low[1]) + y0 - 4.0, face, float(high[1]) + y0 + 4.0, Pen(0.6)),
                  Text(face + 2.0, float(low[1]) + y0 - 4.0, "FACE OF THE PANEL", 1.9, "start", 90.0)]
    taken: list[Box] = []
    for i, tip in enumerate(hold.tips):
        spot = first_clear(word_spots(*at(tip.point_mm), text_width_mm(str(i + 1), 2.2, True), 2.2, 1.6), taken)
        taken.append(spot)
        items += [Path(tuple(at(p) for p in tip.arm.path_mm), HIDDEN_LINE), Circle(*at(tip.point_mm), 0.8, Pen(0.25)),
                  Text(spot.left_mm, spot.bottom_mm, str(i + 1), 2.2, bold=True)]
    items += opening_marks(hold, at, lambda d: (-d[2], d[1]), taken)
    items.append(Text(_EDGE_MM, _EDGE_MM + 9.0, "SEEN FROM THE VIEWER'S RIGHT: viewer at the left, panel at the right. "
                      "Hold the mount against it, looking along the hub's edge.", 2.0))
    return Sheet(*page, (*items, *_head(subject, "Setting gauge from the side", issue, page, release)),
                 f"Side gauge {subject.number}")


def _from_front(arm: Arm) -> list[tuple[F64, float]]:
    """Runs of an arm as they are seen from front or back, each with how wide it is there: a bar's lip is narrower."""
    if not arm.wide_mm:
        return [(path, arm.wire_mm) for path in (arm.path_mm, *arm.pieces_mm)]
    if arm.strip is not None:
        return [(arm.path_mm, arm.wide_mm), *((piece, arm.strip.wide_mm) for piece in arm.pieces_mm)]
    if arm.thin is not None:  # its stem alone is flat bar
        corner = arm.thin.corner
        return [(arm.path_mm[:corner + 1], arm.wide_mm), (arm.path_mm[corner:], arm.end_mm),
                *((piece, arm.end_mm) for piece in arm.pieces_mm)]
    return [(arm.path_mm[:2], arm.wide_mm), (arm.path_mm[2:], arm.lip_mm)]


def _from_side(path_mm: F64) -> F64:
    """(k, 3) points of the display frame as the side view has them: (-z, y)."""
    return np.column_stack([-path_mm[:, 2], path_mm[:, 1]])


def _hub_outline(hold: Hold, post_mm: float, x0: float, y0: float) -> list[Item]:
    """The hub at 1:1 as it is seen from behind."""
    hub = hold.hub
    x, y = x0 - hub.centre_mm[0], y0 + hub.centre_mm[1]
    if hub.kind == "plate":
        return [Circle(x, y, hub.size_mm / 2, Pen(0.25))]
    if hub.kind == "ring":
        return [Circle(x, y, hub.size_mm / 2 + side * hub.thickness_mm / 2, Pen(0.25)) for side in (1, -1)]
    if hub.kind != "bar":
        return [Circle(x, y, post_mm / 2 + hub.thickness_mm, Pen(0.25))]
    along = np.radians(-hub.angle_deg)  # turned the other way from behind
    u, v = np.array([np.cos(along), np.sin(along)]), np.array([-np.sin(along), np.cos(along)])
    half, wide = hub.size_mm / 2, bar_high_mm(hub, post_mm) / 2
    corners = [np.array([x, y]) + s * half * u + t * wide * v for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return [Path(tuple((float(p[0]), float(p[1])) for p in corners), Pen(0.25), True)]


def _strip_depth(rows: int) -> float:
    return 10.5 + rows * _BEND_ROW_MM


def _bend_rows(arm: Arm) -> list[tuple[float, str, int]]:
    """(place along the wire, words, row) of each bend: a row below where the words would lie over others."""
    turns = wire_turns_deg(arm.path_mm)
    known = len(turns) == len(arm.bends) - 1
    ends: list[float] = []  # where the last words of each row end
    out: list[tuple[float, str, int]] = []
    for i, bend in enumerate(arm.bends):
        turn = turns[i - 1] if known and i else 0.0
        said = (f"{abs(turn):.0f}°{'↻' if turn > 0 else '↺'} " if abs(turn) >= 1.0 else "") + angle(bend.angle_deg)
        half = text_width_mm(said, _BEND_MM) / 2 + 0.8
        row = next((k for k, end in enumerate(ends) if end <= bend.at_mm - half), len(ends))
        ends[row:row + 1] = [bend.at_mm + half]
        out.append((bend.at_mm, said, row))
    return out


def _strips(strips: Sequence[tuple[int, Arm]], top_mm: float, measures: Measures) -> list[Item]:
    """The arms as straight wires at 1:1 with the places of their bends, the hub's end at the left."""
    items: list[Item] = []
    y = top_mm
    for number, arm in strips:
        x0, end = _EDGE_MM + 16.0, _EDGE_MM + 16.0 + arm.developed_length_mm
        said = f"{measures.length(arm.developed_length_mm)} of {stock_words(arm, measures)}"
        items += [Text(_EDGE_MM, y - 1.0, str(number), 2.8, bold=True), line(x0, y, end, y, Pen(0.35)),
                  line(x0, y - 2.0, x0, y + 2.0, Pen(0.35)), Text(x0 - 1.0, y - 1.0, "hub", 1.9, "end", colour=GREY),
                  line(end, y - 2.0, end, y + 2.0, Pen(0.35)), Text(end, y + 2.6, said, 2.1, "end")]
        bends = _bend_rows(arm)
        for at, words, row in bends:
            items += [line(x0 + at, y - 2.6, x0 + at, y + 1.6, Pen(0.18)),
                      Text(x0 + at, y - 5.6 - row * _BEND_ROW_MM, words, _BEND_MM, "middle")]
        y -= _strip_depth(1 + max((row for _, _, row in bends), default=0))
    return items
