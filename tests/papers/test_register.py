"""Papers under control: identities, issues, the register, what a paper in the hand is worth, the change note."""

import csv
import io
import json
import re
import subprocess
import sys
from dataclasses import replace

import ezdxf
import openpyxl
import pypdf
import pytest

from scanprep.case.record.decide import place, reach_stage
from scanprep.case.record.entry import NewEntry
from scanprep.errors import InputError
from scanprep.files.ledger import Ledger
from scanprep.papers.drawing.control import as_identity, control_of, digest_of, find_control
from scanprep.papers.register import Fact, changes_between, read_register, register_text
from scanprep.workspace.executor import SameProcessExecutor
from scanprep.workspace.folder import RECORD
from scanprep.workspace.paper_files import alone, load_register, verify_paper
from scanprep.workspace.papers import asked_printing, write_papers
from tests.papers.cases import agreed, computed, invented_case, say
from tests.papers.reading import pdf_book, pdf_words

KINDS = ("templates", "drills", "labels", "schedule", "rods")


def issue(folder, kinds=KINDS, **asked):
    return write_papers(folder, computed(folder), SameProcessExecutor(), kinds,
                        asked_printing(folder, asked.get("paper"), asked.get("units")), lambda *_: None)


def moved(folder, number, from_left_mm, y_mm):
    return say(folder, place(folder.state, number, folder.case.panels[0], "A", from_left_mm, y_mm))


def contents(root):
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """A case printed, an object moved, printed again; what stood in the folder before and after."""
    folder = agreed(invented_case(tmp_path_factory.mktemp("register"), 3))
    first = issue(folder)
    before = contents(first.folder)
    folder = say(folder, reach_stage(folder.state, "FB-001", "made"))
    after = moved(folder, "FB-001", 300.0, 900.0)
    return {"folder": after, "first": first, "before": before, "second": issue(after),
            "after": contents(first.folder)}


def test_every_file_carries_its_identity_where_its_format_keeps_such_things(story):
    root, register = story["second"].folder, load_register(story["second"].folder)
    for file, paper in register.current.items():
        data, control = (root / file).read_bytes(), paper.last.control
        match file.rsplit(".", 1)[1]:
            case "pdf":
                told = pypdf.PdfReader(io.BytesIO(data), strict=True).metadata["/Keywords"]
            case "dxf":
                told = dict(ezdxf.read(io.StringIO(data.decode())).header.custom_vars.properties)["PAPER"]
            case "svg":
                told = re.search(r"<metadata>(.*?)</metadata>", data.decode())[1]
            case "csv":
                rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
                assert rows and len({row["paper"] for row in rows}) == 1
                told = rows[0]["paper"]
            case "xlsx":
                book = openpyxl.load_workbook(io.BytesIO(data))
                told = book.properties.keywords
                assert all(control.words in sheet.oddFooter.center.text for sheet in book.worksheets)
        assert find_control(told) == control, file
        assert verify_paper(story["folder"], str(root / file)).standing == "current"


def test_every_page_tile_and_label_says_which_issue_it_is(story):
    root, register = story["second"].folder, load_register(story["second"].folder)
    for file, paper in register.current.items():
        if not file.endswith(".pdf"):
            continue
        data, words = (root / file).read_bytes(), paper.last.control.words
        for page in range(len(pdf_book(data).pages)):
            assert words in pdf_words(data, page).replace("\n", " "), (file, page)
    labels = pdf_words((root / "labels.pdf").read_bytes())
    assert labels.count(register.papers["labels.pdf"].last.control.identity) == 2 * 3 + 2  # each label, each page


def test_the_same_identity_is_the_same_bytes_and_nothing_refers_to_itself(story):
    stood = {}
    for files in (story["before"], story["after"]):
        for name, data in files.items():
            control = find_control(data.decode("utf-8", errors="replace"))
            if control is not None and "superseded" not in name:
                assert stood.setdefault((name, control.identity), data) == data, name
    # by the definition: file, issue and the digest of the content give the identity, whoever works it out
    for paper in load_register(story["second"].folder).papers.values():
        for issued in paper.issues:
            control = issued.control
            assert control_of(paper.file, control.issue, issued.digest, control.record) == control
    assert digest_of(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"  # FIPS 180-4


def test_an_issue_number_rises_when_the_content_changes_and_only_then(story):
    register = load_register(story["second"].folder)
    issues = {file: [issued.control.issue for issued in paper.issues] for file, paper in register.papers.items()}
    assert issues["templates/West-A.pdf"] == [1, 2] and issues["drill-list.pdf"] == [1, 2]
    assert issues["templates/West-B.pdf"] == [1]  # the other face


def test_old_issues_are_moved_away_and_what_stands_there_is_current(story):
    root, register = story["second"].folder, load_register(story["second"].folder)
    old = root / "superseded" / "templates" / "West-A-issue-1.pdf"
    assert old.read_bytes() == story["before"]["templates/West-A.pdf"]
    standing = {name for name in contents(root) if not name.startswith("superseded/")} - {"register.json", ".lock"}
    assert standing == set(register.current) and story["second"].strays == ()


def test_a_paper_in_the_hand_is_judged_by_file_or_by_what_is_printed_on_it(story):
    folder, root = story["folder"], story["second"].folder
    old = load_register(root).papers["templates/West-A.pdf"].issues[0]
    found = verify_paper(folder, old.control.identity.lower().replace("-", " "))
    assert (found.standing, found.may_be_used) == ("superseded", False)
    [change] = found.changes
    assert "X 80.00, Y 200.00" in change.was and "X 300.00, Y 900.00" in change.now
    assert verify_paper(folder, str(root / "superseded/templates/West-A-issue-1.pdf")).standing == "superseded"
    assert verify_paper(folder, load_register(root).papers["labels.pdf"].last.control.identity).may_be_used
    assert verify_paper(folder, "0000-0000").standing == "unknown"
    with pytest.raises(InputError, match="no file and no identity"):
        verify_paper(folder, "West-A")
    with pytest.raises(InputError, match="carries no identity"):
        verify_paper(folder, str(root / "register.json"))


def test_a_current_paper_of_a_case_that_has_moved_on_is_not_to_be_used(story):
    identity = load_register(story["second"].folder).papers["drill-list.pdf"].last.control.identity
    later = moved(story["folder"], "FB-003", 400.0, 1200.0)
    found = verify_paper(later, identity)
    assert (found.standing, found.may_be_used) == ("current", False) and found.entries_since > 0


def test_the_change_note_says_what_to_recall_which_hole_and_which_mount(story):
    words = " ".join(pdf_words((story["second"].folder / story["second"].note).read_bytes()).split())
    old = load_register(story["second"].folder).papers["templates/West-A.pdf"].issues[0].control
    assert old.words in words and "1 holes affected" in words
    hole = story["folder"].state.placements["FB-001"].hole
    assert f"hole {hole}" in words
    first = " ".join(pdf_words((story["first"].folder / story["first"].note).read_bytes()).split())
    assert "0 papers to recall" in first


def test_printing_one_kind_keeps_the_others_true(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    issue(folder, ("templates", "labels"))
    done = issue(moved(folder, "FB-001", 300.0, 900.0), ("labels",))
    assert "templates/West-A.pdf" in done.written  # printed before, untrue now
    assert "drill-list.pdf" not in done.written  # never printed
    again = issue(moved(folder, "FB-001", 300.0, 900.0), ("drills",))
    assert again.written == ("drill-list.csv", "drill-list.pdf")


def test_a_paper_that_came_back_to_an_old_content_is_a_new_issue(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    issue(folder, ("templates",))
    issue(folder, ("templates",), units="in")
    done = issue(folder, ("templates",), units="mm")
    issues = load_register(done.folder).papers["templates/West-A-ordinates.pdf"].issues
    assert [issued.control.issue for issued in issues] == [1, 2, 3]
    assert issues[0].digest == issues[2].digest and len({issued.control.identity for issued in issues}) == 3


def test_an_altered_file_is_seen_and_put_right(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    root = issue(folder, ("drills",)).folder
    sound = (root / "drill-list.csv").read_bytes()
    (root / "drill-list.csv").write_bytes(sound.replace(b"80.0", b"81.0"))
    (root / "drill-list-new.csv").write_bytes(sound)
    assert verify_paper(folder, str(root / "drill-list.csv")).standing == "altered"
    done = issue(folder, ("drills",))
    assert done.written == ("drill-list.csv",) and (root / "drill-list.csv").read_bytes() == sound
    assert done.strays == ("drill-list-new.csv",) and done.note == ""  # no new issue of anything


def test_a_run_killed_before_the_register_was_written_is_finished_by_the_next(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    root = issue(folder, ("drills",)).folder
    register = (root / "register.json").read_bytes()
    later = moved(folder, "FB-001", 300.0, 900.0)
    issue(later, ("drills",))
    after = contents(root)
    (root / "register.json").write_bytes(register)  # as a killed run leaves it: files new, register old
    issue(later, ("drills",))
    assert contents(root) == after


def test_one_run_at_a_time_writes_and_none_puts_older_papers_over_newer_ones(tmp_path):
    folder = agreed(invented_case(tmp_path, 2))
    root = folder.root / "papers"
    with alone(root), pytest.raises(InputError, match="another run of `scanprep papers` is writing here"):
        issue(folder, ("drills",))
    assert [path.name for path in root.iterdir()] == [".lock"]
    gone = "import sys, os, sqlite3; c = sqlite3.connect(sys.argv[1]); c.execute('BEGIN EXCLUSIVE'); os._exit(1)"
    subprocess.run([sys.executable, "-c", gone, str(root / ".lock")], check=False)  # a run that was killed
    later = moved(folder, "FB-001", 300.0, 900.0)
    issue(later, ("drills",))
    with Ledger(folder.root / RECORD, create=True) as ledger:  # the invented case has none of its own
        ledger.append([NewEntry("note", None, {"text": "x"})] * later.state.seq, person="Ben")
    after = contents(root)
    with pytest.raises(InputError, match=f"issued from entry {later.state.seq} of the record while"):
        issue(folder, ("drills",))
    assert contents(root) == after


def test_a_register_reads_back_and_a_damaged_one_is_refused_not_overwritten(story, tmp_path):
    register = load_register(story["second"].folder)
    assert read_register(register_text(register)) == register
    root = tmp_path / "papers"
    root.mkdir()
    (root / "register.json").write_text(json.dumps({"schema": 99}))
    with pytest.raises(InputError, match="no register of papers"):
        load_register(root)


def test_facts_are_compared_by_what_they_are_about():
    was = (Fact("hole", "H10", "a"), Fact("hole", "H2", "a"), Fact("mount", "7", "m"))
    now = (Fact("hole", "H2", "b"), Fact("mount", "7", "m"), Fact("hole", "H11", "c"))
    changed = [(c.number, c.was, c.now) for c in changes_between(was, now)]
    assert changed == [("H2", "a", "b"), ("H10", "a", ""), ("H11", "", "c")]  # as people count


@pytest.mark.parametrize(("said", "meant"), [("7k3a-91cd", "7K3A-91CD"), ("7K3A 9ICO", "7K3A-91C0"), ("7K3A", None),
                                             ("7K3A-91CU", None)])
def test_identities_are_read_as_people_type_them(said, meant):
    # Crockford's base 32: i, l read as 1, o as 0; u is no letter of it
    assert as_identity(said) == meant


def test_a_paper_says_where_the_record_ended_and_is_doubted_where_the_record_is_another(story):
    folder, root = story["folder"], story["second"].folder
    paper = load_register(root).papers["templates/West-A.pdf"].last.control
    entry = folder.entries[-1]
    assert paper.record == f"{entry.seq} {entry.hash[:12]}"
    for file in ("templates/West-A.pdf", "drill-list.pdf", "templates/West-overlay-1to1.pdf"):
        words = pdf_words((root / file).read_bytes(), 0).replace("\n", " ")
        assert f"up to entry {entry.seq}, hash {entry.hash[:12]}" in words
    older = replace(folder, entries=folder.entries[:-1])
    found = verify_paper(older, paper.identity)
    assert not found.may_be_used and "not in this case's record" in found.sentences[-1]
    assert verify_paper(folder, paper.identity).may_be_used
