"""What tells the sets that fall from those that stay: areas under the curve, from rows of `judge_against_referee`.

    python -m tests.benchmarks.judge_report FILE.csv...

For every number the chance that a set that stays outscores one that falls (0.5 tells nothing), and by how much it is
less than that of the contact solve on a mount's own wires, each with the middle 95 % of 2000 redraws of the objects.
Then what the contact solve lets pass of the sets that all other gates pass; and how the doors of the preload gate fare.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from scanprep.rules import Rulebook
from scanprep.vectors import F64
from tests.benchmarks.retired_gates import SITS_RATIO, ROCKING_deg, SPRUNG_g

RULES = Rulebook()
TRIALS = ("friction x 0.7", "0.4 g", "centre off", "tips off")
SCORES = ("carried", "margin", "margin_real", "preload", "shape", "s10", "rocking", "springs", "rocking_own",
          "springs_own", "shake", "standing", "shake_own", "standing_own", "shake_tip")
REDRAWS = 2000


def area(scores: F64, stays: F64) -> float:
    """The chance that a stay outscores a fall, ties half; nan where all fared alike."""
    up, down = scores[stays], scores[~stays]
    if not len(up) or not len(down):
        return float("nan")
    return float(((up[:, None] > down) + 0.5 * (up[:, None] == down)).mean())


def redrawn_objects(names: F64, count: int) -> Iterator[F64]:
    """Rows of as many objects drawn again with repeats, time after time: sets of one object go together."""
    rng, of_each = np.random.default_rng(0), [np.flatnonzero(names == name) for name in np.unique(names)]
    for _ in range(count):
        yield np.concatenate([of_each[k] for k in rng.integers(len(of_each), size=len(of_each))])


def between(values: Sequence[float]) -> str:
    """The middle 95 % of some values."""
    low, high = np.nanquantile(values, [0.025, 0.975])
    return f"{low:.2f}-{high:.2f}"


def report(rows: Sequence[dict[str, str]]) -> None:
    """Print areas over all sets and over those that pass every gate but the contact solve; and who refuses whom."""
    def some(key: str) -> list[dict[str, str]]:
        return [row for row in rows if float(row[key])]

    for what, every in (("all sets", list(rows)), ("sets that pass every gate but the contact solve", some("kept"))):
        for trial in TRIALS:
            part = [row for row in every if row.get(trial)]
            names = np.array([row["object"] for row in part])
            stays = np.array([float(row[trial]) > 0.5 for row in part], dtype=bool)
            print(f"\n{what}, {trial}: {len(part)} of {len(np.unique(names))} objects, {int((~stays).sum())} fell")
            if stays.all() or not stays.any():
                continue
            table = {key: np.array([float(row[key]) for row in part]) for key in SCORES}
            draws = list(redrawn_objects(names, REDRAWS))
            over = {key: np.array([area(values[draw], stays[draw]) for draw in draws])
                    for key, values in table.items()}
            for key, values in table.items():
                print(f"    {key:14s} {area(values, stays):.2f} ({between(over[key])})   less than shake_own by "
                      f"{area(table['shake_own'], stays) - area(values, stays):+.2f} "
                      f"({between(over['shake_own'] - over[key])})")
    refused(some("kept"))
    doors(rows)


def refused(rows: Sequence[dict[str, str]]) -> None:
    """Print what the contact solve lets pass of sets that all other gates pass, and what retired gates say of that."""
    stop_g = RULES.hold.shake_stop_ratio * RULES.hold.margin_g
    asked = {"s10": SITS_RATIO, "rocking_own": -ROCKING_deg, "springs_own": SPRUNG_g, "rocking": -ROCKING_deg,
             "springs": SPRUNG_g}
    passed = [row for row in rows if float(row["shake_own"]) >= stop_g and row.get(TRIALS[0])]
    fell = [row for row in passed if float(row[TRIALS[0]]) < 0.5]
    print(f"\npass every gate, the contact solve on their own wires too: {len(passed)}, fell {len(fell)}; "
          f"stopped by it: {len(rows) - len(passed)}")
    for key, limit in asked.items():
        low = sum(float(row[key]) < limit for row in passed)
        print(f"  of these below what {key} asked: {low}, fell {sum(float(row[key]) < limit for row in fell)}")


def doors(rows: Sequence[dict[str, str]]) -> None:
    """Print how the two doors of the preload gate fare, of sets that are carried and have their margin."""
    hold = RULES.hold
    carried = [row for row in rows if float(row["carried"]) >= 1 and float(row["margin"]) >= hold.margin_g]
    for what, least_g in (("", -1.0), (", contact solve on own wires passed", hold.shake_stop_ratio * hold.margin_g)):
        some = [row for row in carried if float(row["shake_own"]) >= least_g]
        by_shape = [row for row in some if float(row["shape"]) >= hold.shape_g]
        first = [row for row in some if float(row["preload"]) >= hold.preload_ratio]
        second = [row for row in by_shape if hold.pressed_ratio <= float(row["preload"]) < hold.preload_ratio]
        below = [row for row in by_shape if float(row["preload"]) < hold.pressed_ratio]
        told = "; ".join(f"{name} {sum(float(row[TRIALS[0]]) < 0.5 for row in part)} of {len(part)} fell"
                         for name, part in (("first door", first), ("second door", second), ("below it", below)))
        print(f"preload{what}: {told}")


if __name__ == "__main__":
    report([row for path in sys.argv[1:] for row in csv.DictReader(Path(path).read_text("utf-8").splitlines())])
