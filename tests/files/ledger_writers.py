"""Light processes that write to a ledger, run by the tests of kills and of crowds; not a test itself.

`kills PATH COUNT SEED` forks a writer, kills it with SIGKILL at a random moment, and again; prints as JSON what each
writer had been told was safe. `crowd PATH NAME COUNT` writes COUNT entries as fast as it can, half of them only if
nothing changed underneath.
"""

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from scanprep.case.record.entry import NewEntry
from scanprep.files.ledger import ChangedUnderneathError, Ledger


def write_on(path, run, confirmed_pipe):
    """Write single entries and threes until killed; report each once `append` has returned."""
    with Ledger(path, create=True) as ledger:
        number = 0
        while True:
            many = 3 if number % 4 == 3 else 1
            ledger.append([NewEntry("note", str(run), {"append": number, "part": p, "of": many}) for p in range(many)],
                          person="writer")
            os.write(confirmed_pipe, b"%d\n" % number)
            number += 1


def kills(path, count, seed):
    """Fork, wait a random moment, kill; return for each run the last confirmed append, -1 for none."""
    chance = random.Random(seed)
    confirmed = []
    for run in range(count):
        reader, writer = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(reader)
            try:
                write_on(path, run, writer)
            finally:
                os._exit(3)
        os.close(writer)
        told = b""
        if run % 2:  # somewhere in the writing: after some confirmed appends and a moment
            for _ in range(chance.randint(1, 6)):
                told += os.read(reader, 64)
            time.sleep(0.004 * chance.random())
        else:  # anywhere: before the file is open, while it is being made, or later
            time.sleep(chance.choice((0.004, 0.04)) * chance.random())
        os.kill(pid, signal.SIGKILL)
        _, status = os.waitpid(pid, 0)
        if not os.WIFSIGNALED(status):
            raise SystemExit(f"the writer of run {run} ended by itself: {status}")
        with os.fdopen(reader, "rb") as rest:
            told += rest.read()
        confirmed.append(max([-1, *(int(line) for line in told.split())]))
    return confirmed


def crowd(path, name, count):
    """Write entries 0 .. count - 1 under a name, 1 to 7 at a time; return how often the record had moved on."""
    refused = done = 0
    with Ledger(path, create=True, wait_s=60.0) as ledger:
        while done < count:
            many = min(1 + done % 7, count - done)
            entries = [NewEntry("note", name, {"number": done + i}) for i in range(many)]
            try:
                ledger.append(entries, person=name, expected_seq=ledger.last_seq() if done % 2 else None)
                done += many
            except ChangedUnderneathError:
                refused += 1
    return refused


if __name__ == "__main__":
    what, where, *rest = sys.argv[1:]
    if what == "kills":
        print(json.dumps(kills(Path(where), int(rest[0]), int(rest[1]))))
    else:
        print(crowd(Path(where), rest[0], int(rest[1])))
