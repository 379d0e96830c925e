"""The ledger under SIGKILL at random moments, and under two writers at once.

A kill ends the process, not the machine: what the disk does when the power fails is SQLite's and the drive's to keep
(every commit is flushed before it is confirmed), and is not tested here.
"""

import itertools
import json
import os
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from scanprep.case.record.entry import NewEntry
from scanprep.files.ledger import Ledger

WRITERS = Path(__file__).with_name("ledger_writers.py")
KILLS = 120  # thousands more of every kind of decision: python -m tests.campaigns kills
ENTRIES = 2_000


def started(*arguments):
    return subprocess.Popen([sys.executable, str(WRITERS), *map(str, arguments)], stdout=subprocess.PIPE, text=True)


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills are by fork and SIGKILL, which this system does not have")
def test_kills_lose_nothing_confirmed_and_invent_nothing(tmp_path):
    path = tmp_path / "record.sqlite"
    driver = started("kills", path, KILLS, 20)
    confirmed = json.loads(driver.communicate()[0])
    assert driver.returncode == 0
    assert len(confirmed) == KILLS
    with Ledger(path) as ledger:  # the next start is clean
        assert ledger.verify() == ()
        found = defaultdict(lambda: defaultdict(list))
        for entry in ledger.entries():
            found[int(entry.object)][entry.payload["append"]].append((entry.payload["part"], entry.payload["of"]))
        ledger.append([NewEntry("note", None, {"text": "after all kills"})], person="reader")
    in_flight = 0
    for run, last in enumerate(confirmed):
        appends = found.get(run, {})
        # everything confirmed is there; at most the one append under way at the kill is there besides
        assert sorted(appends) == list(range(len(appends)))
        assert last + 1 <= len(appends) <= last + 2, run
        in_flight += len(appends) == last + 2
        for parts in appends.values():  # an append of three is whole or not there
            assert [p for p, _ in parts] == list(range(parts[0][1]))
    assert set(found) <= set(range(KILLS))
    writing = sum(last >= 0 for last in confirmed)
    assert writing >= KILLS // 2
    print(f"{KILLS} kills, {writing} while writing, {sum(c + 1 for c in confirmed)} appends confirmed, "
          f"{in_flight} under way at the kill were kept whole")


@pytest.mark.slow
def test_two_processes_hammering_keep_a_total_order_and_lose_none(tmp_path):
    path = tmp_path / "record.sqlite"
    both = [started("crowd", path, name, ENTRIES // 2) for name in ("left", "right")]
    refused = [int(process.communicate()[0]) for process in both]
    assert [process.returncode for process in both] == [0, 0]
    with Ledger(path) as ledger:
        assert ledger.verify() == ()
        entries = ledger.entries()
    assert [entry.seq for entry in entries] == list(range(1, ENTRIES + 1))
    for name in ("left", "right"):  # each writer's own entries are all there, in the order it said them
        assert [e.payload["number"] for e in entries if e.object == name] == list(range(ENTRIES // 2))
    order = [entry.object for entry in entries]
    assert sum(a != b for a, b in itertools.pairwise(order)) > 10, "the two never wrote at the same time"
    print(f"{ENTRIES} entries, refused because something changed underneath: {refused}")
