"""Findings gathered by cause: nothing is dropped, one open underside is one thing to do, stops come first."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from scanprep.causes import CAUSES, cause_of, grouped, named_objects
from scanprep.findings import Finding, Verdict

STOP, LOOK, UNMEASURED, OK = Verdict.STOP, Verdict.LOOK, Verdict.UNMEASURED, Verdict.OK
NUMBERS = ("FB-001", "FB-002", "FB-003")


def finding(code, subject="object FB-001", verdict=LOOK, sentence="", remedy=""):
    return Finding(code, subject, verdict, sentence or f"{subject}: {code}", remedy)


def test_one_open_underside_is_one_thing_to_do():
    groups = grouped([finding("end-not-seen", remedy="Scan the underside"), finding("scan-doubtful"),
                      finding("volume-doubt"), finding("centre-doubt"),
                      finding("height-not-whole", "scan mortar", UNMEASURED)], NUMBERS, {"mortar": "FB-001"})
    assert len(groups) == 1
    assert groups[0].remedy == "Scan the underside" and len(groups[0].findings) == 5


def test_nothing_is_dropped_and_nothing_said_twice():
    said = [finding("arm-gap"), finding("arm-gap"), finding("post-droop"), finding("arm-sag", "object FB-001, upright"),
            finding("post-slope", "object FB-002"), finding("mystery"), finding("to-measure-mass", "case", UNMEASURED),
            finding("to-measure-pad", "case", UNMEASURED), finding("volume-doubt", verdict=OK)]
    groups = grouped(said, NUMBERS)
    kept = [f.sentence for g in groups for f in g.findings]
    assert sorted(kept) == sorted({f.sentence for f in said if f.verdict is not OK})
    assert [(g.cause, g.objects) for g in groups if g.cause == "hold"] == [("hold", ("FB-001",))]
    assert sum(g.cause == "measure" for g in groups) == 2


def test_a_specification_has_its_findings_by_cause_each_with_what_to_do():
    from scanprep.files.records import spec_document
    from tests.papers.invented import invented_spec

    spec, _ = invented_spec("FB-001", "Bowl")
    found = (finding("arm-gap"), finding("end-not-seen", "scan other", remedy="Scan the underside"),
             finding("centre-doubt", verdict=STOP), finding("hold-margin", "object FB-001, upright"))
    told = spec_document(replace(spec, findings=found, scan=replace(spec.scan, file="scans/other.ply")))["causes"]
    assert [(one["cause"], one["verdict"], one["findings"]) for one in told] == [
        ("scan", "stop", [1, 2]), ("hold", "look", [0, 3])]
    assert all(one["remedy"] for one in told)


def test_a_remedy_is_never_that_of_a_quieter_finding():
    groups = grouped([finding("weakest-link", verdict=STOP), finding("stand-off-grown", remedy="Ask for more room")],
                     NUMBERS)
    assert len(groups) == 1 and "thicker rod" in groups[0].remedy  # the cause's own words


def test_stops_lead_and_every_group_has_a_remedy():
    groups = grouped([finding("post-droop"), finding("mystery"), finding("objects-too-near", verdict=STOP)], NUMBERS)
    assert [g.verdict for g in groups] == [STOP, LOOK, LOOK]
    assert all(g.remedy for g in groups)


@pytest.mark.parametrize(("subject", "sentence", "expected"), [
    ("object FB-001", "object FB-001 and object FB-002 come to 3 mm of each other", ("FB-001", "FB-002")),
    ("object FB-002", "objects FB-002 and FB-003 are 4.0 mm apart", ("FB-002", "FB-003")),
    ("object FB-001, upright", "object FB-001, upright: arm sag", ("FB-001",)),
    ("object FB-001", "the post or hub of object FB-001 stands before object FB-003, seen", ("FB-001", "FB-003")),
    ("panel West", "panel West: 3 of 4 objects sway: FB-001, 17 Hz", ()),
    ("object FB-00", "object FB-00: not one of ours", ()),
])
def test_the_objects_of_a_finding(subject, sentence, expected):
    assert named_objects(finding("x", subject, sentence=sentence), NUMBERS) == expected


def test_the_codes_of_the_library_have_causes():
    text = "\n".join(path.read_text(encoding="utf-8") for path in
                     (Path(__file__).resolve().parents[2] / "scanprep").rglob("*.py"))
    codes = set(re.findall(r"(?:Finding|_finding|at_most|at_least|Check)\(\s*\"([a-z-]+)\"", text))
    assert len(codes) > 80
    without = sorted(code for code in codes if cause_of(code).name == "other")
    assert len(without) <= 0.05 * len(codes), without  # a new code may wait under "Other findings" for a while
    assert len({cause.name for cause in CAUSES}) == len(CAUSES)


def test_what_a_group_says_and_what_to_do_about_it_are_of_one_finding():
    soft, near = finding("springs", sentence="soft"), finding("arm-gap", sentence="near", remedy="Bend them apart")
    groups = grouped([soft, near], ["FB-001"])
    assert [(g.sentence, g.remedy) for g in groups] == [("near", "Bend them apart")]


def test_a_tip_on_a_filled_surface_stands_with_what_was_not_scanned():
    groups = grouped([finding("tip-unscanned", remedy="Scan it"), finding("springs")], ["FB-001"])
    assert sorted(g.cause for g in groups) == ["hold", "scan"]
