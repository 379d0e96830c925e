"""Findings from the record: agreements missing, mounts not measured, posts found loose, checks that are due."""

from datetime import date, timedelta

import pytest
from pytest import approx

from scanprep.case.record import decide
from scanprep.case.record.mount_status import life_findings
from scanprep.findings import Verdict
from scanprep.rules import CaseRules, FitRules
from tests.case.record.test_record import Book, drilled, made
from tests.case.record.test_record import book as book  # the fixture


def codes(state, today=None):
    return {f.code: f for f in life_findings(state, CaseRules(), FitRules(), today) if f.subject == "object 1"}


def test_a_made_mount_wants_the_conservator_and_the_calipers(book):
    made(book)
    assert {c: f.verdict for c, f in codes(book.state).items()} == {"contacts-not-agreed": Verdict.LOOK,
                                                                    "axis-unmeasured": Verdict.UNMEASURED}
    book.say(decide.agree(book.state, "1", "contacts"), "conservator")
    book.say(decide.measure_axis(book.state, "1", 1.0, 0.0, 0.5))
    assert codes(book.state) == {}


def test_a_mount_measured_after_drilling_stands_beside_its_place(book):
    drilled(book)
    book.say(decide.measure_axis(book.state, "1", 3.0, -4.0, 0.0))
    finding = codes(book.state)["drilled-off-place"]
    assert (finding.measured, finding.verdict) == (5.0, Verdict.LOOK)  # 3-4-5


def test_what_counts_is_the_last_measurement_against_where_the_hole_went(book):
    # measured (1, 1) before drilling, so the hole went there; measured again (2, 3): off by (1, 2), 2.236 mm
    made(book)
    book.say(decide.measure_axis(book.state, "1", 1.0, 1.0, 0.0))
    book.say(decide.mark_hole(book.state, "1"))
    book.say(decide.drill_hole(book.state, "1", drill="4.7", depth_mm=21.5, checked_by="checker", person="driller"))
    assert "drilled-off-place" not in codes(book.state)
    book.say(decide.measure_axis(book.state, "1", 2.0, 3.0, 0.0))
    assert codes(book.state)["drilled-off-place"].measured == approx(5**0.5)


@pytest.mark.parametrize(("off_mm", "found"), [(0.49, False), (0.51, True)])
def test_half_a_millimetre_is_no_other_place(book, off_mm, found):
    # assumed: case.off_place_mm
    drilled(book)
    book.say(decide.measure_axis(book.state, "1", off_mm, 0.0, 0.0))
    assert ("drilled-off-place" in codes(book.state)) is found


@pytest.mark.parametrize(("days", "due"), [(396, False), (397, True)])
def test_a_snug_check_is_due_after_a_year_and_a_month(book, days, due):
    drilled(book)
    for stage in ("dry-fitted", "installed"):
        book.say(decide.reach_stage(book.state, "1", stage, "trial"))
    installed = date.fromisoformat(book.entries[-1].time[:10])
    assert ("snug-check-due" in codes(book.state, installed + timedelta(days=days))) is due


@pytest.mark.parametrize(("openings", "found"), [(5, False), (6, True)])
def test_five_openings_are_what_brass_wire_stands(book, openings, found):
    # assumed: brass work-hardens
    made(book)
    for _ in range(openings):
        book.say(decide.open_mount(book.state, "1", "cleaning"))
    assert ("many-openings" in codes(book.state)) is found
    if found:
        assert codes(book.state)["many-openings"].verdict is Verdict.LOOK


def test_loose_posts_openings_and_the_yearly_check(book: Book):
    drilled(book)
    for stage in ("dry-fitted", "installed"):
        book.say(decide.reach_stage(book.state, "1", stage, "trial"))
    installed = date.fromisoformat(book.entries[-1].time[:10])
    assert "snug-check-due" not in codes(book.state, installed.replace(year=installed.year + 1))
    due = codes(book.state, installed.replace(year=installed.year + 2))["snug-check-due"]
    assert due.measured == (installed.replace(year=installed.year + 2) - installed).days
    assert "snug-check-due" not in codes(book.state)  # without a date nothing is due
    book.say(decide.check_snug(book.state, "1", False, "turns"))
    assert codes(book.state)["post-loose"].verdict is Verdict.STOP
    book.say(decide.check_snug(book.state, "1", True))
    assert "post-loose" not in codes(book.state)
    for _ in range(6):
        book.say(decide.open_mount(book.state, "1", "cleaning"))
    assert codes(book.state)["many-openings"].measured == 6
