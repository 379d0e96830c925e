"""The ledger against its own promises: order, no gaps, no change, told when something moved underneath."""

import json
import sqlite3
import threading
from contextlib import closing
from pathlib import PurePosixPath

import pytest

from scanprep.case.record.entry import NewEntry
from scanprep.errors import InputError, RecordError
from scanprep.files import ledger as module
from scanprep.files.ledger import FIRST_HASH, ChangedUnderneathError, Ledger, entry_hash
from scanprep.files.network_disk import disk_type


def place(number, x_mm, reason=""):
    return NewEntry("placed", number, {"panel": "West", "face": "A", "x_mm": x_mm, "y_mm": 900.0}, reason)


@pytest.fixture
def ledger(tmp_path):
    with Ledger(tmp_path / "record.sqlite", create=True) as opened:
        yield opened


def test_entries_are_numbered_from_one_without_gaps_and_chained(ledger):
    ledger.append([place("1", 10.0), place("2", 20.0)], person="mountmaker")
    ledger.append([place("1", 11.0, "clears its neighbour")], person="designer", session=2)
    entries = ledger.entries()
    assert [e.seq for e in entries] == [1, 2, 3]
    assert entries[0].previous_hash == FIRST_HASH
    assert [e.previous_hash for e in entries[1:]] == [e.hash for e in entries[:-1]]
    assert (entries[2].person, entries[2].session, entries[2].reason) == ("designer", 2, "clears its neighbour")
    assert ledger.verify() == ()


def test_what_was_said_comes_back_after_reopening(tmp_path):
    path = tmp_path / "record.sqlite"
    with Ledger(path, create=True) as first:
        said = first.append([place("Ä 7/1", 12.25, "«räumt» die Vitrine")], person="Zoë")
    with Ledger(path) as again:
        assert again.entries() == said
    assert [p.name for p in tmp_path.iterdir()] == ["record.sqlite"]  # one file once closed


def test_an_append_is_all_or_nothing(ledger):
    with pytest.raises(ValueError, match="JSON compliant"):
        ledger.append([place("1", 10.0), place("2", float("nan"))], person="mountmaker")
    assert ledger.last_seq() == 0


def test_a_second_writer_is_told_what_changed_underneath(tmp_path):
    path = tmp_path / "record.sqlite"
    with Ledger(path, create=True) as mine, Ledger(path) as yours:
        seen = mine.last_seq()
        yours.append([place("5", 99.0)], person="curator", expected_seq=seen)
        with pytest.raises(ChangedUnderneathError, match="curator placed 5") as told:
            mine.append([place("6", 1.0)], person="mountmaker", expected_seq=seen)
        assert [e.object for e in told.value.entries] == ["5"]
        assert [e.object for e in mine.entries()] == ["5"]
        mine.append([place("6", 1.0)], person="mountmaker", expected_seq=mine.last_seq())
        assert [e.object for e in yours.entries(after=1)] == ["6"]


def test_nothing_can_be_changed_or_deleted_through_the_file(ledger):
    ledger.append([place("1", 10.0)], person="mountmaker")
    other = sqlite3.connect(ledger.path)
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        other.execute("UPDATE entries SET person = 'nobody'")
    with pytest.raises(sqlite3.IntegrityError, match="ever deleted"):
        other.execute("DELETE FROM entries")
    other.close()


@pytest.mark.parametrize(
    ("damage", "fault"),
    [
        ("UPDATE entries SET payload = '{\"x_mm\":11}' WHERE seq = 2", "entry 2 was changed after it was written"),
        ("UPDATE entries SET time = '2001-01-01' WHERE seq = 1", "entry 1 was changed after it was written"),
        ("DELETE FROM entries WHERE seq = 2", "entry 2 is missing"),
    ],
)
def test_tampering_past_the_triggers_is_found(ledger, damage, fault):
    for x in (1.0, 2.0, 3.0):
        ledger.append([place("1", x)], person="mountmaker")
    other = sqlite3.connect(ledger.path)
    other.execute("DROP TRIGGER entries_never_change")
    other.execute("DROP TRIGGER entries_never_go")
    other.execute(damage)
    other.commit()
    other.close()
    assert any(fault in line for line in ledger.verify())


def test_an_entry_that_fits_itself_but_not_the_one_before_is_found(ledger):
    # the damage of somebody who can compute hashes: entry 2 is written anew, whole and with a right hash of its own, so
    # that only the link of entry 3 to it is broken
    for x in (1.0, 2.0, 3.0):
        ledger.append([place("1", x)], person="mountmaker")
    other = sqlite3.connect(ledger.path)
    other.execute("DROP TRIGGER entries_never_change")
    row = list(other.execute("SELECT seq, time, person, session, kind, object, payload, reason, previous_hash "
                             "FROM entries WHERE seq = 2").fetchone())
    row[6] = row[6].replace("2.0", "7.0")
    other.execute("UPDATE entries SET payload = ?, hash = ? WHERE seq = 2", (row[6], entry_hash(*row)))
    other.commit()
    other.close()
    faults = ledger.verify()
    assert len(faults) == 1 and "entry 3" in faults[0]


def test_export_and_import_give_the_same_record(ledger, tmp_path):
    for x in range(5):
        ledger.append([place(str(x), float(x))], person="mountmaker", session=1)
    lines = list(ledger.export_lines())
    assert [json.loads(line)["seq"] for line in lines] == [1, 2, 3, 4, 5]
    with Ledger(tmp_path / "copy.sqlite", create=True) as copy:
        assert copy.import_lines(lines[:3]) == 3
        assert copy.import_lines(lines) == 2  # only the tail it lacked
        assert copy.entries() == ledger.entries()
        assert copy.verify() == ()


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (lambda lines: [lines[0], lines[2]], "entry 2 is missing"),
        (lambda lines: [lines[0], lines[1].replace('"x_mm":1.0', '"x_mm":7.0')], "was changed after it was written"),
        (lambda lines: ["{}"], "is not an entry"),
    ],
)
def test_a_bad_import_takes_nothing(ledger, tmp_path, change, problem):
    for x in range(3):
        ledger.append([place(str(x), float(x))], person="mountmaker")
    with Ledger(tmp_path / "copy.sqlite", create=True) as copy:
        with pytest.raises(InputError, match=problem):
            copy.import_lines(change(list(ledger.export_lines())))
        assert copy.last_seq() == 0


def test_two_records_that_part_ways_are_not_mixed(ledger, tmp_path):
    ledger.append([place("1", 1.0)], person="mountmaker")
    with Ledger(tmp_path / "other.sqlite", create=True) as other:
        other.append([place("1", 2.0)], person="mountmaker")
        with pytest.raises(InputError, match="differs from the one on record"):
            other.import_lines(ledger.export_lines())


def test_a_decision_needs_a_name(ledger):
    with pytest.raises(RecordError, match="name of who made it"):
        ledger.append([place("1", 1.0)], person=" ")


def test_a_file_that_is_no_record_is_refused_in_a_sentence(tmp_path):
    path = tmp_path / "record.sqlite"
    with pytest.raises(InputError, match="there is no record here"):
        Ledger(path)
    path.write_text("number,title\n1,bowl\n" * 100)
    with pytest.raises(InputError, match="cannot be read as a record"):
        Ledger(path)


def test_waiting_for_another_writer_ends_with_a_sentence(tmp_path):
    path = tmp_path / "record.sqlite"
    with Ledger(path, create=True), Ledger(path, wait_s=0.05) as mine:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match="somebody else has been writing"):
            mine.append([place("1", 1.0)], person="mountmaker")
        other.execute("ROLLBACK")
        other.close()
        assert mine.append([place("1", 1.0)], person="mountmaker")[0].seq == 1


def test_a_damaged_record_is_refused_in_a_sentence_wherever_it_is_read(ledger):
    for x in range(200):  # enough for several pages of the file
        ledger.append([place(str(x), float(x))], person="mountmaker")
    ledger.close()
    raw = bytearray(ledger.path.read_bytes())
    raw[2 * 4096 :: 37] = bytes(len(raw[2 * 4096 :: 37]))  # leaves heading and table of tables as they were
    ledger.path.write_bytes(raw)
    with Ledger(ledger.path) as damaged, pytest.raises(InputError, match="cannot be read as a record"):
        damaged.entries()


def test_a_folder_that_cannot_be_written_to_is_not_called_damage(tmp_path):
    with pytest.raises(InputError, match=r"cannot be written to .*Copy the case to a folder that you may write to"):
        Ledger(tmp_path / "not there" / "record.sqlite", create=True)


def test_a_network_disk_gets_no_write_ahead_log(tmp_path, monkeypatch):
    def mode(path):
        with closing(sqlite3.connect(path)) as db:
            return db.execute("PRAGMA journal_mode").fetchone()[0]

    monkeypatch.setattr(module, "on_network_disk", lambda path: False)
    Ledger(tmp_path / "here.sqlite", create=True).close()
    assert mode(tmp_path / "here.sqlite") == "wal"
    monkeypatch.setattr(module, "on_network_disk", lambda path: True)
    for name in ("there.sqlite", "here.sqlite"):  # a new one, and one that came from this machine's own disk
        with Ledger(tmp_path / name, create=True) as ledger:
            ledger.append([NewEntry("note", None, {"text": "x"})], person="Ada")
            assert not (tmp_path / f"{name}-wal").exists()
        assert mode(tmp_path / name) == "delete"


def test_the_disk_of_a_path_is_the_innermost_mount():
    # as in proc(5), /proc/mounts
    mounts = ("/dev/sda1 / ext4 rw 0 0\nserver:/museum /mnt/museum nfs4 rw,vers=4.2 0 0\n"
              "//server/own /mnt/museum/own cifs rw 0 0\ntmpfs /mnt/museum/own/tmp tmpfs rw 0 0\n")
    found = [disk_type(PurePosixPath(path), mounts) for path in (
        "/home/case", "/mnt/museum/case", "/mnt/museum/own/case", "/mnt/museum/own/tmp/x", "/mnt/museums")]
    assert found == ["ext4", "nfs4", "cifs", "tmpfs", "ext4"]


def test_a_writer_waits_its_turn(tmp_path):
    # another holds the record for a fifth of a second, well within the thirty that are waited
    path = tmp_path / "record.sqlite"
    with Ledger(path, create=True) as mine:
        other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        other.execute("BEGIN IMMEDIATE")
        leaves = threading.Timer(0.2, lambda: other.execute("COMMIT"))
        leaves.start()
        assert [entry.seq for entry in mine.append([place("1", 10.0)], person="mountmaker")] == [1]
        leaves.join()
        other.close()
