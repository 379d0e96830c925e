"""How an object would be shown: what is up and what faces the viewer, with the other choices where evidence is thin.

Cans, boxes and vessels stand. A flat thing shows its face, a long thing its length. A face is told by its hollow (a
dish), by its colours (a printed box), by its detail; a flat thing's edges are squared to the panel, along its own
mirror plane or the smallest rectangle round its outline, and lines of writing say which edge is level. Which of two
opposite edges is up no shape tells: that is asked, with the choices as plain directions of which pictures can be made.
Takes what was measured (scan axes, mm); gives `Showing` values. Used by the survey; `hold.places.attitudes` turns them
into display angles.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.survey.evidence import VESSEL_SHARE
from scanprep.survey.front import EDGED_SHARE, Front, choose_front, of_two, paint_tells
from scanprep.survey.marks import is_drawn, marked_side, modelled_side, top_is_drawn
from scanprep.survey.records import Axis, MirrorPlane, Showing
from scanprep.survey.shape import Extents
from scanprep.survey.tops import LONG_RATIO, Seen, tops
from scanprep.vectors import F64, Vec3, rotation_to, unit, vec3

FLAT_RATIO = 0.45  # tolerance: least over middle extent below which a thing has a face; assumed
FACED_RATIO = 0.55  # tolerance: the same where both faces are alike: a banana, a blade, a lock; trial
CAN_RATIO = 0.25  # tolerance: a round body this high over its width is a squat can or a bowl, no disc or plate; assumed
_WIDE_RATIO = 0.8  # tolerance: middle over largest extent of what is as wide every way: a bowl, not a pan; assumed
_PIERCED_SHARE = 0.1  # tolerance: of the filled outline, looked through: a ring, an eight; assumed
_SPOOL_RATIO = 0.40  # tolerance: of its width: a lower one is a pulley, a double disc, which shows its face; assumed
# tolerance: how much deeper one face may be than the other, over the height, for it to be closed; assumed
_CLOSED_SHARE = 0.05
_DISH_SHARE = 0.2  # tolerance: the same, for the deeper face to be its inside; assumed
_SQUARE_COS = 0.985  # tolerance: within 10 deg: the same direction, measured less well
_RICHER_RATIO = 1.3  # tolerance: how much more detail the outside of a hollow face has, for it to be shown; assumed
DISC_SHARE = 0.85  # tolerance: of the circle round its outline: a whole dish or bowl, chipped; assumed
_TOP_RATIO = 0.62  # tolerance: the same, of what lies there to be looked at from above: a back, no flank; assumed
_OBLONG_RATIO = 0.85  # tolerance: middle over largest extent of what has a length seen from above; assumed
_HEADS_SHARE = 0.015  # tolerance: of its reach, how far its mass lies off the middle where one end is heavier; assumed
_LOW_RATIO = 0.7  # tolerance: least over middle extent of what may be shown from above, against the panel; assumed
_SAME_COS = 0.9998  # tolerance: within 1 deg: one choice, not two
_UNLIKE_COS = 0.95  # tolerance: within 18 deg: no picture of its own where a place is spare; assumed
_TOLD_COS = 0.6  # tolerance: a front that was told is level within 37 deg in every way up that is offered; assumed
_LIKELY = 7  # tolerance: other ways up come before the third side of the first; assumed
_MOST = 8  # tolerance: choices that a person can look over at once; assumed


@dataclass(frozen=True, slots=True)
class FaceSeen:
    """What is asked of a direction to tell whether a face lies across it."""

    mouth: Callable[[Vec3], float]  # how much deeper the hollow is seen from above than from below, over the height
    round_share: Callable[[Vec3], float]  # share of the skin that is round about an axis along it
    waisted: Callable[[Vec3], bool]  # narrower in the middle than at both ends along it: a spool stands
    circle_share: Callable[[Vec3], float]  # of the circle round the outline along it, covered by that
    pierced: Callable[[Vec3], float]  # share of the outline, holes filled, that is looked through along it


@dataclass(frozen=True, slots=True)
class Shown:
    """The proposal and what must be asked."""

    showing: Showing
    choices: tuple[Showing, ...]  # the proposal first; empty where nothing is asked
    ask_up: str  # why it must be asked; "" where it need not
    ask_front: str
    standing_front: Front  # as it stands on its rest, whatever is shown


def has_face(extents: Extents, axis: Axis | None, mirrors: Sequence[MirrorPlane], seen: FaceSeen) -> bool:
    """Return whether a thing is flat enough to have a face.

    A ring, an eight or a knot shows the side that is looked through; a squat can, a spool and a bowl stand on their
    foot: what lies with its face up and is shown by it is a plate, a dish, a disc.
    """
    shortest, flatness = vec3(extents.axes[2]), extents.flatness_ratio
    round_across = axis is not None and abs(float(np.dot(axis.direction, shortest))) > _SQUARE_COS
    if flatness < FACED_RATIO and seen.pierced(shortest) > _PIERCED_SHARE:
        return not (round_across and flatness > _SPOOL_RATIO and seen.waisted(shortest))
    if flatness > CAN_RATIO:
        mouth = abs(seen.mouth(shortest))
        if round_across and (mouth < _CLOSED_SHARE or mouth > _DISH_SHARE):
            return False
        whole = extents.slenderness_ratio > _WIDE_RATIO and seen.circle_share(shortest) > DISC_SHARE
        if whole and mouth > _DISH_SHARE and seen.round_share(shortest) > VESSEL_SHARE:
            return False  # of a sherd the outline is no circle
    if _SPOOL_RATIO < flatness < FACED_RATIO and extents.slenderness_ratio >= LONG_RATIO and seen.waisted(shortest):
        return False
    if flatness < FLAT_RATIO:
        return True
    alike = any(abs(float(np.dot(plane.normal, shortest))) > _SQUARE_COS for plane in mirrors)
    return flatness < FACED_RATIO and alike


def choose_showing(up_told: Vec3 | None, front_told: Vec3 | None, seen: Seen) -> Shown:
    """Return how the object is shown, and the choices to be asked for.

    up_told, front_told  as the checklist says, scan axes
    """
    standing = choose_front(front_told, seen.upright.up, seen.body)
    if up_told is None and front_told is None and _shows_its_top(seen):
        return _filled(_from_above(seen, standing), seen)
    if stands(seen):
        return _standing(up_told, front_told, seen, standing)
    shown = _lying(up_told, front_told, seen, standing)
    return _filled(shown, seen) if up_told is None and front_told is None else shown


def _filled(shown: Shown, seen: Seen) -> Shown:
    """What is shown by its face, its length or its back, its spare places given to the ways in which it may stand.

    Whoever is asked must find the right one among the pictures: a toy horse as thin as a board still stands on its
    feet, and the picture on a disc may be on its back. Each way up comes with its likeliest side before any other side.
    """
    choices = list(shown.choices)
    if not choices or len(choices) >= _MOST:
        return shown
    standing = [Showing(seen.upright.up, shown.standing_front.direction, "upright", "as it stands or lies")]
    standing += [Showing(way, choose_front(None, way, seen.body).direction, "upright", "another way up, standing")
                 for way in seen.ups]
    first = shown.showing
    over = [Showing(first.up, vec3(-np.asarray(first.front)), first.kind, "its other side to the viewer")]
    for one in (*over[:first.kind == "face"], *standing, *_turned_round(standing)):
        if all(min(np.dot(one.up, other.up), np.dot(one.front, other.front)) < _UNLIKE_COS for other in choices):
            choices.append(one)
    return replace(shown, choices=tuple(choices[:_MOST]))


def stands(seen: Seen) -> bool:
    """Whether the object is shown on the rest that was found: not lying on its face or along its length."""
    up = np.asarray(seen.upright.up)
    if seen.relief is not None:
        return False
    longest, _, shortest = seen.extents.axes
    long = seen.extents.slenderness_ratio < LONG_RATIO
    if seen.faced and abs(float(up @ shortest)) > 0.8:
        return False
    if long and abs(float(up @ longest)) < 0.6:
        return seen.on_feet  # a crocodile, a coach, a bench: what stands on legs or wheels does not lie
    # told which edge is up, but it cannot stand on it: a token, a spoon
    return not (seen.upright.rest is None and (seen.faced or long))


def _standing(up_told: Vec3 | None, front_told: Vec3 | None, seen: Seen, front: Front) -> Shown:
    up = seen.upright
    first = Showing(up.up, front.direction, "upright", f"{up.reason}; {front.reason}")
    sides = [] if front.sure else [Showing(up.up, other, "upright", "another side to the viewer")
                                   for other in front.others]
    choices = [first, *sides[:1]]
    ups = [way for way in seen.ups if front_told is None or abs(float(np.dot(unit(np.asarray(front_told)), way)))
           < _TOLD_COS]
    if not up.sure:
        other_sides = []
        for way in ups:
            other = choose_front(front_told, way, seen.body)
            choices.append(Showing(way, other.direction, "upright", "another way up"))
            if not other.sure:
                other_sides += [Showing(way, side, "upright", "another way up, another side to the viewer")
                                for side in other.others[:1]]
        choices[_LIKELY:_LIKELY] = sides[1:]
        choices += other_sides
    choices += sides[1:]
    choices = different(choices)
    asked = not (up.sure and front.sure)
    if asked and front_told is None and not (front.sure and _round_about(seen)):
        choices = different([*choices, *_turned_round(choices)])
    if asked and up.sure and up_told is None:  # a file may lie: other ways up as well, where there is room
        choices = different([*choices, *(Showing(way, choose_front(front_told, way, seen.body).direction, "upright",
                                                 "another way up") for way in ups[:max(_MOST - len(choices), 0)])])
    if asked and seen.extents.flatness_ratio < _LOW_RATIO and abs(float(np.dot(up.up, seen.extents.axes[2]))) > 0.8:
        ahead = np.cross(seen.extents.axes[0], up.up)
        along = unit(np.cross(up.up, ahead))
        choices[_MOST - 2:] = [Showing(vec3(end), up.up, "face", "seen from above, as what lies on a back or a seal is")
                               for end in (along, -along)]
    return Shown(first, tuple(choices[:_MOST]) if asked else (), "" if up.sure else up.reason,
                 "" if front.sure else front.reason, front)


def _round_about(seen: Seen) -> bool:
    """Whether any side of what stands is as good as another: turned work on its axis."""
    axis = seen.body.axis
    return axis is not None and abs(float(np.dot(axis.direction, seen.upright.up))) > _SQUARE_COS


def _turned_round(choices: Sequence[Showing]) -> list[Showing]:
    """The other sides of what is offered, where there is room to show them: backs, then flanks, the likeliest first."""
    ways = [one for k, one in enumerate(choices) if all(np.dot(one.up, other.up) < _SAME_COS for other in choices[:k])]
    why = "another side to the viewer"
    backs = [Showing(one.up, vec3(-np.asarray(one.front)), one.kind, why) for one in ways]
    flanks = [Showing(one.up, vec3(side * np.cross(one.up, one.front)), one.kind, why)
              for one in ways for side in (1.0, -1.0)]
    return [*backs[:1], *flanks[:2], *backs[1:], *flanks[2:]]


def different(choices: Sequence[Showing]) -> list[Showing]:
    """Return the choices without those that an earlier one shows already."""
    kept: list[Showing] = []
    for one in choices:
        if all(min(np.dot(one.up, other.up), np.dot(one.front, other.front)) < _SAME_COS for other in kept):
            kept.append(one)
    return kept


def _shows_its_top(seen: Seen) -> bool:
    """Whether a thing is low, closed, neither square nor round, and lies on its broad underside.

    What was made to be looked at from above (a seal in a beetle's shape, a turtle, a brush, a loaf) shows its back, and
    so does a round thing that is drawn on there (a dial, a tin with a picture on its lid); a low box shows its front, a
    cake or a dish stands.
    """
    up, shortest = np.asarray(seen.upright.up), seen.extents.axes[2]
    if not stands(seen) or seen.faced or seen.extents.flatness_ratio > _TOP_RATIO or seen.square:
        return False
    if abs(float(up @ shortest)) < _SQUARE_COS or (
            seen.round_share(seen.upright.up) > VESSEL_SHARE and not top_is_drawn(seen.body.sides, up)):
        return False
    return seen.extents.slenderness_ratio > LONG_RATIO and abs(seen.mouth(seen.upright.up)) < _DISH_SHARE


def _from_above(seen: Seen, standing: Front) -> Shown:
    """A low thing with its back to the viewer, which end of it is up asked; as it lies and from the sides besides."""
    up = seen.upright
    edges, _ = tops(None, np.asarray(up.up), seen)
    if seen.extents.slenderness_ratio < _OBLONG_RATIO:  # its length upright, as an animal seen from above
        edges.sort(key=lambda edge: abs(float(edge @ seen.extents.axes[0])) < 0.7)  # half way between two edges
    if seen.lighter(edges[0]) < -_HEADS_SHARE:  # a body is heavier than a head
        edges = [-edge for edge in edges]
    why = "low, and lies on its underside: its back to the viewer; which end of it is up is a guess"
    choices = [Showing(vec3(edge), up.up, "face", why if k == 0 else "another edge up")
               for k, edge in enumerate(edges[:_MOST // 2])]
    choices += [Showing(up.up, side, "upright", "as it lies, its side to the viewer")
                for side in (standing.direction, vec3(-np.asarray(standing.direction)), *standing.others)]
    return Shown(choices[0], tuple(choices[:_MOST]), why, "", standing)


def _lying(up_told: Vec3 | None, front_told: Vec3 | None, seen: Seen, standing: Front) -> Shown:
    """A thing that lies on its face or along its length: the face to the viewer, and which edge of it is up."""
    face = _face(front_told, seen, standing)
    towards = np.asarray(face.direction)
    kind = "face" if seen.faced or seen.relief is not None else "length"
    edges, told = tops(up_told, towards, seen)
    first = Showing(vec3(edges[0]), face.direction, kind, face.reason)
    turned = kind == "face" and seen.round_share(face.direction) > VESSEL_SHARE  # as good whichever edge is up
    plain = turned and not is_drawn(seen.body.sides, towards)  # a picture on a plate has a top
    ask_up = "" if told or (plain and seen.upright.sure) else (
        "shape does not tell which edge of it is up" if kind == "face" else "shape does not tell which end of it is up")
    choices = [first]
    both = _MOST // 2 if len(edges) <= _MOST // 2 else _MOST - 2  # of what has no edges most ways of the likelier face
    if ask_up:
        choices += [Showing(vec3(top), face.direction, kind, "another edge up")
                    for top in edges[1:_MOST if face.sure else both]]
    if not face.sure:
        choices += [Showing(one.up, vec3(-towards), kind, "its other face to the viewer") for one in tuple(choices)]
    asked = bool(ask_up) or not face.sure
    if asked and up_told is None and front_told is None:  # a long thing may be turned over, a flat one may stand
        aside = np.cross(edges[0], towards)
        turned_ways = [(end, side * aside) for side in (1.0, -1.0) for end in (towards, -towards)]
        choices += [Showing(vec3(end), vec3(side), kind, "turned about its length, which lies level")
                    for end, side in turned_ways if kind == "length"]
        choices.append(Showing(seen.upright.up, standing.direction, "upright", "as it stands or lies"))
        choices = different(choices)
    return Shown(first, tuple(choices[:_MOST]) if asked else (), ask_up, "" if face.sure else face.reason, standing)


def _face(front_told: Vec3 | None, seen: Seen, standing: Front) -> Front:
    """Which of its two faces looks at the viewer: as told, its hollow, or the richer one."""
    shortest, up = seen.extents.axes[2], np.asarray(seen.upright.up)
    # An axis of inertia is off by irregularity; a rest is not, unless it leans on what stands out (a bezel): where both
    # faces are alike the plane between them is square.
    between = [np.asarray(plane.normal) for plane in seen.body.mirrors]
    for known in (up, np.asarray(standing.direction), *between):
        if abs(float(shortest @ known)) > _SQUARE_COS:
            shortest = known * np.sign(shortest @ known)
    if front_told is not None:
        told = unit(np.asarray(front_told, dtype=np.float64))
        return Front(vec3(shortest * np.sign(shortest @ told)) if abs(float(told @ shortest)) > 0.7 else vec3(told),
                     "the checklist says so")
    if seen.relief is not None:
        return Front(seen.relief, "the outside of a relief or mask to the viewer: its back is open")
    if seen.faced:
        depth = seen.mouth(vec3(shortest))
        if abs(depth) > _DISH_SHARE:
            return _hollow_face(shortest * np.sign(depth), seen)
    what = "its face to the viewer" if seen.faced else "its length across the view"
    if seen.body.axis is not None and abs(float(np.dot(seen.body.axis.direction, shortest))) < 0.2:
        return choose_front(None, vec3(seen.extents.axes[0]), seen.body)  # turned work: any side of it, but for paint
    modelled = modelled_side(seen.body.sides, shortest) if seen.faced else None
    if modelled is not None:
        return Front(vec3(modelled), f"{what}, on its modelled side: its back is flat and plain", False,
                     (vec3(-modelled),))
    return of_two(shortest, seen.body, what, seen.extents.axes[0])


def _hollow_face(inside: F64, seen: Seen) -> Front:
    """A dish shows its inside; a sherd, a shell or a mask may have its paint or its relief outside, and asks."""
    what, sides = "its hollow face to the viewer", seen.body.sides
    # of a tile or a panel, which is made square, the hollow may be the frame behind its picture or relief
    edged = sides.edges_along(rotation_to(inside, np.array([0.0, 0.0, 1.0])))[1] >= EDGED_SHARE
    marked = marked_side(sides, inside) if edged else None
    richer = sides.detail(-inside) > _RICHER_RATIO * sides.detail(inside) or (
        paint_tells(seen.body, inside) and sides.colourful(-inside) > sides.colourful(inside)) or (
        marked is not None and float(marked @ inside) < 0)
    if not richer or sides.circle_share(vec3(inside)) > DISC_SHARE:
        return Front(vec3(inside), what)
    return Front(vec3(-inside), "its hollow away, since there is more to see outside", False, (vec3(inside),))
