"""Contact sheets of holds: nothing is cut, all is to one scale, the bar is true."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image as PillowImage
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.findings import Finding, Verdict
from scanprep.hold import find_holds, propose_attitudes
from scanprep.hold.records import HoldSet
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import Image, flattened
from scanprep.papers.pictures.contact_sheet import (
    MARGIN_PX,
    SheetPictures,
    chosen_mark,
    contact_sheet_png,
    contact_sheets,
    hold_pictures,
)
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.papers.invented import invented_hold, invented_spec
from tests.papers.reading import pdf_words
from tests.shapes import box, cleaned_of, medal


@pytest.fixture(scope="module", params=[box(15, 15, 15, cuts=4), medal(11, 3, 64, 6)], ids=["die", "token"])
def small(request):
    """(survey, working, holds) of a small thing, whose hub and post are large beside it."""
    solid = request.param
    cleaned, brief = cleaned_of(solid), ObjectBrief(number="S", material="bronze", mass_g=solid.volume_mm3 * 8.7e-3)
    survey = survey_object(cleaned, brief, Rulebook())
    attitudes = propose_attitudes(cleaned.working, survey, brief)[:1]
    held = find_holds(cleaned.working, survey, brief, Rulebook(), attitudes=attitudes)
    assert held.holds, held.refusals
    return survey, cleaned.working, held.holds


def _inked(picture):
    """Rows and columns of what is drawn: paper is pure white, and no lit surface or ink is (`pictures.INK`)."""
    return np.nonzero((picture < 250).any(axis=2))


def test_neither_object_nor_brass_touches_the_border_of_its_cell(small):
    survey, working, holds = small
    for row in hold_pictures(holds, survey, working).rows:
        for picture in row.pictures:
            rows, columns = _inked(picture)
            edges = (rows.min(), columns.min(), picture.shape[0] - 1 - rows.max(),
                     picture.shape[1] - 1 - columns.max())
            # frames are exact boxes round every drawn vertex, set in MARGIN_PX of white: less only by the pixel in
            # which an edge falls and by the one that an ink line may take outside it
            assert min(edges) >= MARGIN_PX - 2


def test_what_is_drawn_fills_the_row_as_far_as_one_scale_lets_it(small):
    survey, working, holds = small
    drawn = hold_pictures(holds, survey, working, (900, 300))
    spans = np.array([[np.ptp(axis) + 1 for axis in _inked(picture)] for picture in drawn.rows[0].pictures])
    # with one hold either the three widths fill the row, or the tallest view its height: to a pixel a view and side
    assert spans[:, 1].sum() >= 900 - 3 * (2 * MARGIN_PX + 3) or spans[:, 0].max() >= 300 - 2 * MARGIN_PX - 3
    assert sum(picture.shape[1] for picture in drawn.rows[0].pictures) <= 900
    assert max(picture.shape[0] for picture in drawn.rows[0].pictures) <= 300 + 1  # whole pixels


def test_a_length_on_the_picture_is_a_length_on_the_object():
    solid = box(15, 15, 15, cuts=4)
    spec, working = invented_spec(working=cleaned_of(solid).working)
    hold = replace(spec.hold, tips=spec.hold.tips[:0])  # no arms: hub and post stand behind a cube's face
    small_hub = replace(hold, hub=replace(hold.hub, size_mm=4.0), attach_mm=hold.attach_mm)
    drawn = hold_pictures([small_hub], spec.survey, working)
    rows, columns = _inked(drawn.rows[0].pictures[0])
    # the cube's 15 mm, seen from the front; a pixel of ink at most outside each edge
    assert (np.ptp(columns) + 1) * drawn.mm_per_px == approx(15.0, abs=3 * drawn.mm_per_px)
    assert (np.ptp(rows) + 1) * drawn.mm_per_px == approx(15.0, abs=3 * drawn.mm_per_px)


def test_every_view_of_a_row_is_as_high_and_every_column_as_wide_on_all_rows():
    spec, working = invented_spec()
    holds = tuple(invented_hold(spec.survey, name) for name in ("upright", "asked"))
    drawn = hold_pictures(holds, spec.survey, working, (300, 100))
    shapes = [[picture.shape[:2] for picture in row.pictures] for row in drawn.rows]
    assert all(len({height for height, _ in row}) == 1 for row in shapes)
    assert [width for _, width in shapes[0]] == [width for _, width in shapes[1]]


@pytest.mark.parametrize(("width_mm", "bar_mm"), [(3, 1), (39, 5), (40, 10), (199, 10), (200, 50), (900, 100)])
def test_the_scale_bar_takes_at_most_a_quarter_of_the_width(width_mm, bar_mm):
    assert SheetPictures((), 0.1, 4.0).bar_mm(width_mm) == bar_mm


def test_the_bar_on_the_sheet_is_as_long_as_it_says():
    spec, working = invented_spec()
    drawn = hold_pictures([spec.hold], spec.survey, working)
    sheet = np.asarray(PillowImage.open(io.BytesIO(contact_sheet_png([spec.hold], spec.survey, working))))
    dark = np.flatnonzero((sheet[18] < 40).all(axis=1))  # the bar's upper edge is the last dark run of its row
    run = dark[dark[-1] - dark == np.arange(len(dark))[::-1]]
    assert len(run) == approx(drawn.bar_mm(1080 * drawn.mm_per_px) / drawn.mm_per_px, abs=1.0)  # a pixel


def test_the_picture_is_as_high_as_its_rows_and_has_none_that_is_empty():
    spec, working = invented_spec()
    for count in (1, 2):
        png = contact_sheet_png([spec.hold] * count, spec.survey, working, room_px=(300, 100))
        drawn = hold_pictures([spec.hold] * count, spec.survey, working, (300, 100))
        high = sum(row.pictures[0].shape[0] + 46 for row in drawn.rows)
        assert (int.from_bytes(png[16:20]), int.from_bytes(png[20:24])) == (300 + 24, 82 + high)


def test_a_contact_sheet_needs_a_hold():
    spec, working = invented_spec()
    with pytest.raises(ValueError, match="at least one hold"):
        contact_sheet_png([], spec.survey, working)


def test_what_a_sheet_stops_at_is_not_marked_as_if_it_could_be_made():
    spec, _ = invented_spec()
    stopped = replace(spec, findings=(Finding("weakest-link", "object 1", Verdict.STOP, "too weak", "thicker"),))
    free = replace(spec, findings=(), checks=())
    assert chosen_mark(replace(stopped, chosen_by="proposed")) == "PROPOSED, BUT STOP: see its sheet"
    assert chosen_mark(replace(stopped, chosen_by="curator")).startswith("CHOSEN, BUT STOP")
    assert chosen_mark(replace(free, chosen_by="proposed")) == "PROPOSED"


def test_pages_show_every_hold_inside_their_frame():
    spec, working = invented_spec()
    holds = tuple(invented_hold(spec.survey, name) for name in ("upright", "three-quarter", "leaned-back", "asked"))
    spec = replace(spec, holds=HoldSet(holds, ()), chosen=3, chosen_by="curator")
    sheets = contact_sheets(spec, working, Issue())
    words = pdf_words(pdf_bytes(sheets, title="x"))
    for name in ("upright", "three-quarter", "leaned-back", "asked"):
        assert name in words
    assert words.count("CHOSEN") == 1 and "PROPOSED" not in words
    nobody = pdf_words(pdf_bytes(contact_sheets(replace(spec, chosen_by="proposed"), working, Issue()), title="x"))
    assert nobody.count("PROPOSED") == 1 and "CHOSEN" not in nobody
    assert len(sheets) == 2
    for sheet in sheets:
        images = [item for item in flattened(sheet.items) if isinstance(item, Image)]
        # the widest line of a 20 mm binding edge and 10 mm others (ISO 5457) is the frame: nothing leaves it
        assert all(item.x_mm >= 20.0 and item.x_mm + item.width_mm <= sheet.width_mm - 10.0 for item in images)
        assert all(item.y_mm > 10.0 for item in images)
