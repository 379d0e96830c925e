"""What the mounts of a case look like in figures: bends, softened ends, what shows, stress, sway.

    python -m tests.benchmarks.case_mounts DIR      after `scanprep demo DIR`

Reads the case's kept studies (what is not kept is studied first) and prints the table of `docs/why/mounts.md`: once for
the holds that were chosen or proposed, once for all that were found; then how near wires come to the chosen holds'
working meshes, by a distance of our own. Ends with code 1 where one lies inside.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from scanprep.held import chosen_index
from scanprep.hold.records import Hold
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.rules import HoldRules
from scanprep.spec import ObjectStudy
from scanprep.workspace.batch import study_all
from scanprep.workspace.executor import SameProcessExecutor
from scanprep.workspace.folder import open_case
from tests.hold.distance import distances, winding_numbers


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


def least_gap_mm(study: ObjectStudy, hold: Hold) -> float:
    """Least distance of a wire's surface to the object, every 4 mm along each arm as bent; negative inside."""
    turned = (study.working.vertices_mm - np.asarray(study.survey.centre_of_mass_mm)) @ hold.attitude.rotation.T
    corners, least = turned[study.working.faces], np.inf
    for arm in (tip.arm for tip in hold.tips):
        curve = bend_wire(arm.path_mm, arm.wire_mm, HoldRules().bend_radius_diameters).curve_mm
        line = np.vstack([along(curve, 4.0), *(along(piece, 4.0) for piece in arm.pieces_mm)])
        inside = np.abs(winding_numbers(line, corners)) > 0.5
        least = min(least, float((np.where(inside, -1, 1) * distances(line, corners) - arm.wire_mm / 2).min()))
    return least


def main() -> int:
    """Print the table."""
    if len(sys.argv) != 2:
        print(__doc__)
        return 2
    folder = open_case(Path(sys.argv[1]))
    studies, failures, _ = study_all(folder, SameProcessExecutor(), lambda done, total, said: None)
    pairs = [(study, study.holds.holds[index]) for number, study in studies.items()
             if (index := chosen_index(study.holds, folder.state.choices.get(number))) is not None]
    chosen = [hold for _, hold in pairs]
    every = [hold for study in studies.values() for hold in study.holds.holds]
    print(f"{len(studies) + len(failures)} objects, {len(chosen)} held, {len(every)} attitudes")
    heads = ("bends an arm, median / worst", "arms softened at their hook", "covered, median / worst",
             "beside, median / worst", "greatest stress under a shake", "slowest sway on the arms",
             "with an opening arm")
    print(f"| | the {len(chosen)} proposed | all {len(every)} |\n|---|---|---|")
    for cells in zip(heads, column(chosen), column(every)):
        print(f"| {' | '.join(cells)} |")
    gaps_mm = {study.brief.number: least_gap_mm(study, hold) for study, hold in pairs}
    nearest = min(gaps_mm, key=lambda number: gaps_mm[number])
    print(f"nearest wire to its object: {gaps_mm[nearest]:.2f} mm ({nearest}); inside one: "
          f"{sum(gap < 0 for gap in gaps_mm.values())} of {len(gaps_mm)}")
    return int(gaps_mm[nearest] < 0)


if __name__ == "__main__":
    sys.exit(main())
