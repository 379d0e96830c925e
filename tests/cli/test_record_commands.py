"""The record commands on a case without scans: what is said comes back, what is refused stays unsaid."""

import json

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.errors import InputError, RecordError
from scanprep.files.new_case import case_template
from scanprep.workspace.folder import open_case


class Case:
    """A case folder and the commands on it."""

    def __init__(self, root):
        self.root = root

    def __call__(self, command, *words, code=0):
        done = CliRunner().invoke(app, [command, str(self.root), *map(str, words)])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert done.exit_code == code, done.output
        return done.output

    @property
    def state(self):
        return open_case(self.root).state


@pytest.fixture
def case(tmp_path, monkeypatch):
    monkeypatch.setenv("SCANPREP_PERSON", "mountmaker")
    (tmp_path / "case.toml").write_text(case_template("Trial"), encoding="utf-8")
    (tmp_path / "list.csv").write_text("number,title,panel,face,x,y\n1,bowl,West,A,210 mm,900 mm\n2,cup,,,,\n")
    made = Case(tmp_path)
    made("intake", tmp_path / "list.csv")
    return made


def test_a_mount_s_life_through_the_commands(case):
    case("session", "open", "--title", "first review", "--with", "curator", "--with", "designer")
    case("made", 1, "fitted", "--reason", "a trial mount")
    told = case("made", 1, "measured", "--dx", "2.5mm", "--dy", "-1mm", "--angle", "1.5")
    assert "post 2.5 mm right, 1.0 mm lower than planned, mark turned 1.5 deg" in told
    case("made", 1, "marked")
    case("drilled", 1, "--drill", "4.7 mm", "--depth", "21.5mm", "--checked-by", "checker")
    case("session", "close")
    place = case.state.placements["1"]
    assert (place.state, place.hole, place.anchor_from_left_mm, place.anchor_y_mm) == ("drilled", "H1", 212.5, 899.0)
    assert case.state.hole("H1").drill == "4.7 mm"
    with pytest.raises(RecordError, match="cannot be moved"):
        case("place", 1, "--panel", "West", "--face", "A", "--x", "300mm", "--y", "900mm")
    case("void", "H1", "--reason", "chipped")
    case("place", 1, "--panel", "West", "--face", "A", "--x", "300mm", "--y", "900mm")
    assert case.state.placements["1"].hole == "H2"
    assert "first review" in case("session")


def test_history_reads_like_a_logbook(case):
    case("place", 1, "--panel", "West", "--face", "A", "--x", "245mm", "--y", "890mm", "--reason", "clears the jug")
    lines = case("history", 1).splitlines()
    assert "mountmaker: took its line from the checklist (bowl)" in lines[0]
    assert "placed on West A, X 210.0 mm, Y 900.0 mm, hole H1 (from the checklist)" in lines[1]
    assert lines[2].endswith("moved 35.0 mm right and 10.0 mm down, to West A, X 245.0 mm, Y 890.0 mm, hole H1: clears "
                             "the jug")
    case("undo", case.state.seq)
    lines = case("history", 1).splitlines()
    assert lines[2].endswith("[taken back]")
    assert "took entry 5 back" in lines[3]
    assert case.state.placements["1"].from_left_mm == 210.0


def test_condition_photos_agreements_and_locks(case):
    (case.root / "photos").mkdir()
    (case.root / "photos" / "rim.jpg").write_bytes(b"jpg")
    case("condition", 1, "hairline at rim", "--photo", case.root / "photos" / "rim.jpg", "--occasion", "before")
    with pytest.raises(InputError, match="is not there"):
        case("condition", 1, "rim", "--photo", case.root / "none.jpg")
    case("agree", 1, "place", "--person", "curator")
    case("lock", 1)
    life = case.state.life("1")
    assert life.conditions[0].photos == ("photos/rim.jpg",)
    assert life.agreed("place").person == "curator"
    with pytest.raises(RecordError, match="locked"):
        case("place", 1, "--panel", "West", "--face", "A", "--x", "300mm", "--y", "900mm")
    case("lock", 1, "--off")
    with pytest.raises(RecordError, match="no mount on record"):
        case("condition", 1, "opened it", "--opened")


def test_the_record_can_be_checked_and_copied(case, tmp_path):
    assert "entries, every one in its place" in case("record", "verify")
    lines = tmp_path / "copy.jsonl"
    case("record", "export", lines)
    other = tmp_path / "other"
    other.mkdir()
    (other / "case.toml").write_text(case_template("Copy"), encoding="utf-8")
    assert "4 entries taken" in Case(other)("record", "import", lines)
    assert Case(other).state.placements == case.state.placements
    case("record", "import", code=2)
    lines.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="cannot be read as text"):
        case("record", "import", lines)


def test_json_says_what_was_recorded(case):
    (line,) = json.loads(case("lock", 1, "--json"))["recorded"]
    assert (line["person"], line["sentence"]) == ("mountmaker", "locked it where it stands")
    assert len(json.loads(case("history", 1, "--json"))["history"]) == 3


def test_wrong_words_are_wrong_usage(case):
    case("session", "pause", code=2)
    case("made", 1, "measured", "--dx", "1mm", code=2)
    case("made", 1, "measured", "--dx", "1", "--dy", "1mm", "--angle", "0", code=2)
    with pytest.raises(InputError, match="is not in this case"):
        case("history", 9)


def test_what_cannot_be_so_is_refused_and_stays_unsaid(case):
    case("made", 1, "fitted", "--reason", "a trial")
    before = case.state.seq
    with pytest.raises(RecordError, match="'C' is no face of a panel: write A or B"):
        case("place", 1, "--panel", "West", "--face", "C", "--x", "300mm", "--y", "900mm")
    case("made", 1, "--dx", "1mm", code=2)
    with pytest.raises(RecordError, match="1000 mm right and 2 mm above its plan is far off"):
        case("made", 1, "measured", "--dx", "1m", "--dy", "2mm", "--angle", "0")
    with pytest.raises(RecordError, match="from -180 to 180"):
        case("made", 1, "measured", "--dx", "1mm", "--dy", "2mm", "--angle", "720")
    assert case.state.seq == before


def test_a_hole_has_a_depth_within_its_sheet_and_two_people(case):
    case("made", 1, "marked", "--reason", "a trial")
    before = case.state.seq
    for depth in ("-15mm", "0mm", "33.5mm"):  # 30 mm cast sheet is at most 33.4 mm thick (ISO 7823-1)
        with pytest.raises(RecordError, match=r"above 0 and at most 33.4 mm, the sheet at its thickest"):
            case("drilled", 1, "--drill", "4.7", "--depth", depth, "--checked-by", "checker")
    with pytest.raises(RecordError, match="two people sign"):
        case("drilled", 1, "--drill", "4.7", "--depth", "20mm", "--checked-by", "Mountmaker ")
    assert case.state.seq == before


def test_a_face_may_be_written_small(case):
    case("place", 2, "--panel", "West", "--face", "b", "--x", "300mm", "--y", "900mm")
    assert case.state.placements["2"].face == "B"


def test_what_holds_a_post_is_chosen_and_read_back(case):
    assert "held by line 0.16 mm" in case("retain", 1, "line 0.16 mm")
    assert case.state.retention("1") == "line 0.16 mm"
    assert "held by line 0.16 mm" in case("history", 1)
    with pytest.raises(RecordError, match="nothing to prove yet"):
        case("proof", 1, "--pull", "12N", "--twist", "20 N mm")
