"""Arrange, nudge, try, faces and order through the commands; the studies behind them are an invented case's."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.case.placed import FacePosition
from scanprep.errors import InputError, RecordError
from scanprep.files.new_case import case_template
from scanprep.workspace import wall
from scanprep.workspace.folder import open_case
from tests.case.cases import an_object, box

SOLIDS = {number: an_object(number, box(), group="g") for number in ("1", "2", "3", "4")}


def invented(folder, _executor, _tell):
    """Stands in for reading and studying scans: boxes on posts, placed where the record says."""
    placed = []
    for number, item in SOLIDS.items():
        at = folder.state.placements.get(number)
        stand = None if at is None else FacePosition(at.panel, at.face, at.anchor_from_left_mm, at.anchor_y_mm)
        placed.append(item.moved_to(stand))
    return SimpleNamespace(placed=tuple(placed), specs={}, failures={})


@pytest.fixture
def case(tmp_path, monkeypatch):
    monkeypatch.setenv("SCANPREP_PERSON", "designer")
    monkeypatch.setattr(wall, "compute_case", invented)
    (tmp_path / "case.toml").write_text(case_template("Trial"), encoding="utf-8")
    lines = ["number,title,panel,face,x,y", "1,a,West,A,200 mm,900 mm", "2,b,West,A,247 mm,900 mm", "3,c,,,,",
             "4,d,,,,"]
    (tmp_path / "list.csv").write_text("\n".join(lines))

    def run(command, *words, code=0):
        done = CliRunner().invoke(app, [command, str(tmp_path), *map(str, words)])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert done.exit_code == code, done.output
        return done.stdout

    run("intake", tmp_path / "list.csv")
    run.root = tmp_path
    return run


def test_arrange_proposes_and_takes(case):
    told = case("arrange", "--workers", 0)
    assert "bricks" in told and "open rows" in told
    assert set(open_case(case.root).state.placements) == {"1", "2"}  # nothing taken yet
    case("arrange", "--take", 1, "--workers", 0)
    state = open_case(case.root).state
    assert set(state.placements) == {"1", "2", "3", "4"}
    assert [h.number for h in state.holes] == ["H1", "H2", "H3", "H4"]
    places = state.placements  # what stood stays
    assert (places["1"].from_left_mm, places["2"].from_left_mm) == (200.0, 247.0)
    case("arrange", "--take", 9, "--workers", 0, code=2)


def test_nudge_tells_and_takes(case):
    found = json.loads(case("nudge", "--workers", 0, "--json"))
    assert found["cleared"] == 1
    assert found["total_mm"] == pytest.approx(8.0, abs=0.1)  # 40 mm boxes 47 mm apart, 15 mm wanted
    assert open_case(case.root).state.placements["2"].from_left_mm == 247.0
    case("nudge", "--take", "--workers", 0)
    places = open_case(case.root).state.placements
    assert places["2"].from_left_mm - places["1"].from_left_mm == pytest.approx(55.0, abs=0.1)
    assert "0 moves" in case("nudge", "--workers", 0)


def test_tries_are_kept_beside_the_record_and_compared(case):
    before = open_case(case.root).state.seq
    told = case("try", "wider", "--move", "2=West,A,300mm,900mm", "--move", "3=West,B,100mm,900mm", "--workers", 0)
    assert "only in record: 2" in told
    told = case("try", "closer", "--move", "2=West,A,260mm,900mm", "--against", "wider", "--workers", 0)
    assert "wider" in told.splitlines()[0]
    assert open_case(case.root).state.seq == before
    with pytest.raises(InputError, match="is no try of this case"):
        case("try", "unheard-of", "--workers", 0)
    with pytest.raises(InputError, match="cannot be the name"):
        case("try", "../out", "--move", "2=off", "--workers", 0)
    case("try", "wrong", "--move", "2=West,C,300mm,900mm", code=2)
    case("try", "wider", "--take", "--workers", 0)
    assert open_case(case.root).state.placements["3"].face == "B"


def test_a_try_tells_faces_and_takes_objects_off(case):
    told = case("try", "turned", "--move", "1=West,B,200mm,900mm", "--move", "2=off", "--workers", 0)
    assert "turned: object 1: from face A to face B of West, to X 200.0, Y 900.0; on the same axis" in told
    assert "turned: object 2: off West A" in told
    drawn = json.loads(case("faces", "--try", "turned", "--workers", 0, "--json"))
    assert [Path(path).name for path in drawn["pictures"]] == ["West-A.svg", "West-B.svg"]  # A is left empty
    case("try", "turned", "--take", "--workers", 0)
    places = open_case(case.root).state.placements
    assert set(places) == {"1"}
    assert places["1"].face == "B"


def test_a_try_that_the_record_would_refuse_says_so_and_is_refused(case):
    case("lock", 2)
    with pytest.raises(RecordError, match="locked"):
        case("try", "wider", "--move", "2=West,A,300mm,900mm", "--take", "--workers", 0)


def test_order_prints_posts_first(case):
    lines = case("order", "--workers", 0, "--out", case.root / "order.txt").splitlines()
    assert lines[0] == "-- face A: posts with their mounts"
    assert lines[3] == "-- face A: objects"
    assert (case.root / "order.txt").read_text().splitlines() == lines
    assert case("order", "--remove", 1, "--workers", 0) == "before object 1 can come out: nothing must be out\n"


def test_signing_off_over_stops_needs_a_reason(case):
    with pytest.raises(RecordError, match="findings say stop"):
        case("signoff", "--workers", 0)
    assert "signed the case off" in case("signoff", "--reason", "the curator wants them so", "--workers", 0)
    with pytest.raises(RecordError, match="was signed off by designer"):
        case("place", 3, "--panel", "West", "--face", "A", "--x", "500mm", "--y", "900mm")
    case("signoff", "--lift", "--reason", "lamp moved")


def test_faces_are_told_in_figures_and_drawn(case):
    told = json.loads(case("faces", "--workers", 0, "--json"))
    assert sum(face["objects"] for face in told["faces"]) >= 1
    for path in told["pictures"]:
        text = Path(path).read_text(encoding="utf-8")
        assert text.startswith("<svg") and "as its own viewer sees it" in text
    assert "covered" in case("faces", "--workers", 0).splitlines()[0]


def test_a_try_is_drawn_beside_the_record(case):
    case("try", "higher", "--move", "1=West,A,200mm,1500mm", "--workers", 0)
    told = json.loads(case("faces", "--try", "higher", "--workers", 0, "--json"))
    assert all(Path(path).parent.name == "higher" for path in told["pictures"])


def test_arrange_says_when_nothing_is_left_to_place(case):
    case("arrange", "--take", 1, "--workers", 0)
    assert "every object has its place" in case("arrange", "--workers", 0)


def test_intake_tells_which_columns_it_left_aside(case):
    (case.root / "more.csv").write_text("number,title,Lender,materal\n1,a,X,bronze\n")
    told = case("intake", case.root / "more.csv", "--dry-run")
    assert "left     column 'Lender' was not read\n" in told
    assert "left     column 'materal' was not read; is it material?\n" in told  # one letter short, by eye
    found = json.loads(case("intake", case.root / "more.csv", "--dry-run", "--json"))
    assert len(found["left_aside"]) == 2


def test_a_comparison_with_no_such_try_keeps_nothing(case):
    with pytest.raises(InputError, match="nowhere: is no try of this case"):
        case("try", "higher", "--move", "1=West,A,200mm,1500mm", "--against", "nowhere", "--workers", 0)
    assert not (case.root / "tries").exists()


def test_less_than_no_process_is_refused(case):
    case("arrange", "--workers", -1, code=2)


@pytest.mark.parametrize("stands", [{"77": None}, {"1": {"panel": "Gone", "face": "A", "from_left_mm": 1.0,
                                                         "y_mm": 2.0}}])
def test_a_try_of_another_case_is_told(case, stands):
    (case.root / "tries").mkdir()
    (case.root / "tries" / "old.json").write_text(json.dumps({"entry": 1, "stands": stands}))
    with pytest.raises(InputError, match="which this case does not have"):
        case("faces", "--try", "old", "--workers", 0)
