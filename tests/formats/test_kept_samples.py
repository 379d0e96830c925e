"""What older versions wrote is read by this one; what a newer one may write is refused politely."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import jsonschema
import pytest

from scanprep.case.record.history import history
from scanprep.errors import InputError
from scanprep.files.cache import Cache
from scanprep.files.ledger import Ledger
from scanprep.files.records import spec_schema
from scanprep.papers.register import read_register
from scanprep.workspace.batch import KeptOutline
from scanprep.workspace.folder import RECORD, open_case
from scanprep.workspace.logbook import export, import_from
from scanprep.workspace.paper_files import load_register

HERE = Path(__file__).parent


@pytest.fixture
def case(tmp_path):
    shutil.copytree(HERE / "case-1", tmp_path / "case")
    return tmp_path / "case"


def test_an_old_record_says_what_was_said(case):
    before = Ledger(case / RECORD).entries()
    folder = open_case(case)
    state = folder.state
    # as told in the story: weighed 251 g; hole H1 drilled for FB-001, used again by FB-003, abandoned and plugged
    assert state.objects["FB-001"].mass_g == 251.0
    assert (state.hole("H1").state, state.hole("H1").was_drilled, state.hole("H1").later) == (
        "void", True, "plugged with acrylic rod")
    # FB-002 stood on East and was withdrawn, which gave up its place; showing it again was taken back
    assert any("East B" in line.sentence for line in history(folder.entries, "FB-002", "mm"))
    assert "FB-002" not in state.placements
    assert state.life("FB-001").whereabouts == "removed" and "FB-002" in state.withdrawn
    assert state.measured[("sheet", "West")] and state.open_session is None and state.signed_off is None
    told = history(folder.entries, "FB-001", "mm")
    assert any(line.sentence.startswith("noted its condition: a chip at the rim") for line in told)
    # opening takes on record what this version's rules say otherwise, behind everything that was there
    assert folder.entries[:len(before)] == before
    assert {entry.kind for entry in folder.entries[len(before):]} <= {"inputs"}


def test_an_old_record_travels_as_lines_into_a_new_case(case, tmp_path):
    count = export(case, tmp_path / "lines.jsonl")
    other = tmp_path / "other"
    other.mkdir()
    shutil.copy(case / "case.toml", other)
    assert import_from(open_case(other, take=False), tmp_path / "lines.jsonl") == count
    assert open_case(other).state.placements == open_case(case).state.placements


def test_an_old_specification_fits_the_published_schema():
    jsonschema.validate(json.loads((HERE / "spec-1.json").read_text(encoding="utf-8")), spec_schema(2))


def test_an_old_register_and_cache_are_read(tmp_path):
    register = read_register((HERE / "register-1.json").read_text(encoding="utf-8"))
    paper = register.current["drill-list.pdf"].last
    assert (paper.control.record, paper.facts[0].number) == ("12 7f3a91cd5e60", "H1")
    for older in ("cache-1", "cache-2"):
        kept = Cache(HERE / older).load("outline", "sample", KeptOutline)
        assert kept is None or kept.rings_mm[0].tolist() == [[0, 0], [10, 0], [0, 5]]  # or dropped, and computed anew


def test_a_newer_record_is_refused_politely(case):
    with closing(sqlite3.connect(case / RECORD)) as db:
        db.execute("PRAGMA user_version = 2")
    for take in (True, False):
        with pytest.raises(InputError, match=r"is a record of format 2; we read 1. Use the version"):
            open_case(case, take=take)


def test_a_newer_register_is_refused_politely(tmp_path):
    newer = json.loads((HERE / "register-1.json").read_text(encoding="utf-8")) | {"schema": 2}
    (tmp_path / "register.json").write_text(json.dumps(newer), encoding="utf-8")
    with pytest.raises(InputError, match="schema must be 1"):
        load_register(tmp_path)


def test_a_newer_cache_is_computed_anew(tmp_path):
    shutil.copytree(HERE / "cache-2", tmp_path / "cache")
    path = tmp_path / "cache" / "outline" / "sample.zip"
    path.write_bytes(path.read_bytes()[:200])
    assert Cache(tmp_path / "cache").load("outline", "sample", KeptOutline) is None
