"""The mount specification sheet: everything one mount needs at the bench, on two sides of one page.

Side 1 makes the mount: views with dimensions, tips, arms with their bends, hub, post and hole. Side 2 lets people agree
to it: checks with margins, what must be looked at, where the scan's numbers come from, cautions, who signs what.
Tips and post are given from three datums that a bench can find: the object's lowest point, its left edge as the viewer
sees it, and the plane of its rearmost point. Returns PDF bytes; touches no files.
"""

from __future__ import annotations

import itertools

import numpy as np

from scanprep.hold.records import Arm, Hold, Tip
from scanprep.papers.grid import Cell, Column, Swatch, facts, grid, heading
from scanprep.papers.letters import letters_finding
from scanprep.papers.measures import Measures, angle, clock, force
from scanprep.papers.mount_record import record_sides
from scanprep.papers.mount_views import Extents, mount_views
from scanprep.papers.page import Blank, Issue, blank, finished, verdict_stamp
from scanprep.papers.pdf import pdf_bytes
from scanprep.papers.pictures import ShadedMesh
from scanprep.papers.scenes import shaded_object
from scanprep.papers.sheet import GREY, Box, Item, Sheet, Text, shortened, wrapped
from scanprep.post.records import PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.survey.records import Survey
from scanprep.vectors import F64

KIND = "Mount specification"
_WORDS_MM = 2.1
_VIEWS_MM = 108.0


def mount_sheet_pdf(spec: MountSpec, working: WorkingMesh, issue: Issue | None = None, *, paper: str = "A4",
                    units: str = "mm") -> bytes:
    """Return one object's mount specification as a PDF of two sides.

    working       the object's working mesh, scan axes, for the pictures
    issue         title of the display, session, paper and units; by default the spec's own session and revision
    paper, units  used where no issue is given
    """
    issue = issue or Issue(session=spec.session, revision=spec.revision, paper=paper, measures=Measures(units))
    return pdf_bytes(mount_sheets(spec, working, issue), title=f"{KIND} {spec.number}", subject=spec.title)


def mount_sheets(spec: MountSpec, working: WorkingMesh, issue: Issue) -> tuple[Sheet, ...]:
    """Return both sides as display lists."""
    number = spec.number or spec.scan.file
    letters = letters_finding(f"{spec.title} {number}", f"object {number}")
    sides = record_sides(spec, issue, KIND, number, letters)
    front = blank(issue, KIND, number, 1, 1 + len(sides))
    hold = spec.hold
    items = _header(spec, number, front.room)
    if hold is None:
        items += _no_hold(spec, front.room)
    else:
        items += _bench(spec, hold, shaded_object(working, spec.survey, hold.attitude), front, issue)
    return (finished(front, items, f"{KIND} {number}"), *sides)


def _header(spec: MountSpec, number: str, room: Box) -> list[Item]:
    stamp = verdict_stamp(spec.verdict, room.right_mm, room.top_mm, 4.0)
    how = "proposed, not yet agreed" if spec.chosen_by == "proposed" else f"chosen by {spec.chosen_by}"
    items: list[Item] = [
            Text(room.left_mm, room.top_mm - 7.0, shortened(number, 120.0, 7.0, True), 7.0, bold=True),
            Text(room.left_mm, room.top_mm - 12.5, shortened(spec.title or "(no title)", 128.0, 3.5), 3.5),
            Text(room.right_mm, room.top_mm - 12.5, how, 1.8, "end", colour=GREY), *stamp]
    return items


def _no_hold(spec: MountSpec, room: Box) -> list[Item]:
    y = room.top_mm - 24.0
    items: list[Item] = [Text(room.left_mm, y, "No hold was found that keeps this object with margin.", 3.5, bold=True)]
    for refusal in spec.holds.refusals:
        best = "" if refusal.best_margin_g is None else f" (best margin {refusal.best_margin_g:.2f} g)"
        for words in wrapped(f"{refusal.attitude.name}: {refusal.reason}{best}. {refusal.advice}", room.width_mm, 2.2):
            y -= 4.2
            items.append(Text(room.left_mm, y, words, 2.2))
        y -= 1.5
    return items


def _bench(spec: MountSpec, hold: Hold, shown: ShadedMesh, page: Blank, issue: Issue) -> list[Item]:
    room, measures = page.room, issue.measures
    views = Box(room.left_mm, room.top_mm - 16.0 - _VIEWS_MM, room.right_mm, room.top_mm - 16.0)
    items, y = mount_views(shown, hold, spec.plan, views, measures, third_angle=issue.third_angle)
    extents = Extents.of(shown.vertices_mm)
    tips = _tip_table(hold, extents, measures, room, y - 2.0)
    items += tips[0]
    left = Box(room.left_mm, room.bottom_mm, room.left_mm + room.width_mm * 0.5 - 2.0, tips[1] - 2.0)
    right = Box(left.right_mm + 4.0, room.bottom_mm, room.right_mm, tips[1] - 2.0)
    # many tips leave less room: the words then get smaller, down to what a bench can still read
    for words_mm in (_WORDS_MM, 1.9, 1.7, 1.55):
        columns = [_left_column(spec, hold, extents, left, measures, words_mm),
                   _right_column(spec.plan, hold, extents, right, measures, words_mm)]
        if all(bottom >= room.bottom_mm for _, bottom in columns):
            break
    return [*items, *columns[0][0], *columns[1][0]]


def bend_words(arm: Arm, measures: Measures) -> str:
    """Return an arm's bends in bending order from the hub: where on the straight wire, how far, how tight, and how far
    the wire is turned in the fingers before the next bend (seen looking from the hub to the tip)."""
    if not arm.bends:
        return "straight"
    turns = wire_turns_deg(arm.path_mm)
    known = len(turns) == len(arm.bends) - 1
    words = []
    for i, bend in enumerate(arm.bends):
        turn = turns[i - 1] if known and i else 0.0
        said = f"{abs(turn):.0f}°{'↻' if turn > 0 else '↺'}\u00a0" if abs(turn) >= 1.0 else ""
        words.append(f"{said}{measures.length(bend.at_mm)}:\u00a0{angle(bend.angle_deg)}\u00a0"
                     f"r{measures.length(bend.radius_mm)}")
    return "; ".join(words)


def wire_turns_deg(path_mm: F64) -> tuple[float, ...]:
    """Return by how much the plane of bending turns about the wire from each bend to the next, clockwise +.

    path_mm  (k, 3) corners of the centre line, hub first; clockwise as seen looking along the wire to the tip
    """
    runs = np.diff(path_mm, axis=0)
    runs = runs / np.linalg.norm(runs, axis=1, keepdims=True)
    planes = np.cross(runs[:-1], runs[1:])
    turns = []
    for i in range(len(planes) - 1):
        about = runs[i + 1]
        turns.append(float(np.degrees(np.arctan2(np.cross(planes[i], planes[i + 1]) @ about,
                                                 planes[i] @ planes[i + 1]))))
    return tuple(turns)


def _tip_cells(number: int, tip: Tip, extents: Extents, measures: Measures) -> list[Cell]:
    x, y, z = tip.point_mm
    return [
        f"{number}{'' if tip.needed else ' *'}", f"{tip.kind}{', bears' if tip.bearing else ''}",
        measures.length(x - extents.left_mm), measures.length(y - extents.low_mm),
        measures.length(z - extents.back_mm), f"{tip.force_N:.1f} / {tip.force_limit_N:.1f}",
        f"{tip.pad} {measures.length(tip.pad_thickness_mm)}", measures.fine(tip.arm.wire_mm),
        measures.length(tip.arm.developed_length_mm), bend_words(tip.arm, measures), Swatch(tip.arm.paint),
    ]


def _tip_table(hold: Hold, extents: Extents, measures: Measures, room: Box, top_mm: float) -> tuple[list[Item], float]:
    unit = measures.units
    head = heading(f"TIPS AND ARMS ({unit}; contact points on the object, before the pad)", room.left_mm, top_mm,
                   room.width_mm, 2.2)
    shares = (("tip", 8.5, "start"), ("kind", 13.0, "start"), ("from left", 11.5, "end"), ("up", 12.0, "end"),
              ("forward", 12.5, "end"), ("N / limit", 14.0, "end"), ("pad", 17.5, "start"), ("wire ⌀", 10.5, "end"),
              ("length", 13.0, "end"), ("bends from the hub: turn, at: angle, radius", 42.0, "start"),
              ("paint", 23.5, "start"))
    stretch = room.width_mm / sum(width for _, width, _ in shares)
    columns = [Column(name, width * stretch, side) for name, width, side in shares]
    rows = [_tip_cells(i + 1, tip, extents, measures) for i, tip in enumerate(hold.tips)]
    table = grid(columns, rows, room.left_mm, head.bottom_mm, height_mm=1.9, floor_mm=room.bottom_mm)
    y = table.bottom_mm - 3.2
    words = ("Left, lowest and back are the object's own, as the viewer sees it. ↻ ↺: turn the wire in the fingers, "
             "looking from hub to tip. * spare tip.")
    items: list[Item] = [Text(room.left_mm, y, shortened(words, room.width_mm, 1.5), 1.5, colour=GREY),
                         Text(room.left_mm, y - 4.2, "pad material and batch, agreed with the conservator: "
                              "______________________________", 1.9)]
    return [*head.items, *table.items, *items], y - 5.0


def tip_distances(hold: Hold, measures: Measures) -> str:
    """Return the straight distances between contact points, which calipers check on the bent mount."""
    pairs = itertools.combinations(enumerate(hold.tips, start=1), 2)
    return ";  ".join(
        f"{i}–{j}\u00a0{measures.length(float(np.linalg.norm(np.subtract(a.point_mm, b.point_mm))))}"
        for (i, a), (j, b) in pairs)


def caliper_words(survey: Survey, measures: Measures) -> list[tuple[str, str]]:
    """Return two sizes of the object to confirm with calipers before bending, with the scan's doubt of each."""
    height, sides = survey.size_mm[1], (("width", survey.size_mm[0]), ("depth", survey.size_mm[2]))
    widest = max(sides, key=lambda side: side[1])
    pairs = (("height upright", height), (f"{widest[0]} upright", widest[1]))
    return [(name, f"{measures.named(size)} ±\u00a0{measures.named_fine(size * survey.scale_error_ratio)}"
                   "   found ________") for name, size in pairs]


def _left_column(spec: MountSpec, hold: Hold, extents: Extents, box: Box, measures: Measures,
                 words_mm: float) -> tuple[list[Item], float]:
    attitude, survey = hold.attitude, spec.survey
    mass = f"{survey.mass_g.best:.0f} g ({survey.mass_g.low:.0f} to {survey.mass_g.high:.0f}), {survey.mass_basis}"
    head = heading("OBJECT AND HOLD", box.left_mm, box.top_mm, box.width_mm, 2.2)
    pairs = [
        ("attitude", f"{attitude.name}: tilt {angle(attitude.tilt_deg)}, turn {angle(attitude.turn_deg)}, "
                     f"roll {angle(attitude.roll_deg)}"),
        ("size as shown", " × ".join(measures.length(v) for v in (
            extents.right_mm - extents.left_mm, extents.high_mm - extents.low_mm,
            extents.front_mm - extents.back_mm)) + f" {measures.units} (wide, high, deep)"),
        ("mass", mass),
        ("centre of mass", f"{measures.length(-extents.left_mm)} from left, {measures.length(-extents.low_mm)} up, "
                           f"{measures.length(-extents.back_mm)} forward "
                           f"(±\u00a0{measures.length(survey.centre_radius_mm)})"),
        ("holds", f"margin {hold.margin_g:.2f} g; {hold.weight_on_normals_ratio:.0%} of the weight on bearing tips"),
    ]
    object_facts = facts(pairs, box.left_mm, head.bottom_mm, box.width_mm, name_mm=23.0, height_mm=words_mm)
    check = heading("CONFIRM WITH CALIPERS BEFORE BENDING", box.left_mm, object_facts.bottom_mm - 1.5, box.width_mm,
                    2.2)
    calipers = facts(caliper_words(survey, measures), box.left_mm, check.bottom_mm, box.width_mm, name_mm=23.0,
                     height_mm=words_mm, gap_mm=2.2)
    spans = facts([("tip to tip", tip_distances(hold, measures))], box.left_mm, calipers.bottom_mm, box.width_mm,
                  name_mm=23.0, height_mm=words_mm)
    return [*head.items, *object_facts.items, *check.items, *calipers.items, *spans.items], spans.bottom_mm


def _hub_facts(hold: Hold, extents: Extents, measures: Measures) -> list[tuple[str, str]]:
    x, y, z = hold.attach_mm
    hub = hold.hub
    pairs = [
        ("hub", f"{hub.kind} {measures.length(hub.size_mm)} × {measures.length(hub.thickness_mm)} {measures.units}"),
        ("post axis", f"{measures.length(x - extents.left_mm)} from left, {measures.length(y - extents.low_mm)} up; "
                      f"hub's back {measures.length(extents.back_mm - z)} behind the back plane"),
    ]
    if hold.opening is None:
        return [*pairs, ("opening", "none found: see findings")]
    opening = hold.opening
    how = {"bend": f"bent open with two pliers, never against the object, {force(opening.force_N)}",
           "screw": "its screw is undone", "sleeved pin": "its pin is drawn out of the sleeve"}
    return [*pairs, ("opening", f"arm {opening.arm + 1}: {how.get(opening.kind, opening.kind)}; then the object goes "
                                f"out {measures.named(opening.travel_mm)} {direction_words(opening.withdraw)}")]


def direction_words(direction: tuple[float, float, float]) -> str:
    """Return a direction in a viewer's words, such as "forward and up"."""
    names = (("to the right", "to the left"), ("up", "down"), ("forward", "back"))
    size = max(abs(v) for v in direction) or 1.0
    order = sorted(range(3), key=lambda axis: -abs(direction[axis]))
    return " and ".join(names[axis][0 if direction[axis] > 0 else 1] for axis in order
                        if abs(direction[axis]) > 0.35 * size)


def _right_column(plan: PostPlan | None, hold: Hold, extents: Extents, box: Box, measures: Measures,
                  words_mm: float) -> tuple[list[Item], float]:
    head = heading("HUB, POST AND HOLE", box.left_mm, box.top_mm, box.width_mm, 2.2)
    pairs = _hub_facts(hold, extents, measures)
    pairs += post_facts(plan, hold, measures) if plan else [("post", "not planned yet")]
    table = facts(pairs, box.left_mm, head.bottom_mm, box.width_mm, name_mm=19.0, height_mm=words_mm)
    return [*head.items, *table.items], table.bottom_mm


def post_facts(plan: PostPlan, hold: Hold, measures: Measures) -> list[tuple[str, str]]:
    """Return what the bench needs of a post and its hole, as names and words."""
    post, hole = plan.post, plan.hole
    place = "anchor not placed yet" if hole.x_mm is None or hole.y_mm is None else (
        f"{hole.panel} face {hole.face}: x {measures.fine(hole.x_mm)}, y {measures.fine(hole.y_mm)} {measures.units}")
    depth = "through" if hole.through else (
        f"× {measures.length(hole.depth_mm)} {measures.units} deep, point {angle(hole.point_angle_deg)} adds "
        f"{measures.length(hole.point_depth_mm)}; web left {measures.length(hole.web_mm)}")
    brackets = f"; try {', '.join(hole.brackets)} in an offcut" if hole.brackets else ""
    return [
        ("post", f"⌀ {measures.fine(post.diameter_mm)} ({post.rod}) {post.material}"),
        ("cut / blank", f"{measures.named(post.cut_length_mm)} / {measures.named(post.blank_length_mm)}; free "
                        f"{measures.length(post.free_length_mm)}, seat {measures.length(post.seat_depth_mm)}, "
                        f"stand-off {measures.length(post.stand_off_mm)}"),
        ("clock mark", f"scribe 12 o'clock on hub and post; as the viewer sees it: {clock(post.clock_deg)}"),
        ("paint", f"bare for {measures.named(post.paint_stop_mm)} from the inner end, grey above; none in the seat"),
        ("hole", f"{place}"),
        ("drill", f"{hole.drill} = ⌀ {measures.fine(hole.drill_diameter_mm)} {depth}{brackets}"),
        ("push-in", f"{force(post.push_in_N)} on hub or post, never on an arm"),
    ]
