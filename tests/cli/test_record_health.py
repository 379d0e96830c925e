"""A record is the one its case had, whole, or it is refused; what can be saved is saved, and copies can be joined."""

import errno
import json
import os
import shutil
import sqlite3
from contextlib import closing

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.case.record.entry import NewEntry
from scanprep.errors import InputError, RecordError, UnreadableRecordError
from scanprep.files.ledger import ChangedUnderneathError, Ledger
from scanprep.files.new_case import case_template
from scanprep.files.record_health import note_head
from scanprep.workspace.folder import RECORD, open_case
from scanprep.workspace.logbook import export, import_from, merge_from, repair_record, rotate_exports, verify


def note(number, text="seen"):
    return NewEntry("condition", number, {"text": text})


def say(root, command, *words, code=0):
    done = CliRunner().invoke(app, [command, str(root), *map(str, words)])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done.output


@pytest.fixture
def root(tmp_path, monkeypatch):
    """A case of three objects with a few decisions on record."""
    monkeypatch.setenv("SCANPREP_PERSON", "mountmaker")
    root = tmp_path / "case"
    root.mkdir()
    (root / "case.toml").write_text(case_template("Trial"), encoding="utf-8")
    (tmp_path / "list.csv").write_text("number,title,panel,face,x,y\n1,bowl,West,A,210 mm,900 mm\n2,cup,,,,\n"
                                       "3,jug,,,,\n")
    say(root, "intake", tmp_path / "list.csv")
    for number in ("1", "2", "3"):
        say(root, "condition", number, "sound")
    return root


def damage(root, *statements):
    with closing(sqlite3.connect(root / RECORD)) as db:
        for trigger in ("entries_never_change", "entries_never_go"):
            db.execute(f"DROP TRIGGER {trigger}")
        for statement in statements:
            db.execute(statement)
        db.commit()


def gone(root):
    for ending in ("", "-wal", "-shm"):
        (root / f"{RECORD}{ending}").unlink(missing_ok=True)


def test_a_sound_record_opens_and_verifies(root):
    assert verify(root) == (open_case(root).state.seq, ())


@pytest.mark.parametrize("how", ["missing", "empty"])
def test_a_missing_or_empty_record_is_no_fresh_one(root, how):
    gone(root)
    if how == "empty":
        (root / RECORD).touch()
    with pytest.raises(UnreadableRecordError, match="H1"):
        open_case(root)
    (root / "record.head").unlink()  # the checklists that were taken in tell as much
    with pytest.raises(UnreadableRecordError, match="has checklists already"):
        open_case(root)


def test_a_new_case_needs_no_record(tmp_path):
    (tmp_path / "case.toml").write_text(case_template("Trial"), encoding="utf-8")
    assert open_case(tmp_path).entries


def test_another_case_s_record_is_refused(root, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (other / "case.toml").write_text(case_template("Other"), encoding="utf-8")
    open_case(other)
    gone(root)
    shutil.copy(other / RECORD, root / RECORD)
    with pytest.raises(UnreadableRecordError, match="another case"):
        open_case(root)


def test_a_cut_off_tail_is_missed(root):
    last = open_case(root).state.seq
    damage(root, f"DELETE FROM entries WHERE seq > {last - 2}")
    with pytest.raises(UnreadableRecordError, match=f"the last 2 of {last} entries"):
        open_case(root)
    assert "the last 2" in verify(root)[1][0]


def test_an_edited_row_is_used_by_nobody(root):
    damage(root, "UPDATE entries SET person = 'nobody' WHERE seq = 3")
    with pytest.raises(UnreadableRecordError, match="entry 3 was changed"):
        open_case(root)
    assert "entry 3" in say(root, "record", "verify", code=3)


def test_repair_saves_the_sound_beginning_and_names_the_rest(root):
    last = open_case(root).state.seq
    damage(root, f"UPDATE entries SET reason = 'x' WHERE seq = {last - 1}")
    told = say(root, "record", "repair")
    assert f"{last - 2} entries saved" in told and f"entry {last - 1} was changed" in told
    assert f"entries {last - 1} to {last} are in no file" in told
    assert (root / "record.damaged-1").exists()
    assert open_case(root).state.seq == last - 2
    with pytest.raises(RecordError, match="sound"):
        repair_record(root)


def test_repair_takes_the_rest_from_an_export(root):
    case = open_case(root)
    kept = rotate_exports(case)
    assert kept is not None and rotate_exports(case) is None
    damage(root, "UPDATE entries SET reason = 'x' WHERE seq = 2")
    done = repair_record(root)
    assert done.saved == case.state.seq
    assert open_case(root).entries == case.entries


def test_a_record_that_is_no_database_is_repaired_from_its_export(root):
    case = open_case(root)
    rotate_exports(case)
    (root / RECORD).write_bytes(b"not a database at all" * 100)
    assert repair_record(root).saved == case.state.seq
    assert open_case(root).entries == case.entries


def test_nothing_to_save_is_said(root):
    (root / RECORD).write_bytes(b"not a database at all" * 100)
    with pytest.raises(RecordError, match="nothing of it can be read"):
        repair_record(root)


def exported(root, tmp_path, name="export.jsonl"):
    export(root, tmp_path / name)
    return tmp_path / name


def fresh_copy(root, tmp_path):
    empty = tmp_path / "empty"
    empty.mkdir()
    shutil.copy(root / "case.toml", empty / "case.toml")
    return empty


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (lambda e: e.update(kind="hologram"), "make sense"),
        (lambda e: e.update(payload=None), "another type"),
        (lambda e: e.update(person=None), "another type"),
        (lambda e: e.update(session=True), "another type"),
        (lambda e: e.update(object=7), "another type"),
        (lambda e: e.update(time="yesterday"), "no time"),
        (lambda e: e.update(seq=2**70), "no entry number"),
        (lambda e: e.update(payload={"from_left_mm": "far"}), "make sense"),
    ],
)
def test_an_import_is_folded_whole_before_anything_is_taken(root, tmp_path, change, problem):
    # an entry of odd content whose hashes are all right: written by a program, not by an accident
    from scanprep.files.ledger import entry_hash, payload_text

    lines = [json.loads(line) for line in exported(root, tmp_path).read_text().splitlines()]
    last = {**lines[-1], "seq": lines[-1]["seq"] + 1, "previous_hash": lines[-1]["hash"], "kind": "placed",
            "object": "1", "payload": {"panel": "West", "face": "A", "from_left_mm": 1.0, "y_mm": 2.0}}
    change(last)
    try:
        last["hash"] = entry_hash(last["seq"], last["time"], last["person"], last["session"], last["kind"],
                                  last["object"], payload_text(last["payload"]), last["reason"], last["previous_hash"])
    except TypeError:
        last["hash"] = "0" * 64
    odd = tmp_path / "odd.jsonl"
    odd.write_text("\n".join(json.dumps(line) for line in [*lines, last]))
    before = open_case(root).state.seq
    with pytest.raises(InputError, match=problem):
        import_from(open_case(root), odd)
    assert open_case(root).state.seq == before


def test_decisions_about_different_objects_never_collide(root):
    mine, yours = open_case(root), open_case(root)
    yours.say([note("2")], "conservator")
    after = mine.say([note("1")], "mountmaker")  # based on the state before
    assert [entry.object for entry in after.entries[-2:]] == ["2", "1"]
    with pytest.raises(ChangedUnderneathError, match="conservator"):
        mine.say([note("2", "again")], "mountmaker")


def test_two_copies_that_went_their_own_ways_are_joined(root, tmp_path):
    shutil.copytree(root, tmp_path / "away")
    open_case(tmp_path / "away").say([note("2", "a chip at the rim")], "conservator")
    open_case(tmp_path / "away").say([note("1", "dusty")], "conservator")
    open_case(root).say([note("1", "cleaned")], "mountmaker")
    before = open_case(root).state.seq
    merged = merge_from(open_case(root), exported(tmp_path / "away", tmp_path), "registrar")
    assert merged.taken == 1 and len(merged.left) == 1
    assert "conservator: condition 1" in merged.left[0]
    last = open_case(root).entries[-1]
    assert (open_case(root).state.seq, last.object, last.payload["text"]) == (before + 1, "2", "a chip at the rim")
    assert "merged: conservator" in last.reason


def test_a_stranger_s_record_is_not_merged(root, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (other / "case.toml").write_text(case_template("Other"), encoding="utf-8")
    open_case(other)
    with pytest.raises(InputError, match="no copy of this record"):
        merge_from(open_case(root), exported(other, tmp_path), "registrar")


def test_a_case_on_a_read_only_disk_is_read(root, monkeypatch):
    case = open_case(root)
    content = (root / RECORD).read_bytes()
    (root / "record.head").write_bytes((root / "record.head").read_bytes())
    # whoever runs the tests may be root, for whom no folder is read-only: the question is answered instead
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    with monkeypatch.context() as still:
        still.setattr(Ledger, "append", None)
        again = open_case(root)
    assert again.entries == case.entries and again.state.seq == case.state.seq
    assert (root / RECORD).read_bytes() == content and not (root / f"{RECORD}-wal").exists()


def test_half_a_letter_is_refused_and_nothing_written(root, tmp_path):
    case = open_case(root)
    with pytest.raises(RecordError, match="broken from another encoding"):
        case.say([note("1", "caf\udce9")], "mountmaker")  # as Python hands on a byte that is no letter
    lines = exported(root, tmp_path).read_text(encoding="utf-8").replace('"sound"', '"\\ud800"', 1)
    (tmp_path / "odd.jsonl").write_text(lines, encoding="utf-8")
    with pytest.raises(InputError, match="is not an entry of a record"):
        import_from(case, tmp_path / "odd.jsonl")
    assert open_case(root).state.seq == case.state.seq


def test_another_case_s_file_is_refused(root, tmp_path):
    for name, identity in (("mine", "a1"), ("yours", "b2")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "case.toml").write_text(case_template(name, identity=identity), encoding="utf-8")
        open_case(tmp_path / name)
    mine, yours = tmp_path / "mine", tmp_path / "yours"
    kept = (mine / "case.toml").read_bytes()
    shutil.copy(yours / "case.toml", mine / "case.toml")
    with pytest.raises(UnreadableRecordError, match=r"is that of case b2.*record is that of case a1"):
        open_case(mine)
    (mine / "case.toml").write_text(case_template("no id"), encoding="utf-8")
    with pytest.raises(UnreadableRecordError, match=r'says no id.*write the line id = "a1"'):
        open_case(mine)
    (mine / "case.toml").write_bytes(kept)
    assert len(open_case(mine).entries) == 1
    # a record taken from another case's export is refused before anything is written
    gone(yours)
    (yours / "record.head").unlink()
    with pytest.raises(UnreadableRecordError, match="record is that of case a1"):
        import_from(open_case(yours, take=False), exported(mine, tmp_path))
    assert open_case(yours, take=False).entries == ()


def test_an_older_case_takes_the_id_that_its_file_is_given(root):
    text = (root / "case.toml").read_text(encoding="utf-8")
    (root / "case.toml").write_text(f'id = "c3"\n{text}', encoding="utf-8")
    assert open_case(root).state.inputs["case_id"] == "c3"
    (root / "case.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableRecordError, match="says no id"):
        open_case(root)


def test_entries_of_a_newer_version_are_read_and_carried_and_used_by_nobody(root, tmp_path):
    with Ledger(root / RECORD) as ledger:
        ledger.append([NewEntry("hologram", "1", {"shade": "blue"}, "as agreed")], person="curator")
        note_head(root, ledger.entries())
    with pytest.raises(UnreadableRecordError, match="'hologram', which this version does not know"):
        open_case(root)
    assert "curator: said something of a newer version (hologram): as agreed" in say(root, "history", "1")
    assert "every one in its place" in say(root, "record", "verify")
    say(root, "record", "export", tmp_path / "out.jsonl")
    last = json.loads((tmp_path / "out.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert (last["kind"], last["payload"]) == ("hologram", {"shade": "blue"})


def test_whoever_writes_while_a_case_is_opened_cuts_nothing_off(root, monkeypatch):
    read = Ledger.entries

    def overtaken(self, *which, **named):
        found = read(self, *which, **named)
        monkeypatch.setattr(Ledger, "entries", read)
        open_case(root).say([note("2")], "conservator")
        return found

    monkeypatch.setattr(Ledger, "entries", overtaken)
    before = open_case(root)  # as it stood; what was written meanwhile is seen at the next look
    assert open_case(root).state.seq == before.state.seq + 1


def test_a_full_disk_is_said_and_what_is_on_record_is_not_denied(root, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    case = open_case(root)
    begin = Ledger._begin

    def begun(self):
        self._db.execute("PRAGMA max_page_count = 1")  # SQLite takes no number below the pages that there are
        begin(self)

    with monkeypatch.context() as filled:
        filled.setattr(Ledger, "_begin", begun)
        with pytest.raises(InputError, match="is full"):
            case.say([note("1", "x" * 20_000)], "mountmaker")
    assert open_case(root).state.seq == case.state.seq
    with monkeypatch.context() as filled:
        filled.setattr(os, "fsync", full)  # of record.head alone: SQLite has its own way to the disk
        assert open_case(root).say([note("1")], "mountmaker").state.seq == case.state.seq + 1
