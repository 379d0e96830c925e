"""Which side faces the viewer, by evidence: the checklist, a flat thing's face, a mirror plane, breadth, paint, detail.

A figure's front lies in its mirror plane, but what is long is shown broadside: an animal, a wagon, a flat bottle. Of
the two sides that such an axis leaves, what is painted or printed shows the more colourful one, what is plain the one
with more going on; where the body is its own mirror image front to back and plain, either is as good. Where nothing
tells, the best guess asks.
Takes what the sides show (`Sides`) and the way up; gives a unit direction, level when upright. Used by `showing`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.survey.marks import drawn_side, is_drawn, lettered_side, marked_side, most_drawn
from scanprep.survey.records import Axis, MirrorPlane
from scanprep.survey.samples import skin_samples
from scanprep.survey.sides import Sides
from scanprep.vectors import F64, Vec3, rotation_about, unit, vec3

# tolerance: how far a handle reaches, over the body's radius and over the opposite side's reach; assumed
_HANDLE_RATIO = 1.15
_CLEARER_RATIO = 1.5  # tolerance: misfit of the next mirror plane over the best one's, for that to count alone; assumed
# tolerance: how much more detail, or colour, one side must have than its back for that to count; assumed
_TELLS_RATIO = 1.15
_HINTS_RATIO = 1.02  # tolerance: the same, for which of two guesses comes first; assumed
_SURE_RATIO = 1.3  # tolerance: the same, for that to go without asking; assumed
_AGREES_RATIO = 1.05  # tolerance: the same, where the file's habit says the same side of a figure; trial
_PAINTED_DIFFERENCE = 0.05  # tolerance: of saturation, 0..1: less is no paint; assumed
# tolerance: widest outline over that in the mirror plane, for the wide side to be shown; assumed
_BROADSIDE_RATIO = 1.33
_BROAD_SURE_RATIO = 1.5  # tolerance: the same of the broad side itself, for that to go without asking; assumed
_OBLONG_RATIO = 1.2  # tolerance: longer over shorter level side, for a body to have a broad side; assumed
EDGED_SHARE = 0.5  # tolerance: of the outline's edges along one direction or square to it: a box, a board; trial
_HABIT_COS = 0.87  # tolerance: within 30 deg of the side that files mostly have in front
# tolerance: of a bent thing's length: its depth with the bend, the bend's own height, and how far its middle line
# wavers about an even curve; trial: a tusk and a banana 0.13 to 0.17 and 0.01, figures below 0.025
_BENT_LONG_RATIO, _BENT_SHARE, _BENT_MISFIT_SHARE = 0.6, 0.06, 0.02
_BENT_SLICES = 20  # tolerance: of its length
_LOOP_CELLS = 64  # tolerance: of a side's outline, looked at from all round
_ASIDE_SHARE = 0.1  # tolerance: of the width: a loop so far off the middle is a handle at one side; assumed
_FINER_DEG = (-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0)  # tolerance: an opening closes evenly to both sides
# tolerance: within 37 deg: of what has a mirror plane the broad side is square to it or in it, whatever sticks out
_BESIDE_COS = 0.8
_ACROSS_COS = 0.5  # tolerance: over 60 deg from its axis a turned body lies
_ACROSS_PLANE_COS = 0.87  # tolerance: within 30 deg of square to a mirror plane: what stands out does so on both sides
# tolerance: misfit over that of its best plane, up to which two sides are alike; below the second, over the diagonal,
# either is exact; assumed
_MUCH_CLEARER_RATIO, _EXACT_RATIO = 2.0, 0.005
_ALIKE_COS = 0.97  # tolerance: a mirror plane this square to the viewer: front and back are alike


@dataclass(frozen=True, slots=True)
class Front:
    """The side for the viewer and why."""

    direction: Vec3
    reason: str
    sure: bool = True  # False: ask
    others: tuple[Vec3, ...] = ()  # where it asks: the other sides it may be, likeliest first


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """What the choice of a front needs to know of an object."""

    sides: Sides
    face: F64 | None  # unit, across a flat thing; None where it has no face
    mirrors: tuple[MirrorPlane, ...]
    axis: Axis | None
    round_at_mm: F64 | None  # a point on the axis of a round body that may carry something, such as a jug
    plane: MirrorPlane | None = None  # the one plane that it is nearly its own mirror image in


def choose_front(asked: Vec3 | None, up: Vec3, body: Body) -> Front:
    """Return the front, level when upright.

    asked  the checklist's front, scan axes
    """
    upward = np.asarray(up)
    if asked is not None and (told := level(np.asarray(asked, dtype=np.float64), upward)) is not None:
        return Front(vec3(told), "the checklist says so")
    if body.face is not None and abs(float(body.face @ upward)) < 0.35:
        face = level(body.face, upward)
        if face is not None:
            return of_two(face, body, "its broad face", upward)
    if body.axis is not None and abs(float(np.dot(body.axis.direction, upward))) < _ACROSS_COS:
        across = level(np.cross(body.axis.direction, upward), upward)
        if across is not None:
            return of_two(across, body, "a turned body that lies: its length across the view", upward)
    side, two = (None, False) if body.axis is not None or body.round_at_mm is None else \
        _what_stands_out(body, upward, body.round_at_mm)
    if side is not None:
        own = _own_plane(body, upward)
        if two or (own is not None and abs(float(own @ side)) > _ACROSS_PLANE_COS):  # an arm on each side: no handle
            across = np.cross(side, upward)
            return of_two(across, body, "a round body with its two lugs or handles to the sides", upward)
        return _of_jug(side, body, upward)
    if body.axis is not None or body.round_at_mm is not None:
        return _of_round(body, upward)
    return _of_any(body, upward)


def of_two(way: F64, body: Body, what: str, up: F64) -> Front:
    """Return the better of two opposite sides.

    Of a figure's face and back (they lie in its one mirror plane) the side that files mostly have in front counts too.
    """
    coloured = body.sides.saturation is not None
    measure, more = (body.sides.colourful, "more colourful") if coloured else (body.sides.detail, "with more detail")
    ahead, behind = measure(way), measure(-way)
    richer = way if ahead > behind else -way
    ratio = max(ahead, behind) / max(min(ahead, behind), 1e-12)
    reason = f"{what}, on the side {'that is ' if coloured else ''}{more}"
    drawn = drawn_side(body.sides, way) if coloured else None
    # bare clay or wood is more colourful than a white glaze with a picture on it: an even ground is no paint
    even = drawn is not None and float(drawn @ richer) < 0 and not is_drawn(body.sides, richer)
    if paint_tells(body, way) and not even:
        return Front(vec3(richer), reason)
    marked = marked_side(body.sides, way)
    if marked is not None:
        hardly = ratio < _HINTS_RATIO or (coloured and abs(ahead - behind) < _PAINTED_DIFFERENCE)
        agreed = hardly or even or float(marked @ richer) > 0
        return Front(vec3(marked), f"{what}, on the side that is drawn on or carved", agreed,
                     () if agreed else (vec3(-marked),))
    forward = way if float(way @ _file_front(up)) >= 0 else -way
    finer, coarser = sorted((way, -way), key=body.sides.detail, reverse=True)
    if _alike(body, way):
        if body.sides.detail(finer) < _SURE_RATIO * body.sides.detail(coarser):
            return Front(vec3(forward), f"{what}; its two sides are alike")
        return Front(vec3(finer), f"{what}; its two sides are alike but for finer detail")
    figure = body.plane is not None and abs(float(np.dot(body.plane.normal, way))) < 0.3
    if figure and not coloured and ratio > _AGREES_RATIO and _as_filed(richer, up):
        return Front(vec3(richer), f"{reason}, where files mostly have the front")
    if ratio > _TELLS_RATIO:
        forward = richer
        if ratio > _SURE_RATIO:
            return Front(vec3(forward), reason)
        return Front(vec3(forward), f"{reason}, but not much", False, (vec3(-forward),))
    if ratio > _HINTS_RATIO:
        forward = richer
    return Front(vec3(forward), f"{what}; which of its two sides is a guess", False, (vec3(-forward),))


def paint_tells(body: Body, way: F64) -> bool:
    """Return whether one of two opposite sides is so much more colourful that it is the front."""
    ahead, behind = body.sides.colourful(way), body.sides.colourful(-way)
    return max(ahead, behind) > _SURE_RATIO * min(ahead, behind) and abs(ahead - behind) > _PAINTED_DIFFERENCE


def _alike(body: Body, way: F64) -> bool:
    """Whether the body is its own mirror image front to back, in shape and in paint: an animal's two flanks nearly.

    A figure is so far more nearly left to right than front to back: those two are not alike.
    """
    planes = body.mirrors if body.plane is None else (*body.mirrors, body.plane)
    most = _MUCH_CLEARER_RATIO * min((plane.residual_ratio for plane in planes), default=0.0)
    return any(abs(float(np.dot(plane.normal, way))) > _ALIKE_COS and plane.residual_ratio < max(most, _EXACT_RATIO)
               and body.sides.painted_alike(np.asarray(plane.point_mm), np.asarray(plane.normal))
               for plane in planes)


def _as_filed(front: F64, up: F64) -> bool:
    """Whether a side is the one that files mostly have in front, where their up is along an axis of the file."""
    return float(np.abs(up).max()) > _ALIKE_COS and float(front @ _file_front(up)) > _HABIT_COS


def _of_jug(side: F64, body: Body, up: F64) -> Front:
    """What stands out of a round body to the viewer's right, unless a picture on its other side tells otherwise.

    What is opposite a handle may be the front: a picture there that neither flank has is shown, and asked.
    """
    right = np.cross(side, up)
    ways = np.stack([right, -right, -side])
    if most_drawn(body.sides, ways) == 2:
        return Front(vec3(-side), "a round body: the side opposite its handle or spout, which is drawn on", False,
                     (vec3(right), vec3(-right)))
    what = "a round body: what stands out of it (handle, spout) to the viewer's"
    drawn = drawn_side(body.sides, right)
    if drawn is not None and float(drawn @ right) < 0:
        return Front(vec3(-right), f"{what} left, since that side is drawn on")
    if not _handled(body.sides, right, up):
        return Front(vec3(right), f"{what} right, but it is no loop: an arm, a nose, a stub", False,
                     (vec3(side), vec3(-side), vec3(-right)))
    return Front(vec3(right), f"{what} right")


def _handled(sides: Sides, right: F64, up: F64) -> bool:
    """Whether what stands out of a round body to the viewer's right is a loop: a handle is looked through."""
    reach = sides.skin.vertices_mm @ np.cross(up, right)
    middle, width = float(reach.max() + reach.min()) / 2, float(np.ptp(reach))
    return any(float(one.middle_mm[0]) - middle > _ASIDE_SHARE * width
               for one in sides.openings(_frame(up, right), _LOOP_CELLS).each)


def _of_round(body: Body, up: F64) -> Front:
    """A round body: any side, unless its paint says otherwise, or a loop on it shows its opening."""
    ways = _around(up, 24)
    colour = np.array([body.sides.colourful(way) for way in ways])
    best = int(np.argmax(colour))
    if colour.max() < _TELLS_RATIO * max(float(colour.min()), 1e-12):
        if (lettered := lettered_side(body.sides, ways[::2])) is not None:
            beside = tuple(vec3(way) for way in (-lettered, np.cross(up, lettered), np.cross(lettered, up)))
            return Front(vec3(lettered), "it is round: the side that is drawn or written on, its middle", False, beside)
        if (through := _looked_through(body.sides, up)) is not None:
            return _with_loop(body, up, through)
        even = "" if body.sides.saturation is None else ", and its colours are even"
        return Front(vec3(_file_front(up)), f"it is round{even}: any side")
    others = tuple(vec3(ways[(best + turn) % 24]) for turn in (12, 6, 18))
    return Front(vec3(ways[best]), "it is round: the side that is more colourful", False, others)


def _with_loop(body: Body, up: F64, through: F64) -> Front:
    """A loop over the middle shows its opening, as on a bell; what has one at one side, a flask, its side opposite."""
    right = np.cross(up, through)
    reach = body.sides.skin.vertices_mm @ right
    middle = float(reach.max() + reach.min()) / 2
    each = body.sides.openings(_frame(up, through), _LOOP_CELLS).each
    aside = float(each[0].middle_mm[0]) - middle if each else 0.0
    if abs(aside) < _ASIDE_SHARE * float(np.ptp(reach)):
        return Front(vec3(through), "it is round: its opening is seen from this side")
    away = right if aside < 0 else -right
    return Front(vec3(away), "it is round: the side opposite its loop or handle", False,
                 (vec3(through), vec3(-through), vec3(-away)))


def _looked_through(sides: Sides, up: F64) -> F64 | None:
    """The side from which an opening is seen widest: the loop of a bell; None where none is seen from any side."""
    def share(way: F64) -> float:
        return sides.openings(_frame(up, way), _LOOP_CELLS).share

    ways = _around(up, 24)[:12]
    shares = np.array([share(way) for way in ways])
    found = ways[int(np.argmax(shares))]
    if shares.max() <= 0:
        return None
    for _ in range(2):
        near = np.stack([rotation_about(vec3(up), turn) @ found for turn in _FINER_DEG])
        seen = np.array([share(way) for way in near])
        found = unit(seen @ near) if seen.any() else found
    return np.asarray(found if float(found @ _file_front(up)) >= 0 else -found)


def _of_any(body: Body, up: F64) -> Front:
    """A body that is not round: in its mirror plane, broadside, or with most detail to the viewer."""
    mirror = _own_plane(body, up)
    broad, oblong = broad_side(body.sides, up)
    forward = None if mirror is None else level(np.cross(up, mirror), up)
    if forward is not None:
        broad = next((way for way in (np.cross(forward, up), forward) if abs(float(way @ broad)) > _BESIDE_COS), broad)
        wide = max(body.sides.outline_mm2(_frame(up, way)) for way in _around(up, 24)[:12])
        figure = of_two(forward, body, "in its mirror plane", up)
        narrow = body.sides.outline_mm2(_frame(up, forward))
        side = of_two(broad, body, "broadside, since it is long", up)
        bent = _bent(body.sides, up, forward)
        if wide <= _BROADSIDE_RATIO * narrow and not bent:
            if figure.sure:
                return figure
            return Front(figure.direction, figure.reason, False,
                         (*figure.others, side.direction, vec3(-np.asarray(side.direction))))
        if bent:
            return of_two(np.cross(up, forward), body, "long and bent: its bend seen from the side", up)
        far = body.sides.outline_mm2(_frame(up, broad)) > _BROAD_SURE_RATIO * narrow
        told = side.sure and (far or paint_tells(body, broad))
        if told or abs(float(broad @ forward)) > _ALIKE_COS:
            return side
        return Front(side.direction, f"{side.reason}; its mirror plane says another side", False,
                     (*side.others, figure.direction, vec3(-np.asarray(figure.direction))))
    if oblong >= _OBLONG_RATIO:
        return of_two(broad, body, "its broad side", up)
    quarter = [broad, np.cross(up, broad), -broad, -np.cross(up, broad)]
    coloured = body.sides.saturation is not None
    amount = [(body.sides.colourful if coloured else body.sides.detail)(way) for way in quarter]
    order = [int(k) for k in np.argsort(amount)[::-1]]
    if all(_alike(body, way) for way in quarter[:2]):
        return Front(vec3(quarter[0]), "its four sides are alike")
    most = "the most colourful side" if coloured else "the side with most detail"
    first = quarter[order[0]]
    if amount[order[0]] < _TELLS_RATIO * amount[order[1]]:
        most = "which of its sides is a guess"
    sure = amount[order[0]] > _SURE_RATIO * amount[order[1]]
    return Front(vec3(first), most, sure, () if sure else tuple(vec3(quarter[k]) for k in order[1:]))


def _bent(sides: Sides, up: F64, forward: F64) -> bool:
    """Whether a body long along the way up bends forward in one even curve, as a horn, a tusk or a sickle does."""
    points, _ = skin_samples(sides.skin, 1500)
    height, ahead, aside = points @ up, points @ forward, points @ np.cross(up, forward)
    tall, deep, wide = (float(np.ptp(reach)) for reach in (height, ahead, aside))
    if deep > _BENT_LONG_RATIO * tall or deep < _OBLONG_RATIO * wide:
        return False
    place = np.minimum(((height - height.min()) / tall * _BENT_SLICES).astype(int), _BENT_SLICES - 1)
    middles = np.array([(ahead[place == k].min() + ahead[place == k].max()) / 2 for k in np.unique(place)])
    along = np.unique(place) / _BENT_SLICES
    curve = np.polyfit(along, middles, 2)
    misfit = float(np.std(middles - np.polyval(curve, along)))
    return bool(abs(curve[0]) / 4 > _BENT_SHARE * tall and misfit < _BENT_MISFIT_SHARE * tall)


def _own_plane(body: Body, up: F64) -> F64 | None:
    """Return the normal of the one standing mirror plane that counts alone, None where there is none."""
    if body.plane is not None and abs(float(np.dot(body.plane.normal, up))) < 0.2:
        return np.asarray(body.plane.normal)
    planes = [plane for plane in body.mirrors if abs(float(np.dot(plane.normal, up))) < 0.2]
    alone = len(planes) == 1 or (
        len(planes) > 1 and planes[1].residual_ratio > _CLEARER_RATIO * planes[0].residual_ratio)
    return np.asarray(planes[0].normal) if alone else None


def broad_side(sides: Sides, up: F64) -> tuple[F64, float]:
    """Return the direction square to the longer side as seen from above, and how oblong the body is there."""
    right = unit(np.cross(up, _file_front(up)))
    along, longer, shorter = squared(sides, np.stack([right, np.cross(up, right), up]))
    return unit(np.cross(along, up)), longer / max(shorter, 1e-9)


def squared(sides: Sides, frame: F64) -> tuple[F64, float, float]:
    """Return the direction of an outline's longer side, and how far it reaches along it and across.

    frame  (3, 3): rows to the right, up, to the viewer
    Straight edges count before the smallest rectangle, which a handle or a drawer that sticks out turns.
    """
    way, share = sides.edges_along(frame)
    if share < EDGED_SHARE:
        way = sides.rectangle(frame).along
    ways = np.stack([way, [-way[1], way[0]]])
    reach = np.ptp(sides.skin.vertices_mm @ (ways @ frame[:2]).T, axis=0)
    longer = int(np.argmax(reach))
    return unit(ways[longer] @ frame[:2]), float(reach[longer]), float(reach[1 - longer])


def _what_stands_out(body: Body, up: F64, middle_mm: F64) -> tuple[F64 | None, bool]:
    """Return the level direction in which a round body is overreached, None where nothing stands out; and whether as
    much stands out on the other side."""
    points, _ = skin_samples(body.sides.skin, 1500)
    flat = points - middle_mm
    flat = flat - np.outer(flat @ up, up)
    radii = np.linalg.norm(flat, axis=1)
    far = flat[int(np.argmax(radii))]
    trunk = float(np.quantile(radii, 0.8))
    out = (radii > _HANDLE_RATIO * trunk) & (flat @ unit(far) > 0.5 * radii)
    if out.any():
        far = float(radii.max()) * unit(flat[out].mean(axis=0))  # its middle: the furthest point is one corner of it
    along = flat @ unit(far)
    opposite = float(-along.min())
    if radii.max() < _HANDLE_RATIO * trunk:
        return None, False
    across = float(np.abs(flat @ np.cross(up, unit(far))).max())
    two = radii.max() < _HANDLE_RATIO * opposite
    if two and across * _HANDLE_RATIO > radii.max():
        return None, False  # as much on every side: a plinth's corners
    for plane in body.mirrors:
        normal = np.asarray(plane.normal)
        # A handle lies in the mirror plane, unless two stand on both sides of it
        if abs(float(normal @ up)) < 0.2 and abs(float(normal @ unit(far))) < 0.5:
            within = far - (far @ normal) * normal
            return level(within, up), two
        if two and abs(float(normal @ unit(far))) > 0.87:
            return level(normal if normal @ far > 0 else -normal, up), two
    return level(far, up), two


def level(way: F64, up: F64) -> F64 | None:
    """Return a direction made level, unit; None where it is nearly upright."""
    flat = way - (way @ up) * up
    return unit(flat) if np.linalg.norm(flat) > 0.2 * np.linalg.norm(way) else None


def _frame(up: F64, front: F64) -> F64:
    return np.stack([np.cross(up, front), up, front])


def _file_front(up: F64) -> F64:
    """The viewer's side by common practice in modelling programs: +z where y is up, -y where z is up."""
    for way in (np.array([0.0, 0.0, 1.0]), np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0])):
        if (flat := level(way, up)) is not None and abs(float(way @ up)) < 0.8:
            return flat
    raise ValueError("a direction that is level with nothing has no length")


def _around(up: F64, count: int) -> F64:
    first = _file_front(up)
    return np.stack([rotation_about(vec3(up), 360.0 * k / count) @ first for k in range(count)])
