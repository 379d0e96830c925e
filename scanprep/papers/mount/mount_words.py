"""What a mount sheet says of a mount, in words and figures: bends, tips, calipers, hub, post and hole.

Tips and post are given from three datums that a bench can find: the object's lowest point, its left edge as the viewer
sees it, and the plane of its rearmost point. Pairs are (name, words). Used by the one-page and the two-sided sheet.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np

from scanprep.hold.records import Arm, Hold, Strip, Tip
from scanprep.hold.strength.stiffness import braces_of, rings_of
from scanprep.hold.wires.bends import bend_wire, tidy
from scanprep.papers.drawing.measures import Measures, angle, clock, force
from scanprep.papers.mount.mount_views import Extents
from scanprep.post.records import Hole, PostPlan, Preset
from scanprep.rules import HoldRules
from scanprep.spec import MountSpec
from scanprep.survey.records import Survey
from scanprep.vectors import F64, Vec3, vec3

Pairs = list[tuple[str, str]]
#: exact: faces of a flat bar that does not lean: two that bear, and its lip
BAR_FACES = 3


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


def leaving_words(arm: Arm, attach_mm: Vec3, measures: Measures) -> str:
    """Return where an arm leaves the hub, which way, and to which side its first bend goes, as the viewer sees it.

    attach_mm  the post's axis at the hub's back, display frame
    """
    start, run = arm.path_mm[0], arm.path_mm[1] - arm.path_mm[0]
    across, up = (float(start[k]) - attach_mm[k] for k in (0, 1))
    said = "at the post's axis" if np.hypot(across, up) < 0.05 else (
        f"{measures.length(abs(across))} {'right' if across > 0 else 'left'}, {measures.length(abs(up))} "
        f"{'above' if up > 0 else 'below'} the post's axis")
    flat = float(np.hypot(run[0], run[1]))
    towards = direction_words(vec3(run)) if flat < 0.3 * float(np.linalg.norm(run)) else \
        _from_twelve(float(np.degrees(np.arctan2(-run[0], run[1]))))
    if len(arm.path_mm) < 3:
        return f"{said}, towards {towards}"
    turned = arm.path_mm[2] - arm.path_mm[1]
    aside = turned - run * float(turned @ run) / float(run @ run)
    return f"{said}, towards {towards}; first bend {direction_words(vec3(aside))}"


def end_words(arm: Arm, measures: Measures) -> str:
    """Return how an arm's thin end is joined to its stem, and whether it is softened for its hook; empty for neither.
    """
    said = []
    if arm.strip is not None:
        formed = sum(float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum()) for ring in rings_of(arm))
        said.append(f"{strip_words(arm.strip, measures)}, {measures.length(formed)} long, formed round the section on "
                    "its broad side and twisted to lie on it; its middle on the stem's end, two 1/8 in rivets and "
                    "solder; pad over its whole length and breadth")
    if arm.thin is not None:
        said.append(f"⌀ {measures.fine(arm.end_mm)}, soldered into the stem's end, drilled along its axis three "
                    "diameters deep")
    least = HoldRules().bend_least_diameters
    bar = arm.wide_mm and arm.thin is None  # its own words say that it is softened
    if not bar and any(bend.radius_mm < 0.98 * least * arm.end_mm for bend in arm.bends):
        said.append("softened before its hook is bent")
    return "; ".join(said)


def bar_words(tip: Tip, measures: Measures) -> str:
    """Return how flat bar is marked out on its straight stock, from its end on the back bar; empty for wire."""
    arm = tip.arm
    if not arm.wide_mm:
        return ""
    if arm.thin is not None or arm.strip is not None:
        return (f"{stock_words(arm, measures)} for the stem; its first {measures.length(arm.lap_mm)} on the back bar, "
                "a rivet and solder; bends across its full width")
    bent, bend = arm.bends[0], arm.bends[-1]
    lip_mm = bend.at_mm + np.radians(bend.angle_deg) * (bend.radius_mm + arm.wire_mm / 2) / 2
    under_mm = bent.at_mm + np.radians(bent.angle_deg) * (bent.radius_mm + arm.wire_mm / 2) / 2
    behind = len(tip.faces) > BAR_FACES
    first = "its leg where it touches, " if behind else ""
    return (f"{stock_words(arm, measures)}, {measures.length(arm.developed_length_mm)} long; its first "
            f"{measures.length(arm.lap_mm)} on the back bar, two rivet holes {measures.length(arm.lap_mm / 4)} and "
            f"{measures.length(0.75 * arm.lap_mm)} from its end; bends across its full width, softened there; "
            f"from {measures.length(lip_mm)} filed to a tongue {measures.length(arm.lip_mm)} wide; pad "
            f"{measures.length(arm.wide_mm)} wide on {first}{measures.length(under_mm)} to "
            f"{measures.length(bend.at_mm)}, and on the lip")


def stock_words(arm: Arm, measures: Measures) -> str:
    """Return what an arm is made of: a wire's diameter, or a flat bar's width and thickness."""
    if arm.wide_mm:
        return f"flat bar {measures.length(arm.wide_mm)} × {measures.length(arm.wire_mm)}"
    return f"⌀ {measures.fine(arm.wire_mm)}"


def strip_words(strip: Strip, measures: Measures) -> str:
    """Return a strip's section: its width and thickness."""
    return f"strip {measures.length(strip.wide_mm)} × {measures.length(strip.thick_mm)}"


def second_wire_words(hold: Hold, arm: Arm, measures: Measures) -> str:
    """Return the wires laid beside an arm: how long, where from, how bent, and over which part of the arm soldered."""
    said = []
    for path in braces_of(arm, hold.hub):
        corners = tidy(path)  # what turns less than a bend lies straight
        bent = bend_wire(corners, arm.wire_mm, HoldRules().bend_radius_diameters)
        wire = replace(arm, path_mm=corners, bends=bent.bends, developed_length_mm=bent.length_mm)
        ends = [_along_mm(arm.path_mm, path[k]) for k in (2, -1)]
        said.append(f"⌀ {measures.fine(arm.wire_mm)}, {measures.length(bent.length_mm)} long; on the hub's back "
                    f"{leaving_words(wire, hold.attach_mm, measures)}; bends {bend_words(wire, measures)}; soldered to "
                    f"the arm from {measures.length(ends[0])} to {measures.length(ends[1])} along it")
    return ";  ".join(said)


def _along_mm(path_mm: F64, point_mm: F64) -> float:
    """How far along a path its place nearest to a point lies."""
    start, run = path_mm[:-1], np.diff(path_mm, axis=0)
    long = np.linalg.norm(run, axis=1)
    share = np.clip(np.einsum("kx,kx->k", point_mm - start, run) / long**2, 0.0, 1.0)
    nearest = int(np.argmin(np.linalg.norm(start + share[:, None] * run - point_mm, axis=1)))
    return float(long[:nearest].sum() + share[nearest] * long[nearest])


def _from_twelve(angle_deg: float) -> str:
    """A direction in the panel's plane by its angle from straight up, counter-clockwise for the viewer +."""
    said = clock(angle_deg)
    return "12 o'clock" if said == "up" else f"{said} from 12 o'clock"


def face_words(tip: Tip, extents: Extents, measures: Measures) -> str:
    """Return the other places where a tip touches, each from left, up, forward, with its own force limit."""
    return ";  ".join(
        f"{letter}: {measures.length(x - extents.left_mm)}, {measures.length(y - extents.low_mm)}, "
        f"{measures.length(z - extents.back_mm)} (at most {face.force_limit_N:.1f} N)"
        for letter, face in zip("bcdefgh", tip.faces[1:]) for x, y, z in (face.point_mm,))


def tip_distances(hold: Hold, measures: Measures) -> str:
    """Return the straight distances between contact points, which calipers check on the bent mount."""
    pairs = itertools.combinations(enumerate(hold.tips, start=1), 2)
    return ";  ".join(
        f"{i}–{j}\u00a0{measures.length(float(np.linalg.norm(np.subtract(a.point_mm, b.point_mm))))}"
        for (i, a), (j, b) in pairs)


def caliper_words(survey: Survey, measures: Measures) -> Pairs:
    """Return two sizes of the object to confirm with calipers before bending, with the scan's doubt of each."""
    height, sides = survey.size_mm[1], (("width", survey.size_mm[0]), ("depth", survey.size_mm[2]))
    widest = max(sides, key=lambda side: side[1])
    pairs = (("height upright", height), (f"{widest[0]} upright", widest[1]))
    return [(name, f"{measures.named(size)} ±\u00a0{measures.named_fine(size * survey.scale_error_ratio)}"
                   "   found ________") for name, size in pairs]


def object_facts(spec: MountSpec, hold: Hold, extents: Extents, measures: Measures) -> Pairs:
    """Return how the object is shown, how big and heavy it is, and with what margin it is held."""
    attitude, survey = hold.attitude, spec.survey
    sizes = (extents.right_mm - extents.left_mm, extents.high_mm - extents.low_mm, extents.front_mm - extents.back_mm)
    return [
        ("attitude", f"{attitude.name}: tilt {angle(attitude.tilt_deg)}, turn {angle(attitude.turn_deg)}, "
                     f"roll {angle(attitude.roll_deg)}"),
        ("size as shown", " × ".join(measures.length(v) for v in sizes) + f" {measures.units} (wide, high, deep)"),
        ("mass", f"{survey.mass_g.best:.0f} g ({survey.mass_g.low:.0f} to {survey.mass_g.high:.0f}), "
                 f"{survey.mass_basis}"),
        ("centre of mass", f"{measures.length(-extents.left_mm)} from left, {measures.length(-extents.low_mm)} up, "
                           f"{measures.length(-extents.back_mm)} forward "
                           f"(±\u00a0{measures.length(survey.centre_radius_mm)})"),
        ("holds", f"margin {hold.margin_g:.2f} g; {hold.weight_on_normals_ratio:.0%} of the weight on bearing tips"),
    ]


def hub_facts(hold: Hold, extents: Extents, measures: Measures) -> Pairs:
    """Return the hub, where the post's axis runs, and how the object comes out."""
    x, y, z = hold.attach_mm
    hub = hold.hub
    sizes = [hub.size_mm, hub.high_mm, hub.thickness_mm] if hub.high_mm else [hub.size_mm, hub.thickness_mm]
    kind = "flat bar, level," if hub.high_mm else hub.kind
    pairs = [
        ("hub", f"{kind} {' × '.join(map(measures.length, sizes))} {measures.units}"),
        ("post axis", f"{measures.length(x - extents.left_mm)} from left, {measures.length(y - extents.low_mm)} up; "
                      f"hub's back {measures.length(abs(extents.back_mm - z))} "
                      f"{'behind' if z <= extents.back_mm else 'in front of'} the back plane"),
    ]
    if hold.opening is None:
        return [*pairs, ("opening", "none found: see findings")]
    opening = hold.opening
    how = {"bend": f"bent open with the fingers, {force(opening.force_N)}",
           "finger": f"its lip, a soft finger, is straightened, {force(opening.force_N)}",
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


def post_facts(plan: PostPlan, measures: Measures, place: str = "") -> Pairs:
    """Return what the bench needs of a post and its hole.

    place  where the hole is, from the datum corner; without it, as its own face's viewer finds it
    """
    post, hole = plan.post, plan.hole
    return [
        ("post", f"⌀ {measures.fine(post.diameter_mm)} ({post.rod}) {post.material}"),
        ("cut / blank", f"{measures.named(post.cut_length_mm)} / {measures.named(post.blank_length_mm)}; free "
                        f"{measures.length(post.free_length_mm)}, seat {measures.length(post.seat_depth_mm)}, "
                        f"stand-off {measures.length(post.stand_off_mm)}"),
        ("clock mark", f"scribe 12 o'clock on hub and post; as the viewer sees it: {clock(post.clock_deg)}"),
        ("paint", f"bare for {measures.named(post.paint_stop_mm)} from the inner end, grey above; none in the seat"),
        ("hole", place or _hole_place(hole, measures)),
        ("drill", _drill_words(hole, measures)),
        ("held by", post.retention or "nothing chosen yet"),
        ("push-in", f"{force(post.push_in_N)} on hub or post, never on an arm"),
        *([("pre-set", _preset_words(post.preset, measures))] if post.preset else []),
        *([("weakest link", plan.weakest)] if plan.weakest else []),
        ("proof", f"pull {force(post.proof_pull_N)}, twist {post.proof_twist_Nmm:.0f} N mm, before the object: nothing "
                  "moves"),
    ]


def _preset_words(preset: Preset, measures: Measures) -> str:
    """How far the mount is bent up before it hangs, what is left in doubt, and what years add."""
    way = "back" if preset.nod_deg >= 0 else "forward"
    return (f"set {measures.fine(preset.droop_mm)} high, top {abs(preset.nod_deg):.1f}° {way} "
            f"(± {measures.fine(preset.left_mm)}, {preset.left_deg:.1f}°; years add {measures.fine(preset.creep_mm)})")


def _hole_place(hole: Hole, measures: Measures) -> str:
    if hole.from_left_mm is None or hole.y_mm is None:
        return "anchor not placed yet"
    return (f"{hole.panel} face {hole.face}: {measures.fine(hole.from_left_mm)} from that face's left edge, Y "
            f"{measures.fine(hole.y_mm)} {measures.units}")


def _drill_words(hole: Hole, measures: Measures) -> str:
    depth = "through" if hole.through else (
        f"× {measures.length(hole.depth_mm)} {measures.units} deep, point {angle(hole.point_angle_deg)} adds "
        f"{measures.length(hole.point_depth_mm)}; web left {measures.length(hole.web_mm)}")
    brackets = f"; try {', '.join(hole.brackets)} in an offcut" if hole.brackets else ""
    return f"{hole.drill} = ⌀ {measures.fine(hole.drill_diameter_mm)} {depth}{brackets}"
