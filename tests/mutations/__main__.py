"""Make small wrong changes to the modules that judge, and count how many the tests see.

    python -m tests.mutations --docs docs                       all modules of `judged`, and the page in docs
    python -m tests.mutations scanprep/post/fit.py --each 200   one module, nearly all its changes

By hand or weekly, on one core, with the seed that is stated: the same tree gives the same table. What was found stays
in `found.csv`, a module's lines until it is tried again, so that a long run may be taken in parts; `--docs` writes the
page from it. Changes that survive and need not be seen stand with their reasons in `reasons.csv`; a reason holds for a
line as it stands.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

import pytest

from tests.mutations.judged import GROUPS
from tests.mutations.page import kept, page, table, with_found
from tests.mutations.trials import ROOT, Trials

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
SEED, EACH = 12, 12


def main() -> int:
    asked = argparse.ArgumentParser(prog="python -m tests.mutations")
    asked.add_argument("modules", nargs="*", default=[], help="paths from the project's folder; none: all that judge")
    asked.add_argument("--each", type=int, default=EACH, help="changes tried in a module, picked by the seed")
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--docs", type=Path, help="folder of the docs to write reference/mutations.md in")
    given = asked.parse_args()
    known = [module for modules, _ in GROUPS for module in modules]
    if unknown := sorted(set(given.modules) - set(known)):
        asked.error(f"{', '.join(unknown)}: not in judged.py")
    failed = [_in_a_child(modules, tests, given) for modules, tests in GROUPS
              if not given.modules or set(modules) & set(given.modules)]
    found = kept()
    print(table(found))
    if given.docs:
        (given.docs / "reference" / "mutations.md").write_text(page(found, given.each, given.seed), encoding="utf-8")
    return int(any(failed))


def _in_a_child(modules: tuple[str, ...], tests: tuple[str, ...], given: argparse.Namespace) -> bool:
    """Try one group in a process of its own, since pytest collects once; whether it failed."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] != 0
    mine = [module for module in modules if not given.modules or module in given.modules]
    trials = Trials(mine, given.each, given.seed, lambda line: print(line, file=sys.stderr, flush=True), with_found)
    code = pytest.main(["-qq", "-p", "no:cacheprovider", "-m", "not slow and not scans and not referee",
                        *(str(ROOT / test) for test in tests)], plugins=[trials])
    if not trials.found:
        print(f"pytest ended with {code!r}", file=sys.stderr, flush=True)
    os._exit(0 if trials.found else 1)


if __name__ == "__main__":
    sys.exit(main())
