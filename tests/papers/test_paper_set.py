"""The whole set on a case folder: what is written, what stays, what says NOT FOR DRILLING, after each change."""

import io
from dataclasses import replace
from pathlib import Path

import ezdxf
import openpyxl
import pypdf
import pytest
from pytest import approx

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.check.checks import CaseChecks
from scanprep.case.lists.install_order import plan_order
from scanprep.case.record.decide import drill_hole, mark_hole, place, void_hole
from scanprep.case.release import hole_releases
from scanprep.cautions import CAUTIONS
from scanprep.errors import InputError
from scanprep.findings import Finding, Verdict
from scanprep.papers.drawing.page import Issue
from scanprep.papers.paper_case import PaperCase, install_steps, labels_of, template_panel
from scanprep.papers.paper_set import KINDS, check_kinds
from scanprep.papers.templates.template import held_reasons
from scanprep.rules import HoldRules, PostRules, Rulebook, override_note
from scanprep.spec import ObjectStudy, roll_up
from scanprep.workspace.executor import SameProcessExecutor
from scanprep.workspace.paper_files import load_register
from scanprep.workspace.papers import asked_printing, write_papers
from scanprep.workspace.tasks import study_key
from tests.papers.cases import MEASURED, agreed, computed, invented_case, say
from tests.papers.reading import dxf_circles, hole_errors, pdf_circles, pdf_words

EVERY = tuple(KINDS)


def issue_papers(folder, result=None, kinds=EVERY, **how):
    return write_papers(folder, result or computed(folder), SameProcessExecutor(), kinds,
                        asked_printing(folder, how.get("paper"), how.get("units")), lambda *_: None)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    folder = agreed(invented_case(tmp_path_factory.mktemp("case")))
    result = computed(folder)
    return folder, result, issue_papers(folder, result)


def test_every_kind_is_there_and_every_file_opens(printed):
    _, _, done = printed
    register = load_register(done.folder)
    assert {register.papers[file].kind for file in done.written} == set(KINDS)
    for file in done.written:
        data = (done.folder / file).read_bytes()
        match Path(file).suffix:
            case ".pdf":
                assert len(pypdf.PdfReader(io.BytesIO(data), strict=True).pages) > 0
            case ".dxf":
                assert not ezdxf.read(io.StringIO(data.decode())).audit().errors
            case ".xlsx":
                assert openpyxl.load_workbook(io.BytesIO(data)).sheetnames == [
                    "schedule", "drill list", "rod cuts", "install order"]
            case _:
                assert data.startswith((b"\xef\xbb\xbf", b"<?xml"))


def test_every_paper_names_the_rules_that_its_case_changes(tmp_path):
    folder = invented_case(tmp_path, count=2)
    folder = replace(folder, rules=Rulebook(post=PostRules(droop_mm=0.8), hold=HoldRules(friction_low=0.2)))
    result = computed(folder)
    # a specification carries the same sentence among its cautions, as `roll_up` puts it there
    told = (*CAUTIONS, override_note(folder.rules))
    result = replace(result, specs={n: replace(spec, cautions=told) for n, spec in result.specs.items()})
    done = issue_papers(folder, result)
    silent = []
    for file in done.written:
        if file.endswith(".pdf"):
            text = " ".join(pdf_words((done.folder / file).read_bytes()).split())
            said = ["post.droop_mm 0.8 mm (book 0.5 mm, shop's)", "hold.friction_low 0.2 (book 0.15"]
            silent += [] if all(part in text for part in said) else [file]
            assert file not in silent or "rules changed by this case: see the mount sheet" in text, file
    papers = load_register(done.folder).papers
    assert {papers[file].kind for file in silent} <= {"templates", "outlines", "gauges", "labels"}  # no room on these
    assert [file for file in silent if file.startswith("templates")] == ["templates/West-overlay-1to1.pdf"]
    single = roll_up(_a_study(folder, result), None, "proposed", None, folder.rules)
    assert single.cautions == told
    found = {f.code: f for f in CaseChecks([], folder.case, folder.rules).findings()}
    assert found["rules-changed"].verdict is Verdict.LOOK and "conservator" in found["rules-changed"].remedy
    own = CaseChecks([], folder.case, Rulebook(post=PostRules(droop_mm=0.8))).findings()
    assert [f.verdict for f in own if f.code == "rules-changed"] == [Verdict.OK]
    assert CaseChecks([], folder.case, Rulebook()).findings() == ()


def _a_study(folder, result):
    number = next(iter(result.specs))
    brief = folder.state.objects[number]
    key = study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)
    return folder.cache.load("study", key, ObjectStudy)


def test_templates_carry_the_record(printed):
    folder, _, done = printed
    for face in "AB":
        circles = pdf_circles((done.folder / f"templates/West-{face}.pdf").read_bytes())
        places = [p for p in folder.state.placements.values() if p.face == face]
        assert len(places) == 2
        # the page's own offset: the panel's outline is not needed, distances between holes are
        a = places[0]
        found = [c for c in circles if abs(c[2] - 4.763) < 0.01]
        assert len(found) == 2
        first = min(found, key=lambda c: c[0])
        origin = (first[0] - min(p.anchor_from_left_mm for p in places), first[1] - a.anchor_y_mm)
        expected = [(p.anchor_from_left_mm + origin[0], p.anchor_y_mm + origin[1], 4.763) for p in places]
        assert max(hole_errors(found, expected)) < 0.02


def test_a_second_run_writes_nothing(printed):
    folder, result, done = printed
    before = {file: (done.folder / file).read_bytes() for file in done.written}
    again = issue_papers(folder, result)
    assert again.written == () and again.kept == len(done.written) and again.removed == ()
    (done.folder / "labels.pdf").unlink()
    assert issue_papers(folder, result).written == ("labels.pdf",)
    assert (done.folder / "labels.pdf").read_bytes() == before["labels.pdf"]


def test_a_move_on_face_a_leaves_face_b_alone(tmp_path):
    folder = invented_case(tmp_path)
    issue_papers(folder)
    folder = say(folder, place(folder.state, "FB-001", folder.case.panels[0], "A", 300.0, 900.0))
    done = issue_papers(folder)
    assert "templates/West-A.pdf" in done.written and "templates/West-overlay.pdf" in done.written
    assert not any(file.startswith("templates/West-B") for file in done.written)
    assert {file for file in done.written if file.startswith("outlines/")} == {"outlines/FB-001.pdf"}
    assert not any(file.startswith("gauges/") for file in done.written)  # the mount is the same wherever it hangs
    assert "300.00" in pdf_words((done.folder / "templates/West-A.pdf").read_bytes())


def test_another_paper_takes_the_old_tiles_away(tmp_path):
    folder = invented_case(tmp_path, 2)
    result = computed(folder)
    issue_papers(folder, result, ("templates",))
    done = issue_papers(folder, result, ("templates",), paper="tabloid", units="in")
    assert set(done.removed) == {f"templates/West-{face}-tiles-A4.pdf" for face in "AB"}
    assert (done.folder / "templates/West-A-tiles-Tabloid.pdf").exists()
    assert not (done.folder / "templates/West-A-tiles-A4.pdf").exists()


def _case(folder, result, findings=()):
    releases = hole_releases(folder.case, folder.state, result.specs, result.placed, findings)
    return PaperCase(folder.case, folder.rules, folder.state, result.specs, result.placed, findings, Issue(), releases)


def _reasons(folder, result, findings=()):
    panel = template_panel(folder.case.panels[0], _case(folder, result, findings))
    return " ".join(held_reasons(panel.holes))


def test_only_a_measured_and_agreed_case_may_be_drilled(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    result = computed(folder)
    assert _reasons(folder, result) == ""  # thickness, rod and test hole measured; a mock-up needs no finished mount
    panel = template_panel(folder.case.panels[0], _case(folder, result))
    assert all(hole.released for hole in panel.holes)
    for change, word in (({"measured_rods": ()}, "rod 3/16 is not measured"),
                         ({"coupons": ()}, "no test hole of drill 3/16"),
                         ({"mock_up": False}, "post axis is not measured")):
        assert word in _reasons(replace(folder, case=replace(MEASURED, **change)), result)
    for subject in ("object FB-001", "panel West"):  # a stop about the panel holds all that stands on it
        stop = Finding("gap", subject, Verdict.STOP, f"{subject}: too thin")
        assert "too thin" in _reasons(folder, result, (stop,))


def test_void_holes_stay_on_the_sheet_crossed_out(tmp_path):
    folder = invented_case(tmp_path, 2)
    number = folder.state.placements["FB-001"].hole
    folder = say(folder, mark_hole(folder.state, "FB-001", "trial"))
    folder = say(folder, void_hole(folder.state, number, "chipped at the edge"))
    panel = template_panel(folder.case.panels[0], _case(folder, computed(folder)))
    void = [hole for hole in panel.holes if hole.state == "void"]
    assert [hole.number for hole in void] == [number]
    assert "NOT USED" in pdf_words((issue_papers(folder).folder / "templates/West-A.pdf").read_bytes())


def test_a_drilled_hole_is_not_drilled_again_and_prints_as_it_is(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    hole = folder.state.placements["FB-001"].hole
    folder = say(folder, mark_hole(folder.state, "FB-001", "trial"))
    marked = pdf_words((issue_papers(folder, kinds=("drills",)).folder / "drill-list.pdf").read_bytes())
    # planned: 3/16 x 21.5; what was drilled is another hole
    folder = say(folder, drill_hole(folder.state, "FB-001", drill="4.9", depth_mm=26.0, checked_by="second",
                                    person="tester"))
    done = issue_papers(folder, kinds=("drills", "templates", "mounts"))
    drilled = pdf_words((done.folder / "drill-list.pdf").read_bytes())
    assert hole in marked.split() and hole not in drilled.split()
    assert "DRILLED" in pdf_words((done.folder / "templates/West-A.pdf").read_bytes())
    for file in ("templates/West-A.pdf", "templates/West-A-ordinates.pdf", "mounts/FB-001.pdf"):
        words = pdf_words((done.folder / file).read_bytes())
        assert "4.90" in words and "26.0" in words and "21.5" not in words, file
    circles = [c for c in dxf_circles((done.folder / "templates/West-A.dxf").read_bytes()) if abs(c[2] - 4.9) < 1e-6]
    assert [c[3] for c in circles] == ["DRILLED"]


def test_labels_and_install_order_follow_the_case(tmp_path):
    folder = invented_case(tmp_path, 4)
    result = computed(folder)
    labels = labels_of(_case(folder, result))
    assert [label.object_number for label in labels] == ["FB-001", "FB-003", "FB-002", "FB-004"]  # face A, then B
    assert all(label.cut_length_mm == approx(72.0) for label in labels)  # blanks for a mock-up
    case = _case(folder, result)
    plan = plan_order(case.placed, case.case, case.rules)
    steps = install_steps(case, plan)
    assert [step.what for step in steps] == ["mount"] * 4 + ["object"] * 4  # all mounts before the first object
    at = {step.object_number: step.number for step in steps if step.what == "object"}
    assert all(at[first] < at[then] for first, then, _ in plan.before)


def test_an_object_off_its_panel_is_told_not_drawn(tmp_path):
    folder = invented_case(tmp_path, 2)
    small = CaseBrief("x", panels=(PanelBrief("West", 50.0, 2200.0),))
    with pytest.raises(InputError, match=r"object FB-001.*lies outside panel West"):
        template_panel(small.panels[0], _case(folder, computed(folder)))


def test_kinds_and_papers_that_there_are_not_are_refused(printed):
    with pytest.raises(InputError, match="posters: is no kind of paper"):
        check_kinds(["posters"])
    assert check_kinds(()) == EVERY and check_kinds(["labels", "drills"]) == ("drills", "labels")
    with pytest.raises(InputError, match="B5"):
        asked_printing(printed[0], "B5", None)
    with pytest.raises(InputError, match="scaled to fit"):
        asked_printing(printed[0], None, None, 480.0, None)
