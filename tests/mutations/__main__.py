"""Make small wrong changes to the modules that judge, and count how many the tests see.

    python -m tests.mutations                                   all modules of `JUDGED`, the page in docs written
    python -m tests.mutations scanprep/post/fit.py --each 200   one module, all its changes, nothing written

Runs by hand or weekly, on one core, with the seed that is stated: the same tree gives the same table. Changes that
survive and need not be seen stand with their reasons in `reasons.csv`; a reason holds for a line as it stands.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

import pytest

from tests.mutations.judged import JUDGED, TESTS
from tests.mutations.page import page, reasons, table
from tests.mutations.trials import ROOT, Trials

os.environ.setdefault("OMP_NUM_THREADS", "1")
SEED = 12


def main() -> int:
    asked = argparse.ArgumentParser(prog="python -m tests.mutations")
    asked.add_argument("modules", nargs="*", default=[], help="paths from the project's folder; none: all that judge")
    asked.add_argument("--each", type=int, default=12, help="changes tried in a module, picked by the seed")
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--tests", nargs="*", default=list(TESTS), help="tests to collect")
    asked.add_argument("--docs", type=Path, help="folder of the docs to write reference/mutations.md in")
    given = asked.parse_args()
    trials = Trials(given.modules or list(JUDGED), given.each, given.seed,
                    lambda line: print(line, file=sys.stderr, flush=True))
    code = pytest.main(["-qq", "-p", "no:cacheprovider", "-m",
                        "not slow and not scans and not referee", *(str(ROOT / test) for test in given.tests)],
                       plugins=[trials])
    if code not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED) or not trials.found:
        print(f"pytest ended with {code!r}", file=sys.stderr)
        return 1
    known = reasons()
    print(table(trials.found, trials.counted, known))
    if given.docs:
        written = given.docs / "reference" / "mutations.md"
        written.write_text(page(trials.found, trials.counted, known, given.each, given.seed), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
