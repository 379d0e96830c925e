"""Run one campaign: `python -m tests.campaigns NAME --count N --seed S [--only INDEX]`."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict

from tests.campaigns.decisions import shared_life
from tests.campaigns.faults import CAMPAIGNS as FAULTS
from tests.campaigns.mutants import CAMPAIGNS as MUTANTS
from tests.campaigns.trials import run

CAMPAIGNS = {**MUTANTS, **FAULTS}
#: A little of everything, for the tests: name -> how many trials.
SHORT = {"readers": 60, "checklist": 100, "case": 100, "import": 12, "measured": 40, "page": 40, "kills": 16,
         "disk": 16, "clock": 2, "writers": 1, "long": 4}


def main() -> int:
    """Run, print failures and the tally; exit 1 where something failed."""
    words = argparse.ArgumentParser(prog="python -m tests.campaigns", description=__doc__)
    words.add_argument("name", choices=[*sorted(CAMPAIGNS), "short"])
    words.add_argument("--count", type=int, default=1000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", type=int, help="one trial again")
    asked = words.parse_args()
    start, count = (0, asked.count) if asked.only is None else (asked.only, 1)
    if asked.name == "short":
        shared_life()
    failed = 0
    for name, many in SHORT.items() if asked.name == "short" else ((asked.name, count),):
        tally = run(name, CAMPAIGNS[name], many, asked.seed, start)
        for failure in tally.failures:
            print(f"{name} --seed {asked.seed} --only {failure.index}: {failure.what}", file=sys.stderr)
        print(json.dumps({**asdict(tally), "failures": len(tally.failures)}), flush=True)
        failed += len(tally.failures)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
