"""What holds a post, and its proof, are on record: chosen, told, refused where they prove nothing."""

import dataclasses

import pytest

from scanprep.brief import CaseBrief, CouponResult, ObjectBrief
from scanprep.case.record.entry import Entry
from scanprep.case.record.fold import fold
from scanprep.case.record.history import history
from scanprep.case.record.measuring import with_measured
from scanprep.case.record.mount_status import life_findings
from scanprep.case.record.retaining import prove, retain
from scanprep.case.record.state import Measured
from scanprep.errors import RecordError
from scanprep.findings import Verdict
from scanprep.plain_values import to_plain
from scanprep.post.holding import Proof
from scanprep.rules import CaseRules, FitRules

ASKED = Proof(pull_N=10.0, twist_Nmm=30.0)


def book(*said, brief=None):
    """Return the entries of one object on record, with stages and whatever was said since."""
    first = [("taken", {"wish": to_plain(brief or ObjectBrief("1", "bowl"))})]
    return [Entry(n, "2025-01-01T00:00:00Z", "mountmaker", None, kind, "1", payload, "", "", "")
            for n, (kind, payload) in enumerate([*first, *said], start=1)]


def said(entries):
    return [(entry.kind, dict(entry.payload)) for entry in entries]


def fitted(*more, brief=None):
    return book(*[("stage", {"stage": s}) for s in ("made", "fitted", "dry-fitted", "installed")], *more, brief=brief)


def codes(entries):
    return {f.code: f.verdict for f in life_findings(fold(entries), CaseRules(), FitRules())}


def test_a_decision_counts_before_the_checklist():
    brief = dataclasses.replace(ObjectBrief("1", "bowl"), retention="bow")
    state = fold(book(brief=brief))
    assert state.retention("1") == "bow"
    assert retain(state, "1", "bow") == ()
    after = fold(book(*said(retain(state, "1", "Line 0.16mm")), brief=brief))
    assert after.retention("1") == "line 0.16 mm"
    assert "held by line 0.16 mm" in history(book(*said(retain(state, "1", "line 0.16 mm"))), "1")[-1].sentence


def test_what_is_no_retention_or_no_object_is_refused():
    state = fold(book())
    with pytest.raises(RecordError, match="is no retention"):
        retain(state, "1", "glue")
    with pytest.raises(RecordError, match="not on record"):
        retain(state, "2", "bow")


def test_a_post_that_is_in_its_hole_is_held_otherwise_for_a_reason_only():
    with pytest.raises(RecordError, match="needs a reason"):
        retain(fold(fitted()), "1", "bow")
    assert retain(fold(fitted()), "1", "bow", "rattled")


@pytest.mark.parametrize(("pull", "twist", "enough"), [
    (10.0, 30.0, True), (9.9, 30.0, False), (10.0, 29.9, False), (12.0, 40.0, True)])
def test_a_proof_is_as_hard_as_the_object_asks(pull, twist, enough):
    state = fold(fitted())
    if enough:
        assert codes(fitted(*said(prove(state, "1", pull, twist, ASKED)))).get("post-not-proved") is None
    else:
        with pytest.raises(RecordError, match="proves nothing"):
            prove(state, "1", pull, twist, ASKED)


def test_a_post_not_in_its_hole_cannot_be_proved():
    with pytest.raises(RecordError, match="nothing to prove yet"):
        prove(fold(book()), "1", 20.0, 50.0, ASKED)


def test_an_installed_post_without_a_proof_wants_a_look_and_one_that_moved_stops():
    assert codes(fitted())["post-not-proved"] is Verdict.LOOK
    state = fold(fitted())
    moved = said(prove(state, "1", 6.0, 0.0, ASKED, "slid 2 mm"))
    assert codes(fitted(*moved))["post-moved-in-proof"] is Verdict.STOP
    again = said(prove(state, "1", 10.0, 30.0, ASKED))
    assert "post-moved-in-proof" not in codes(fitted(*moved, *again))


def test_a_hole_measured_at_the_bench_leaves_the_coupons_forces():
    pushed = CouponResult("#11", 4.87, line_mm=0.16, push_N=55.0, twist_Nmm=120.0, pull_N=48.0)
    case = CaseBrief("C", coupons=(pushed, CouponResult("#11", 4.90), CouponResult("4.9", 4.93)))
    read = Measured("test hole", "#11", {"hole_mm": 4.88, "spread_mm": 0.01}, "driller", "2025-01-01T00:00:00Z", 1)
    found = with_measured(case, {("test hole", "#11"): read}).coupons
    assert pushed in found and CouponResult("4.9", 4.93) in found
    assert [c.hole_mm for c in found if c.drill == "#11" and c.push_N is None] == [4.88]
