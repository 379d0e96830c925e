"""The papers that are drawn object by object: mount sheet, setting gauge, outline, contact sheet of holds."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence

import numpy as np

from scanprep.case.release import HoleRelease
from scanprep.file_names import safe_name
from scanprep.papers.drawing.control import Control
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.mount.mount_page import KIND
from scanprep.papers.mount.mount_sheet import mount_sheets
from scanprep.papers.mount.outline_sheet import OutlineSubject, gauge_sheet, mock_up_sheet, side_gauge_sheet
from scanprep.papers.paper_set import OBJECT_KINDS
from scanprep.papers.pictures.contact_sheet import contact_sheets
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.survey.outline import outline_polygons_mm

_OUTLINE_MM = 0.3  # layout: fineness of an outline that is cut out with scissors
#: exact: display axes as seen from the viewer's right: x' = -z, y' = y, z' = x
_FROM_RIGHT = np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
_STUB_MM = 4.7625  # layout: post circle where no post is planned yet


def outline_subject(spec: MountSpec, working: WorkingMesh, place: str, clock_deg: float) -> OutlineSubject | None:
    """Return an object's outline in its chosen hold; None without a hold.

    place      where it stands, in words
    clock_deg  where its 12 o'clock mark points, counter-clockwise for the viewer +
    """
    hold = spec.hold
    if hold is None:
        return None
    centred = working.vertices_mm - np.asarray(spec.survey.centre_of_mass_mm)
    rings, side = (outline_polygons_mm(np.asarray(centred), working.faces, turn @ hold.attitude.rotation, _OUTLINE_MM)
                   for turn in (np.eye(3), _FROM_RIGHT))
    diameter, free = (spec.plan.post.diameter_mm, spec.plan.post.free_length_mm) if spec.plan is not None else \
        (_STUB_MM, None)
    return OutlineSubject(spec.number, spec.title, rings, (hold.attach_mm[0], hold.attach_mm[1]), clock_deg, diameter,
                          place, side, free)


def object_files(number: str, kinds: Sequence[str]) -> dict[str, str]:
    """Return kind -> file, relative to the papers' folder, of an object's papers."""
    return {kind: f"{kind}/{safe_name(number)}.pdf" for kind in OBJECT_KINDS if kind in kinds}


def object_papers(spec: MountSpec, working: WorkingMesh, kinds: Sequence[str], issue: Issue, place: str,
                  clock_deg: float, release: HoleRelease | None) -> dict[str, Callable[[Control | None], bytes]]:
    """Return file -> what writes it, for an object's papers of the kinds asked for; without a hold there is only its
    sheet. Each is laid out at most once."""
    files = object_files(spec.number, kinds)
    subject = outline_subject(spec, working, place, clock_deg) if {"gauges", "outlines"} & set(kinds) else None
    hold = spec.hold
    makers: dict[str, tuple[str, Callable[[], Sequence[Sheet]]]] = {
        "mounts": (f"{KIND} {spec.number}", lambda: mount_sheets(spec, working, issue, release, place))}
    if subject is not None and hold is not None:
        makers["gauges"] = f"Setting gauge {spec.number}", lambda: [gauge_sheet(subject, hold, issue, release),
                                                                      side_gauge_sheet(subject, hold, issue, release)]
        makers["outlines"] = f"Outline {spec.number}", lambda: [mock_up_sheet(subject, issue, release)]
    if spec.holds.holds:
        makers["holds"] = f"Holds of {spec.number}", lambda: contact_sheets(spec, working, issue)
    return {file: _writer(*makers[kind], spec.title) for kind, file in files.items() if kind in makers}


def _writer(title: str, sheets: Callable[[], Sequence[Sheet]], subject: str) -> Callable[[Control | None], bytes]:
    laid_out = functools.cache(sheets)
    return lambda control: pdf_bytes(laid_out(), title=title, subject=subject, control=control)
