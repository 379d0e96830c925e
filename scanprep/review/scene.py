"""What the review page shows, as plain values: panels, where everything stands, what it looks like, what was decided.

Two parts. A `Shape` is an object as it is held: outline, colour, post; it changes only with its hold and is fetched
once. A `CaseScene` is how the case stands at one entry of its record, small enough to be sent whole after each
decision, so that pages cannot drift apart. Positions are face coordinates as that face's viewer sees them, mm; rings
are about the object's centre of mass. Touches no files. Made by `desk`, written as JSON by `server` and `single_file`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.arrange.spacing import FaceSpacing
from scanprep.case.placed import OUTLINE_PITCH_mm, PlacedObject
from scanprep.case.record.mount_life import AGREEMENTS
from scanprep.case.record.state import CaseState
from scanprep.case.release import HoleRelease, release_of
from scanprep.causes import FindingGroup
from scanprep.cautions import CAUTIONS
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec
from scanprep.survey.outline import outline_polygons_mm
from scanprep.vectors import F64

#: tolerance: Outlines are thinned until no point is further off than this: a fifth of the lattice on which they were
#: found.
OUTLINE_SLACK_mm = 0.2
#: layout: Longer side of an object's picture: sharp on an elevation at 3 px a mm for most objects of 100 mm.
SPRITE_px = 320
#: layout: Room round what is drawn, of its longer side.
RIM_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class PanelView:
    """A sheet as the page draws it."""

    name: str
    width_mm: float
    height_mm: float
    thickness_mm: float
    thickness_measured: bool
    stands_at_mm: float  # lower edge above the floor
    keep_clear_mm: float


@dataclass(frozen=True, slots=True)
class Shape:
    """An object as it is held, about its centre of mass."""

    key: str  # of its hold and scan: another key is another shape
    rings_mm: tuple[tuple[tuple[float, float], ...], ...]  # outer rings and openings; drawn by the even-odd rule
    colour: str  # its mean, sRGB hex
    attach_mm: tuple[float, float]  # where the post's axis meets it
    post_mm: float  # diameter; 0 without a post
    hub_mm: float  # largest size; 0 without a mount
    window_mm: tuple[float, float, float, float]  # left, bottom, right, top of its picture, whole pixels
    mm_per_px: float
    body_z_mm: float  # centre of mass to the panel's face
    depth_mm: tuple[float, float]  # panel's face to its nearest and furthest point
    mass_g: float


@dataclass(frozen=True, slots=True)
class AgreementView:
    """What somebody agreed to."""

    what: str
    whose: str  # whose word it is by custom
    person: str
    time: str
    stands: bool  # False: lapsed, since what was agreed to changed, or taken back
    note: str
    refused: bool


@dataclass(frozen=True, slots=True)
class QuestionView:
    """Whose word is waited for."""

    what: str
    of: str
    person: str
    note: str


@dataclass(frozen=True, slots=True)
class ReleaseView:
    """Whether an object's hole may be drilled now, and what it waits for, one a line."""

    released: bool
    state: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ObjectView:
    """How one object stands."""

    number: str
    title: str
    group: str
    shape: str  # key of its Shape
    base: int  # the last entry of the record about it: what a decision rests on
    panel: str | None
    face: str | None
    from_left_mm: float | None  # of the hole's centre
    y_mm: float | None
    hole: str | None
    hole_state: str
    locked: bool
    stage: str
    hold: int | None  # index in the ranked list
    holds: int
    attitude: str  # in words
    chosen_by: str
    rod: str | None
    drill: str | None
    session: int | None
    agreements: tuple[AgreementView, ...]
    questions: tuple[QuestionView, ...]
    release: ReleaseView | None
    off_list: bool = False


@dataclass(frozen=True, slots=True)
class HoleView:
    """A hole that was given up: it stays in the sheet and on the page."""

    number: str
    object: str
    panel: str
    face: str
    from_left_mm: float
    y_mm: float
    was_drilled: bool
    why: str


@dataclass(frozen=True, slots=True)
class SessionView:
    """The numbered review that is open, or the last one."""

    number: int
    open: bool
    title: str
    people: tuple[str, ...]
    decisions: tuple[str, ...]  # what was put on record in it, the latest first
    earlier: tuple[str, ...]  # titles of all sessions, the first first


@dataclass(frozen=True, slots=True)
class CaseScene:
    """How the case stands at one entry of its record."""

    title: str
    units: str
    seq: int
    base: int  # the last entry about the case itself
    session: SessionView
    signed_off: str  # by whom and when; empty: not
    panels: tuple[PanelView, ...]
    eye_heights_mm: tuple[float, ...]
    band_mm: tuple[float, float]
    objects: tuple[ObjectView, ...]
    void_holes: tuple[HoleView, ...]
    groups: tuple[FindingGroup, ...]  # all findings by cause, stops first
    failures: tuple[tuple[str, str], ...]  # objects whose scan cannot be used, and why
    spacing: tuple[FaceSpacing, ...]
    panels_waiting: tuple[str, ...]  # whose findings are those from before the last change, being worked out again
    objects_waiting: tuple[str, ...]  # whose holds are those from before what was said of them last
    tries: tuple[str, ...]  # kept beside the record
    agreements: tuple[tuple[str, str], ...]  # what is agreed to, whose word it is
    cautions: tuple[str, ...] = CAUTIONS


def thinned_ring(ring_mm: F64, slack_mm: float = OUTLINE_SLACK_mm) -> tuple[tuple[float, float], ...]:
    """Return a ring (k, 2) with as few points as keep it within `slack_mm` of itself (Douglas and Peucker, 1973)."""
    from shapely.geometry import LinearRing

    thin = np.asarray(LinearRing(ring_mm).simplify(slack_mm).coords)[:-1]
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in thin)


def hex_colour(rgb: Sequence[float]) -> str:
    """Return an sRGB triple as text.

    >>> hex_colour((160, 120, 90))
    '#a0785a'
    """
    return "#" + "".join(f"{max(0, min(255, round(float(c)))):02x}" for c in rgb)


def shadow_rings(item: PlacedObject) -> tuple[F64, ...]:
    """Return an object's outline as the page draws it: outer rings and openings, through which the sheet is seen."""
    return outline_polygons_mm(item.body.vertices_mm, item.body.faces, np.eye(3), OUTLINE_PITCH_mm, openings=True)


def picture_window(item: PlacedObject) -> tuple[tuple[float, float, float, float], float]:
    """Return (left, bottom, right, top) of an object's front picture, mm about its centre of mass, and mm a pixel.

    Both sides are whole pixels, so that the picture lies on the elevation to a hair.
    """
    points = np.vstack([solid.vertices_mm[:, :2] for solid in (item.body, *item.mount)])
    low, high = points.min(axis=0), points.max(axis=0)
    longer = float((high - low).max())
    low, high = low - RIM_SHARE * longer, high + RIM_SHARE * longer
    mm_per_px = float((high - low).max()) / SPRITE_px
    wide, tall = (np.ceil((high - low) / mm_per_px - 1e-6) * mm_per_px).tolist()
    return (float(low[0]), float(high[1]) - tall, float(low[0]) + wide, float(high[1])), mm_per_px


def shape_of(item: PlacedObject, spec: MountSpec, key: str) -> Shape:
    """Return what an object looks like from the front, where its post meets it, and how far it stands out."""
    post = None if item.plan is None else item.plan.post
    depths = item.body.vertices_mm[:, 2] + item.body_z_mm
    window, mm_per_px = picture_window(item)
    return Shape(
        key, tuple(thinned_ring(ring) for ring in shadow_rings(item)), hex_colour(spec.survey.mean_colour),
        (round(item.attach_xy_mm[0], 3), round(item.attach_xy_mm[1], 3)), 0.0 if post is None else post.diameter_mm,
        0.0 if item.hold is None else item.hold.hub.size_mm, window, mm_per_px, round(item.body_z_mm, 3),
        (float(depths.min()), float(depths.max())),
        round(item.mass_g, 1))


def attitude_words(spec: MountSpec) -> str:
    """Return how an object is shown, in words."""
    if spec.hold is None:
        return "no hold yet"
    a = spec.hold.attitude
    turned = [f"{name} {value:+.0f}°" for name, value in
              (("tilt", a.tilt_deg), ("turn", a.turn_deg), ("roll", a.roll_deg)) if abs(value) >= 0.5]
    return f"{a.name}{', ' + ', '.join(turned) if turned else ''}"


def object_view(item: PlacedObject, spec: MountSpec, state: CaseState, shape: str,
                release: HoleRelease | None) -> ObjectView:
    """Return how one object stands by the record."""
    number, stand, life = item.number, item.stand, state.life(item.number)
    placement = state.placements.get(number)
    latest = {(a.what, a.person): a for a in life.agreements}  # of each person the last word on each thing
    agreements = tuple(AgreementView(a.what, AGREEMENTS.get(a.what, ""), a.person, a.time, a.standing, a.note,
                                     a.refused) for a in latest.values())
    questions = tuple(QuestionView(q.what, q.of, q.person, q.note) for q in life.questions)
    told = None if release is None else ReleaseView(release.released, release.state, release.reasons)
    hole = None if item.plan is None else item.plan.hole
    return ObjectView(
        number, item.title, item.group, shape, state.last_of.get(number, 0),
        None if stand is None else stand.panel, None if stand is None else stand.face,
        None if stand is None else round(stand.from_left_mm, 3), None if stand is None else round(stand.y_mm, 3),
        item.hole_number, item.hole_state, item.locked, life.stage, spec.chosen, len(spec.holds.holds),
        attitude_words(spec), spec.chosen_by, None if item.plan is None else item.plan.post.rod,
        None if hole is None else hole.drill, None if placement is None else placement.session, agreements,
        questions, told,
        number in state.off_list)


def panel_view(panel: PanelBrief) -> PanelView:
    """Return a panel as the page draws it."""
    return PanelView(panel.name, panel.width_mm, panel.height_mm, panel.thickness_mm, panel.thickness_measured,
                     panel.stands_at_mm, panel.keep_clear_mm)


def case_scene(case: CaseBrief, rules: Rulebook, state: CaseState, placed: Sequence[PlacedObject],
               specs: Mapping[str, MountSpec], shapes: Mapping[str, str], groups: Sequence[FindingGroup],
               failures: Mapping[str, str], spacing: Sequence[FaceSpacing], decisions: Sequence[str],
               releases: Sequence[HoleRelease], panels_waiting: Sequence[str], objects_waiting: Sequence[str],
               tries: Sequence[str]) -> CaseScene:
    """Return the case as the page shows it.

    shapes     key of each object's shape
    decisions  of the session, as sentences
    """
    session = state.sessions[-1] if state.sessions else None
    void = tuple(HoleView(h.number, h.object, h.panel, h.face, round(h.from_left_mm, 3), round(h.y_mm, 3),
                          h.was_drilled, h.why_void) for h in state.holes if h.state == "void")
    off = state.signed_off
    return CaseScene(
        case.title, case.units, state.seq, state.last_of.get("", 0),
        SessionView(state.session, state.open_session is not None, session.title if session else "",
                    session.people if session else (), tuple(decisions),
                    tuple(s.title for s in state.sessions)),
        f"{off.person}, {off.time[:10]}" if off else "", tuple(map(panel_view, case.panels)), case.eye_heights_mm,
        (rules.case.comfortable_low_mm, rules.case.comfortable_high_mm),
        tuple(object_view(item, specs[item.number], state, shapes[item.number],
                                   release_of(item.number, releases)) for item in placed), void,
        tuple(groups), tuple(failures.items()), tuple(spacing), tuple(panels_waiting),
        tuple(objects_waiting), tuple(tries), tuple(AGREEMENTS.items()))
