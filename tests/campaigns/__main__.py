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
SHORT = {"readers": 50, "checklist": 80, "case": 80, "import": 8, "measured": 30, "page": 30, "kills": 16,
         "disk": 12, "clock": 2, "writers": 1, "long": 4}

#: Trials that failed once, as (seed, index); the faults they found are in docs/reliability.md.
KEPT = {
    "readers": ((1, 190), (1, 699), (1, 2701), (204, 1338), (217, 410), (217, 2126), (5004, 5413)),
    "checklist": ((102, 2933), (107, 179), (203, 592), (203, 1460)), "case": ((5001, 3545),),
    "measured": ((207, 177), (207, 1136), (207, 1550)), "page": ((206, 44), (206, 94), (206, 119)),
    "import": ((211, 61), (5005, 116), (20004, 83), (20010, 331)), "disk": ((301, 3), (301, 4), (301, 7)),
}


def main() -> int:
    """Run, print failures and the tally; exit 1 where something failed."""
    words = argparse.ArgumentParser(prog="python -m tests.campaigns", description=__doc__)
    words.add_argument("name", choices=[*sorted(CAMPAIGNS), "short"])
    words.add_argument("--count", type=int, default=1000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", type=int, help="one trial again")
    asked = words.parse_args()
    if asked.name == "short":
        shared_life()
        rows = [(name, [*KEPT.get(name, ()), *((asked.seed, k) for k in range(many))]) for name, many in SHORT.items()]
    else:
        indexes = range(asked.count) if asked.only is None else [asked.only]
        rows = [(asked.name, [(asked.seed, k) for k in indexes])]
    failed = 0
    for name, todo in rows:
        tally = run(name, CAMPAIGNS[name], todo)
        for failure in tally.failures:
            print(f"{name} --seed {failure.seed} --only {failure.index}: {failure.what}", file=sys.stderr)
        print(json.dumps({**asdict(tally), "failures": len(tally.failures)}), flush=True)
        failed += len(tally.failures)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
