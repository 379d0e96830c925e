"""From a case as computed and recorded to the plain values that its papers print.

One place that says what stands between a hole and drilling: measured thickness, rod, test hole and as-made axis, a hold
that a person chose, and no finding that says stop. Pure; given the case's records by `workspace`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.lists.install_order import InstallPlan
from scanprep.case.placed import PlacedObject
from scanprep.case.record.state import CaseState
from scanprep.case.release import object_release
from scanprep.errors import InputError, ScanprepError
from scanprep.findings import Finding
from scanprep.panel.faces import FACES, FaceName
from scanprep.papers.drawing.measures import clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.lists.elevation import ElevationItem, ElevationPanel
from scanprep.papers.lists.install_list import InstallStep
from scanprep.papers.lists.labels import Label
from scanprep.papers.templates.template import TemplateHole, TemplatePanel
from scanprep.post.records import PostPlan
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec
from scanprep.vectors import F64

_VOID_MM = 4.0  # an abandoned place whose drill was never chosen is drawn with this circle


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

    def on_face(self, panel: str, face: str) -> tuple[PlacedObject, ...]:
        """The objects that stand on a face."""
        return tuple(p for p in self.placed if p.stand is not None and (p.stand.panel, p.stand.face) == (panel, face))

    def revision(self, *numbers: str) -> int:
        """The number of the latest decision about some objects; of the whole case without any."""
        return self.state.revision(*numbers)


def clock_deg(item: PlacedObject, state: CaseState) -> float:
    """Return where an object's 12 o'clock mark points, the finished mount's own turn included; counter-clockwise +."""
    made = state.life(item.number).as_made
    planned = item.plan.post.clock_deg if item.plan is not None else 0.0
    return planned + (made.angle_deg if made is not None else 0.0)


def open_reasons(item: PlacedObject, case: PaperCase) -> tuple[str, ...]:
    """Return what must be measured or settled before an object's hole is drilled."""
    return object_release(item, case.specs.get(item.number), case.case, case.state, case.findings).reasons


def _hole(item: PlacedObject, plan: PostPlan, case: PaperCase) -> TemplateHole | None:
    """An object's hole as it stands; None where its place was made void and no other was given."""
    if item.stand is None or item.hole_state == "void":
        return None
    placement = case.state.placements.get(item.number)
    hole, post = plan.hole, plan.post
    return TemplateHole(
        item.hole_number or item.number, item.number, cast(FaceName, item.stand.face), item.stand.x_mm, item.stand.y_mm,
        hole.drill, hole.drill_diameter_mm, hole.depth_mm, hole.through, post.diameter_mm,
        (placement.session if placement else None) or 0, clock_deg(item, case.state), item.hole_state,
        open_reasons(item, case))


def _drill_mm(label: str | None) -> float:
    from scanprep.post.drill import parse_drill

    try:
        return parse_drill(label).diameter_mm if label else _VOID_MM
    except (ScanprepError, ValueError):
        return _VOID_MM  # a drill that the catalogue does not have: its place is still drawn, crossed out


def template_panel(panel: PanelBrief, case: PaperCase) -> TemplatePanel:
    """Return one panel's holes of both faces, void ones too, as templates show them.

    Raises InputError where an object stands off its panel.
    """
    holes = [hole for face in ("A", "B") for item in case.on_face(panel.name, face) if item.plan is not None
             for hole in (_hole(item, item.plan, case),) if hole is not None]
    holes += [TemplateHole(h.number, h.object, cast(FaceName, h.face), h.x_mm, h.y_mm, h.drill or "–",
                           _drill_mm(h.drill), h.depth_mm or 0.0, False, 0.0, h.session or 0, 0.0, "void", (),
                           h.was_drilled)
              for h in case.state.holes if h.state == "void" and h.panel == panel.name]
    for hole in holes:
        if not (0 <= hole.x_mm <= panel.width_mm and 0 <= hole.y_mm <= panel.height_mm):
            raise InputError(field=f"object {hole.object_number}", value=f"x {hole.x_mm:g}, y {hole.y_mm:g} mm",
                             problem=f"lies outside panel {panel.name} ({panel.width_mm:g} x {panel.height_mm:g} mm)",
                             remedy="Place it on the panel, then print again")
    return TemplatePanel(panel.name, panel.width_mm, panel.height_mm, panel.thickness_mm, panel.thickness_measured,
                         tuple(holes))


def place_words(item: PlacedObject, case: PaperCase) -> str:
    """Return where an object stands: `West A, x 412.35, y 1260.50 mm`, or that it has no place."""
    if item.stand is None:
        return "not placed"
    measures = case.issue.measures
    return (f"{item.stand.panel} {item.stand.face}, x {measures.fine(item.stand.x_mm)}, "
            f"y {measures.fine(item.stand.y_mm)} {measures.units}")


def labels_of(case: PaperCase) -> list[Label]:
    """Return one label for each mount that has a post."""
    labels = []
    for item in _in_order(case):
        if item.plan is None:
            continue
        post, placement = item.plan.post, case.state.placements.get(item.number)
        place = "not placed" if item.stand is None else f"{item.stand.panel} {item.stand.face}"
        cut = post.blank_length_mm if case.case.mock_up else post.cut_length_mm
        labels.append(Label(item.number, item.title, place, item.hole_number or "",
                            (placement.session if placement else None) or 0, post.rod, cut,
                            clock_deg(item, case.state)))
    return labels


def _in_order(case: PaperCase) -> list[PlacedObject]:
    """Objects by panel, face, from the top down, then from the viewer's left; those without a place last."""
    def key(item: PlacedObject) -> tuple[bool, str, str, float, float, str]:
        stand = item.stand
        if stand is None:
            return (True, "", "", 0.0, 0.0, item.number)
        return (False, stand.panel, stand.face, -stand.y_mm, stand.x_mm, item.number)

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
        steps.append(InstallStep(len(steps) + 1, step.kind, step.number, item.title, f"{step.panel} {step.face}",
                                 item.hole_number or "", "; ".join(notes)))
    return steps


def _post_words(item: PlacedObject, case: PaperCase) -> list[str]:
    """What the person who fits a post must have in hand."""
    if item.plan is None:
        return []
    post, measures = item.plan.post, case.issue.measures
    return [f"rod {post.rod}, cut {measures.named(post.cut_length_mm)}",
            f"12 o'clock {clock(clock_deg(item, case.state))}", f"push in at most {post.push_in_N:.0f} N"]


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
                (item.stand.x_mm, item.stand.y_mm), spec.survey.mean_colour if spec else (200, 200, 200), item.title))
    return things


def elevation_panel(panel: PanelBrief, case: CaseBrief) -> ElevationPanel:
    """Return a panel as elevations show it."""
    return ElevationPanel(panel.name, panel.width_mm, panel.height_mm, panel.stands_at_mm, case.eye_heights_mm)
