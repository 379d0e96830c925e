"""A little of every campaign, and that a campaign sees what it is there for."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from scanprep.errors import RecordError
from tests.campaigns import trials

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="campaigns run trials in forked processes")
ROOT = Path(__file__).resolve().parents[2]


def test_a_traceback_a_crash_a_hang_and_a_mumble_are_failures(monkeypatch):
    monkeypatch.setattr(trials, "SLOW_S", 0.5)

    def trial(dice, folder):
        kind = dice.kind
        if kind == 1:
            raise ZeroDivisionError("made for this test")
        if kind == 2:
            os.kill(os.getpid(), signal.SIGKILL)
        if kind == 3:
            while True:
                pass
        if kind == 4:
            raise RecordError("no")
        if kind == 5:
            raise RecordError("the record is locked by another program")
        return "read"

    class Dice:
        def __init__(self, index):
            self.kind = index

    monkeypatch.setattr(trials, "chance", lambda name, seed, index: Dice(index))
    tally = trials.run("trial", lambda folder: trial, [(1, index) for index in range(7)])
    assert [failure.index for failure in tally.failures] == [1, 2, 3, 4]
    assert tally.went == {"read": 2, "failed": 4, "refused": 1}
    words = ("ZeroDivisionError", "signal 9", "HangError", "WrongError")
    assert all(word in failure.what for word, failure in zip(words, tally.failures, strict=True))


@pytest.mark.slow
def test_a_little_of_every_campaign_fails_nowhere():
    alone = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run([sys.executable, "-m", "tests.campaigns", "short", "--seed", "1"], cwd=ROOT, env=alone,
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    tallies = {tally["name"]: tally for tally in map(json.loads, done.stdout.splitlines())}
    assert len(tallies) == 11 and tallies["kills"]["went"]["killed while writing"] >= 8
