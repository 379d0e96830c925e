"""From a case as computed and recorded to the plain values that its papers print.

Which holes are released comes from `case.release`; a finished mount and a drilled hole come with the figures
of what is real. Pure; given the
case's records by `workspace`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.lists.install_order import InstallPlan
from scanprep.case.placed import PlacedObject
from scanprep.case.record.state import CaseState, RecordedHole
from scanprep.case.release import HoleRelease, release_of
from scanprep.errors import InputError
from scanprep.findings import Finding
from scanprep.numbering import NumberKey, natural_key
from scanprep.panel.faces import FACES, FaceName, datum_x_of
from scanprep.papers.drawing.measures import clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.lists.elevation import ElevationItem, ElevationPanel
from scanprep.papers.lists.install_list import InstallStep
from scanprep.papers.lists.labels import Label
from scanprep.papers.lists.removal_list import HoleAfterwards, RemovalStep
from scanprep.papers.register import Fact
from scanprep.papers.templates.template import TemplateHole, TemplatePanel, datum_x_mm
from scanprep.post.records import PostPlan
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec
from scanprep.vectors import F64

_VOID_MM = 4.0  # layout: an abandoned place whose drill was never chosen is drawn with this circle


@dataclass(frozen=True, slots=True, eq=False)
class PaperCase:
    """Everything the papers of a case are made from."""

    case: CaseBrief
    rules: Rulebook
    state: CaseState
    specs: Mapping[str, MountSpec]
    placed: tuple[PlacedObject, ...]
    findings: tuple[Finding, ...]  # of the whole case
    issue: Issue
    releases: tuple[HoleRelease, ...]  # of every hole, from one place: `case.release`

    def on_face(self, panel: str, face: str) -> tuple[PlacedObject, ...]:
        """The objects that stand on a face."""
        return tuple(p for p in self.placed if p.stand is not None and (p.stand.panel, p.stand.face) == (panel, face))

    def release(self, number: str) -> HoleRelease:
        """Whether an object's hole may be drilled. Raises KeyError for an object that is not of the case."""
        found = release_of(number, self.releases)
        if found is None:
            raise KeyError(f"object {number} has no release")
        return found


def clock_deg(item: PlacedObject, state: CaseState) -> float:
    """Return where an object's 12 o'clock mark points, the finished mount's own turn included; counter-clockwise +."""
    made = state.life(item.number).as_made
    planned = item.plan.post.clock_deg if item.plan is not None else 0.0
    return planned + (made.angle_deg if made is not None else 0.0)


def _hole(item: PlacedObject, plan: PostPlan, case: PaperCase) -> TemplateHole | None:
    """An object's hole as it stands; None where its place was made void and no other was given."""
    if item.stand is None or item.hole_state == "void":
        return None
    placement = case.state.placements.get(item.number)
    hole, post = plan.hole, plan.post
    return TemplateHole(
        item.hole_number or item.number, item.number, cast(FaceName, item.stand.face), item.stand.from_left_mm,
        item.stand.y_mm,
        hole.drill, hole.drill_diameter_mm, hole.depth_mm, hole.through, post.diameter_mm,
        (placement.session if placement else None) or 0, clock_deg(item, case.state), item.hole_state,
        case.release(item.number).reasons)


def _as_recorded(hole: RecordedHole) -> TemplateHole:
    """A hole of which only the record knows: abandoned, or drilled for an object that has no post any more."""
    real = hole.real
    drill, drill_mm = ("–", _VOID_MM) if real is None else (real.drill, real.drill_mm)
    deep = None if real is None else real.depth_mm
    return TemplateHole(hole.number, hole.object, cast(FaceName, hole.face), hole.from_left_mm, hole.y_mm, drill,
                        drill_mm, deep or 0.0, real is not None and real.through is True, 0.0,
                        hole.session or 0, 0.0, hole.state,
                        () if hole.state == "void" else ("no mount of the case stands in it",), hole.was_drilled)


def template_panel(panel: PanelBrief, case: PaperCase) -> TemplatePanel:
    """Return one panel's holes of both faces, void ones too, as templates show them.

    Raises InputError where an object stands off its panel.
    """
    holes = [hole for face in FACES for item in case.on_face(panel.name, face)
             if item.plan is not None for hole in (_hole(item, item.plan, case),) if hole is not None]
    shown = {hole.number for hole in holes}
    holes += [_as_recorded(hole) for hole in case.state.holes if hole.panel == panel.name
              and hole.number not in shown and hole.state in ("void", "drilled")]
    for hole in holes:
        if not (0 <= hole.from_left_mm <= panel.width_mm and 0 <= hole.y_mm <= panel.height_mm):
            raise InputError(field=f"object {hole.object_number}",
                             value=f"{hole.from_left_mm:g} from the left, Y {hole.y_mm:g} mm",
                             problem=f"lies outside panel {panel.name} ({panel.width_mm:g} x {panel.height_mm:g} mm)",
                             remedy="Place it on the panel, then print again")
    return TemplatePanel(panel.name, panel.width_mm, panel.height_mm, panel.thickness_mm, panel.thickness_measured,
                         tuple(holes))


def hole_facts(holes: Sequence[TemplateHole], panel: TemplatePanel) -> tuple[Fact, ...]:
    """Return what every paper says of some holes of a panel, X and Y from the datum corner, in mm."""
    facts = []
    for hole in holes:
        deep = "through" if hole.through else f"{hole.depth_mm:.1f} deep"
        drilled = "" if hole.standing == "not used" else f"; drill {hole.drill}, {deep}"
        waits = f": {'; '.join(hole.held)}" if hole.held else ""
        facts.append(Fact("hole", hole.number, f"{panel.name} {hole.face}, X {datum_x_mm(hole, panel):.2f}, "
                          f"Y {hole.y_mm:.2f}{drilled}; {hole.standing}{waits}"))
    return tuple(facts)


def mount_facts(case: PaperCase, *numbers: str) -> tuple[Fact, ...]:
    """Return what the papers say of mounts, in mm: of some objects, of all without any."""
    facts = []
    for item in case.placed:
        if item.hold is None or item.plan is None or (numbers and item.number not in numbers):
            continue
        post, attitude = item.plan.post, item.hold.attitude
        wires = sorted({tip.arm.wire_mm for tip in item.hold.tips if not tip.arm.wide_mm})
        bars = sorted({(tip.arm.wide_mm, tip.arm.wire_mm) for tip in item.hold.tips if tip.arm.wide_mm})
        strips = sorted({(tip.arm.strip.wide_mm, tip.arm.strip.thick_mm) for tip in item.hold.tips if tip.arm.strip})
        stock = [*(f"bar {wide:.2f} x {thick:.2f}" for wide, thick in bars),
                 *(f"strip {wide:.2f} x {thick:.2f}" for wide, thick in strips),
                 *(["wire " + ", ".join(f"{wire:.2f}" for wire in wires)] if wires else [])]
        facts.append(Fact("mount", item.number, (
            f"{attitude.name}, tilt {attitude.tilt_deg:.1f}, turn {attitude.turn_deg:.1f}, roll {attitude.roll_deg:.1f}"
            f" deg; {len(item.hold.tips)} tips, {', '.join(stock)}; post {post.rod}, "
            f"cut {post.cut_length_mm:.1f}, stand-off {post.stand_off_mm:.1f}")))
    return tuple(facts)


def place_words(item: PlacedObject, case: PaperCase) -> str:
    """Return where an object stands, from the datum corner: `West A, X 412.35, Y 1260.50 mm`; else `not placed`."""
    if item.stand is None:
        return "not placed"
    measures = case.issue.measures
    width_mm = next(panel.width_mm for panel in case.case.panels if panel.name == item.stand.panel)
    x_mm = datum_x_of(item.stand.face, item.stand.from_left_mm, width_mm)
    return (f"{item.stand.panel} {item.stand.face}, X {measures.fine(x_mm)}, "
            f"Y {measures.fine(item.stand.y_mm)} {measures.units}")


def labels_of(case: PaperCase) -> list[Label]:
    """Return one label for each mount that has a post."""
    labels = []
    for item in _in_order(case):
        if item.plan is None:
            continue
        post = item.plan.post
        place = "not placed" if item.stand is None else f"{item.stand.panel} {item.stand.face}"
        cut = post.blank_length_mm if case.case.mock_up else post.cut_length_mm
        labels.append(Label(item.number, item.title, place, item.hole_number or "",
                            post.rod, cut,
                            clock_deg(item, case.state), case.release(item.number).reasons))
    return labels


def _in_order(case: PaperCase) -> list[PlacedObject]:
    """Objects by panel, face, from the top down, then from the viewer's left; those without a place last."""
    def key(item: PlacedObject) -> tuple[bool, str, str, float, float, NumberKey]:
        stand = item.stand
        if stand is None:
            return (True, "", "", 0.0, 0.0, natural_key(item.number))
        return (False, stand.panel, stand.face, -stand.y_mm, stand.from_left_mm, natural_key(item.number))

    return sorted(case.placed, key=key)


def install_steps(case: PaperCase, plan: InstallPlan) -> list[InstallStep]:
    """Return a planned order as the list prints it, each object with what has to stand before it."""
    known = {item.number: item for item in case.placed}
    steps: list[InstallStep] = []
    for step in plan.steps:
        item = known[step.number]
        first = [before for before, then, _ in plan.before if then == step.number] if step.kind == "object" else []
        notes = [f"after {', '.join(first)}"] if first else []
        notes += [f"{step.door} door open"] if step.door else []
        notes += [f"{item.mass_g:.0f} g"] if step.kind == "object" else _post_words(item, case)
        notes += [step.note] if step.note else []
        notes += ["HOLE HELD: not to be installed"] if case.release(item.number).held else []
        steps.append(InstallStep(len(steps) + 1, "mount" if step.kind == "post" else step.kind, step.number,
                                 item.title, f"{step.panel} {step.face}",
                                 item.hole_number or "", "; ".join(notes)))
    return steps


def removal_steps(case: PaperCase, plan: InstallPlan) -> list[RemovalStep]:
    """Return the planned order turned round, with where each object is by the record and its last condition."""
    known = {item.number: item for item in case.placed}
    steps: list[RemovalStep] = []
    for step in plan.removal():
        item, life = known[step.number], case.state.life(step.number)
        out = plan.out_before(step.number) if step.kind == "object" else ()
        notes = [*([f"after {', '.join(out)}"] if out else []), *([f"{step.door} door open"] if step.door else [])]
        now = life.whereabouts or life.stage
        if life.moves and life.moves[-1].kind == now:
            now = f"{now} {life.moves[-1].time[:10]}: {life.moves[-1].note}".removesuffix(": ")
        last = life.conditions[-1] if life.conditions else None
        steps.append(RemovalStep(
            len(steps) + 1, "mount" if step.kind == "post" else step.kind, step.number, item.title,
            f"{step.panel} {step.face}", item.hole_number or "", "; ".join(notes), now if step.kind == "object" else "",
            f"{last.time[:10]}: {last.text}" if last is not None and step.kind == "object" else ""))
    return steps


def holes_afterwards(case: PaperCase) -> list[HoleAfterwards]:
    """Return every hole that was drilled, with what the record says of its later life."""
    measures, found = case.issue.measures, []
    for hole in sorted((h for h in case.state.holes if h.was_drilled), key=lambda h: natural_key(h.number)):
        sheet = next((panel for panel in case.case.panels if panel.name == hole.panel), None)
        x_mm = None if sheet is None else datum_x_of(hole.face, hole.from_left_mm, sheet.width_mm)
        at = "" if x_mm is None else f", X {measures.fine(x_mm)}, Y {measures.fine(hole.y_mm)} {measures.units}"
        real = hole.real
        deep = "" if real is None or real.depth_mm is None else f", {measures.named(real.depth_mm)} deep"
        found.append(HoleAfterwards(
            hole.number, hole.object, f"{hole.panel} {hole.face}{at}", "" if real is None else f"{real.drill}{deep}",
            f"{hole.state}: {hole.why_void}" if hole.state == "void" and hole.why_void else hole.state, hole.later))
    return found


def _post_words(item: PlacedObject, case: PaperCase) -> list[str]:
    """What the person who puts a mount in must know."""
    if item.plan is None:
        return []
    dry = [] if case.state.life(item.number).has("dry-fitted") else ["NOT DRY-FITTED yet"]
    return [f"12 o'clock {clock(clock_deg(item, case.state))}", f"push in at most {item.plan.post.push_in_N:.0f} N",
            *dry]


def elevation_items(panel: PanelBrief, case: PaperCase) -> list[ElevationItem]:
    """Return what stands on both faces of a panel, outlines in each face's own frame."""
    things = []
    for face in FACES:
        for item in case.on_face(panel.name, face):
            origin: F64 = item.origin_mm[:2]
            spec = case.specs.get(item.number)
            assert item.stand is not None
            things.append(ElevationItem(
                item.number, face, tuple(ring + origin for ring in item.outlines_mm),
                (item.stand.from_left_mm, item.stand.y_mm), spec.survey.mean_colour if spec else (200, 200, 200),
                item.title))
    return things


def elevation_panel(panel: PanelBrief, case: CaseBrief) -> ElevationPanel:
    """Return a panel as elevations show it."""
    return ElevationPanel(panel.name, panel.width_mm, panel.height_mm, panel.stands_at_mm, case.eye_heights_mm)
