"""Six months of one case, told through the commands: intake, choices, mounts, two reviews, sign-off, drilling, a late
change, a void hole, and the template printed anew. The studies behind it are an invented case's.
"""

from types import SimpleNamespace

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.case.lists.schedule_rows import check_case
from scanprep.case.placed import FacePosition
from scanprep.case.release import hole_releases
from scanprep.errors import RecordError
from scanprep.files.ledger import Ledger
from scanprep.files.new_case import case_template
from scanprep.papers.drawing.page import Issue
from scanprep.papers.paper_case import PaperCase, template_panel
from scanprep.workspace import decisions, wall
from scanprep.workspace.folder import RECORD, open_case
from tests.case.cases import an_object, box

NUMBERS = ("1", "2", "3", "4")
SOLIDS = {number: an_object(number, box()) for number in NUMBERS}


def placed_of(folder):
    items = []
    for number, item in SOLIDS.items():
        at = folder.state.placements.get(number)
        stand = None if at is None or at.hole is None else FacePosition(at.panel, at.face, at.anchor_from_left_mm,
                                                                        at.anchor_y_mm)
        items.append(item.moved_to(stand) if stand is None else _as_recorded(item.moved_to(stand), at))
    return tuple(items)


def _as_recorded(item, at):
    from dataclasses import replace

    return replace(item, hole_number=at.hole, hole_state=at.state, locked=at.locked)


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setattr(wall, "compute_case", lambda folder, *_: SimpleNamespace(placed=placed_of(folder), specs={},
                                                                                 failures={}))
    monkeypatch.setattr(decisions, "planned_now", lambda folder, number: (SimpleNamespace(study=SimpleNamespace(
        holds=SimpleNamespace(holds=(SOLIDS[number].hold,)), survey=None, scan=None)), None))
    monkeypatch.setattr(decisions, "kept_values", lambda *_: None)
    monkeypatch.setattr(decisions, "made_now", lambda *_: None)
    (tmp_path / "case.toml").write_text(case_template("Six months"), encoding="utf-8")

    def run(command, *words, by="mountmaker", code=0):
        done = CliRunner().invoke(app, [command, str(tmp_path), *map(str, words), *(["--person", by] if by else [])])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert done.exit_code == code, done.output
        return done.stdout

    run.root = tmp_path
    return run


def template(root):
    folder = open_case(root)
    placed = placed_of(folder)
    findings = check_case(placed, folder.case, folder.state, folder.rules)
    releases = hole_releases(folder.case, folder.state, {}, placed, findings)
    case = PaperCase(folder.case, folder.rules, folder.state, {}, placed, findings, Issue(folder.case.title), releases)
    return {hole.number: hole for hole in template_panel(folder.case.panels[0], case).holes}


def checklist(root, name, *lines):
    path = root / name
    path.write_text("\n".join(["number,title,panel,face,from left,y", *lines]) + "\n", encoding="utf-8")
    return path


def test_six_months(run):
    root = run.root
    # January: intake; one object comes without a place; holds are chosen
    run("intake", checklist(root, "january.csv", "1,bowl,West,A,200 mm,900 mm", "2,cup,West,A,247 mm,900 mm",
                            "3,jar,West,B,300 mm,1200 mm", "4,seal,,,,"))
    for number in NUMBERS:
        run("choose", number, 1, by="curator")
        run("agree", number, "contacts", by="conservator")
    # February: first review; a nudge parts 1 and 2, the seal gets a place
    run("session", "open", "--title", "paper outlines", by="designer")
    run("nudge", "--take", "--workers", 0, by="designer")
    run("arrange", "--take", 1, "--workers", 0, by="designer")
    run("session", "close", by="designer")
    # March: mounts made, fitted, measured
    for number, dx in zip(NUMBERS, ("1mm", "-2mm", "0.5mm", "0mm")):
        run("made", number)
        run("made", number, "fitted")
        run("made", number, "measured", "--dx", dx, "--dy", "0mm", "--angle", "1")
        run("agree", number, "angle", by="curator")
    place = open_case(root).state.placements["1"]
    assert place.anchor_from_left_mm == place.from_left_mm + 1.0
    # April: second review at the mock-up; the holes are marked, then one object moves after all
    run("session", "open", "--title", "mock-up", by="designer")
    for number in NUMBERS:
        run("made", number, "marked")
    was = template(root)["H3"]
    run("place", 3, "--panel", "West", "--face", "B", "--from-left", "340mm", "--y", "1200mm", "--reason",
        "too near the edge",
        by="designer")
    run("made", 3, "marked")
    run("session", "close", by="designer")
    holes = template(root)
    assert (holes["H3"].state, holes["H3"].from_left_mm, holes["H3"].was_drilled) == ("void", was.from_left_mm, False)
    moved = open_case(root).state.placements["3"].hole
    assert (holes[moved].state, holes[moved].from_left_mm) == ("marked", 340.5)  # the finished mount's 0.5 mm included
    # May: sign-off, half of the holes drilled
    run("signoff", "--reason", "sheet is measured at delivery", "--workers", 0, by="curator")
    for number in ("1", "2"):
        run("drilled", number, "--drill", "4.7", "--depth", "21.5mm", "--checked-by", "checker", by="driller")
    with pytest.raises(RecordError, match="needs a reason"):
        run("place", 4, "--panel", "West", "--face", "A", "--x", "500mm", "--y", "1500mm")
    # June: a late change. A drilled hole is not moved: it is given up, and the object gets another
    with pytest.raises(RecordError, match="cannot be moved"):
        run("place", 2, "--panel", "West", "--face", "A", "--x", "420mm", "--y", "900mm", "--reason", "lamp moved")
    old = open_case(root).state.placements["2"].hole
    run("void", old, "--reason", "lamp moved")
    run("place", 2, "--panel", "West", "--face", "A", "--x", "420mm", "--y", "900mm", "--reason", "lamp moved")
    # the template is issued anew: drilled, marked, planned and crossed-out holes, each once
    holes = template(root)
    new = open_case(root).state.placements["2"].hole
    assert {n: h.state for n, h in holes.items()} == {
        "H1": "drilled", "H2": "void", "H3": "void", "H4": "marked", moved: "marked", new: "planned"}
    assert (old, holes[old].was_drilled, holes[new].from_left_mm) == (
        "H2", True, 418.0)  # its mount lies 2 mm left of plan
    # the book tells it all, in order, and the chain holds
    told = run("history", 2, by=None)
    for words in ("took its line from the checklist (cup)", "agreed to its contacts", "drilled hole H2 with 4.7 mm",
                  "abandoned hole H2: lamp moved", f"hole {new}; hole H2 is abandoned: lamp moved"):
        assert words in told, words
    with Ledger(root / RECORD) as ledger:
        assert ledger.verify() == ()
