"""What scanprep costs beside general-library code, and how its cost grows: one table of ratios.

    python -m tests.benchmarks                         every part, five runs each
    python -m tests.benchmarks decimation move         some parts
    python -m tests.benchmarks --runs 9 --out docs/benchmarks.md

Both sides of a ratio are measured in turn in one run, in CPU seconds of the process (wall seconds where processes
share the work), so that a busy machine disturbs both alike; the table has the median of each and of the ratios. Parts:
survey (100,000 faces, four formats), million (1 M faces), decimation, poses, visibility, distances, object, move,
papers, faces (100 k to 1 M), objects (10 to 500), unchanged (a case in which nothing changed), cores (1 to 2
processes), dask (1 to 4 workers). What takes long by itself has
a command of its own: five_million, hold_search, paper_set, whole_case, kernels.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import sys
from pathlib import Path

from tests.benchmarks.parts import PARTS, Row


def measured(names: list[str], runs: int) -> list[tuple[Row, list[tuple[float, float]]]]:
    """The seconds of both sides of each row, run by run."""
    found = []
    for name in names:
        for row in PARTS[name]():
            row.ours(), row.peer()  # libraries are loaded, files are in memory
            found.append((row, [(row.ours(), row.peer()) for _ in range(runs)]))
            print(line(*found[-1]), flush=True)
    return found


def line(row: Row, pairs: list[tuple[float, float]]) -> str:
    """A row of the table."""
    ours, peer = (statistics.median(side) for side in zip(*pairs))
    ratio = statistics.median(a / max(b, 1e-9) for a, b in pairs)
    wanted = " and ".join([*([] if row.most is None else [f"{row.most:g}"]),
                           *([] if row.most_s is None else [f"{row.most_s:g} s"])])
    return f"| {row.what} | {ours:.4g} | {row.beside} | {peer:.4g} | {ratio:.3g} | {wanted} |"


def too_much(row: Row, pairs: list[tuple[float, float]]) -> bool:
    """Whether a row takes more than is asked for, as a ratio or in seconds."""
    ratio = statistics.median(a / max(b, 1e-9) for a, b in pairs)
    seconds = statistics.median(ours for ours, _ in pairs)
    return (row.most is not None and ratio > row.most) or (row.most_s is not None and seconds > row.most_s)


def main() -> int:
    """Run it; return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    unknown = [part for part in asked.parts if part not in PARTS]
    if unknown:
        parser.error(f"no part is called {', '.join(unknown)}; there are {', '.join(PARTS)}")
    heads = ["| ours | s | next to | s | ratio | at most |", "|---|---|---|---|---|---|"]
    print("\n".join(heads))
    found = measured(asked.parts or list(PARTS), asked.runs)
    over = [row.what for row, pairs in found if too_much(row, pairs)]
    if asked.out is not None:
        words = f"`python -m tests.benchmarks {' '.join(asked.parts)}`".replace(" `", "`")
        machine = f"{platform.system()} {platform.machine()}, {len(os.sched_getaffinity(0))} cores, " \
                  f"Python {platform.python_version()}"
        asked.out.write_text("\n".join(["# Benchmarks", "", f"{words}, medians of {asked.runs} runs, {machine}.", "",
                                        *heads, *(line(*one) for one in found), ""]), encoding="utf-8")
    print(f"above what is asked: {', '.join(over)}" if over else "nothing is above what is asked")
    return int(bool(over))


if __name__ == "__main__":
    sys.exit(main())
