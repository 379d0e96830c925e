"""What the page says of one object: its holds in plain words, why the first is first, what was said about it.

Sentences that a curator reads without a handbook, each with the figure in it; the figures themselves stand beside for
those who ask. Values only. Used by `server` and `single_file`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scanprep.brief import Region
from scanprep.case.record.history import LogLine
from scanprep.files.cache import key_of
from scanprep.findings import Check, Verdict
from scanprep.hold.places.attitudes import ASKED, base_rotation
from scanprep.hold.records import Hold
from scanprep.post.measure import HOW, to_measure
from scanprep.rules.pads import pads
from scanprep.spec import MountSpec
from scanprep.survey.verdicts import direction_words
from scanprep.units import format_length
from scanprep.vectors import Vec3, vec3

if TYPE_CHECKING:
    from scanprep.review.desk import Desk
    from scanprep.workspace.folder import CaseFolder

#: What each part of a hold's score speaks for (`hold.rank`).
PARTS = {
    "seen": "more of the object is seen", "natural": "it is shown more naturally", "sound": "no check asks for a look",
    "margin": "it withstands more shake", "hidden": "the mount shows less", "depth": "it stays closer to the panel",
    "force": "the tips press more gently", "tips": "it needs fewer tips",
}
#: layout: Masses below this are told to a tenth of a gram.
LIGHT_g = 10.0
#: layout: A part that differs by less than this share of a point is no reason. Assumed.
_REASON = 0.05


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure in plain words, and whether it asks for a look."""

    name: str
    words: str
    verdict: str


@dataclass(frozen=True, slots=True)
class TipView:
    """Where a mount touches the object. Display frame, mm."""

    point_mm: Vec3
    normal: Vec3  # into the object
    words: str


@dataclass(frozen=True, slots=True)
class HoldView:
    """One way to hold the object."""

    index: int
    key: str  # of its pictures
    name: str
    angles: str
    angles_deg: tuple[float, float, float]  # tilt, turn, roll
    why: str  # of its place in the list
    figures: tuple[Figure, ...]
    tips: tuple[TipView, ...]
    arms_mm: tuple[tuple[tuple[float, float, float], ...], ...]  # centre lines, hub first
    opens: tuple[int, str, Vec3, Vec3, float] | None  # arm, how, the way it moves, the way the object leaves, how far


@dataclass(frozen=True, slots=True)
class ShowingView:
    """One way in which an object may be shown, where evidence is too thin to say. Scan axes."""

    index: int  # of its picture
    up: Vec3
    front: Vec3
    words: str  # its directions, as the checklist would have them
    why: str
    now: bool  # the object is shown so


@dataclass(frozen=True, slots=True)
class AskedView:
    """Angles of somebody's own at which no hold was found."""

    angles: str
    why: str


@dataclass(frozen=True, slots=True)
class Card:
    """Everything that the page says of one object."""

    number: str
    title: str
    shape: str
    facts: tuple[Figure, ...]
    holds: tuple[HoldView, ...]
    refusals: tuple[tuple[str, str, str], ...]  # attitudes without a hold, why, and what to do
    chosen: int | None
    chosen_by: str
    measure: tuple[tuple[str, str], ...]  # what to measure next, and how
    book: tuple[LogLine, ...]
    last: int | None  # the entry that can be taken back
    base: tuple[Vec3, Vec3, Vec3]  # rows: scan axes -> display axes at tilt, turn and roll 0
    centre_mm: Vec3  # of mass, scan axes
    no_touch: tuple[Region, ...]  # scan axes, mm
    showings: tuple[ShowingView, ...]  # which way up, which front: to be chosen
    asked: tuple[AskedView, ...]  # angles that were tried in vain
    stand_off_mm: float
    usual_stand_off_mm: float | None  # None: it is the shop's usual
    note: str
    pad: str
    pads: tuple[str, ...]
    waits: str  # why its holds are behind what was said; empty where they are not


def hold_key(folder: CaseFolder, spec: MountSpec, hold: Hold) -> str:
    """Return what a hold's pictures are kept under."""
    post_mm = 0.0 if spec.plan is None else spec.plan.post.diameter_mm
    return key_of(spec.scan.sha256, spec.scan.mm_per_unit, hold.attitude, hold.attach_mm, hold.score, post_mm,
                  [tip.point_mm for tip in hold.tips], folder.rules.scan.working_faces)


def why_first(hold: Hold, other: Hold | None, *, first: bool) -> str:
    """Return why a hold stands where it does: what it has over the next one, or what the first has over it."""
    if hold.attitude.name == ASKED and not first:
        return "at the angles that were asked for"
    if other is None:
        return "the only hold that was found"
    mine, theirs = dict(hold.score_parts), dict(other.score_parts)
    better = sorted(((mine.get(name, 0.0) - theirs.get(name, 0.0), name) for name in PARTS), reverse=True)
    if not first:
        better = sorted(((-by, name) for by, name in better), reverse=True)
    told = [PARTS[name] for by, name in better if by >= _REASON][:3]
    if not told:
        return f"as good as the {'next one' if first else 'first'}; look at the pictures"
    return f"first because {_and(told)}" if first else f"behind the first, where {_and(told)}"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _worst(checks: Sequence[Check], *names: str) -> str:
    found = [check.verdict for check in checks if check.name in names]
    order = (Verdict.STOP, Verdict.LOOK, Verdict.UNMEASURED)
    return next((v.value for v in order if v in found), Verdict.OK.value)


def hold_figures(hold: Hold, units: str) -> tuple[Figure, ...]:
    """Return a hold's figures in plain words."""
    bearing = sum(tip.bearing for tip in hold.tips)
    force = max((tip.force_N for tip in hold.tips), default=0.0)
    pads = sorted({tip.pad for tip in hold.tips})
    leaves = "" if hold.opening is None else f"; arm {hold.opening.arm + 1} opens ({hold.opening.kind}) to let it out"
    return (
        Figure("shake", f"stays put in a shake of {hold.margin_g:.2f} g, {hold.margin_low_friction_g:.2f} g if the "
                        "pads turn slippery", _worst(hold.checks, "margin", "margin-low-friction", "hold-margin")),
        Figure("tips", f"{len(hold.tips)} tip{'s' * (len(hold.tips) != 1)}, {_carried(bearing)}; the firmest presses "
                       f"with {force:.1f} N ({force / 9.80665 * 1000:.0f} g on a balance); pads: {', '.join(pads)}",
               _worst(hold.checks, "tip-force", "hold-force")),
        Figure("seen", f"{hold.seen_share:.0%} of its surface is seen from the front; the mount hides "
                       f"{hold.covered_share:.1%} of the front and shows next to it on {hold.beside_share:.1%}",
               _worst(hold.checks, "mount-covered", "mount-beside", "mount-through")),
        Figure("room", f"takes {format_length(hold.width_mm, units, 0)} across, "
                       f"{format_length(hold.height_mm, units, 0)} in height and "
                       f"{format_length(hold.depth_mm, units, 0)} from the back of its hub to its front{leaves}",
               Verdict.OK.value),
    )


def _carried(bearing: int) -> str:
    return {0: "none carries it from below", 1: "1 of them carries its weight"}.get(
        bearing, f"{bearing} of them carry its weight")


def _grams(mass_g: float) -> str:
    """A mass to the gram, a light one to a tenth.

    >>> _grams(607.2), _grams(1.84)
    ('607', '1.8')
    """
    return f"{mass_g:.0f}" if mass_g >= LIGHT_g else f"{mass_g:.1f}"


def _angles(hold: Hold) -> str:
    a = hold.attitude
    return f"tilt {a.tilt_deg:+.0f}°, turn {a.turn_deg:+.0f}°, roll {a.roll_deg:+.0f}°"


def _tips(hold: Hold) -> tuple[TipView, ...]:
    return tuple(
        TipView(tip.point_mm, tip.normal, f"tip {i}: {tip.kind}{', carries weight' if tip.bearing else ''}, "
                                          f"{tip.force_N:.1f} N of {tip.force_limit_N:.1f} N allowed")
        for i, tip in enumerate(hold.tips, start=1))


def _hold_view(index: int, hold: Hold, spec: MountSpec, folder: CaseFolder, units: str) -> HoldView:
    holds, opening = spec.holds.holds, hold.opening
    other = (holds[1] if len(holds) > 1 else None) if index == 0 else holds[0]
    return HoldView(
        index, hold_key(folder, spec, hold), hold.attitude.name, _angles(hold),
        (hold.attitude.tilt_deg, hold.attitude.turn_deg, hold.attitude.roll_deg),
        why_first(hold, other, first=index == 0), hold_figures(hold, units), _tips(hold),
        tuple(tuple((round(float(x), 2), round(float(y), 2), round(float(z), 2)) for x, y, z in tip.arm.path_mm)
              for tip in hold.tips),
        None if opening is None else (opening.arm, opening.kind, opening.direction, opening.withdraw,
                                      opening.travel_mm))


def _facts(spec: MountSpec, units: str) -> tuple[Figure, ...]:
    survey = spec.survey
    mass = survey.mass_g
    weighs = f"weighs {_grams(mass.best)} g" if survey.mass_measured else (
        f"weighs {_grams(mass.low)} to {_grams(mass.high)} g, worked out from its volume: weigh it")
    size = " × ".join(format_length(v, units, 0) for v in survey.size_mm)
    up = survey.upright
    facts = [Figure("mass", weighs, Verdict.OK.value if survey.mass_measured else Verdict.UNMEASURED.value),
             Figure("size", f"{size} (wide, high, deep) as it stands upright", Verdict.OK.value),
             Figure("way up", f"this way up because: {up.reason}" + ("" if up.sure else "; not sure, please confirm"),
                    Verdict.OK.value if up.sure else Verdict.LOOK.value)]
    if spec.plan is not None:
        post = spec.plan.post
        facts.append(Figure(
            "post", f"{post.rod} post, {format_length(post.stand_off_mm, units)} off the panel; sinks "
                    f"{post.droop_mm:.1f} mm and sways at {post.frequency_Hz:.0f} Hz",
            _worst(spec.plan.checks, "post-droop", "post-slope", "post-frequency", "post-stress")))
        facts += [Figure(said, f"{said}: {check.note}", check.verdict.value)
                  for name, said in (("weakest-link", "weakest link"), ("gives-first", "what gives first"))
                  for check in spec.plan.checks if check.name == name and check.note]
    return tuple(facts)


def card_of(desk: Desk, number: str, units: str | None = None) -> Card:
    """Return what the page says of an object. Raises MessageError where there is none of that number.

    units  "mm" or "in", in which lengths are told; None: those of the case
    """
    shape = desk.key_of_shape(number)
    spec, folder = desk.specs[number], desk.folder
    book = desk.book(number)
    standing = [line for line in book if line.stands]
    last = folder.state.last_of.get(number)
    survey, brief, usual_mm = spec.survey, folder.state.objects[number], folder.rules.post.stand_off_mm
    one, two, three = (vec3(row) for row in base_rotation(survey))
    rows, units = (one, two, three), units or folder.case.units
    takes_back = last if standing and standing[-1].seq == last else None
    return Card(
        number, spec.title, shape, _facts(spec, units),
        tuple(_hold_view(i, hold, spec, folder, units) for i, hold in enumerate(desk.holds_of(number))),
        tuple((r.attitude.name, r.reason, r.advice) for r in spec.holds.refusals), spec.chosen, spec.chosen_by,
        tuple((kind, HOW[kind]) for kind in to_measure(spec.checks)), book, takes_back,
        rows, survey.centre_of_mass_mm, brief.no_touch, _showings(spec), _asked(desk, number),
        brief.stand_off_mm or usual_mm, None if brief.stand_off_mm is None else usual_mm, brief.note, brief.pad or "",
        tuple(pad.name for pad in pads(folder.rules.pads)), _waits(desk, number))


def _showings(spec: MountSpec) -> tuple[ShowingView, ...]:
    survey = spec.survey
    return tuple(ShowingView(
        index, one.up, one.front, f"up {direction_words(one.up)}, front {direction_words(one.front)}", one.why,
        one.up == survey.shown.up and one.front == survey.shown.front) for index, one in enumerate(survey.choices))


def _asked(desk: Desk, number: str) -> tuple[AskedView, ...]:
    return tuple(AskedView(f"tilt {one.angles.tilt_deg:+g}°, turn {one.angles.turn_deg:+g}°, roll "
                           f"{one.angles.roll_deg:+g}°",
                           one.trouble if one.refusal is None else f"{one.refusal.reason}. {one.refusal.advice}")
                 for one in desk.restudies.found(number) if one.hold is None)


def _waits(desk: Desk, number: str) -> str:
    if number not in desk.restudies.behind():
        return ""
    return desk.restudies.trouble(number) or "These are the holds from before what was said of it last; they are " \
        "being looked for again."
