"""How many specifications of the demo's finds differ between kernels of the linear algebra library and hash seeds.

    python -m tests.benchmarks.kernels [FB-004 ...]

Each find is worked out as a loose scan in three processes: OPENBLAS_CORETYPE Haswell, Nehalem and unset, each with
another hash seed. Prints what differs beyond print precision; ends with code 1 where anything does.
"""

from __future__ import annotations

import json
import sys

from tests.benchmarks.holds_referee import SAMPLES
from tests.kernels import KERNELS, differences, run_under


def main() -> int:
    """Run it."""
    from scanprep.files.checklist import read_checklist

    names = sys.argv[1:] or [brief.number for brief in read_checklist(SAMPLES / "checklist.csv")]
    specs = mounts = 0
    for name in names:
        told = [json.loads(run_under(kernel, seed, (name,)).communicate()[0])[name]
                for seed, kernel in enumerate(KERNELS)]
        found = [line for other in told[1:] for line in differences(told[0], other)]
        arms = [json.dumps([[round(x, 3) for corner in tip["arm"]["path_mm"] for x in corner]
                            for hold in spec["holds"][:1] for tip in hold["tips"]]) for spec in told]
        specs, mounts = specs + bool(found), mounts + (len(set(arms)) > 1)
        print(f"{name:8s} {'alike' if not found else f'{len(found)} figures differ: {found[0]}'}", flush=True)
    print(f"{specs} of {len(names)} specifications differ, {mounts} in the arms of their first mount")
    return int(specs > 0)


if __name__ == "__main__":
    sys.exit(main())
