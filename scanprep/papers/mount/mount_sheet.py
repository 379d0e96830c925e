"""The mount specification sheet: everything one mount needs at the bench, on one page or on two sides of one.

Side 1 makes the mount: views with dimensions, tips, arms with their bends, hub, post and hole; where the arms need many
words, how it is soldered and opens goes on a sheet of its own. Side 2 lets people agree to it: checks with margins,
what must be looked at, where the scan's numbers come from, cautions, who signs what. The one-page form keeps what the
bench needs (`mount_page`). Returns PDF bytes; touches no files.
"""

from __future__ import annotations

from typing import Literal

from scanprep.case.release import HoleRelease
from scanprep.hold.records import Hold
from scanprep.papers.drawing.control import Control, control_of, digest_of
from scanprep.papers.drawing.letters import letters_finding
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import Box, Item, Sheet, Text
from scanprep.papers.mount.mount_page import KIND, mount_page
from scanprep.papers.mount.mount_parts import (
    HEADER_MM,
    header,
    no_hold,
    object_column,
    post_column,
    release_band,
    tip_table,
)
from scanprep.papers.mount.mount_record import hub_notes, record_sides
from scanprep.papers.mount.mount_views import Extents, mount_views, views_depth_mm
from scanprep.papers.mount.opening_detail import opening_detail
from scanprep.papers.pictures.scenes import shaded_object
from scanprep.papers.pictures.shading import ShadedMesh
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec

_DETAIL_MM, _DETAIL_DEEP_MM = 84.0, 34.0  # layout: of the drawing of how the mount opens
#: layout: room for the pictures and height of words, tried in turn until all fits.
_TRIES = tuple((views_mm, words_mm) for views_mm in (112.0, 92.0, 76.0, 64.0)
               for words_mm in ((2.2, 2.1, 2.0, 1.9) if views_mm > 76.0 else (1.9, 1.8, 1.7, 1.55)))


def mount_sheet_pdf(spec: MountSpec, working: WorkingMesh, issue: Issue | None = None, *, paper: str = "A4",
                    units: str = "mm", sides: Literal[1, 2] = 2) -> bytes:
    """Return one object's mount specification as a PDF.

    working       the object's working mesh, scan axes, for the pictures
    issue         title of the display, paper and units; by default no display
    paper, units  used where no issue is given
    sides         1: one page, what the bench needs; 2: both sides, and more where the checks need them
    """
    issue = issue or Issue(paper=paper, measures=Measures(units))
    sheets = (mount_page(spec, working, issue),) if sides == 1 else mount_sheets(spec, working, issue, None)

    def write(control: Control | None) -> bytes:
        return pdf_bytes(sheets, title=f"{KIND} {spec.number}", subject=spec.title, control=control)

    return write(control_of("spec.pdf", 0, digest_of(write(None))))


def mount_sheets(spec: MountSpec, working: WorkingMesh, issue: Issue, release: HoleRelease | None,
                 place: str = "") -> tuple[Sheet, ...]:
    """Return both sides as display lists.

    release  of the object's hole; None outside a case's papers
    place    where the hole is, from the datum corner, in words
    """
    number = spec.number or spec.scan.file
    letters = letters_finding(f"{spec.title} {number}", f"object {number}")
    hold = spec.hold
    room = blank(issue, KIND, number, 1, 1).room
    band, top = release_band(release, room, room.top_mm - HEADER_MM)
    items, making = [*header(spec, number, room), *band], list[Item]()
    if hold is None:
        items += no_hold(spec, room, top - 5.0)[0]
    else:
        shown = shaded_object(working, spec.survey, hold.attitude)
        bench, whole = _bench(spec, hold, shown, room, issue, top, place)
        items += bench
        making = [] if whole else _making(spec, hold, number, room, issue.measures)
    sides = record_sides(spec, issue, KIND, number, letters, first=3 if making else 2)
    of = 1 + bool(making) + len(sides)
    front = finished(blank(issue, KIND, number, 1, of), items, f"{KIND} {number}")
    if not making:
        return (front, *sides)
    second = finished(blank(issue, KIND, number, 2, of), making, f"{KIND} {number}, soldering and opening")
    return (front, second, *sides)


def _bench(spec: MountSpec, hold: Hold, shown: ShadedMesh, room: Box, issue: Issue, top: float,
           place: str) -> tuple[list[Item], bool]:
    """Side 1 below its head; and whether how the mount is soldered and opens found room on it."""
    measures = issue.measures
    extents = Extents.of(shown.vertices_mm)
    half = room.width_mm * 0.5 - 2.0
    # many tips leave less room: the pictures, then the words get smaller, down to what a bench can still read; then
    # soldering and opening go on the next sheet
    for whole, (views_mm, words_mm) in ((whole, size) for whole in (True, False) for size in _TRIES):
        views = Box(room.left_mm, top - views_mm, room.right_mm, top)
        y = top - views_depth_mm(shown, hold, spec.plan, views)
        tips, below = tip_table(hold, extents, measures, room, y - 2.0, min(words_mm, 2.0), whole=True)
        left = Box(room.left_mm, room.bottom_mm, room.left_mm + half, below - 2.0)
        right = Box(room.right_mm - half, room.bottom_mm, room.right_mm, below - 2.0)
        columns = [object_column(spec, hold, extents, left, measures, words_mm),
                   post_column(spec, hold, extents, right, measures, words_mm, place)]
        beside = Box(room.left_mm, room.bottom_mm, room.right_mm - _DETAIL_MM - 3.0, room.top_mm)
        foot = min(bottom for _, bottom in columns) - 0.5
        notes, ends = hub_notes(spec, beside, foot, min(words_mm, 1.9))
        ends = min(ends, foot - _DETAIL_DEEP_MM - 1.0) if whole else min(foot, columns[0][1] - 6.0)
        if ends >= room.bottom_mm:
            break
    items, _ = mount_views(shown, hold, spec.plan, views, measures, third_angle=issue.third_angle)
    items += [*tips, *columns[0][0], *columns[1][0]]
    if not whole:
        words = "How it is soldered and how it opens: next sheet"
        return [*items, Text(room.left_mm, columns[0][1] - 5.0, words, 2.0, bold=True)], False
    detail = Box(room.right_mm - _DETAIL_MM, max(ends, room.bottom_mm), room.right_mm, foot - 1.0)
    return [*items, *notes, *opening_detail(hold, detail, measures)], True


def _making(spec: MountSpec, hold: Hold, number: str, room: Box, measures: Measures) -> list[Item]:
    head = Text(room.left_mm, room.top_mm - 5.0, f"{number}   soldering and opening", 4.0, bold=True)
    notes, ends = hub_notes(spec, room, room.top_mm - 8.0)
    detail = Box(room.left_mm, ends - 4.0 - 2 * _DETAIL_DEEP_MM, room.left_mm + 1.5 * _DETAIL_MM, ends - 4.0)
    return [head, *notes, *opening_detail(hold, detail, measures)]
