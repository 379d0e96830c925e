"""What the mounts of a case look like in figures: bends, softened ends, what shows, stress, sway.

    python -m tests.benchmarks.case_mounts DIR      after `scanprep demo DIR`

Reads the case's kept studies (what is not kept is studied first) and prints the table of `docs/why/mounts.md`: once for
the holds that were chosen or proposed, once for all that were found.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Sequence
from pathlib import Path

from scanprep.hold.records import Hold
from scanprep.pipeline import chosen_index
from scanprep.workspace.batch import study_all
from scanprep.workspace.executor import SameProcessExecutor
from scanprep.workspace.folder import open_case


def value(hold: Hold, check: str) -> float:
    """The value of one of a hold's checks."""
    return next(one.value for one in hold.checks if one.name == check)


def column(holds: Sequence[Hold]) -> tuple[str, ...]:
    """One column of the table."""
    arms = [tip.arm for hold in holds for tip in hold.tips]
    bends = [len(arm.bends) for arm in arms]
    covered, beside = [hold.covered_share for hold in holds], [hold.beside_share for hold in holds]
    sway = [value(hold, "mount-frequency") for hold in holds]
    return (f"{statistics.median(bends):g} / {max(bends)}",
            f"{sum('soften' in arm.note.lower() for arm in arms)} of {len(arms)}",
            f"{statistics.median(covered):.2%} / {max(covered):.1%}",
            f"{statistics.median(beside):.1%} / {max(beside):.1%}",
            f"{max(value(hold, 'arm-stress') for hold in holds):.0f} MPa",
            f"{min(sway):.1f} Hz (median {statistics.median(sway):.0f})",
            f"{sum(hold.opening is not None for hold in holds)} of {len(holds)}")


def main() -> int:
    """Print the table."""
    if len(sys.argv) != 2:
        print(__doc__)
        return 2
    folder = open_case(Path(sys.argv[1]))
    studies, failures, _ = study_all(folder, SameProcessExecutor(), lambda done, total, said: None)
    chosen = [study.holds.holds[index] for number, study in studies.items()
              if (index := chosen_index(study.holds, folder.state.choices.get(number))) is not None]
    every = [hold for study in studies.values() for hold in study.holds.holds]
    print(f"{len(studies) + len(failures)} objects, {len(chosen)} held, {len(every)} attitudes")
    heads = ("bends an arm, median / worst", "arms softened at their hook", "covered, median / worst",
             "beside, median / worst", "greatest stress under a shake", "slowest sway on the arms",
             "with an opening arm")
    print(f"| | the {len(chosen)} proposed | all {len(every)} |\n|---|---|---|")
    for cells in zip(heads, column(chosen), column(every)):
        print(f"| {' | '.join(cells)} |")
    return 0


if __name__ == "__main__":
    sys.exit(main())
