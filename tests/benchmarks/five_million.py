"""How much memory a scan of five million faces takes, read, cleaned and surveyed, against the 2 GB asked for.

Run by hand, outside the timed tests (writing the files takes longer than reading them):

    python -m tests.benchmarks.five_million               # OBJ, binary PLY, binary STL, GLB
    python -m tests.benchmarks.five_million --formats ply

The damaged cup of `read_clean_survey`, each format in a fresh process; the peak is that of the whole process, libraries
and file included. Ends with code 1 where it is above the limit.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.read_clean_survey import FORMATS, measured, write_scans

FACES = 5_000_000
LIMIT_MB = 2000.0


def main() -> int:
    """Write the scans, survey each, print a table, return the exit code."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--formats", nargs="+", choices=FORMATS, default=list(FORMATS))
    formats = asked.parse_args().formats
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        # The damage takes a fifth of the faces away, most of them the underside
        truth = write_scans(Path(folder), round(FACES / 0.78))
        for ending in formats:
            run = measured("ours", Path(folder) / f"cup.{ending}", 1)
            worst = max(worst, run["peak_MB"])
            print(f"{ending:5}{run['peak_MB']:8.0f} MB{run['cpu_s']:8.1f} s CPU (read {run['read_s']:.1f}, "
                  f"clean {run['clean_s']:.1f}) volume {100 * (run['volume_mm3'] / truth - 1):+.2f} %", flush=True)
    print(f"worst {worst:.0f} MB, limit {LIMIT_MB:.0f} MB")
    return 0 if worst <= LIMIT_MB else 1


if __name__ == "__main__":
    sys.exit(main())
