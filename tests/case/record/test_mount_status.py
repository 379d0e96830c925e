"""Findings from the record: agreements missing, mounts not measured, posts found loose, checks that are due."""

from datetime import date

from scanprep.case.record import decide
from scanprep.case.record.mount_status import life_findings
from scanprep.findings import Verdict
from scanprep.rules import CaseRules
from tests.case.record.test_record import Book, drilled, made
from tests.case.record.test_record import book as book  # the fixture


def codes(state, today=None):
    return {f.code: f for f in life_findings(state, CaseRules(), today) if f.subject == "object 1"}


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
