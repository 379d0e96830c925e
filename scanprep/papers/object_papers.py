"""The papers that are drawn object by object: mount sheet, setting gauge, outline, contact sheet of holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.mount.mount_sheet import mount_sheet_pdf
from scanprep.papers.mount.outline_sheet import OutlineSubject, gauge_sheet, mock_up_sheet
from scanprep.papers.paper_set import OBJECT_KINDS, safe_name
from scanprep.papers.pictures.contact_sheet import contact_sheets
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.survey.outline import outline_polygons_mm

_OUTLINE_MM = 0.3  # fineness of an outline that is cut out with scissors
_STUB_MM = 4.7625  # post circle where no post is planned yet


def outline_subject(spec: MountSpec, working: WorkingMesh, place: str, clock_deg: float) -> OutlineSubject | None:
    """Return an object's outline in its chosen hold; None without a hold.

    place      where it stands, in words
    clock_deg  where its 12 o'clock mark points, counter-clockwise for the viewer +
    """
    hold = spec.hold
    if hold is None:
        return None
    centred = working.vertices_mm - np.asarray(spec.survey.centre_of_mass_mm)
    rings = outline_polygons_mm(np.asarray(centred), working.faces, hold.attitude.rotation, _OUTLINE_MM)
    diameter = spec.plan.post.diameter_mm if spec.plan is not None else _STUB_MM
    return OutlineSubject(spec.number, spec.title, rings, (hold.attach_mm[0], hold.attach_mm[1]), clock_deg, diameter,
                          place)


def object_files(number: str, kinds: Sequence[str]) -> dict[str, str]:
    """Return kind -> file, relative to the papers' folder, of an object's papers."""
    return {kind: f"{kind}/{safe_name(number)}.pdf" for kind in OBJECT_KINDS if kind in kinds}


def object_papers(spec: MountSpec, working: WorkingMesh, kinds: Sequence[str], issue: Issue, place: str,
                  clock_deg: float) -> dict[str, bytes]:
    """Return file -> bytes of one object's papers of the kinds asked for; without a hold there is only its sheet."""
    files = object_files(spec.number, kinds)
    subject = outline_subject(spec, working, place, clock_deg) if {"gauges", "outlines"} & set(kinds) else None
    hold = spec.hold
    makers: dict[str, Callable[[], bytes]] = {"mounts": lambda: mount_sheet_pdf(spec, working, issue)}
    if subject is not None and hold is not None:
        makers["gauges"] = lambda: pdf_bytes([gauge_sheet(subject, hold, issue)], title=f"Setting gauge {spec.number}")
        makers["outlines"] = lambda: pdf_bytes([mock_up_sheet(subject, issue)], title=f"Outline {spec.number}")
    if spec.holds.holds:
        makers["holds"] = lambda: pdf_bytes(contact_sheets(spec, working, issue), title=f"Holds of {spec.number}")
    return {file: makers[kind]() for kind, file in files.items() if kind in makers}
