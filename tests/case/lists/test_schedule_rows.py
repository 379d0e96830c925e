"""What a person reads of a whole case: everything loud once, what is still to be measured once a kind."""

from collections import Counter
from types import SimpleNamespace

from scanprep.case.lists.schedule_rows import every_finding, schedule_rows
from scanprep.case.record.state import CaseState
from scanprep.findings import Check, Finding, Verdict
from scanprep.post.measure import RESTING
from scanprep.rules import Rulebook
from tests.case.cases import CASE, an_object, box

DRILL = Check("drill-fit", 0.0, 1.0, "mm", 1.0, "test", Verdict.UNMEASURED)


def spec(number, *findings):
    return SimpleNamespace(number=number, checks=(DRILL,), findings=findings)


def told():
    resting = Finding(RESTING, "object 1", Verdict.UNMEASURED, "object 1: 12 checks rest on defaults")
    loud = Finding("post-slope", "object 2", Verdict.LOOK, "object 2: post slope")
    none = Finding("no-hold", "object 3", Verdict.STOP, "object 3: no hold was found")
    unchosen = [Finding("no-hold-chosen", f"object {n}", Verdict.STOP, f"object {n} has no hold") for n in (3, 4)]
    return every_finding(unchosen, [spec("1", resting), spec("2", loud), spec("3", none)], (), CASE, Rulebook())


def test_nothing_loud_is_dropped_and_nothing_is_said_twice():
    codes = Counter((f.code, f.subject) for f in told())
    assert codes["post-slope", "object 2"] == codes["no-hold", "object 3"] == codes["no-hold-chosen", "object 4"] == 1
    assert ("no-hold-chosen", "object 3") not in codes
    assert RESTING not in {code for code, _ in codes}


def test_what_waits_is_one_line_a_kind():
    waits = [f for f in told() if f.code == "to-measure-rod-and-test-hole"]
    assert len(waits) == 1 and waits[0].sentence.endswith(": 1, 2, 3") and "micrometer" in waits[0].remedy


def test_objects_without_a_place_come_as_people_count():
    rows = schedule_rows([an_object(number, box()) for number in ("10", "2", "1")], CASE, CaseState())
    assert [row.object for row in rows] == ["1", "2", "10"]
