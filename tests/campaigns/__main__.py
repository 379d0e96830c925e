"""Run one campaign: `python -m tests.campaigns NAME --count N --seed S [--only INDEX]`."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict

from tests.campaigns.faults import CAMPAIGNS as FAULTS
from tests.campaigns.mutants import CAMPAIGNS as MUTANTS
from tests.campaigns.trials import run

CAMPAIGNS = {**MUTANTS, **FAULTS}


def main() -> int:
    """Run, print failures and the tally; exit 1 where something failed."""
    words = argparse.ArgumentParser(prog="python -m tests.campaigns", description=__doc__)
    words.add_argument("name", choices=sorted(CAMPAIGNS))
    words.add_argument("--count", type=int, default=1000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", type=int, help="one trial again")
    asked = words.parse_args()
    start, count = (0, asked.count) if asked.only is None else (asked.only, 1)
    tally = run(asked.name, CAMPAIGNS[asked.name], count, asked.seed, start)
    for failure in tally.failures:
        print(f"{asked.name} --seed {asked.seed} --only {failure.index}: {failure.what}", file=sys.stderr)
    print(json.dumps({**asdict(tally), "failures": len(tally.failures)}))
    return 1 if tally.failures else 0


if __name__ == "__main__":
    sys.exit(main())
